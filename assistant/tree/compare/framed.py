"""One run of a tree beside one of another edition: numbers are made one only where neither edition tells them apart.

Invariant: a stretch of numbers that stands for another lies with it in the same band of everything that looks at it in either
edition, so that what one edition finds out about a number holds of what the other remembers of it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from assistant.tree.bands import Stretch, stretches
from assistant.tree.model import Band, Each, Question, Visit
from assistant.tree.survey.frame import Frame
from assistant.tree.tree import Tree

__all__ = ["Framed"]


@dataclass(frozen=True)
class Framed(Frame):
    """A tree to be run beside another edition of it."""

    beside: Tree = field(kw_only=True)
    stands_for: dict[object, Stretch] = field(kw_only=True, compare=False)
    """Shared by both editions."""

    def same_stretch(self, place: str, mask: int, known: Stretch) -> Stretch:
        """The stretch that stands for all in which neither edition tells numbers apart, wherever it is looked at."""
        return self.one_for(place, known)

    def workable(self, name: str, without: int | None = None) -> bool:
        """Whether work can bring about another answer: not asked when editions are compared."""
        return False

    def one_for(self, place: str, known: Stretch) -> Stretch:
        """The stretch that stands for all in which neither edition tells numbers apart."""
        if place not in self.told_apart:
            self.told_apart[place] = self.cells(place)
        if self.told_apart[place] is None:
            return known
        if (place, known) not in self.stood_for:
            self.stood_for[place, known] = self.standing_for(place, known, self.told_apart[place] or ())
        return self.stood_for[place, known]

    def standing_for(self, place: str, known: Stretch, cells: Sequence[Stretch]) -> Stretch:
        """The stretch that stands for one, found out."""
        lies = [number for number, cell in enumerate(cells) if not known.meet(cell).empty]
        return self.stands_for.setdefault((place, *self.names, lies[0]), known) if len(lies) == 1 else known

    @cached_property
    def stood_for(self) -> dict[tuple[str, Stretch], Stretch]:
        """What was found by `one_for`."""
        return {}

    @cached_property
    def told_apart(self) -> dict[str, Sequence[Stretch] | None]:
        """What was found by `cells`."""
        return {}

    @cached_property
    def names(self) -> tuple[str, ...]:
        """What tells this pair of runs from others."""
        return tuple(sorted((self.tree.digest, self.beside.digest)))

    def cells(self, place: str) -> Sequence[Stretch] | None:
        """What is told apart of a number where nothing but recalls looks at it in either edition; None elsewhere."""
        question, other = self.tree.file.question.get(place), self.beside.file.question.get(place)
        outside = place in self.linked or place in self.linked.values() or place in self.report
        if (
            question is None
            or question.kind not in ("measure", "count")
            or outside
            or place in self.handed_on
        ):
            return None
        if other is not None and (other.kind, other.unit) != (question.kind, question.unit):
            return None
        return _cells([question, *([other] if other else [])], list(self.bands(place)))

    @cached_property
    def handed_on(self) -> frozenset[str]:
        """The questions at which anything but a recall looks."""
        used: set[str] = set()
        for tree in (self.tree, self.beside):
            visits: list[Visit | Each] = [*tree.file.visit.values(), *tree.file.each.values()]
            for visit in visits:
                used.update(visit.given.values())
            used.update(each.count for each in tree.file.each.values() if each.count)
            for working in tree.file.working.values():
                used.update(key for keys in working.give.values() for key in keys)
        return frozenset(used)

    def bands(self, name: str) -> Iterator[Band]:
        """Every band that the number of a question is held against."""
        for tree in (self.tree, self.beside):
            for recall in tree.file.recall.values():
                if recall.question == name:
                    yield from recall.band
            if name in tree.file.question:
                yield from tree.file.question[name].band


def _cells(questions: Sequence[Question], bands: Sequence[Band]) -> list[Stretch]:
    """The stretches between all the ends of these bands, and of what the questions take."""
    cuts = {(end, True) for band in bands if (end := band.up_to) is not None}
    cuts |= {(end, False) for band in bands if (end := band.below) is not None}
    cuts |= {(question.least, False) for question in questions if question.least is not None}
    cuts |= {(question.most, True) for question in questions if question.most is not None}
    ends = [
        Band.model_construct(up_to=end) if taken else Band.model_construct(below=end)
        for end, taken in sorted(cuts)
    ]
    return list(stretches([*ends, Band.model_construct()], whole=all(q.kind == "count" for q in questions)))
