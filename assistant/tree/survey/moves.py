"""How a way can go on from a question, a recall or a working: the same rules as the walk of a consultation, over all answers.

Invariant: for every real set of answers the walk takes one of these moves, and where nothing hangs on a working that cannot
be followed, every move is taken by some real answers.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from fractions import Fraction
from functools import reduce
from operator import or_
from typing import NamedTuple

from assistant.tree.bands import Stretch, stretches
from assistant.tree.model import NOT_SURE, Answer, Band, NotSure, Question, Recall, RecallAnswer, Row, Working
from assistant.tree.survey.bits import Bits, spread_of
from assistant.tree.survey.frame import Frame
from assistant.tree.survey.known import Known, Memory, Open, exactly, looked_up, pinned, settled, whole_range
from assistant.tree.survey.sides import beside_limits
from assistant.tree.survey.worked import in_unit, result_of
from assistant.workings import registry
from assistant.workings.registry import Working as Calculation

__all__ = ["NONE", "Move", "Moves"]

NONE = -1
"""No answer or band: "not sure" where the author decided what follows, or a step with one way on."""
MOST_CHOSEN = 12
"""Answers of a several question whose every choice is told apart."""

Fault = Callable[[str, str], None]
"""Notes a code, and what it is about, at the step that is being left."""


class Move(NamedTuple):
    """One way on from a step."""

    row: int
    """Which answer or band."""
    unsure: bool
    """Whether it is only one of those that "not sure" leaves possible."""
    then: str
    bits: int
    changes: tuple[tuple[str, Known], ...] = ()
    """What is known from here on, by place."""
    spread: Mapping[int, int] | None = None
    """What is found in how many ways, where several are taken as one move."""
    each: tuple[int, ...] | None = None
    """What each of those answers finds."""


class Moves:
    """The moves within one run of a tree."""

    def __init__(self, frame: Frame, bits: Bits, loose: set[str], sides: bool = False) -> None:
        self.frame = frame
        self.tree = frame.tree
        self.bits = bits
        self.loose = loose
        """Steps whose moves may not all be taken by real answers."""
        self.sides = sides
        """Whether a number is one of those beside a limit, and of several answers all are given or none."""
        self.asked: dict[str, tuple[Move, ...]] = {}

    def row(self, row: Row | NotSure, name: str = "", index: int | None = None) -> int:
        """What a row finds, and whether work can bring about another answer to the question `name`, if asked here."""
        bits = self.bits.found(self.tree, row.finding)
        asked = name and name not in self.frame.linked
        return bits | self.bits.help if asked and self.frame.workable(name, index) else bits

    # Questions

    def question(self, name: str, question: Question, memory: Memory, fault: Fault) -> Sequence[Move]:
        """The moves from a question, asked here or answered from outside."""
        if name not in self.frame.linked:
            moves = self.asked.get(name)
            if moves is None:
                moves = self.asked[name] = tuple(self.asking(name, question))
            return moves
        known = looked_up(memory, self.frame.place(name))
        if not settled(known):
            if question.must_answer:
                fault("given-not-known", name)
            return list(self.unsure(name, question))
        return list(self.handed(name, question, known, fault))

    def asking(self, name: str, question: Question) -> Iterator[Move]:
        """Every answer a person can give."""
        beside = (
            beside_limits(self.tree, name) if self.sides and question.kind in ("measure", "count") else []
        )
        for index, number in beside:
            band = question.band[index] if index != NONE else None
            then = (band and band.then) or question.then or "end"
            bits = self.row(band, name, index) if band is not None else 0
            yield Move(index, False, then, bits, ((name, exactly(number)),))
        for index, row, stretch in self.rows(question) if not beside else ():
            then = row.then or question.then or "end"
            known: Known = row.id if isinstance(row, Answer) else stretch
            yield Move(index, False, then, self.row(row, name, index), ((name, known),))
        if question.kind in ("measure", "count") and not question.band and not beside:
            yield Move(NONE, False, question.then or "end", 0, ((name, whole_range(question)),))
        elif question.kind == "note":
            yield Move(NONE, False, question.then or "end", 0, ((name, Open.ANY),))
        elif question.kind == "several":
            yield from self.several(name, question)
        if not question.must_answer:
            yield from self.unsure(name, question)

    @staticmethod
    def rows(question: Question) -> Iterator[tuple[int, Answer | Band, Stretch]]:
        """The answers of a choice; the bands that a number can fall into, each with its stretch."""
        everything = Stretch(None, False, None, False)
        if question.kind == "choice":
            yield from ((index, answer, everything) for index, answer in enumerate(question.answer))
        elif question.band:
            whole = question.kind == "count"
            found = stretches(question.band, question.least, question.most, whole)
            for index, (band, stretch) in enumerate(zip(question.band, found, strict=True)):
                if not stretch.empty:
                    yield index, band, stretch

    def several(self, name: str, question: Question) -> Iterator[Move]:
        """Every choice among the answers of a several question, told apart only where something looks at it."""
        then = question.then or "end"
        found = [self.row(answer, name, index) for index, answer in enumerate(question.answer)]
        if self.sides:
            yield Move(NONE, False, then, 0, ((name, ()),))
            every = tuple(answer.id for answer in question.answer)
            yield Move(NONE, False, then, reduce(or_, found, 0), ((name, every),))
        elif name in self.frame.loosely:
            yield Move(NONE, False, then, 0, ((name, Open.SOME),))
        elif name not in self.frame.valued or len(found) > MOST_CHOSEN:
            if name in self.frame.valued:
                self.loose.add(name)
            known = Open.SOME if name in self.frame.valued else Open.ANY
            yield Move(NONE, False, then, 0, ((name, known),), spread_of(found), tuple(found))
        else:
            for chosen in range(1 << len(found)):
                ids, bits = [], 0
                for index, answer in enumerate(question.answer):
                    if chosen >> index & 1:
                        ids.append(answer.id)
                        bits |= found[index]
                yield Move(chosen, False, then, bits, ((name, tuple(ids)),))

    def unsure(self, name: str, question: Question) -> Iterator[Move]:
        """ "Not sure": what the author decided, or every answer kept possible."""
        not_sure, place = question.not_sure or NotSure(), self.frame.place(name)
        if not_sure.then is not None:
            bits = self.row(not_sure, name)
            yield Move(NONE, False, not_sure.then, bits, ((place, NOT_SURE),))
            return
        rows = list(self.rows(question))
        for index, row, _ in rows:
            then = row.then or question.then or "end"
            bits = self.row(not_sure, name) | self.row(row, name, index)
            known = row.id if isinstance(row, Answer) else NOT_SURE
            yield Move(index, True, then, bits, ((place, known),))
        if not rows:
            then = question.then or "end"
            yield Move(NONE, True, then, self.row(not_sure, name), ((place, NOT_SURE),))

    def handed(self, name: str, question: Question, known: Known | None, fault: Fault) -> Iterator[Move]:
        """The moves under an answer that came from outside."""
        place, then = self.frame.place(name), question.then or "end"
        if question.kind == "several":
            found = {answer.id: self.row(answer, name) for answer in question.answer}
            chosen = known if isinstance(known, tuple) and not isinstance(known, Stretch) else ()
            if any(one not in found for one in chosen):
                fault("given-not-taken", name)
                return
            if known is Open.SOME:
                yield Move(NONE, False, then, 0, (), spread_of(found.values()))
                return
            bits = 0
            for one in chosen:
                bits |= found[one]
            yield Move(NONE, False, then, bits)
        elif isinstance(known, Stretch):
            if not _within(known, question):
                fault("given-not-taken", name)
            taken = False
            for index, row, stretch in self.rows(question):
                meeting = known.meet(stretch)
                if not meeting.empty:
                    taken = True
                    then = row.then or question.then or "end"
                    bits = self.row(row, name, index)
                    yield Move(index, False, then, bits, ((place, meeting),))
            if not question.band and not known.meet(whole_range(question)).empty:
                yield Move(NONE, False, then, 0, ((place, known.meet(whole_range(question))),))
            elif not taken:
                fault("given-not-taken", name)
        elif question.kind == "choice":
            for index, answer in enumerate(question.answer):
                if answer.id == known:
                    then = answer.then or question.then or "end"
                    bits = self.row(answer, name, index)
                    yield Move(index, False, then, bits)
                    return
            fault("given-not-taken", name)
        else:
            yield Move(NONE, False, then, 0)

    # Recalls

    def recall(self, recall: Recall, memory: Memory, fault: Fault) -> Iterator[Move]:
        """The moves from a recall."""
        question = self.tree.file.question[recall.question]
        place = self.frame.place(recall.question)
        known = looked_up(memory, place)
        rows = {row.id: (index, row) for index, row in enumerate(recall.answer)}
        if settled(known) and question.kind == "choice":
            index, row = rows.get(str(known), (NONE, None))
            if row is None and recall.then is None:
                fault("recall-leaves-out", str(known))
                return
            yield self.recalled(recall, index, row)
            return
        if settled(known) and isinstance(known, Stretch):
            if not recall.band:
                yield Move(NONE, False, recall.then or "end", 0)
            for index, meeting in self.frame.cut(recall).met(known):
                yield self.recalled(recall, index, recall.band[index])._replace(changes=((place, meeting),))
            return
        if known is None:
            fault("recall-not-asked", recall.question)
        elif recall.not_sure is None:
            fault("not-sure-missing", recall.question)
        not_sure = recall.not_sure or NotSure()
        if not_sure.then is not None:
            yield Move(
                NONE,
                True,
                not_sure.then,
                self.row(not_sure),
            )
            return
        more = self.row(not_sure)
        if question.kind == "choice":
            for answer in question.answer:
                index, row = rows.get(answer.id, (NONE, None))
                if row is not None or recall.then is not None:
                    move = self.recalled(recall, index, row)
                    yield move._replace(unsure=True, bits=move.bits | more, changes=((place, answer.id),))
            return
        for index, band in enumerate(recall.band):
            move = self.recalled(recall, index, band)
            yield move._replace(unsure=True, bits=move.bits | more)
        if not recall.band:
            yield Move(NONE, True, recall.then or "end", more)

    def recalled(self, recall: Recall, index: int, row: RecallAnswer | Band | None) -> Move:
        """The move along one row of a recall; without one, along its `then`."""
        then = (row and row.then) or recall.then or "end"
        if row is None:
            return Move(index, False, then, 0)
        return Move(index, False, then, self.row(row))

    # Workings

    def working(self, name: str, working: Working, memory: Memory, fault: Fault) -> Sequence[Move]:
        """The moves from a working."""
        calculation = registry.find(working.run)
        inputs = {wanted: looked_up(memory, place) for wanted, place in self.frame.inputs(working)}
        required = {one.name for one in calculation.inputs if one.required and one.name not in working.set}
        signature = self.frame.signature(working)
        before = looked_up(memory, signature)
        if any(not settled(inputs.get(one)) for one in required):
            if working.not_sure is None:
                fault("not-sure-missing", name)
            return self.unworked(working)
        whole = all(map(settled, inputs.values())) and self.frame.followed(working)
        result = self.result(name, calculation, working, inputs) if self.frame.followed(working) else None
        free = result is None
        if result is None:
            self.loose.add(name)
            result = Stretch(None, False, None, False)
        elif result == "refused":
            return []
        elif result == NOT_SURE:
            return self.unworked(working)
        if isinstance(before, Stretch) and isinstance(result, Stretch):
            result = result.meet(before)
        moves = []
        for index, (band, stretch) in enumerate(zip(working.band, stretches(working.band), strict=True)):
            last = index == len(working.band) - 1
            if isinstance(result, str):
                if not last:
                    continue
                meeting = stretch
            else:
                meeting = result.meet(stretch)
                if meeting.empty:
                    continue
            then = band.then or working.then or "end"
            changes = ((signature, meeting),) if whole else ()
            moves.append(Move(index, False, then, self.row(band), changes))
        if free and working.not_sure is not None:
            moves += self.unworked(working)
        return moves

    def unworked(self, working: Working) -> list[Move]:
        """The moves where the result is not known."""
        not_sure = working.not_sure or NotSure()
        if not_sure.then is not None:
            return [Move(NONE, True, not_sure.then, self.row(not_sure))]
        moves = []
        for index, band in enumerate(working.band):
            then = band.then or working.then or "end"
            moves.append(Move(index, True, then, self.row(band) | self.row(not_sure)))
        return moves

    def result(
        self, name: str, calculation: Calculation, working: Working, inputs: Mapping[str, Known | None]
    ) -> Stretch | str | None:
        """The stretch that the result lies in; "unbounded", "refused" or "not-sure"; None where it cannot be told."""
        given: dict[str, object] = dict(working.set)
        loose: dict[str, Stretch] = {}
        for wanted, known in inputs.items():
            if not settled(known):
                continue
            value = pinned(known) if known is not None else None
            units = self.tree.units_of(working).get(wanted)
            if isinstance(value, Fraction):
                given[wanted] = self.tree.handed(working, wanted, value)
            elif value is not None:
                given[wanted] = value
            elif isinstance(known, Stretch):
                loose[wanted] = known if units is None else in_unit(known, *units)
            else:
                return None
        if loose and self.looked_at_again(name, working, loose):
            self.loose.add(name)
        return result_of(calculation, working.branch_on, given, loose)

    def looked_at_again(self, name: str, working: Working, loose: Mapping[str, Stretch]) -> bool:
        """Whether something that follows also looks at a number that this working was given, in another way."""
        places = [place for wanted, place in self.frame.inputs(working) if wanted in loose]
        if len(set(places)) < len(places) or not self.frame.report.isdisjoint(places):
            return True
        signature = self.frame.signature(working)
        looking = 0
        for place in places:
            looking |= self.frame.lookers.get(place, 0)
        steps = list(self.frame.named(looking))
        later = (self.tree.steps[one] for one in steps[steps.index(name) + 1 :])
        return any(not isinstance(one, Working) or self.frame.signature(one) != signature for one in later)


def _within(known: Stretch, question: Question) -> bool:
    """Whether every number of a stretch is one that the question takes."""
    low, high = known.ends()
    least, most = question.least, question.most
    above = least is None or (low is not None and low >= least)
    below = most is None or (high is not None and high <= most)
    return above and below
