"""A tree as the beginning of another: its text under a new id.

Invariant: nothing but the id and the line for editors differs; what comes out is loaded before it is given back.
"""

from __future__ import annotations

import re
from pathlib import Path

from assistant.tree.load import load, load_text
from assistant.tree.tree import Tree

__all__ = ["copied"]

SCHEMA = "#:schema ./tree.schema.json\n"
"""The line by which an editor finds the schema."""
TEXT = re.compile(r'"""[^"]*"""|\'\'\'[^\']*\'\'\'|"[^"\n]*"|\'[^\'\n]*\'')


def copied(name: str, path: Path) -> str:
    """The text of a tree, an installed one by its id or any by its path, called as the file at `path` is to be.

    Raises `Unreadable` where the tree, or its copy at that place, cannot be loaded; then a tree it visits is missing.
    """
    text = _renamed(load(name), path.stem)
    load_text(text, str(path), path.parent)
    return text


def _renamed(tree: Tree, new: str) -> str:
    text, place = tree.document.text, tree.document.place(("tree", "id"))
    assert place is not None
    lines = text.splitlines(keepends=True)
    at = sum(map(len, lines[: place.line - 1])) + place.column - 1
    end = TEXT.match(text, at)
    assert end
    text = f'{text[:at]}"{new}"{text[end.end() :]}'
    return text if text.startswith("#:schema") or "\n#:schema" in text else SCHEMA + text
