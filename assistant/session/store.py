"""Where a person's records lie: one folder, one file a consultation, never written over by another."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from assistant.errors import Refused
from assistant.session.record import Record, read_record

__all__ = ["Store"]

MOST_OFFERED = 5


class Store:
    """The folder of records under a home folder; it is made when the first record is written."""

    def __init__(self, home: Path) -> None:
        self.folder = home / "records"

    def new_path(self, started: str, tree_id: str) -> Path:
        """A path that no record has yet: the moment it began, and its tree."""
        stamp = started[:16].replace(":", "").replace("T", "-")
        name = f"{stamp}-{tree_id}"
        path, number = self.folder / f"{name}.toml", 2
        while path.exists():
            path, number = self.folder / f"{name}-{number}.toml", number + 1
        return path

    def unfinished(self) -> Iterator[tuple[Path, Record]]:
        """The latest records that have no verdict yet and can be opened, newest first."""
        try:
            paths = sorted(self.folder.glob("*.toml"), key=lambda path: path.stat().st_mtime, reverse=True)
        except OSError:
            return
        offered = 0
        for path in paths[:50]:
            try:
                record = read_record(path)
                if record.session.next is None:
                    continue
            except Refused:
                continue
            yield path, record
            offered += 1
            if offered == MOST_OFFERED:
                return
