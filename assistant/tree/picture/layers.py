"""Where each box of a picture stands in its column, from above: ranks, columns, and what fills every layer.

Invariant: an edge that is drawn joins two nodes of one column, downwards, and has a place of its own in every layer
that it passes; any other edge ends in a sign that names where it goes on. So nothing is ever drawn over a box.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from assistant.tree.picture.graph import END, Chart, Edge

__all__ = ["Column", "Slot", "cut", "filled", "ranked"]

MOST_SPAN = 4
"""Ranks that a drawn edge goes down at most; one that goes further is hard to follow by eye."""
MOST_ACROSS = 7
"""Boxes that stand side by side in a column at most."""
ALONE = 100
"""Edges that count as parted where a column would begin with the end."""
UNEVEN = 1.7
"""How many times the mean a column may be high."""


@dataclass(eq=False)
class Slot:
    """Something that fills a place in a layer: a node, the label of an edge, or an edge that passes."""

    node: str = ""
    edge: Edge | None = None
    sign: bool = False
    """Whether the edge ends here, in a sign that names where it goes on."""
    left: float = 0
    right: float = 0
    """How far it reaches from where its edge runs, or from its middle."""
    height: float = 0
    sign_height: float = 0
    """How much of its height, at its foot, is the sign."""
    above: list[Slot] = field(default_factory=list)
    below: list[Slot] = field(default_factory=list)
    x: float = 0
    y: float = 0


@dataclass(eq=False)
class Column:
    """A part of the picture that is read from its top to its foot: layers of nodes and of labels by turns."""

    layers: list[list[Slot]]
    nodes: dict[str, Slot]


def ranked(chart: Chart) -> dict[str, int]:
    """The rank of each step and of the end: below all that lead down to it, and of none more than a row holds."""
    steps = [name for name, node in chart.nodes.items() if not node.outcome]
    place = {name: at for at, name in enumerate(steps)}
    ranks = dict.fromkeys(steps, 0)
    leads: dict[str, list[str]] = {name: [] for name in steps}
    for edge in chart.edges:
        if edge.target in place and place[edge.source] < place[edge.target]:
            leads[edge.source].append(edge.target)
    across = Counter[int]()
    for name in steps:
        while across[ranks[name]] >= MOST_ACROSS:
            ranks[name] += 1
        across[ranks[name]] += 1
        for target in leads[name]:
            ranks[target] = max(ranks[target], ranks[name] + 1)
    return _without_gaps(ranks)


def _without_gaps(ranks: Mapping[str, int]) -> dict[str, int]:
    used = {rank: at for at, rank in enumerate(sorted(set(ranks.values())))}
    return {name: used[rank] for name, rank in ranks.items()}


def short(edge: Edge, ranks: Mapping[str, int]) -> bool:
    """Whether an edge can be drawn, if its ends are in one column."""
    return edge.target in ranks and 0 < ranks[edge.target] - ranks[edge.source] <= MOST_SPAN


def cut(
    chart: Chart, ranks: Mapping[str, int], heights: Sequence[float], columns: int, parting: float
) -> list[int]:
    """The ranks at which the columns begin: about as high as each other, parting few edges.

    `parting` is how bad it is to part an edge, against a column that is uneven by its whole height.
    """
    count = len(heights)
    parted = [0] * (count + 1)
    for edge in chart.edges:
        if edge.source in ranks and short(edge, ranks):
            for rank in range(ranks[edge.source] + 1, ranks[edge.target] + 1):
                parted[rank] += 1
    if len(ranks) > 1 and END in ranks:
        parted[ranks[END]] += ALONE
    sums = [0.0]
    for height in heights:
        sums.append(sums[-1] + height)
    mean = sums[-1] / columns
    best: list[dict[int, tuple[float, int]]] = [{0: (0.0, 0)}]
    for column in range(1, columns + 1):
        found: dict[int, tuple[float, int]] = {}
        for begin, (cost, _) in best[-1].items():
            for end in range(begin + 1, count + 1):
                part = (sums[end] - sums[begin]) / mean
                if part > UNEVEN and end > begin + 1:
                    break
                total = cost + (part - 1) ** 2 + (parting * parted[end] if end < count else 0)
                if (end == count) == (column == columns) and (end not in found or total < found[end][0]):
                    found[end] = total, begin
        if not found:
            return cut(chart, ranks, heights, columns - 1, parting)
        best.append(found)
    cuts = []
    end = count
    for found in reversed(best[1:]):
        end = found[end][1]
        cuts.append(end)
    return cuts[::-1]


def filled(chart: Chart, ranks: Mapping[str, int], cuts: Sequence[int]) -> list[Column]:
    """The columns with everything in its layer, each layer in an order that follows the one above."""
    last = max(ranks.values()) + 1
    columns = []
    for begin, end in zip(cuts, [*cuts[1:], last], strict=True):
        nodes = {name: Slot(name) for name, rank in ranks.items() if begin <= rank < end}
        layers: list[list[Slot]] = [[] for _ in range(2 * (end - begin))]
        for name, slot in nodes.items():
            layers[2 * (ranks[name] - begin)].append(slot)
        for edge in chart.edges:
            if edge.source in nodes and chart.nodes[edge.source].kind != END:
                _thread(edge, ranks, begin, nodes, layers)
        columns.append(Column([_following(layers, at) for at in range(len(layers))], nodes))
    return columns


def _thread(
    edge: Edge, ranks: Mapping[str, int], begin: int, nodes: Mapping[str, Slot], layers: list[list[Slot]]
) -> None:
    """Give an edge its label, and a place in each layer down to its end."""
    layer = 2 * (ranks[edge.source] - begin) + 1
    drawn = short(edge, ranks) and edge.target in nodes
    slot = Slot(edge=edge, sign=not drawn)
    _join(nodes[edge.source], slot)
    layers[layer].append(slot)
    if drawn:
        for passed in range(layer + 1, 2 * (ranks[edge.target] - begin)):
            onward = Slot(edge=edge)
            layers[passed].append(onward)
            _join(slot, onward)
            slot = onward
        _join(slot, nodes[edge.target])


def _join(upper: Slot, lower: Slot) -> None:
    upper.below.append(lower)
    lower.above.append(upper)


def _following(layers: list[list[Slot]], at: int) -> list[Slot]:
    """A layer in the order in which the one above leads to it."""
    if at:
        led = dict.fromkeys(below for slot in layers[at - 1] for below in slot.below)
        layers[at] = [*led, *(slot for slot in layers[at] if slot not in led)]
    return layers[at]
