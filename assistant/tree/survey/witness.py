"""From a way to the answers that take it: what a facts file needs to show it.

Invariant: every question that the way asks has an answer; a number lies where every recall on the way wants it, and, as far
as a few tries can tell, where the workings on the way want it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import islice, product

from assistant.errors import Refused
from assistant.tree.answers import Value
from assistant.tree.bands import Stretch, band_of
from assistant.tree.model import NOT_SURE, Each, Question, Working
from assistant.tree.survey.frame import Frame
from assistant.tree.survey.known import Known, Open, whole_range
from assistant.tree.survey.moves import NONE
from assistant.tree.survey.shortest import Taken
from assistant.tree.tree import Tree, each_items
from assistant.workings import registry

__all__ = ["Replay", "answers_of"]

MOST_TRIED = 2_000
"""Combinations of numbers tried for the workings of a way."""
MOST_FILE = 10
"""Numbers tried for one answer."""


def answers_of(way: Sequence[Taken]) -> dict[str, Value]:
    """The answers that take a way, by fact key, in the order asked."""
    return Replay(way).answers()


@dataclass
class Replay:
    """Goes along a way, and narrows down what its answers have to be."""

    way: Sequence[Taken]
    known: dict[str, Known] = field(default_factory=dict)
    """By fact key."""
    asked: dict[str, Question] = field(default_factory=dict)
    links: dict[str, dict[str, str | None]] = field(default_factory=lambda: {"": {}})
    """For each run, by its prefix, the fact keys behind the places that it is handed; None: the author's own answer."""
    tree_of: dict[int, Tree] = field(default_factory=dict)
    """The tree of each working, which knows in what units it is handed numbers."""
    wanted: list[tuple[Mapping[str, object], Mapping[str, str], Working, int]] = field(default_factory=list)
    """Workings on the way: what is set, the fact keys of what is given, and the band they have to come to."""

    def answers(self) -> dict[str, Value]:
        """The answers that take the way, by fact key, in the order asked."""
        for taken in self.way:
            self.take(taken)
        values = {key: self.value(key, question) for key, question in self.asked.items()}
        return self.suited(values)

    def take(self, taken: Taken) -> None:
        """Go along one move, and narrow down what it tells of the answers."""
        frame, prefix, name, move = taken.frame, taken.prefix, taken.node.step, taken.move
        step = frame.tree.steps[name]
        if isinstance(step, Question) and name not in frame.linked:
            self.asked[prefix + name] = step
            self.known[prefix + name] = self.answer(name, step, taken)
        elif isinstance(step, Working) and move.row != NONE and not move.unsure:
            keys = {
                wanted: key
                for wanted, given in step.give.items()
                if not given[0].endswith(".*") and (key := self.key(frame, prefix, given[0])) is not None
            }
            self.wanted.append((step.set, keys, step, move.row))
            self.tree_of[id(step)] = frame.tree
        if taken.part:
            self.enter(taken)
        for place, known in move.changes:
            key = self.key(frame, prefix, place)
            if key in self.known and not isinstance(known, Open) and key is not None:
                before = self.known[key]
                both = isinstance(before, Stretch) and isinstance(known, Stretch)
                meeting = before.meet(known) if both else before  # type: ignore[union-attr, arg-type]
                if not (
                    isinstance(meeting, Stretch) and meeting.empty
                ):  # where counts were forgotten it can be
                    self.known[key] = meeting

    def key(self, frame: Frame, prefix: str, place: str) -> str | None:
        """The fact key behind a place of a run; None where the author answers."""
        links = self.links.get(prefix, {})
        inner = frame.linked.get(place, place)
        return links[inner] if inner in links else prefix + inner

    def enter(self, taken: Taken) -> None:
        """Note what a visited tree is handed, and which of several things were chosen."""
        frame, prefix = taken.frame, taken.prefix
        visit = frame.tree.steps[taken.node.step]
        links: dict[str, str | None] = {}
        first: dict[str, str] = {}
        for there, here in visit.given.items():  # type: ignore[union-attr]
            place = first.setdefault(frame.place(here), there)
            links[place] = self.key(frame, prefix, here)
        links.update(dict.fromkeys(visit.set))  # type: ignore[union-attr]
        self.links[prefix + taken.part] = links
        if isinstance(visit, Each) and visit.over is not None:
            key = self.key(frame, prefix, visit.over)
            item = taken.part.rstrip("/").partition(".")[2]
            chosen = self.known.get(key or "")
            if isinstance(chosen, tuple) and not isinstance(chosen, Stretch) and item not in chosen and key:
                order = [one for one, _ in each_items(frame.tree, visit)]
                self.known[key] = tuple(sorted((*chosen, item), key=order.index))

    @staticmethod
    def answer(name: str, question: Question, taken: Taken) -> Known:
        """What a question is answered with, as far as its own row tells."""
        move = taken.move
        if question.kind == "note":
            return Open.ANY if not move.unsure and move.then == question.then else NOT_SURE
        if move.unsure or any(known == NOT_SURE for place, known in move.changes if place == name):
            return NOT_SURE
        if question.kind == "choice":
            return question.answer[move.row].id
        if question.kind == "several":
            return _chosen(question, taken)
        return next(
            (known for place, known in move.changes if place == name and isinstance(known, Stretch)),
            whole_range(question),
        )

    def value(self, key: str, question: Question) -> Value:
        """One value for an answer."""
        known = self.known[key]
        if isinstance(known, Stretch):
            return known.roundest() or Fraction(0)
        if isinstance(known, Open):
            return "A note."
        return known

    def suited(self, values: dict[str, Value]) -> dict[str, Value]:
        """The values, with numbers exchanged so that the workings come to what the way wants."""
        free = [
            key
            for key in values
            if isinstance(self.known[key], Stretch)
            and any(key in keys.values() for _, keys, _, _ in self.wanted)
        ]
        if not free:
            return values
        options = [[*_numbers(self.known[key]), *self.turning(key, values)] for key in free]
        for tried in islice(product(*options), MOST_TRIED):
            suited = {**values, **dict(zip(free, tried, strict=True))}
            if all(
                self.comes_to(constants, keys, step, row, suited)
                for constants, keys, step, row in self.wanted
            ):
                return suited
        return values

    def turning(self, key: str, values: Mapping[str, Value]) -> Iterator[Fraction]:
        """Numbers at which a working comes to the end of a band, if it goes up or down evenly with this answer."""
        known = self.known[key]
        low, high = known.ends() if isinstance(known, Stretch) else (None, None)
        if low is None or high is None or not isinstance(known, Stretch):
            return
        for constants, keys, step, _ in self.wanted:
            first = key in keys.values() and self.result(constants, keys, step, {**values, key: low})
            last = key in keys.values() and self.result(constants, keys, step, {**values, key: high})
            if not isinstance(first, Fraction) or not isinstance(last, Fraction) or first == last:
                continue
            for band in step.band:
                end = band.below if band.below is not None else band.up_to
                near = None if end is None else low + (high - low) * (end - first) / (last - first)
                if near is not None and known.holds(near):
                    yield near

    def comes_to(
        self,
        constants: Mapping[str, object],
        keys: Mapping[str, str],
        working: Working,
        row: int,
        values: Mapping[str, Value],
    ) -> bool:
        """Whether a working comes to a band, where all that it is given is among these values."""
        result = self.result(constants, keys, working, values)
        if isinstance(result, Fraction):
            return band_of(working.band, result) is working.band[row]
        return result is None

    def result(
        self,
        constants: Mapping[str, object],
        keys: Mapping[str, str],
        working: Working,
        values: Mapping[str, Value],
    ) -> Fraction | Refused | None:
        """The number that a working comes to; None where it comes to none, or not all that it needs is among these values."""
        given = dict(constants)
        calculation = registry.find(working.run)
        for wanted, key in keys.items():
            if values.get(key, NOT_SURE) != NOT_SURE:
                given[wanted] = self.tree_of[id(working)].handed(working, wanted, values[key])
        if any(one.required and one.name not in given for one in calculation.inputs):
            return None
        try:
            result = calculation.work(given).results.get(working.branch_on)
        except Refused as refused:
            return refused
        return Fraction(result) if isinstance(result, int | float | Fraction) else None


