"""Keys and tables that are not where the format has them: misspelt, fallen below another header, or missing.

Invariant: a slip is told once, where it stands; what only follows from it is left out.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from pydantic import BaseModel

from assistant.tree.mistakes import Mistake, nearest
from assistant.tree.model import TreeFile
from assistant.tree.slips import Path, labelled
from assistant.tree.toml import Document

__all__ = ["table_name", "wrong_keys"]

EXAMPLES = {
    "kind": ('"choice"', "several, measure, count, note"),
    "effect": ('"meets"', "unproven, fails, danger, advice"),
    "outcome": ('"acceptable"', "not-settled, not-acceptable, stop"),
    "standing": ('"common-practice"', "published, memory"),
    "defer": ('["…"]', ""),
    "do": ('["…"]', ""),
}
"""What may be written for a key that is missing, and what else; any other is a text."""

TOP = "the top of the file"


def table_name(path: Path) -> str:
    """A table as its author wrote its header: `[question.hole]`, `[[question.hole.answer]] number 2`.

    A table inside one of several is named by that one.
    """
    number = next((place for place in range(len(path) - 1, -1, -1) if isinstance(path[place], int)), None)
    if number is not None:
        inner = "".join(f"`{part}` of " for part in reversed(path[number + 1 :]))
        return f"{inner}[[{'.'.join(map(str, path[:number]))}]] number {int(path[number]) + 1}"
    return f"[{'.'.join(map(str, path))}]" if path else TOP


def wrong_keys(document: Document, unknown: Sequence[Path], missing: Sequence[Path]) -> list[Mistake]:
    """What is wrong with the keys of a file: those that it has and should not, and those that it lacks."""
    tables: dict[Path, list[str]] = {}
    for path in unknown:
        tables.setdefault(path[:-1], []).append(str(path[-1]))
    mistakes: list[Mistake] = []
    for table, names in tables.items():
        lost = _lost_header(table, names)
        if lost:
            mistakes.append(_header_missing(document, table, names, lost))
        else:
            mistakes += [_unknown_key(document, (*table, name)) for name in names]
    for path in missing:
        mistakes += [one for one in _missing(document, path) if one not in mistakes]
    return mistakes


def _lost_header(table: Path, names: Sequence[str]) -> str:
    """The kind of table that all of several strange keys belong to, whose header is then missing; or nothing."""
    if len(names) < 2 or not table or all(_owner(table, name) is not None for name in names):
        return ""
    for kind, field in TreeFile.model_fields.items():
        model, _ = _inner(field.annotation)
        if model is not None and set(names) <= set(_keys_of(model)):
            return kind
    return ""


def _header_missing(document: Document, table: Path, names: Sequence[str], kind: str) -> Mistake:
    header = {"verdict": "[[verdict]]", "moved": "[[moved]]", "tree": "[tree]"}.get(kind, f"[{kind}.…]")
    listed = ", ".join(f"`{name}`" for name in names[:3]) + (" …" if len(names) > 3 else "")
    return Mistake(
        document.name,
        document.place((*table, names[0]), key=True),
        "missing-header",
        f"{listed} do not belong to {table_name(table)}: they are the lines of a {kind} without its header.",
        f"Write its header on a line of its own above `{names[0]}`: {header}",
        (labelled(document, table, "the header above them, which they belong to now", key=False),),
    )


def _model_at(path: Path) -> type[BaseModel] | None:
    """The model whose keys the table at `path` may have; None where any key may stand (tables named by ids)."""
    model: type[BaseModel] | None = TreeFile
    named = False  # inside a dict such as `question`, whose keys are ids
    annotation: Any = None
    for part in path:
        if isinstance(part, int) or named:
            named = False
            continue
        if model is None:
            return None
        field = next((f for n, f in model.model_fields.items() if (f.alias or n) == part), None)
        if field is None:
            return None
        annotation = field.annotation
        model, named = _inner(annotation)
    return None if named else model


def _inner(annotation: Any) -> tuple[type[BaseModel] | None, bool]:
    from typing import get_args, get_origin

    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation, False
    models = [a for a in get_args(annotation) if isinstance(a, type) and issubclass(a, BaseModel)]
    return (models[0] if models else None), get_origin(annotation) is dict


def _keys_of(model: type[BaseModel]) -> list[str]:
    return [field.alias or name for name, field in model.model_fields.items()]


def _unknown_key(document: Document, path: Path) -> Mistake:
    table, key = path[:-1], str(path[-1])
    place = document.place(path, key=True)
    model = _model_at(table)
    known = _keys_of(model) if model else []
    owner = _owner(table, key)
    if owner is not None:
        where = f"move it up, above the first header that follows {table_name(owner)}"
        return Mistake(
            document.name,
            place,
            "stray-key",
            f"`{key}` fell into {table_name(table)}, because in TOML a line belongs to the header above it.",
            f"It likely belongs to {table_name(owner)}: {where if owner else 'move it up, above the first header'}.",
            (
                labelled(document, table, "the header above it, which it belongs to now", key=False),
                *(
                    [labelled(document, owner, "it likely belongs below this one", key=False)]
                    if owner
                    else []
                ),
            ),
        )
    near = nearest(key, known)
    hint = (
        f"Did you mean `{near}`?"
        if near
        else _elsewhere(table, key) or f"Keys that may stand here: {', '.join(known)}."
    )
    if not table and isinstance(document.data[key], dict | list):
        hint = hint.replace("Keys that may stand here", "A tree has these tables")
        return Mistake(document.name, place, "unknown-key", f"a tree has no tables named `{key}`.", hint)
    return Mistake(document.name, place, "unknown-key", f"`{key}` is not a key of {table_name(table)}.", hint)


def _elsewhere(table: Path, key: str) -> str:
    """Where a key belongs that this table has no use for: a table below it, or one of another kind; or nothing."""
    model = _model_at(table)
    below = [
        f"[[{'.'.join(map(str, table))}.{field.alias or name}]]"
        for name, field in (model.model_fields.items() if model else ())
        if (inner := _inner(field.annotation)[0]) is not None and key in _keys_of(inner)
    ]
    if below and not any(isinstance(part, int) for part in table):
        return f"It belongs to one of its rows: move it down, below {' or '.join(below)}."
    kinds = [
        kind
        for kind, field in TreeFile.model_fields.items()
        if (inner := _inner(field.annotation)[0]) is not None and key in _keys_of(inner)
    ]
    if len(table) > 1 and 0 < len(kinds) <= 2:
        return f"Only a {' or '.join(kinds)} has it: move it below the header [{kinds[0]}.…] that it is for."
    return ""


def _owner(table: Path, key: str) -> Path | None:
    """The enclosing table that the key would be right in, nearest first."""
    for length in range(len(table) - 1, -1, -1):
        model = _model_at(table[:length])
        if model is not None and key in _keys_of(model) and (length or key == "format"):
            return table[:length]
    return None


def _missing(document: Document, path: Path) -> Iterator[Mistake]:
    table, key = path[:-1], str(path[-1])
    model = _model_at(table)
    written: Any = document.data
    for part in table:
        written = written[part]
    if any(model and name not in _keys_of(model) and nearest(name, [key]) for name in written):
        return  # misspelt, which is told where it stands
    place = document.place(table, key=True)
    if (
        len(table) == 2
        and isinstance(table[1], str)
        and written
        and all(_is_tables(value) for value in written.values())
    ):
        yield from _headless(document, table, written)
        return
    example, others = EXAMPLES.get(key, ('"…"', ""))
    hint = f"Write `{key} = {example}` below {table_name(table)}" + (
        f", or one of: {others}." if others else "."
    )
    if not table:
        hint = "Write `format = 1` as the first line." if key == "format" else f"Write a table `[{key}]`."
    yield Mistake(document.name, place, "missing-key", f"{table_name(table)} needs `{key}`.", hint)


def _headless(document: Document, table: Path, written: dict[str, Any]) -> Iterator[Mistake]:
    """Sub-tables of something that has no header of its own, unless that one is told of under its misspelt kind."""
    kind, name = map(str, table)
    for other, tables in document.data.items():
        if (
            other not in TreeFile.model_fields
            and isinstance(tables, dict)
            and name in tables
            and nearest(other, [kind])
        ):
            return
    inner = next(iter(written))
    near = nearest(name, [one for one in document.data[kind] if one != name])
    opens, closes = ("[[", "]]") if isinstance(written[inner], list) else ("[", "]")
    yield Mistake(
        document.name,
        document.place(table, key=True),
        "no-header",
        f'this belongs to a {kind} "{name}", but there is no header [{kind}.{name}].',
        f"Did you mean {opens}{kind}.{near}.{inner}{closes}?"
        if near
        else f"Write [{kind}.{name}] with its lines above it.",
    )


def _is_tables(value: object) -> bool:
    return isinstance(value, dict) or (
        isinstance(value, list) and bool(value) and all(isinstance(one, dict) for one in value)
    )
