"""A tree as text for Graphviz.

Invariant: whatever a text holds, it stays within the quotes of its label and is shown as it is written.
"""

from __future__ import annotations

from collections.abc import Iterator
from html import escape

from assistant.tree.picture.graph import Chart
from assistant.tree.picture.labels import box_lines, edge_lines
from assistant.tree.picture.measure import wrapped

__all__ = ["written"]

SHAPES = {
    "question": 'shape=box, style="rounded,filled", fillcolor="#ffffff"',
    "recall": 'shape=box, style="dashed,filled", fillcolor="#f2f2f2"',
    "working": 'shape=component, style=filled, fillcolor="#f2f2f2"',
    "visit": 'shape=box, peripheries=2, style=filled, fillcolor="#ffffff"',
    "each": 'shape=box3d, style=filled, fillcolor="#ffffff"',
    "end": 'shape=oval, style=filled, fillcolor="#e6e6e6"',
}
VERDICT_SHAPES = {
    "acceptable": 'shape=box, style="rounded,filled,bold", fillcolor="#dff2e1"',
    "not-settled": 'shape=hexagon, style="filled,bold", fillcolor="#fdf1cf"',
    "not-acceptable": 'shape=box, style="filled,bold", peripheries=2, fillcolor="#fbdcd7"',
    "stop": 'shape=octagon, style="filled,bold", peripheries=2, fillcolor="#e9b8b2"',
}


def written(chart: Chart) -> str:
    """A graph in the DOT language."""
    return "\n".join(_lines(chart)) + "\n"


def _lines(chart: Chart) -> Iterator[str]:
    head = [f"{chart.title} ({chart.id}, edition {chart.edition})"]
    for caution in chart.cautions:
        head += wrapped(caution, 100)
    yield f"digraph {_quoted([chart.id])} {{"
    yield '  graph [charset="UTF-8", rankdir=TB, nodesep=0.35, ranksep=0.5, fontname="DejaVu Sans, Arial, sans-serif",'
    yield f"    labelloc=t, labeljust=l, fontsize=14, label={_quoted(head, 'l')}];"
    yield '  node [fontname="DejaVu Sans, Arial, sans-serif", fontsize=11, color="#1a1a1a", fontcolor="#1a1a1a"];'
    yield '  edge [fontname="DejaVu Sans, Arial, sans-serif", fontsize=10, color="#444444", fontcolor="#1a1a1a"];'
    for node in chart.nodes.values():
        shape = VERDICT_SHAPES[node.outcome] if node.outcome else SHAPES[node.kind]
        yield f"  {_id(node.id)} [label={_quoted(box_lines(node))}, {shape}];"
    for edge in chart.edges:
        label = _quoted(edge_lines(edge), "l")
        yield f"  {_id(edge.source)} -> {_id(edge.target)} [label={label}];"
    yield "}"


def _id(name: str) -> str:
    return _quoted([name.replace(":", "/")])


def _quoted(lines: list[str], end: str = "n") -> str:
    """Lines as one quoted text, each but the last closed by an escape: n for the middle, l for the left.

    Graphviz reads entities in a text, and escapes.
    """
    safe = [escape(line, quote=False).replace("\\", "\\\\").replace('"', '\\"') for line in lines]
    return '"' + f"\\{end}".join([*safe, ""] if end == "l" and safe else safe) + '"'
