"""The talk so far, above the question: folded turns, and what was said about the question that is open now.

Invariant: a reader who is at the end stays at the end, whatever is added or however the window changes; one who has
scrolled back is left where they are.
"""

from __future__ import annotations

from collections.abc import Sequence

from textual import events
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from assistant.conversation import Said, Tone
from assistant.screens.hung import Hung, Paragraph
from assistant.screens.words import heading, said_lines

__all__ = ["History"]

BLOCK = 8
"""Turns drawn by one widget: few enough to redraw at once, many enough that a long talk stays quick."""


class History(VerticalScroll, can_focus=False):
    """Scrolls by mouse and by the screen's keys; never takes the focus from the answers."""

    DEFAULT_CSS = """
    History {
        padding: 0 2;
        scrollbar-size-vertical: 1;
        & > #live { margin-top: 1; }
        & > .danger { width: 100%; height: auto; background: $error; color: $background; padding: 1 2; margin: 1 0; text-style: bold; }
    }
    """

    def __init__(self) -> None:
        self.live = Hung(id="live")
        super().__init__(self.live, id="history")
        self.following = True
        self._placing = False
        self._block: list[list[Paragraph]] = []
        self._hung: Hung | None = None
        self._about: tuple[str, ...] = ()

    def clear(self) -> None:
        """Begin an empty talk."""
        for child in list(self.children):
            if child is not self.live:
                child.remove()
        self._block, self._hung, self._about = [], None, ()
        self.say_live(())

    def add(self, turn: Sequence[Paragraph], about: Sequence[str] = ()) -> None:
        """Add a folded turn; a heading parts it from those about something else."""
        if tuple(about) != self._about:
            self._about = tuple(about)
            turn = [heading(about), *turn]
        self._block.append(list(turn))
        if self._hung is None or len(self._block) > BLOCK:
            self._block = [list(turn)]
            self._hung = Hung(turn)
            self.mount(self._hung, before=self.live)
        else:
            self._hung.update(paragraph for one in self._block for paragraph in one)
        self._follow()

    def add_danger(self, text: str) -> None:
        """Say what to do now, so that it cannot be overlooked."""
        self.mount(Static(Content(text), classes="danger", markup=False), before=self.live)
        self._block, self._hung = [], None
        self._follow()

    def say_live(self, said: Sequence[Said]) -> None:
        """Show what was said about the question that is open: all of it, anew."""
        told = said_lines([one for one in said if one.tone is not Tone.DANGER])
        self.live.update(told)
        self.live.display = bool(told)
        if told:
            self.following = True
        self._follow()

    def page(self, direction: int) -> None:
        """Scroll by most of what is in view."""
        self.scroll_relative(y=direction * max(1, self.size.height - 2), animate=False)

    def watch_scroll_y(self, old_value: float, new_value: float) -> None:
        """Note whether the reader is at the end."""
        super().watch_scroll_y(old_value, new_value)
        if round(old_value) != round(new_value) and not self._placing:
            self.following = new_value >= self.max_scroll_y - 1

    def on_resize(self, event: events.Resize) -> None:
        """Stay at the end while what is in view grows or shrinks."""
        self._follow()

    def _follow(self) -> None:
        if self.following:
            self.call_after_refresh(self._to_end)

    def _to_end(self) -> None:
        """The end; or the start of what was said last, where that is taller than the view."""
        tall = self.live.display and self.live.region.height > self.size.height
        place = self.live.virtual_region.y if tall else self.max_scroll_y
        self._placing = True
        self.scroll_to(y=place, animate=False, immediate=True)
        self._placing = False
