"""Keys and tables that are not where the format has them: misspelt, fallen below another header, or missing.

Invariant: a slip is told once, where it stands; what only follows from it is left out.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import Any

from pydantic import BaseModel

from assistant.tree.mistakes import Mistake, nearest
from assistant.tree.model import About, TreeFile
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

EVERYDAY = {
    **dict.fromkeys(("min", "minimum", "lowest", "from", "smallest", "low"), ("least",)),
    **dict.fromkeys(("max", "maximum", "highest", "largest", "high"), ("most", "up-to")),
    **dict.fromkeys(("under", "less-than", "less", "smaller-than", "lower-than", "fewer-than"), ("below",)),
    **dict.fromkeys(("to", "until", "at-most", "end", "upper", "through"), ("up-to", "most")),
    **dict.fromkeys(("question", "text", "prompt", "wording"), ("ask", "says", "title")),
    **dict.fromkeys(("reason", "because", "purpose"), ("why", "reason")),
    **dict.fromkeys(("help", "how", "hint", "check", "how-to", "method"), ("look", "find-out")),
    **dict.fromkeys(("label", "title", "name", "answer", "caption"), ("says", "ask", "title")),
    **dict.fromkeys(("next", "goto", "go-to", "leads-to", "next-step", "next-question", "go"), ("then",)),
    **dict.fromkeys(("required", "mandatory", "must"), ("must-answer",)),
    **dict.fromkeys(("result", "status", "state", "decision"), ("outcome", "effect", "standing")),
    **dict.fromkeys(("if", "condition", "requires"), ("when",)),
    **dict.fromkeys(("actions", "action", "todo", "to-do", "steps", "advice", "then"), ("do",)),
    **dict.fromkeys(("fix", "remedy", "repair", "mend"), ("put-right",)),
    **dict.fromkeys(("synonyms", "aliases", "alias", "words", "other-words"), ("also",)),
    **dict.fromkeys(("version", "date"), ("edition",)),
    **dict.fromkeys(("start", "begin", "first-question", "first-step"), ("first",)),
    **dict.fromkeys(("country", "region", "where"), ("place",)),
    **dict.fromkeys(("reference", "ref", "references"), ("source", "part")),
    **dict.fromkeys(("finds", "shows"), ("finding",)),
    **dict.fromkeys(("explanation", "meaning", "description"), ("means", "reason", "says")),
    "type": ("kind",),
}  # fmt: skip
"""Everyday words for the keys of a tree, and what they may stand for."""
LOWER_ENDS = frozenset(
    {"above", "over", "more-than", "greater-than", "at-least", "from", "least", "min", "minimum", "lower"}
)
ROWS = frozenset({"answers", "options", "option", "choices", "choice"})
BELOW = ("answer", "band", "not-sure")
"""Tables that stand below a step."""

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
    from assistant.tree.lost import lost_header

    tables: dict[Path, list[str]] = {}
    for path in unknown:
        tables.setdefault(path[:-1], []).append(str(path[-1]))
    mistakes: list[Mistake] = []
    for table, names in tables.items():
        lost = _lost_header(document, table, names, missing)
        if lost:
            header, _ = lost_header(document.text, lost)
            missing = [
                path
                for path in missing
                if header not in (table_name(path), table_name(path[:-1])) or _written(document, path[:-1])
            ]
            mistakes.append(_header_missing(document, table, names, lost))
        else:
            mistakes += [_unknown_key(document, (*table, name)) for name in names]
    for path in missing:
        mistakes += [one for one in _missing(document, path) if one not in mistakes]
    return mistakes


def _lost_header(document: Document, table: Path, names: Sequence[str], missing: Sequence[Path]) -> str:
    """The kind of table that all of several strange keys belong to, whose header is then missing; or nothing."""
    if len(names) < 2:
        return ""
    if not table:
        return "tree" if ("tree",) in missing and _of_tree(document, names) else ""
    owners = [_owner(table, name) for name in names]
    if all(
        owner is not None and name not in _at(document, owner)
        for owner, name in zip(owners, names, strict=True)
    ):
        return ""
    for kind, field in TreeFile.model_fields.items():
        model, _ = _inner(field.annotation)
        if model is not None and set(names) <= set(_keys_of(model)):
            return kind
    return ""


def _of_tree(document: Document, names: Sequence[str]) -> bool:
    """Whether the lines at the top that are no tables are, by and large, those of [tree]."""
    lines = [name for name in names if not _is_tables(document.data[name])]
    known = [name for name in lines if name in _keys_of(About)]
    return len(known) > 1 and 2 * len(known) > len(lines)


def _at(document: Document, path: Path) -> Any:
    value: Any = document.data
    for part in path:
        value = value[part]
    return value


def _written(document: Document, path: Path) -> bool:
    """Whether a table has lines of its own, and not only tables below it."""
    return bool(path) and not all(_is_tables(value) for value in _at(document, path).values())


def _header_missing(document: Document, table: Path, names: Sequence[str], kind: str) -> Mistake:
    from assistant.tree.lost import lost_header

    header, sure = lost_header(document.text, kind)
    place = document.place((*table, names[0]), key=True)
    if not table and place is not None:
        message = f"The header {header} is missing above line {place.line}."
        hint = f"Write {header} on a line of its own above line {place.line}."
        return Mistake(document.name, place, "missing-header", message, hint)
    listed = ", ".join(f"`{name}`" for name in names[:3]) + (" …" if len(names) > 3 else "")
    return Mistake(
        document.name,
        document.place((*table, names[0]), key=True),
        "missing-header",
        f"{listed} do not belong to {table_name(table)}: they are the lines of a {kind} without its header.",
        f"Write its header on a line of its own above `{names[0]}`{'' if sure else ', with its id'}: {header}",
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
    if not table:
        return _top(document, key, known)
    if table[0] in ("verdict", "moved") and isinstance(_at(document, path), dict):
        message = f"the header [{table[0]}.{key}] names a {table[0]}, but its name stands in its `id`."
        hint = f'Write the header [[{table[0]}]], and below it: id = "{key}"'
        return Mistake(document.name, place, "unknown-key", message, hint)
    near = nearest(key, known)
    hint = _everyday(key, known, table) or (
        f"Did you mean `{near}`?"
        if near
        else _elsewhere(table, key) or f"Keys that may stand here: {', '.join(known)}."
    )
    return Mistake(document.name, place, "unknown-key", f"`{key}` is not a key of {table_name(table)}.", hint)


def _everyday(key: str, known: Sequence[str], table: Path) -> str:
    """The key that an everyday word stands for, among those that may stand here; or nothing."""
    word = key.casefold().replace("_", "-")
    meant = next((one for one in EVERYDAY.get(word, ()) if one in known), None)
    if meant:
        return f"Write `{meant}` for it."
    if word in LOWER_ENDS and "below" in known:
        return (
            "A band has an upper end alone, `below` or `up-to`: it begins where the one above it ends. Write the end "
            "of the band before it there."
        )
    if word in ROWS and "answer" in known:
        header = f"[[{'.'.join(map(str, table))}.answer]]"
        return f"Each answer is a table of its own: {header}, with `id` and `says`."
    return ""


def _top(document: Document, key: str, known: Sequence[str]) -> Mistake:
    """A line or a table at the top of the file that no tree has."""
    place = document.place((key,), key=True)
    near = nearest(key, known)
    if isinstance(document.data[key], dict) or _is_tables(document.data[key]) or near == key.casefold():
        header = _meant_header(document, key)
        hint = (
            f"Write: {header}"
            if header
            else f"Did you mean `{near}`?"
            if near
            else f"A tree has these tables: {', '.join(known)}."
        )
        return Mistake(document.name, place, "unknown-key", f"a tree has no tables named `{key}`.", hint)
    hint = "Above the first header only `format` may stand: move this line down, below the header that it is for."
    if key in _keys_of(About):
        hint = "It belongs to [tree]: move it down, below that header."
    if nearest(key, ["format"]):
        hint = "Did you mean `format`?"
    return Mistake(document.name, place, "unknown-key", f"`{key}` is not a key of {TOP}.", hint)


def _meant_header(document: Document, key: str) -> str:
    """The header whose parts stand in another order, or without the kind of table; nothing where it is none."""
    from assistant.tree.lost import KINDS, STEPS, header_above

    parts, value = [key], document.data[key]
    while isinstance(value, dict) and len(parts) < 4 and len(value) == 1:
        [(name, value)] = value.items()
        if isinstance(value, dict) or _is_tables(value):
            parts.append(name)
    if nearest(parts[0], KINDS) and (len(parts) == 1 or not nearest(parts[1], [*KINDS, *BELOW])):
        return ""
    kind = next((near for part in parts if (near := nearest(part, KINDS))), "")
    row = next((near for part in parts if (near := nearest(part, BELOW))), "")
    names = [part for part in parts if not nearest(part, [*KINDS, *BELOW])]
    if len(names) > 1:
        return ""
    if not names:
        place = document.place((key,), key=True)
        names = [header_above(document.text, place.line if place else 1, STEPS)]
    kinds = [one for one in KINDS if names[0] in document.data.get(one, {})]
    kind = kind or next(iter(kinds), "")
    if not kind or not names[0]:
        return ""
    header = ".".join([kind, names[0], *([row] if row else [])])
    return f"[[{header}]]" if row in ("answer", "band") else f"[{header}]"


def _elsewhere(table: Path, key: str) -> str:
    """Where a key belongs that this table has no use for: a table below it, or one of another kind; or nothing."""
    model = _model_at(table)
    if key == "find-out" and model is not None and "not-sure" in _keys_of(model):
        return f"Write [{'.'.join(map(str, table))}.not-sure] on a line of its own above it, if that is not there yet."
    below = [
        f"[{'.'.join(map(str, table))}.not-sure]"
        if field.alias == "not-sure"
        else f"[[{'.'.join(map(str, table))}.{field.alias or name}]]"
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
    words = written.get("says") or written.get("title")
    if key == "id" and isinstance(words, str):
        example = f'"{"-".join(re.findall("[a-z0-9]+", words.casefold())[:3]).lstrip("0123456789-") or "…"}"'
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
            and (other == name or (name in tables and nearest(other, [kind])))
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
        f"Ids are written in lower case: write [{kind}.{name}] in the header [{kind}.{near}]."
        if near and near.casefold() == name
        else f"Did you mean {opens}{kind}.{near}.{inner}{closes}?"
        if near
        else f"Write [{kind}.{name}] with its lines above it.",
    )


def _is_tables(value: object) -> bool:
    return isinstance(value, dict) or (
        isinstance(value, list) and bool(value) and all(isinstance(one, dict) for one in value)
    )
