"""What can be wrong with a single value: a number, a word without quotes, an escape inside a text.

Each finding is put in the words of someone who shows a beginner what to write instead.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import NamedTuple

from assistant.tree.limits import MOST_DECIMAL_DIGITS, MOST_DIGITS, MOST_EXPONENT
from assistant.tree.mistakes import safely

__all__ = ["CURLY", "DIRECTIONS", "Finding", "bare_value", "escapes", "is_control", "quoted", "straightened"]

CURLY = "“”„‟‘’‚‛«»‹›″′´`＂＇"
"""Quotes that a word processor or a phone puts where TOML needs a straight one."""

DIRECTIONS = (*range(0x202A, 0x202F), *range(0x2066, 0x206A))
"""Code points that turn the direction of writing: what a terminal shows is then not what the file says."""

_INTEGER = re.compile(
    r"[+-]?(?:0|[1-9](?:_?[0-9])*+)|0x[0-9A-Fa-f](?:_?[0-9A-Fa-f])*+|0o[0-7](?:_?[0-7])*+|0b[01](?:_?[01])*+"
)
_DECIMAL = re.compile(
    r"[+-]?(?:0|[1-9](?:_?[0-9])*+)(?=[.eE])(?:\.[0-9](?:_?[0-9])*+)?(?:[eE]([+-]?[0-9](?:_?[0-9])*+))?"
)
_DATE = re.compile(
    r"[0-9]{4}-[0-9]{2}(?![0-9])|[0-9]{1,2}([./-])[0-9]{1,2}\1[0-9]{2,4}(?![0-9])|[0-9]{2}:[0-9]{2}"
)
_DECIMAL_COMMA = re.compile(r"([+-]?[0-9]+)\s*,\s*([0-9]+)")
_SHAPE = re.compile(r"([+-]?)([0-9]*)(\.[0-9]*)?((?:[eE][+-]?[0-9]+)?)")
_FRACTION = re.compile(r"[0-9]+\s*/\s*[0-9]+")
_WITH_UNIT = re.compile(r"([+-]?[0-9]+(?:[.,][0-9]+)?) ?[A-Za-z°²³%]+")
_PAIR = re.compile(r"""[A-Za-z0-9_-]+\s*=\s*(?:"[^"]*"|'[^']*'|\[[^\]]*\]|[0-9.]+)""")
_NUMBERS = ("least", "most", "below", "up-to", "effort")
"""Keys of a tree whose value is a number without a unit."""
_ESCAPE = re.compile(r"\\(u[0-9A-Fa-f]{4}|U[0-9A-Fa-f]{8}|[ \t]*\n|.)", re.DOTALL)


class Finding(NamedTuple):
    """One thing wrong, at an offset of the text it was looked for in."""

    at: int
    code: str
    message: str
    hint: str = ""
    also: tuple[tuple[int, str], ...] = ()
    """Other offsets that it is about, and what stands there."""


def is_control(number: int) -> bool:
    """Tell whether a code point is a control character or half of a pair: no text of ours holds one."""
    if number in (9, 10):
        return False
    return number < 0x20 or 0x7F <= number < 0xA0 or 0xD800 <= number < 0xE000 or number in DIRECTIONS


def quoted(text: str) -> str:
    """Write text as a TOML string, in the quotes that need the fewest backslashes."""
    if '"' not in text and "\\" not in text:
        return f'"{text}"'
    if "'" not in text:
        return f"'{text}'"
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def straightened(raw: str) -> str:
    """Take the curly quotes off both ends of a text and put straight ones there."""
    return quoted(raw.strip(CURLY + "\"' \t,"))


