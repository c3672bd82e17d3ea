"""The walk over values: texts, numbers, lists and inline tables, and the `key = value` that they stand in."""

from __future__ import annotations

import re

from assistant.tree import complaints
from assistant.tree.positions import Key, Made, Node, Taken, add_value
from assistant.tree.scalars import CURLY, Finding, bare_value, escapes
from assistant.tree.walk import MOST_DEPTH, Abandoned, GivenUp, Walk

__all__ = ["Values"]

_STRINGS = {
    '"""': re.compile(r'"""(?:[^"\\]|\\.|"{1,2}(?!"))*+"{3,5}', re.DOTALL),
    "'''": re.compile(r"'''(?:[^']|'{1,2}(?!'))*+'{3,5}"),
    '"': re.compile(r'"(?:[^"\\\n]|\\[^\n])*+"'),
    "'": re.compile(r"'[^'\n]*+'"),
}
_WHOLE_LINE = re.compile(r"[^#\n]*+")
_ITEM = re.compile(r"[^,\[\]{}#\n]*+")
_CURLY_ITEM = re.compile(f"[{CURLY}][^{CURLY}\n]*+[{CURLY}]")
_COMMA_DIGITS = re.compile(r"(?<=[0-9]),[0-9]++(?=[ \t]*+[,}])")


