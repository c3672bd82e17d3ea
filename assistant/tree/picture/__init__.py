"""Pictures of a tree: one graph, written for two drawing programs or drawn by ourselves.

Invariant: text from a tree is text in every form, never markup or a control code; the same tree gives the same
picture to the byte.
"""

from __future__ import annotations

from importlib import import_module

from assistant.tree.picture.graph import chart
from assistant.tree.picture.paper import paper_for
from assistant.tree.tree import Tree

__all__ = ["FORMS", "drawn", "paper_for"]

FORMS = ("mermaid", "dot", "svg")
"""What a tree can be drawn as."""


def drawn(tree: Tree, form: str) -> str:
    """A tree in one of `FORMS`. Raises `Refused` where it is too large to be drawn."""
    text: str = import_module(f"{__name__}.{form}").written(chart(tree))
    return text
