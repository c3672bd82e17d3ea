"""Text set in lines, with the room it takes: boxes, labels, signs and cards of a picture.

Invariant: every line of a block lies within its width and height, by the widest of the fonts that are asked for.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import partial
from typing import NamedTuple

from assistant.tree.picture.graph import END, Node
from assistant.tree.picture.measure import NARROW, ems, pieces
from assistant.tree.picture.words import OUTCOMES, Row

__all__ = ["Block", "Line", "Run", "Text", "box", "card", "label", "para", "set_out", "sign"]

INK = "#1a1a1a"
FAINT = "#4a4a4a"
EFFECT_INK = {
    "meets": "#14532d",
    "unproven": "#6b4300",
    "fails": "#8c1414",
    "danger": "#7a0000",
    "advice": FAINT,
}
LEADING = 1.32
MOST_LINES = 6
MOST_ROWS = 12
MOST_NAMED = 6


class Run(NamedTuple):
    """Words in one style."""

    text: str
    bold: bool = False
    ink: str = INK


class Text(NamedTuple):
    """A paragraph to be set."""

    runs: tuple[Run, ...]
    size: float = 12
    indent: float = 0
    most: int = MOST_LINES
    first: str = ""
    """What stands before its first line, in the indent."""


class Line(NamedTuple):
    """A line where it stands in its block: its left end, and its baseline."""

    x: float
    y: float
    size: float
    runs: tuple[Run, ...]

    @property
    def width(self) -> float:
        """How wide it is at most."""
        return sum(ems(run.text, run.bold) for run in self.runs) * self.size


class Block(NamedTuple):
    """Lines, and the room they take."""

    lines: tuple[Line, ...]
    width: float
    height: float


def para(text: str, size: float = 12, bold: bool = False, ink: str = INK, most: int = MOST_LINES) -> Text:
    """A paragraph in one style."""
    return Text((Run(text, bold, ink),), size, most=most)


def set_out(texts: Iterable[Text], room: float) -> Block:
    """Paragraphs in lines that fit the room."""
    lines, y = list[Line](), 0.0
    for text in texts:
        for number, runs in enumerate(_broken(text, (room - text.indent) / text.size)):
            if text.first and not number:
                lines.append(Line(0, y + text.size, text.size, (Run(text.first),)))
            lines.append(Line(text.indent, y + text.size, text.size, runs))
            y += text.size * LEADING
    return Block(tuple(lines), max((line.x + line.width for line in lines), default=0), y)


def _broken(text: Text, room: float) -> list[tuple[Run, ...]]:
    """The runs of a paragraph in lines of so many ems."""
    lines: list[list[Run]] = [[]]
    reach = 0.0
    for run in text.runs:
        wide = partial(ems, bold=run.bold)
        words = run.text[: int(text.most * room * NARROW)].split()
        for piece in (piece for word in words for piece in pieces(word, room, wide)):
            space = " " if lines[-1] else ""
            if reach and reach + wide(space + piece) > room:
                if len(lines) == text.most:
                    return [*map(tuple, lines[:-1]), _cut(lines[-1], room)]
                lines.append([])
                reach, space = 0.0, ""
            if lines[-1]:  # a space at the beginning of a run would be dropped
                last = lines[-1].pop()
                lines[-1].append(last._replace(text=last.text + space))
            if lines[-1] and lines[-1][-1][1:] == run[1:]:
                lines[-1][-1] = run._replace(text=lines[-1][-1].text + piece)
            else:
                lines[-1].append(run._replace(text=piece))
            reach += wide(space + piece)
    return [*map(tuple, lines)]


def _cut(runs: list[Run], room: float) -> tuple[Run, ...]:
    """A line with an ellipsis for what does not fit."""
    *others, last = runs
    left = room - sum(ems(run.text, run.bold) for run in others)
    text = last.text
    while text and ems(f"{text}…", last.bold) > left:
        text = text[:-1]
    return (*others, last._replace(text=f"{text.rstrip()}…"))


def box(node: Node, rows: Sequence[Row], also_from: Sequence[int]) -> Block:
    """What is written in the box of a step or of the end; `rows` are the answers that all lead the same way."""
    if node.kind == END:
        return set_out([para(node.says, 13, True)], 190)
    texts = [para(f"{node.number}  {node.id}", 13, True), para(node.says)]
    if node.detail:
        texts.append(para(node.detail, 10.5, ink=FAINT))
    texts += _answers(rows)
    if also_from:
        named = ", ".join(map(str, also_from[:MOST_NAMED]))
        more = f" and {len(also_from) - MOST_NAMED} more" if len(also_from) > MOST_NAMED else ""
        texts.append(para(f"also from {named}{more}", 10.5, ink=FAINT))
    return set_out(texts, 210 if node.kind == "question" or rows else 185)


def label(rows: Sequence[Row]) -> Block:
    """The answers that an edge stands for, each with what it finds."""
    return set_out(_answers(rows), 160)


def _answers(rows: Sequence[Row]) -> list[Text]:
    said = [row for row in rows if row.says]
    texts = []
    for row in said[:MOST_ROWS]:
        runs = [Run(row.says + ":" * bool(row.finds))]
        for found in row.finds:
            comma = "," if found is not row.finds[-1] else ""
            runs.append(Run(found.says + comma, True, EFFECT_INK[found.effect]))
        bullet = "-" if len(said) > 1 else ""
        texts.append(Text(tuple(runs), 11.5, 9 if bullet else 0, MOST_LINES, bullet))
    if len(said) > MOST_ROWS:
        texts.append(para(f"and {len(said) - MOST_ROWS} more answers", 11.5))
    return texts


def sign(node: Node) -> Block:
    """What is written where an edge ends that goes on elsewhere."""
    if node.outcome:
        return set_out([para(f"verdict {node.number}: {node.says}", 11.5, True)], 150)
    return set_out([para("end" if node.kind == END else f"{node.number}  {node.id}", 11.5, True)], 170)


def card(node: Node, room: float) -> Block:
    """What is written on the card of a verdict."""
    texts = [
        para(f"{node.number}  {OUTCOMES[node.outcome].upper()}", 13, True),
        para(node.says, 12.5, True),
        para(node.detail, 11.5),
    ]
    return set_out(texts, room)
