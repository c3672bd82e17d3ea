"""The difference between two editions, each change tried out with the same answers in both.

Invariant: a change that is shown was walked in both editions; one that was not is told apart.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from assistant.errors import Refused
from assistant.session.search import completed, ends_of
from assistant.tree.answers import Value, read_answer
from assistant.tree.compare import compare
from assistant.tree.compare.besides import Detail, besides
from assistant.tree.compare.difference import Change
from assistant.tree.compare.pair import REFUSED
from assistant.tree.survey.graph import TooMany
from assistant.tree.tree import Tree

__all__ = ["Compared", "Shown", "compared"]


class Shown(NamedTuple):
    """A pair of verdicts that the same answers reach, and the answers that show it."""

    change: Change
    answers: Mapping[str, Value] | None
    """None: no answers that were tried reach it."""


class Compared(NamedTuple):
    """What two editions differ in."""

    shown: list[Shown]
    doubtful: list[Change]
    """Pairs that could not be ruled out, and that no answers tried reach."""
    exact: bool
    """Whether the numbers of ways are exact, and not the most there can be."""
    besides: list[Detail]
    """Everything else that differs."""


def compared(old: Tree, new: Tree) -> Compared:
    """Compare two editions. Raises `Refused` where there are too many ways that differ."""
    try:
        difference = compare(old, new)
    except TooMany:
        raise Refused(
            f'"{old.id}" and "{new.id}" differ in more ways than can be gone through',
            "Compare editions that lie nearer to each other, one change after the other.",
        ) from None
    shown, doubtful = [], []
    for change in difference.changes:
        answers = next((whole for one in change.shown if (whole := _reaches(old, new, change, one))), None)
        if answers is not None or difference.exact:
            shown.append(Shown(change, answers))
        else:
            doubtful.append(change)
    return Compared(shown, doubtful, difference.exact, besides(old, new))


def _reaches(old: Tree, new: Tree, change: Change, answers: Mapping[str, Value]) -> dict[str, Value] | None:
    """These answers, completed for both editions, where they reach the pair; None where they do not."""
    whole = dict(answers)
    for tree, end in ((old, change.old), (new, change.new)):
        if end != REFUSED:
            whole = {**whole, **completed(tree, _taken(tree, whole))}
    for tree, end in ((old, change.old), (new, change.new)):
        if end == REFUSED:
            if len(_taken(tree, whole)) == len([key for key in whole if tree.has_key(key)]) and ends_of(
                tree, whole
            ):
                return None
        elif end not in ends_of(tree, _taken(tree, whole)):
            return None
    return whole


def _taken(tree: Tree, answers: Mapping[str, Value]) -> dict[str, Value]:
    """Those of the answers that a tree takes."""
    taken = {}
    for key, value in answers.items():
        question = tree.has_key(key)
        if question is None:
            continue
        try:
            read_answer(question, list(value) if isinstance(value, tuple) else value)
        except Refused:
            continue
        taken[key] = value
    return taken
