"""What is told on stderr once the terminal is itself again.

Invariant: nothing here raises, whatever happened before; a terminal that has gone away is no reason to lose the exit
status.
"""

from __future__ import annotations

import sys
import traceback
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from assistant.conversation import Conversation

__all__ = ["FAULT", "say_farewell"]

FAULT = 70
"""The exit status after a fault of our own (EX_SOFTWARE)."""


def say_farewell(conversation: Conversation, status: int, fault: BaseException | None = None) -> int:
    """Tell where the record is kept and, after a fault, what happened; the exit status."""
    lines = []
    if fault is not None:
        status = FAULT
        lines += [*_frames(fault), f"Throughwall stopped on a fault of its own: {_plain(repr(fault))}"]
        path = conversation.path
        if path is not None and path.exists():
            lines.append(f"Kept in: {_plain(str(path))}")
    else:
        lines += [f"{said.label}: {_plain(said.text)}" for said in conversation.leave()]
    try:
        for line in lines:
            print(line, file=sys.stderr)
    except OSError:
        pass  # the terminal is gone
    return status


def _frames(fault: BaseException) -> list[str]:
    """Where it happened, without any local value: those may hold what a person typed."""
    frames = traceback.extract_tb(fault.__traceback__)[-6:]
    return [f"  {_plain(frame.filename)}:{frame.lineno} in {_plain(frame.name)}" for frame in frames]


def _plain(text: str) -> str:
    return "".join(c if c.isprintable() else "�" for c in text)
