"""Whether a tree has passed its proofs: looked up for the installed ones, worked out for any other.

Invariant: a complaint about safety comes with answers that show it, found by trying them; `proven` is true only where no
way breaks a rule, or where every way that there is was tried. The installed trees ship the digests under which they
passed; a tree that differs by one byte, or that visits one that does, is proved anew.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from fractions import Fraction
from typing import NamedTuple

from assistant.errors import Refused
from assistant.session.fact import Fact
from assistant.session.walk import walk
from assistant.session.walked import Walk
from assistant.tree.answers import Value
from assistant.tree.bands import one_in_each
from assistant.tree.check import check
from assistant.tree.installed import installed_folder
from assistant.tree.mistakes import Mistake
from assistant.tree.model import NOT_SURE, Band, Question
from assistant.tree.safety import Breach, breach, plainly_safe
from assistant.tree.tree import Asked, Tree

__all__ = ["SHIPPED", "Proof", "prove", "shipped", "work_out"]

SHIPPED = installed_folder() / "tables" / "proven.toml"

MOST_TRIED = 1_500
"""Walks spent on looking for answers that show a fault."""
STEPS = 8
"""Numbers tried between the least and the most of a measure, besides one in each band."""


class Proof(NamedTuple):
    """What the proofs came to: complaints, and whether nothing is left in doubt."""

    complaints: list[Mistake]
    proven: bool


def prove(tree: Tree) -> Proof:
    """Prove a tree, or look up that it was proved."""
    if tree.installed and shipped().get(tree.id) == tree.digest:
        return Proof([], True)
    return work_out(tree)


def work_out(tree: Tree) -> Proof:
    """Prove a tree, whatever was proved before."""
    complaints = check(tree)
    if complaints or plainly_safe(tree):
        return Proof(complaints, not complaints)
    search = _Search(tree)
    found = search.run()
    if found is None:
        return Proof([], search.exhausted)
    fault, facts = found
    index = next((n for n, verdict in enumerate(tree.file.verdict) if verdict.id == fault.verdict), None)
    path: tuple[str | int, ...] = ("tree",) if index is None else ("verdict", index)
    shown = "; ".join(f'"{key}" = {_written(fact.value)}' for key, fact in facts.items())
    hint = f"{fault.hint} These answers show it: {shown}." if facts else fault.hint
    place = tree.document.place(path, key=True)
    return Proof([Mistake(tree.document.name, place, fault.code, f"{fault.message}.", hint)], False)


def shipped() -> Mapping[str, object]:
    """The digests under which the installed trees passed, by id; nothing where they cannot be read."""
    import tomllib

    try:
        proven = tomllib.loads(SHIPPED.read_text(encoding="utf-8"))["proven"]
    except (OSError, ValueError, KeyError):
        return {}
    return proven if isinstance(proven, dict) else {}


class _Search:
    """Consultations tried one after the other, depth first, until one shows a fault."""

    def __init__(self, tree: Tree) -> None:
        self.tree = tree
        self.tried = 0
        self.exact = True
        """Whether the answers tried stand for all there are: not where a number goes into a working."""
        self.exhausted = False

    def run(self) -> tuple[Breach, dict[str, Fact]] | None:
        """A fault and the answers that show it; None where none was found."""
        waiting: list[dict[str, Fact]] = [{}]
        while waiting:
            facts = waiting.pop()
            self.tried += 1
            if self.tried > MOST_TRIED:
                return None
            try:
                result = walk(self.tree, facts)
            except Refused:  # answers that contradict each other: nobody can give them
                continue
            fault = self.fault(result)
            if fault is not None:
                return fault, facts
            if result.next is not None:
                options = [{**facts, result.next.key: Fact(value)} for value in self.options(result.next)]
                waiting.extend(reversed(options))
        self.exhausted = self.exact
        return None

    def fault(self, result: Walk) -> Breach | None:
        """The rule that some end of these answers breaks."""
        danger = not result.split and any(found.finding.effect == "danger" for found in result.found)
        for end in result.ends:
            states = dict(zip(self.tree.file.requirement, end.states, strict=True))
            fault = breach(
                self.tree, end.verdict, states, danger and len(result.ends) == 1 and result.next is None
            )
            if fault is not None:
                return fault
        return None

    def options(self, asked: Asked) -> Iterator[Value]:
        """The answers that are tried for a question."""
        question = asked.question
        if question.kind == "choice":
            yield from (answer.id for answer in question.answer)
        elif question.kind == "several":
            ids = [answer.id for answer in question.answer]
            self.exact = self.exact and len(ids) < 2
            yield from ((), *((one,) for one in ids), tuple(ids))
        elif question.kind == "note":
            yield "a note"
        else:
            yield from self.numbers(asked, question)
        if not question.must_answer:
            yield NOT_SURE

    def numbers(self, asked: Asked, question: Question) -> Iterator[Fraction]:
        least, most = question.least or Fraction(0), question.most or Fraction(0)
        if question.kind == "count":
            self.exact = self.exact and most - least < STEPS
            yield from (least + n for n in range(min(int(most - least) + 1, STEPS)))
            return
        tree, name = asked.tree, asked.question_id
        bands: list[Band] = [
            b for recall in tree.file.recall.values() if recall.question == name for b in recall.band
        ]
        numbers = set(one_in_each(question, bands))
        if "/" in asked.key or (
            name in tree.watched and not bands
        ):  # a working may look at it, here or further out
            self.exact = False
            numbers |= {least + (most - least) * n / STEPS for n in range(STEPS + 1)}
        yield from sorted(numbers)


def _written(value: Value) -> str:
    if isinstance(value, tuple):
        return "[" + ", ".join(f'"{one}"' for one in value) + "]"
    if isinstance(value, str):
        return f'"{value}"'
    return str(int(value)) if value.denominator == 1 else str(float(value))
