"""What is worth a second look in a tree, though nothing is wrong with it.

Invariant: a remark never keeps a tree from being used.
"""

from __future__ import annotations

from collections.abc import Iterator

from assistant.tree.mistakes import Label, Mistake
from assistant.tree.model import Answer, Band, Question
from assistant.tree.tree import Tree

__all__ = ["remarks"]


def remarks(tree: Tree) -> Iterator[Mistake]:
    """Every remark on the tree's own file."""
    from assistant.tree.worded import worded

    for name, question in tree.file.question.items():
        yield from _silent(tree, name, question)
    yield from worded(tree)


def _silent(tree: Tree, name: str, question: Question) -> Iterator[Mistake]:
    """Answers that find nothing where another, that leads on to the same step, finds that all is well."""
    rows: tuple[Answer | Band, ...] = question.answer or question.band
    well = next((index for index, row in enumerate(rows) if "meets" in _effects(tree, row)), None)
    if well is None or name in tree.watched:
        return
    kind = "answer" if question.answer else "band"
    beside = tree.document.place(("question", name, kind, well), key=True)
    for index, row in enumerate(rows):
        if not row.finding and (row.then or question.then) == (rows[well].then or question.then):
            says = f'"{row.says}"' if row.says else f"this {kind}"
            what = "the answer" if isinstance(row, Answer) else "the band"
            message = f"{what} {says} finds nothing, though another of [question.{name}] finds that all is well, and nothing looks back at it."
            hint = "If it should refuse a flue, or leave it unproven, give it a `finding`. If nothing is to be said of it, leave it."
            place = tree.document.place(("question", name, kind, index), key=True)
            also = (Label(beside, "this one finds something"),) if beside is not None else ()
            yield Mistake(tree.document.name, place, "finds-nothing", message, hint, also)


def _effects(tree: Tree, row: Answer | Band) -> set[str]:
    return {tree.file.finding[finding].effect for finding in row.finding}
