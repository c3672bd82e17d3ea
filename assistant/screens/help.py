"""Every key that does something now, and what can be typed: made from the bindings and the conversation's own words."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from assistant.conversation import ACTIONS
from assistant.screens.keybar import KeyBar
from assistant.screens.sheet import Sheet

__all__ = ["HelpScreen"]

TYPING = (
    "Pick an answer by its number, with the arrows and Enter, or with the mouse. Or just type: “screws”, “12.7 cm”, "
    "“1/2 in”. What was understood is shown, and Back undoes it. These words can be typed too:"
)


class HelpScreen(Sheet[None]):
    """Closed by any of the keys that close a screen."""

    CSS_PATH = "help.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,f1,question_mark,q,enter", "close", "Close", id="close")
    ]

    def __init__(self, keys: Sequence[tuple[str, str, str, str]]) -> None:
        super().__init__()
        self.keys = list(keys)

    def compose(self) -> ComposeResult:
        """Keys, then words."""
        with VerticalScroll(id="help-body"):
            yield Static(Content.styled("Keys", "bold $accent"), markup=False)
            for key, title, does, _ in self.keys:
                told = Content.assemble((title, "bold"), f"  {does}" if does else "")
                yield Static(
                    Content.assemble((key, "bold $footer-key-foreground"), "  ", told),
                    classes="help-row",
                    markup=False,
                )
            yield Static(Content.assemble("\n", ("Typing", "bold $accent"), f"\n{TYPING}"), markup=False)
            for action in ACTIONS:
                yield Static(
                    Content.assemble((action.word, "bold"), f"  {action.help}"),
                    classes="help-row",
                    markup=False,
                )
        yield KeyBar()

    def on_mount(self) -> None:
        """Let the arrows scroll."""
        self.query_one("#help-body").focus()

    def action_close(self) -> None:
        """Back to where one was."""
        self.dismiss(None)
