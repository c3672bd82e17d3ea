"""A tree drawn by ourselves, to be pinned up: columns of boxes, the verdicts, what the shapes mean, who decides.

Invariant: the picture needs nothing from elsewhere, holds no script, and keeps all text within its box.
"""

from __future__ import annotations

from collections.abc import Iterator
from html import escape
from math import ceil

from assistant.tree.picture.blocks import INK, Block, card, para, set_out
from assistant.tree.picture.graph import END, Chart
from assistant.tree.picture.layers import Column, Slot
from assistant.tree.picture.layout import BESIDE, PAD, PAD_ABOVE, SIGN_LEFT, Layout, Sized, laid_out, ports
from assistant.tree.picture.shapes import FILLS, arrow, frame, mark, n, rect, shape, text

__all__ = ["written"]

FONTS = "'DejaVu Sans', Arial, Helvetica, sans-serif"
MARGIN = 44.0
LEAST_WIDTH = 1000.0
LEAST_CARD = 290.0
MOST_CARD = 560.0
CARD_LEFT = 50.0
CARD_GAP = 18.0
SIGN_FILL = "#dcdcdc"
LEGEND = {
    "question": "a question that is asked",
    "recall": "looks back at an answer already given",
    "working": "works out a figure",
    "visit": "runs another tree once",
    "each": "runs another tree for each of several things",
}


def written(chart: Chart) -> str:
    """A chart as an SVG document."""
    layout = laid_out(chart, lambda width: _Page(chart, width).besides())
    return _Page(chart, layout.width).document(layout)


