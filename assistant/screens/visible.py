"""The last look at every line before it reaches the terminal.

Invariant: nothing is drawn that a terminal would obey, reorder or hide; what is dropped or replaced never changes the
width of a line.
"""

from __future__ import annotations

from rich.cells import cell_len
from rich.segment import Segment
from textual.color import Color
from textual.filter import LineFilter

__all__ = ["Visible"]


class Visible(LineFilter):
    """Leaves out what has no width, and draws any other unprintable character as a space."""

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:
        """The same segments with nothing hidden in them."""
        if all(segment.text.isprintable() for segment in segments):
            return segments
        return [
            segment if segment.text.isprintable() else Segment(_visible(segment.text), segment.style)
            for segment in segments
        ]


def _visible(text: str) -> str:
    return "".join(c if c.isprintable() else " " * cell_len(c) for c in text)
