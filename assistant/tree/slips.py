"""Collecting everything that is wrong with one file, each with its place, to be raised at once."""

from __future__ import annotations

from assistant.tree.mistakes import Mistake, Place, Unreadable
from assistant.tree.toml import Document

__all__ = ["Path", "Slips"]

Path = tuple[str | int, ...]
"""Where a value stands in a document: keys and list indexes from the top."""


MOST_MISTAKES = 100
"""Mistakes after which a file of facts is looked at no further."""


class Slips:
    """The mistakes found in a document so far; a reader or referee of one is built on it."""

    def __init__(self, document: Document) -> None:
        self.document = document
        self.mistakes: list[Mistake] = []

    def slip(self, path: Path, code: str, message: str, hint: str = "", key: bool = False) -> None:
        """Note a mistake at the value at `path`, or at its key."""
        place = self.document.place(path, key=key)
        self.mistakes.append(Mistake(self.document.name, place, code, message, hint))

    def stop(self) -> None:
        """Raise all that was noted, in the order of the file, if anything was."""
        if self.mistakes:
            raise Unreadable(
                sorted(self.mistakes, key=lambda mistake: mistake.place or Place(0, 0)), self.full
            )

    @property
    def full(self) -> bool:
        """Whether there are mistakes enough: a file is given up then."""
        return len(self.mistakes) >= MOST_MISTAKES
