"""Leaving when told to from outside: SIGTERM and SIGHUP.

Invariant: a signal never cuts into the writing of a record; it is acted on where the face waits for an answer.
"""

from __future__ import annotations

import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager

__all__ = ["Stopped", "stoppable"]


class Stopped(Exception):
    """A signal asked the program to end while it waited for an answer."""

    def __init__(self, number: int) -> None:
        super().__init__(f"stopped by signal {number}")
        self.number = number

    @property
    def status(self) -> int:
        """The exit status that tells of the signal."""
        return 128 + self.number


@contextmanager
def stoppable(stop: Callable[[int], None]) -> Iterator[None]:
    """Call `stop` with the number of a signal that asks to end; the handlers before are put back afterwards."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    names = [getattr(signal, name) for name in ("SIGTERM", "SIGHUP") if hasattr(signal, name)]
    before = {number: signal.signal(number, lambda caught, _: stop(caught)) for number in names}
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
