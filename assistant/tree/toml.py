"""The one door through which a TOML file enters: its values, and the place of each.

What passes is TOML 1.0 in UTF-8 without control characters (those of writing direction too), dates, nan or inf; numbers are exact and of a
size that a flue can have. Whatever does not pass is refused with everything that is wrong, in plain words.
"""

from __future__ import annotations

import re
import stat
import sys
import tomllib
from collections.abc import Collection
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from assistant.tree.limits import MOST_DECIMAL_DIGITS, MOST_DIGITS, MOST_EXPONENT, TREE_LISTS
from assistant.tree.mistakes import Label, Mistake, Place, Unreadable, nearest, safely

if TYPE_CHECKING:
    from assistant.tree.positions import Lines
    from assistant.tree.scalars import Finding
    from assistant.tree.scan import Scan

__all__ = ["TREE_LISTS", "Document", "Mistake", "Place", "Unreadable", "parse", "parse_bytes", "read"]

MOST_BYTES = 2_000_000
MOST_PLAIN_DEPTH = 12
NEW_TOML = (3, 15)
"""From this Python on, its own reader takes TOML 1.1, which is refused here."""
TOO_LARGE: int = 10**MOST_DIGITS
OUT_OF_ORDER = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069\ud800-\udfff]")
LONG_KEY = re.compile(r"^(?:[^.\n]*+\.){32}", re.MULTILINE)
LONG_NUMBER = re.compile("[0-9][0-9_]{400}")
"""What may be a key of so many parts, or a number of so many digits, that Python takes very long over it."""
_NEVER_IN_TEXT = re.compile(rb"[\x00-\x08\x0e-\x1f\x7f]")
_BOM = "\ufeff"


@dataclass(frozen=True)
class Document:
    """A TOML file that was read: its values, its text, and where each value stands in it."""

    name: str
    """The file as the person named it."""
    text: str
    """The whole text, each line ended by a line feed, without a byte order mark."""
    data: dict[str, Any]
    """The values; a number with a decimal point is a `Decimal`."""
    digest: str
    """SHA-256 of the bytes, in hex."""

    @cached_property
    def _scan(self) -> Scan:
        """The outline of the text; walked only when a place is asked for."""
        from assistant.tree.scan import Scan

        scan = Scan(self.text, ())
        scan.run()
        return scan

    def place(self, path: tuple[str | int, ...], key: bool = False) -> Place | None:
        """Give the place of the value at `path`, or of its key; of the nearest enclosing one if unknown.

        A table opened by a header stands at the bracket of the header, and its key inside the header.
        """
        node = self._scan.root
        for part in path:
            found = node.step(part)
            if found is None:
                break
            node = found
        return self._scan.lines.place(node.key if key else node.at)


def parse(text: str, name: str, lists: Collection[tuple[str, ...]] = TREE_LISTS) -> Document:
    """Read TOML from a text; everything wrong with it is raised at once, as `Unreadable`.

    `lists` are the tables that come several at a time, refused when opened with single brackets.
    """
    return _parse(text.encode("utf-8", "surrogatepass"), text, name, lists)


def parse_bytes(content: bytes, name: str, lists: Collection[tuple[str, ...]] = TREE_LISTS) -> Document:
    """Read TOML from the bytes of a file; whatever hinders that is raised as `Unreadable`."""
    return _parse(content, _decoded(content, name), name, lists)


def read(
    path: Path,
    name: str | None = None,
    most_bytes: int = MOST_BYTES,
    lists: Collection[tuple[str, ...]] = TREE_LISTS,
) -> Document:
    """Read a TOML file; whatever hinders that is raised as `Unreadable`."""
    name = str(path) if name is None else name
    return parse_bytes(_content(path, name, most_bytes), name, lists)


