"""Two editions walked side by side under the same answers.

Invariant: whatever answers take one edition one way and the other another, there is a way through this graph for them. An
answer that one edition asked for before the other is kept until the other asks for it, or never can; so is an answer that
one assumes where it was not sure, and what a working came to.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from assistant.tree.bands import Stretch
from assistant.tree.compare.alone import Alone
from assistant.tree.compare.sameness import Sameness
from assistant.tree.compare.side import Edition, Side
from assistant.tree.compare.state import REFUSED, Pair, PairEdge, Spot, State
from assistant.tree.model import Each, Question, Visit, Working
from assistant.tree.survey.frame import Frame
from assistant.tree.survey.graph import Exit, Graph, TooMany, Way
from assistant.tree.survey.known import Known, looked_up
from assistant.tree.survey.moves import Move

__all__ = ["REFUSED", "Pairs"]

MOST_STATES = 40_000
"""States of all pairs of runs."""
MOST_WORK = 6_000_000
"""Additions spent on one comparison."""


class Pairs:
    """Every pair of runs that comes up in one comparison."""

    def __init__(self, old: Edition, new: Edition) -> None:
        self.old = old
        self.new = new
        self.sameness = Sameness()
        self.done: dict[tuple[object, ...], _Walker] = {}
        self.of: dict[int, _Walker] = {}
        self.found: dict[int, object] = {}
        """Filled by `found`: what is found in each pair of runs."""
        self.states = 0
        self.work = 0
        self.loose = False
        """Whether a pair may be found that no real answers reach."""

    def run(self, old: Frame, new: Frame, links: frozenset[str] = frozenset()) -> Pair:
        """One run in both editions; `links`: the places at which both are handed the same answer. Raises `TooMany`."""
        key = (old.key, new.key, links)
        if key not in self.done:
            walker = _Walker(self, self.old.side(old), self.new.side(new), links)
            self.done[key] = self.of[id(walker.pair)] = walker
            walker.explore()
        return self.done[key].pair

    def edges(self, pair: Pair, state: State) -> list[PairEdge]:
        """The ways on from a state, also where both mean the same."""
        if state not in pair.edges:
            self.entered()
            pair.edges[state] = list(self.of[id(pair)].together(state))
        return pair.edges[state]

    def entered(self) -> None:
        """Count a state. Raises `TooMany` beyond the limit."""
        self.states += 1
        if self.states > MOST_STATES:
            raise TooMany

    def spend(self, work: int) -> None:
        """Count work done. Raises `TooMany` beyond the limit."""
        self.work += work
        if self.work > MOST_WORK:
            raise TooMany


class _Walker(Alone):
    """Explores one run in both editions."""

    def __init__(self, pairs: Pairs, old: Side, new: Side, links: frozenset[str]) -> None:
        super().__init__(pairs, old, new, links)
        self.sameness = pairs.sameness
        self.steady = pairs.sameness.steps(old.tree, new.tree)
        self.framed_alike = old.frame.places == new.frame.places and old.frame.report == new.frame.report
        first = Spot(old.tree.file.tree.first), Spot(new.tree.file.tree.first)
        root = self.state(*first, old.frame.entry, new.frame.entry, {}, ())
        assert root is not None
        self.pair = Pair(old, new, root)

    def explore(self) -> None:
        """Go through everything in which both may differ."""
        pair = self.pair
        entered: set[State] = set()
        waiting = [pair.first]
        edges: dict[State, list[PairEdge]] = {}
        while waiting:
            state = waiting[-1]
            if state in pair.edges or state in pair.same:
                waiting.pop()
            elif state in entered:
                waiting.pop()
                pair.edges[state] = edges.pop(state)
            else:
                entered.add(state)
                self.pairs.entered()
                if self.alike_from(state):
                    pair.same.add(state)
                    waiting.pop()
                    continue
                edges[state] = list(self.ways(state))
                self.pairs.spend(len(edges[state]))
                waiting.extend(edge.to for edge in edges[state] if edge.to not in entered)

    def alike_from(self, state: State) -> bool:
        """Whether both editions mean the same from here on, and know the same."""
        return (
            state.old == state.new
            and state.old.step in self.steady
            and self.framed_alike
            and state.old.step in self.old.tree.steps
            and not state.said
            and not state.apart
            and state.mine == state.its
            and all(self.shared(place) for place, _ in state.mine)
        )

    # Ways on

    def ways(self, state: State) -> Iterator[PairEdge]:
        """Every way on from a state for both."""
        old, new = state.old, state.new
        if self.old.ends(old.step) and self.new.ends(new.step):
            return
        if self.new.ends(new.step):
            yield from self.alone(state, True)
        elif self.old.ends(old.step):
            yield from self.alone(state, False)
        elif old.step != new.step:
            waits = self.new.ahead(new.step, old.step) and not self.old.ahead(old.step, new.step)
            yield from self.alone(state, not waits)
        elif self.old.visits(old.step) and self.new.visits(new.step):
            yield from self.both_visit(state)
        else:
            edges = self.in_step(state)
            yield from self.alone(state, True) if edges is None else edges

    # Steps that mean the same in both

    def together(self, state: State) -> Iterator[PairEdge]:
        """The ways on from a state from which on both mean the same."""
        name, at = state.old
        if self.old.ends(name):
            return
        if not self.old.visits(name):
            yield from self.alike_edges(state, self.old.ways(name, at, state.mine))
            return
        theirs = {self.ending(way): way for way in self.new.ways(name, at, state.mine)}
        for way in self.old.ways(name, at, state.mine):
            yield from self.along_both(state, way, theirs[self.ending(way)])

    def alike_edges(self, state: State, ways: Iterable[Way]) -> Iterator[PairEdge]:
        """The same move in both, for each of these."""
        name, asks = state.old.step, self.old.asks(state.old.step)
        for way in ways:
            move = way[0]
            to = Spot(move.then)
            spread = {(move.bits, move.bits): 1}
            if move.spread is not None:
                spread = {(bits, bits): ways for bits, ways in move.spread.items()}
            mine = self.old.frame.remember(move.then, state.mine, move.changes)
            its = self.new.frame.remember(move.then, state.its, move.changes)
            after = State(to, to, mine, its)
            if state.said or state.apart:
                kept = self.state(
                    to, to, state.mine, state.its, dict(state.said), state.apart, move.changes, move.changes
                )
                if kept is None:
                    continue
                after = kept
            cost = (1 + 4 * move.unsure) if asks else 0
            yield PairEdge(after, spread, ((True, name, 0, move), (False, name, 0, move)), cost)

    def in_step(self, state: State) -> Iterator[PairEdge] | None:
        """The ways on where both take the same step in the same way; None where they do not."""
        name = state.old.step
        if not self.sameness.alike(self.old.tree, self.new.tree, name):
            return None
        if (name in self.old.frame.linked) != (name in self.new.frame.linked):
            return None
        places = set(self.old.frame.looks(name))
        if places != set(self.new.frame.looks(name)):
            return None
        for place in places:
            if not self.shared(place) or looked_up(state.mine, place) != looked_up(state.its, place):
                return None
        step = self.old.tree.steps[name]
        if state.said and not self.unsaid(state, name):
            return None
        if (
            isinstance(step, Working)
            and state.apart
            and any(self.old.frame.place(key) in state.apart for keys in step.give.values() for key in keys)
        ):
            return None
        ours, theirs = self.old.ways(name, 0, state.mine), self.new.ways(name, 0, state.its)
        alike = len(ours) == len(theirs) and all(
            one[0].row == other[0].row and one[0].changes == other[0].changes
            for one, other in zip(ours, theirs, strict=True)
        )
        if not ours or not alike or (isinstance(step, Question) and self.beyond_taken(state, name, step)):
            return None
        return self.alike_edges(state, ours)

    def unsaid(self, state: State, name: str) -> bool:
        """Whether nothing that this step asks for, assumes or works out was said before by one alone."""
        said = dict(state.said)
        keys = {name, name + "?"}
        for side in (self.old, self.new):
            keys.update(key for key, steps in side.claims.items() if name in steps)
        return not any(key.partition("|")[0] in keys for key in said)

    def beyond_taken(self, state: State, name: str, question: Question) -> bool:
        """Whether a question is handed numbers that it does not take."""
        if name not in self.old.frame.linked:
            return False
        known = looked_up(state.mine, self.old.frame.place(name))
        return isinstance(known, Stretch) and any(True for _ in self.past(known, question))

    # Visits

    def ending(self, way: Way) -> object:
        """How the run that a way passes ended."""
        move, _, graph, exit_, part = way
        if graph is None or exit_ is None:
            return move.row, move.then, part
        return exit_.end, graph.memories[exit_.known], part

    def along_both(self, state: State, way: Way, other: Way, same: bool = True) -> Iterator[PairEdge]:
        """Both go the same way on from a visit or an each."""
        name, at = state.old
        moves = way[0], other[0]
        spread = {(0, 0): 1}
        if moves[0].spread is not None:
            spread = {(bits, bits): ways for bits, ways in moves[0].spread.items()}
        after = self.state(
            Spot(moves[0].then, way[1]), Spot(moves[1].then, other[1]), state.mine, state.its, dict(state.said),
            state.apart, moves[0].changes, moves[1].changes,
        )  # fmt: skip
        if after is None:
            return
        alone: list[tuple[bool, Graph, Exit]] = []
        for old, one in ((True, way), (False, other)):
            if one[2] is not None and one[3] is not None:
                alone.append((old, one[2], one[3]))
        steps = ((True, name, at, moves[0]), (False, name, at, moves[1]))
        yield PairEdge(after, spread, steps, part=way[4], alone=tuple(alone))

    def both_visit(self, state: State) -> Iterator[PairEdge]:
        """Both come to the same visit, or to the next thing of the same each."""
        name = state.old.step
        ours = self.old.ways(name, state.old.at, state.mine)
        theirs = self.new.ways(name, state.new.at, state.its)
        parts = [next((way[4] for way in ways if way[4]), "") for ways in (ours, theirs)]
        if not parts[0] and not parts[1]:
            leaves = [len(ways) == 1 and ways[0][0].then != name for ways in (ours, theirs)]
            if all(leaves):
                yield from self.along_both(state, ours[0], theirs[0])
            else:  # it chooses how many there are, or leaves first
                yield from self.alone(state, not leaves[0] or leaves[1])
            return
        skips = [[way for way in ways if not way[4]] for ways in (ours, theirs)]
        if parts[0] != parts[1] or len(skips[0]) != len(skips[1]):
            yield from self.alone(state, bool(parts[0]) and not (parts[1] and skips[1] and not skips[0]))
            return
        before, after = ours[0][2], theirs[0][2]
        assert before is not None
        assert after is not None
        links = self.handed(name, before.frame, after.frame)
        linked = {place for frame in (before.frame, after.frame) for place in frame.linked.values()}
        same = (
            self.sameness.trees(before.frame.tree, after.frame.tree)
            and before.frame.key[1:] == after.frame.key[1:]
            and linked == links
        )
        for one, other in zip(*skips, strict=True):
            yield from self.along_both(state, one, other)
        if same:
            by_end = {self.ending(way): way for way in theirs if way[4]}
            for way in ours:
                if way[4]:
                    yield from self.along_both(state, way, by_end[self.ending(way)])
        else:
            yield from self.through(state, parts[0], before.frame, after.frame, frozenset(links))

    def handed(self, name: str, before: Frame, after: Frame) -> set[str]:
        """The places at which both visited trees are handed the same answer."""
        maps: list[dict[str, object]] = []
        for side, inner in ((self.old, before), (self.new, after)):
            step = self.step(side, name)
            found: dict[str, object] = {}
            for there, here in step.given.items():
                found.setdefault(inner.place(there), side.frame.place(here))
            found.update({there: (constant,) for there, constant in step.set.items()})
            maps.append(found)
        return {
            place
            for place, outer in maps[0].items()
            if maps[1].get(place) == outer and (not isinstance(outer, str) or self.shared(outer))
        }

    def through(
        self, state: State, part: str, before: Frame, after: Frame, links: frozenset[str]
    ) -> Iterator[PairEdge]:
        """Both run a visited tree in which they may differ."""
        from assistant.tree.compare.found import spread_at

        name = state.old.step
        inner = self.pairs.run(before, after, links)
        back = [
            self.back(side, name, part, memory)
            for side, memory in ((self.old, state.mine), (self.new, state.its))
        ]
        apart = (*state.apart, *self.run_apart(name))
        for left, spread in spread_at(self.pairs, inner).items():
            ours = tuple((back[0][place], known) for place, known in left.mine)
            theirs = tuple((back[1][place], known) for place, known in left.its)
            met = self.coordinated(state, ours, theirs)
            if met is None:
                continue
            mine, its, said = met
            to = self.state(
                self.onward(self.old, name, state.old.at, left.old.step),
                self.onward(self.new, name, state.new.at, left.new.step),
                mine, its, said, apart,
            )  # fmt: skip
            if to is None:
                continue
            steps = tuple(
                (side is self.old, name, spot.at, Move(-1, False, name, 0, changes))
                for side, spot, changes in ((self.old, state.old, ours), (self.new, state.new, theirs))
            )
            yield PairEdge(to, spread, steps, part=part, inner=inner, left=left)

    def coordinated(
        self, state: State, ours: tuple[tuple[str, Known], ...], theirs: tuple[tuple[str, Known], ...]
    ) -> tuple[tuple[tuple[str, Known], ...], tuple[tuple[str, Known], ...], dict[str, object]] | None:
        """What both know after runs that told them this."""
        narrowed = self.told(state, True, ours)
        if narrowed is None:
            return None
        mine, its, said = narrowed
        middle = state._replace(mine=tuple(mine.items()), its=tuple(its.items()), said=tuple(said.items()))
        narrowed = self.told(middle, False, theirs)
        if narrowed is None:
            return None
        mine, its, said = narrowed
        return tuple(mine.items()), tuple(its.items()), dict(said)

    @staticmethod
    def back(side: Side, name: str, part: str, memory: tuple[tuple[str, Known], ...]) -> Mapping[str, str]:
        """What the places that a visited tree reports are called in its visitor."""
        step = side.tree.steps[name]
        assert isinstance(step, Visit | Each)
        then = step.then if isinstance(step, Visit) else name
        return side.explorer.inner(memory, step, f"{part}/", side.frame.live(then))[1]

    @staticmethod
    def step(side: Side, name: str) -> Visit | Each:
        """A visit or each of one edition."""
        step = side.tree.steps[name]
        assert isinstance(step, Visit | Each)
        return step

    def onward(self, side: Side, name: str, at: int, end: str) -> Spot:
        """Where an edition goes on after one run that ended so."""
        step = self.step(side, name)
        if end != "end":
            return Spot(end)
        return Spot(step.then) if isinstance(step, Visit) else Spot(name, at + 1)
