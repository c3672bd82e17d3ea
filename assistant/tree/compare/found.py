"""What both editions find on the ways of a pair of runs, in how many ways, and a shortest way to each.

Invariant: `apart` holds only what is not the same for both, so that a change far from the rest costs no more than it reaches;
`whole` holds everything, and is worked out only where the two were told apart before.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from assistant.tree.compare.pair import Pairs
from assistant.tree.compare.shown import Narrowed, Shown
from assistant.tree.compare.state import Pair, PairEdge, State
from assistant.tree.survey.graph import Node
from assistant.tree.survey.shortest import Taken

__all__ = ["Best", "Found", "Key", "found_in", "spread_at"]

Key = tuple[int, int, int]
"""Which end a pair of runs came to, and what each edition found."""


class Best(NamedTuple):
    """In how many ways something is reached, and the first step of a shortest one."""

    ways: int
    length: int
    edge: PairEdge | None
    bits: tuple[int, int]
    key: Key


class Found:
    """What is found in one pair of runs."""

    def __init__(self, pairs: Pairs, pair: Pair) -> None:
        self.pairs = pairs
        self.pair = pair
        self.ends: list[State] = []
        self.numbers: dict[State, int] = {}
        self.apart: dict[State, dict[Key, Best]] = {}
        self.whole: dict[State, dict[Key, Best]] = {}
        for state in list(pair.edges):
            self.apart[state] = self.at(state, whole=False)

    def at_first(self, whole: bool) -> Mapping[Key, Best]:
        """What is found from the beginning on."""
        return self.value(self.pair.first, whole)

    def value(self, state: State, whole: bool) -> Mapping[Key, Best]:
        """What is found from a state on."""
        if not whole:
            return self.apart.get(state, {})
        if state not in self.whole:
            self.need(state)
        return self.whole[state]

    def need(self, state: State) -> None:
        """Work out everything from a state on."""
        waiting = [state]
        while waiting:
            here = waiting[-1]
            if here in self.whole:
                waiting.pop()
                continue
            missing = [edge.to for edge in self.pairs.edges(self.pair, here) if edge.to not in self.whole]
            if missing:
                waiting.extend(missing)
            else:
                self.whole[here] = self.at(here, whole=True)

    def at(self, state: State, whole: bool) -> dict[Key, Best]:
        """What is found from one state on, after all that it leads to."""
        edges = self.pair.edges[state]
        if not edges and self.final(state):
            if not whole and state.old == state.new:
                return {}
            number = self.numbers.setdefault(state, len(self.ends))
            if number == len(self.ends):
                self.ends.append(state)
            return {(number, 0, 0): Best(1, 0, None, (0, 0), (number, 0, 0))}
        here: dict[Key, Best] = {}
        work = 1
        for edge in edges:
            for bits, ways in edge.spread.items():
                mine, its = bits
                onward = self.value(edge.to, whole or mine != its)
                if not onward:
                    continue
                length = self.length(edge, bits)
                work += len(onward)
                for key, best in onward.items():
                    joined = (key[0], key[1] | mine, key[2] | its)
                    if not whole and joined[1] == joined[2] and self.alike(key[0]):
                        continue
                    before = here.get(joined)
                    far, many = length + best.length, ways * best.ways
                    if before is None:
                        here[joined] = Best(many, far, edge, bits, key)
                    elif far < before.length:
                        here[joined] = Best(before.ways + many, far, edge, bits, key)
                    else:
                        here[joined] = before._replace(ways=before.ways + many)
        self.pairs.spend(work)
        return here

    def alike(self, number: int) -> bool:
        """Whether both came to the same end."""
        return self.ends[number].old == self.ends[number].new

    def final(self, state: State) -> bool:
        """Whether both editions have ended."""
        return self.pair.old.ends(state.old.step) and self.pair.new.ends(state.new.step)

    def length(self, edge: PairEdge, bits: tuple[int, int]) -> int:
        """The questions asked along an edge."""
        if edge.inner is not None and edge.left is not None:
            found = found_in(self.pairs, edge.inner)
            return found.at_first(whole=True)[found.numbers[edge.left], bits[0], bits[1]].length
        if edge.alone:
            old, graph, exit_ = edge.alone[0]
            edition = self.pairs.old if old else self.pairs.new
            return edition.shortest.through(graph, exit_)[bits[0] if old else bits[1]]
        return edge.cost

    # Ways to something

    def way(self, key: Key, whole: bool, prefix: str = "") -> Iterator[Shown]:
        """The moves of a shortest way to something."""
        state = self.pair.first
        while not self.final(state):
            best = self.value(state, whole)[key]
            assert best.edge is not None
            yield from self.taken(best.edge, best.bits, prefix)
            whole = whole or best.bits[0] != best.bits[1]
            state, key = best.edge.to, best.key

    def taken(self, edge: PairEdge, bits: tuple[int, int], prefix: str) -> Iterator[Shown]:
        """The moves along one edge."""
        part = f"{edge.part}/" if edge.part else ""
        for old, step, at, move in edge.steps:
            side = self.pair.old if old else self.pair.new
            yield old, Taken(side.frame, prefix, Node(step, at, 0), move, bits[0] if old else bits[1], part)
        for place, known in edge.narrowed:
            yield True, Narrowed(prefix + place, known)
        if edge.inner is not None and edge.left is not None:
            found = found_in(self.pairs, edge.inner)
            yield from found.way((found.numbers[edge.left], *bits), True, prefix + part)
        for old, graph, exit_ in edge.alone:
            edition = self.pairs.old if old else self.pairs.new
            number = list(graph.exits).index(exit_) + 1
            key = number << edition.survey.bits.width | (bits[0] if old else bits[1])
            for taken in edition.shortest.along(graph, graph.root, key, prefix + part):
                yield old, taken


def found_in(pairs: Pairs, pair: Pair) -> Found:
    """What is found in a pair of runs, worked out once."""
    found = pairs.found.get(id(pair))
    if found is None:
        found = pairs.found[id(pair)] = Found(pairs, pair)
    assert isinstance(found, Found)
    return found


def spread_at(pairs: Pairs, pair: Pair) -> dict[State, dict[tuple[int, int], int]]:
    """For each way in which a pair of runs ends what both find, in how many ways."""
    spread: dict[State, dict[tuple[int, int], int]] = {}
    found = found_in(pairs, pair)
    for (end, mine, its), best in found.at_first(whole=True).items():
        spread.setdefault(found.ends[end], {})[mine, its] = best.ways
    return spread