def escapes(raw: str, several_lines: bool) -> Iterator[Finding]:
    """Find what is wrong with the backslashes of a string in double quotes."""
    for match in _ESCAPE.finditer(raw):
        found = match.group(1)
        if found in ("t", "n", '"', "\\") or (several_lines and found[-1] == "\n"):
            continue
        if found in ("b", "f", "r"):
            yield Finding(
                match.start(),
                "control-character",
                f"\\{found} puts a control character into the text, which could disturb the screen.",
                "Take it out. For a new line write \\n.",
            )
        elif len(found) > 1 and found[0] in "uU":
            yield from _code_point(match.start(), found)
        elif found in ("e", "x"):
            yield Finding(
                match.start(),
                "toml-1-1",
                f"\\{found} belongs to TOML 1.1; trees are written in TOML 1.0.",
                "Type the character itself, or \\u and four hex digits.",
            )
        else:
            yield Finding(
                match.start(),
                "backslash",
                f"The backslash before {_named(found)} means nothing here: inside straight double quotes "
                "a backslash starts a special sign.",
                "For a backslash itself write two: \\\\ – or put the text in single quotes: '…'.",
            )


def _named(found: str) -> str:
    names = {" ": "the space", "\t": "the tab", "\n": "the end of the line"}
    return names.get(found[-1] if found.isspace() else found, f"“{safely(found)}”")


def _code_point(at: int, found: str) -> Iterator[Finding]:
    number = int(found[1:], 16)
    if number > 0x10FFFF or 0xD800 <= number < 0xE000:
        yield Finding(
            at, "backslash", f"\\{found} is not the number of any character.", "Type the character itself."
        )
    elif is_control(number):
        yield Finding(
            at,
            "control-character",
            f"\\{found} puts a control character into the text, which "
            + ("shows it in another order." if number in DIRECTIONS else "could disturb the screen."),
            "Take it out.",
        )


def bare_value(raw: str, key: str) -> Finding | None:
    """Find what is wrong with a value that stands without quotes or brackets; None if it is right."""
    if raw in ("true", "false"):
        return None
    number = _INTEGER.fullmatch(raw)
    if number:
        digits = len(raw.replace("_", "").lstrip("+-"))
        return _giant(f"has {digits} digits") if digits > MOST_DIGITS else None
    number = _DECIMAL.fullmatch(raw)
    if number:
        return _decimal(raw, number.group(1) or "0")
    return _not_a_value(raw, f"{safely(key)} = " if key else "")


def _giant(what: str) -> Finding:
    return Finding(0, "giant-number", f"This number {what}: no flue needs one like it.", "Check the digits.")


def _decimal(raw: str, exponent: str) -> Finding | None:
    digits = sum(character.isdigit() for character in re.split("[eE]", raw)[0])
    if digits > MOST_DECIMAL_DIGITS:
        return _giant(f"has {digits} digits")
    shift = exponent.replace("_", "").lstrip("+-").lstrip("0")
    if len(shift) > 2 or int(shift or "0") > MOST_EXPONENT:
        return _giant(f"has the exponent {safely(exponent)}")
    return None


def _not_a_value(raw: str, key: str) -> Finding:
    shown = safely(raw)
    if raw[0] in CURLY:
        return Finding(
            0,
            "curly-quotes",
            f'This quote is a curly one ({raw[0]}). TOML needs the straight one: "…"',
            f"Write: {key}{safely(straightened(raw), 60)}",
        )
    in_quotes = f"Put it in straight quotes: {key}{safely(quoted(raw), 60)}"
    if _DATE.match(raw):
        return Finding(
            0,
            "unquoted-date",
            f"{shown} is a date or time without quotes; here it has to be text.",
            in_quotes,
        )
    if raw.lstrip("+-").lower() in ("inf", "nan", "infinity"):
        return Finding(
            0,
            "not-a-number",
            f"{shown} is not a number that anyone can measure.",
            "Write the number in digits.",
        )
    if raw.lower() in ("true", "false"):
        return Finding(0, "true-false", f"{shown} has to be in small letters.", f"Write: {key}{raw.lower()}")
    if len(raw) > 1 and raw[-1] in ",;" and bare_value(raw[:-1].rstrip(), "") is None:
        sign = "comma" if raw[-1] == "," else "semicolon"
        return Finding(
            len(raw) - 1,
            "extra-text",
            f"There is a {sign} at the end of this line.",
            f"Take the {sign} out: {key}{raw[:-1].rstrip()}",
        )
    comma = _DECIMAL_COMMA.fullmatch(raw)
    if comma:
        whole, part = comma.groups()
        thousand = f" – or, if thousands were meant: {key}{whole}{part}" if len(part) == 3 else ""
        return Finding(
            0,
            "decimal-comma",
            f"{shown} has a decimal comma. TOML needs a decimal point.",
            f"Write: {key}{safely(whole)}.{safely(part)}{thousand}",
        )
    shape = _SHAPE.fullmatch(raw)
    if shape and any(character.isdigit() for character in raw):
        return _misshapen(shown, key, shape)
    if _FRACTION.match(raw):
        a_decimal = "In a tree write it as a decimal number, as exact as it has to be, such as 0.333."
        return Finding(
            0, "unquoted-text", f"{shown} is a fraction, and TOML has none.", f"{in_quotes} {a_decimal}"
        )
    return _unquoted(raw, key, in_quotes)