def _parse(content: bytes, text: str, name: str, lists: Collection[tuple[str, ...]]) -> Document:
    import hashlib

    text = text.removeprefix(_BOM).replace("\r\n", "\n")
    digest = hashlib.sha256(content).hexdigest()
    data = _plainly(text, lists)
    if data is not None:
        return Document(name, text, data, digest)
    from assistant.tree.scan import Scan

    scan = Scan(text, lists)
    scan.run()
    if scan.findings:
        from assistant.tree.lost import folded
        from assistant.tree.positions import Lines

        lines = Lines(text)
        raise Unreadable([_mistake(found, name, lines) for found in folded(scan.findings, text)], scan.full)
    try:
        data = tomllib.loads(text, parse_float=Decimal)
    except (ValueError, RecursionError) as error:
        raise Unreadable([_unknown(error, name)]) from error
    return Document(name, text, data, digest)


def _mistake(found: Finding, name: str, lines: Lines) -> Mistake:
    """What the walk found, with places for its offsets."""
    also = tuple(Label(lines.place(at), says) for at, says in found.also)
    return Mistake(name, lines.place(found.at), found.code, found.message, found.hint, also)


def _plainly(text: str, lists: Collection[tuple[str, ...]]) -> dict[str, Any] | None:
    """The values of a text that is plainly in order; None where it must be walked over to tell.

    Reading first and asking after is what makes a good file quick; it never passes what the walk would refuse.
    """
    if sys.version_info >= NEW_TOML or any(
        doubt.search(text) for doubt in (OUT_OF_ORDER, LONG_KEY, LONG_NUMBER)
    ):
        return None
    try:
        data = tomllib.loads(text, parse_float=Decimal)
    except (ValueError, RecursionError):
        return None
    return data if _in_order(data, 0) and all(_several(data, path) for path in lists) else None


def _in_order(value: object, depth: int) -> bool:
    """Whether a value, and all within it, is of a kind and size that every file of ours may hold."""
    if isinstance(value, str):
        return value.isprintable() or not OUT_OF_ORDER.search(value)
    if isinstance(value, dict):
        return depth < MOST_PLAIN_DEPTH and all(
            _in_order(key, depth) and _in_order(inner, depth + 1) for key, inner in value.items()
        )
    if isinstance(value, list):
        return depth < MOST_PLAIN_DEPTH and all(_in_order(inner, depth + 1) for inner in value)
    if isinstance(value, int):
        return -TOO_LARGE < value < TOO_LARGE
    if isinstance(value, Decimal):
        parts = value.as_tuple()
        small = isinstance(parts.exponent, int) and abs(parts.exponent) < MOST_EXPONENT
        return small and len(parts.digits) < MOST_DECIMAL_DIGITS
    return False  # a date or a time


def _several(value: object, path: tuple[str, ...]) -> bool:
    """Whether the tables at `path`, where there are any, were opened with double brackets."""
    if not path:
        return isinstance(value, list)
    if not isinstance(value, dict):
        return True
    names = list(value) if path[0] == "*" else [path[0]] if path[0] in value else []
    return all(_several(value[name], path[1:]) for name in names)


def _unknown(error: Exception, name: str) -> Mistake:
    """Pass on what the TOML reader says about something that our own walk let through."""
    said = str(error)
    at = re.search(r" ?\(at line (\d+), column (\d+)\)", said)
    place = Place(int(at[1]), int(at[2])) if at else None
    plain = said[: at.start()] if at else said.replace("(at end of document)", "at the end of the file")
    return Mistake(name, place, "toml-syntax", f"This is not TOML 1.0: {safely(plain, 200)}.")


def _content(path: Path, name: str, most_bytes: int) -> bytes:
    """Read the bytes of an ordinary file; anything else could be endless."""

    def refused(code: str, message: str, hint: str = "") -> Unreadable:
        return Unreadable([Mistake(name, None, code, message, hint)])

    shown = safely(name, 400)
    try:
        mode = path.stat().st_mode
        if stat.S_ISDIR(mode):
            raise refused("folder", f"{shown} is a folder, not a file.", "Name a file in it.")
        if not stat.S_ISREG(mode):
            raise refused("not-a-file", f"{shown} is not an ordinary file.")
        with path.open("rb") as file:
            content = file.read(most_bytes + 1)
    except (FileNotFoundError, NotADirectoryError) as error:
        raise refused("no-file", f"There is no file {shown}.", _beside(path)) from error
    except PermissionError as error:
        raise refused(
            "not-allowed", f"{shown} may not be read by you.", "Ask its owner, or copy it."
        ) from error
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or str(error)
        raise refused("unreadable", f"{shown} cannot be read: {safely(why, 200)}.") from error
    if len(content) > most_bytes:
        raise refused("too-big", f"{shown} is larger than {most_bytes:,} bytes; no file of ours is.")
    return content


