"""Two editions walked side by side under the same answers.

Invariant: whatever answers take one edition one way and the other another, there is a way through this graph for them. An
answer that one edition asked for before the other is kept until the other asks for it, or never can; so is an answer that
one assumes where it was not sure, and what a working came to.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from assistant.tree.bands import Stretch
from assistant.tree.compare.alone import Alone, Changes, Told
from assistant.tree.compare.lane import ending
from assistant.tree.compare.sameness import Sameness
from assistant.tree.compare.side import Edition, Side
from assistant.tree.compare.state import REFUSED, Pair, PairEdge, Spot, State
from assistant.tree.model import Each, Question, Visit, Working
from assistant.tree.survey.bits import Bits
from assistant.tree.survey.frame import Frame
from assistant.tree.survey.graph import Exit, Graph, TooMany, Way
from assistant.tree.survey.known import Known, looked_up
from assistant.tree.survey.memories import Change
from assistant.tree.survey.moves import Move

__all__ = ["REFUSED", "Pairs"]

MOST_EXACT = 12_000
"""States in which counts stay known as long as anything counts by them."""
MOST_STATES = 60_000
"""States of all pairs of runs."""
MOST_WORK = 6_000_000
"""Additions spent on one comparison."""


class Pairs:
    """Every pair of runs that comes up in one comparison."""

    def __init__(self, old: Edition, new: Edition, merged: Bits | None) -> None:
        self.old = old
        self.new = new
        self.merged = merged
        """Makes one the findings that can only come to the same verdict, where both list the same verdicts."""
        self.sameness = Sameness()
        self.done: dict[tuple[object, ...], Pair] = {}
        self.found: dict[int, object] = {}
        """Filled by `found`: what is found in each pair of runs."""
        self.states = 0
        counts = any(
            each.count for one in (old, new) for tree in one.tree.family() for each in tree.file.each.values()
        )
        self.most = MOST_EXACT if counts and not old.survey.wide else MOST_STATES
        self.work = 0
        self.loose = False
        """Whether a pair may be found that no real answers reach."""

    def run(self, old: Frame, new: Frame, links: frozenset[str] = frozenset()) -> Pair:
        """One run in both editions; `links`: the places at which both are handed the same answer. Raises `TooMany`."""
        key = (old.key, new.key, links)
        if key not in self.done:
            walker = _Walker(self, self.old.side(old, new.tree), self.new.side(new, old.tree), links)
            walker.explore()
            self.done[key] = walker.pair
        return self.done[key]

    def entered(self) -> None:
        """Count a state. Raises `TooMany` beyond the limit."""
        self.states += 1
        if self.states > self.most:
            raise TooMany

    def spend(self, work: int) -> None:
        """Count work done. Raises `TooMany` beyond the limit."""
        self.work += work
        if self.work > MOST_WORK:
            raise TooMany


Moved = tuple[
    Spot,
    Change,
    Change,
    Mapping[tuple[int, int], int],
    tuple[tuple[bool, str, int, Move], ...],
    int,
]
"""A move of both: where it leads, what is known anew in either, what is found, the moves, and the questions asked."""


def _moved(name: str, move: Move, mine: Change, its: Change, asks: bool) -> Moved:
    spread = {(move.bits, move.bits): 1}
    if move.spread is not None:
        spread = {(bits, bits): ways for bits, ways in move.spread.items()}
    steps = ((True, name, 0, move), (False, name, 0, move))
    return Spot(move.then), mine, its, spread, steps, (1 + 4 * move.unsure) if asks else 0


class _Walker(Alone):
    """Explores one run in both editions."""

    def __init__(self, pairs: Pairs, old: Side, new: Side, links: frozenset[str]) -> None:
        super().__init__(pairs, old, new, links)
        self.sameness = pairs.sameness
        self.steady = pairs.sameness.steps(old.tree, new.tree, old.frame.order)
        self.known_alike: dict[tuple[int, int], bool] = {}
        self.stepped_alike: dict[str, bool] = {}
        self.alike_moves: dict[object, list[Moved] | None] = {}
        self.framed_alike = old.frame.places == new.frame.places and old.frame.report == new.frame.report
        first = Spot(old.tree.file.tree.first), Spot(new.tree.file.tree.first)
        root = self.state(*first, dict(old.frame.entry), dict(new.frame.entry), {}, ())
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
            if state in pair.edges or pair.lane(state):
                waiting.pop()
            elif state in entered:
                waiting.pop()
                pair.edges[state] = edges.pop(state)
            else:
                entered.add(state)
                self.pairs.entered()
                if self.alike_from(state):
                    pair.same.add(state)
                elif (old := self.lone(state)) is not None:
                    pair.lone[state] = old
                if pair.lane(state):
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
            and self.know_the_same(state.mine, state.its)
        )

    def lone(self, state: State) -> bool | None:
        """The edition that goes on by itself, true for the old, where the other has ended and nothing of it matters."""
        ended = self.old.ends(state.old.step), self.new.ends(state.new.step)
        if ended[0] == ended[1] or state.said:
            return None
        if self.old.memory(state.mine) if ended[0] else self.new.memory(state.its):
            return None
        side, other, spot, _ = self.sides(state, not ended[0])
        visits = (*side.tree.file.visit, *side.tree.file.each)
        if any(other.visits(name) and side.ahead(spot.step, name) for name in visits):
            self.pairs.loose = True
        return not ended[0]

    def know_the_same(self, mine: int, its: int) -> bool:
        """Whether both editions know the same, of the same answers."""
        if (mine, its) not in self.known_alike:
            memory = self.old.memory(mine)
            self.known_alike[mine, its] = memory == self.new.memory(its) and all(
                self.shared(place) for place, _ in memory
            )
        return self.known_alike[mine, its]

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
            yield from self.alone(state, self.old_goes_on(state))
        elif self.old.visits(old.step) and self.new.visits(new.step):
            yield from self.both_visit(state)
        else:
            edges = self.in_step(state)
            yield from self.alone(state, True) if edges is None else edges

    def old_goes_on(self, state: State) -> bool:
        """Whether the old edition goes on and the new one waits, where they are at different steps.

        One that was told its answer has nothing to wait for; nor has one to whose step the other cannot come any more.
        """
        old, new = state.old.step, state.new.step
        told = {key for key, _ in state.said}
        if (new in told) != (old in told):
            return old in told
        return not self.new.ahead(new, old) or self.old.ahead(old, new)

    # Steps that mean the same in both

    def moves_alike(self, state: State, name: str) -> list[Moved] | None:
        """The moves that both take under the same answers; None where they take others."""
        key = (
            name,
            self.old.explorer.memories.at(state.mine, self.old.looks(name)),
            self.new.explorer.memories.at(state.its, self.new.looks(name)),
        )
        if key not in self.alike_moves:
            ours, theirs = self.old.taken(name, 0, state.mine), self.new.taken(name, 0, state.its)
            alike = len(ours) == len(theirs) and all(
                one[0].row == other[0].row and one[0].changes == other[0].changes
                for (one, _), (other, _) in zip(ours, theirs, strict=True)
            )
            asks = self.old.asks(name)
            self.alike_moves[key] = (
                [
                    _moved(name, way[0], mine, its, asks)
                    for (way, mine), (_, its) in zip(ours, theirs, strict=True)
                ]
                if alike
                else None
            )
        return self.alike_moves[key]

    def alike_edges(self, state: State, moves: Iterable[Moved]) -> Iterator[PairEdge]:
        """The same move in both, for each of these."""
        said, apart = state.said, state.apart
        for to, mine, its, spread, steps, cost in moves:
            if state.said or state.apart:
                kept = self.still_said(to, to, dict(state.said))
                if kept is None:
                    continue
                said, apart = kept, self.still_apart(to, to, state.apart)
            after = State(
                to,
                to,
                self.old.after(to.step, state.mine, mine),
                self.new.after(to.step, state.its, its),
                said,
                apart,
            )
            yield PairEdge(after, spread, steps, cost)

    def in_step(self, state: State) -> Iterator[PairEdge] | None:
        """The ways on where both take the same step in the same way; None where they do not."""
        name = state.old.step
        if not self.steps_alike(name):
            return None
        for place in self.old.looks(name):
            known = looked_up(self.old.memory(state.mine), place)
            if known != looked_up(self.new.memory(state.its), place):
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
        if isinstance(step, Question) and self.beyond_taken(state, name, step):
            return None
        moves = self.moves_alike(state, name)
        return self.alike_edges(state, moves) if moves else None

    def steps_alike(self, name: str) -> bool:
        """Whether a step means the same in both, and looks at the same answers."""
        found = self.stepped_alike.get(name)
        if found is None:
            found = self.stepped_alike[name] = (
                self.sameness.alike(self.old.tree, self.new.tree, name)
                and (name in self.old.frame.linked) == (name in self.new.frame.linked)
                and self.old.looks(name) == self.new.looks(name)
                and all(self.shared(place) for place in self.old.looks(name))
            )
        return found

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
        known = looked_up(self.old.memory(state.mine), self.old.frame.place(name))
        return isinstance(known, Stretch) and any(True for _ in self.past(known, question))

    # Visits

    def along_both(self, state: State, way: Way, other: Way) -> Iterator[PairEdge]:
        """Both go the same way on from a visit or an each."""
        name, at = state.old
        moves = way[0], other[0]
        spread = {(0, 0): 1}
        if moves[0].spread is not None:
            spread = {(bits, bits): ways for bits, ways in moves[0].spread.items()}
        after = self.state(
            Spot(moves[0].then, way[1]), Spot(moves[1].then, other[1]),
            {**dict(self.old.memory(state.mine)), **dict(moves[0].changes)},
            {**dict(self.new.memory(state.its)), **dict(moves[1].changes)},
            dict(state.said), state.apart,
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
            moves = [[(way[0].row, way[0].changes) for way in ways] for ways in (ours, theirs)]
            choose = moves[0] == moves[1] and all(
                self.shared(place) for _, changes in moves[0] for place, _ in changes
            )
            if all(leaves) or (choose and not any(leaves)):
                for one, other in zip(ours, theirs, strict=True):
                    yield from self.along_both(state, one, other)
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
            by_end = {ending(way): way for way in theirs if way[4]}
            for way in ours:
                if way[4]:
                    yield from self.along_both(state, way, by_end[ending(way)])
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
            self.back(side, name, part, side.memory(number))
            for side, number in ((self.old, state.mine), (self.new, state.its))
        ]
        apart = (*state.apart, *self.run_apart(name))
        for left, spread in spread_at(self.pairs, inner).items():
            ours = tuple((back[0][place], known) for place, known in inner.old.memory(left.mine))
            theirs = tuple((back[1][place], known) for place, known in inner.new.memory(left.its))
            met = self.coordinated(state, ours, theirs)
            if met is None:
                continue
            to = self.state(
                self.onward(self.old, name, state.old.at, left.old.step),
                self.onward(self.new, name, state.new.at, left.new.step),
                *met, apart,
            )  # fmt: skip
            if to is None:
                continue
            steps = tuple(
                (side is self.old, name, spot.at, Move(-1, False, name, 0, changes))
                for side, spot, changes in ((self.old, state.old, ours), (self.new, state.new, theirs))
            )
            yield PairEdge(to, spread, steps, part=part, inner=inner, left=left)

    def coordinated(self, state: State, ours: Changes, theirs: Changes) -> Told | None:
        """What both know after runs that told them this."""
        told = self.told(state, True, ours)
        if told is None:
            return None
        mine, its, said = told
        middle = state._replace(
            mine=self.old.explorer.number(tuple(mine.items())),
            its=self.new.explorer.number(tuple(its.items())),
            said=tuple(said.items()),
        )
        return self.told(middle, False, theirs)

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
