"""A tree as text for Mermaid.

Invariant: of a text only letters, digits, spaces and a few signs are written as they are; every other sign is written
by its number, so that nothing in it can be read as Mermaid, Markdown or HTML.
"""

from __future__ import annotations

from collections.abc import Iterator

from assistant.tree.picture.graph import Chart
from assistant.tree.picture.labels import box_lines, edge_lines

__all__ = ["written"]

COLUMNS = 24
"""What fits in a line of a box before Mermaid breaks it itself."""
PLAIN = frozenset(" ,?!'()/")
"""Signs that mean nothing inside the quotes of a label."""
SHAPES = {
    "question": ("(", ")"),
    "recall": ("[/", "/]"),
    "working": ("[[", "]]"),
    "visit": ("[(", ")]"),
    "each": ("[(", ")]"),
    "end": ("([", "])"),
    "acceptable": ("([", "])"),
    "not-settled": ("{{", "}}"),
    "not-acceptable": ("[", "]"),
    "stop": ("(((", ")))"),
}
CLASSES = """\
  classDef asks fill:#ffffff,stroke:#1a1a1a,color:#1a1a1a
  classDef looks fill:#f2f2f2,stroke:#1a1a1a,color:#1a1a1a,stroke-dasharray:4 3
  classDef acceptable fill:#dff2e1,stroke:#1a1a1a,color:#1a1a1a,stroke-width:2px
  classDef unsettled fill:#fdf1cf,stroke:#1a1a1a,color:#1a1a1a,stroke-width:2px
  classDef unacceptable fill:#fbdcd7,stroke:#1a1a1a,color:#1a1a1a,stroke-width:3px
  classDef stopping fill:#e9b8b2,stroke:#1a1a1a,color:#1a1a1a,stroke-width:4px"""
CLASS = {
    "recall": "looks",
    "working": "looks",
    "acceptable": "acceptable",
    "not-settled": "unsettled",
    "not-acceptable": "unacceptable",
    "stop": "stopping",
}


def written(chart: Chart) -> str:
    """A flowchart in Mermaid's language."""
    return "\n".join(_lines(chart)) + "\n"


def _lines(chart: Chart) -> Iterator[str]:
    yield "flowchart TD"
    head = [f"{chart.title} ({chart.id}, edition {chart.edition})", *chart.cautions]
    yield f"  about[{_quoted(head)}]:::asks"
    for node in chart.nodes.values():
        kind = node.outcome or node.kind
        before, after = SHAPES[kind]
        yield f"  {_id(node.id)}{before}{_quoted(box_lines(node, COLUMNS))}{after}:::{CLASS.get(kind, 'asks')}"
    for edge in chart.edges:
        label = edge_lines(edge)
        text = f"|{_quoted(label)}|" if label else ""
        yield f"  {_id(edge.source)} -->{text} {_id(edge.target)}"
    yield CLASSES


def _id(name: str) -> str:
    """An id that is no word of the language: "end" alone would close a block."""
    kind, _, rest = name.rpartition(":")
    if not kind:
        return "the_end" if name == "end" else f"step_{name.replace('-', '_')}"
    return f"{kind}_{rest.replace('-', '_')}"


def _quoted(lines: list[str]) -> str:
    return '"' + "<br/>".join("".join(map(_sign, line)) for line in lines) + '"'


def _sign(sign: str) -> str:
    return sign if sign.isalnum() or sign in PLAIN else f"#{ord(sign)};"