class Values(Walk):
    """The walk over keys and values; `depth` is how many brackets are open."""

    def pair(self, table: Node, depth: int = 0) -> int:
        """Pass over `key = value` and put it into its table; give the offset of the value."""
        start = self.at
        key = self.key()
        if key and self.sign() == "=":
            self.at += 1
        else:
            key = self._mended_key(start, key, depth)
        value = self._value(key[-1][1], depth, key[-1][0])
        try:
            add_value(table, key, value)
        except Taken as taken:
            name, at = key[taken.part]
            line = self.line_number(taken.earlier.key)
            self.note(complaints.key_taken(at, name, taken, taken.part == len(key) - 1, line, table.at))
        return value.at

    def _mended_key(self, start: int, key: Key | None, depth: int) -> Key:
        """Say what is wrong with a key; give what was meant if that is plain, `at` being at the value."""
        line = self.text[start : self.line_end(start)]
        before, rest = line[: self.at - start].strip(), line[self.at - start :].strip()
        left, equals, right = line.partition("=")
        name = left.strip()
        if key and self.sign() == ":":
            self.note(complaints.colon(self.at, before, "" if depth else rest.lstrip(":= ")))
            self.at += 2 if self.text.startswith(":=", self.at) else 1
            return key
        if equals and not name:
            self.note(
                Finding(
                    start,
                    "missing-name",
                    "There is no name before the equals sign (=).",
                    "Write: name = value",
                )
            )
        elif equals and len(name) <= 120 and not any(sign in name for sign in "\"'#{},[]"):
            self.at = start + len(left) + 1
            self.note(complaints.strange_key(start, name, "" if depth else right.strip()))
            return [(name, start)]
        elif line[0] in CURLY:
            self.note(complaints.curly(start, line[0]))
        else:
            finding = complaints.no_equals(start, self.at, before if key else "", rest, line)
            self.note(finding)
            if finding.at == start or rest[0] not in "\"'[{0123456789":
                raise self.next_statement()
        raise self.next_statement() if depth else self.next_line()

    def _value(self, key_at: int, depth: int, key: str = "") -> Node:
        sign = self.spaces()
        node = Node(Made.VALUE, key_at, self.at)
        if sign in ('"', "'"):
            self._string(sign)
        elif sign in ("[", "{"):
            if depth >= MOST_DEPTH:
                self.too_deep(self.at)
            if sign == "[":
                self._list(node, depth + 1)
            else:
                self._inline(node, depth + 1)
        else:
            self._bare(depth, key)
        return node

    def _string(self, sign: str) -> None:
        start = self.at
        mark = sign * 3 if self.text.startswith(sign * 3, start) else sign
        match = _STRINGS[mark].match(self.text, start)
        if match:
            raw = match.group()
            if sign == '"' and "\\" in raw:
                for finding in escapes(raw, len(mark) == 3):
                    self.note(finding._replace(at=start + finding.at))
            self.at = match.end()
            return
        line = self.text[start : self.line_end(start)].rstrip()
        self.note(
            complaints.unclosed_text(start, mark, line, "anywhere" if len(mark) == 3 else "on this line")
        )
        raise GivenUp if len(mark) == 3 else self.next_statement()

    def _bare(self, depth: int, key: str) -> None:
        start = self.at
        match = _CURLY_ITEM.match(self.text, start) if depth else None
        match = match or (_ITEM if depth else _WHOLE_LINE).match(self.text, start)
        raw = match.group().rstrip() if match else ""
        self.at = start + len(raw)
        if not raw:
            self.note(complaints.nothing(start, key))
            if depth:
                raise self.next_statement()
            return
        finding = bare_value(raw, key)
        if finding:
            self.note(finding._replace(at=start + finding.at))
            if raw[0] in CURLY and raw[-1] not in CURLY:
                raise self.next_statement()

    # Lists.

    def _list(self, node: Node, depth: int) -> None:
        node.items = []
        start = self.at
        while True:
            self.at += 1
            before = self.at
            sign = self.blank_lines()
            if not sign or (sign not in "\"'0123456789{]," and self.at_statement(before)):
                raise self._unclosed(start, self.at)
            while sign != "]":
                item = self.at
                node.items.append(self._value(item, depth))
                before = self.at
                sign = self.blank_lines()
                if sign == ",":
                    break
                if sign != "]":
                    self._no_comma(start, item, before, sign)
            else:
                self.at += 1
                return

    def _no_comma(self, start: int, item: int, before: int, sign: str) -> None:
        """Say that a comma is missing, unless what follows shows that the list should have ended."""
        crossed = self.text.find("\n", before, self.at) >= 0
        if not sign or (crossed and sign not in "\"'{" and self.at_statement(before)):
            raise self._unclosed(start, self.at)
        if sign == "=" and self.text.rfind("\n", start, item) >= 0:
            raise self._unclosed(start, item)
        if not crossed and sign not in "\"'[{":
            self._stray(item)
            raise self.next_statement()
        self.note(
            Finding(
                self.at,
                "missing-comma",
                "There is no comma before this entry of the list.",
                "Put a comma before it.",
            )
        )

    def _unclosed(self, start: int, resume: int) -> Abandoned:
        """Say that a bracket is not closed; the walk goes on with the line of `resume`."""
        finding = complaints.unclosed_bracket(start, self.text[start], self.before(resume))
        self.note(finding._replace(also=self.begins(resume)))
        return Abandoned(self.line_start(resume) if resume < len(self.text) else resume)

    # Inline tables.

    def _inline(self, node: Node, depth: int) -> None:
        node.inside = {}
        start = self.at
        comma = broken = -1
        while True:
            self.at += 1
            before = self.at
            sign = self.blank_lines()
            broken = max(broken, self.text.find("\n", before, self.at))
            if sign == "}":
                break
            if sign in ("", "["):
                raise self._unclosed(start, self.at)
            value = self.pair(node, depth)
            before = self.at
            sign = self.blank_lines()
            crossed = self.text.find("\n", before, self.at)
            broken = max(broken, crossed)
            if sign == ",":
                comma = self.at
                self._decimal_comma()
            if sign == "}" or self.sign() == "}":
                comma = -1
                break
            if sign != ",":
                if not sign or crossed >= 0:
                    raise self._unclosed(start, self.at)
                self._stray(value)
                raise self.next_statement()
        self.at += 1
        self._newer_toml(broken, comma)

    def _decimal_comma(self) -> None:
        match = _COMMA_DIGITS.match(self.text, self.at)
        if match:
            self.note(
                Finding(
                    self.at,
                    "decimal-comma",
                    "A number has a decimal comma here. TOML needs a decimal point.",
                    f"Put a point here: …{self.text[self.at - 1]}.{match.group()[1:40]}",
                )
            )
            self.at = match.end()
            self.spaces()

    def _newer_toml(self, broken: int, comma: int) -> None:
        if broken >= 0:
            message = "A line ends inside curly brackets; TOML 1.0 wants all of { … } on one line."
            self.note(Finding(broken, "toml-1-1", message, "Join the lines, from { to }."))
        elif comma >= 0:
            message = "There is a comma before the closing curly bracket; TOML 1.0 has none there."
            self.note(Finding(comma, "toml-1-1", message, "Take this comma out."))

    def _stray(self, value: int) -> None:
        """Say what is wrong with what follows a value."""
        rest = self.text[self.at : self.line_end(self.at)].strip()
        whole = self.text[value : self.line_end(self.at)].strip()
        self.note(complaints.stray(self.at, self.text[value], rest, whole))