def _chosen(question: Question, taken: Taken) -> tuple[str, ...]:
    """Answers of a several question that find what the way found."""
    move, answers = taken.move, question.answer
    for _, known in move.changes:
        if isinstance(known, tuple) and not isinstance(known, Stretch):
            return known
    if move.spread is None:
        return ()
    found = move.each or (0,) * len(answers)
    chosen: list[str] = []
    missing = taken.bits
    for answer, bits in zip(answers, found, strict=True):
        if bits and bits | taken.bits == taken.bits and bits & missing:
            chosen.append(answer.id)
            missing &= ~bits
    return tuple(chosen)


def _numbers(known: Known) -> Iterator[Fraction]:
    """Numbers of a stretch: a round one, its ends, and some between."""
    assert isinstance(known, Stretch)
    seen: dict[Fraction, None] = {}
    low, high = known.ends()
    round_one = known.roundest()
    if round_one is not None:
        seen[round_one] = None
    if low is not None and high is not None:
        for part in (0, 8, 2, 6, 1, 7, 3, 5):
            near = low + (high - low) * part / 8
            piece = Stretch(near, True, near, True).meet(known)
            number = near if not piece.empty else known.nearest(near)
            if number is not None and known.holds(number):
                seen[number] = None
    yield from islice(seen, MOST_FILE)
