"""Every box and edge of a picture at its place: sized, folded into columns, arranged, and set below each other.

Invariant: nothing overlaps, and the whole is as near to the shape of a sheet of paper as folding can bring it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil

from assistant.tree.picture.arrange import GAP, placed, uncrossed
from assistant.tree.picture.blocks import Block, box, label, sign
from assistant.tree.picture.graph import Chart, Edge
from assistant.tree.picture.layers import Column, Slot, cut, filled, ranked, short
from assistant.tree.picture.words import Row

__all__ = ["GUTTER", "Layout", "Sized", "laid_out", "ports"]

GUTTER = 56.0
"""Room between two columns."""
PAD = 12.0
PAD_ABOVE = 8.0
BESIDE = 7.0
"""How far a label stands from its edge."""
SIGN_LEFT = 14.0
"""How far a sign reaches to the left of its edge."""
LEAST_GAP = 20.0
MOST_GAP = 96.0
SLOPE = 0.14
"""How much higher a gap is for an edge that goes sideways in it."""
PORT = 16.0
PAPER = 2**0.5
LEAST_HEIGHT = 450.0
"""Height of a column below which nothing is folded."""
MOST_COLUMNS = 60
MOST_TRIED = 400
"""Nodes up to which foldings are tried out in full, instead of the one that promises most."""
PARTING = (0.06, 0.02, 0.15)
"""How bad it may be to part an edge between columns; foldings that hold to each are tried."""


@dataclass(eq=False)
class Sized:
    """The texts of a picture, with the room they take."""

    boxes: dict[str, Block]
    labels: dict[tuple[str, str], Block]
    signs: dict[str, Block]
    same: dict[str, tuple[Row, ...]]
    """The answers of each step that has only one way on: they stand in its box."""


@dataclass(eq=False)
class Layout:
    """Columns side by side, each slot with its place; the top left corner is at 0, 0."""

    columns: list[Column]
    sized: Sized
    edges: list[float]
    """Where each column begins."""
    width: float
    height: float


def laid_out(chart: Chart, besides: Callable[[float], float]) -> Layout:
    """The layout of a chart in the folding that can be printed largest.

    `besides` gives the height of what stands above and below the columns, by the width of the whole.
    """
    ranks = ranked(chart)
    ways = Counter(edge.source for edge in chart.edges)
    same = {edge.source: edge.rows for edge in chart.edges if ways[edge.source] == 1}
    sized = Sized(
        {name: box(chart.nodes[name], same.get(name, ()), ()) for name in ranks},
        {(edge.source, edge.target): label(() if edge.source in same else edge.rows) for edge in chart.edges},
        {name: sign(node) for name, node in chart.nodes.items()},
        same,
    )
    whole = filled(chart, ranks, [0])[0]
    foot = _arranged(whole, sized)
    tops = [*(min((slot.y for slot in layer), default=foot) for layer in whole.layers[::2]), foot]
    heights = [below - top for top, below in pairwise(tops)]
    widths = [
        max(sum(slot.left + slot.right + GAP for slot in layer) for layer in pair)
        for pair in zip(whole.layers[::2], whole.layers[1::2], strict=True)
    ]

    def scale(width: float, height: float) -> float:
        return _scale(width, height + besides(width))

    most = min(MOST_COLUMNS, len(heights), ceil(foot / LEAST_HEIGHT))
    likely = max(range(1, most + 1), key=lambda count: scale(*_promise(heights, widths, count)))
    few = len(ranks) <= MOST_TRIED
    tried = {
        tuple(cut(chart, ranks, heights, count, parting))
        for count in (range(max(1, likely - 1), min(likely + 1, most) + 1) if few else (likely,))
        for parting in (PARTING if few else PARTING[:1])
    }
    layouts = [_layout(chart, ranks, cuts, sized) for cuts in sorted(tried)]
    return max(layouts, key=lambda layout: scale(layout.width, layout.height))


def _promise(heights: Sequence[float], widths: Sequence[float], count: int) -> tuple[float, float]:
    """How wide and high a picture would be in so many columns, about."""
    mean = sum(heights) / count
    parts: list[list[float]] = [[0.0, 0.0]]
    for height, width in zip(heights, widths, strict=True):
        if parts[-1][0] and parts[-1][0] + height / 2 > mean and len(parts) < count:
            parts.append([0.0, 0.0])
        parts[-1] = [parts[-1][0] + height, max(parts[-1][1], width)]
    return sum(width + GUTTER for _, width in parts), max(height for height, _ in parts)


def _scale(width: float, height: float) -> float:
    """How large something comes out on a sheet of paper, upright or across."""
    return max(min(1 / width, PAPER / height), min(PAPER / width, 1 / height))


def _layout(chart: Chart, ranks: Mapping[str, int], cuts: Sequence[int], sized: Sized) -> Layout:
    columns = filled(chart, ranks, cuts)
    home = {name: at for at, column in enumerate(columns) for name in column.nodes}
    also: dict[str, list[int]] = {}
    for edge in chart.edges:
        if edge.target in home and not (home[edge.source] == home[edge.target] and short(edge, ranks)):
            also.setdefault(edge.target, []).append(chart.nodes[edge.source].number)
    boxes = {name: box(chart.nodes[name], sized.same.get(name, ()), also.get(name, ())) for name in ranks}
    sized = Sized(boxes, sized.labels, sized.signs, sized.same)
    begins, x = [], 0.0
    height = 0.0
    for column in columns:
        height = max(height, _arranged(column, sized))
        slots = [slot for layer in column.layers for slot in layer]
        left = min(slot.x - slot.left for slot in slots)
        begins.append(x)
        for slot in slots:
            slot.x += x - left
        x = max(slot.x + slot.right for slot in slots) + GUTTER
    return Layout(columns, sized, begins, x - GUTTER, height)


def _arranged(column: Column, sized: Sized) -> float:
    """Give every slot of a column its size and place; the height of the column."""
    _size(column, sized)
    column.layers = uncrossed(column.layers)
    placed(column.layers)
    for layer in column.layers[1::2]:
        _straightened(layer)
    return _stacked(column)


def _straightened(layer: Sequence[Slot]) -> None:
    """Move an edge without a label straight above the box that it leads to, where there is room."""
    for at, slot in enumerate(layer):
        if slot.height or not slot.above[0].node or not slot.below[0].node:
            continue
        over, x = slot.above[0], slot.below[0].x
        left = layer[at - 1].x + layer[at - 1].right + slot.left if at else x
        right = layer[at + 1].x - layer[at + 1].left - slot.right if at + 1 < len(layer) else x
        if left <= x <= right and abs(over.x - x) < over.left - PAD:
            slot.x = x


def _size(column: Column, sized: Sized) -> None:
    """Give every slot the room that its text takes."""
    for slot in (slot for layer in column.layers for slot in layer):
        if slot.node:
            block = sized.boxes[slot.node]
            slot.left = slot.right = max(block.width / 2 + PAD, 60)
            slot.height = block.height + 2 * PAD_ABOVE
        elif slot.edge and (slot.sign or slot.above[0].node):
            block = sized.labels[slot.edge.source, slot.edge.target]
            slot.left, slot.right, slot.height = 4, BESIDE + block.width, block.height
            if slot.sign:
                sign = sized.signs[slot.edge.target]
                slot.left, slot.right = SIGN_LEFT, max(slot.right, sign.width + 2 * PAD - SIGN_LEFT)
                slot.sign_height = sign.height + PAD_ABOVE
                slot.height += (14 if slot.height else 0) + slot.sign_height
        else:
            slot.left = slot.right = 3


def _stacked(column: Column) -> float:
    """Give every slot its `y`, with more room where edges go far sideways; the height of the whole."""
    y, foot = 0.0, 0.0
    for layer in column.layers:
        high = max((slot.height for slot in layer), default=0)
        for slot in layer:
            slot.y = y
        aside = max((abs(slot.x - below.x) for slot in layer for below in slot.below), default=0)
        foot = y + high
        low = LEAST_GAP if high else 0.0
        y = foot + min(low + SLOPE * aside, MOST_GAP) if layer else y
    return max(slot.y + slot.height for layer in column.layers for slot in layer) if foot else 0


def ports(slot: Slot) -> dict[tuple[str, str], float]:
    """Where each edge leaves the foot of a box, in the order in which they stand below."""
    below = sorted(slot.below, key=lambda one: one.x)
    edges: list[Edge] = [one.edge for one in below if one.edge]
    if not edges:
        return {}
    left, right = slot.x - slot.left + PAD, slot.x + slot.right - PAD
    step = min(PORT, (right - left) / len(edges))
    at = [min(max(one.x, left), right) for one in below]
    for number in range(len(at)):
        at[number] = max(at[number], left + number * step, at[number - 1] + step if number else left)
    for number in reversed(range(len(at))):
        at[number] = min(at[number], right - (len(at) - 1 - number) * step)
        if number + 1 < len(at):
            at[number] = min(at[number], at[number + 1] - step)
    return {(edge.source, edge.target): x for edge, x in zip(edges, at, strict=True)}
