"""What the answers to a question are for two editions of it: taken by both, or by one alone.

Invariant: `met` of two answers holds whatever both take and nothing else; `not_taken` gives the rest.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple, TypeGuard

from assistant.tree.bands import Stretch
from assistant.tree.model import NOT_SURE, Question
from assistant.tree.survey.known import Known, Open, whole_range
from assistant.tree.survey.moves import Move

__all__ = ["Option", "is_set", "met", "not_taken", "same_sort"]


class Option(NamedTuple):
    """One way to answer a question."""

    move: Move
    real: Known
    """The answer given: "not-sure" also where one that it could be is assumed."""
    assumed: Known | None = None
    """The answer that is assumed where "not sure" leaves several possible; for numbers the stretch that it lies in."""


def same_sort(one: Question, other: Question) -> bool:
    """Whether the same answer can mean the same for both."""
    numbers = ("measure", "count")
    if one.kind in numbers and other.kind in numbers:
        return one.unit == other.unit
    return one.kind == other.kind or {one.kind, other.kind} == {"choice", "note"}


def is_set(known: Known | None) -> TypeGuard[tuple[str, ...]]:
    """Whether this is a choice of several answers."""
    return isinstance(known, tuple) and not isinstance(known, Stretch)


def met(one: Known, other: Known) -> Known | None:
    """What fits both; None where nothing does. A set of answers stays in the order of `other`."""
    if isinstance(one, Stretch) and isinstance(other, Stretch):
        meeting = one.meet(other)
        return None if meeting.empty else meeting
    if isinstance(one, Open) or isinstance(other, Open):
        if NOT_SURE in (one, other):
            return None
        return other if isinstance(one, Open) else one
    if is_set(one) and is_set(other):
        return other if set(one) == set(other) else None
    return other if one == other else None


def not_taken(question: Question, option: Option, asked: Question) -> Iterator[tuple[Known, Known | None]]:
    """What of an answer to `asked` is no answer to `question`: given, and assumed."""
    real, assumed = option.real, option.assumed
    if real == NOT_SURE:
        if question.must_answer:
            yield real, assumed
        elif assumed is not None and _splits(question):
            yield from ((real, rest) for rest in outside(question, assumed, asked))
        return
    yield from ((rest, None) for rest in outside(question, real, asked))


def _splits(question: Question) -> bool:
    """Whether "not sure" leaves several answers possible."""
    decided = question.not_sure is not None and question.not_sure.then is not None
    return not decided and bool(question.answer or question.band)


def outside(question: Question, known: Known, asked: Question) -> Iterator[Known]:
    """What of an answer, that is not "not sure", a question does not take."""
    if not same_sort(question, asked):
        yield known
    elif isinstance(known, Stretch):
        yield from beyond(known, question)
        if question.kind == "count" and not known.whole:
            yield known
    elif question.kind == "note":
        return
    elif isinstance(known, Open):
        if asked.kind == "note":
            yield known
    elif is_set(known):
        if not set(known) <= {answer.id for answer in question.answer}:
            yield known
    elif all(answer.id != known for answer in question.answer):
        yield known


def beyond(known: Stretch, question: Question) -> Iterator[Stretch]:
    """What of a stretch lies outside the numbers that a question takes."""
    whole = whole_range(question)
    if whole.low is not None:
        below = known.meet(Stretch(None, False, whole.low, False, known.whole))
        if not below.empty:
            yield below
    if whole.high is not None:
        above = known.meet(Stretch(whole.high, False, None, False, known.whole))
        if not above.empty:
            yield above
