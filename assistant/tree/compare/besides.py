"""What differs between two editions besides which verdict is given: classes, what to do, remedies, words.

Invariant: everything that is written in a tree's tables and differs is named here, whether a verdict hangs on it or not.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from pydantic import BaseModel

from assistant.tree.tree import Tree

__all__ = ["Detail", "besides", "meaning_differs"]

KINDS = ("requirement", "source", "question", "recall", "working", "visit", "each", "finding")
MEANING = frozenset(
    {
        "kind", "must_answer", "unit", "least", "most", "then", "not_sure", "accept", "below", "up_to", "question", "run",
        "give", "set", "branch_on", "tree", "given", "count", "over", "requirement", "effect", "when", "outcome", "first",
        "finding",
    }
)  # fmt: skip
"""Keys on which a verdict can hang."""


class Detail(NamedTuple):
    """One key that differs."""

    tree: str
    table: str
    """The table, as in the file: "finding.loose", "question.seal.answer.sound"."""
    key: str
    before: object
    """None: only the new edition has it."""
    after: object
    """None: only the old edition has it."""

    @property
    def meaning(self) -> bool:
        """Whether a verdict can hang on it."""
        return self.key in MEANING or self.key == ""


def besides(old: Tree, new: Tree) -> list[Detail]:
    """Everything that differs, in the order of the old edition, trees that both visit among it."""
    after = {tree.id: tree for tree in new.family()}
    found: list[Detail] = []
    for before in old.family():
        beside = new if before is old else after.get(before.id)
        if beside is not None and beside.document.digest != before.document.digest:
            found += _file(before, beside)
    return found


def meaning_differs(tree: Tree, details: list[Detail]) -> set[str]:
    """The questions on which something differs that a verdict can hang on, or that find what differs, by name."""
    changed = {detail.table.split(".")[1] for detail in details if detail.meaning and "." in detail.table}
    for part in tree.family():
        for name, question in part.file.question.items():
            if any(changed.intersection(row.finding) for row in (*question.answer, *question.band)):
                changed.add(name)
    return changed


def _file(old: Tree, new: Tree) -> Iterator[Detail]:
    yield from _table(old.id, "tree", old.file.tree, new.file.tree)
    for kind in KINDS:
        yield from _named(old.id, kind, getattr(old.file, kind), getattr(new.file, kind))
    verdicts = [{verdict.id: verdict for verdict in tree.file.verdict} for tree in (old, new)]
    yield from _named(old.id, "verdict", verdicts[0], verdicts[1])
    orders = [[name for name in both if name in other] for both, other in (verdicts, reversed(verdicts))]
    if orders[0] != orders[1]:
        yield Detail(old.id, "verdict", "order", ", ".join(orders[0]), ", ".join(orders[1]))


def _named(
    tree: str, kind: str, before: Mapping[str, BaseModel], after: Mapping[str, BaseModel]
) -> Iterator[Detail]:
    for name in [*before, *(name for name in after if name not in before)]:
        if name not in after or name not in before:
            yield Detail(tree, f"{kind}.{name}", "", before.get(name), after.get(name))
        else:
            yield from _table(tree, f"{kind}.{name}", before[name], after[name])


def _table(tree: str, table: str, before: BaseModel, after: BaseModel) -> Iterator[Detail]:
    for key in type(before).model_fields:
        mine, its = getattr(before, key), getattr(after, key, None)
        if mine == its:
            continue
        if key in ("answer", "band"):
            yield from _named(tree, f"{table}.{key}", _rows(key, mine), _rows(key, its or ()))
        elif isinstance(mine, BaseModel) and isinstance(its, BaseModel):
            yield from _table(tree, f"{table}.{key.replace('_', '-')}", mine, its)
        else:
            yield Detail(tree, table, key, mine, its)


def _rows(key: str, rows: tuple[BaseModel, ...]) -> dict[str, BaseModel]:
    """Answers by their id, bands by their place."""
    if key == "answer":
        return {getattr(row, "id", str(number)): row for number, row in enumerate(rows, 1)}
    return {str(number): row for number, row in enumerate(rows, 1)}
