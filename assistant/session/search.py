"""Consultations tried out, to see whether real answers come to a fault.

Invariant: what is found is shown by the same walk that a consultation takes.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from fractions import Fraction

from assistant.errors import Refused
from assistant.session.fact import Fact
from assistant.session.walk import walk
from assistant.session.walked import Walk
from assistant.tree.answers import Value
from assistant.tree.bands import one_in_each
from assistant.tree.model import NOT_SURE, Band, Question
from assistant.tree.safety import Breach, breach
from assistant.tree.tree import Asked, Tree

__all__ = ["Search", "breach_of", "completed", "ends_of", "goes_wrong", "options"]

MOST_TRIED = 1_500
"""Walks spent on looking for answers that show a fault."""
MOST_ADDED = 200
"""Answers added to some that leave lines unfinished."""
STEPS = 8
"""Numbers tried between the least and the most of a measure, besides one in each band."""


def completed(
    tree: Tree, answers: Mapping[str, Value], choose: Callable[[Asked], Value] | None = None
) -> dict[str, Value]:
    """These answers, and others for whatever else is asked, the first there is or those chosen; none that is not asked."""
    facts = dict(answers)
    for _ in range(MOST_ADDED):
        try:
            result = walk(tree, _facts(facts))
        except Refused:
            return facts
        if result.next is None:
            return {key: value for key, value in facts.items() if key in result.asked}
        facts[result.next.key] = choose(result.next) if choose else next(options(result.next))
    return facts


def ends_of(tree: Tree, answers: Mapping[str, Value]) -> list[str | None]:
    """The verdicts that these answers come to; none where they contradict each other."""
    try:
        return [end.verdict for end in walk(tree, _facts(answers)).ends]
    except Refused:
        return []


REFUSES = frozenset({"nothing-to-count", "recall-leaves-out", "given-not-taken"})
"""Faults of a tree over which a consultation is refused."""


def goes_wrong(tree: Tree, answers: Mapping[str, Value], code: str, step: str) -> bool:
    """Whether a consultation with these answers goes wrong at a step."""
    try:
        lost = walk(tree, _facts(answers)).lost
    except Refused:
        return code in REFUSES
    return (code, step) in lost or (code == "given-not-known" and any(one == code for one, _ in lost))


def breach_of(tree: Tree, answers: Mapping[str, Value]) -> list[Breach]:
    """The rules of safety that these answers break."""
    try:
        return list(_breaches(tree, walk(tree, _facts(answers))))
    except Refused:
        return []


def _facts(answers: Mapping[str, Value]) -> dict[str, Fact]:
    return {key: Fact(value) for key, value in answers.items()}


def _breaches(tree: Tree, result: Walk) -> Iterator[Breach]:
    for end in result.ends:
        states = dict(zip(tree.file.requirement, end.states, strict=True))
        fault = breach(tree, end.verdict, states, end in result.endangered)
        if fault is not None:
            yield fault


class Search:
    """Consultations tried one after the other, depth first, until one shows a fault."""

    def __init__(self, tree: Tree, code: str, verdict: str) -> None:
        self.tree = tree
        self.code = code
        self.verdict = verdict

    def run(self) -> dict[str, Value] | None:
        """Answers that show the fault; None where none were found."""
        waiting: list[dict[str, Value]] = [{}]
        for _ in range(MOST_TRIED):
            if not waiting:
                return None
            answers = waiting.pop()
            try:
                result = walk(self.tree, _facts(answers))
            except Refused:  # answers that contradict each other: nobody can give them
                continue
            if any(
                (fault.code, fault.verdict) == (self.code, self.verdict)
                for fault in _breaches(self.tree, result)
            ):
                return answers
            if result.next is not None:
                tried = [{**answers, result.next.key: value} for value in options(result.next)]
                waiting.extend(reversed(tried))
        return None


def options(asked: Asked) -> Iterator[Value]:
    """The answers that are tried for a question."""
    question = asked.question
    if question.kind == "choice":
        yield from (answer.id for answer in question.answer)
    elif question.kind == "several":
        ids = [answer.id for answer in question.answer]
        yield from ((), *((one,) for one in ids), tuple(ids))
    elif question.kind == "note":
        yield "A note."
    else:
        yield from _numbers(asked, question)
    if not question.must_answer:
        yield NOT_SURE


def _numbers(asked: Asked, question: Question) -> Iterator[Fraction]:
    least, most = question.least or Fraction(0), question.most or Fraction(0)
    if question.kind == "count":
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
        numbers |= {least + (most - least) * n / STEPS for n in range(STEPS + 1)}
    yield from sorted(numbers)
