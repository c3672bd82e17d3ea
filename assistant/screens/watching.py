"""While a tree is being tried: its proofs, and looking now and then whether it has changed on disk.

Invariant: a tree is replaced only under the talk or its verdict, never under a list that was made from the one before;
the proofs, which may take a while, are gone through beside the screen.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from textual import on
from textual.message import Message
from textual.widget import Widget

from assistant.conversation import Fault, Said
from assistant.conversation.carried import UNCHANGED
from assistant.conversation.trying import MENDED, Trying
from assistant.screens.aside import think
from assistant.screens.faults import FaultPane
from assistant.screens.verdict import VerdictScreen
from assistant.screens.words import said_lines

if TYPE_CHECKING:
    from assistant.screens.talk import TalkScreen
    from assistant.session.prove import Proof
    from assistant.tree.tree import Tree

__all__ = ["Watching"]

EVERY = 0.15
"""Seconds between two looks."""


class Watching(Widget):
    """A timer without a face, mounted on the talk."""

    DEFAULT_CSS = "Watching { display: none; }"

    @dataclass
    class Proved(Message):
        """The proofs of a tree were gone through."""

        tree: Tree
        proof: Proof

    def __init__(self, talk: TalkScreen, trying: Trying) -> None:
        super().__init__()
        self.talk = talk
        self.trying = trying
        self._proving: Tree | None = None
        self._faults: Sequence[Fault] = ()

    def on_mount(self) -> None:
        """Go through the proofs, and begin to look where that is wanted."""
        self.show_faults()
        self._prove()
        if self.trying.watching:
            self.set_interval(EVERY, self.look)

    def look(self) -> None:
        """Read the tree again where it is due, and show what came of it."""
        if not self._ready:
            return
        said = self.trying.look()
        if said is not None:
            if not self.trying.faults and said[0].text != MENDED:
                self._show_again(said)
            elif not self.trying.faults:
                self.talk.say_aside(said)
        if said is not None or self._faults != self.trying.faults:
            self.show_faults()
        self._prove()

    @property
    def _ready(self) -> bool:
        return self.app.screen is self.talk or isinstance(self.app.screen, VerdictScreen)

    def _show_again(self, said: Sequence[Said]) -> None:
        """Show how things stand now: the question that is due, or the verdict. What is half typed stays with its question."""
        talk, app = self.talk, self.app
        before, typed = talk.prompt, talk.entry.value
        while app.screen is not talk and len(app.screen_stack) > 1:
            app.pop_screen()
        changed = [one for one in said if one.text != UNCHANGED]
        if changed:
            talk.history.add(said_lines(changed), talk.about)
        after = self.trying.prompt
        if after is not None and after == before:
            talk.show_titles()
            talk.refresh_bindings()
        else:
            talk.show()
            if after is not None and before is not None and after.key == before.key:
                talk.entry.value = typed
        if after is not None:
            talk.say_aside([one for one in said if one not in changed])  # once, however often it is saved

    def show_faults(self) -> None:
        """Show what is wrong with the tree on disk, on whichever screen is open."""
        self._faults = self.trying.faults
        for pane in self.app.screen.query(FaultPane):
            pane.show(self.trying.faults, self.trying.session is not None)
        self.talk.fit()

    def _prove(self) -> None:
        tree = self.trying.unproved
        if tree is None or tree is self._proving:
            return
        self._proving = tree

        def work() -> Message:
            from assistant.session.prove import prove

            return self.Proved(tree, prove(tree))

        think(self, work)

    @on(Proved)
    def _take_proof(self, event: Proved) -> None:
        if self._ready:
            self._told(self.trying.proved(event.tree, event.proof))
        else:
            self.set_timer(EVERY, lambda: self.post_message(event))

    def _told(self, said: Sequence[Said]) -> None:
        session = self.trying.session
        if said or (session is not None and session.proven and self.app.screen is not self.talk):
            self._show_again(said)
