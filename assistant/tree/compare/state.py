"""Where two editions are when they are walked side by side, and one way on for both.

Invariant: what each edition knows is kept apart, since a line of reasoning may assume in one what the other decided; what
is the same answer in both is narrowed in both at once.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from assistant.tree.compare.side import Side
from assistant.tree.survey.graph import Exit, Graph
from assistant.tree.survey.known import Known
from assistant.tree.survey.moves import Move

__all__ = ["REFUSED", "Pair", "PairEdge", "Said", "Spot", "State"]

REFUSED = "refused"
"""How an edition ends that does not take an answer."""


class Spot(NamedTuple):
    """Where one edition is: a step and the number of things run there, or an end."""

    step: str
    at: int = 0


class Said(NamedTuple):
    """What one edition was told, or assumed, and the other may still be told, or assume."""

    known: Known
    by_old: bool
    must: bool = False
    """Whether the other has to take it, since the one that said it does not."""


class State(NamedTuple):
    """Where both editions are, what each knows, and what only one of them was told so far."""

    old: Spot
    new: Spot
    mine: int
    """What the old edition knows, by its number there."""
    its: int
    """What the new edition knows, by its number there."""
    said: tuple[tuple[str, Said], ...] = ()
    """By fact key; by fact key and "?" what is assumed of it; by "=" and so on what a working comes to."""
    apart: tuple[str, ...] = ()
    """Places that a working may look at of which the editions know different things."""


class PairEdge(NamedTuple):
    """One way on for both: what each finds, in how many ways, and how it is shown."""

    to: State
    spread: Mapping[tuple[int, int], int]
    steps: tuple[tuple[bool, str, int, Move], ...] = ()
    """The moves taken: whether the old edition's, the step, the things run there, and the move."""
    cost: int = 0
    """The questions asked, "not sure" for several."""
    part: str = ""
    """The run of a visited tree that lies between: "joint.2"."""
    inner: Pair | None = None
    """That run, where both editions make it and it differs."""
    left: State | None = None
    """How it ended."""
    alone: tuple[tuple[bool, Graph, Exit], ...] = ()
    """That run, where both make it alike, or only one makes it: whose, its graph and its end."""
    narrowed: tuple[tuple[str, Known], ...] = ()
    """What an answer given before has to be, so that it is not taken."""


@dataclass(eq=False)
class Pair:
    """One run of a tree in both editions."""

    old: Side
    new: Side
    first: State
    edges: dict[State, list[PairEdge]] = field(default_factory=dict)
    """In an order in which each state follows all that it leads to."""
    same: set[State] = field(default_factory=set)
    """States from which on both mean the same."""
    lone: dict[State, bool] = field(default_factory=dict)
    """States from which on the other edition does not matter any more, and whether it is the old that goes on."""

    def lane(self, state: State) -> bool:
        """Whether only one edition has to be walked from a state on."""
        return state in self.same or state in self.lone