def _misshapen(shown: str, key: str, shape: re.Match[str]) -> Finding:
    sign, whole, part, exponent = (group or "" for group in shape.groups())
    part = part if len(part) > 1 else ""
    better = f"{sign.replace('+', '')}{whole.lstrip('0') or '0'}{part}{exponent}"
    why = (
        "starts with a zero too many"
        if len(whole) > 1 and whole[0] == "0"
        else "needs a digit on both sides of the decimal point"
    )
    return Finding(
        0,
        "number-shape",
        f"{shown} {why}.",
        f'Write: {key}{safely(better)} – or, if it is text: {key}"{shown}"',
    )


def _unquoted(raw: str, key: str, in_quotes: str) -> Finding:
    shown = safely(raw)
    from assistant.tree.ends import written_end

    end = written_end(key.rstrip(" ="), raw)
    if end:
        with_unit = _WITH_UNIT.fullmatch(raw) is not None
        what = "a number with a unit; here it has to be" if with_unit else "more than a number; here stands"
        return Finding(
            0, "number-unit" if with_unit else "number-sign", f"{shown} is {what} the number alone.", end
        )
    number = _WITH_UNIT.fullmatch(raw)
    if number and key == "effort = ":
        hint = f"Write a number from 1 (minutes) to 5 alone: {key}2, for instance."
        return Finding(
            0, "number-unit", f"{shown} is a number with a unit; here it has to be the number alone.", hint
        )
    if number and key.rstrip(" =") in _NUMBERS:
        plain = number[1].replace(",", ".")
        return Finding(
            0,
            "number-unit",
            f"{shown} is a number with a unit; here it has to be the number alone.",
            f"Write the number alone, counted in the `unit` of the question: {key}{plain}",
        )
    pair = _PAIR.fullmatch(raw)
    if pair and key:
        return Finding(
            0,
            "missing-brace",
            f"{shown} is a name and a value, and has no curly brackets.",
            f"Write: {key}{{ {safely(raw, 60)} }}",
        )
    if raw[-1] in "\"'" and raw.count(raw[-1]) == 1:
        text = raw[:-1].strip()
        return Finding(
            0,
            "missing-quote",
            f"The text {safely(text)} has a quote at its end but none at its start.",
            f"Write: {key}{safely(quoted(text), 60)}",
        )
    if raw[-1] in CURLY:
        in_quotes = f"Put it in straight quotes: {key}{safely(straightened(raw), 60)}"
    what = "text without quotes" if re.search(r"\s", raw) else "a word without quotes"
    if raw[0].isdigit():
        what = "more than a number, and has no quotes"
    if raw.lower() in ("yes", "no", "on", "off"):
        plain = f"{key}{'true' if raw.lower() in ('yes', 'on') else 'false'}"
        in_quotes = (
            f"Write: {plain}"
            if key == "must-answer = "
            else f"{in_quotes} – or, where yes or no is asked: {plain}"
        )
    return Finding(0, "unquoted-text", f"{shown} is {what}.", in_quotes)
