"""A file with slips of shape made whole, so that what it names can be looked up in the same go.

Invariant: whatever was put in or taken out lies in one of the `broken` tables; nothing is to be said about those
again, nor about what looks at them.
"""

from __future__ import annotations

from collections.abc import Iterable
from copy import deepcopy
from typing import Any

from pydantic import ValidationError

from assistant.tree.model import TreeFile

__all__ = ["patched"]

Path = tuple[str | int, ...]

MOST_ROUNDS = 6
STAND_INS: dict[str, Any] = {
    "format": 1, "kind": "note", "standing": "memory", "effect": "advice", "outcome": "not-settled", "defer": [],
    "do": [], "band": [], "tree": {},
}  # fmt: skip
"""What stands in for a missing value; any other is a text."""


def patched(data: dict[str, Any], error: ValidationError) -> tuple[TreeFile | None, set[Path]]:
    """The tables with every slip taken out, and where the slips were; None where too much is amiss for that."""
    data, broken = deepcopy(data), set[Path]()
    for _ in range(MOST_ROUNDS):
        for entry in error.errors(include_url=False, include_input=False):
            table = _patch(data, tuple(entry["loc"]), entry["type"])
            if table is None:
                return None, broken
            broken.add(table)
        try:
            file = TreeFile.model_validate(data)
        except ValidationError as again:
            error = again
        else:
            return file, broken.union(_lookers(file, broken))
    return None, broken


def _patch(data: Any, path: Path, slip: str) -> Path | None:
    """Mend one slip; give the table it is in, or None where others lean on what cannot be mended."""
    depth, table = 0, data
    while depth < len(path) - 1 and _is_table(_at(table, path[depth])):
        depth, table = depth + 1, table[path[depth]]
    key: Any = path[depth]
    top = depth == 0 and key in ("tree", "format")
    if slip == "missing" or top:
        table[key] = deepcopy(STAND_INS.get(key, "…"))
    elif depth == 1 and path[0] != "tree" and slip != "extra_forbidden":
        table[key] = {}  # something that is named here, but is no table
    elif isinstance(table, dict):
        table.pop(key, None)  # one list may be the cause of several slips
    leaned_on = (depth == 0 and not top) or (path[0], key) == ("verdict", "id")
    return None if leaned_on else path[: max(depth, 1)]


def _at(table: Any, key: Any) -> Any:
    return table[key] if isinstance(table, list) else table.get(key)


def _is_table(value: object) -> bool:
    return isinstance(value, dict) or (
        isinstance(value, list) and all(isinstance(one, dict) for one in value)
    )


def _lookers(file: TreeFile, broken: Iterable[Path]) -> Iterable[Path]:
    """Steps that look at a broken question: what they say of it may be right."""
    questions = {path[1] for path in broken if path[0] == "question" and len(path) > 1}
    for name, recall in file.recall.items():
        if recall.question in questions:
            yield "recall", name
    for name, each in file.each.items():
        if questions & {each.count, each.over, *each.given.values()}:
            yield "each", name
    for name, visit in file.visit.items():
        if questions & set(visit.given.values()):
            yield "visit", name
