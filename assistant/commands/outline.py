"""`tree ID`: the outline of a tree, as text or as a drawing."""

from __future__ import annotations

from assistant.commands.shared import tree_named
from assistant.errors import Refused

__all__ = ["FORMS", "shown"]

FORMS = ("text", "mermaid", "dot", "svg")
"""What an outline can be written as; the first is meant where nothing is said."""


def shown(name: str, as_: str) -> str:
    """The outline of the tree called `name` (an id or a path) in one of `FORMS`, ready to print."""
    tree_named(name)
    raise Refused("there is no outline yet", "Open the file of the tree in an editor.")
