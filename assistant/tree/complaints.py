"""The words for what is wrong with the shape of a TOML text: keys, quotes, brackets, headers.

Each function gives one finding, in the words of someone who shows a beginner what to write instead.
"""

from __future__ import annotations

import re

from assistant.tree.ends import written_end
from assistant.tree.mistakes import safely
from assistant.tree.positions import Made, Taken
from assistant.tree.scalars import CURLY, Finding, bare_value, quoted, straightened

__all__ = [
    "bad_header",
    "colon",
    "curly",
    "header_taken",
    "key_taken",
    "no_equals",
    "nothing",
    "odd_space",
    "strange_key",
    "stray",
    "unclosed_bracket",
    "unclosed_text",
    "uneven_brackets",
]

_COMPARED = re.compile(r"(least|most|below|up-to)\s*([<>])")
_DASHED = frozenset(
    {"applies-to", "branch-on", "find-out", "must-answer", "not-sure", "put-right", "review-by", "up-to"}
)
"""Names of a tree's lines that are two words."""
_TABLES = r"question|recall|working|visit|each|finding|source|requirement"
_SPACED = re.compile(
    rf"({_TABLES})s?\s*[\s:/.>]\s*(.+?)(?:\s*[\s:/.>]\s*(answer|band|not[ _-]?sure)s?)?", re.IGNORECASE
)
"""A header whose names are parted by something else than a dot."""
_NOT_IN_ID = re.compile(r"[^a-z0-9]+")


def odd_space(at: int, sign: str) -> Finding:
    """A no-break space or something else that cannot be told from a space."""
    return Finding(
        at,
        "no-break-space",
        f"There is an invisible character here (U+{ord(sign):04X}). TOML takes only ordinary spaces.",
        "Delete it and type an ordinary space.",
    )


def curly(at: int, sign: str, better: str = "") -> Finding:
    """A curly quote where a straight one is needed."""
    return Finding(
        at,
        "curly-quotes",
        f'This quote is a curly one ({sign}). TOML needs the straight one: "…"',
        f"Write: {better}" if better else "Type the straight quote at both ends.",
    )


def colon(at: int, name: str, rest: str) -> Finding:
    """`name: value`."""
    plain = rest if rest[:1] in ('"', "'", "[") or not rest or bare_value(rest, "") is None else quoted(rest)
    return Finding(
        at,
        "colon",
        "There is a colon (:) where TOML needs an equals sign (=).",
        f"Write: {safely(name)} = {safely(plain or '…', 60)}",
    )


def strange_key(at: int, name: str, value: str) -> Finding:
    """A key that has to stand in quotes."""
    if name[0] in CURLY or name[-1] in CURLY:
        sign = name[0] if name[0] in CURLY else name[-1]
        return curly(at, sign, f"{safely(straightened(name), 60)} = {safely(value or '…', 60)}")
    compared = _COMPARED.fullmatch(name)
    end = written_end(compared[1], f"{compared[2]}= {value}") if compared else ""
    if compared and end:
        return Finding(at, "number-sign", f"After {compared[1]} stands = alone, and then the number.", end)
    dashed = re.sub(r"[\s_]+", "-", name.strip().casefold())
    if dashed in _DASHED:
        message = f"There is a dash in this name: {dashed}."
        return Finding(at, "unquoted-key", message, f"Write: {dashed} = {safely(value or '…', 60)}")
    return Finding(
        at,
        "unquoted-key",
        f"The name {safely(name, 60)} needs quotes: without them a name has only a–z, digits, - and _.",
        f"Write: {safely(quoted(name), 60)} = {safely(value or '…', 60)}",
    )


_HEADER = re.compile(
    r"[\[({<]*\s*((?:question|recall|working|visit|each|finding|requirement|source)\.[a-z0-9.-]+|tree|verdict|moved)\s*[\])}>]*"
)
_ARROW = re.compile(r"^(?:is|to|->|=>|-->|→|:=?|-)\s+")
"""What people write where the equals sign should be."""
"""A line that was meant as a header and lacks its brackets."""


