"""Two editions walked side by side under the same answers.

Invariant: whatever answers take one edition one way and the other another, there is a way through this graph for them. An
answer that one edition asked for before the other is kept until the other asks for it, or never can.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from assistant.tree.bands import Stretch
from assistant.tree.compare.sameness import Sameness
from assistant.tree.compare.side import Edition, Side
from assistant.tree.model import NOT_SURE, Each, Question, Visit
from assistant.tree.survey.frame import Frame
from assistant.tree.survey.graph import Exit, Graph, TooMany, Way
from assistant.tree.survey.known import Known, Memory, Open, whole_range
from assistant.tree.survey.moves import Move

__all__ = ["REFUSED", "Pair", "PairEdge", "Pairs", "Spot", "State"]

REFUSED = "refused"
"""How an edition ends that does not take an answer."""
MOST_STATES = 50_000
"""States of all pairs of runs."""


class Spot(NamedTuple):
    """Where one edition is: a step and the number of things run there, or an end."""

    step: str
    at: int = 0


class Said(NamedTuple):
    """An answer that one edition was given and the other may still ask for."""

    known: Known
    unsure: bool


class State(NamedTuple):
    """Where both editions are, what is known, and what one was told that the other may still ask."""

    old: Spot
    new: Spot
    known: Memory
    said: tuple[tuple[str, Said], ...] = ()


class PairEdge(NamedTuple):
    """One way on for both: what each finds, in how many ways, and how it is shown."""

    to: State
    spread: Mapping[tuple[int, int], int]
    steps: tuple[tuple[bool, str, int, Move], ...] = ()
    """The moves taken: whether the old edition's, the step, the things run there, and the move."""
    part: str = ""
    """The run of a visited tree that lies between: "joint.2"."""
    inner: Pair | None = None
    """That run, where both editions make it and it differs."""
    left: State | None = None
    """How it ended."""
    alone: tuple[bool, Graph, Exit] | None = None
    """That run, where both make it alike, or only one makes it: whose, its graph and its end."""


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


class Pairs:
    """Every pair of runs that comes up in one comparison."""

    def __init__(self, old: Edition, new: Edition) -> None:
        self.old = old
        self.new = new
        self.sameness = Sameness()
        self.done: dict[tuple[object, ...], Pair] = {}
        self.found: dict[int, object] = {}
        """Filled by `found`: what is found in each pair of runs."""
        self.states = 0
        self.loose = False
        """Whether a pair may be found that no real answers reach."""

    def run(self, old: Frame, new: Frame) -> Pair:
        """One run in both editions. Raises `TooMany`."""
        key = (old.key, new.key)
        if key not in self.done:
            self.done[key] = _Walker(self, self.old.side(old), self.new.side(new)).pair
        return self.done[key]


