"""One answer as it was given: its value, how it is known, and what was added to it."""

from __future__ import annotations

from dataclasses import dataclass

from assistant.tree.answers import Value
from assistant.tree.model import BASES, NOT_SURE, Question

__all__ = ["UNSTATED", "Fact"]

UNSTATED = "unstated"
"""The basis of an answer for which none was said."""


@dataclass(frozen=True)
class Fact:
    """An answer, its basis, and whatever the person added: a note, the paths of photos, the words as typed."""

    value: Value
    basis: str = UNSTATED
    note: str = ""
    photos: tuple[str, ...] = ()
    typed: str = ""

    def __post_init__(self) -> None:
        if self.basis not in (*BASES, UNSTATED):
            raise ValueError(f"no such basis: {self.basis}")

    def settles(self, question: Question) -> bool:
        """Whether the basis is one that may settle the question; an unstated one is taken in trust."""
        return (
            self.value == NOT_SURE
            or self.basis == UNSTATED
            or question.accept is None
            or self.basis in question.accept
        )
