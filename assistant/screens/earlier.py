"""Every answer given so far, to choose one and change it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from assistant.conversation import Answered
from assistant.screens.hanging import Hanging
from assistant.screens.keybar import KeyBar
from assistant.screens.pointed import Pointed
from assistant.screens.sheet import Sheet

__all__ = ["EarlierScreen"]


class Answers(Pointed, inherit_bindings=False):
    """The list of them."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "select", "Change this one", id="choose", tooltip="Open it again."),
        Binding("up", "cursor_up", "One up", show=False, id="move-up"),
        Binding("down", "cursor_down", "One down", show=False, id="move-down"),
        Binding("pageup", "page_up", "A page up", show=False, id="move-page-up"),
        Binding("pagedown", "page_down", "A page down", show=False, id="move-page-down"),
        Binding("home", "first", "First", show=False, id="move-first"),
        Binding("end", "last", "Last", show=False, id="move-last"),
    ]


class EarlierScreen(Sheet[str | None]):
    """Dismissed with the fact key to open again, or nothing."""

    CSS_PATH = "earlier.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,f6,q", "close", "Leave all as it is", id="close"),
    ]

    def __init__(self, rows: Sequence[Answered]) -> None:
        super().__init__()
        self.rows = list(rows)

    def compose(self) -> ComposeResult:
        """The answers, and what a change does."""
        yield Static("Which answer do you want to change?", id="earlier-title", markup=False)
        yield Answers(*(self._option(row) for row in self.rows), id="earlier", markup=False)
        yield Static(id="earlier-hint", markup=False)
        yield KeyBar()

    def on_mount(self) -> None:
        """Begin at the latest answer."""
        answers = self.query_one(OptionList)
        count = sum(not row.parked for row in self.rows)
        answers.focus()
        self.call_after_refresh(self._begin_at, count - 1)

    def _begin_at(self, place: int) -> None:
        self.query_one(OptionList).highlighted = place if place >= 0 else None

    @on(OptionList.OptionHighlighted)
    def _tell(self, event: OptionList.OptionHighlighted) -> None:
        later = sum(not row.parked for row in self.rows) - event.option_index - 1
        words = "It is asked again, with this answer offered first."
        if later > 0:
            words += f" The {later} after it are set aside and offered again one by one; nothing is lost."
        self.query_one("#earlier-hint", Static).update(Content(words))

    @on(OptionList.OptionSelected)
    def _chosen(self, event: OptionList.OptionSelected) -> None:
        self.dismiss(self.rows[event.option_index].key)

    def action_close(self) -> None:
        """Change nothing."""
        self.dismiss(None)

    @staticmethod
    def _option(row: Answered) -> Option:
        said = f"{row.said} ({row.basis})" if row.basis != "unstated" else row.said
        note = f"\nnote: {row.note}" if row.note else ""
        about = "".join(f"{part} · " for part in row.about)
        lead = Content("  –  " if row.parked else f" {row.number:>2}  ")
        parked = "  (set aside)" if row.parked else ""
        body = Content.assemble(f"{about}{row.ask} ", (said, "bold"), parked, note)
        return Option(Hanging(lead, body), disabled=row.parked)
