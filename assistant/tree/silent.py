"""Answers, bands and not-sure tables that find nothing: where a finding that nothing leads to was most likely lost."""

from __future__ import annotations

from typing import NamedTuple

from assistant.tree.mistakes import Place, safely
from assistant.tree.model import Answer, Band, Finding, Question
from assistant.tree.tree import Tree

__all__ = ["Silent", "silent_rows"]

MOST_NAMED = 3


class Silent(NamedTuple):
    """A row of a question that finds nothing."""

    near: int
    """How unlikely it is that the finding was lost here: less is likelier."""
    place: Place
    named: str


def silent_rows(tree: Tree, finding: Finding) -> list[Silent]:
    """The likeliest rows that have lost a finding, a few of them, in the order of likelihood and then of the file."""
    found = [
        row for name, question in tree.file.question.items() for row in _silent(tree, name, question, finding)
    ]
    return sorted(found)[:MOST_NAMED]


def _silent(tree: Tree, name: str, question: Question, finding: Finding) -> list[Silent]:
    kind = "answer" if question.answer else "band"
    rows: tuple[Answer | Band, ...] = question.answer or question.band
    beside = [one for row in rows for one in row.finding]
    if question.not_sure is not None:
        beside += question.not_sure.finding
    alike = any(tree.file.finding[one].requirement == finding.requirement for one in beside)
    wants_unsure = finding.effect == "unproven"
    found: list[Silent] = []
    for index, row in enumerate(rows):
        double = _double(tree, row, rows, finding)
        if double or not row.finding:
            place = tree.document.place(("question", name, kind, index), key=True)
            words = f' "{safely(row.says)}"' if row.says else ""
            if place is not None:
                near = 2 * (not alike) + wants_unsure
                names = f', which finds "{double}" as another does' if double else ""
                named = f"{kind}{words} of [question.{name}] (line {place.line}{names})"
                found.append(Silent(near, place, named))
    if question.not_sure is not None and not question.not_sure.finding:
        place = tree.document.place(("question", name, "not-sure"), key=True)
        if place is not None:
            near = 2 * (not alike) + (not wants_unsure)
            found.append(Silent(near, place, f"[question.{name}.not-sure] (line {place.line})"))
    return found


def _double(tree: Tree, row: Answer | Band, rows: tuple[Answer | Band, ...], finding: Finding) -> str:
    """What a row finds on the same requirement that another row of its question finds too; nothing where it is alone."""
    for one in row.finding:
        same = tree.file.finding[one]
        if (same.requirement, same.effect) == (finding.requirement, "meets") and sum(
            one in other.finding for other in rows
        ) > 1:
            return one
    return ""
