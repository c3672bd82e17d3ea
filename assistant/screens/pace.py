"""The guard against a key that was meant for the question before.

Invariant: nothing is picked from a question that is not on the screen yet, nor within a moment of its being drawn, nor
by a key that is held down.
"""

from __future__ import annotations

from collections.abc import Callable
from time import monotonic

__all__ = ["REST", "Pace"]

REST = 0.15
"""Seconds: longer than a keyboard's repeat, shorter than a person's second look."""


class Pace:
    """Says whether a pick counts. The clock is passed in, so that a test can hold it still."""

    def __init__(self, clock: Callable[[], float] = monotonic) -> None:
        self.clock = clock
        self._drawn: float | None = None
        self._last = float("-inf")

    def asked(self) -> None:
        """A new question was set; it is not on the screen yet."""
        self._drawn = None

    def drawn(self) -> None:
        """The question is on the screen now."""
        if self._drawn is None:
            self._drawn = self.clock()

    @property
    def ready(self) -> bool:
        """Whether the question is on the screen."""
        return self._drawn is not None

    def takes(self) -> bool:
        """Whether a pick made now is meant for this question."""
        at = self.clock()
        repeated = at - self._last < REST
        self._last = at
        return self._drawn is not None and at - self._drawn >= REST and not repeated
