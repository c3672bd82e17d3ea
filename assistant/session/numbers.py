"""What can be counted about a tree: ways by verdict, questions always asked, answers that change nothing, a covering set."""

from __future__ import annotations

from typing import NamedTuple

from assistant.errors import Refused
from assistant.session.covering import covering
from assistant.tree.survey.cover import Cover
from assistant.tree.survey.graph import Survey, TooMany
from assistant.tree.survey.outcomes import by_verdict
from assistant.tree.survey.told import Alike, asked_by_every, idle_answers
from assistant.tree.tree import Tree

__all__ = ["Numbers", "numbers"]


class Numbers(NamedTuple):
    """The numbers of one tree."""

    ways: dict[str, int]
    """Ways by verdict, in author order."""
    loose: list[str]
    """Steps that cannot be followed through every answer, so that the ways are the most there can be."""
    always: list[str]
    """Fact keys that every way asks, in order."""
    alike: list[Alike]
    cover: Cover


def numbers(tree: Tree) -> Numbers:
    """Count a tree. Raises `Refused` where it goes round in a circle, or has more ways than can be gone through."""
    from assistant.tree.check import check

    if any(complaint.code == "goes-round" for complaint in check(tree)):
        raise Refused(
            f'"{tree.id}" goes round in a circle, so its paths cannot be counted',
            "`throughwall check` shows where.",
        )
    try:
        survey = Survey(tree)
        ways = by_verdict(survey)
        loose = sorted({step for _, step in survey.loose})
        return Numbers(ways, loose, asked_by_every(survey), idle_answers(survey), covering(tree))
    except TooMany:
        raise Refused(
            f'"{tree.id}" has more paths, told apart by what is looked at later, than can be gone through',
            "Split it into trees that it visits, let fewer recalls look far back, or count fewer things.",
        ) from None
