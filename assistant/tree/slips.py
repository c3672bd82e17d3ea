"""Collecting everything that is wrong with one file, each with its place, to be raised at once."""

from __future__ import annotations

from collections.abc import Sequence

from assistant.tree.mistakes import Label, Mistake, Place, Unreadable
from assistant.tree.toml import Document

__all__ = ["Path", "Slips", "labelled"]

Path = tuple[str | int, ...]
"""Where a value stands in a document: keys and list indexes from the top."""


MOST_MISTAKES = 100
"""Mistakes after which a file of facts is looked at no further."""


class Slips:
    """The mistakes found in a document so far; a reader or referee of one is built on it."""

    def __init__(self, document: Document) -> None:
        self.document = document
        self.mistakes: list[Mistake] = []

    def slip(
        self,
        path: Path,
        code: str,
        message: str,
        hint: str = "",
        key: bool = False,
        also: Sequence[Label] = (),
    ) -> None:
        """Note a mistake at the value at `path`, or at its key, and the other places that it is about."""
        place = self.document.place(path, key=key)
        self.mistakes.append(Mistake(self.document.name, place, code, message, hint, tuple(also)))

    def label(self, path: Path, says: str, key: bool = True) -> Label:
        """Another place of this document that a mistake is about, and what stands there."""
        return labelled(self.document, path, says, key)

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


def labelled(document: Document, path: Path, says: str, key: bool = True, other: bool = False) -> Label:
    """A place of a document that a mistake is about; `other`: the mistake itself is in another file."""
    place = document.place(path, key=key) or Place(1, 1)
    return Label(place, says, document.name if other else "")
