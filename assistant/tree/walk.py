"""The forward walk over a TOML text: spaces, comments, keys, and going on after a mistake.

The walk never turns back, so it takes time in proportion to the text. A mistake whose end is plain is noted
and passed over; one that leaves open what follows abandons the statement.
"""

from __future__ import annotations

import re
from typing import NoReturn

from assistant.tree.complaints import odd_space
from assistant.tree.positions import Key, Lines
from assistant.tree.scalars import Finding, escapes

__all__ = ["MOST_DEPTH", "NEXT_STATEMENT", "Abandoned", "GivenUp", "Walk"]

MOST_DEPTH = 32
MOST_FINDINGS = 100

_SPACES = re.compile(r"[ \t]*+")
_SPACES_COMMENT = re.compile(r"[ \t]*+(?:#[^\n]*+)?")
_BLANK_LINES = re.compile(r"(?:[ \t\n]++|#[^\n]*+)*+")
_ODD_SPACES = re.compile("[\u00a0\u00ad\u1680\u2000-\u200f\u2028\u2029\u202f\u205f\u2060\u3000\ufeff]+")
_PART = re.compile(r"""[A-Za-z0-9_-]++|"(?:[^"\\\n]|\\[^\n])*+"|'[^'\n]*+'""")
_NAME = r"""(?:[A-Za-z0-9_-]++|"[^"\n]*+"|'[^'\n]*+')"""
NEXT_STATEMENT = re.compile(
    rf"^[ \t]*+(?:\[\[?+[ \t]*+(?!(?:true|false|inf|nan)\b)[A-Za-z][^\n,]*+$"
    rf"|(?:{_NAME}(?:[ \t]*+\.[ \t]*+{_NAME})*+|[^\s=:,#\"'\[\]{{}}]++)[ \t]*+=)",
    re.MULTILINE,
)
"""A line that can only be a new statement: where the walk goes on after it was lost."""


class Abandoned(Exception):
    """The statement cannot be understood further; the walk goes on at `resume`."""

    def __init__(self, resume: int) -> None:
        super().__init__()
        self.resume = resume


class GivenUp(Exception):
    """Nothing after this can be understood, or there are mistakes enough."""


class Walk:
    """A text, how far the walk over it has come, and what was found wrong."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.lines = Lines(text)
        self.findings: list[Finding] = []
        self.full = False
        """Whether so much is wrong that the rest was not looked at."""

    def note(self, finding: Finding) -> None:
        """Keep what is wrong."""
        self.findings.append(finding)
        if len(self.findings) >= MOST_FINDINGS:
            self.full = True
            raise GivenUp

    def too_deep(self, at: int) -> NoReturn:
        """Stop the whole walk: nothing of ours nests like this."""
        self.note(
            Finding(
                at,
                "too-deep",
                f"Tables and brackets are nested more than {MOST_DEPTH} deep here.",
                "Nothing in these files goes deeper than a few.",
            )
        )
        raise GivenUp

    # Finding the way.

    def sign(self) -> str:
        """Give the character that is next; empty at the end."""
        return self.text[self.at : self.at + 1]

    def line_end(self, at: int) -> int:
        """Give the offset at which the line ends."""
        end = self.text.find("\n", at)
        return len(self.text) if end < 0 else end

    def line_start(self, at: int) -> int:
        """Give the offset at which the line starts."""
        return self.text.rfind("\n", 0, at) + 1

    def line_number(self, at: int) -> int:
        """Give the line, counted from 1."""
        return self.lines.place(at).line

    def before(self, at: int) -> str:
        """Say up to where something was looked for that is missing."""
        return f"before line {self.line_number(at)}" if at < len(self.text) else "anywhere"

    def begins(self, at: int) -> tuple[tuple[int, str], ...]:
        """Point at what follows something that should have ended before it."""
        if at >= len(self.text):
            return ()
        line = self.line_start(at)
        indent = _SPACES.match(self.text, line)
        return ((indent.end() if indent else line, "it has to end above this line"),)

    def at_statement(self, since: int) -> bool:
        """Tell whether a line began after `since`, and can only be a new statement."""
        line = self.text.rfind("\n", since, self.at) + 1
        return line > 0 and NEXT_STATEMENT.match(self.text, line) is not None

    def next_line(self) -> Abandoned:
        """Abandon the statement; the next line is sound."""
        return Abandoned(self.line_end(self.at) + 1)

    def next_statement(self) -> Abandoned:
        """Abandon the statement; the lines that follow may still be a part of it."""
        found = NEXT_STATEMENT.search(self.text, min(self.line_end(self.at) + 1, len(self.text)))
        return Abandoned(found.start() if found else len(self.text))

    # Spaces and keys.

    def spaces(self) -> str:
        """Pass over spaces; give the character that follows."""
        return self._pass(_SPACES)

    def line_rest(self) -> str:
        """Pass over spaces and a comment; give the character that follows."""
        return self._pass(_SPACES_COMMENT)

    def blank_lines(self) -> str:
        """Pass over spaces, comments and line ends; give the character that follows."""
        return self._pass(_BLANK_LINES)

    def _pass(self, pattern: re.Pattern[str]) -> str:
        while True:
            match = pattern.match(self.text, self.at)
            self.at = match.end() if match else self.at
            sign = self.sign()
            if sign.isascii():
                return sign
            odd = _ODD_SPACES.match(self.text, self.at)
            if not odd:
                return sign
            self.note(odd_space(self.at, sign))
            self.at = odd.end()

    def key(self) -> Key | None:
        """Pass over a dotted key; None if it is none, `at` being where it breaks."""
        key: Key = []
        while True:
            match = _PART.match(self.text, self.at)
            if not match:
                return None
            key.append((self._name(match.group()), self.at))
            self.at = match.end()
            if len(key) > MOST_DEPTH:
                self.too_deep(key[0][1])
            if self.spaces() != ".":
                return key
            self.at += 1
            self.spaces()

    def _name(self, raw: str) -> str:
        if raw[0] not in "\"'":
            return raw
        if raw[0] == "'" or "\\" not in raw:
            return raw[1:-1]
        wrong = list(escapes(raw, several_lines=False))
        for finding in wrong:
            self.note(finding._replace(at=self.at + finding.at))
        if wrong:
            return raw[1:-1]
        import tomllib

        return str(tomllib.loads(f"k = {raw}")["k"])
