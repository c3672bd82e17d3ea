"""The marks that a picture is made of, as SVG: boxes by kind, cards by outcome, signs, arrows and text.

Invariant: every number is rounded alike, and every text is escaped here and nowhere else.
"""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from assistant.tree.picture.blocks import INK, Block, Run

__all__ = ["arrow", "frame", "mark", "n", "polygon", "rect", "shape", "text"]

FILLS = {
    "question": "#ffffff",
    "recall": "#f1f1f1",
    "working": "#e8eef7",
    "visit": "#ffffff",
    "each": "#ffffff",
    "end": "#dcdcdc",
    "acceptable": "#dff2e1",
    "not-settled": "#fdf1cf",
    "not-acceptable": "#fbdcd7",
    "stop": "#efb9b2",
}
"""Light enough for black text, each told apart by its shape as well."""
BAR = 6.0
"""How far the inner line of a double frame lies inside."""


def n(number: float) -> str:
    """A number to a tenth, as short as can be."""
    return (
        f"{number:.1f}".removesuffix(".0").replace("-0", "0")
        if abs(number) < 0.05
        else f"{number:.1f}".removesuffix(".0")
    )


def text(block: Block, x: float, y: float) -> str:
    """A block's lines, with its top left corner at a point."""
    return "\n".join(
        f'<text x="{n(x + line.x)}" y="{n(y + line.y)}" font-size="{n(line.size)}"{_style(line.runs[0])}>'
        f"{escape(line.runs[0].text, quote=False)}"
        + "".join(f"<tspan{_style(run)}>{escape(run.text, quote=False)}</tspan>" for run in line.runs[1:])
        + "</text>"
        for line in block.lines
    )


def _style(run: Run) -> str:
    return f' font-weight="{700 if run.bold else 400}" fill="{run.ink}"'


def rect(
    x: float, y: float, width: float, height: float, fill: str, round_: float = 0, more: str = ""
) -> str:
    """A rectangle with a thin line round it."""
    corner = f' rx="{n(round_)}"' if round_ else ""
    return (
        f'<rect x="{n(x)}" y="{n(y)}" width="{n(width)}" height="{n(height)}"{corner} fill="{fill}" '
        f'stroke="{INK}"{more}/>'
    )


def polygon(points: Sequence[tuple[float, float]], fill: str, more: str = "") -> str:
    """A polygon with a thin line round it."""
    listed = " ".join(f"{n(x)},{n(y)}" for x, y in points)
    return f'<polygon points="{listed}" fill="{fill}" stroke="{INK}"{more}/>'


def frame(kind: str, x: float, y: float, width: float, height: float) -> str:
    """The box of a step or of the end, by its kind."""
    fill = FILLS[kind]
    if kind == "question":
        return rect(x, y, width, height, fill, 9, ' stroke-width="1.6"')
    if kind == "recall":
        return rect(x, y, width, height, fill, 0, ' stroke-dasharray="5 3"')
    if kind == "end":
        return rect(x, y, width, height, fill, height / 2, ' stroke-width="2"')
    outer = rect(x, y, width, height, fill, 0, ' stroke-width="1.4"')
    if kind == "working":
        bars = (f"M{n(at)} {n(y)}v{n(height)}" for at in (x + BAR, x + width - BAR))
        return f'{outer}<path d="{"".join(bars)}" stroke="{INK}" stroke-width="1.4" fill="none"/>'
    inner = rect(x + 3.5, y + 3.5, width - 7, height - 7, "none")
    if kind == "each":  # a pile of sheets, the topmost in front
        corner = f"M{n(x + 4)} {n(y)}v-4h{n(width)}v{n(height)}h-4"
        return f'<path d="{corner}" stroke="{INK}" fill="none"/>{outer}{inner}'
    return outer + inner


def shape(outcome: str, x: float, y: float, width: float, height: float) -> str:
    """The card of a verdict, by its outcome."""
    fill, right, foot = FILLS[outcome], x + width, y + height
    if outcome == "acceptable":
        return rect(x, y, width, height, fill, 18, ' stroke-width="2"')
    if outcome == "not-settled":
        middle = y + height / 2
        points = [
            (x + 12, y),
            (right - 12, y),
            (right, middle),
            (right - 12, foot),
            (x + 12, foot),
            (x, middle),
        ]
        return polygon(points, fill, ' stroke-width="2" stroke-dasharray="7 3"')
    if outcome == "not-acceptable":
        return rect(x, y, width, height, fill, 0, ' stroke-width="3"')
    return "".join(
        polygon(
            _octagon(x + by, y + by, right - by, foot - by, 14 - by / 2), paint, f' stroke-width="{wide}"'
        )
        for by, paint, wide in ((0, fill, "3"), (5, "none", "1.5"))
    )


def _octagon(x: float, y: float, right: float, foot: float, by: float) -> list[tuple[float, float]]:
    return [
        (x + by, y), (right - by, y), (right, y + by), (right, foot - by),
        (right - by, foot), (x + by, foot), (x, foot - by), (x, y + by),
    ]  # fmt: skip


def mark(outcome: str, x: float, y: float) -> str:
    """A sign for an outcome, 20 wide and high: a tick, a question mark, a cross, a bar across."""
    stroke = f'stroke="{INK}" fill="none"'
    if outcome == "acceptable":
        return f'<path d="M{n(x + 2)} {n(y + 11)}l6 6l10 -14" {stroke} stroke-width="3.5"/>'
    if outcome == "not-settled":
        return (
            f'<path d="M{n(x + 5)} {n(y + 6)}a5 5 0 1 1 7 4.5q-2 1 -2 4M{n(x + 10)} {n(y + 17)}v3" {stroke} '
            'stroke-width="3"/>'
        )
    if outcome == "not-acceptable":
        return f'<path d="M{n(x + 3)} {n(y + 3)}l14 14m0 -14l-14 14" {stroke} stroke-width="3.5"/>'
    bar = rect(x + 4, y + 8, 12, 4, "#ffffff", 0, ' stroke-width="0"')
    return f'<circle cx="{n(x + 10)}" cy="{n(y + 10)}" r="10" fill="{INK}"/>{bar}'


def arrow(x: float, y: float) -> str:
    """The head of an edge that ends at a point, from above."""
    return f'<path d="M{n(x)} {n(y)}l-4.5 -9h9z" fill="{INK}"/>'
