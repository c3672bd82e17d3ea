"""Walk over the keys and values of a TOML text, noting where each stands and what is wrong with it.

The walk only moves forwards, so it takes time in proportion to the text. A mistake whose end is plain is noted
and passed over; one that leaves open what follows abandons the statement with `Abandoned`.
"""

from __future__ import annotations

import re

from assistant.tree.mistakes import safely
from assistant.tree.positions import Key, Lines, Made, Node, Taken, add_value
from assistant.tree.scalars import CURLY, Finding, bare_value, escapes, quoted, straightened

__all__ = ["NEXT_STATEMENT", "Abandoned", "GivenUp", "Values"]

MOST_DEPTH = 32
MOST_FINDINGS = 100

_ODD = "\u00a0\u00ad\u1680\u2000-\u200f\u2028\u2029\u202f\u205f\u2060\u3000\ufeff"
_SPACE = re.compile(r"[ \t]*+")
_BLANK = re.compile(r"[ \t]*+(?:#[^\n]*+)?")
_BLANK_LINES = re.compile(r"(?:[ \t\n]++|#[^\n]*+)*+")
_ODD_SPACES = re.compile(f"[{_ODD}]+")
_PART = re.compile(r"""[A-Za-z0-9_-]++|"(?:[^"\\\n]|\\[^\n])*+"|'[^'\n]*+'""")
_STRINGS = {
    '"""': re.compile(r'"""(?:[^"\\]|\\.|"{1,2}(?!"))*+"{3,5}', re.DOTALL),
    "'''": re.compile(r"'''(?:[^']|'{1,2}(?!'))*+'{3,5}"),
    '"': re.compile(r'"(?:[^"\\\n]|\\[^\n])*+"'),
    "'": re.compile(r"'[^'\n]*+'"),
}
_REST = re.compile(r"[^#\n]*")
_ITEM = re.compile(r"[^,\[\]{}#\n]*")
_CURLY_ITEM = re.compile(f"[{CURLY}][^{CURLY}\n]*[{CURLY}]")
_COMMA_DIGITS = re.compile(r",[ \t]*[0-9]+[ \t]*(?=[,}])")
_NAME = r"""(?:[A-Za-z0-9_-]++|"[^"\n]*"|'[^'\n]*')"""
NEXT_STATEMENT = re.compile(
    rf"^[ \t]*(?:\[\[?[ \t]*[A-Za-z][^\n,]*$|{_NAME}(?:[ \t]*\.[ \t]*{_NAME})*+[ \t]*=)", re.MULTILINE
)
"""A line that can only be a new statement: where the walk goes on after it was lost."""


class Abandoned(Exception):
    """The statement cannot be understood further; the walk goes on at `resume`."""

    def __init__(self, resume: int) -> None:
        super().__init__()
        self.resume = resume


class GivenUp(Exception):
    """Nothing after this can be understood, or there are mistakes enough."""


