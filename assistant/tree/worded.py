"""Whether the words of a band and of a measure agree with its numbers and its unit: remarks, never complaints.

Invariant: words are only doubted where a number in them is plainly meant as an end of the band.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from fractions import Fraction

from assistant.errors import Refused
from assistant.tree.mistakes import Mistake, safely
from assistant.tree.model import Band, Question
from assistant.tree.slips import Path
from assistant.tree.tree import Tree
from assistant.workings import registry
from assistant.workings.units import show, to_unit

__all__ = ["worded"]

_NUMBER = re.compile(
    r"(?<![\w.,/])([0-9]+(?:[.,][0-9]+)?(?:\s*/\s*[0-9]+)?)(?:\s*(?:-|–|to|and)\s*(?=[0-9])|\s?([A-Za-zµμ°²³%]+(?:/[A-Za-z]+)?|[\"″])?)"
)
_RATIO = re.compile(r"(?<![\w.,])([0-9]+)\s+in\s+([0-9]+)(?![\w.,])")
_COMPARED = re.compile(
    r"\b(less|more|fewer|below|under|over|above|up to|at least|at most|from|between|or more|or less|no more|exactly|to)\b|[<>≤≥–]",
    re.IGNORECASE,
)
"""Words that make a bare number an end."""
NEAR = Fraction(1, 50)
"""How far a number in another unit may lie from the end that it stands for."""
_UNIT = re.compile(
    r"(?<![\w])(mm|cm|metres?|meters?|millimetres?|millimeters?|centimetres?|centimeters?|inch(?:es)?|feet|ppm|°\s?C|°\s?F|kW|mbar|"
    r"litres?|liters?|kg|degrees|per cent|percent|m³/h|mm/m)(?!\w)|(?<![\w.])[0-9]+(?:[.,][0-9]+)?\s?(m|in|ft|W|Pa|K|l|%|bar|%)(?![\w/])|(?<=\w )(%)(?!\w)"
)
"""Words that are only ever units, and short ones right behind a number."""
WRITTEN = {
    "metre": "m", "meter": "m", "millimetre": "mm", "millimeter": "mm", "centimetre": "cm", "centimeter": "cm", "inch": "in",
    "inche": "in", "feet": "ft", "litre": "l", "liter": "l", "per cent": "%", "percent": "%",
}  # fmt: skip


def worded(tree: Tree) -> Iterator[Mistake]:
    """Every remark on the words of this tree's own bands and measures."""
    file = tree.file
    for name, question in file.question.items():
        path: Path = ("question", name)
        if question.kind in ("measure", "count"):
            yield from _bands(tree, path, question.band, question.unit, question)
        if question.kind == "measure" and question.unit is None:
            yield from _no_unit(tree, path, question)
    for name, recall in file.recall.items():
        looked_at = file.question[recall.question]
        yield from _bands(tree, ("recall", name), recall.band, looked_at.unit, looked_at)
    for name, working in file.working.items():
        results = {one.name: one for one in registry.find(working.run).results}
        unit = results[working.branch_on].unit
        if unit:
            yield from _bands(tree, ("working", name), working.band, unit, None)


def _bands(
    tree: Tree, path: Path, bands: Sequence[Band], unit: str | None, question: Question | None
) -> Iterator[Mistake]:
    before = question.least if question is not None else None
    doubted = False
    for index, band in enumerate(bands):
        end = band.below if band.below is not None else band.up_to
        said = list(_numbers(band.says, unit)) if band.says else []
        after = end if end is not None or question is None else question.most
        ends = [one for one in (before, after) if one is not None]
        agrees = not said or not ends or any(_is_end(one, ends, exact, question) for one, exact in said)
        doubted = not agrees and not doubted  # an end that is a slip makes the next band begin amiss too
        if doubted:
            yield _doubted(tree, (*path, "band", index), band, before, unit)
        before = end


def _numbers(says: str, unit: str | None) -> Iterator[tuple[Fraction, bool]]:
    """The numbers in the words of a band, in its unit, and whether each is written in that very unit."""
    for ratio in _RATIO.finditer(says):
        yield Fraction(int(ratio[1]), max(int(ratio[2]), 1)), False
    bare: list[Fraction] = []
    with_unit: list[tuple[Fraction, bool]] = []
    for match in _NUMBER.finditer(_RATIO.sub(" ", says)):
        number = match[1].replace(",", ".")
        written = match[2] or ""
        in_unit = _read(f"{number} {written}", unit, bare=False) if written and unit else None
        plain = _read(number, unit, bare=True)
        if in_unit is not None:
            with_unit.append((in_unit, written == unit))
        elif plain is not None and not unit and written == "%":
            with_unit.append((plain / 100, True))
        elif plain is not None:
            bare.append(plain)
    yield from with_unit
    if bare and (with_unit or _COMPARED.search(says)):
        yield from ((one, True) for one in bare)


def _read(text: str, unit: str | None, bare: bool) -> Fraction | None:
    try:
        return to_unit(text, unit, bare=bare)
    except (Refused, ZeroDivisionError):
        return None


def _is_end(said: Fraction, ends: Sequence[Fraction], exact: bool, question: Question | None) -> bool:
    """Whether a number in the words is an end of the band; of a count, any number of it."""
    if any(said == end or (not exact and abs(said - end) <= NEAR * abs(end)) for end in ends):
        return True
    if question is not None and question.kind == "count":
        return min(ends) - 1 <= said <= max(ends) + 1
    return False


def _doubted(tree: Tree, path: Path, band: Band, before: Fraction | None, unit: str | None) -> Mistake:
    key = "below" if band.below is not None else "up-to" if band.up_to is not None else ""
    end = band.below if band.below is not None else band.up_to
    does = (
        f"ends at {show(end, unit)}" if end is not None else f"begins at {show(before or Fraction(0), unit)}"
    )
    message = f'the words "{safely(band.says or "", 60)}" name another number than this band, which {does}.'
    hint = (
        f"Look whether a digit is missing in `{key}`, or mend the words."
        if key
        else "Look at the end of the band above it, or mend the words."
    )
    place = tree.document.place((*path, key or "says"), key=True)
    return Mistake(tree.document.name, place, "words-and-numbers", message, hint)


def _no_unit(tree: Tree, path: Path, question: Question) -> Iterator[Mistake]:
    texts = [question.ask, question.look or "", *(band.says or "" for band in question.band)]
    found = next((match for text in texts if (match := _UNIT.search(text))), None)
    if found is None:
        return
    word = next(part for part in found.groups() if part).replace("° ", "°")
    unit = WRITTEN.get(word.casefold().removesuffix("s"), WRITTEN.get(word.casefold(), word))
    message = f"[question.{path[1]}] has no unit: people will be asked for a bare number. For a plain ratio that is right."
    hint = f'Its words speak of {word}: write `unit = "{unit}"` if the number is counted in it.'
    yield Mistake(tree.document.name, tree.document.place(path, key=True), "no-unit", message, hint)
