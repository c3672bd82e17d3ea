"""The Textual program: looks, signals, the command palette, and what happens at the edges. Screens do the rest."""

from __future__ import annotations

import asyncio
import os
import signal
from collections.abc import Callable, Iterable, Sequence
from contextlib import suppress
from functools import partial
from time import monotonic
from typing import ClassVar

from textual.app import App, SystemCommand
from textual.binding import ActiveBinding, Binding, BindingType
from textual.filter import LineFilter
from textual.screen import Screen

from assistant.conversation import Conversation
from assistant.screens.keys import DANGER, grouped
from assistant.screens.looks import LOOKS, first_look, looks_for
from assistant.screens.pace import Pace
from assistant.screens.sheet import WIDE
from assistant.screens.talk import TalkScreen
from assistant.screens.visible import Visible

__all__ = ["ThroughwallApp"]

SIGNALS = ("SIGTERM", "SIGHUP", "SIGINT")
NO_COMMAND = ("pick-", "move-", "entry-", "take", "toggle", "danger-sign", "palette")
"""Bindings that move about on a screen, and so are no commands of the palette."""


class ThroughwallApp(App[None]):
    """One conversation on the screen."""

    TITLE = "Throughwall"
    CSS_PATH = "talk.tcss"  # of the default screen, whose own path is not read
    CSS = "CommandPalette SearchIcon { display: none; }"
    HORIZONTAL_BREAKPOINTS = [  # noqa: RUF012 - so it is declared in App
        (0, "-narrow"),
        (60, "-medium"),
        (WIDE, "-wide"),
    ]
    VERTICAL_BREAKPOINTS = [(0, "-short"), (20, "-tall")]  # noqa: RUF012 - as above
    BINDINGS: ClassVar[list[BindingType]] = [
        *DANGER,
        Binding("ctrl+q", "quit", "Leave", id="quit", priority=True, tooltip="Leave; a record opens again where it was."),
        Binding("ctrl+t", "look", "Colours", show=False, id="look", tooltip="Dark, light, or the terminal's own colours."),
    ]  # fmt: skip

    def __init__(self, conversation: Conversation, clock: Callable[[], float] = monotonic) -> None:
        super().__init__()
        self.conversation = conversation
        self.fault: BaseException | None = None
        """The fault of our own that ended the program, if one did."""
        self._visible = Visible()
        self.talk = TalkScreen(conversation, Pace(clock))
        for look in LOOKS:
            self.register_theme(look)
        self.theme = first_look(os.environ)

    def on_mount(self) -> None:
        """Heed the signals that end a program."""
        loop = asyncio.get_running_loop()
        for name in SIGNALS:
            number = getattr(signal, name, None)
            if number is not None:
                with suppress(NotImplementedError, RuntimeError, ValueError):
                    loop.add_signal_handler(number, partial(self.exit, return_code=128 + number))

    def get_default_screen(self) -> Screen[None]:
        """The talk is the first screen, so that no empty one is drawn before it."""
        return self.talk

    def get_system_commands(self, screen: Screen[object]) -> Iterable[SystemCommand]:
        """Every action that applies on this screen, with its key."""
        commands: dict[str, ActiveBinding] = {}
        for active in screen.active_bindings.values():
            name = active.binding.id or ""
            if name and active.enabled and not name.startswith(NO_COMMAND):
                commands.setdefault(name, active)
        for active in commands.values():
            binding = active.binding
            run = partial(self.run_action, binding.action, active.node)
            told = binding.tooltip.replace("`", '"')
            yield SystemCommand(binding.description, f"{told} ({self.get_key_display(binding)})".strip(), run)

    async def action_quit(self) -> None:
        """Leave; the record stays."""
        self.conversation.leave()
        self.exit()

    def get_line_filters(self) -> Sequence[LineFilter]:
        """Textual's own, and ours behind them."""
        return [*super().get_line_filters(), self._visible]

    def get_key_display(self, binding: Binding) -> str:
        """A key as it is printed on a keyboard: F2, Ctrl+N."""
        shown = super().get_key_display(binding)
        return shown.upper() if shown[:1] == "f" and shown[1:].isdigit() else _named(shown)

    def action_look(self) -> None:
        """The next look."""
        looks = looks_for(os.environ)
        place = looks.index(self.theme) if self.theme in looks else -1
        self.theme = looks[(place + 1) % len(looks)]

    def action_danger(self) -> None:
        """Products are getting indoors: from any screen, straight to what to do now."""
        while self.screen is not self.talk and len(self.screen_stack) > 1:
            self.pop_screen()
        self.talk.stop_everything()

    def action_help(self) -> None:
        """What every key does on the screen that is open."""
        from assistant.screens.help import HelpScreen

        self.push_screen(HelpScreen(grouped(self, self.screen.active_bindings.values())))

    def _handle_exception(self, error: Exception) -> None:
        """End the program on a fault without printing what its local values were: those may be a person's own words."""
        self.fault = self.fault or error
        self._return_code = 1
        if self._exception is None:
            self._exception = error
            self._exception_event.set()
        self._close_messages_no_wait()


def _named(shown: str) -> str:
    """A key's name: "^n" as Ctrl+N, "escape" as Esc."""
    if shown.startswith("^"):
        return f"Ctrl+{shown[1:].upper()}"
    short = {"pgup": "PgUp", "pgdn": "PgDn", "pgdown": "PgDn", "⏎": "Enter"}
    return short.get(shown, shown.title())
