"""Where everything of the talk stands, and how the height is shared.

Invariant: the open question, at least three lines of its answers, the line for typing and the keys are in view at any
size from 30×10.
"""

from __future__ import annotations

from textual import events
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.widgets import Static

from assistant.conversation import Conversation, Prompt, Said
from assistant.screens.asking import Asking
from assistant.screens.entry import Entry
from assistant.screens.faults import FaultPane
from assistant.screens.history import History
from assistant.screens.keybar import KeyBar
from assistant.screens.keys import key_of
from assistant.screens.pace import Pace
from assistant.screens.sheet import WIDE, Sheet
from assistant.screens.side import Side

__all__ = ["TalkLayout"]

TYPED_KINDS = ("measure", "count", "note")


class TalkLayout(Sheet[None]):
    """The parts of the talk, and what they show of the conversation; it takes nothing from the person."""

    def __init__(self, conversation: Conversation, pace: Pace) -> None:
        super().__init__()
        self.conversation = conversation
        self.pace = pace
        self.prompt: Prompt | None = None
        self.about: tuple[str, ...] = ()
        self.asides: list[Said] = []
        self.history = History()
        self.faults = FaultPane()
        self.asking = Asking()
        self.entry = Entry()
        self.side = Side()
        self.title_line = Static(id="title-line", markup=False)
        self.basis_line = Static(id="basis-line", markup=False)

    def compose(self) -> ComposeResult:
        """The title; the talk with its question and line; the pane beside it; the keys."""
        yield self.title_line
        with Horizontal(id="middle"):
            with Vertical(id="talk"):
                yield self.history
                yield self.faults
                yield self.asking
                with Horizontal(id="line"):
                    yield Static("›", id="caret", markup=False)
                    yield self.entry
                    yield self.basis_line
            yield self.side
        yield KeyBar()

    def show_titles(self) -> None:
        """Name the consultation, and show where it stands."""
        conversation = self.conversation
        session = conversation.session
        title = session.tree.file.tree.title if session is not None else "flues through outside walls"
        self.title_line.update(
            Content.assemble(("Throughwall", "bold $accent"), (f"  {title}", "$text-muted"))
        )
        self.show_basis()
        if self.app.size.width >= WIDE:
            self.call_after_refresh(self.show_side)  # the question is drawn first

    def show_side(self) -> None:
        """Show beside the talk how the consultation stands now."""
        self.side.show(self.conversation.session, self.conversation.answered())

    def show_basis(self) -> None:
        """Show how the next answers are known."""
        basis = self.conversation.basis
        self.basis_line.display = self.conversation.session is not None
        words = f"known: {basis}" if basis != "unstated" else "how known?"
        self.basis_line.update(
            Content.assemble((key_of("basis"), "bold $footer-key-foreground"), f" {words}")
        )

    def focus_first(self, prompt: Prompt) -> None:
        """The answers, where there are any to pick from; else the line."""
        typed = prompt.kind in TYPED_KINDS or not self.asking.choices.rows
        (self.entry if typed else self.asking.choices).focus()

    def fit(self) -> None:
        """Share the height: title and keys, at least a few lines of talk, the question, the rest."""
        if self.prompt is None or not self.is_mounted:
            return
        height = self.app.size.height
        keys = self.query_one(KeyBar).outer_size.height or 1
        title = 1 if self.title_line.display and height >= 16 else 0
        talk = max(2, min(5, height // 5))
        faults = self.faults.fit(height)
        self.asking.fit(
            max(5, height - keys - title - 1 - talk - faults), self.query_one("#talk").size.width or 80
        )

    def on_resize(self, event: events.Resize) -> None:
        """Keep the question in view at any size."""
        wide = event.size.width >= WIDE
        self.side.display = wide
        if wide and self.prompt is not None:
            self.side.show(self.conversation.session, self.conversation.answered())
        self.call_after_refresh(self.fit)
