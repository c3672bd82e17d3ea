"""Thinking that must not hold up the screen.

Invariant: what comes back is a message to the widget that asked; leaving the program never waits for it.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from contextvars import copy_context
from functools import partial
from threading import Thread

from textual.message import Message
from textual.message_pump import MessagePump

__all__ = ["think"]


def think(asker: MessagePump, work: Callable[[], Message]) -> None:
    """Do `work` on a thread of its own and post the message it returns to `asker`."""

    def run() -> None:
        try:
            message = work()
        except Exception as error:
            _tell(partial(asker.call_later, _raise, error))
        else:
            _tell(lambda: asker.post_message(message))

    Thread(target=copy_context().run, args=(run,), daemon=True).start()


def _tell(tell: Callable[[], object]) -> None:
    with suppress(RuntimeError):  # the program was left in the meantime
        tell()


def _raise(error: Exception) -> None:
    raise error
