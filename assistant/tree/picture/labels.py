"""What is written in a box and beside an edge where another program does the drawing.

Invariant: a text too long to be looked at is cut, and says so with an ellipsis.
"""

from __future__ import annotations

from assistant.tree.picture.graph import Edge, Node
from assistant.tree.picture.measure import wrapped
from assistant.tree.picture.words import OUTCOMES

__all__ = ["box_lines", "edge_lines"]

BOX_COLUMNS = 34
LABEL_COLUMNS = 26
MOST_LINES = 8


def box_lines(node: Node, room: int = BOX_COLUMNS) -> list[str]:
    """The lines of a node's box."""
    if node.outcome:
        head = f"Verdict {node.number}: {OUTCOMES[node.outcome]}"
    else:
        head = f"{node.number}: {node.id}" if node.number else ""
    lines = [head] if head else []
    lines += wrapped(node.says, room, most=MOST_LINES)
    return [*lines, *wrapped(f"({node.detail})", room, most=MOST_LINES)] if node.detail else lines


def edge_lines(edge: Edge) -> list[str]:
    """The lines of an edge's label: each answer, and what it finds."""
    lines = []
    for row in edge.rows:
        found = f" ({'; '.join(each.says for each in row.finds)})" if row.finds else ""
        lines += wrapped(row.says + found, LABEL_COLUMNS, most=MOST_LINES) if row.says else []
    return lines
