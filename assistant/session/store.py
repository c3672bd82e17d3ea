"""Where a person's records lie: one folder, one file a consultation, never written over by another."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from itertools import islice
from pathlib import Path
from typing import NamedTuple

__all__ = ["Store", "Unfinished"]

MOST_OFFERED = 5
MOST_LOOKED_AT = 50


class Unfinished(NamedTuple):
    """A record that was left before its verdict."""

    path: Path
    title: str
    """What its tree is called."""
    started: str
    answers: int


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

    def unfinished(self) -> Iterator[Unfinished]:
        """The latest records that have no verdict yet, newest first; their trees are not loaded for that."""
        try:
            paths = sorted(self.folder.glob("*.toml"), key=lambda path: path.stat().st_mtime, reverse=True)
        except OSError:
            return
        offered = (one for path in paths[:MOST_LOOKED_AT] if (one := _unfinished(path)) is not None)
        yield from islice(offered, MOST_OFFERED)


def _unfinished(path: Path) -> Unfinished | None:
    """What a record without an outcome says of itself; None for any other file."""
    try:
        data = tomllib.loads(path.read_text(encoding="utf-8"))
        if data.get("record") != "consultation" or "outcome" in data:
            return None
        about, started, answers = data["tree"], str(data["started"]), len(data.get("answer", []))
        title = str(about.get("title", about["id"]))
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return None
    return Unfinished(path, title, started, answers) if (title + started).isprintable() else None
