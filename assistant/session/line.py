"""A line of reasoning under way: where it stands, what it knows or assumes, and how it can go on.

Invariant: a `Frame` never changes; a `Line` belongs to one walk, and is copied where it splits.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from assistant.tree.answers import Value
from assistant.tree.tree import Tree

__all__ = ["ASSUMED", "Frame", "Line", "Link", "Option"]


class Link(NamedTuple):
    """Where the answer of a question comes from: a fact key, or the author.

    `place` is what an answer is known under on a line: the fact key, or where the author's question stands.
    """

    key: str | None
    place: str
    value: Value | None = None


class Assumed:
    """An assumed band: a number that is in it, but has no value."""

    def __repr__(self) -> str:
        return "assumed"


ASSUMED = Assumed()


@dataclass(frozen=True, eq=False)
class Frame:
    """One tree being run, and where to go on in the one that visits it."""

    tree: Tree
    prefix: str = ""
    links: Mapping[str, Link] = field(default_factory=dict)
    parent: Frame | None = None
    back: str = ""
    labels: tuple[str, ...] = ()
    rest: tuple[Frame, ...] = ()
    """The frames of the things of an `each` that follow this one."""

    def link(self, key: str) -> Link:
        """Where the answer of a fact key, as written in this tree, comes from."""
        return self.links.get(key) or Link(self.prefix + key, self.prefix + key)


@dataclass
class Line:
    """One line: the tree and step it is at, its answers, and the gravest of what it found."""

    frame: Frame
    step: str
    known: dict[str, Any]
    """Every answer given or assumed on this line by its fact key; under "prefix/each.*", the things run over."""
    ranks: dict[str, int]
    """The gravest effect met so far by requirement."""
    mark: int = 0
    """A hash over the answers that something may look back at: lines with the same one know the same."""
    dropped: bool = False
    split: bool = False

    def copy(self) -> Line:
        """The same line, to go another way."""
        return Line(
            self.frame, self.step, dict(self.known), dict(self.ranks), self.mark, self.dropped, self.split
        )


class Option(NamedTuple):
    """One way a line can go on: what is assumed, what is found, and the step that follows."""

    findings: Sequence[str]
    then: str
    assume: Any = None
