"""`tree ID`: the outline of a tree, as text or as a drawing."""

from __future__ import annotations

import shutil
import sys

from assistant.commands.shared import tree_named

__all__ = ["FORMS", "shown"]

FORMS = ("text", "mermaid", "dot", "svg")
"""What an outline can be written as; the first is meant where nothing is said."""
COLUMNS = 80
"""Columns of an outline that goes to a file or a pipe."""
MOST_COLUMNS = 100
"""Columns that an outline fills at most: longer lines are hard to read."""


def shown(name: str, as_: str) -> str:
    """The outline of the tree called `name` (an id or a path) in one of `FORMS`, ready to print."""
    from assistant.tree.load import load

    tree = load(tree_named(name))
    if as_ == FORMS[0]:
        from assistant.render.outline import outline

        return outline(tree, _columns())
    from assistant.tree.picture import drawn

    return drawn(tree, as_)


def _columns() -> int:
    if not sys.stdout.isatty():
        return COLUMNS
    return min(shutil.get_terminal_size((COLUMNS, 24)).columns, MOST_COLUMNS)
