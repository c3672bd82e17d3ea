"""TOML documents made at random, written in every style TOML 1.0 has, each knowing where its things stand."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from hypothesis import strategies as st

Path = tuple[str | int, ...]

PIECES = ["a", "é", "ß ", " # ", "[x]", "=", "'", '"', "\\", "\n", "\t", "𝒳", ",", "}", "{", "]", ".", "name"]
NAMES = ["k", "K-", "_", "7", "é", "a/b.", "x y", "q\\"]
NUMBERS = [
    "0",
    "-17",
    "+3",
    "1_000",
    "0xBEEF",
    "0o17",
    "0b101",
    "1.5",
    "-0.25",
    "6.02e23",
    "1e-9",
    "true",
    "false",
]


@dataclass
class Written:
    """A text being written, the data it stands for, and the offsets of its keys and values."""

    text: str = ""
    data: dict[str, Any] = field(default_factory=dict)
    values: dict[Path, tuple[int, Any]] = field(default_factory=dict)
    keys: dict[Path, tuple[int, str]] = field(default_factory=dict)


def _basic(text: str, several: bool) -> str:
    out = text.replace("\\", "\\\\").replace('"', '\\"').replace("\t", "\\t")
    return out if several else out.replace("\n", "\\n")


def string(draw: st.DrawFn, text: str, several: bool = True) -> str:
    """Write a text in one of the four kinds of string that can hold it."""
    styles = [f'"{_basic(text, False)}"', '"' + "".join(f"\\U{ord(sign):08X}" for sign in text) + '"']
    if "'" not in text and "\n" not in text:
        styles.append(f"'{text}'")
    if several:
        styles += [f'"""\n{_basic(text, True)}"""', f'"""\\\n   {_basic(text.lstrip(), False)}"""']
        if "'" not in text:
            styles.append(f"'''\n{text}'''")
    style = draw(st.sampled_from(styles))
    return style if not style.startswith('"""\\') or text == text.lstrip() else styles[0]


@st.composite
def documents(draw: st.DrawFn) -> Written:
    """Make a document."""
    out = Written()
    newline = draw(st.sampled_from(["\n", "\r\n"]))
    texts = st.lists(st.sampled_from(PIECES), max_size=4).map("".join)

    def space() -> None:
        out.text += draw(st.sampled_from(["", "", " ", "\t", "  "]))

    def blank() -> None:
        out.text += draw(st.sampled_from(["", "", "\n", " # a = [\n", "\t\n#\n", "# “é” 'x\n  "]))

    def name(number: int) -> str:
        return f"{draw(st.sampled_from(NAMES))}{number}"

    def write_key(path: Path) -> None:
        word = str(path[-1])
        bare = word.isascii() and word.replace("-", "").replace("_", "").isalnum()
        out.keys.setdefault(path, (len(out.text), word))
        out.text += word if bare and draw(st.booleans()) else string(draw, word, several=False)

    def write_value(path: Path, depth: int, one_line: bool) -> Any:
        kind = draw(st.sampled_from(["text", "text", "number", "list", "table"][: 5 if depth else 3]))
        start = len(out.text)
        value: Any
        if kind == "text":
            value = draw(texts)
            out.text += string(draw, value, several=not one_line)
        elif kind == "number":
            out.text += draw(st.sampled_from(NUMBERS))
            value = ...
        elif kind == "list":
            value = []
            out.text += "["
            count = draw(st.integers(0, 3))
            for number in range(count):
                space() if one_line else blank()
                value.append(write_value((*path, number), depth - 1, one_line))
                space() if one_line else blank()
                out.text += "," if number < count - 1 or draw(st.booleans()) else ""
            space() if one_line else blank()
            out.text += "]"
        else:
            value = {}
            out.text += "{"
            count = draw(st.integers(0, 3))
            for number in range(count):
                space()
                write_pair(path, number, depth - 1, value, one_line=True)
                space()
                out.text += "," if number < count - 1 else ""
            space()
            out.text += "}"
        out.values[path] = (start, out.text[start:])
        return value

    def write_pair(path: Path, number: int, depth: int, table: dict[str, Any], one_line: bool) -> None:
        for step in range(draw(st.sampled_from([0, 0, 0, 1, 2]))):
            path = (*path, f"d{number}{step}")
            write_key(path)
            space()
            out.text += "."
            space()
            table = table.setdefault(str(path[-1]), {})
        path = (*path, name(number))
        write_key(path)
        space()
        out.text += "="
        space()
        table[str(path[-1])] = write_value(path, depth, one_line)

    def write_section(path: Path, table: dict[str, Any]) -> None:
        for number in range(draw(st.integers(0, 3))):
            blank()
            space()
            write_pair(path, number, 3, table, one_line=False)
            space()
            out.text += draw(st.sampled_from(["\n", "# comment\n"]))

    write_section((), out.data)
    for number in range(draw(st.integers(0, 4))):
        base, several = f"h{number}", draw(st.booleans())
        sub = draw(st.sampled_from([None, "deep", "é x"]))
        elements = draw(st.integers(1, 3)) if several else 1
        for element in range(elements):
            start = len(out.text)
            out.text += "[[" if several else "["
            space()
            path: Path = (base,)
            write_key(path)
            if sub:
                space()
                out.text += "."
                space()
                path = (base, sub)
                write_key(path)
            space()
            out.text += "]]\n" if several else "]\n"
            table = out.data.setdefault(base, {} if sub else [] if several else {})
            if sub:
                table = table.setdefault(sub, [] if several else {})
            if several:
                table.append({})
                table = table[-1]
                path = (*path, element)
            out.values[path] = (start, "[")
            write_section(path, table)
    out.text = out.text.replace("\n", newline)
    return out
