"""Text that hangs beside a short lead: a number or a mark on the left, the words wrapped to the right of it."""

from __future__ import annotations

from rich.segment import Segment
from textual.content import Content
from textual.css.styles import RulesMap
from textual.strip import Strip
from textual.style import Style
from textual.visual import RenderOptions, Visual

__all__ = ["Hanging"]


class Hanging(Visual):
    """A lead of fixed width and a body that wraps beside it, so that no line of the body falls below the lead."""

    def __init__(self, lead: Content, body: Content) -> None:
        self.lead = lead
        self.body = body
        self.hang = lead.cell_length

    def get_optimal_width(self, rules: RulesMap, container_width: int) -> int:
        """The width at which nothing wraps."""
        return self.hang + self.body.get_optimal_width(rules, max(1, container_width - self.hang))

    def get_height(self, rules: RulesMap, width: int) -> int:
        """The lines that the body takes beside its lead."""
        return self.body.get_height(rules, max(1, width - self.hang))

    def render_strips(
        self, width: int, height: int | None, style: Style, options: RenderOptions
    ) -> list[Strip]:
        """The lead on the first line, blanks below it, the body to the right."""
        lead = self.lead.render_strips(self.hang, 1, style, options)[0]
        blank = Strip([Segment(" " * self.hang, style.rich_style)], self.hang)
        body = self.body.render_strips(max(1, width - self.hang), height, style, options)
        return [Strip.join([lead if number == 0 else blank, strip]) for number, strip in enumerate(body)]