def _beside(path: Path) -> str:
    """Name the file in the same folder that was probably meant."""
    from itertools import islice

    from assistant.tree.endings import with_ending

    try:
        stems = [entry.stem for entry in islice(path.parent.iterdir(), 1000) if entry.suffix == ".toml"]
    except OSError:
        return f"There is no folder {safely(str(path.parent), 200)} either."
    renamed = with_ending(path)
    if renamed:
        return renamed
    near = nearest(path.name.removesuffix(".toml"), stems)
    return f"Did you mean {safely(str(path.with_name(f'{near}.toml')), 200)}?" if near else ""


_OTHER_TEXTS = (
    (b"{\\rtf", "a rich text file (RTF)"),
    (b"pk\x03\x04", "a word processor's document, or a packed one (ZIP)"),
    (b"%pdf", "a PDF"),
    (b"\xd0\xcf\x11\xe0", "a word processor's document"),
    (b"<!doctype", "a web page (HTML)"),
    (b"<html", "a web page (HTML)"),
    (b"<?xml", "an XML file"),
)
"""What files begin with that people take for plain text, in lower case."""


def _decoded(content: bytes, name: str) -> str:
    """Decode UTF-8, or say where the first byte stands that is none."""
    head = content[:64].removeprefix(_BOM.encode()).lstrip().lower()
    if head[:1] in (b"{", b"p", b"%", b"<", b"\xd0"):
        what = next((what for sign, what in _OTHER_TEXTS if head.startswith(sign)), None)
        if what:
            hint = 'In your editor choose "Save as" and "Plain text", and a name that ends with .toml.'
            raise Unreadable([Mistake(name, None, "not-text", f"This is {what}, not plain text.", hint)])
    try:
        if content.startswith((b"\xff\xfe", b"\xfe\xff")) or b"\0" in content[:4]:
            if _is_utf_16(content[:2000]):
                raise Unreadable([_not_utf_8(name, None, "This file is saved as UTF-16.")])
            raise _not_text(name)
        return content.decode()
    except UnicodeDecodeError as error:
        if len(_NEVER_IN_TEXT.findall(content)) > len(content) // 100:
            raise _not_text(name) from None
        start = content.rfind(b"\n", 0, error.start) + 1
        before = content[start : error.start].decode("utf-8", "replace").removeprefix(_BOM)
        place = Place(content.count(b"\n", 0, error.start) + 1, len(before) + 1)
        byte = content[error.start : error.start + 1]
        sign = byte.decode("cp1252", "replace")
        likely = f" – probably the sign {sign}" if sign.isprintable() and sign != "\ufffd" else ""
        message = (
            f"This file is not saved as UTF-8: line {place.line} has the byte {byte.hex().upper()}{likely}."
        )
        raise Unreadable([_not_utf_8(name, place, message)]) from None


def _is_utf_16(start: bytes) -> bool:
    """Whether the start of a file reads as text in UTF-16; its last sign may be cut."""
    codec = "utf-16" if start[0] > 0xFD else "utf-16-be" if start[0] == 0 else "utf-16-le"
    text = start.decode(codec, "replace").removesuffix("\ufffd")
    return "\ufffd" not in text and all(sign.isprintable() or sign in "\t\n\r" for sign in text)


def _not_text(name: str) -> Unreadable:
    hint = "Name a TOML file: one that a text editor can open."
    return Unreadable([Mistake(name, None, "not-text", "This is not a text file.", hint)])


def _not_utf_8(name: str, place: Place | None, message: str) -> Mistake:
    return Mistake(
        name,
        place,
        "not-utf-8",
        message,
        'Save it as UTF-8: most editors offer it under "Save as", Encoding.',
    )