class _Walker:
    """Explores one run in both editions."""

    def __init__(self, pairs: Pairs, old: Side, new: Side) -> None:
        self.pairs = pairs
        self.old, self.new = old, new
        self.steady = pairs.sameness.steps(old.frame.tree, new.frame.tree)
        self.linked_alike = old.frame.places == new.frame.places
        first = Spot(old.frame.tree.file.tree.first), Spot(new.frame.tree.file.tree.first)
        entry = {**dict(new.frame.entry), **dict(old.frame.entry)}
        self.pair = Pair(old, new, self.state(*first, entry, {}))
        self.explore()

    def explore(self) -> None:
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
                self.pairs.states += 1
                if self.pairs.states > MOST_STATES:
                    raise TooMany
                if self.alike_from(state):
                    pair.same.add(state)
                    waiting.pop()
                    continue
                edges[state] = list(self.ways(state))
                waiting.extend(edge.to for edge in edges[state] if edge.to not in entered)

    # States

    def state(self, old: Spot, new: Spot, known: Mapping[str, Known], said: Mapping[str, Said]) -> State:
        """A state, cut down to what still matters to either edition."""
        kept = []
        for place, value in known.items():
            mine = self.old.frame.lookers.get(place, 0) & self.old.frame.ahead.get(old.step, 0)
            its = self.new.frame.lookers.get(place, 0) & self.new.frame.ahead.get(new.step, 0)
            if mine or its:
                kept.append(
                    (place, self.one_of(place, mine, its, value) if isinstance(value, str) else value)
                )
        kept.sort(key=lambda item: item[0])
        still = tuple(
            (name, one)
            for name, one in sorted(said.items())
            if self.old.ahead(old.step, name) or self.new.ahead(new.step, name)
        )
        return State(old, new, tuple(kept), still)

    def one_of(self, place: str, mine: int, its: int, answer: str) -> str:
        """The first answer that both editions take like this one."""
        ours = self.old.frame.alike(place, mine) if mine else None
        theirs = self.new.frame.alike(place, its) if its else None
        for one in ours if ours else theirs or ():
            if (not mine or (ours or {}).get(one) == (ours or {}).get(answer, answer)) and (
                not its or (theirs or {}).get(one) == (theirs or {}).get(answer, answer)
            ):
                return one
        return answer

    def alike_from(self, state: State) -> bool:
        """Whether both editions mean the same from here on."""
        return (
            state.old == state.new
            and state.old.step in self.steady
            and self.linked_alike
            and not state.said
            and state.old.step in self.old.frame.tree.steps
            and self.old.frame.remember(state.old.step, state.known)
            == self.new.frame.remember(state.new.step, state.known)
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
        elif old.step == new.step and self.old.asks(old.step) and self.new.asks(new.step):
            yield from self.both_ask(state)
        elif not self.old.asks(old.step) and not self.old.visits(old.step):
            yield from self.alone(state, True)
        elif not self.new.asks(new.step) and not self.new.visits(new.step):
            yield from self.alone(state, False)
        elif old.step == new.step and self.old.visits(old.step) and self.new.visits(new.step):
            yield from self.both_visit(state)
        else:
            waits = self.new.ahead(new.step, old.step) and not self.old.ahead(old.step, new.step)
            yield from self.alone(state, not waits)

    def alone(self, state: State, old: bool) -> Iterator[PairEdge]:
        """One edition goes on by itself."""
        side = self.old if old else self.new
        other = self.new if old else self.old
        spot, beside = (state.old, state.new) if old else (state.new, state.old)
        said = dict(state.said)
        told = said.pop(spot.step, None) if side.asks(spot.step) else None
        left: Known | None = told.known if told is not None else None
        fits = False
        for way in side.ways(spot.step, spot.at, state.known):
            move = way[0]
            known = dict(state.known)
            after = dict(said)
            if side.asks(spot.step):
                own = dict(move.changes).get(spot.step)
                if told is not None:
                    met = _met(told, Said(own if own is not None else Open.ANY, move.unsure))
                    if met is None:
                        continue
                    fits, move = True, _narrowed(move, spot.step, met)
                elif other.ahead(beside.step, spot.step) and own is not None:
                    after[spot.step] = Said(own, move.unsure)
            if way[4] and not other.ends(beside.step):
                self.pairs.loose = True
            known.update(move.changes)
            yield self.edge(state, old, spot, way, move, known, after)
        if told is not None:
            question = side.frame.tree.file.question[spot.step]
            for rest in _beyond(left, question) if fits or isinstance(left, Stretch) else [left]:
                yield self.refused(
                    state, old, {**dict(state.known), **({spot.step: rest} if rest else {})}, said
                )

    def edge(
        self, state: State, old: bool, spot: Spot, way: Way, move: Move, known: Mapping[str, Known],
        said: Mapping[str, Said],
    ) -> PairEdge:  # fmt: skip
        """One edition's way on, the other waiting."""
        to = Spot(way[0].then, way[1])
        spread = move.spread or {move.bits: 1}
        both = {(bits, 0) if old else (0, bits): ways for bits, ways in spread.items()}
        after = self.state(to if old else state.old, state.new if old else to, known, said)
        alone = None if way[2] is None or way[3] is None else (old, way[2], way[3])
        return PairEdge(after, both, ((old, spot.step, spot.at, move),), way[4], alone=alone)

    def refused(
        self, state: State, old: bool, known: Mapping[str, Known], said: Mapping[str, Said]
    ) -> PairEdge:
        """One edition does not take an answer that the other takes."""
        end = Spot(REFUSED)
        after = self.state(end if old else state.old, state.new if old else end, known, said)
        return PairEdge(after, {(0, 0): 1})

    def both_ask(self, state: State) -> Iterator[PairEdge]:
        """Both ask the same question: the same answer for both."""
        name = state.old.step
        ours = [way[0] for way in self.old.ways(name, 0, state.known)]
        theirs = [way[0] for way in self.new.ways(name, 0, state.known)]
        questions = self.old.frame.tree.file.question[name], self.new.frame.tree.file.question[name]
        kinds = [(question.kind, question.unit) for question in questions]
        pairs: list[tuple[Move | None, Move | None, Known | None]] = []
        taken: set[int] = set()
        for mine in ours:
            said = Said(dict(mine.changes).get(name, Open.ANY), mine.unsure)
            found = False
            for number, its in enumerate(theirs):
                met = (
                    _met(said, Said(dict(its.changes).get(name, Open.ANY), its.unsure))
                    if kinds[0] == kinds[1]
                    else None
                )
                if met is not None:
                    found = True
                    taken.add(number)
                    pairs.append((mine, its, met))
            if isinstance(said.known, Stretch) and kinds[0] == kinds[1]:
                pairs += [(mine, None, rest) for rest in _beyond(said.known, questions[1])]
            elif not found:
                pairs.append((mine, None, None))
        for number, its in enumerate(theirs):
            known = dict(its.changes).get(name, Open.ANY)
            if isinstance(known, Stretch) and kinds[0] == kinds[1]:
                pairs += [(None, its, rest) for rest in _beyond(known, questions[0])]
            elif number not in taken:
                pairs.append((None, its, None))
        for mine_, its_, met in pairs:
            yield self.asked(state, name, mine_, its_, met)

    def asked(
        self, state: State, name: str, mine: Move | None, its: Move | None, met: Known | None
    ) -> PairEdge:
        """One answer to a question that both ask; an edition without a move does not take it."""
        known = dict(state.known)
        steps = []
        for old, move in ((True, mine), (False, its)):
            if move is not None:
                narrowed = move if met is None else _narrowed(move, name, met)
                known.update(narrowed.changes)
                steps.append((old, name, 0, narrowed))
        to_old = Spot(mine.then) if mine is not None else Spot(REFUSED)
        to_new = Spot(its.then) if its is not None else Spot(REFUSED)
        after = self.state(to_old, to_new, known, dict(state.said))
        return PairEdge(after, _together(mine, its), tuple(steps))

    def both_visit(self, state: State) -> Iterator[PairEdge]:
        """Both come to the same visit, or to the next thing of the same each."""
        name, known = state.old.step, state.known
        ours = self.old.ways(name, state.old.at, known)
        theirs = self.new.ways(name, state.new.at, known)
        part = next((way[4] for way in ours if way[4]), "")
        if not part:
            leaves = [
                found[0][0] if len(found) == 1 and found[0][0].then != name else None
                for found in (ours, theirs)
            ]
            if leaves[0] is not None and leaves[1] is not None and not any(way[4] for way in theirs):
                yield self.asked(state, name, leaves[0], leaves[1], None)
            else:  # it chooses how many there are, or leaves first
                yield from self.alone(state, True)
            return
        if part != next((way[4] for way in theirs if way[4]), ""):
            yield from self.alone(state, not any(way[4] for way in theirs))
            return
        before = next(way[2] for way in ours if way[2] is not None).frame
        after = next(way[2] for way in theirs if way[2] is not None).frame
        same = self.pairs.sameness.trees(before.tree, after.tree) and before.key[1:] == after.key[1:]
        for number, way in enumerate(ours):
            if not way[4]:  # a thing that was not chosen
                move = way[0]
                to = self.state(
                    Spot(name, way[1]),
                    Spot(name, way[1]),
                    {**dict(known), **dict(move.changes)},
                    dict(state.said),
                )
                yield PairEdge(to, {(0, 0): 1}, ((True, name, state.old.at, move),))
            elif same and way[2] is not None and way[3] is not None:
                move = theirs[number][0] if number < len(theirs) else way[0]
                changed = {**dict(known), **dict(move.changes), **dict(way[0].changes)}
                spot = Spot(way[0].then, way[1])
                spread = {(bits, bits): ways for bits, ways in (way[0].spread or {}).items()}
                to = self.state(spot, spot, changed, dict(state.said))
                steps = ((True, name, state.old.at, way[0]),)
                yield PairEdge(to, spread, steps, part, alone=(True, way[2], way[3]))
        if not same:
            yield from self.through(state, part, before, after)

    def through(self, state: State, part: str, before: Frame, after: Frame) -> Iterator[PairEdge]:
        """Both run a visited tree in which they may differ."""
        from assistant.tree.compare.found import spread_at

        name = state.old.step
        inner = self.pairs.run(before, after)
        back = [
            self.old.explorer.inner(
                state.known, self.step(True, name), f"{part}/", self.old.frame.live(self.then(True, name))
            )[1],
            self.new.explorer.inner(
                state.known, self.step(False, name), f"{part}/", self.new.frame.live(self.then(False, name))
            )[1],
        ]
        for left, spread in spread_at(self.pairs, inner).items():
            changes = {}
            for place, known in left.known:
                for names in back:
                    if place in names:
                        changes[names[place]] = known
            to = self.state(
                self.onward(True, name, state.old.at, left.old.step),
                self.onward(False, name, state.new.at, left.new.step),
                {**dict(state.known), **changes},
                dict(state.said),
            )
            move = Move(-1, False, name, 0, tuple(changes.items()))
            yield PairEdge(to, spread, ((True, name, state.old.at, move),), part, inner=inner, left=left)

    def step(self, old: bool, name: str) -> Visit | Each:
        """A visit or each of one edition."""
        step = (self.old if old else self.new).frame.tree.steps[name]
        assert isinstance(step, Visit | Each)
        return step

    def then(self, old: bool, name: str) -> str:
        """The step that follows one run."""
        step = self.step(old, name)
        return step.then if isinstance(step, Visit) else name

    def onward(self, old: bool, name: str, at: int, end: str) -> Spot:
        """Where an edition goes on after one run that ended so."""
        if end != "end":
            return Spot(end)
        return Spot(self.then(old, name), 0 if isinstance(self.step(old, name), Visit) else at + 1)


# Answers


def _met(told: Said, own: Said) -> Known | None:
    """What is known of an answer that fits what both rows want; None where none does."""
    mine, its = told.known, own.known
    if isinstance(mine, Stretch) and isinstance(its, Stretch):
        meeting = mine.meet(its)
        return None if meeting.empty or told.unsure != own.unsure else meeting
    unsure = told.unsure or mine == NOT_SURE, own.unsure or its == NOT_SURE
    if unsure[0] != unsure[1]:
        return None
    if unsure[0]:
        if told.unsure and own.unsure and mine != its:
            return None
        return mine if told.unsure else its
    if isinstance(mine, Open) or isinstance(its, Open):
        return its if isinstance(mine, Open) else mine
    return mine if mine == its else None


def _narrowed(move: Move, name: str, met: Known) -> Move:
    """A move whose answer is known more closely."""
    changes = tuple(
        (place, met if place == name and not move.unsure else known) for place, known in move.changes
    )
    return move._replace(changes=changes)


def _beyond(known: Known | None, question: Question) -> list[Stretch]:
    """What of a stretch lies outside the numbers that a question takes."""
    if not isinstance(known, Stretch) or question.kind not in ("measure", "count"):
        return []
    whole = whole_range(question)
    below = Stretch(None, False, whole.low, False, known.whole) if whole.low is not None else None
    above = Stretch(whole.high, False, None, False, known.whole) if whole.high is not None else None
    parts = [known.meet(part) for part in (below, above) if part is not None]
    return [part for part in parts if not part.empty]


def _together(mine: Move | None, its: Move | None) -> dict[tuple[int, int], int]:
    """What both find under the same answer, in how many ways."""
    if mine is not None and its is not None and mine.each is not None and its.each is not None:
        spread = {(0, 0): 1}
        for ours, theirs in zip(mine.each, its.each, strict=False):
            grown = dict(spread)
            for (one, other), ways in spread.items():
                key = (one | ours, other | theirs)
                grown[key] = grown.get(key, 0) + ways
            spread = grown
        return spread
    left = {0: 1} if mine is None else mine.spread or {mine.bits: 1}
    right = {0: 1} if its is None else its.spread or {its.bits: 1}
    return {(one, other): ways * more for one, ways in left.items() for other, more in right.items()}
