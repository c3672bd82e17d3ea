"""One thing wrong in a file, where it stands, and how it is shown to the person who wrote it.

A mistake never carries a control character onwards: whatever is quoted from a file passes through `safely`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from assistant.errors import Refused

__all__ = ["Label", "Mistake", "Place", "Unreadable", "nearest", "safely"]

MOST_SHOWN = 76
"""Characters of a source line that are shown round a mistake."""


class Place(NamedTuple):
    """A line and a column of a text, both counted from 1; a column counts characters."""

    line: int
    column: int

    def __str__(self) -> str:
        return f"{self.line}:{self.column}"


class Label(NamedTuple):
    """A second place that a mistake is about, and what stands there."""

    place: Place
    says: str
    file: str = ""
    """The file, where it is another one than the mistake's own."""


class Mistake(NamedTuple):
    """One thing wrong in a file: what was found, and what to write instead."""

    file: str
    """The file as the person named it."""
    place: Place | None
    code: str
    """A short name that stays the same when the wording changes."""
    message: str
    hint: str = ""
    also: tuple[Label, ...] = ()
    """Other places that it is about, where two of them conflict."""
    witness: str = ""
    """A facts file, whole, that shows the fault when it is judged; empty where none applies."""

    @property
    def where(self) -> str:
        """`file:line:column`, as editors understand it."""
        file = safely(self.file, 400)
        return f"{file}:{self.place}" if self.place else file

    def __str__(self) -> str:
        first = f"{self.where}: {self.message}"
        return f"{first}\n{self.hint}" if self.hint else first


class Unreadable(Refused):
    """A file that cannot be used, with every mistake found in it.

    The message, hint and place are those of the first mistake, for a face that shows only one.
    """

    def __init__(self, mistakes: Sequence[Mistake], more: bool = False) -> None:
        first = mistakes[0]
        super().__init__(first.message + _others(len(mistakes) - 1, more), first.hint, first.where)
        self.mistakes = tuple(mistakes)
        self.more = more
        """Whether the search was given up before the end of the file."""


def _others(count: int, more: bool) -> str:
    if not count:
        return ""
    if count == 1:
        return " There is 1 more fault in this file."
    return f" There are {'at least ' if more else ''}{count} more faults in this file."


def safely(text: str, most: int = 40) -> str:
    """Give text from a file on one line, shortened, with nothing in it that a terminal would obey."""
    cut = text if len(text) <= most else text[: most - 1] + "…"
    return "".join(character if character.isprintable() else "·" for character in cut)


def pointed(text: str, place: Place) -> list[str]:
    """Give the line of `text` at `place`, cut to fit, and a line with a caret under the column."""
    lines = text.split("\n", place.line)
    if len(lines) < place.line:
        return []
    line = lines[place.line - 1].rstrip("\r")
    start = max(0, place.column - 1 - MOST_SHOWN // 2) if len(line) > MOST_SHOWN else 0
    piece = line[start : start + MOST_SHOWN].replace("\t", " ")
    return [f"    {safely(piece, MOST_SHOWN)}", "    " + " " * (place.column - 1 - start) + "^"]


_DENIED = re.compile(r"(?:un|in|im|non-?|not-?|no-)(?=...)")


def _opposite(one: str, other: str) -> bool:
    """Whether one of two words is the other with a "not" before it."""
    shorter, longer = sorted((one, other), key=len)
    denied = _DENIED.match(longer)
    if denied is None:
        return False
    rest = longer[denied.end() :]
    if rest == shorter:
        return True
    if _DENIED.match(shorter):
        return False
    from difflib import SequenceMatcher

    return abs(len(rest) - len(shorter)) <= 2 and SequenceMatcher(None, rest, shorter).ratio() > 0.85


def nearest(word: str, among: Iterable[str]) -> str | None:
    """Give the name that was probably meant, or None where nothing is near: for "did you mean".

    A name is never offered for its own opposite: "acceptable" for "unacceptable".
    """
    from difflib import get_close_matches

    plain = word[:200].casefold().replace("_", "-")
    names = {name.casefold().replace("_", "-"): name for name in among if len(name) <= 200}
    names = {near: name for near, name in names.items() if not _opposite(plain, near)}
    found = get_close_matches(plain, names, n=1, cutoff=0.6)
    return names[found[0]] if found else None
