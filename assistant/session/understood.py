"""How a typed text was taken.

Invariant: at most one of the three is there: an answer, answers to ask back about, or why a figure cannot be taken.
"""

from __future__ import annotations

from dataclasses import dataclass

from assistant.errors import Refused
from assistant.tree.answers import Value

__all__ = ["Understood"]


@dataclass(frozen=True)
class Understood:
    """How a typed text was taken: an answer, or the answers it might be."""

    value: Value | None
    among: tuple[str, ...] = ()
    """Answer ids to ask back about; empty where nothing came near."""
    refused: Refused | None = None
    """Why a number could not be taken."""
