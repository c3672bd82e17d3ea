"""Every key that does something now, and what can be typed: made from the bindings and the conversation's own words."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content

from assistant.conversation import ACTIONS
from assistant.screens.hung import Hung, Paragraph
from assistant.screens.keybar import KeyBar
from assistant.screens.sheet import Sheet
from assistant.screens.words import ticked

__all__ = ["HelpScreen"]

TYPING = (
    "Pick an answer by its number, with the arrows and Enter, or with the mouse. Or just type: “screws”, “12.7 cm”, "
    "“1/2 in”. What was understood is shown, and Back undoes it. These words can be typed too:"
)

KEYS_WIDE = 15
KEY = "bold $footer-key-foreground"
TITLE = "bold $accent"


class HelpScreen(Sheet[None]):
    """Closed by any of the keys that close a screen."""

    CSS_PATH = "help.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,f1,question_mark,q,enter", "close", "Close", id="close")
    ]

    def __init__(self, keys: Sequence[tuple[str, str, str]]) -> None:
        super().__init__()
        self.keys = list(keys)

    def compose(self) -> ComposeResult:
        """Keys, then words."""
        keys = [
            Paragraph(
                Content.assemble((title, "bold"), "  ", ticked(does)),
                Content.styled(f"{key:<{KEYS_WIDE}} ", KEY),
            )
            for key, title, does in self.keys
        ]
        words = [
            Paragraph(ticked(action.help), Content.styled(f"{action.word:<{KEYS_WIDE}} ", KEY))
            for action in ACTIONS
        ]
        with VerticalScroll(id="help-body"):
            yield Hung([Paragraph(Content.styled("Keys", TITLE)), *keys], classes="help-part")
            yield Hung(
                [Paragraph(Content.styled("Typing", TITLE)), Paragraph(Content(TYPING)), *words],
                classes="help-part",
            )
        yield KeyBar()

    def on_mount(self) -> None:
        """Let the arrows scroll."""
        self.query_one("#help-body").focus()

    def action_close(self) -> None:
        """Back to where one was."""
        self.dismiss(None)
