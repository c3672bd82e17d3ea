"""The answers to pick from: by number, by arrow and Enter, by pointing; or, for several, by Space and Enter.

Invariant: the list only says what was picked; whether that counts is for the screen. A character that picks nothing is
handed on as the beginning of a typed answer.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from textual import events
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.message import Message
from textual.widgets.option_list import Option

from assistant.screens.hanging import Hanging
from assistant.screens.pointed import Pointed

__all__ = ["ChoiceList", "Row"]

AT_ONCE = 9
"""With more answers than this a digit may be the first of two: it is typed, not taken."""


@dataclass(frozen=True)
class Row:
    """One line of the list: what picking it does, its key as shown, its words, and what is remarked beside them."""

    does: str
    """"answer", "unsure", "same" or "keep"."""
    key: str
    says: str
    id: str = ""
    remark: str = ""


class ChoiceList(Pointed, inherit_bindings=False):
    """Rows with a key each; the highlighted one carries a pointer as well as a colour."""

    DEFAULT_CSS = """
    ChoiceList {
        border: none; padding: 0 1; background: $background; scrollbar-size-vertical: 1;
        &:focus { border: none; background-tint: transparent; }
        & > .option-list--option { padding: 0 1; }
        & > .option-list--option-highlighted {
            color: $block-cursor-blurred-foreground; background: $block-cursor-blurred-background;
        }
    }
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        *(Binding(str(n), f"number({n})", "Pick by number", show=False, id=f"pick-{n}",
                  tooltip="The answer with that number, at once.") for n in range(1, AT_ONCE + 1)),
        Binding("0", "row('unsure')", "Pick not sure", show=False, id="pick-unsure", tooltip="You looked and cannot tell."),
        Binding("up", "cursor_up", "One up", show=False, id="move-up"),
        Binding("down", "cursor_down", "One down", show=False, id="move-down"),
        Binding("home", "first", "First answer", show=False, id="move-first"),
        Binding("end", "last", "Last answer", show=False, id="move-last"),
        Binding("space", "mark", "Mark or unmark", show=False, id="toggle",
                tooltip="Where several answers may hold: mark this one."),
        Binding("enter", "select", "Take it", show=False, id="take",
                tooltip="The highlighted answer; where several may hold, those that are marked."),
    ]  # fmt: skip

    @dataclass
    class Picked(Message):
        """A row was picked."""

        row: Row

    @dataclass
    class Confirmed(Message):
        """Several answers were confirmed together."""

        ids: tuple[str, ...]

    @dataclass
    class Typed(Message):
        """A character was typed that picks nothing."""

        character: str

    def __init__(self) -> None:
        super().__init__(id="choices", markup=False)
        self.rows: list[Row] = []
        self.several = False
        self.marked: set[str] = set()

    @property
    def answers(self) -> list[Row]:
        """The rows that are answers of the question's own."""
        return [row for row in self.rows if row.does == "answer"]

    def offer(self, rows: Sequence[Row], several: bool = False, first: int = 0) -> None:
        """Show these rows and highlight one."""
        self.rows, self.several = list(rows), several
        self.marked = {row.id for row in rows if row.does == "answer" and row.remark} if several else set()
        self.set_options(Option(self._drawn(row)) for row in self.rows)
        self.display = bool(self.rows)
        self.highlighted = first if self.rows else None

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Which keys mean something for the rows there are."""
        if action == "number":
            return len(self.answers) <= AT_ONCE and int(str(parameters[0])) <= len(self.answers)
        if action == "row":
            return any(row.does == parameters[0] and row.key == "0" for row in self.rows)
        return self.several if action == "mark" else True

    def action_number(self, number: int) -> None:
        """Pick an answer by its number; mark it, where several may hold."""
        row = self.answers[number - 1]
        self.highlighted = self.rows.index(row)
        if self.several:
            self._toggle(row)
        else:
            self.post_message(self.Picked(row))

    def action_row(self, does: str) -> None:
        """Pick the row that does something of its own."""
        self._pick(next(row for row in self.rows if row.does == does))

    def action_mark(self) -> None:
        """Mark the highlighted answer, or unmark it."""
        row = self._highlighted_row()
        if row is not None and row.does == "answer":
            self._toggle(row)

    def action_select(self) -> None:
        """Take the highlighted row; where several may hold, all that are marked."""
        row = self._highlighted_row()
        if row is not None:
            self._pick(row)

    async def _on_click(self, event: events.Click) -> None:
        """A click marks, where several may hold; elsewhere it takes."""
        index = event.style.meta.get("option")
        if self.several and index is not None and self.rows[index].does == "answer":
            event.prevent_default()
            self.highlighted = index
            self._toggle(self.rows[index])

    @property
    def by_number(self) -> bool:
        """Whether one digit is enough to pick an answer."""
        return 0 < len(self.answers) <= AT_ONCE

    def on_key(self, event: events.Key) -> None:
        """Hand on a character that no key is bound to."""
        if event.is_printable and event.character and event.key not in self.screen.active_bindings:
            if event.character != " ":
                self.post_message(self.Typed(event.character))
            event.stop()

    def _pick(self, row: Row) -> None:
        if self.several and row.does == "answer":
            self.post_message(self.Confirmed(tuple(r.id for r in self.answers if r.id in self.marked)))
        else:
            self.post_message(self.Picked(row))

    def _toggle(self, row: Row) -> None:
        self.marked ^= {row.id}
        self._replace_option_prompt(self.rows.index(row), self._drawn(row))

    def _highlighted_row(self) -> Row | None:
        return self.rows[self.highlighted] if self.highlighted is not None else None

    def _drawn(self, row: Row) -> Hanging:
        width = max((len(r.key) for r in self.rows), default=1)
        box = ("[x] " if row.id in self.marked else "[ ] ") if self.several else ""
        box = box if row.does == "answer" else " " * len(box)
        lead = Content(f" {row.key:>{width}}  {box}")
        remark = f"  ({row.remark})" if row.remark else ""
        return Hanging(lead, Content(row.says + remark))
