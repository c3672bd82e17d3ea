"""Whether a tree has passed its proofs: looked up for the installed ones, worked out for any other.

Invariant: a complaint comes with a facts file that shows it wherever answers can. What hangs on a working that cannot be
followed is tried; where no answers show it, a rule of safety is complained of as not proven, anything else is a remark. The
installed trees ship the digests under which they passed; a tree that differs by one byte, or that visits one that does, is
proved anew.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from assistant.session.search import Search, breach_of, completed, ends_of, goes_wrong
from assistant.session.witness import witness
from assistant.tree.answers import Value
from assistant.tree.check import check
from assistant.tree.installed import installed_folder
from assistant.tree.mistakes import Mistake, Place
from assistant.tree.model import Verdict
from assistant.tree.remarks import remarks
from assistant.tree.safety import hidden_verdicts
from assistant.tree.survey.graph import Survey, TooMany
from assistant.tree.survey.outcomes import by_verdict
from assistant.tree.survey.suspects import Suspect, idle_rows, suspects
from assistant.tree.tree import Tree

__all__ = ["SHIPPED", "Proof", "prove", "shipped", "work_out"]

SHIPPED = installed_folder() / "tables" / "proven.toml"


class Proof(NamedTuple):
    """What the proofs came to."""

    complaints: list[Mistake]
    proven: bool
    """Whether nothing is wrong and nothing is left in doubt."""
    remarks: Sequence[Mistake] = ()
    """What is worth knowing, though nothing is wrong with it."""


def prove(tree: Tree) -> Proof:
    """Prove a tree, or look up that it was proved."""
    if tree.installed and shipped().get(tree.id) == tree.digest:
        return Proof([], True)
    return work_out(tree)


def work_out(tree: Tree) -> Proof:
    """Prove a tree and those it visits, whatever was proved before."""
    complaints = check(tree)
    remarks: list[Mistake] = []
    if not any(complaint.code == "goes-round" for complaint in complaints):
        for part in tree.family():
            proof = _Proof(part, whole=part is tree)
            complaints += proof.complaints
            remarks += proof.remarks
    complaints = sorted(set(complaints), key=_order)
    doubtful = any(remark.code == "not-proven" for remark in remarks)
    return Proof(complaints, not complaints and not doubtful, sorted(set(remarks), key=_order))


def shipped() -> Mapping[str, object]:
    """The digests under which the installed trees passed, by id; nothing where they cannot be read."""
    import tomllib

    try:
        proven = tomllib.loads(SHIPPED.read_text(encoding="utf-8"))["proven"]
    except (OSError, ValueError, KeyError):
        return {}
    return proven if isinstance(proven, dict) else {}


def _order(mistake: Mistake) -> tuple[str, Place, str]:
    return mistake.file, mistake.place or Place(0, 0), mistake.code


class _Proof:
    """What a survey of one tree finds wrong with it."""

    def __init__(self, tree: Tree, whole: bool) -> None:
        self.tree = tree
        self.complaints: list[Mistake] = []
        self.remarks: list[Mistake] = list(remarks(tree))
        try:
            survey = Survey(tree)
            found = list(suspects(survey))
            counts = by_verdict(survey)
        except TooMany:
            message = (
                "this tree has more ways, told apart by what is looked at later, than can be gone through."
            )
            hint = (
                "Split it into trees that it visits, let fewer recalls look far back, or count fewer things."
            )
            self.complaints.append(self.slip("too-many-ways", ("tree",), message, hint))
            return
        for code, path, what in idle_rows(survey):
            self.idle(code, path, what)
        # A tree that is only ever a part need not have a verdict for each of its own ways.
        judged = whole or not any(suspect.code == "no-verdict" for suspect in found)
        for suspect in found:
            if suspect.verdict is None or judged:
                self.try_out(suspect)
        if judged:
            self.never_given(counts)

    def slip(
        self, code: str, path: tuple[str | int, ...], message: str, hint: str, shown: str = ""
    ) -> Mistake:
        """A complaint or remark at a place of the tree's file."""
        document = self.tree.document
        return Mistake(document.name, document.place(path, key=True), code, message, hint, witness=shown)

    def idle(self, code: str, path: tuple[str | int, ...], what: str) -> None:
        """Say that nothing comes to a step or row."""
        if code == "unreachable":
            message = f'no real answers lead to "{what}": every way there contradicts itself.'
            self.complaints.append(
                self.slip(code, path, message, "Lead to it with a `then`, or take it out.")
            )
        elif code == "unreachable-band":
            message = "no answers bring a number into this band: earlier answers leave none that lies in it."
            self.complaints.append(self.slip(code, path, message, "Take it out, or mend its ends."))
        else:
            message = f'the answer "{what}" never comes here: earlier steps lead it elsewhere.'
            self.remarks.append(
                self.slip(code, path, message, "It does no harm; take it out if it should not come.")
            )

    def try_out(self, suspect: Suspect) -> None:
        """Complain of what real answers show, and of a rule of safety that cannot be proved; remark on what else may be so."""
        for answers in suspect.ways:
            facts = completed(self.tree, answers)
            if suspect.verdict is None:
                if suspect.sure or goes_wrong(self.tree, facts, suspect.code, str(suspect.path[1])):
                    self.complain(suspect, facts)
                    return
            elif self.shows(suspect, facts):
                self.complain(suspect, facts)
                return
        if suspect.sure:
            self.complain(suspect, {})
            return
        if suspect.verdict is not None and suspect.code != "nothing-puts-right":
            shown = Search(self.tree, suspect.code, suspect.verdict).run()
            if shown is not None:
                whole = completed(self.tree, shown)
                self.complain(suspect, whole if self.shows(suspect, whole) else shown)
                return
        message = f"it could not be told whether real answers come to this: {suspect.message}"
        told = self.complaints if suspect.verdict is not None else self.remarks
        told.append(self.slip("not-proven", suspect.path, message, suspect.hint))

    def complain(self, suspect: Suspect, facts: Mapping[str, Value]) -> None:
        """Tell of a fault, with the facts that show it."""
        shown = witness(self.tree, facts, f"{suspect.code}: {suspect.message}") if facts else ""
        self.complaints.append(self.slip(suspect.code, suspect.path, suspect.message, suspect.hint, shown))

    def shows(self, suspect: Suspect, facts: Mapping[str, Value]) -> bool:
        """Whether these answers come to what is suspected."""
        if suspect.code == "nothing-puts-right":
            return suspect.verdict in ends_of(self.tree, facts)
        return any(
            (fault.code, fault.verdict) == (suspect.code, suspect.verdict)
            for fault in breach_of(self.tree, facts)
        )

    def never_given(self, counts: Mapping[str, int]) -> None:
        """Remark on verdicts that nothing comes to, though none before them hides them."""
        never = [
            (number, verdict)
            for number, verdict in enumerate(self.tree.file.verdict)
            if not counts[verdict.id] and not _last_resort(verdict)
        ]
        hidden = hidden_verdicts(self.tree) if never else []
        for number, verdict in never:
            if number not in hidden:
                message = f'no answers come to the verdict "{verdict.id}".'
                hint = "It does no harm as a safeguard; mend its `when` if it should be given."
                if verdict.outcome == "stop":
                    hint = "Nothing ever stops a consultation with it. Lead to it, or let its `when` ask for what a danger is found on."
                elif verdict.outcome == "acceptable":
                    hint = "Nothing ever passes by it. Mend its `when`, or let something be found on each requirement it asks for."
                self.remarks.append(self.slip("never-given", ("verdict", number), message, hint))


def _last_resort(verdict: Verdict) -> bool:
    """Whether a verdict is there for whatever no other speaks to."""
    return not verdict.when
