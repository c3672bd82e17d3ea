"""Where the answers come from: a terminal that can edit a line, or anything that has lines.

Invariant: `read` returns one line as it was typed, or says why there is none: EOFError at the end of the input,
KeyboardInterrupt for ctrl-c, `Stopped` for a signal.
"""

from __future__ import annotations

import asyncio
import os
from abc import ABC, abstractmethod
from collections.abc import Callable
from typing import TYPE_CHECKING, TextIO

from assistant.line.signals import Stopped
from assistant.line.words import plain

if TYPE_CHECKING:
    from prompt_toolkit.input import Input
    from prompt_toolkit.output import Output

__all__ = ["LineReader", "Reader", "TerminalReader", "Woken", "reader_of"]

EVERY = 0.2
"""Seconds between two looks whether there is something to say while a line is waited for."""

MOST_LINE = 100_000
"""Characters of a line that are read; the rest of it is passed over."""


def reader_of(stdin: TextIO | None, stdout: TextIO) -> Reader:
    """The reader for these streams: line editing where both are a terminal that can place a cursor."""
    both = stdin is not None and stdin.isatty() and stdout.isatty()
    if both and os.environ.get("TERM", "dumb") not in ("dumb", "", "unknown"):
        return TerminalReader()
    return LineReader(stdin, stdout, echo=not both)


class Woken(Exception):
    """There is something to say before a line was typed; what was typed of it so far is given up."""


class Reader(ABC):
    """One line after another; can be stopped by a signal while it waits."""

    def __init__(self) -> None:
        self.wake: Callable[[], bool] | None = None
        """Whether to stop waiting, as there is something to say: asked now and then, where the terminal allows it."""
        self.waiting = False
        self.stopped = 0
        """The number of the signal that asked to stop, once one did."""

    def read(self, message: str) -> str:
        """Show the message, which ends where the typing begins, and wait for a line."""
        if self.stopped:
            raise Stopped(self.stopped)
        self.waiting = True
        try:
            line = self.wait(message)
        finally:
            self.waiting = False
        if self.stopped:
            raise Stopped(self.stopped)
        return line

    def stop(self, number: int) -> None:
        """Stop waiting, or never begin to again. Called from a signal handler."""
        self.stopped = number
        if self.waiting:
            self.break_off()

    @abstractmethod
    def wait(self, message: str) -> str:
        """Wait for a line."""

    @abstractmethod
    def break_off(self) -> None:
        """End the waiting with `Stopped`."""


class LineReader(Reader):
    """Lines of a pipe, a file or a dumb terminal; `echo` writes what was read, so that the output is a transcript."""

    def __init__(self, stdin: TextIO | None, stdout: TextIO, echo: bool) -> None:
        super().__init__()
        self.stdin, self.stdout, self.echo = stdin, stdout, echo

    def wait(self, message: str) -> str:
        """Write the message and read a line."""
        self.stdout.write(message)
        self.stdout.flush()
        line = self.line()
        if not line:
            self.stdout.write("\n")
            raise EOFError
        if self.echo:
            self.stdout.write(plain(line) + "\n")
        return line

    def line(self) -> str:
        """The next line with its line end, or nothing at the end of the input; one too long is cut."""
        try:
            line = self.stdin.readline(MOST_LINE) if self.stdin is not None else ""
            rest = line
            while rest and not rest.endswith("\n") and self.stdin is not None:
                rest = self.stdin.readline(MOST_LINE)
        except OSError:  # the terminal is gone
            return ""
        return line

    def break_off(self) -> None:
        """Raise through the reading that the signal interrupted."""
        raise Stopped(self.stopped)


class TerminalReader(Reader):
    """A terminal: the line can be edited, and earlier ones called back with the arrow keys."""

    def __init__(self, source: Input | None = None, target: Output | None = None) -> None:
        from prompt_toolkit import PromptSession
        from prompt_toolkit.history import InMemoryHistory
        from prompt_toolkit.output import create_output
        from prompt_toolkit.output.vt100 import Vt100_Output

        super().__init__()
        output = target or create_output()
        if isinstance(output, Vt100_Output):
            output.enable_cpr = False  # nothing here needs to know where the cursor is
        self.session: PromptSession[str] = PromptSession(
            history=InMemoryHistory(),
            complete_while_typing=False,
            enable_suspend=True,
            reserve_space_for_menu=0,
            include_default_pygments_style=False,
            input=source,
            output=output,
        )

    def wait(self, message: str) -> str:
        """Prompt with the message."""
        return self.session.prompt(message, pre_run=self._begin)

    def _begin(self) -> None:
        self.break_off()
        if self.wake is not None:
            self.session.app.create_background_task(self._look(self.wake))

    async def _look(self, wake: Callable[[], bool]) -> None:
        """End the prompt once there is something to say."""
        while not wake():
            await asyncio.sleep(EVERY)
        app = self.session.app
        if app.is_running and not app.is_done:
            app.exit(exception=Woken())

    def break_off(self) -> None:
        """Have the prompt's own loop end it, which gives the terminal back as it was."""
        app = self.session.app
        if self.stopped and app.loop is not None and app.is_running:
            app.loop.call_soon_threadsafe(self._end)

    def _end(self) -> None:
        app = self.session.app
        if app.is_running and not app.is_done:
            app.exit(exception=Stopped(self.stopped))
