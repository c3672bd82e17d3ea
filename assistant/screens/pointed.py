"""A list whose highlighted row carries a pointer as well as a colour, so that no colour is needed to find it."""

from __future__ import annotations

from rich.segment import Segment
from textual.strip import Strip
from textual.widgets import OptionList

__all__ = ["Pointed"]


class Pointed(OptionList):
    """An option list with a pointer; its rows leave their first column to it."""

    def render_line(self, y: int) -> Strip:
        """A line of the list; the first one of the highlighted row begins with a pointer."""
        strip = super().render_line(y)
        number = self.scroll_offset.y + y
        if number >= len(self._lines) or self._lines[number] != (self.highlighted, 0):
            return strip
        first = next(iter(strip.crop(0, 1)), None)
        return Strip.join([Strip([Segment("▸", first.style if first else None)], 1), strip.crop(1)])
