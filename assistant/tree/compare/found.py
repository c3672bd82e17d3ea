"""What both editions find on the ways of a pair of runs, in how many ways, and a shortest way to each.

Invariant: `apart` holds only what is not the same for both, so that a change far from the rest costs no more than it reaches;
`whole` holds everything, and is worked out only where the two were told apart before.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import NamedTuple

from assistant.tree.compare.lane import Lane, ending, taken
from assistant.tree.compare.pair import Pairs
from assistant.tree.compare.shown import Narrowed, Shown
from assistant.tree.compare.state import Pair, PairEdge, Spot, State
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
        root = pair.old.tree is pairs.old.tree and pair.new.tree is pairs.new.tree
        self.same = pairs.merged if root else None
        """Makes one the findings that can only come to the same verdict."""
        self.alike = Lane(pair.old, pairs.spend, self.same, refuses=False)
        self.lone = {
            old: Lane(side, pairs.spend, self.same, refuses=True)
            for old, side in ((True, pair.old), (False, pair.new))
        }
        self.joint: dict[tuple[object, ...], int] = {}
        """The number of the end that both come to, by the number of an end in a lane, and how the other ended."""
        for state in list(pair.edges):
            self.apart[state] = self.at(state, whole=False)

    def at_first(self, whole: bool) -> Mapping[Key, Best]:
        """What is found from the beginning on."""
        first = self.pair.first
        if not whole:
            return self.apart.get(first, {})
        if self.pair.lane(first):
            return {key: Best(ways, length, None, (0, 0), key) for key, ways, length in self.along(first)}
        self.need(first)
        return self.whole[first]

    def need(self, state: State) -> None:
        """Work out everything from a state on."""
        waiting = [state]
        while waiting:
            here = waiting[-1]
            if here in self.whole:
                waiting.pop()
                continue
            missing = [
                edge.to
                for edge in self.pair.edges[here]
                if edge.to not in self.whole and not self.pair.lane(edge.to)
            ]
            if missing:
                waiting.extend(missing)
            else:
                self.whole[here] = self.at(here, whole=True)

    def number(self, state: State) -> int:
        """The number of an end."""
        number = self.numbers.setdefault(state, len(self.ends))
        if number == len(self.ends):
            self.ends.append(state)
        return number

    def at(self, state: State, whole: bool) -> dict[Key, Best]:
        """What is found from one state on, after all that it leads to."""
        edges = self.pair.edges[state]
        if not edges and self.final(state):
            if not whole and state.old == state.new:
                return {}
            key = (self.number(state), 0, 0)
            return {key: Best(1, 0, None, (0, 0), key)}
        here: dict[Key, Best] = {}
        work = 1
        for edge in edges:
            for bits, ways in edge.spread.items():
                mine, its = bits
                wholly = whole or self.told_apart(mine, its)
                if edge.to in self.pair.same and not wholly:
                    continue
                length = self.length(edge, bits)
                found: Iterable[tuple[Key, int, int]]
                if self.pair.lane(edge.to):
                    found = self.along(edge.to)
                else:
                    if wholly:
                        self.need(edge.to)
                    onward = (self.whole if wholly else self.apart).get(edge.to, {})
                    found = ((key, best.ways, best.length) for key, best in onward.items())
                for key, many, far in found:
                    work += 1
                    joined = self.joined(key, mine, its)
                    if not whole and joined[1] == joined[2] and self.ends_alike(key[0]):
                        continue
                    before = here.get(joined)
                    if before is None:
                        here[joined] = Best(ways * many, length + far, edge, bits, key)
                    elif length + far < before.length:
                        here[joined] = Best(before.ways + ways * many, length + far, edge, bits, key)
                    else:
                        here[joined] = before._replace(ways=before.ways + ways * many)
        self.pairs.spend(work)
        return here

    def along(self, state: State) -> Iterator[tuple[Key, int, int]]:
        """What is found where only one edition has to be walked: the key, the ways, the length of a shortest one."""
        if state in self.pair.same:
            for end, bits, ways, length in self.alike.found((*state.old, state.mine)):
                yield (self.end(state, end), bits, bits), ways, length
            return
        old = self.pair.lone[state]
        lane = self.lone[old]
        for end, bits, ways, length in lane.found(
            (*state.old, state.mine) if old else (*state.new, state.its)
        ):
            yield (self.end(state, end), bits if old else 0, 0 if old else bits), ways, length
        self.pairs.loose = self.pairs.loose or lane.loose

    def end(self, state: State, number: int) -> int:
        """The number of the end that both come to, by that of an end in the lane that begins at a state."""
        old = self.pair.lone.get(state)
        other = () if old is None else (state.new, state.its) if old else (state.old, state.mine)
        key = (old, number, *other)
        if key not in self.joint:
            step, _, known = (self.alike if old is None else self.lone[old]).ends[number]
            if old is None:
                beside = self.pair.new.explorer.number(self.pair.old.memory(known))
                both = State(Spot(step), Spot(step), known, beside)
            elif old:
                both = State(Spot(step), state.new, known, state.its)
            else:
                both = State(state.old, Spot(step), state.mine, known)
            self.joint[key] = self.number(both)
        return self.joint[key]

    def told_apart(self, mine: int, its: int) -> bool:
        """Whether it matters that one edition found this and the other that."""
        return mine != its and (self.same is None or self.same.alike(mine) != self.same.alike(its))

    def joined(self, key: Key, mine: int, its: int) -> Key:
        """What is found with this besides."""
        end, ours, theirs = key[0], key[1] | mine, key[2] | its
        if self.same is not None:
            state = self.ends[end]
            if state.old.step == "end":
                ours = self.same.alike(ours)
            if state.new.step == "end":
                theirs = self.same.alike(theirs)
        return end, ours, theirs

    def ends_alike(self, number: int) -> bool:
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
            if self.pair.lane(state):
                yield from self.way_along(state, key, prefix)
                return
            best = (self.whole if whole else self.apart)[state][key]
            assert best.edge is not None
            yield from self.taken(best.edge, best.bits, prefix)
            whole = whole or self.told_apart(*best.bits)
            state, key = best.edge.to, best.key

    def way_along(self, state: State, key: Key, prefix: str) -> Iterator[Shown]:
        """The rest of a way, where only one edition has to be walked."""
        old = self.pair.lone.get(state)
        lane = self.alike if old is None else self.lone[old]
        first = (*state.new, state.its) if old is False else (*state.old, state.mine)
        number = next(one for one in range(len(lane.ends)) if self.end(state, one) == key[0])
        for here, way, bits in lane.way(first, number, key[2] if old is False else key[1]):
            yield from taken(lane.side, old is not False, prefix, here, way, bits)
            if old is None:
                beside = self.pair.new.explorer.number(self.pair.old.memory(here[2]))
                other = way
                if way[2] is not None:
                    ways = self.pair.new.ways(here[0], here[1], beside)
                    other = next(one for one in ways if ending(one) == ending(way))
                yield from taken(self.pair.new, False, prefix, here, other, bits)

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
            for one in edition.shortest.along(graph, graph.root, key, prefix + part):
                yield old, one


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
