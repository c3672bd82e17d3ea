"""Bands as stretches of the number line: where each lies, and a number in it.

Invariant: stretches come in author order, cut to the question's least and most; an empty one is None.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from itertools import pairwise
from math import ceil, floor
from typing import NamedTuple

from assistant.tree.model import Band, Question

__all__ = ["Cut", "Stretch", "band_of", "one_in_each", "question_stretches", "stretches"]


class Stretch(NamedTuple):
    """A stretch of numbers; None for an end that is open to infinity."""

    low: Fraction | None
    low_in: bool
    high: Fraction | None
    high_in: bool
    whole: bool = False
    """Whether only whole numbers count."""

    @property
    def empty(self) -> bool:
        """Whether no number at all lies in it."""
        low, high = self.ends()
        if low is None or high is None:
            return False
        return low > high or (low == high and not self.whole and not (self.low_in and self.high_in))

    def ends(self) -> tuple[Fraction | None, Fraction | None]:
        """Its ends; the outermost whole numbers in it where only whole numbers count."""
        low, high = self.low, self.high
        if self.whole and low is not None:
            low = Fraction(floor(low) + 1 if not self.low_in else ceil(low))
        if self.whole and high is not None:
            high = Fraction(ceil(high) - 1 if not self.high_in else floor(high))
        return low, high

    def holds(self, number: Fraction) -> bool:
        """Whether a number lies in it."""
        if self.low is not None and (number < self.low or (number == self.low and not self.low_in)):
            return False
        if self.high is not None and (number > self.high or (number == self.high and not self.high_in)):
            return False
        return not self.whole or number.denominator == 1

    def meet(self, other: Stretch) -> Stretch:
        """What lies in both."""
        low, low_in = self.low, self.low_in
        if other.low is not None and (low is None or other.low > low):
            low, low_in = other.low, other.low_in
        elif other.low == low:
            low_in = low_in and other.low_in
        high, high_in = self.high, self.high_in
        if other.high is not None and (high is None or other.high < high):
            high, high_in = other.high, other.high_in
        elif other.high == high:
            high_in = high_in and other.high_in
        return Stretch(low, low_in, high, high_in, self.whole or other.whole)

    def roundest(self) -> Fraction | None:
        """The number in it with the fewest decimals, nearest its middle; None where it is empty."""
        low, high = self.ends()
        if self.empty:
            return None
        if low is None or high is None:
            low = low if low is not None else (high if high is not None else Fraction(0)) - 2
            high = low + 4 if high is None else high
        for decimals in range(40):
            scale = Fraction(10) ** decimals
            middle = Fraction(floor((low + high) / 2 * scale + Fraction(1, 2)))
            for near in (
                middle,
                middle - 1,
                middle + 1,
                Fraction(ceil(low * scale)),
                Fraction(floor(high * scale)),
            ):
                if self.holds(near / scale):
                    return near / scale
        return None

    def nearest(self, to: Fraction | None = None) -> Fraction | None:
        """The number in the stretch nearest to `to`; any number in it without one. None: the stretch is empty.

        An end that is left out is kept away from by one for whole numbers and otherwise by a thousandth of one.
        """
        step = Fraction(1) if self.whole else Fraction(1, 1000)
        low = None if self.low is None else self.low if self.low_in else self.low + step
        high = None if self.high is None else self.high if self.high_in else self.high - step
        if self.whole:
            low = None if low is None else Fraction(-((-low) // 1))
            high = None if high is None else Fraction(high // 1)
        if low is not None and high is not None and low > high:
            return None
        if to is None:
            if low is None or high is None:
                return low if low is not None else high if high is not None else Fraction(0)
            middle = (low + high) / 2
            return Fraction(middle // 1) if self.whole else middle
        if low is not None and to < low:
            return low
        if high is not None and to > high:
            return high
        return Fraction(to)


def band_of(bands: Sequence[Band], value: Fraction) -> Band:
    """The band a number falls into: the first whose upper end it does not pass, else the last."""
    return next((band for band in bands if band.holds(value)), bands[-1])


def stretches(
    bands: Sequence[Band], least: Fraction | None = None, most: Fraction | None = None, whole: bool = False
) -> Iterator[Stretch]:
    """Where each band lies between least and most, in author order."""
    low, low_in = least, True
    for band in bands:
        end = band.below if band.below is not None else band.up_to
        high, high_in = (end, band.up_to is not None) if end is not None else (most, True)
        if most is not None and high is not None and high > most:
            high, high_in = most, True
        yield Stretch(low, low_in, high, high_in, whole)
        low, low_in = end, band.below is not None
        if least is not None and low is not None and low < least:
            low, low_in = least, True


class Cut:
    """Bands as stretches, ready to be met with many others."""

    def __init__(self, bands: Sequence[Band]) -> None:
        self.stretches = list(stretches(bands))
        ends = [stretch.high for stretch in self.stretches[:-1]]
        self.ends = [end for end in ends if end is not None]
        self.sorted = len(self.ends) == len(ends) and all(one <= other for one, other in pairwise(self.ends))

    def met(self, known: Stretch) -> Iterator[tuple[int, Stretch]]:
        """The bands that a stretch reaches into, each by its place, and what lies in both."""
        first = bisect_left(self.ends, known.low) if self.sorted and known.low is not None else 0
        for index in range(first, len(self.stretches)):
            stretch = self.stretches[index]
            if (
                self.sorted
                and stretch.low is not None
                and known.high is not None
                and stretch.low > known.high
            ):
                return
            meeting = known.meet(stretch)
            if not meeting.empty:
                yield index, meeting


def one_in_each(question: Question, others: Iterable[Band] = ()) -> list[Fraction]:
    """One number for each way in which the bands of a measure or count question, and others, can fall out."""
    ends = {(b.up_to if b.below is None else b.below, b.below is None) for b in (*question.band, *others)}
    cuts = sorted((end, taken_in) for end, taken_in in ends if end is not None)
    bands = [
        Band.model_construct(up_to=end) if taken_in else Band.model_construct(below=end)
        for end, taken_in in cuts
    ]
    found = stretches(
        [*bands, Band.model_construct()], question.least, question.most, question.kind == "count"
    )
    numbers = (stretch.nearest() for stretch in found)
    return [number for number in numbers if number is not None]


def question_stretches(question: Question) -> Iterator[Stretch]:
    """The stretches of a question's own bands; one from least to most where it has none."""
    whole = question.kind == "count"
    if not question.band:
        yield Stretch(question.least, True, question.most, True, whole)
        return
    yield from stretches(question.band, question.least, question.most, whole)
