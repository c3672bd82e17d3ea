"""The one error that a person is meant to read, and the exit codes of the command.

Everything that refuses something given to us raises `Refused`; the front ends decide how to show it. Any other
exception is a defect of ours.
"""

from __future__ import annotations

from enum import IntEnum

__all__ = ["Exit", "Refused"]


class Refused(Exception):
    """Something given to us cannot be used: what was found, where, and what to write instead."""

    def __init__(self, message: str, hint: str = "", where: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.hint = hint
        self.where = where

    def __str__(self) -> str:
        lines = [f"{self.where}: {self.message}" if self.where else self.message]
        if self.hint:
            lines.append(self.hint)
        return "\n".join(lines)


class Exit(IntEnum):
    """How `throughwall` ends, for scripts that call it."""

    ACCEPTABLE = 0
    """Every flue judged is acceptable, or the command did what was asked."""
    OTHER_VERDICT = 1
    """At least one verdict is other than acceptable, or a check found something wrong."""
    REFUSED = 2
    """Something given could not be used; nothing of it was judged."""
    UNFINISHED = 3
    """At least one facts file lacks answers."""
