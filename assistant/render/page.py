"""A page written in Markdown, made to fit a terminal that is narrower than its lines.

Invariant: no word is broken unless it is wider than the terminal by itself, and a page that fits stays as it is.
"""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterator

__all__ = ["fitted"]

LEAST_WIDTH = 20
FENCE = "```"
ITEM = re.compile(r" *(?:[-*]|\d+\.) +")
ALONE = re.compile(r"#|\||<|$")
"""How a line begins that is never joined to the one above it: a heading, a row of a table, a comment, nothing."""
SET_IN = 4
"""Columns that the rest of a line of code, or of a row of a table, is moved in where it had to be broken."""


def fitted(page: str, width: int) -> str:
    """The page in lines of at most `width` columns: paragraphs and items filled anew, all else broken at spaces."""
    width = max(width, LEAST_WIDTH)
    if all(len(line) <= width for line in page.splitlines()):
        return page
    return "".join(f"{line}\n" for block in _blocks(page) for line in _filled(block, width))


def _blocks(page: str) -> Iterator[tuple[str, bool]]:
    """Paragraphs, items and single lines, each on one line; and whether it is a line of code or a row of a table."""
    held, code = "", False
    for line in page.splitlines():
        fence = line.startswith(FENCE)
        if held and (fence or code or ALONE.match(line) or ITEM.match(line)):
            yield held, False
            held = ""
        if fence or code or ALONE.match(line):
            yield line, (code and not fence) or line.startswith("|")
        else:
            held = f"{held} {line.strip()}" if held else line
        code ^= fence
    if held:
        yield held, False


def _filled(block: tuple[str, bool], width: int) -> list[str]:
    text, row = block
    if len(text) <= width:
        return [text]
    indent = re.match(r" *", text)
    item = ITEM.match(text)
    begin = (item or indent or [""])[0]
    hang = len(begin) + (SET_IN if row else 0)
    if hang >= width:
        begin, hang = "", 0
    return textwrap.wrap(
        text[len(begin) :], width, initial_indent=begin, subsequent_indent=" " * hang,
        break_on_hyphens=False, drop_whitespace=True,
    )  # fmt: skip
