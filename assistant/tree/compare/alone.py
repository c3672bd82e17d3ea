"""One of two editions goes on by itself, and the other waits.

Invariant: nothing that the waiting edition may still be told is lost: an answer, an answer assumed where it was not sure, or
what a working comes to. What the one that goes on does not take it refuses, where the other takes it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from assistant.tree.bands import Stretch
from assistant.tree.compare.answers import Option, beyond, met, not_taken, same_sort
from assistant.tree.compare.side import Side
from assistant.tree.compare.state import REFUSED, PairEdge, Said, Spot, State
from assistant.tree.model import NOT_SURE, Each, Question, Recall, Visit, Working
from assistant.tree.survey.graph import Exit, Graph
from assistant.tree.survey.known import Known, Memory, Open, looked_up, pinned
from assistant.tree.survey.moves import MOST_CHOSEN, NONE, Move

if TYPE_CHECKING:
    from assistant.tree.compare.pair import Pairs

__all__ = ["Alone", "Changes", "Told"]

Changes = Sequence[tuple[str, Known]]
Told = tuple[dict[str, Known], dict[str, Known], dict[str, Said]]


class Alone:
    """The ways on of one edition in a pair of runs."""

    def __init__(self, pairs: Pairs, old: Side, new: Side, links: frozenset[str]) -> None:
        self.pairs = pairs
        self.old, self.new = old, new
        self.links = links
        self.linked = {*old.frame.linked.values(), *new.frame.linked.values()}
        self.worked = old.worked | new.worked
        self.same_visits: dict[str, bool] = {}

    # States

    def state(
        self, old: Spot, new: Spot, mine: Mapping[str, Known], its: Mapping[str, Known], said: Mapping[str, Said],
        apart: Iterable[str],
    ) -> State | None:  # fmt: skip
        """A state, cut down to what still matters; None where an edition can no longer be told what it must be."""
        kept = self.still_said(old, new, said)
        if kept is None:
            return None
        return State(
            old, new, self.old.number(old.step, tuple(mine.items())), self.new.number(new.step, tuple(its.items())),
            kept, self.still_apart(old, new, apart),
        )  # fmt: skip

    def still_said(
        self, old: Spot, new: Spot, said: Mapping[str, Said]
    ) -> tuple[tuple[str, Said], ...] | None:
        """What the other edition may still be told; None where it no longer can what it must be."""
        kept = []
        for key, one in sorted(said.items()):
            side, spot = (self.new, new) if one.by_old else (self.old, old)
            if side.may_claim(spot.step, key):
                kept.append((key, one))
            elif one.must:
                return None
        return tuple(kept)

    def still_apart(self, old: Spot, new: Spot, apart: Iterable[str]) -> tuple[str, ...]:
        """The places of which different things are known, where a working is still to come."""
        still = tuple(sorted(set(apart))) if apart else ()
        return still if still and (self.works(self.old, old) or self.works(self.new, new)) else ()

    @staticmethod
    def works(side: Side, spot: Spot) -> bool:
        """Whether a working that cannot be followed is still to come."""
        return bool(side.worked) and any(
            side.ahead(spot.step, name)
            for name, working in side.tree.file.working.items()
            if not side.frame.followed(working)
        )

    def shared(self, place: str) -> bool:
        """Whether both editions have the same answer at a place, if they have one."""
        if place.startswith("="):
            return self.linked == self.links
        if place in self.linked:
            return place in self.links
        if "/" not in place:
            one, other = (side.tree.file.question.get(place) for side in (self.old, self.new))
            return one is None or other is None or one.unit == other.unit
        name = place.partition("/")[0].partition(".")[0]
        if name not in self.same_visits:
            mine, its = self.old.tree.steps.get(name), self.new.tree.steps.get(name)
            self.same_visits[name] = (
                isinstance(mine, Visit | Each)
                and isinstance(its, Visit | Each)
                and (mine.tree, mine.given, mine.set) == (its.tree, its.given, its.set)
            )
        return self.same_visits[name]

    def told(self, state: State, old: bool, changes: Changes) -> Told | None:
        """What both know once one edition knows this, and what was said; None where that cannot be."""
        mine, its, said = (
            dict(self.old.memory(state.mine)),
            dict(self.new.memory(state.its)),
            dict(state.said),
        )
        own, others = (mine, its) if old else (its, mine)
        for place, known in changes:
            before, own[place] = own.get(place), known
            if not isinstance(known, Stretch) or known == before or place.startswith("="):
                continue
            beside = others.get(place)
            if isinstance(beside, Stretch):
                if not self.shared(place):
                    self.pairs.loose = True
                    continue
                meeting = beside.meet(known)
                if meeting.empty:
                    return None
                others[place] = meeting
            one = said.get(place)
            if one is not None and isinstance(one.known, Stretch) and self.shared(place):
                meeting = one.known.meet(known)
                if meeting.empty:
                    return None
                said[place] = one._replace(known=meeting)
        return mine, its, said

    # Edges

    def alone(self, state: State, old: bool) -> Iterator[PairEdge]:
        """One edition goes on by itself."""
        side, spot = (self.old, state.old) if old else (self.new, state.new)
        step = side.tree.steps[spot.step]
        if side.asks(spot.step):
            yield from self.ask(state, old)
        elif isinstance(step, Visit | Each):
            yield from self.visit(state, old, step)
        elif isinstance(step, Working):
            yield from self.work(state, old, step)
        else:
            yield from self.look_back(state, old, step)

    def edge(
        self, state: State, old: bool, to: Spot, move: Move, told: Told, apart: Iterable[str], cost: int = 0,
        part: str = "", alone: tuple[tuple[bool, Graph, Exit], ...] = (),
    ) -> Iterator[PairEdge]:  # fmt: skip
        """One edition's way on, the other waiting."""
        spot = state.old if old else state.new
        mine, its, said = told
        after = self.state(
            to if old else state.old,
            state.new if old else to,
            mine,
            its,
            said,
            apart,
        )
        if after is None:
            return
        spread = move.spread or {move.bits: 1}
        both = {(bits, 0) if old else (0, bits): ways for bits, ways in spread.items()}
        yield PairEdge(after, both, ((old, spot.step, spot.at, move),), cost, part, alone=alone)

    def refuses(
        self, state: State, old: bool, said: Mapping[str, Said], changes: Changes = (),
        narrowed: tuple[tuple[str, Known], ...] = (),
    ) -> Iterator[PairEdge]:  # fmt: skip
        """One edition does not take an answer."""
        spot, end = state.old if old else state.new, Spot(REFUSED)
        told = self.told(state._replace(said=tuple(said.items())), old, changes)
        if told is None:
            return
        mine, its, left = told
        after = self.state(
            end if old else state.old,
            state.new if old else end,
            mine,
            its,
            left,
            state.apart,
        )
        if after is None:
            return
        move = Move(NONE, False, REFUSED, 0, tuple(changes))
        steps = ((old, spot.step, spot.at, move),) if changes and not narrowed else ()
        yield PairEdge(after, {(0, 0): 1}, steps, narrowed=narrowed)

    # Questions that are asked

    def ask(self, state: State, old: bool) -> Iterator[PairEdge]:
        """One edition asks a question."""
        side, other, spot, beside = self.sides(state, old)
        name, said = spot.step, dict(state.said)
        told = said.get(name)
        may = told is None and other.asks(name) and other.ahead(beside.step, name)
        question = side.tree.file.question[name]
        theirs = other.tree.file.question.get(name, question)
        if (told or may) and question.kind == "several" and len(question.answer) > MOST_CHOSEN:
            self.pairs.loose = True
        sorted_alike = same_sort(question, theirs)
        for option in side.options(name, told is not None or may):
            real, now = option.real, dict(said)
            if told is not None:
                if not sorted_alike and not told.must and NOT_SURE not in (told.known, real):
                    continue
                meeting = met(told.known, real)
                if meeting is None:
                    continue
                real = meeting
                now[name] = told._replace(known=real, must=False)
            elif may:
                now[name] = Said(real, old)
            if option.assumed is not None and not self.assume(now, name + "?", option.assumed, state, old):
                continue
            move = option.move
            if real != NOT_SURE:
                move = move._replace(changes=tuple((p, real if p == name else k) for p, k in move.changes))
            known = self.told(state._replace(said=tuple(now.items())), old, move.changes)
            if known is None:
                continue
            apart = self.apart_after(state, name, told is not None, option, name + "?" in said)
            cost = 0 if told is not None and not told.must else 1 + 4 * move.unsure
            yield from self.edge(state, old, Spot(move.then), move, known, apart, cost)
        if told is not None and not told.must:
            assumed = said.get(name + "?")
            given = Option(Move(NONE, False, "", 0), told.known, assumed.known if assumed else None)
            for real, _ in not_taken(question, given, theirs):
                now = {key: one for key, one in said.items() if key != name}
                yield from self.refuses(state, old, now, ((name, real),), ((name, real),))
        elif may:
            for option in other.options(name, True):
                for real, guess in not_taken(question, option, theirs):
                    now = {**said, name: Said(real, old, must=True)}
                    if guess is not None and not self.assume(now, name + "?", guess, state, old):
                        continue
                    yield from self.refuses(state, old, now)

    def apart_after(
        self, state: State, name: str, told: bool, option: Option, guessed: bool
    ) -> Iterable[str]:
        """The places of which the editions know different things, after one was told an answer."""
        if name not in self.worked:
            return state.apart
        if told and (option.assumed is not None) == guessed:
            return [place for place in state.apart if place != name]
        return (*state.apart, name)

    def assume(self, said: dict[str, Said], key: str, guess: Known, state: State, old: bool) -> bool:
        """Note what one edition assumes; false where the other assumed something else."""
        _, other, _, beside = self.sides(state, old)
        before = said.get(key)
        if before is not None:
            meeting = met(before.known, guess)
            if meeting is None:
                return False
            said[key] = before._replace(known=meeting, must=before.must and before.by_old == old)
        elif other.may_claim(beside.step, key):
            said[key] = Said(guess, old)
        return True

    def sides(self, state: State, old: bool) -> tuple[Side, Side, Spot, Spot]:
        """The edition that goes on, the one that waits, and where both are."""
        if old:
            return self.old, self.new, state.old, state.new
        return self.new, self.old, state.new, state.old

    # Looking back

    def look_back(self, state: State, old: bool, step: object) -> Iterator[PairEdge]:
        """One edition branches on an answer that it has: a recall, or a question that is answered from outside."""
        side, _, spot, _ = self.sides(state, old)
        name, number = spot.step, state.mine if old else state.its
        memory = side.memory(number)
        assert isinstance(step, Question | Recall)
        place = side.frame.place(step.question if isinstance(step, Recall) else name)
        question = side.tree.file.question[step.question if isinstance(step, Recall) else name]
        choice = question.kind == "choice"
        key = (place if choice or isinstance(step, Question) else name) + "?"
        open_ = step.not_sure is None or step.not_sure.then is None
        ways = side.ways(name, spot.at, number)
        guesses: set[Known] = set()
        splits = False
        for way in ways:
            move, now = way[0], dict(state.said)
            if move.unsure and open_:
                splits = True
                guess = self.guessed(side, step, name, place, move)
                guesses.add(guess)
                if key not in now:
                    self.guess_apart(state, old, place)
                if not self.assume(now, key, guess, state, old):
                    continue
            told = self.told(state._replace(said=tuple(now.items())), old, move.changes)
            if told is not None:
                yield from self.edge(state, old, Spot(move.then), move, told, state.apart)
        if not ways:
            yield from self.refuses(state, old, dict(state.said))
        known = looked_up(memory, place)
        if isinstance(step, Question) and ways and isinstance(known, Stretch):
            for rest in self.past(known, question):
                yield from self.refuses(state, old, dict(state.said), ((place, rest),))
        if splits and choice:
            yield from self.not_guessed(state, old, key, place, guesses)

    @staticmethod
    def past(known: Stretch, question: Question) -> Iterator[Stretch]:
        """What of a number that is handed on a question does not take."""
        if question.kind in ("measure", "count"):
            yield from beyond(known, question)

    @staticmethod
    def guessed(side: Side, step: Question | Recall, name: str, place: str, move: Move) -> Known:
        """What is assumed along a way on from an answer that is not sure."""
        known = dict(move.changes).get(place)
        if isinstance(known, str) and known != NOT_SURE:
            return known
        return side.assumed(name, move, NOT_SURE) if isinstance(step, Question) else side.band(name, move.row)

    def guess_apart(self, state: State, old: bool, place: str) -> None:
        """Note where the other edition may assume another answer than the one that is assumed now."""
        known = looked_up(self.new.memory(state.its) if old else self.old.memory(state.mine), place)
        if isinstance(known, str) and known != NOT_SURE and self.shared(place):
            self.pairs.loose = True

    def not_guessed(
        self, state: State, old: bool, key: str, place: str, guesses: set[Known]
    ) -> Iterator[PairEdge]:
        """What the other edition assumes, or may assume, and this one has not among its answers."""
        _, other, _, beside = self.sides(state, old)
        said = dict(state.said)
        before = said.get(key)
        if before is not None:
            if before.known not in guesses and not isinstance(before.known, Open):
                yield from self.refuses(state, old, said)
            return
        question = other.tree.file.question.get(place)
        if question is None or not other.may_claim(beside.step, key):
            return
        for answer in question.answer:
            if answer.id not in guesses:
                yield from self.refuses(state, old, {**said, key: Said(answer.id, old, must=True)})

    # Workings

    def work(self, state: State, old: bool, working: Working) -> Iterator[PairEdge]:
        """One edition comes to a working."""
        side, other, spot, beside = self.sides(state, old)
        name, number = spot.step, state.mine if old else state.its
        memory = side.memory(number)
        said = dict(state.said)
        key = self.same_result(state, side, name, working, memory)
        before = said.get(key) if key else None
        ways = side.ways(name, spot.at, number)
        signature = side.frame.signature(working)
        if before is None:
            self.work_apart(side, other, name, ways, memory, key, beside)
        for way in ways:
            move, now = way[0], dict(said)
            result: Known = NOT_SURE
            if not move.unsure:
                result = next((k for p, k in move.changes if p == signature), side.band(name, move.row))
            if key and not self.assume(now, key, result, state, old):
                continue
            if (
                move.unsure
                and move.row != NONE
                and not self.assume(now, name + "?", side.band(name, move.row), state, old)
            ):
                continue
            told = self.told(state._replace(said=tuple(now.items())), old, move.changes)
            if told is not None:
                yield from self.edge(state, old, Spot(move.then), move, told, state.apart)
        refuses = not ways or side.may_refuse(name, memory)
        if refuses and (before is None or before.known == REFUSED):
            now = dict(said)
            if key:
                self.assume(now, key, REFUSED, state, old)
            self.pairs.loose = self.pairs.loose or (bool(ways) and before is None)
            yield from self.refuses(state, old, now)

    def same_result(self, state: State, side: Side, name: str, working: Working, memory: Memory) -> str:
        """What the result of a working is said under; empty where the other edition may be given something else."""
        places = {side.frame.place(key) for keys in working.give.values() for key in keys}
        if places & set(state.apart) or not all(self.shared(place) for place in places):
            return ""
        known = sorted(side.inputs(name, memory).items())
        return f"{side.frame.signature(working)}|{known}"

    def work_apart(
        self,
        side: Side,
        other: Side,
        name: str,
        ways: Sequence[object],
        memory: Memory,
        key: str,
        beside: Spot,
    ) -> None:
        """Note where the other edition may work with the same numbers in another way."""
        step = side.tree.steps[name]
        assert isinstance(step, Working)
        free = [
            place
            for _, place in side.frame.inputs(step)
            if isinstance(one := looked_up(memory, place), Stretch) and pinned(one) is None
        ]
        told_apart = not key or other.looked_at(free, side.frame.signature(step), beside.step)
        if len(ways) > 1 and free and told_apart:
            self.pairs.loose = True

    # Visits

    def visit(self, state: State, old: bool, step: Visit | Each) -> Iterator[PairEdge]:
        """One edition visits a tree by itself, or goes on to its next thing."""
        side, other, spot, _ = self.sides(state, old)
        name = spot.step
        ways = side.ways(name, spot.at, state.mine if old else state.its)
        others = self.new.memory(state.its) if old else self.old.memory(state.mine)
        for way in ways:
            move = way[0]
            alone = () if way[2] is None or way[3] is None else ((old, way[2], way[3]),)
            if way[4] and other.visits(name):
                self.pairs.loose = True
            for here in (*step.given.values(), getattr(step, "over", None)):
                known = looked_up(others, side.frame.place(here)) if here else None
                if isinstance(known, Stretch) or known is Open.SOME:
                    self.pairs.loose = True
            apart = state.apart if move.then == name and not way[4] else (*state.apart, *self.run_apart(name))
            told = self.told(state, old, move.changes)
            if told is not None:
                yield from self.edge(
                    state, old, Spot(move.then, way[1]), move, told, apart, part=way[4], alone=alone
                )
        stops = side.may_stop_inside(name, spot.at, state.mine if old else state.its)
        if stops or not ways:
            self.pairs.loose = True
            yield from self.refuses(state, old, dict(state.said))

    def run_apart(self, name: str) -> Iterator[str]:
        """The places of a visit that a working may look at."""
        return (place for place in self.worked if place.startswith((f"{name}/", f"{name}.")))
