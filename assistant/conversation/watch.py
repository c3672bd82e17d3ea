"""Whether a tree on disk has changed since it was read, and has come to rest.

Invariant: a file that is being written is never taken for its final state: a change counts once nothing has moved for
a while, longer where the file is empty or gone, as it is while some editors save. The clock and the look at the disk
are passed in.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import islice
from pathlib import Path

__all__ = ["LONG_REST", "REST", "Marks", "Watch", "marks"]

REST = 0.3
"""Seconds without a change after which a file is taken to be written."""
LONG_REST = 1.5
"""Seconds after which a tree that is empty or gone is believed to be."""
MOST_FILES = 1000

Marks = dict[str, tuple[int, int, int]]
"""What tells one state of a file from another, by its path: time, size, and which file it is."""


def marks(path: Path, *folders: Path) -> Marks:
    """The file, and every tree in its folder and the others: those are where a visited one may lie, or come to lie."""
    beside = [
        found for folder in (path.parent, *folders) for found in islice(folder.glob("*.toml"), MOST_FILES)
    ]
    seen: Marks = {}
    for one in (path, *beside):
        try:
            state = one.stat()
        except (OSError, ValueError):
            continue
        seen[str(one)] = (state.st_mtime_ns, state.st_size, state.st_ino)
    return seen


class Watch:
    """Says when it is time to read a tree again."""

    def __init__(self, path: Path, look: Callable[[], Marks], clock: Callable[[], float]) -> None:
        self.path = path
        self.look = look
        self.clock = clock
        self._read = self._seen = look()
        self._since = clock()

    @property
    def stirring(self) -> bool:
        """Whether something has changed that has not been read yet, at rest or not."""
        seen = self.look()
        if seen != self._seen:
            self._seen, self._since = seen, self.clock()
        return seen != self._read

    @property
    def due(self) -> bool:
        """Whether something has changed, and has come to rest."""
        if not self.stirring:
            return False
        _, size, _ = self._seen.get(str(self.path), (0, 0, 0))
        return self.clock() - self._since >= (REST if size else LONG_REST)

    def take(self) -> None:
        """Note that the files are read as they were seen last; what changes from here on is a change."""
        self._read = self._seen
