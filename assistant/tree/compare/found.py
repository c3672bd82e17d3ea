"""What both editions find on the ways of a pair of runs, in how many ways, and a shortest way to each.

Invariant: `apart` holds only what is not the same for both, so that a change far from the rest costs no more than it reaches;
`whole` holds everything, and is worked out only where the two were told apart before.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from assistant.tree.compare.pair import Pair, PairEdge, Pairs, Spot, State
from assistant.tree.model import Question
from assistant.tree.survey.graph import Exit, Node
from assistant.tree.survey.shortest import Taken

__all__ = ["Best", "Found", "found_in", "spread_at"]

Key = tuple[State, int, int]
"""How a pair of runs ended, and what each edition found."""


class Best(NamedTuple):
    """In how many ways something is reached, and the first step of a shortest one."""

    ways: int
    length: int
    edge: PairEdge | None
    """None: both go on alike from here, as the old edition does alone."""
    bits: tuple[int, int]
    key: Key


Values = dict[State, dict[Key, Best]]


class Found:
    """What is found in one pair of runs."""

    def __init__(self, pairs: Pairs, pair: Pair) -> None:
        self.pairs = pairs
        self.pair = pair
        self.apart: Values = {}
        self.whole: Values = {}
        self.lengths: dict[tuple[int, int], int] = {}
        for state in pair.edges:
            self.apart[state] = self.at(state, whole=False)

    def at_first(self, whole: bool) -> Mapping[Key, Best]:
        """What is found from the beginning on."""
        first = self.pair.first
        if not whole:
            return self.apart.get(first, {})
        self.need(first)
        return self.whole[first]

    def value(self, state: State, whole: bool) -> Mapping[Key, Best]:
        """What is found from a state on."""
        if whole:
            self.need(state)
            return self.whole[state]
        return self.apart.get(state, {})

    def need(self, state: State) -> None:
        """Work out everything from a state on."""
        waiting = [state]
        while waiting:
            here = waiting[-1]
            if here in self.whole:
                waiting.pop()
            elif here in self.pair.same:
                self.whole[here] = self.alike(here)
            else:
                missing = [edge.to for edge in self.pair.edges[here] if edge.to not in self.whole]
                if missing:
                    waiting.extend(missing)
                else:
                    self.whole[here] = self.at(here, whole=True)

    def at(self, state: State, whole: bool) -> dict[Key, Best]:
        """What is found from one state on, after all that it leads to."""
        edges = self.pair.edges[state]
        if not edges and self.final(state):
            apart = state.old != state.new
            return {(state, 0, 0): Best(1, 0, None, (0, 0), (state, 0, 0))} if whole or apart else {}
        here: dict[Key, Best] = {}
        for edge in edges:
            for bits, ways in edge.spread.items():
                mine, its = bits
                length = self.length(edge, bits)
                onward = self.value(edge.to, whole or mine != its)
                self.pairs.old.survey.spend(len(onward) + 1)
                for (end, ours, theirs), best in onward.items():
                    key = (end, ours | mine, theirs | its)
                    if not whole and key[1] == key[2] and end.old == end.new:
                        continue
                    before = here.get(key)
                    far = length + best.length
                    if before is None or far < before.length:
                        many = ways * best.ways + (before.ways if before else 0)
                        here[key] = Best(many, far, edge, bits, (end, ours, theirs))
                    else:
                        here[key] = before._replace(ways=before.ways + ways * best.ways)
        return here

    def final(self, state: State) -> bool:
        """Whether both editions have ended."""
        return self.pair.old.ends(state.old.step) and self.pair.new.ends(state.new.step)

    def alike(self, state: State) -> dict[Key, Best]:
        """What the old edition finds by itself, for both."""
        side = self.pair.old
        node = self.node(state)
        graph, width = side.graph(), side.edition.survey.bits.width
        lengths = side.edition.shortest.best(graph)[node]
        exits = list(graph.exits)
        here: dict[Key, Best] = {}
        for key, ways in side.counted()[node].items():
            exit_, bits = exits[(key >> width) - 1], key & ((1 << width) - 1)
            end = State(Spot(exit_.end), Spot(exit_.end), graph.memories[exit_.known])
            here[end, bits, bits] = Best(ways, lengths[key].length, None, (0, 0), (end, key, key))
        return here

    def node(self, state: State) -> Node:
        """The node of the old edition's own graph."""
        return self.pair.old.node(state.old.step, state.old.at, state.known)

    def length(self, edge: PairEdge, bits: tuple[int, int]) -> int:
        """The questions asked along an edge."""
        if edge.inner is not None and edge.left is not None:
            found = found_in(self.pairs, edge.inner)
            return found.at_first(whole=True)[edge.left, bits[0], bits[1]].length
        if edge.alone is not None:
            old, graph, exit_ = edge.alone
            edition = self.pairs.old if old else self.pairs.new
            return edition.shortest.through(graph, exit_)[bits[0] if old else bits[1]]
        return sum(_cost(self, old, step, unsure.unsure) for old, step, _, unsure in edge.steps[:1])

    # Ways to something

    def way(self, key: Key, whole: bool, prefix: str = "") -> Iterator[Taken]:
        """The moves of a shortest way to something."""
        state = self.pair.first
        while not self.final(state):
            best = self.value(state, whole)[key]
            if best.edge is None:
                yield from self.alone_on(state, key, prefix)
                return
            yield from self.taken(best.edge, best.bits, prefix)
            whole = whole or best.bits[0] != best.bits[1]
            state, key = best.edge.to, best.key

    def alone_on(self, state: State, key: Key, prefix: str) -> Iterator[Taken]:
        """The rest of a way on which both go alike."""
        side = self.pair.old
        end, bits, _ = key
        wanted = Exit(end.old.step, side.graph().memories.index(end.known))
        number = list(side.graph().exits).index(wanted) + 1
        width = side.edition.survey.bits.width
        yield from side.edition.shortest.along(side.graph(), self.node(state), number << width | bits, prefix)

    def taken(self, edge: PairEdge, bits: tuple[int, int], prefix: str) -> Iterator[Taken]:
        """The moves along one edge."""
        part = f"{edge.part}/" if edge.part else ""
        for old, step, at, move in edge.steps:
            side = self.pair.old if old else self.pair.new
            yield Taken(side.frame, prefix, Node(step, at, 0), move, bits[0] if old else bits[1], part)
        if edge.inner is not None and edge.left is not None:
            found = found_in(self.pairs, edge.inner)
            yield from found.way((edge.left, *bits), True, prefix + part)
        elif edge.alone is not None:
            old, graph, exit_ = edge.alone
            edition = self.pairs.old if old else self.pairs.new
            number = list(graph.exits).index(exit_) + 1
            key = number << edition.survey.bits.width | (bits[0] if old else bits[1])
            yield from edition.shortest.along(graph, graph.root, key, prefix + part)


def _cost(found: Found, old: bool, step: str, unsure: bool) -> int:
    side = found.pair.old if old else found.pair.new
    asked = isinstance(side.frame.tree.steps.get(step), Question) and step not in side.frame.linked
    return int(asked) + 4 * unsure


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
    for (end, mine, its), best in found_in(pairs, pair).at_first(whole=True).items():
        spread.setdefault(end, {})[mine, its] = best.ways
    return spread
