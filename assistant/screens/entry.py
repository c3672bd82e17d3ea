"""The line for typed words: an answer, or a word such as why.

Invariant: what is typed or pasted is one line without control characters. While the line is empty, the signs that
act on the answer list act here too.
"""

from __future__ import annotations

from typing import ClassVar

from textual import events
from textual.binding import Binding, BindingType
from textual.widgets import Input

__all__ = ["Entry"]

SIGNS = ("exclamation_mark", "question_mark", "equals_sign")


class Entry(Input):
    """An input line without a frame."""

    DEFAULT_CSS = """
    Entry, Entry:focus {
        border: none; height: 1; padding: 0; background: $background; color: $foreground; background-tint: transparent;
        & > .input--placeholder { color: $text-muted; }
    }
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave", "Clear, or to the answers", show=False, id="entry-leave",
                tooltip="Clear the line; from an empty one, go to the list of answers."),
        Binding("up", "screen.to_choices", "To the answers", show=False, id="entry-up"),
        Binding("down", "screen.to_choices", "To the answers", show=False, id="entry-down"),
    ]  # fmt: skip

    def __init__(self) -> None:
        super().__init__(id="entry", select_on_focus=False, compact=True)

    def type_in(self, text: str) -> None:
        """Go on typing here."""
        self.focus()
        self.insert_text_at_cursor(_one_line(text))

    async def action_leave(self) -> None:
        """Clear what was typed; with nothing typed, go to the answers."""
        if self.value:
            self.value = ""
        else:
            await self.screen.run_action("to_choices")

    def check_consume_key(self, key: str, character: str | None) -> bool:
        """Whether a key is typed here: characters are, save a sign on an empty line."""
        if not self.value and key in SIGNS:
            return False
        return super().check_consume_key(key, character)

    async def _on_key(self, event: events.Key) -> None:
        if not self.value and event.key in SIGNS and event.key in self.screen.active_bindings:
            event.prevent_default()

    def _on_paste(self, event: events.Paste) -> None:
        event.prevent_default()
        event.stop()
        self.insert_text_at_cursor(_one_line(event.text))


def _one_line(text: str) -> str:
    """The text without control characters, its lines joined by a space."""
    return "".join(c for c in " ".join(text.splitlines()) if c.isprintable())