class _Page:
    def __init__(self, chart: Chart, width: float) -> None:
        self.chart = chart
        self.wide = max(width, LEAST_WIDTH)
        self.parts: list[str] = []
        self.y = MARGIN

    def besides(self) -> float:
        """How high everything but the columns is."""
        self.title()
        self.close(None)
        return self.y + MARGIN

    def document(self, layout: Layout) -> str:
        """Everything from the title to the cautions."""
        self.title()
        self.columns(layout)
        self.close(layout)
        width, height = n(self.wide + 2 * MARGIN), n(self.y + MARGIN)
        name = escape(f"{self.chart.title} ({self.chart.id}, edition {self.chart.edition})", quote=False)
        about = escape(" ".join(self.chart.cautions), quote=False)
        head = (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" width="{width}" '
            f'height="{height}" role="img" font-family="{FONTS}">\n<title>{name}</title>\n<desc>{about}</desc>\n'
            f'<rect width="{width}" height="{height}" fill="#ffffff"/>'
        )
        return "\n".join([head, *self.parts, "</svg>"]) + "\n"

    def close(self, layout: Layout | None) -> None:
        """What stands below the columns; at its highest without them."""
        self.verdicts()
        self.legend(layout)
        self.cautions()

    def add(self, block: Block, x: float = MARGIN, below: float = 0) -> None:
        """Set a block at the height reached, and go on below it."""
        self.parts.append(text(block, x, self.y))
        self.y += block.height + below

    def title(self) -> None:
        size = min(max(self.wide / 48, 22), 56)
        chart = self.chart
        self.add(set_out([para(chart.title, size, True, most=3)], self.wide))
        self.add(set_out([para(f"{chart.id}, edition {chart.edition}", size * 0.6, most=2)], self.wide))
        self.y += size * 0.2
        self.add(set_out([para(chart.purpose, max(size * 0.42, 13), most=4)], self.wide), below=26)

    def columns(self, layout: Layout) -> None:
        """The steps, column by column."""
        spare = (self.wide - layout.width) / 2 if len(layout.columns) == 1 else 0
        head = self.y
        if len(layout.columns) > 1:
            self.y += 30
        for column, begin in zip(layout.columns, layout.edges, strict=True):
            if len(layout.columns) > 1:
                numbers = [self.chart.nodes[name].number for name in column.nodes if name != END]
                says = f"Steps {min(numbers)} to {max(numbers)}" if numbers else "The end"
                heading = set_out([para(says, 15, True)], 400)
                self.parts.append(text(heading, MARGIN + begin, head))
            if begin:
                x = n(MARGIN + begin - 28)
                self.parts.append(
                    f'<path d="M{x} {n(head)}V{n(self.y + layout.height)}" stroke="#8a8a8a" stroke-width="1"/>'
                )
            for layer in column.layers:
                for slot in layer:
                    slot.x += MARGIN + spare
                    slot.y += self.y
            self.parts += _edges(column)
            self.parts += self.boxes(column, layout.sized)
        self.y += layout.height + 40

    def boxes(self, column: Column, sized: Sized) -> Iterator[str]:
        """The boxes, labels and signs of a column."""
        for slot in (slot for layer in column.layers for slot in layer):
            if slot.node:
                node, block = self.chart.nodes[slot.node], sized.boxes[slot.node]
                x = slot.x - slot.left
                drawn = frame(node.kind, x, slot.y, slot.left + slot.right, slot.height)
                words = text(block, slot.x - block.width / 2, slot.y + PAD_ABOVE)
                name = END if node.kind == END else f"step-{node.id}"
                yield f'<g id="{name}" class="{node.kind}">\n{drawn}\n{words}\n</g>'
            elif slot.edge and (slot.sign or slot.above[0].node):
                block = sized.labels[slot.edge.source, slot.edge.target]
                if block.lines:
                    yield f'<g class="label">\n{text(block, slot.x + BESIDE, slot.y)}\n</g>'
                if slot.sign:
                    yield self.sign(slot, slot.edge.target, sized.signs[slot.edge.target])

    def sign(self, slot: Slot, target: str, block: Block) -> str:
        """Where an edge goes on elsewhere: the number and name of the step, or the verdict given at once."""
        node = self.chart.nodes[target]
        x, y = slot.x - SIGN_LEFT, slot.y + slot.height - slot.sign_height
        fill = FILLS[node.outcome] if node.outcome else SIGN_FILL
        wide = ' stroke-width="2.5"' if node.outcome else ""
        drawn = rect(x, y, block.width + 2 * PAD, block.height + PAD_ABOVE, fill, 3, wide)
        to = node.id.replace(":", "-") if node.outcome else node.id if node.kind == END else f"step-{node.id}"
        words = text(block, x + PAD, y + PAD_ABOVE / 2)
        return f'<a class="sign" href="#{to}">\n{drawn}\n{words}\n</a>'

    def verdicts(self) -> None:
        nodes = [node for node in self.chart.nodes.values() if node.outcome]
        if not nodes:
            return
        ends = END in self.chart.nodes
        says = "At the end, the first of these verdicts that fits is given" if ends else "Verdicts"
        self.add(set_out([para(says, 18, True)], self.wide), below=10)
        most = max(1, int((self.wide + CARD_GAP) // (LEAST_CARD + CARD_GAP)))
        across = ceil(len(nodes) / ceil(len(nodes) / most))
        width = min((self.wide + CARD_GAP) / across - CARD_GAP, MOST_CARD)
        for at in range(0, len(nodes), across):
            row = nodes[at : at + across]
            blocks = [card(node, width - CARD_LEFT - 22) for node in row]
            height = max(block.height for block in blocks) + 24
            for number, (node, block) in enumerate(zip(row, blocks, strict=True)):
                x = MARGIN + number * (width + CARD_GAP)
                drawn = shape(node.outcome, x, self.y, width, height) + mark(
                    node.outcome, x + 19, self.y + 12
                )
                words = text(block, x + CARD_LEFT, self.y + 12)
                name = node.id.replace(":", "-")
                self.parts.append(f'<g id="{name}" class="{node.outcome}">\n{drawn}\n{words}\n</g>')
            self.y += height + CARD_GAP
        self.y += 14

    def legend(self, layout: Layout | None) -> None:
        """What the shapes mean, of those that are drawn; of all that can be, without a layout."""
        x = MARGIN
        used = {node.kind for node in self.chart.nodes.values()}
        items = [(frame(kind, 0, 0, 44, 24), says) for kind, says in LEGEND.items() if kind in used]
        answers = f'<path d="M8 9h3m3 0h22M8 16h3m3 0h16" stroke="{INK}" stroke-width="2" fill="none"/>'
        if layout is None or any(row.says for rows in layout.sized.same.values() for row in rows):
            items.append(
                (frame("question", 0, 0, 44, 24) + answers, "answers in a box all lead the same way")
            )
        if layout is None or any(slot.sign and self.goes_on(slot) for slot in _slots(layout)):
            items.append((rect(0, 2, 44, 20, SIGN_FILL, 3), "the way goes on at the step named"))
        for drawn, says in items:
            block = set_out([para(says)], self.wide)
            if x > MARGIN and x + 54 + block.width > MARGIN + self.wide:
                x, self.y = MARGIN, self.y + 34
            self.parts.append(f'<g transform="translate({n(x)} {n(self.y)})">{drawn}</g>')
            self.parts.append(text(block, x + 54, self.y + 4))
            x += 54 + block.width + 30
        self.y += 50

    def goes_on(self, slot: Slot) -> bool:
        """Whether an edge that ends in a sign leads to a step or to the end, not to a verdict at once."""
        return slot.edge is not None and not self.chart.nodes[slot.edge.target].outcome

    def cautions(self) -> None:
        if not self.chart.cautions:
            return
        size = min(max(self.wide / 150, 13), 20)
        block = set_out(
            [para(caution, size, True, most=9) for caution in self.chart.cautions], self.wide - 40
        )
        high = block.height + 28
        self.parts.append(rect(MARGIN, self.y, self.wide, high, "#ffffff", 0, ' stroke-width="3"'))
        self.parts.append(text(block, MARGIN + 20, self.y + 14))
        self.y += high


def _slots(layout: Layout) -> Iterator[Slot]:
    return (slot for column in layout.columns for layer in column.layers for slot in layer)


def _edges(column: Column) -> Iterator[str]:
    """The edges of a column, each one path from box to box or to its sign."""
    foot = {id(slot): max(one.y + one.height for one in layer) for layer in column.layers for slot in layer}
    for slot in column.nodes.values():
        at = ports(slot)
        for first in sorted(slot.below, key=lambda one: one.x):
            assert first.edge is not None
            x = at[first.edge.source, first.edge.target]
            path = f"M{n(x)} {n(slot.y + slot.height)}V{n(foot[id(slot)])}"
            y, here = foot[id(slot)], first
            while True:
                path += _bent(x, y, here.x, here.y)
                x, y = here.x, here.y
                if here.node or here.sign:
                    break
                y = foot[id(here)]
                path += f"V{n(y)}"
                here = here.below[0]
            if here.sign:
                y = here.y + here.height - here.sign_height
                path += f"V{n(y)}"
            ends = f'data-from="{escape(first.edge.source)}" data-to="{escape(first.edge.target)}"'
            yield f'<path class="edge" {ends} d="{path}" fill="none" stroke="{INK}" stroke-width="1.3"/>'
            yield arrow(x, y)


def _bent(x: float, y: float, to_x: float, to_y: float) -> str:
    """A line down to a point, bent like an S where that lies aside."""
    if abs(x - to_x) < 0.05:
        return f"V{n(to_y)}"
    middle = (y + to_y) / 2
    return f"C{n(x)} {n(middle)} {n(to_x)} {n(middle)} {n(to_x)} {n(to_y)}"
