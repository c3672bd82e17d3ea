"""Where the trees of a consultation come from, and whether their review is due.

Invariant: no tree that was used is passed over: one that is visited counts as much as the one that visits it, and two
that share an id are told apart.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from assistant.tree.tree import Tree

__all__ = ["Remark", "overdue", "remarks", "strangers"]


class Remark(NamedTuple):
    """Something that every verdict says of a tree: what it is about ("tree" or "review"), and the sentence."""

    mark: str
    text: str


def every(tree: Tree) -> Iterator[Tree]:
    """This tree and all that it visits, each once, outermost first."""
    waiting, seen = [tree], set[int]()
    while waiting:
        one = waiting.pop(0)
        if id(one) not in seen:
            seen.add(id(one))
            yield one
            waiting.extend(one.parts.values())


def strangers(tree: Tree) -> list[Tree]:
    """Those of its trees that are not installed ones."""
    return [one for one in every(tree) if not one.installed]


def overdue(tree: Tree, today: str) -> list[Tree]:
    """Those of its trees whose month of review is over on the day `today` (ISO 8601); none without a day."""
    return [one for one in every(tree) if today and (one.file.tree.review_by or "9999-12") < today[:7]]


def remarks(tree: Tree, today: str = "") -> list[Remark]:
    """What every verdict of this tree has to say of where it comes from, and of a review that is due."""
    said = []
    outside = strangers(tree)
    visited = [one.document.name for one in outside if one is not tree]
    if tree in outside:
        said.append(
            Remark("tree", f"Judged by {tree.document.name}, which is not one of the installed trees.")
        )
    if visited:
        *others, last = visited
        named = f"{', '.join(others)} and {last}, none of which" if others else f"{last}, which"
        said.append(
            Remark("tree", f"It visits {named} is {'one' if others else 'not one'} of the installed trees.")
        )
    for one in overdue(tree, today):
        about = one.file.tree
        past = f"{about.title} was to be reviewed by {about.review_by}, and that is past"
        said.append(Remark("review", f"{past}: check it before relying on it."))
    return said
