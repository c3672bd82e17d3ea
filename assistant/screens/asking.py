"""The question that is open, always in view: what it is about, the question, the answers to pick from."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.widgets import Static

from assistant.conversation import Prompt
from assistant.screens.choices import ChoiceList, Row
from assistant.screens.keys import key_of

__all__ = ["Asking", "rows_for"]

LEAST_ROWS = 3
BEFORE = "as before"


class Asking(Vertical):
    """The panel of the open question. It takes the height it needs, within what `fit` allows."""

    DEFAULT_CSS = """
    Asking {
        height: auto; border-top: solid $secondary; background: $background;
        & > #about { padding: 0 2; height: auto; color: $accent; }
        & > #ask-box { height: auto; scrollbar-size-vertical: 1; }
        & #ask { padding: 0 2; text-style: bold; height: auto; }
    }
    """

    def __init__(self) -> None:
        super().__init__(id="asking")
        self.about = Static(id="about", markup=False)
        self.ask = Static(id="ask", markup=False)
        self.ask_box = VerticalScroll(self.ask, id="ask-box", can_focus=False)
        self.choices = ChoiceList()

    def compose(self) -> ComposeResult:
        """What it is about, the question, the answers."""
        yield self.about
        yield self.ask_box
        yield self.choices

    def show(self, prompt: Prompt) -> None:
        """Ask this question."""
        words = [*prompt.about, *([f"question {prompt.number}"] if prompt.number else [])]
        self.about.update(Content(" · ".join(words)))
        self.about.display = bool(words)
        self.ask.update(Content(prompt.ask))
        self.ask_box.scroll_home(animate=False)
        rows = rows_for(prompt)
        first = next((n for n, row in enumerate(rows) if row.remark == BEFORE or row.does == "keep"), 0)
        self.choices.offer(rows, prompt.kind == "several", first)

    def fit(self, room: int, width: int) -> None:
        """Share out `room` lines: the question first, the answers scroll in what is left."""
        ask = self.ask.get_content_height(self.ask.size, self.ask.size, max(1, width - 4))
        fixed = 1 + int(self.about.display)
        most_ask = max(1, room - fixed - (LEAST_ROWS if self.choices.display else 0))
        self.ask_box.styles.max_height = most_ask
        self.choices.styles.max_height = max(LEAST_ROWS, room - fixed - min(ask, most_ask))


def rows_for(prompt: Prompt) -> list[Row]:
    """The lines to pick from: the answers, then what can be picked beside them."""
    unsure_before = prompt.offered == "Not sure" and not any(choice.offered for choice in prompt.choices)
    numbers = prompt.kind in ("choice", "several")
    rows = [
        Row("answer", str(choice.number), choice.says, choice.id, BEFORE if choice.offered else "")
        for choice in prompt.choices
    ]
    if prompt.offered and not numbers and not unsure_before:
        rows.append(Row("keep", "↵", f"Keep {prompt.offered}", remark=BEFORE))
    if prompt.same_as:
        rows.append(Row("same", "=", f"The same as {prompt.same_as}"))
    if prompt.can_be_unsure:
        rows.append(
            Row(
                "unsure",
                "0" if numbers else key_of("unsure"),
                "Not sure",
                remark=BEFORE if unsure_before else "",
            )
        )
    return rows
