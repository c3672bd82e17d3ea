"""How wide a text is at most, and its lines where it has to fit.

Invariant: no line that is given back is wider than the room, by the measure it was wrapped with.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Callable
from functools import cache

__all__ = ["NARROW", "Width", "columns", "ems", "pieces", "wrapped"]

Width = Callable[[str], float]
"""How wide a text is."""

WIDTHS = {
    14: "'ijl", 15: "IJ", 16: " ,.", 17: "/:;\\|", 18: "f", 19: "-", 20: "()[]t", 21: "!r", 23: '"', 25: "*_`",
    27: "?sz", 28: "Lc", 29: "Fk", 30: "vxy", 31: "PTYaeo", 32: "$0123456789ESbdghnpqu{}", 33: "K", 35: "ABCRVXZ",
    37: "U", 38: "HN", 39: "&DG", 40: "OQ", 41: "w", 42: "#+<=>^~→", 44: "M", 48: "%", 49: "m", 50: "@W",
}  # fmt: skip
"""Signs by their width in fiftieths of an em, in the widest of the fonts that a picture asks for."""
EMS = {sign: fiftieths / 50 for fiftieths, signs in WIDTHS.items() for sign in signs}
BOLDER = {**dict.fromkeys(EMS, 0.09), **dict.fromkeys("&PWYw", 0.13)}
"""How many ems wider a sign is in bold, at most; one outside the table, a quarter of its width."""
NARROW = 8
"""Signs that fit where one of the usual width does, at most, but for those that take no room."""
WIDEST = 1.45
"""Ems that a sign outside the table fills at most, for each letter that it is made of."""


@cache
def _em(sign: str, bold: bool) -> float:
    if bold:
        wide = _em(sign, False)
        return wide + BOLDER.get(sign, wide / 4)
    if sign in EMS:
        return EMS[sign]
    parts = unicodedata.normalize("NFKD", sign)
    if unicodedata.combining(sign):
        return 0
    if parts[0] in EMS and all(unicodedata.combining(part) for part in parts[1:]):
        return EMS[parts[0]] + 0.02
    return max(WIDEST, 0.8 * len(parts))


def ems(text: str, bold: bool = False) -> float:
    """How wide a text is at most, as a multiple of its size."""
    return sum(_em(sign, bold) for sign in text)


def columns(text: str) -> int:
    """How many columns of a terminal a text fills."""
    if text.isascii():
        return len(text)
    return sum(
        0 if unicodedata.combining(sign) else 2 if unicodedata.east_asian_width(sign) in "WF" else 1
        for sign in text
    )


def wrapped(text: str, room: float, width: Width = columns, most: int | None = None) -> list[str]:
    """A text of one line in lines that fit, broken at spaces; of a text longer than `most` lines the end is left out."""
    lines: list[str] = []
    line, reach = "", 0.0
    if most is not None:
        text = text[: int(most * room * NARROW) + 2]
    for word in text.split():
        for piece in pieces(word, room, width):
            wide = width(piece)
            if line and reach + width(" ") + wide <= room:
                line, reach = f"{line} {piece}", reach + width(" ") + wide
            else:
                if line:
                    lines.append(line)
                line, reach = piece, wide
        if most is not None and len(lines) > most:
            break
    lines.append(line)
    if most is not None and len(lines) > most:
        return [*lines[: most - 1], _cut(lines[most - 1], room, width)]
    return lines


def pieces(word: str, room: float, width: Width) -> list[str]:
    """A word in pieces that fit, broken after a dash if there is one, each of one sign at least."""
    if width(word) <= room:
        return [word]
    found, piece, reach = list[str](), "", 0.0
    for sign in word:
        wide = width(sign)
        if piece and reach + wide > room:
            dash = piece.rfind("-") + 1 or len(piece)
            found.append(piece[:dash])
            piece = piece[dash:]
            reach = width(piece)
        piece, reach = piece + sign, reach + wide
    return [*found, piece]


def _cut(line: str, room: float, width: Width) -> str:
    while line and width(line + "…") > room:
        line = line[:-1]
    return line.rstrip() + "…"
