"""The numbers of a tree, as text and as data."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from typing import Any

from assistant.session.numbers import Numbers
from assistant.tree.answers import Value, say_answer
from assistant.tree.survey.wanted import ANY, Covered
from assistant.tree.tree import Tree

__all__ = ["big", "exactly", "numbers_data", "numbers_text"]

DIGITS = 4000
PIECE = 10**DIGITS

MOST_SHARED = 10**9
"""Paths beyond which a share of them tells nothing: all but a few verdicts would have less than 1 %."""
OUTCOME = {
    "acceptable": "acceptable",
    "not-settled": "not settled",
    "not-acceptable": "not acceptable",
    "stop": "stop",
}


def big(number: int) -> str:
    """A whole number, in groups of three; beyond 18 digits its size."""
    text = f"{number:,}".replace(",", " ")
    if number < 10**18:
        return text
    digits = exactly(number)
    return f"{digits[0]}.{digits[1:4]} × 10^{len(digits) - 1}"


def exactly(number: int) -> str:
    """Every digit of a whole number, of which Python by itself writes no more than some thousands."""
    digits = ""
    while number >= PIECE:
        number, piece = divmod(number, PIECE)
        digits = f"{piece:0{DIGITS}}{digits}"
    return f"{number}{digits}"


def numbers_text(tree: Tree, found: Numbers, width: int = 80) -> str:
    """The numbers as text, `width` columns wide."""
    return "\n".join(line for part in _parts(tree, found, width) for line in (*part, "")).rstrip() + "\n"


def _parts(tree: Tree, found: Numbers, width: int) -> Iterator[list[str]]:
    yield list(_ways(tree, found, width))
    yield ["ASKED ON EVERY PATH", *_wrapped(", ".join(found.always) or "No question.", width)]
    yield list(_alike(found, width))
    yield list(_cover(tree, found, width))


def _ways(tree: Tree, found: Numbers, width: int) -> Iterator[str]:
    yield "PATHS"
    total = sum(found.ways.values())
    most = "At most " if found.loose else ""
    yield from _wrapped(
        f"{most}{big(total)} path{'s' * (total != 1)} from the first question to an end. A path is the answer or band taken at "
        "every step; an answer not sure that leaves every answer possible is a path for each of them.",
        width,
    )
    shared = total < MOST_SHARED
    no_share = " and a share of them says" if shared else " and their number says"
    yield from _wrapped(
        f"Paths are ways through the questions, not cases met in practice,{no_share} nothing about how often a verdict "
        "comes up.",
        width,
    )
    if found.loose:
        yield from _wrapped(
            f"What comes of {_and(found.loose)} is not followed through every combination of answers, so some of "
            "these paths may be ones that no real flue takes.",
            width,
        )
    verdicts = {verdict.id: verdict for verdict in tree.file.verdict}
    told = {name: big(many) for name, many in found.ways.items()}
    column = max(map(len, told.values()), default=0)
    for name, many in told.items():
        verdict = verdicts.get(name)
        outcome = f" ({OUTCOME[verdict.outcome]})" if verdict else ""
        share = f"{_share(found.ways[name], total)}  " if shared else ""
        yield from textwrap.wrap(
            f"{many:>{column}}  {share}{name or 'no verdict'}{outcome}",
            width, initial_indent="  ", subsequent_indent=" " * (column + len(share) + 4), drop_whitespace=False,
        )  # fmt: skip


def _share(many: int, total: int) -> str:
    if not total or not many:
        return "     "
    percent = 100 * many / total
    return "< 1 %" if percent < 1 else f"{percent:3.0f} %"


def _alike(found: Numbers, width: int) -> Iterator[str]:
    yield "ANSWERS THAT CHANGE NOTHING"
    if not found.alike:
        yield from _wrapped("None: between any two answers something that follows differs.", width)
    for one in found.alike:
        says = "; ".join(f'"{says}"' for says in one.answers)
        every = (
            "whatever is answered, the same follows" if one.every else f"{says}: the same follows from each"
        )
        yield from textwrap.wrap(
            f"- {one.question} (in {one.tree}): {every}.",
            width,
            initial_indent="  ",
            subsequent_indent="    ",
        )
    if any(one.every for one in found.alike):
        yield from _wrapped(
            "A question that changes nothing may still be worth asking: for the record, or for a working of a tree that "
            "visits this one.",
            width,
        )


def _cover(tree: Tree, found: Numbers, width: int) -> Iterator[str]:
    cover = found.cover
    many = len(cover.consultations)
    yield "A COVERING SET"
    if cover.smallest:
        fewer = "No smaller set does."
    else:
        fewer = f"It may not be the smallest: {cover.least} is the fewest that could do."
    yield from _wrapped(
        f"{many} consultation{'s' * (many != 1)} give{'s' * (many == 1)} every answer at least once, and a number on both "
        f"sides of every limit. {fewer} `--cover DIR` writes {'it' if many == 1 else 'them'} as facts files.",
        width,
    )
    if cover.left:
        listed = ", ".join(f"{one.question} = {_answer(tree, one)}" for one in cover.left)
        yield from _wrapped(f"No consultation that was tried comes to: {listed}.", width)


def _answer(tree: Tree, one: Covered) -> str:
    """An answer in words."""
    if one.answer == ANY:
        return "any number"
    part = next(part for part in tree.family() if part.id == one.tree)
    return _said(part, one.question, one.answer)


def _said(tree: Tree, question: str, value: Value) -> str:
    return say_answer(tree.file.question[question], value)


def _wrapped(text: str, width: int) -> list[str]:
    return textwrap.wrap(text, width, initial_indent="  ", subsequent_indent="  ")


def _and(names: list[str]) -> str:
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)


def numbers_data(tree: Tree, found: Numbers) -> dict[str, Any]:
    """The numbers as data; paths are written digit by digit, as text, since they are longer than most readers of JSON take."""
    return {
        "format": 1,
        "tree": {"id": tree.id, "edition": tree.file.tree.edition, "digest": tree.digest},
        "paths": {verdict: exactly(ways) for verdict, ways in found.ways.items()},
        "exact": not found.loose,
        "loose": found.loose,
        "asked_on_every_path": found.always,
        "alike": [one._asdict() for one in found.alike],
        "cover": {
            "consultations": len(found.cover.consultations),
            "least": found.cover.least,
            "smallest": found.cover.smallest,
            "left": [
                {"tree": one.tree, "question": one.question, "answer": _answer(tree, one)}
                for one in found.cover.left
            ],
        },
    }
