"""From parsed TOML to typed tables, with every slip of shape told in the words of the format.

Invariant: a `TreeFile` that comes out has closed keys and right types; ids in it are not looked up yet.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from pydantic import ValidationError

from assistant.tree.keys import table_name, wrong_keys
from assistant.tree.mistakes import Mistake, Place, nearest, safely
from assistant.tree.model import STATES, TreeFile, unwrap
from assistant.tree.toml import Document

__all__ = ["shaped"]

Path = tuple[str | int, ...]

_NUMBER = re.compile(r"\s*([+-]?[0-9]+(?:[.,][0-9]+)?)\s*([a-zA-Z°²³%]*)\s*")

EVERYDAY: dict[str, dict[str, str]] = {
    "kind": {
        **dict.fromkeys(
            ("number", "numeric", "length", "size", "distance", "decimal", "float", "measured"), "measure"
        ),
        **dict.fromkeys(
            ("yes/no", "yesno", "yes-no", "boolean", "bool", "single", "one", "select", "pick", "radio"),
            "choice",
        ),
        **dict.fromkeys(
            ("multiple", "multi", "many", "checkbox", "checkboxes", "multiple choice", "multi-choice"),
            "several",
        ),
        **dict.fromkeys(("text", "free text", "comment", "remark", "string"), "note"),
        **dict.fromkeys(("integer", "int", "whole", "whole number", "how many"), "count"),
    },
    "effect": {
        **dict.fromkeys(("pass", "passes", "ok", "okay", "good", "acceptable", "positive"), "meets"),
        **dict.fromkeys(("not-met", "not met", "bad", "not-acceptable", "negative"), "fails"),
        **dict.fromkeys(("not-proven", "unknown", "not-sure", "not sure", "not-settled", "open"), "unproven"),
        **dict.fromkeys(("note", "info", "remark", "recommendation", "not-judged"), "advice"),
        **dict.fromkeys(("dangerous", "stop", "immediately-dangerous"), "danger"),
    },
    "outcome": {
        **dict.fromkeys(("pass", "passes", "passed", "ok", "okay", "good", "met", "meets"), "acceptable"),
        **dict.fromkeys(
            ("fail", "fails", "failed", "not-met", "refused", "refuse", "reject", "rejected"),
            "not-acceptable",
        ),
        **dict.fromkeys(
            ("open", "unknown", "unproven", "not-proven", "not-sure", "undecided"), "not-settled"
        ),
        **dict.fromkeys(("danger", "dangerous", "stopped"), "stop"),
    },
    "when": {
        **dict.fromkeys(("pass", "passes", "passed", "ok", "good", "true", "yes"), "met"),
        **dict.fromkeys(("fail", "fails", "failed", "danger", "false", "no"), "not-met"),
        **dict.fromkeys(("unproven", "unknown", "not-sure", "open", "not-settled"), "not-proven"),
        **dict.fromkeys(("none", "nothing", "unjudged", "not-found"), "not-judged"),
    },
    "standing": dict.fromkeys(("standard", "norm", "law", "official", "regulation"), "published"),
}
"""Everyday words for the values that a key may have."""

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

        entries: list[dict[str, Any]] = [dict(entry) for entry in error.errors(include_url=False)]
        mistakes = wrong_keys(
            document,
            [entry["loc"] for entry in entries if entry["type"] == "extra_forbidden"],
            [entry["loc"] for entry in entries if entry["type"] == "missing"],
        )
        nameless = _nameless(document, entries)
        mistakes = [one for one in mistakes if one.code != "no-header" or not nameless]
        mistakes += nameless.values()
        mistakes += [
            _told(document, entry)
            for entry in entries
            if entry["type"] not in ("extra_forbidden", "missing") and entry["loc"][0] not in nameless
        ]
        file, broken = patched(data, error)
        return file, mistakes, broken


def _nameless(document: Document, entries: Sequence[dict[str, Any]]) -> dict[str, Mistake]:
    """Headers such as [question], which do not say which one: their lines would each be taken for a table."""
    from assistant.tree.lost import KINDS, lost_header

    kinds: dict[str, list[Path]] = {}
    for entry in entries:
        path: Path = tuple(entry["loc"])
        if len(path) == 2 and path[0] in KINDS and entry["type"] in ("dict_type", "model_type"):
            kinds.setdefault(str(path[0]), []).append(path)
    told: dict[str, Mistake] = {}
    for kind, paths in kinds.items():
        first = document.place(paths[0], key=True)
        plain = [path for path in paths if not isinstance(document.data[kind][path[1]], dict | list)]
        if len(plain) < 2 or first is None:
            continue
        header, _ = lost_header(document.text, kind)
        message = f"the header [{kind}] does not say which {kind} it is."
        place = Place(max(first.line - 1, 1), 1)
        told[kind] = Mistake(
            document.name, place, "no-header", message, f"Write its id after a dot: {header}"
        )
    return told


def _unwrapped(value: Any) -> Any:
    """The same values with every text unwrapped: a tree holds ids, which have no line breaks, and prose."""
    if isinstance(value, dict):
        return {key: _unwrapped(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [_unwrapped(inner) for inner in value]
    return unwrap(value) if isinstance(value, str) else value


def _told(document: Document, entry: dict[str, Any]) -> Mistake:
    path: Path = tuple(entry["loc"])
    kind = entry["type"]
    table, name = _split(path)
    if kind == "literal_error":
        needed = f"has to be {entry['ctx']['expected'].replace(chr(39), chr(34))}"
        everyday = EVERYDAY.get(str(path[-1]), {}).get(str(entry["input"]).casefold().strip())
        near = nearest(
            str(entry["input"]), entry["ctx"]["expected"].replace("'", "").replace(" or ", ", ").split(", ")
        )
        near = everyday or near
        hint = f'Did you mean "{near}"?' if near and near != entry["input"] else ""
        if path[-1] == "format":
            hint = "Write `format = 1`."
    else:
        needed = NEEDS.get(kind, str(entry["msg"]).removeprefix("Value error, "))
        hint = _written(kind, "" if isinstance(path[-1], int) else f"{path[-1]} = ", entry["input"], needed)
    found = entry["input"]
    if kind in ("dict_type", "model_type") and path:
        return _no_table(document, path, found)
    shown = f" Found {_brief(found)}." if isinstance(found, str | int | float) or found is None else ""
    return Mistake(
        document.name,
        document.place(path),
        "wrong-value",
        f"{name} {'in' if table else 'at'} {table_name(table)} {needed}.{shown}",
        hint,
    )


def _no_table(document: Document, path: Path, found: object) -> Mistake:
    """A list of tables, or a value, where one table has to be."""
    header = ".".join(map(str, path))
    if path[-1] == "when":
        message = f"`when` in {table_name(path[:-1])} needs curly brackets, with a requirement and its state in them."
        hint = 'Write, for example: when = { all = "met" }'
        return Mistake(document.name, document.place(path), "wrong-value", message, hint)
    if len(path) == 2 and path[1] in ("answer", "band", "not-sure") and isinstance(found, list):
        from assistant.tree.lost import header_above

        place = document.place(path)
        name = header_above(document.text, place.line if place else 1, [str(path[0])]) or "…"
        message = f"[[{header}]] does not say which {path[0]} it is for."
        return Mistake(document.name, place, "no-header", message, f"Write: [[{path[0]}.{name}.{path[1]}]]")
    if isinstance(found, list) and all(isinstance(one, dict) for one in found):
        message = f"[[{header}]] has double brackets, but there can be only one of it."
        return Mistake(document.name, document.place(path), "double-brackets", message, f"Write: [{header}]")
    message = f"`{path[-1]}` needs to be a table."
    return Mistake(
        document.name,
        document.place(path),
        "wrong-value",
        message,
        f"Write the header [{header}], and its lines below it.",
    )


def _written(kind: str, key: str, value: object, needed: str) -> str:
    """How the same value would be written rightly, where that is plain; `key` comes with its equals sign."""
    if kind == "string_type" and isinstance(value, int | Decimal) and not isinstance(value, bool):
        return f'Write `{key}"{value}"`.'
    if kind == "tuple_type" and isinstance(value, str) and not value.strip():
        return f"Write `{key}[]`, or put a text into it."
    if kind == "tuple_type" and isinstance(value, str) and key in ("also = ", "accept = ") and "," in value:
        listed = ", ".join(
            f'"{part.strip()}"' for part in value[:200].replace('"', "").split(",") if part.strip()
        )
        return f"Write `{key}[{listed}]`."
    if kind == "string_type" and key == "then = " and isinstance(value, list):
        return 'Only one step can follow: write `then = "…"` with one id.'
    if kind == "tuple_type" and isinstance(value, str) and '"' not in value and len(value) <= 60:
        return f'Write `{key}["{value}"]`.'
    if kind == "string_type":
        return f'Write `{key}"…"`.'
    if needed.startswith("needs a whole number from 1"):
        return f"Write `{key}2`, for instance: 1 is minutes, 5 is the most."
    if needed.startswith("names the same id twice"):
        return "Take one of the two out."
    if not isinstance(value, str):
        return ""
    from assistant.tree.ends import written_end

    end = written_end(key.removesuffix(" = "), value) if needed.startswith("needs a number") else ""
    if end:
        return end
    number = _NUMBER.fullmatch(value)
    if needed.startswith("needs a number") and number:
        counted = ", counted in the `unit` of the question" if number[2] else ""
        return f"Write `{key}{number[1].replace(',', '.')}`{counted}."
    if needed.startswith("needs true or false") and value.casefold() in ("yes", "no", "true", "false"):
        return f"Write `{key}{'true' if value.casefold() in ('yes', 'true') else 'false'}`."
    if needed.startswith("needs one of met") and value.casefold().strip() in EVERYDAY["when"]:
        return f'Did you mean "{EVERYDAY["when"][value.casefold().strip()]}"?'
    near = nearest(value, STATES) if needed.startswith("needs one of met") else None
    return f'Did you mean "{near}"?' if near else ""


def _brief(value: object) -> str:
    text = (
        str(value).lower()
        if isinstance(value, bool)
        else f'"{value}"'
        if isinstance(value, str)
        else repr(value)
    )
    text = safely(text, 400)
    return text if len(text) <= 60 else text[:59] + "…"


def _split(path: Path) -> tuple[Path, str]:
    """The table a value stands in, and the value's own name there (with its number in a list)."""
    if isinstance(path[-1], int) and len(path) > 1:
        return path[:-2], f"number {path[-1] + 1} of `{path[-2]}`"
    return path[:-1], f"`{path[-1]}`"
