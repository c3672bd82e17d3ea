"""Walk over a whole TOML text, statement by statement: an outline of it, and everything wrong with it.

A text without findings is TOML 1.0 within the limits of our files, and safe to hand to any TOML reader.
"""

from __future__ import annotations

import re
from collections.abc import Collection

from assistant.tree.mistakes import safely
from assistant.tree.positions import Key, Made, Node, Taken, add_list_table, add_table
from assistant.tree.scalars import CURLY, is_control
from assistant.tree.values import Abandoned, GivenUp, Values

__all__ = ["TREE_LISTS", "Scan"]

TREE_LISTS: frozenset[tuple[str, ...]] = frozenset(
    {
        ("verdict",),
        ("moved",),
        ("question", "*", "answer"),
        ("question", "*", "band"),
        ("recall", "*", "answer"),
        ("recall", "*", "band"),
        ("working", "*", "band"),
    }
)
"""The tables of a tree that come several at a time, each opened with double brackets; `*` is any id."""

_CONTROL = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\ud800-\udfff]")
_CLEAN = {number: " " for number in range(0xA0) if is_control(number)} | {13: "\n"}
_SURROGATES = re.compile("[\ud800-\udfff]")
_OPENS_TEXT = re.compile(r"""[ \t]*[A-Za-z0-9_-]+[ \t]*=[ \t]*(\"\"\"|''')""")
_SAFE_NAME = re.compile(r"[^a-z0-9]+")


