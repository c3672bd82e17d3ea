"""Walk over a whole TOML text, statement by statement: an outline of it, and everything wrong with it.

A text without findings is TOML 1.0 within the limits of our files, and safe to hand to any TOML reader.
"""

from __future__ import annotations

import re
from collections.abc import Collection

from assistant.tree import complaints
from assistant.tree.limits import TREE_LISTS
from assistant.tree.mistakes import safely
from assistant.tree.positions import Key, Made, Node, Taken, add_list_table, add_table
from assistant.tree.scalars import DIRECTIONS, Finding, is_control
from assistant.tree.values import Values
from assistant.tree.walk import Abandoned, GivenUp

__all__ = ["Scan"]

_CONTROL = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069\ud800-\udfff]")
_CLEAN = {number: " " for number in (*range(0xA0), *DIRECTIONS) if is_control(number)} | {13: "\n"}
_SURROGATES = re.compile("[\ud800-\udfff]")
_OPENS_TEXT = re.compile(r"""[ \t]*[A-Za-z0-9_-]+[ \t]*=[ \t]*(\"\"\"|''')""")


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
            while self.blank_lines():
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
        returns = 0
        for match in _CONTROL.finditer(self.text):
            if match.group() != "\r":
                number = ord(match.group())
                harm = (
                    "shows the text in another order" if number in DIRECTIONS else "could disturb the screen"
                )
                self.note(
                    Finding(
                        match.start(),
                        "control-character",
                        f"There is a control character here (U+{number:04X}): it cannot be seen, but {harm}.",
                        "Delete it; it may have come along with copied text.",
                    )
                )
            elif not returns:
                returns += 1
                message = "A line ends here in the old Macintosh way (CR alone)."
                hint = "Save the file with ordinary line ends (LF, or CRLF)."
                self.note(Finding(match.start(), "lone-return", message, hint))
        self.text = _SURROGATES.sub(" ", self.text.translate(_CLEAN))

    def _statement(self) -> None:
        if self.sign() == "[":
            self._header()
            return
        start = self.at
        value = self.pair(self._table)
        end = self.at
        ended = self.line_rest() in ("", "\n")
        self._text_left_open(start, value, end)
        if not ended:
            self._stray(value)
            raise self.next_line()

    def _text_left_open(self, start: int, value: int, end: int) -> None:
        """See whether a text ended only where the next one opens: then it was never closed."""
        line = self.line_start(end)
        opens = _OPENS_TEXT.match(self.text, line) if line > start else None
        if not opens or opens.end() != end:
            return
        if self.blank_lines() and not self.at_statement(end):
            finding = complaints.unclosed_text(value, opens.group(1), '"', self.before(line))
            self.note(finding._replace(also=self.begins(line)))
            raise Abandoned(line)

    # Headers.

    def _header(self) -> None:
        start = self.at
        double = self.text.startswith("[[", start)
        self.at += 2 if double else 1
        self.spaces()
        inner = self.at
        key = self.key()
        name = self.text[inner : self.at].strip()
        if not key or self.sign() != "]":
            self._mended_header(start, double, key, name)
            raise self.next_line()
        twice = self.text.startswith("]]", self.at)
        if double != twice:
            several = double or self._is_list(key)
            self.note(complaints.uneven_brackets(start, safely(name, 60), double, several))
        self.at += 2 if twice else 1
        self._open(start, key, name, double or twice)
        if self.line_rest() not in ("", "\n"):
            rest = safely(self.text[self.at : self.line_end(self.at)], 60)
            message = "Something follows the header on its line."
            self.note(Finding(self.at, "after-header", message, f"Put it on the next line: {rest}"))
            raise self.next_line()

    def _mended_header(self, start: int, double: bool, key: Key | None, name: str) -> None:
        """Say what is wrong with a header; the lines under it go where they were meant to, if plain."""
        line = self.text[start : self.line_end(start)]
        inner = line.strip("[ \t").split("]")[0].strip()
        finding = complaints.bad_header(start, self.at, double, line, name if key else "", inner)
        self.note(finding)
        if key and finding.code == "missing-bracket":
            self._open(start, key, name, double)
        else:
            self._table = Node.table(Made.HEADER, start, start)

    def _open(self, start: int, key: Key, name: str, double: bool) -> None:
        """Open the table of a header; one that cannot be opened gets a place apart."""
        name = safely(name, 60)
        try:
            if not double and self._is_list(key):
                message = f"[{name}] needs double brackets, because there can be several."
                self.note(Finding(start, "single-brackets", message, f"Write: [[{name}]]"))
                double = True
            self._table = (add_list_table if double else add_table)(self.root, key, start)
        except Taken as taken:
            part, at = key[taken.part][0], taken.earlier.at
            line = self.line_number(taken.earlier.key if taken.earlier.made is Made.VALUE else at)
            self.note(complaints.header_taken(start, name, part, taken, double, line))
            self._table = Node.table(Made.HEADER, start, start)

    def _is_list(self, key: Key) -> bool:
        names = tuple(name for name, _ in key)
        return names in self.lists or (len(names) == 3 and (names[0], "*", names[2]) in self.lists)
