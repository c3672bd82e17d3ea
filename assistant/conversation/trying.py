"""A conversation on a tree that is being written: nothing is kept, and the tree is read again when it has changed.

Invariant: a tree that cannot be read never replaces one that could; no answer is lost when one tree replaces another,
and whatever does not stay as it was is told. A tree counts as unproven until its proofs have been gone through.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from importlib import import_module
from typing import TYPE_CHECKING

from assistant.conversation.carried import told
from assistant.conversation.faults import faults_of
from assistant.conversation.proofs import PROVEN, outcome, outcome_told
from assistant.conversation.script import Choice, Prompt, Said, Tone, counted, quoted
from assistant.conversation.talk import Conversation
from assistant.conversation.watch import Watch
from assistant.errors import Refused
from assistant.session.store import Store

if TYPE_CHECKING:
    from assistant.session.prove import Proof
    from assistant.tree.tree import Tree

__all__ = ["MENDED", "Trying"]

MENDED = "The tree is again as it was when it was last read."

TRIAL = "This is a trial. Nothing is kept unless you type `save`."


class Trying(Conversation):
    """The talk on one tree, named by an id or a path; `watch` says when to read it again."""

    def __init__(self, store: Store, now: Callable[[], str], name: str, watch: Watch | None = None) -> None:
        super().__init__(store, now)
        self.name = name
        self.watch = watch
        self.trial, self.watching = True, watch is not None
        self.unproved: Tree | None = None
        """The tree in use, while its proofs have not been gone through."""
        self._told = PROVEN
        """What was said last of the proofs."""

    def start(self) -> None:
        """Read the tree and open the talk; its proofs, which may take a while, are gone through when `prove` is called.

        Raises `Refused` where it cannot be read and is not watched either.
        """
        try:
            tree = self._load()
        except Refused as error:
            if self.watch is None:
                raise
            self.faults = faults_of(error)
            self.opening = [Said(Tone.TOLD, f"{self.name} is read as soon as it can be.", "Waiting")]
            return
        self.opening = self._begin(tree)

    def _load(self) -> Tree:
        """The tree as it is on disk, loaded, and found to have a first question or an end."""
        from assistant.session.walk import walk
        from assistant.tree.load import load

        tree = load(self.name)
        first = walk(tree, {})
        if first.next is None and not first.ends:
            raise Refused(
                f'"{tree.id}" comes to no question and to no end',
                "It goes round in a circle.",
                tree.document.name,
            )
        return tree

    def _begin(self, tree: Tree) -> list[Said]:
        from assistant.conversation.consultation import Consultation

        self.unproved = tree
        self.consultation, said = Consultation.begin(tree, None, self.now, True, self.place)
        self.consultation.adopt_proof(False)
        return [*said, Said(Tone.TOLD, TRIAL, "Trial")]

    # Reading it again

    @property
    def stirring(self) -> bool:
        """Whether the tree on disk has changed and is not read yet; it may still be being written."""
        return self.watch is not None and self.watch.stirring

    @property
    def due(self) -> bool:
        """Whether `look` would read the tree again."""
        return self.watch is not None and self.watch.due

    def look(self) -> list[Said] | None:
        """Read the tree again if it has changed and come to rest; None where there is nothing to say of it."""
        if self.watch is None or not self.watch.due:
            return None
        self.watch.take()
        return self._read_again()

    def _read_again(self) -> list[Said] | None:
        mended = len(self.faults)
        try:
            tree = self._load()
            if self.consultation is None:
                said, mended = self._begin(tree), 0
            elif tree.digest == self.consultation.session.tree.digest:
                said, mended = [Said(Tone.TOLD, MENDED, "Mended")] if mended else [], 0
            else:
                said = self._go_on(tree)
        except Refused as error:
            faults = faults_of(error)
            if faults == self.faults:
                return None
            self.faults = faults
            stays = " The one that was read before stays in use." if self.consultation else ""
            return [Said(Tone.REFUSED, f"The tree has {counted(len(faults), 'fault')}.{stays}", "Not read")]
        self.faults = ()
        if mended:
            words = "The fault is mended." if mended == 1 else f"All {mended} faults are mended."
            said = [Said(Tone.TOLD, words, "Mended"), *said]
        return said or None

    def _go_on(self, tree: Tree) -> list[Said]:
        from assistant.session.reload import carry_over

        held = self._held()
        before = held.session
        carried = carry_over(held.record, tree, proven=False)
        held.adopt(carried.record)
        self.unproved = tree
        return told(before, carried)

    # Proofs

    def prove(self) -> list[Said]:
        """Go through the proofs of the tree in use, if that was not done yet, and say what they came to."""
        from assistant.session.prove import prove

        tree = self.unproved
        return self.proved(tree, prove(tree)) if tree is not None else []

    def proved(self, tree: Tree, proof: Proof) -> list[Said]:
        """Take what the proofs of a tree came to; nothing where another has replaced it in the meantime."""
        if tree is not self.unproved or self.consultation is None:
            return []
        self.unproved = None
        self.consultation.adopt_proof(proof.proven)
        before, self._told = self._told, outcome(proof)
        return outcome_told(self.name, proof, before)

    # What is different in a trial

    def _job(self) -> Prompt:
        """What is asked while there is no tree: nothing but patience."""
        ask = "The tree cannot be read yet. Mend it and save it: it is read again by itself."
        return Prompt("job", ask, "choice", (Choice(1, "read", "Read it again now"),), expects="1")

    def _choose_job(self, text: str) -> list[Said]:
        if text.strip().casefold() not in ("1", "read", "read it again now"):
            raise Refused(f'"{quoted(text)}" is not something to do here', "Mend the tree, or type `quit`.")
        if self.watch is not None:
            self.watch.take()
        return self._read_again() or [Said(Tone.TOLD, "It is as it was.", "Read")]

    def get_ready(self) -> None:
        """Import what the first answer will need."""
        import_module("assistant.session.reload")

    def save(self) -> list[Said]:
        """Begin to keep this trial as any consultation is kept."""
        held = self._held()
        if held.path is not None and held.kept:
            return super().save()
        held.keep_in(self.store.new_path(self.now(), held.session.tree.id))
        return [
            Said(Tone.HEARD, f"{held.path}", "Kept in"),
            Said(Tone.TOLD, "From here on every answer is kept there as well.", "Saved"),
        ]

    def leave(self) -> list[Said]:
        """Leave; where the trial was not saved, nothing stays."""
        if self.consultation is not None and self.consultation.kept:
            return super().leave()
        self.left = True
        return [Said(Tone.TOLD, "This was a trial, and nothing was kept.", "Left")]

    def back(self) -> list[Said]:
        """Take the latest answer back; before the first one there is nothing to go back to."""
        held = self._held()
        if held.session.walk.asked or (held.prompt is not None and held.prompt.key == "confirm"):
            return held.back()
        raise Refused("this is the first question", "Answer it, or type `quit`.")

    def help(self) -> list[Said]:
        """What can always be said; what a trial does otherwise is told so."""
        otherwise = {
            "save": "Keep this trial in a record, from here on.",
            "quit": "Leave; nothing is kept, unless you saved it.",
            "new": "Begin again with this tree.",
        }
        return [replace(said, text=otherwise.get(said.label, said.text)) for said in super().help()]

    def new(self) -> list[Said]:
        """Begin again with the same tree."""
        kept = [Said(Tone.TOLD, f"{self.path}", "Kept in")] if self._held().kept else []
        session = self._held().session
        waiting = self.unproved
        said = self._begin(session.tree)
        self.unproved = waiting
        self._held().adopt_proof(session.proven)
        return [*kept, *said]
