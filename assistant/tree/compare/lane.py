"""What one edition finds by itself, in how many ways: where the other has ended, or goes the same ways.

Invariant: a lane is walked without looking at the other edition, so nothing that the other was told, or may still be told,
may matter where one begins.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import NamedTuple

from assistant.tree.bands import Stretch
from assistant.tree.compare.answers import beyond
from assistant.tree.compare.shown import Shown
from assistant.tree.compare.side import Side
from assistant.tree.compare.state import REFUSED
from assistant.tree.model import Question, Working
from assistant.tree.survey.bits import Bits
from assistant.tree.survey.graph import Exit, Graph, Node, Way
from assistant.tree.survey.known import Known, looked_up
from assistant.tree.survey.moves import NONE, Move
from assistant.tree.survey.shortest import Taken

__all__ = ["Lane", "Place", "ending", "taken"]

Place = tuple[str, int, int]
"""A step or end, the things run there, and what is known."""


class Onward(NamedTuple):
    """The first step of a shortest way on."""

    length: int
    way: Way | None
    to: Place
    bits: int
    key: int


class Lane:
    """The ways of one edition in one run."""

    def __init__(self, side: Side, spend: Callable[[int], None], merged: Bits | None, refuses: bool) -> None:
        self.side = side
        self.spend = spend
        self.merged = merged
        """Makes one the findings that can only come to the same verdict."""
        self.refuses = refuses
        """Whether it matters that the edition may not go on."""
        self.loose = False
        self.width = side.edition.survey.bits.width
        self.ends: list[Place] = []
        self.numbers: dict[Place, int] = {}
        self.edges: dict[Place, list[tuple[Way, Place]]] = {}
        self.counts: dict[Place, dict[int, int]] = {}
        """In how many ways something is found: the packed findings, and above them the number of the end."""
        self.onward: dict[Place, dict[int, Onward]] = {}
        self.one: dict[int, int] = {}

    def found(self, first: Place) -> Iterator[tuple[int, int, int, int]]:
        """What is found from a place on: the end's number, the findings, the ways, and the length of a shortest one."""
        if first not in self.counts:
            self.explore(first)
        onward, mask = self.onward[first], (1 << self.width) - 1
        for key, ways in self.counts[first].items():
            yield key >> self.width, key & mask, ways, onward[key].length

    def explore(self, first: Place) -> None:
        """Work out everything from a place on."""
        waiting = [first]
        while waiting:
            here = waiting[-1]
            if here in self.counts:
                waiting.pop()
                continue
            edges = self.edges.get(here)
            if edges is None:
                edges = self.edges[here] = list(self.ways(here))
                missing = [to for _, to in edges if to not in self.counts]
                if missing:
                    waiting.extend(missing)
                    continue
            waiting.pop()
            self.count(here, edges)

    def ways(self, here: Place) -> Iterator[tuple[Way, Place]]:
        """The ways on from a place."""
        step, at, known = here
        if self.side.ends(step):
            return
        ways = self.side.taken(step, at, known)
        for way, change in ways:
            then = way[0].then
            yield way, (then, way[1], self.side.after(then, known, change))
        if self.refuses:
            for changes in self.refused(step, at, known, bool(ways)):
                move = Move(NONE, False, REFUSED, 0, changes)
                yield (move, 0, None, None, ""), (REFUSED, 0, self.side.explorer.number(()))

    def refused(
        self, step: str, at: int, known: int, goes_on: bool
    ) -> Iterator[tuple[tuple[str, Known], ...]]:
        """What is known where the edition does not go on."""
        if not goes_on:
            yield ()
            return
        one, memory = self.side.tree.steps[step], self.side.memory(known)
        working = isinstance(one, Working) and self.side.may_refuse(step, memory)
        if working or (self.side.visits(step) and self.side.may_stop_inside(step, at, known)):
            self.loose = True
            yield ()
        elif isinstance(one, Question) and step in self.side.frame.linked:
            place = self.side.frame.linked[step]
            number = looked_up(memory, place)
            if isinstance(number, Stretch) and one.kind in ("measure", "count"):
                yield from (((place, rest),) for rest in beyond(number, one))

    def count(self, here: Place, edges: list[tuple[Way, Place]]) -> None:
        """What is found from a place on, after all that it leads to."""
        counts: dict[int, int] = {}
        onward: dict[int, Onward] = {}
        self.counts[here], self.onward[here] = counts, onward
        step = here[0]
        if self.side.ends(step):
            key = self.number(here) << self.width
            counts[key], onward[key] = 1, Onward(0, None, here, 0, key)
            return
        asks, work, merging = self.side.asks(step), 1, self.merged is not None
        for way, to in edges:
            move, further, after = way[0], self.onward[to], self.counts[to]
            spread = {move.bits: 1} if move.spread is None else move.spread
            lengths = self.lengths(way[2], way[3])
            cost = (1 + 4 * move.unsure) if asks else 0
            work += len(after) * len(spread)
            for bits, ways in spread.items():
                length = cost if lengths is None else lengths[bits]
                for key, many in after.items():
                    joined, far = key | bits, length + further[key].length
                    if merging:
                        joined = self.one.get(joined) or self.standing_for(joined)
                    if joined in counts:
                        counts[joined] += ways * many
                        if far < onward[joined].length:
                            onward[joined] = Onward(far, way, to, bits, key)
                    else:
                        counts[joined] = ways * many
                        onward[joined] = Onward(far, way, to, bits, key)
        self.spend(work)

    def standing_for(self, key: int) -> int:
        """The key that stands for all which can only come to the same verdict."""
        found, number = key, key >> self.width
        if self.merged is not None and self.ends[number][0] == "end":
            found = number << self.width | self.merged.alike(key & ((1 << self.width) - 1))
        self.one[key] = found
        return found

    def number(self, end: Place) -> int:
        """The number of an end."""
        number = self.numbers.setdefault(end, len(self.ends))
        if number == len(self.ends):
            self.ends.append(end)
        return number

    def lengths(self, graph: Graph | None, exit_: Exit | None) -> dict[int, int] | None:
        """The length of a shortest way through the run that lies between, by what is found there."""
        return None if graph is None or exit_ is None else self.side.edition.shortest.through(graph, exit_)

    # A shortest way

    def way(self, here: Place, end: int, bits: int) -> Iterator[tuple[Place, Way, int]]:
        """The steps of a shortest way on to something: each with the way taken there, and what it finds."""
        key = end << self.width | bits
        while (best := self.onward[here][key]).way is not None:
            yield here, best.way, best.bits
            here, key = best.to, best.key


def ending(way: Way) -> object:
    """What tells a way on from the others: its move, and how the run that it passes ended."""
    move, _, graph, exit_, part = way
    if graph is None or exit_ is None:
        return move.row, move.unsure, move.then, part, move.changes
    return exit_.end, graph.memories[exit_.known], part


def taken(side: Side, old: bool, prefix: str, here: Place, way: Way, bits: int) -> Iterator[Shown]:
    """A move of one edition, and those of the run that lies between."""
    move, _, graph, exit_, part = way
    within = f"{part}/" if part else ""
    yield old, Taken(side.frame, prefix, Node(here[0], here[1], 0), move, bits, within)
    if graph is not None and exit_ is not None:
        edition = side.edition
        key = (list(graph.exits).index(exit_) + 1) << edition.survey.bits.width | bits
        for one in edition.shortest.along(graph, graph.root, key, prefix + within):
            yield old, one
