"""The numbers on both sides of every limit that the answer to a question is held against.

Invariant: between two limits there is a number beside each, in the last decimal that the limit is written with; one number
alone where nothing else lies between them.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from assistant.tree.bands import Stretch, band_of, stretches
from assistant.tree.model import Band, Each, Question, Visit
from assistant.tree.tree import Tree

__all__ = ["beside_limits", "held_against"]


def held_against(tree: Tree, name: str) -> Iterator[Band]:
    """Bands that the number of a question is held against after it was asked."""
    for recall in tree.file.recall.values():
        if recall.question == name:
            yield from recall.band
    visits: list[Visit | Each] = [*tree.file.visit.values(), *tree.file.each.values()]
    for visit in visits:
        part = tree.parts[visit.tree]
        for there, here in visit.given.items():
            if here == name:
                yield from part.file.question[there].band
                yield from held_against(part, there)


def beside_limits(tree: Tree, name: str) -> list[tuple[int, Fraction]]:
    """The numbers beside every limit of a measure or count, each with its own band; empty where there is no limit."""
    question = tree.file.question[name]
    bands = [*question.band, *held_against(tree, name)]
    cuts = sorted(
        {(b.below, False) if b.below is not None else (b.up_to, True) for b in bands if _end(b) is not None}
    )
    whole = question.kind == "count"
    cut = [
        Band.model_construct(up_to=end) if taken_in else Band.model_construct(below=end)
        for end, taken_in in cuts
    ]
    if not cut:
        return []
    numbers: dict[Fraction, None] = {}
    for stretch in stretches([*cut, Band.model_construct()], question.least, question.most, whole):
        if not stretch.empty:
            numbers.update(dict.fromkeys(_ends(stretch, question)))
    return [(_row(question, number), number) for number in sorted(numbers)]


def _end(band: Band) -> Fraction | None:
    return band.below if band.below is not None else band.up_to


def _row(question: Question, number: Fraction) -> int:
    return question.band.index(band_of(question.band, number)) if question.band else -1


def _ends(stretch: Stretch, question: Question) -> Iterator[Fraction]:
    """The numbers of a stretch that lie beside its limits, not beside the least and the most that can be answered."""
    low, high = stretch.low, stretch.high
    if low is not None and (low != question.least or not stretch.low_in):
        yield _beside(stretch, low, stretch.low_in, 1)
    if high is not None and (high != question.most or not stretch.high_in):
        yield _beside(stretch, high, stretch.high_in, -1)


def _beside(stretch: Stretch, limit: Fraction, taken_in: bool, towards: int) -> Fraction:
    if taken_in and stretch.holds(limit):
        return limit
    for decimals in range(_decimals(limit), _decimals(limit) + 4):
        number = limit + Fraction(towards, 10**decimals)
        if stretch.holds(number):
            return number
    found = stretch.roundest()
    assert found is not None
    return found


def _decimals(number: Fraction) -> int:
    """The decimals that a number is written with."""
    decimals = 0
    while number.denominator != 1 and decimals < 30:
        number *= 10
        decimals += 1
    return decimals
