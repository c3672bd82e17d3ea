"""What a walk comes to: the questions asked, the ends reached, and what was found, worked out and left unsure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, NamedTuple

from assistant.tree.answers import Value
from assistant.tree.model import Finding, Working
from assistant.tree.tree import Asked, Tree

__all__ = ["End", "Found", "Unsure", "Walk", "Worked"]


@dataclass(frozen=True)
class Found:
    """A finding that the facts led to, and the fact keys that caused it, in the order met."""

    id: str
    tree: Tree
    finding: Finding
    causes: tuple[str, ...]
    sure: bool
    """Whether it was met before anything split the line, and so on every line."""
    after: int
    """How many questions had been asked, on all lines, when it was last met."""


@dataclass(frozen=True)
class Worked:
    """A working that was run: what went in, what came out, and the sum."""

    step: str
    working: Working
    inputs: Mapping[str, Any]
    results: Mapping[str, Any]
    shown: str
    tree: Tree


@dataclass(frozen=True)
class Unsure:
    """A question answered "not sure", and whether the author decided what follows."""

    asked: Asked
    decided: bool
    later: str | None = None
    """How to settle it, where not its own question but a working or recall that looked at it says so."""

    @property
    def find_out(self) -> str | None:
        """How to settle it later, in the author's words."""
        own = self.asked.question.not_sure
        return (own.find_out if own else None) or self.later


class End(NamedTuple):
    """One way the lines ended: a verdict (None: none in the tree's list matches) and the requirements' states."""

    verdict: str | None
    states: tuple[str, ...]


@dataclass(frozen=True)
class Walk:
    """What the facts lead to."""

    asked: Mapping[str, Asked]
    """Every question asked and answered on some line, by its fact key, in the order asked."""
    next: Asked | None
    """The first question met that no fact answers; None: every line reached its end."""
    ends: tuple[End, ...]
    """Every different end that was reached, in author order of the lines."""
    found: tuple[Found, ...]
    workings: tuple[Worked, ...]
    unsure: tuple[Unsure, ...]
    values: Mapping[str, Value]
    """The answer that counted for each key of `asked`: one whose basis is not accepted is `not-sure` here."""
    split: bool
    """Whether something left several lines to walk."""
    steps: int
    """Steps taken on all lines: what the walk cost."""
    endangered: frozenset[End]
    """Those of the ends that some line reached on which a danger was found."""
    lost: frozenset[tuple[str, str]] = frozenset()
    """Steps at which a line had nothing to go by, though the tree has to see to that: the code of the fault, and the step."""
