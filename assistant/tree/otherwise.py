"""A file that is sound but of another kind than was asked for: a tree, facts, or the record of a consultation."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from assistant.tree.mistakes import Mistake, Place, safely

__all__ = ["kind_of", "other_file"]

KINDS = {"tree": "a tree", "facts": "a facts file", "record": "a record of a consultation"}


def kind_of(data: Mapping[str, Any]) -> str:
    """What a file's tables show it to be: "tree", "facts" or "record"; empty where they do not tell."""
    if isinstance(data.get("record"), str):
        return "record"
    if isinstance(data.get("tree"), dict) or isinstance(data.get("question"), dict):
        return "tree"
    if isinstance(data.get("facts"), dict):
        return "facts"
    return ""


def other_file(data: Mapping[str, Any], name: str, wanted: str) -> Mistake | None:
    """That a file is of another kind than `wanted`, and the command that takes it; None where it is not."""
    kind = kind_of(data)
    if kind in ("", wanted):
        return None
    shown = _quoted(name)
    hint = {
        "tree": f"Type: throughwall facts new {shown} > facts.toml",
        "facts": f"`throughwall judge {shown}` reads it.",
        "record": f"`throughwall --open {shown}` goes on with it.",
    }[kind]
    if (kind, wanted) == ("tree", "record"):
        hint = f"To begin with it: throughwall --tree {shown}"
    message = f"This is {KINDS[kind]}, not {KINDS[wanted]}."
    return Mistake(name, Place(1, 1), "other-file", message, hint)


def _quoted(name: str) -> str:
    from shlex import quote

    return quote(safely(name, 400))