def no_equals(start: int, at: int, name: str, rest: str, line: str) -> Finding:
    """A line without an equals sign: after a name, or altogether."""
    header = _HEADER.fullmatch(line.strip())
    if header:
        several = header[1] in ("verdict", "moved") or header[1].endswith((".answer", ".band"))
        write = f"[[{header[1]}]]" if several else f"[{header[1]}]"
        return Finding(
            start, "missing-bracket", "This looks like a header without its brackets.", f"Write: {write}"
        )
    end = written_end(name, rest) if name else ""
    if end:
        return Finding(at, "missing-equals", f"There is no equals sign (=) after {safely(name)}.", end)
    if line.strip() == "must-answer":
        message = "There is no equals sign (=) after must-answer."
        return Finding(start, "missing-equals", message, "Write: must-answer = true")
    rest = _ARROW.sub("", rest)
    if rest[:1] in ("'", '"'):
        rest = rest[: rest.find(rest[0], 1) + 1] or rest
    if name and rest:
        value = rest if _starts_value(rest) else quoted(rest)
        return Finding(
            at,
            "missing-equals",
            f"There is no equals sign (=) after {safely(name)}.",
            f"Write: {safely(name)} = {safely(value, 60)}",
        )
    return Finding(
        start,
        "missing-equals",
        f"There is no equals sign (=) in this line: {safely(line.strip())}",
        "A line is name = value, or a [table], or a comment that starts with #. "
        'Text over several lines stands between """ and """.',
    )


def _starts_value(rest: str) -> bool:
    return rest[0] in "\"'[{" or bare_value(rest, "") is None


def key_taken(at: int, name: str, taken: Taken, last: bool, line: int, header: int) -> Finding:
    """A key that is there already, on `line`; `header` is where its table begins."""
    name = safely(name)
    if not last:
        return Finding(
            at,
            "duplicate-key",
            f"{name} has its value or its own header on line {line}; nothing more can be put inside it here.",
            "Give one of them another name, or write this line under that header.",
            ((taken.earlier.key, "here already"),),
        )
    if taken.earlier.made is Made.VALUE:
        return Finding(
            at,
            "duplicate-key",
            f"{name} is said twice in the same table: first on line {line}, and here again.",
            "Keep one of them. If this one belongs to another table, move it up to that one, or write its [header] above it.",
            ((taken.earlier.key, "said first here"), (header, "the table that both belong to now")),
        )
    return Finding(
        at,
        "duplicate-key",
        f"{name} is a table since line {line}, so it cannot have a value here.",
        "Give one of them another name.",
        ((taken.earlier.key, "a table here"),),
    )


def header_taken(at: int, name: str, part: str, taken: Taken, double: bool, line: int) -> Finding:
    """A table that is there already, or that something else stands in the way of, on `line`."""
    if taken.earlier.made is Made.VALUE:
        message = f"{safely(part)} has a value on line {line}, so it cannot be a table here."
        hint = "Give one of them another name."
    elif double or taken.earlier.made is Made.LIST:
        message = f"{name} has double brackets in one place and single ones in another: see line {line}."
        hint = f"Write [[{name}]] each time if there can be several, else [{name}] once."
    else:
        message = f"[{name}] is here a second time; the first is on line {line}."
        hint = "Give this one another name, or move its lines up to the first."
    first = taken.earlier.key if taken.earlier.made is Made.VALUE else taken.earlier.at
    return Finding(at, "duplicate-table", message, hint, ((first, "the first is here"),))


def nothing(at: int, key: str) -> Finding:
    """A value that is missing."""
    if key:
        name = safely(key)
        return Finding(at, "missing-value", f"Nothing stands after {name} =", f'Write a value: {name} = "…"')
    return Finding(
        at, "missing-value", "There is no value here.", "Write the value, or take out the comma too many."
    )


def unclosed_text(at: int, mark: str, line: str, before: str) -> Finding:
    """A text whose closing quote is missing; `before` says up to where it was looked for."""
    if len(mark) == 1 and line[-1] in CURLY:
        return Finding(
            at + len(line) - 1,
            "curly-quotes",
            f"The text opens with a straight quote ({mark}) but closes with a curly one ({line[-1]}).",
            f"Straight ones at both ends: {safely(straightened(line), 60)}",
        )
    hint = f"Put {mark} after its last word."
    if len(mark) == 1:
        hint += f" A text over several lines opens and closes with three: {mark * 3}"
    return Finding(at, "unclosed-text", f"The text that opens here with {mark} is not closed {before}.", hint)


def unclosed_bracket(at: int, sign: str, before: str) -> Finding:
    """A list or an inline table whose closing bracket is missing."""
    what, closing = ("list", "]") if sign == "[" else ("table", "}")
    return Finding(
        at,
        "unclosed-bracket",
        f"The {what} that opens here with {sign} is not closed {before}.",
        f"Put {closing} after its last entry.",
    )


