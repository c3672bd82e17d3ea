"""Consultations that cover a tree, each completed and walked, so that what they are said to cover they do."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping

from assistant.errors import Refused
from assistant.session.fact import Fact
from assistant.session.search import completed, options
from assistant.session.walk import walk
from assistant.tree.answers import Value
from assistant.tree.survey.cover import Cover, cover, sided
from assistant.tree.survey.sides import beside_limits
from assistant.tree.survey.wanted import ANY, Covered
from assistant.tree.tree import Asked, Tree

__all__ = ["covered_by", "covering"]


def covering(tree: Tree) -> Cover:
    """The smallest set of consultations found that covers every answer and both sides of every limit.

    Raises `TooMany` where the tree is too large.
    """

    def takes(
        answers: Mapping[str, Value], wanted: Collection[Covered]
    ) -> tuple[Mapping[str, Value], set[Covered]]:
        def choose(asked: Asked) -> Value:
            there = {
                one.answer for one in wanted if (one.tree, one.question) == (asked.tree.id, asked.question_id)
            }
            return next((value for value in _every(asked) if value in there), next(options(asked)))

        whole = completed(tree, answers, choose)
        return whole, covered_by(tree, whole)

    found = cover(sided(tree), takes)
    return found._replace(consultations=[completed(tree, answers) for answers in found.consultations])


def _every(asked: Asked) -> Iterator[Value]:
    """The answers to a question that there is something to cover by."""
    yield from (number for _, number in beside_limits(asked.tree, asked.question_id))
    yield from options(asked)


def covered_by(tree: Tree, answers: Mapping[str, Value]) -> set[Covered]:
    """What a consultation with these answers covers; nothing where they contradict each other."""
    try:
        result = walk(tree, {key: Fact(value) for key, value in answers.items()})
    except Refused:
        return set()
    covered = set()
    for key, asked in result.asked.items():
        value = result.values[key]
        if not isinstance(value, str | tuple) and not beside_limits(asked.tree, asked.question_id):
            value = ANY
        covered.add(Covered(asked.tree.id, asked.question_id, value))
    return covered
