"""What is wrong with a tree that is being written: above the question, until it is mended.

Invariant: a line of the file and the mark under it are cut alike, so that the mark stays under its column.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from textual.containers import VerticalScroll
from textual.content import Content

from assistant.conversation import Fault
from assistant.conversation.script import counted
from assistant.screens.hung import Hung, Paragraph
from assistant.screens.words import ticked

__all__ = ["FaultPane"]

MOST_SHOWN = 10
LEFT_TO_OTHERS = 9
"""Lines of the window that the question, the talk and the keys need at least."""


@dataclass(frozen=True)
class Marked(Paragraph):
    """A line of a file with a mark under one column."""

    caret: str = ""

    def lines(self, width: int) -> list[Content]:
        """Both lines, cut round the mark where they are wider than there is room."""
        room = max(1, width - self.indent)
        line, at = self.body.plain, len(self.caret)
        start = min(max(0, at - room // 2), max(0, len(line) - room)) if max(len(line), at) > room else 0
        before = Content(" " * (width - room))
        shown = Content.styled(line[start : start + room], "$text-muted")
        return [before + shown, before + Content.styled(self.caret[start:], "$error bold")]


class FaultPane(VerticalScroll, can_focus=False):
    """Takes no room while there is nothing wrong."""

    DEFAULT_CSS = """
    FaultPane { height: auto; max-height: 8; padding: 0 2; border-top: solid $error; scrollbar-size-vertical: 1; display: none; }
    FaultPane.-low { border-top: none; }
    """

    def __init__(self) -> None:
        self.told = Hung()
        super().__init__(self.told)

    def show(self, faults: Sequence[Fault], in_use: bool) -> None:
        """Show these; `in_use` is whether a tree that was read before is still asked."""
        self.display = bool(faults)
        if faults:
            self.told.update(_paragraphs(faults, in_use))
            self.scroll_home(animate=False)

    def fit(self, height: int) -> int:
        """Take no more than a third of the window, or what the others leave; the lines it may take."""
        if not self.display:
            return 0
        most = max(1, min(height // 3, height - LEFT_TO_OTHERS))
        self.set_class(most < 3, "-low")
        self.styles.max_height = most
        return most


def _paragraphs(faults: Sequence[Fault], in_use: bool) -> Iterator[Paragraph]:
    stays = "; the one read before stays in use" if in_use else ""
    title = f"✗ {counted(len(faults), 'fault')} in the tree on disk{stays}."
    yield Paragraph(Content.styled(title, "$error bold"))
    for fault in faults[:MOST_SHOWN]:
        yield Paragraph(ticked(fault.text))
        if fault.caret:
            yield Marked(Content(fault.line), indent=2, caret=fault.caret)
        if fault.hint:
            yield Paragraph(ticked(fault.hint, "$accent"), indent=2)
    if len(faults) > MOST_SHOWN:
        yield Paragraph(Content(f"And {len(faults) - MOST_SHOWN} more."))