_TEXTS = re.compile(r"""(?:"[^"\\]*"|'[^']*')(?:\s*,\s*(?:"[^"\\]*"|'[^']*'))+""")


_AND = re.compile(r"(?:and|or|&&?|\|\|?)\s+[\w-]+\s*=")
_QUOTED = re.compile(r"""\"[^"\\\\]*\"|'[^']*'""")
_JOINED = re.compile(r"""((?:"[^"\\]*"|'[^']*')(?:\s*(?:or|and|/|\|)\s*(?:"[^"\\]*"|'[^']*'))+)\s*}?""")


def stray(at: int, value: str, rest: str, whole: str) -> Finding:
    """Something that follows a value on its line; `value` is the first character of the value, `whole` both."""
    joined = _JOINED.fullmatch(whole)
    if joined:
        return Finding(
            at,
            "extra-text",
            f"The value has ended, but this follows it: {safely(rest)}",
            f"Several values are a list: [{safely(', '.join(_QUOTED.findall(joined[1])), 60)}]",
        )
    if _AND.match(rest):
        return Finding(
            at,
            "extra-text",
            f"The value has ended, but this follows it: {safely(rest)}",
            'A comma stands between two names and values, not a word: { … = "…", … = "…" }',
        )
    if value in "\"'" and rest[0] not in ",;=:]})/\"'":
        hint = 'A quote inside a text needs a backslash before it: \\"…\\" – or write it curly there: “…”.'
        if value == "'":
            text = whole[1:].removesuffix("'")
            hint = "An apostrophe ends a text in single quotes. Put the text in double ones" + (
                "." if '"' in text else f': "{safely(text, 60)}"'
            )
        return Finding(
            at,
            "quote-in-text",
            f"The text has ended at the quote before this; outside it stands: {safely(rest)}",
            hint,
        )
    if rest in (",", ";"):
        sign = "comma" if rest == "," else "semicolon"
        return Finding(
            at,
            "extra-text",
            f"There is a {sign} at the end of this line.",
            f"Take the {sign} out: a line ends without one.",
        )
    if rest[0] in ",\"'":
        texts = safely(whole, 60) if _TEXTS.fullmatch(whole) else '"…", "…"'
        hint = f"Several values are a list and need square brackets: [{texts}]"
    elif rest.startswith("//"):
        hint = "A comment starts with #."
    else:
        hint = "Each name = value has a line of its own; take the rest out or put it on the next line."
    return Finding(at, "extra-text", f"The value has ended, but this follows it: {safely(rest)}", hint)


def uneven_brackets(at: int, name: str, double: bool, several: bool) -> Finding:
    """A header with more brackets on one side than on the other."""
    opened, closed = ("two square brackets", "one") if double else ("one square bracket", "two")
    return Finding(
        at,
        "missing-bracket",
        f"This header opens with {opened} but closes with {closed}.",
        f"Write: [[{name}]]" if several else f"Write: [{name}]",
    )


def bad_header(start: int, at: int, double: bool, line: str, name: str, inner: str) -> Finding:
    """A header without a name or a closing bracket, or with something strange in its name."""
    opens, closes = ("[[", "]]") if double else ("[", "]")
    if not inner:
        return Finding(
            start, "empty-header", "This header has no name in its brackets.", f"Write: {opens}name{closes}"
        )
    if name and line[at - start : at - start + 1] in ("", "#", "="):
        return Finding(
            start,
            "missing-bracket",
            f"This header has no closing bracket ({closes}).",
            f"Write: {opens}{safely(name, 60)}{closes}",
        )
    shown = inner
    spaced = _SPACED.fullmatch(inner[:200])
    if spaced:
        parts = [spaced[1], spaced[2], *([spaced[3].replace("sure", "-sure")] if spaced[3] else [])]
        inner = ".".join(_NOT_IN_ID.sub("-", part.lower()).strip("-") for part in parts)
    plain = ".".join(
        _NOT_IN_ID.sub("-", part.lower()).strip("-") or "name" for part in inner[:200].split(".")
    )
    return Finding(
        at,
        "curly-quotes" if inner[0] in CURLY else "unquoted-key",
        f"The header {opens}{safely(shown)}{closes} has a character that cannot stand here: "
        "a name has only a–z, digits and hyphens, with a dot between names.",
        f"Write for example: {opens}{safely(plain, 60)}{closes}",
    )