class Values:
    """The walk over keys and values; `at` is how far it has come."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.lines = Lines(text)
        self.findings: list[Finding] = []
        self.given_up = False

    # Saying what is wrong, and going on.

    def note(self, at: int, code: str, message: str, hint: str = "") -> None:
        """Keep a mistake."""
        self.findings.append(Finding(at, code, message, hint))
        if len(self.findings) >= MOST_FINDINGS:
            self.given_up = True
            raise GivenUp

    def line_end(self, at: int) -> int:
        """Give the offset at which the line ends."""
        end = self.text.find("\n", at)
        return len(self.text) if end < 0 else end

    def line_number(self, at: int) -> int:
        """Give the line, counted from 1."""
        return self.lines.place(at).line

    def next_line(self) -> Abandoned:
        """Abandon the statement; the next line is sound."""
        return Abandoned(self.line_end(self.at) + 1)

    def next_statement(self) -> Abandoned:
        """Abandon the statement; what follows may still be a part of it."""
        found = NEXT_STATEMENT.search(self.text, min(self.line_end(self.at) + 1, len(self.text)))
        return Abandoned(found.start() if found else len(self.text))

    # The spaces between.

    def gap(self, lines: bool = False, comments: bool = True) -> str:
        """Pass over spaces and comments, and over line ends where asked; give the character that follows."""
        pattern = _BLANK_LINES if lines else _BLANK if comments else _SPACE
        while True:
            match = pattern.match(self.text, self.at)
            self.at = match.end() if match else self.at
            odd = _ODD_SPACES.match(self.text, self.at)
            if not odd:
                return self.text[self.at : self.at + 1]
            number = ord(odd.group()[0])
            self.note(
                self.at,
                "no-break-space",
                f"There is an invisible character here (U+{number:04X}) that looks like a space or like nothing; "
                "TOML takes only ordinary spaces.",
                "Delete it and type an ordinary space.",
            )
            self.at = odd.end()

    # Keys.

    def key(self) -> Key | None:
        """Pass over a dotted key; None, with `at` where it breaks, if it is none."""
        key: Key = []
        while True:
            match = _PART.match(self.text, self.at)
            if not match:
                return None
            raw = match.group()
            if raw[0] == '"':
                key.append((self._unescaped(raw), self.at))
            else:
                key.append((raw.strip("'") if raw[0] == "'" else raw, self.at))
            self.at = match.end()
            if len(key) > MOST_DEPTH:
                self.too_deep(key[0][1])
            if self.gap(comments=False) != ".":
                return key
            self.at += 1
            self.gap(comments=False)

    def _unescaped(self, raw: str) -> str:
        if "\\" not in raw:
            return raw[1:-1]
        wrong = False
        for finding in escapes(raw, several_lines=False):
            self.note(self.at + finding.at, *finding[1:])
            wrong = True
        if wrong:
            return raw[1:-1]
        import tomllib

        return str(tomllib.loads(f"k = {raw}")["k"])

    def pair(self, table: Node, depth: int) -> None:
        """Pass over `key = value` and put it into its table."""
        start = self.at
        key = self.key()
        if key is None or self.text[self.at : self.at + 1] != "=":
            key = self._mended_key(start, key, depth)
        else:
            self.at += 1
        value = self.value(key[0][1], depth, key[-1][0])
        try:
            add_value(table, key, value)
        except Taken as taken:
            self.taken(key, taken)

    def taken(self, key: Key, taken: Taken) -> None:
        """Say that something of this name is there already, and where."""
        name, at = key[taken.part]
        line = self.line_number(taken.earlier.at if taken.earlier.made is Made.HEADER else taken.earlier.key)
        if taken.part < len(key) - 1:
            self.note(
                at,
                "duplicate-key",
                f"{safely(name)} was given a value on line {line}, so nothing more can be put inside it here.",
                "Give one of them another name.",
            )
            return
        self.note(
            at,
            "duplicate-key",
            f"{safely(name)} is said twice in the same table: first on line {line}, and here again.",
            "Keep one of them. If this one belongs to another table, that table's [header] is missing above it.",
        )

    def _mended_key(self, start: int, key: Key | None, depth: int) -> Key:
        """Say what is wrong with a key; give what was meant if that is plain, `at` being at the value."""
        line = self.text[start : self.line_end(start)]
        sign = self.text[self.at : self.at + 1]
        if key and sign == ":":
            rest = line[self.at + 1 - start :].strip()
            self.note(
                self.at,
                "colon",
                "There is a colon (:) where TOML needs an equals sign (=).",
                f"Write: {safely(line[: self.at - start].strip())} = {safely(rest, 60)}"
                if rest[:1] in "\"'["
                else "",
            )
            self.at += 2 if self.text.startswith(":=", self.at) else 1
            return key
        left, equals, right = line.partition("=")
        name = left.strip()
        if equals and not name:
            self.note(
                start, "missing-key", "There is no name before the equals sign (=).", "Write: name = value"
            )
            raise self._after_inner(depth)
        if (
            equals
            and len(name) <= 120
            and not any(sign in name for sign in "\"'#{}" + (",[]" if depth else ""))
        ):
            self.at = start + len(left) + 1
            self._strange_key(start, name, right)
            return [(name, start)]
        self._no_equals(start, key, line)
        raise self._after_inner(depth)

    def _after_inner(self, depth: int) -> Abandoned:
        return self.next_statement() if depth else self.next_line()

    def _strange_key(self, start: int, name: str, right: str) -> None:
        if name[0] in CURLY or name[-1] in CURLY:
            self.note(
                start,
                "curly-quotes",
                f'This quote is a curly one ({name[0]}). TOML needs the straight one: "…"',
                f"Write: {safely(straightened(name), 60)} = …",
            )
            return
        value = right.strip()
        self.note(
            start,
            "unquoted-key",
            f"The name {safely(name, 60)} needs quotes: without them a name has only letters a–z, digits, - and _.",
            f"Write: {quoted(safely(name, 60))} = {value if len(value) <= 40 and value.isprintable() else '…'}",
        )

    def _no_equals(self, start: int, key: Key | None, line: str) -> None:
        plain = safely(line.strip())
        rest = line[self.at - start :].strip()
        if line[:1] in CURLY:
            self.note(
                start,
                "curly-quotes",
                f'This quote is a curly one ({line[0]}). TOML needs the straight one: "…"',
            )
        elif key and rest:
            value = rest if rest[0] in "\"'[{" or bare_value(rest, "") is None else quoted(rest)
            name = safely(line[: self.at - start].strip())
            self.note(
                self.at,
                "missing-equals",
                f"There is no equals sign (=) after {name}.",
                f"Write: {name} = {safely(value, 60)}",
            )
            if value is not rest:
                raise self.next_statement()
        else:
            self.note(
                start,
                "missing-equals",
                f"There is no equals sign (=) in this line: {plain}",
                "A line is name = value, or a [table], or a comment that starts with #. Text over several lines "
                'stands between """ and """.',
            )
            raise self.next_statement()

    # Values.

    def value(self, key_at: int, depth: int, key: str = "") -> Node:
        """Pass over one value."""
        sign = self.gap(comments=False)
        start = self.at
        node = Node(Made.VALUE, key_at, start)
        if sign in ('"', "'"):
            self._string(start, sign, depth, key)
        elif sign == "[":
            self._deeper(depth)
            self._array(node, depth + 1)
        elif sign == "{":
            self._deeper(depth)
            self._inline(node, depth + 1)
        else:
            self._bare(start, depth, key)
        return node

    def _deeper(self, depth: int) -> None:
        if depth >= MOST_DEPTH:
            self.too_deep(self.at)

    def too_deep(self, at: int) -> None:
        """Stop the whole walk: nothing of ours nests like this."""
        self.note(
            at,
            "too-deep",
            f"Tables and brackets are nested more than {MOST_DEPTH} deep here.",
            "Nothing in this format goes deeper than three.",
        )
        raise GivenUp

    def _string(self, start: int, sign: str, depth: int, key: str) -> None:
        mark = sign * 3 if self.text.startswith(sign * 3, start) else sign
        match = _STRINGS[mark].match(self.text, start)
        if not match:
            self._unclosed(start, mark, key)
        else:
            raw = match.group()
            if sign == '"' and "\\" in raw:
                for finding in escapes(raw, len(mark) == 3):
                    self.note(start + finding.at, *finding[1:])
            self.at = match.end()

    def _unclosed(self, start: int, mark: str, key: str) -> None:
        if len(mark) == 3:
            self.note(
                start,
                "unclosed-text",
                f"The text that opens here with {mark} is never closed.",
                f"Put {mark} after its last word.",
            )
            raise GivenUp
        line = self.text[start : self.line_end(start)].rstrip()
        if line[-1] in CURLY:
            self.note(
                start + len(line) - 1,
                "curly-quotes",
                f"The text opens with a straight quote ({mark}) but closes with a curly one ({line[-1]}). "
                f"TOML needs the straight one at both ends.",
                f"Write: {safely(key)} = {safely(straightened(line), 60)}" if key else "",
            )
            raise self.next_statement()
        self.note(
            start,
            "unclosed-text",
            f"The text that opens here with {mark} is not closed on this line.",
            f"Put {mark} after its last word. A text over several lines opens and closes with three: {mark * 3}",
        )
        raise self.next_statement()

    def _bare(self, start: int, depth: int, key: str) -> None:
        match = (_CURLY_ITEM.match(self.text, start) if depth else None) or (_ITEM if depth else _REST).match(
            self.text, start
        )
        raw = match.group().rstrip() if match else ""
        self.at = start + len(raw)
        if not raw:
            self._nothing(start, depth, key)
            return
        finding = bare_value(raw, key)
        if finding:
            self.note(start, *finding[1:])
            if raw[0] in CURLY and raw[-1] not in CURLY:
                raise self.next_statement()

    def _nothing(self, start: int, depth: int, key: str) -> None:
        after = f"{safely(key)} =" if key else "this"
        self.note(
            start,
            "missing-value",
            f"Nothing stands after {after}." if key else "There is no value here.",
            f'Write a value: {safely(key)} = "…"'
            if key
            else "Take out the comma too many, or write the value.",
        )
        if depth:
            raise self.next_statement()

    def _array(self, node: Node, depth: int) -> None:
        node.items = []
        start = self.at
        self.at += 1
        while True:
            sign = self._next_in_list(start, "list", "[", "]")
            if sign == "]":
                self.at += 1
                return
            item_at = self.at
            node.items.append(self.value(item_at, depth))
            before = self.at
            sign = self.gap(lines=True)
            if sign == ",":
                self.at += 1
            elif sign and sign != "]":
                self._no_comma(start, item_at, before, sign)

    def _next_in_list(self, start: int, what: str, opened: str, closed: str) -> str:
        """Go to the next item; a line that can only be a new statement shows that the end was forgotten."""
        before = self.at
        sign = self.gap(lines=True)
        if not sign or (sign not in "\"'0123456789{]}," and self._at_statement(before)):
            self.unclosed(start, what, opened, closed, self.at)
        return sign

    def _at_statement(self, before: int) -> bool:
        line = self.text.rfind("\n", before, self.at) + 1
        return line > 0 and NEXT_STATEMENT.match(self.text, line) is not None

    def unclosed(self, start: int, what: str, opened: str, closed: str, resume: int) -> None:
        """Say that a bracket is never closed; the walk goes on in the line of `resume`."""
        where = f"before line {self.line_number(resume)}" if resume < len(self.text) else "anywhere"
        self.note(
            start,
            "unclosed-bracket",
            f"The {what} that opens here with {opened} is not closed {where}.",
            f"Put {closed} after its last entry.",
        )
        raise Abandoned(self.text.rfind("\n", 0, resume) + 1 if resume < len(self.text) else resume)

    def _no_comma(self, start: int, item_at: int, before: int, sign: str) -> None:
        crossed = self.text.find("\n", before, self.at) >= 0
        if crossed and sign not in "\"'{" and self._at_statement(before):
            self.unclosed(start, "list", "[", "]", self.at)
        if sign == "=" and self.text.rfind("\n", start, item_at) >= 0:
            self.unclosed(start, "list", "[", "]", item_at)
        if sign in "\"'[{" or crossed:
            self.note(
                self.at,
                "missing-comma",
                "There is no comma before this entry of the list.",
                "Put a comma between.",
            )
            return
        self.stray(item_at)
        raise self.next_statement()

    def _inline(self, node: Node, depth: int) -> None:
        node.inside = {}
        start = self.at
        self.at += 1
        broken = -1
        comma = -1
        while True:
            before = self.at
            sign = self.gap(lines=True)
            if broken < 0:
                broken = self.text.find("\n", before, self.at)
            if not sign or sign == "[":
                self.unclosed(start, "table", "{", "}", self.at)
            if sign == "}":
                break
            self.pair(node, depth)
            before = self.at
            sign = self.gap(lines=True)
            line = self.text.find("\n", before, self.at)
            if line >= 0 and sign not in (",", "}"):
                self.unclosed(start, "table", "{", "}", self.at)
            broken = line if broken < 0 else broken
            if sign == "}":
                comma = -1
                break
            if sign != ",":
                self.stray(before)
                raise self.next_statement()
            comma = self.at
            self._decimal_comma(before)
            self.at += 1
        self.at += 1
        self._newer_toml(broken, comma)

    def _decimal_comma(self, before: int) -> None:
        match = _COMMA_DIGITS.match(self.text, self.at)
        if match and self.text[before - 1].isdigit():
            self.note(
                self.at,
                "decimal-comma",
                "A number has a decimal comma here. TOML needs a decimal point.",
                "Write 1.5, not 1,5.",
            )
            self.at = match.end() - 1

    def _newer_toml(self, broken: int, comma: int) -> None:
        if broken >= 0:
            self.note(
                broken,
                "toml-1-1",
                "A line ends inside the curly brackets; TOML 1.0 wants all of { … } on one line.",
                "Join the lines, from { to }.",
            )
        elif comma >= 0:
            self.note(
                comma,
                "toml-1-1",
                "There is a comma before the closing curly bracket; TOML 1.0 has none there.",
                "Take this comma out.",
            )

    def stray(self, value_at: int) -> None:
        """Say what is wrong with what follows a value that has ended."""
        rest = self.text[self.at : self.line_end(self.at)].strip()
        shown = safely(rest)
        if self.text[value_at] in "\"'" and rest[0] not in ",;=:]})/":
            self.note(
                self.at,
                "quote-in-text",
                f"The text has ended at the quote before this; outside it stands: {shown}",
                'A quote inside a text needs a backslash before it: \\"…\\" – or write curly ones there: “…”.',
            )
        else:
            self.note(
                self.at, "extra-text", f"The value has ended, but this follows it: {shown}", _leftover(rest)
            )


def _leftover(rest: str) -> str:
    if rest[0] in ",;" and len(rest) == 1:
        return f"Take out the {'comma' if rest == ',' else 'semicolon'}: a line ends without one."
    if rest[0] == ",":
        return 'Several values are a list and need square brackets: ["…", "…"]'
    if rest.startswith("//"):
        return "A comment starts with #."
    return "Each name = value has a line of its own; take the rest out or put it on the next line."
