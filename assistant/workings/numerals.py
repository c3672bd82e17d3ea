"""Numbers as people write them, and values as people read them.

Reading is exact (`fractions.Fraction`) and refuses what cannot be a measurement: nan, infinity, a decimal
comma, an exponent or a string of digits beyond reason. Showing rounds as a person would, halves away from
zero.
"""

from __future__ import annotations

import math
import re
from decimal import Decimal
from fractions import Fraction

from assistant.errors import Refused

__all__ = ["as_json", "clipped", "exact", "show", "split_number", "tidied"]

MOST_DIGITS = 30
"""Digits in one number: far beyond any measurement, short enough to stay quick."""
MOST_EXPONENT = 12
"""Powers of ten written with an `e`."""

_SUCH_AS = "write a number, such as 127, 13.5 or 1/3"
_VULGAR = dict(zip("½¼¾⅛⅜⅝⅞⅓⅔", ("1/2", "1/4", "3/4", "1/8", "3/8", "5/8", "7/8", "1/3", "2/3"), strict=True))
_NUMBER = re.compile(
    r"(?P<sign>[+-]?)\s*(?:"
    r"(?:(?P<whole>[0-9]+)(?:\s+|-))?(?P<over>[0-9]+)\s*/\s*(?P<under>[0-9]+)"
    r"|(?P<decimal>[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE](?P<power>[+-]?[0-9]+)(?![A-Za-z0-9]))?"
    r")(?![0-9./])"
)
_COMMA = re.compile(r"[0-9]\s*,\s*[0-9]")


def split_number(text: str) -> tuple[Fraction, str]:
    """The number in front of a text and whatever stands behind it: "1 1/2 in" → (3/2, "in").

    Raises `Refused` where no number stands in front, or one that cannot be a measurement.
    """
    plain = tidied(text)
    if _COMMA.search(plain):
        raise Refused(
            f'"{clipped(text)}" has a comma in its number',
            "write a point for decimals, such as 12.7, and no commas",
        )
    found = _NUMBER.match(plain)
    if found is None:
        raise Refused(f'"{clipped(text)}" is not a number', _SUCH_AS)
    if any(len(part or "") > MOST_DIGITS for part in found.groups()):
        raise Refused(
            f'"{clipped(text)}" has more than {MOST_DIGITS} digits', "write the number as it was measured"
        )
    if found["decimal"]:
        power = int(found["power"] or 0)
        if abs(power) > MOST_EXPONENT:
            raise Refused(
                f'"{clipped(text)}" is beyond anything that can be measured', "write it without an exponent"
            )
        number = Fraction(found["decimal"]) * Fraction(10) ** power
    elif int(found["under"]) == 0:
        raise Refused(f'"{clipped(text)}" divides by nothing', _SUCH_AS)
    else:
        number = int(found["whole"] or 0) + Fraction(int(found["over"]), int(found["under"]))
    return (-number if found["sign"] == "-" else number), plain[found.end() :].strip()


def tidied(text: str) -> str:
    """One spelling for signs that mean the same (minus, fractions, spaces), and " per " as a slash."""
    for sign, written in _VULGAR.items():
        text = text.replace(sign, f" {written}")
    text = text.replace("−", "-").replace("–", "-").replace("⁄", "/")
    return re.sub(r"\s+per\s+", "/", " ".join(text.split()))


def clipped(text: str) -> str:
    """What was written, short enough to quote back."""
    return text if len(text) <= 40 else f"{text[:37]}…"


def exact(value: object) -> Fraction:
    """An exact value from a number already read; a float counts as the decimal that it prints.

    Takes int, Fraction, Decimal and float. Raises `Refused` for anything else: text, true, false, nan,
    infinity.
    """
    if isinstance(value, bool) or not isinstance(value, int | Fraction | Decimal | float):
        raise Refused(f"{value!r} is not a number", _SUCH_AS)
    if not isinstance(value, float | Decimal):
        return Fraction(value)
    decimal = Decimal(str(value))
    if not decimal.is_finite() or (decimal and abs(decimal.adjusted()) > MOST_DIGITS):
        raise Refused(f"{value} is beyond anything that can be measured", _SUCH_AS)
    return Fraction(decimal)


def show(
    value: Fraction | Decimal | int | float | str | None, unit: str | None = None, places: int | None = None
) -> str:
    """A value as a person writes it: "13.5 mm", "300 mm", "0.004"; no stray rounding, no exponent.

    Three decimals at most from 1 upwards and four telling digits below it, unless `places` says how many
    decimals. A word ("unbounded") stays a word and None is "not known".
    """
    if value is None:
        return "not known"
    if isinstance(value, str):
        return value
    number = exact(value)
    size = abs(number)
    if places is None:
        leading_zeros = -Decimal(float(size)).adjusted() - 1 if 0 < size < 1 else -1
        places = min(4 + leading_zeros, MOST_DIGITS)
    units = math.floor(size * 10**places + Fraction(1, 2))
    digits = str(units).rjust(places + 1, "0")
    text = f"{digits[:-places]}.{digits[-places:]}".rstrip("0").rstrip(".") if places else digits
    if number < 0 and units:
        text = f"−{text}"
    if unit is None:
        return text
    return f"{text}{unit}" if unit == "°" else f"{text} {unit}"


def as_json(value: object) -> object:
    """A result as JSON holds it: exact numbers become int or float, lists and tables item by item."""
    if isinstance(value, Decimal | Fraction):
        number = Fraction(value)
        return number.numerator if number.denominator == 1 else float(number)
    if isinstance(value, dict):
        return {key: as_json(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [as_json(inner) for inner in value]
    return value
