"""Paragraphs that hang beside their leads, as one widget: cheap to draw, and its text can be selected.

Invariant: no line is wider than the widget; what is selected is what is seen.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from textual.content import Content
from textual.geometry import Size
from textual.widget import Widget

__all__ = ["Hung", "Paragraph"]

NARROWEST = 16
"""Columns of text below which nothing is set in any more."""


@dataclass(frozen=True)
class Paragraph:
    """A text, what stands before its first line, and how far its other lines are set in."""

    body: Content
    lead: Content = field(default_factory=Content)
    indent: int = 0

    def lines(self, width: int) -> list[Content]:
        """The paragraph in lines of at most `width` columns."""
        indent = self.indent if width - self.indent - self.lead.cell_length >= NARROWEST else 0
        hang = indent + self.lead.cell_length
        before = Content.assemble(" " * indent, self.lead)
        wrapped = self.body.wrap(max(1, width - hang)) or [Content()]
        pad = Content(" " * hang)
        return [(pad if number else before) + line for number, line in enumerate(wrapped)]


class Hung(Widget):
    """Paragraphs one below the other."""

    DEFAULT_CSS = "Hung { height: auto; width: 1fr; text-wrap: nowrap; }"

    def __init__(
        self, paragraphs: Iterable[Paragraph] = (), classes: str | None = None, id: str | None = None
    ) -> None:
        super().__init__(classes=classes, id=id, markup=False)
        self.paragraphs: Sequence[Paragraph] = list(paragraphs)
        self._drawn: tuple[int, Content] | None = None

    def update(self, paragraphs: Iterable[Paragraph]) -> None:
        """Show these instead."""
        self.paragraphs = list(paragraphs)
        self._drawn = None
        self.refresh(layout=True)

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """The lines they take at this width."""
        return self._laid_out(width).plain.count("\n") + 1 if self.paragraphs else 0

    def render(self) -> Content:
        """The lines at the width there is."""
        return self._laid_out(self.content_size.width)

    def _laid_out(self, width: int) -> Content:
        if self._drawn is None or self._drawn[0] != width:
            lines = [line for paragraph in self.paragraphs for line in paragraph.lines(width)]
            self._drawn = (width, Content("\n").join(lines))
        return self._drawn[1]
