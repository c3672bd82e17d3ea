"""The number that was meant where a limit was written with a sign, a word, a unit or two ends."""

from __future__ import annotations

import re

__all__ = ["LIMITS", "written_end"]

LIMITS = ("least", "most", "below", "up-to")
"""Keys of a tree whose value is one end of a stretch of numbers."""

_NUMBER = r"([+-]?[0-9]+(?:[.,][0-9]+)?)"
_UNIT = r"\s*[A-Za-zµ°²³%/]*\.?"
_ONE = re.compile(rf"(?P<sign>[^0-9+-]*?)\s*{_NUMBER}(?P<unit>{_UNIT})")
_TWO = re.compile(
    rf"(?:from\s+|between\s+)?{_NUMBER}{_UNIT}\s*(?:-|–|—|\.\.+|…|to|and|bis)\s*{_NUMBER}{_UNIT}",
    re.IGNORECASE,
)
_LESS = frozenset({"<", "less than", "lower than", "smaller than", "under", "below", "fewer than"})
_AT_MOST = frozenset(
    {"≤", "<=", "=<", "⩽", "up to", "up-to", "upto", "at most", "most", "max", "max.", "maximum", "to", "not more than",
     "no more than", "until"}
)  # fmt: skip
_MORE = frozenset(
    {">", "≥", ">=", "=>", "⩾", "over", "above", "more than", "greater than", "at least", "min", "min.", "minimum", "from",
     "not less than", "no less than"}
)  # fmt: skip
_ABOUT = frozenset({"", "=", "==", "~", "≈", "about", "ca.", "ca", "approx", "approx.", "exactly"})


def written_end(key: str, raw: str) -> str:
    """How a limit that is more than a number is written rightly; nothing where it cannot be told."""
    if key not in LIMITS or len(raw) > 80:
        return ""
    two = _TWO.fullmatch(raw)
    if two:
        low, high = (part.replace(",", ".") for part in two.groups())
        if key in ("below", "up-to"):
            return f"Write the upper end alone: {key} = {high}. A band begins where the one above it ends."
        return f"Write each end on a line of its own: least = {low} and most = {high}"
    one = _ONE.fullmatch(raw)
    if one is None:
        return ""
    number, sign = one[2].replace(",", "."), one["sign"].strip().casefold()
    if sign not in _LESS | _AT_MOST | _MORE | _ABOUT:
        return ""
    counted = ", counted in the `unit` of the question" if one["unit"].strip() else ""
    if key in ("least", "most"):
        what = "the smallest" if key == "least" else "the largest"
        return f"Write the number alone{counted}: {key} = {number} – it already means {what} that can be."
    if sign in _MORE:
        return (
            f"A band has an upper end alone: below = {number} means less than {number}. What is more falls into the "
            "next band; the last one has no end."
        )
    if sign in _LESS or (key == "below" and sign in _ABOUT):
        already = " already" if key == "below" else ""
        return f"Write the number alone{counted}: below = {number} – it{already} means less than {number}."
    already = " already" if key == "up-to" else ""
    return f"Write the number alone{counted}: up-to = {number} – it{already} means {number} or less."
