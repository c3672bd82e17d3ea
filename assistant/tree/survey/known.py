"""What is known on a way of the answers that something may still look back at.

Invariant: a memory holds only what is still looked at from its step on, sorted by place, so that two ways which can no
longer differ have the same memory.
"""

from __future__ import annotations

from enum import Enum
from fractions import Fraction

from assistant.tree.bands import Stretch
from assistant.tree.model import NOT_SURE, Question

__all__ = [
    "Known",
    "Memory",
    "Open",
    "exactly",
    "looked_up",
    "pinned",
    "settled",
    "whole_range",
]


class Open(Enum):
    """Answers that need not be told apart."""

    ANY = "answered"
    """Answered, whatever it was."""
    SOME = "some of them"
    """A several question answered with some of its answers, decided only where something looks at them."""


Known = str | Stretch | tuple[str, ...] | Open
"""The answer of a choice or "not-sure"; the stretch that a number lies in; the answers of a several question."""

Memory = tuple[tuple[str, Known], ...]
"""What is known by place: a question of the tree, or "visit/question" for one of a tree it visits."""


def looked_up(memory: Memory, place: str) -> Known | None:
    """What is known there; None where it was never asked on this way."""
    for key, known in memory:
        if key == place:
            return known
    return None


def settled(known: Known | None) -> bool:
    """Whether there is an answer, and it is not "not sure"."""
    return known is not None and known != NOT_SURE


def whole_range(question: Question) -> Stretch:
    """Every number that a measure or count question takes."""
    return Stretch(question.least, True, question.most, True, question.kind == "count")


def exactly(number: Fraction) -> Stretch:
    """One number."""
    return Stretch(number, True, number, True)


def pinned(known: Known) -> object:
    """The one value that an answer can have; None where it can have several."""
    if isinstance(known, Stretch):
        low, high = known.ends()
        return low if low is not None and low == high else None
    return known if isinstance(known, str) else list(known) if isinstance(known, tuple) else None