class Scan(Values):
    """The walk over one text: run it once, then look at `root` and `findings`."""

    def __init__(self, text: str, lists: Collection[tuple[str, ...]] = TREE_LISTS) -> None:
        super().__init__(text)
        self.lists = lists
        self.root = Node.table(Made.HEADER, 0, 0)
        self._table = self.root

    def run(self) -> None:
        """Walk from the first character to the last."""
        try:
            self._controls()
            while self.gap(lines=True):
                try:
                    self._statement()
                except Abandoned as abandoned:
                    self.at = abandoned.resume
        except GivenUp:
            pass
        self.findings.sort(key=lambda finding: finding.at)

    def _controls(self) -> None:
        """Note control characters, and put spaces in their place."""
        if not _CONTROL.search(self.text):
            return
        returns = False
        for match in _CONTROL.finditer(self.text):
            number = ord(match.group())
            if number != 13:
                self.note(
                    match.start(),
                    "control-character",
                    f"There is a control character here (U+{number:04X}) that cannot be seen but could disturb the "
                    "screen.",
                    "Delete it; it may have come along with copied text.",
                )
            elif not returns:
                returns = True
                self.note(
                    match.start(),
                    "lone-return",
                    "A line ends here in the old Macintosh way (CR alone).",
                    "Save the file with ordinary line ends (LF, or CRLF).",
                )
        self.text = _SURROGATES.sub(" ", self.text.translate(_CLEAN))

    def _statement(self) -> None:
        if self.text[self.at] == "[":
            self._header()
            return
        start = self.at
        self.pair(self._table, 0)
        end = self.at
        if self.gap() not in ("", "\n"):
            self._stray_after(start, end)

    def _stray_after(self, start: int, end: int) -> None:
        """Say what follows a value on its line; a text left open before shows only where the next one opens."""
        line = self.text.rfind("\n", 0, end) + 1
        opens = _OPENS_TEXT.match(self.text, line)
        if line > start and opens and opens.end() == end:
            first = self.text.find(opens.group(1), start)
            self.note(
                first,
                "unclosed-text",
                f"The text that opens here with {opens.group(1)} is not closed before line {self.line_number(line)}.",
                f"Put {opens.group(1)} after its last word.",
            )
            raise Abandoned(line)
        value = self.text.find("=", start, end) + 1
        while self.text[value] in " \t":
            value += 1
        self.stray(value)
        raise self.next_line()

    # Headers.

    def _header(self) -> None:
        start = self.at
        double = self.text.startswith("[[", start)
        self.at += 2 if double else 1
        self.gap(comments=False)
        key = self.key()
        if key is None or self.text[self.at : self.at + 1] != "]":
            self._table = Node.table(Made.HEADER, start, start)
            self._bad_header(start, double, key)
            raise self.next_line()
        twice = self.text.startswith("]]", self.at)
        name = safely(self.text[start : self.at].strip("[ \t"), 60)
        if double != twice:
            opened, closed = ("two", "one") if double else ("one", "two")
            self.note(
                start,
                "missing-bracket",
                f"This header opens with {opened} square bracket{'s' * double} but closes with {closed}.",
                f"Write: [[{name}]]" if self._is_list(key) or double else f"Write: [{name}]",
            )
        self.at += 2 if twice else 1
        self._table = self._opened(start, key, name, double or twice)
        if self.gap() not in ("", "\n"):
            self.note(
                self.at,
                "after-header",
                "Something follows the header on its line.",
                f"Put it on the next line: {safely(self.text[self.at : self.line_end(self.at)], 60)}",
            )
            raise self.next_line()

    def _opened(self, start: int, key: Key, name: str, double: bool) -> Node:
        try:
            if double:
                return add_list_table(self.root, key, start)
            if not self._is_list(key):
                return add_table(self.root, key, start)
            self.note(
                start,
                "single-brackets",
                f"[{name}] needs double brackets, because there can be several.",
                f"Write: [[{name}]]",
            )
            return add_list_table(self.root, key, start)
        except Taken as taken:
            self._header_taken(start, key, name, taken, double)
        return Node.table(Made.HEADER, start, start)

    def _is_list(self, key: Key) -> bool:
        names = tuple(name for name, _ in key)
        return names in self.lists or (len(names) == 3 and (names[0], "*", names[2]) in self.lists)

    def _header_taken(self, start: int, key: Key, name: str, taken: Taken, double: bool) -> None:
        earlier = taken.earlier
        line = self.line_number(earlier.at if earlier.made is not Made.VALUE else earlier.key)
        part = safely(key[taken.part][0])
        if earlier.made is Made.VALUE:
            message = f"{part} was given a value on line {line}, so it cannot be a table here."
            hint = "Give one of them another name."
        elif double or earlier.made is Made.LIST:
            message = f"{name} has double brackets on one line and single ones on another: see line {line}."
            hint = f"Write [[{name}]] each time if there can be several, else [{name}] once."
        else:
            message = f"[{name}] is here a second time; the first is on line {line}."
            hint = "Give this one another name, or move its lines up to the first."
        self.note(start, "duplicate-table", message, hint)

    def _bad_header(self, start: int, double: bool, key: Key | None) -> None:
        opens, closes = ("[[", "]]") if double else ("[", "]")
        line = self.text[start : self.line_end(start)]
        inner = line.split("#")[0].strip("[] \t")
        if not inner:
            self.note(
                start,
                "empty-header",
                "This header has no name between its brackets.",
                f"Write: {opens}name{closes}",
            )
        elif key and (self.text[self.at : self.at + 1] in ("", "\n", "#", "=")):
            name = safely(self.text[start : self.at].strip("[ \t"), 60)
            self.note(
                start,
                "missing-bracket",
                f"This header has no closing bracket ({closes}).",
                f"Write: {opens}{name}{closes}",
            )
        else:
            inner = line[len(opens) :].split("]")[0].strip()
            better = ".".join(
                _SAFE_NAME.sub("-", part.lower()).strip("-") or "name" for part in inner.split(".")[:8]
            )
            self.note(
                self.at,
                "curly-quotes" if inner[:1] in CURLY else "unquoted-key",
                f"The header {opens}{safely(inner)}{closes} has a character that cannot stand there: a name has only "
                "letters a–z, digits and hyphens, and a dot between names.",
                f"Write for example: {opens}{safely(better, 60)}{closes}",
            )
