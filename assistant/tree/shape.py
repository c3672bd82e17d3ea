"""From parsed TOML to typed tables, with every slip of shape told in the words of the format.

Invariant: a `TreeFile` that comes out has closed keys and right types; ids in it are not looked up yet.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from pydantic import BaseModel, ValidationError

from assistant.tree.mistakes import Mistake, nearest
from assistant.tree.model import TreeFile, unwrap
from assistant.tree.slips import labelled
from assistant.tree.toml import Document

__all__ = ["shaped", "table_name"]

Path = tuple[str | int, ...]

NEEDS = {
    "string_type": "needs a text in quotes",
    "string_too_short": "is empty; write the text, or take the line out",
    "tuple_type": "needs a list in square brackets",
    "dict_type": "needs a table",
    "model_type": "needs a table",
    "int_type": "needs a whole number",
}


def shaped(document: Document) -> tuple[TreeFile | None, list[Mistake], set[Path]]:
    """The tables of a parsed file, everything that is wrong with their shape, and the tables where that is.

    Where something is wrong, the tables are made whole for looking further; None where that cannot be done.
    """
    data = _unwrapped(document.data)
    try:
        return TreeFile.model_validate(data), [], set()
    except ValidationError as error:
        from assistant.tree.patch import patched

        mistakes = [_told(document, dict(entry)) for entry in error.errors(include_url=False)]
        file, broken = patched(data, error)
        return file, _once(mistakes), broken


def _once(mistakes: list[Mistake]) -> list[Mistake]:
    """Without the keys that are missing only because they are misspelt: that is told where they stand."""
    return [m for m in mistakes if m.code != "missing-key" or not m.hint.startswith("`")]


def _unwrapped(value: Any) -> Any:
    """The same values with every text unwrapped: a tree holds ids, which have no line breaks, and prose."""
    if isinstance(value, dict):
        return {key: _unwrapped(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [_unwrapped(inner) for inner in value]
    return unwrap(value) if isinstance(value, str) else value


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


def _told(document: Document, entry: dict[str, Any]) -> Mistake:
    path: Path = tuple(entry["loc"])
    kind = entry["type"]
    if kind == "extra_forbidden":
        return _unknown_key(document, path)
    if kind == "missing":
        return _missing(document, path)
    table, name = _split(path)
    if kind == "literal_error":
        needed = f"has to be {entry['ctx']['expected'].replace(chr(39), chr(34))}"
        near = nearest(
            str(entry["input"]), entry["ctx"]["expected"].replace("'", "").replace(" or ", ", ").split(", ")
        )
        hint = f'Did you mean "{near}"?' if near and near != entry["input"] else ""
    else:
        needed = NEEDS.get(kind, str(entry["msg"]).removeprefix("Value error, "))
        hint = _written(kind, str(path[-1]), entry["input"])
    found = entry["input"]
    shown = f" Found {_brief(found)}." if isinstance(found, str | int | float) or found is None else ""
    return Mistake(
        document.name,
        document.place(path),
        "wrong-value",
        f"{name} {'in' if table else 'at'} {table_name(table)} {needed}.{shown}",
        hint,
    )


def _written(kind: str, key: str, value: object) -> str:
    """How the same value would be written rightly, where that is plain."""
    if kind == "string_type" and isinstance(value, int | Decimal) and not isinstance(value, bool):
        return f'Write `{key} = "{value}"`.'
    if kind == "tuple_type" and isinstance(value, str) and '"' not in value and len(value) <= 60:
        return f'Write `{key} = ["{value}"]`.'
    return ""


def _brief(value: object) -> str:
    text = str(value).lower() if isinstance(value, bool) else repr(value).replace("'", '"')
    return text if len(text) <= 60 else text[:59] + "…"


def _split(path: Path) -> tuple[Path, str]:
    """The table a value stands in, and the value's own name there (with its number in a list)."""
    if isinstance(path[-1], int) and len(path) > 1:
        return path[:-2], f"number {path[-1] + 1} of `{path[-2]}`"
    return path[:-1], f"`{path[-1]}`"


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
    hint = f"Did you mean `{near}`?" if near else f"Keys that may stand here: {', '.join(known)}."
    if not table and isinstance(document.data[key], dict | list):
        hint = hint.replace("Keys that may stand here", "A tree has these tables")
        return Mistake(document.name, place, "unknown-key", f"a tree has no tables named `{key}`.", hint)
    return Mistake(document.name, place, "unknown-key", f"`{key}` is not a key of {table_name(table)}.", hint)


def _owner(table: Path, key: str) -> Path | None:
    """The enclosing table that the key would be right in, nearest first."""
    for length in range(len(table) - 1, -1, -1):
        model = _model_at(table[:length])
        if model is not None and key in _keys_of(model) and (length or key == "format"):
            return table[:length]
    return None


def _missing(document: Document, path: Path) -> Mistake:
    table, key = path[:-1], str(path[-1])
    model = _model_at(table)
    written = document.data
    for part in table:
        written = written[part]  # type: ignore[index]
    near = nearest(key, [name for name in written if model and name not in _keys_of(model)])
    hint = f"`{near}` may be meant for it." if near else f"Write `{key} = …` below {table_name(table)}."
    if not table:
        hint = "Write `format = 1` as the first line." if key == "format" else f"Write a table `[{key}]`."
    return Mistake(
        document.name,
        document.place(table, key=True),
        "missing-key",
        f"{table_name(table)} needs `{key}`.",
        hint,
    )
