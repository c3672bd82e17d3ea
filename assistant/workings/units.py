"""Lengths, powers, slopes and the rest, converted exactly.

Every quantity is a `fractions.Fraction`: "12.7 cm", "127 mm" and "5 in" are one and the same value, so a
limit is met or not met by what was written. Only an angle cannot be exact, as it passes through a tangent:
it is rounded to nine decimals, and nothing else is.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from fractions import Fraction
from typing import NamedTuple

from assistant.errors import Refused
from assistant.workings.numerals import as_json, clipped, exact, show, split_number, tidied

__all__ = ["as_json", "converted", "exact", "kind_of", "show", "spellings", "to_unit"]

ANGLE_DECIMALS = 9
"""Decimals kept when a slope in degrees becomes one in mm per m, or the other way."""


class Unit(NamedTuple):
    """One unit: its kind, and `base = value * scale + offset` in the base unit of that kind."""

    kind: str
    scale: Fraction
    offset: Fraction


# kind: (spelling shown to people, scale to the base unit, other spellings)
_TABLE: dict[str, tuple[tuple[str, str | Fraction, str], ...]] = {
    "length": (
        ("mm", "1", "millimetre millimetres millimeter millimeters mms"),
        ("cm", "10", "centimetre centimetres centimeter centimeters cms"),
        ("m", "1000", "metre metres meter meters"),
        ("in", "25.4", "inch inches ins \" ″ ” “ ''"),
        ("ft", "304.8", "foot feet ' ′ ’ ‘"),
    ),
    "power": (
        ("kW", "1000", "kilowatt kilowatts"),
        ("W", "1", "watt watts"),
        # The international table Btu of 1055.05585262 J, the one that gas appliances are rated in.
        ("Btu/h", Fraction("1055.05585262") / 3600, "btu/hr btuh btu/hour btus/h btus/hr"),
        ("MJ/h", Fraction(1_000_000, 3600), "mj/hr mj/hour"),
    ),
    "share": (
        ("%", "10000", "percent pct"),
        ("ppm", "1", ""),
    ),
    "temperature": (
        ("°C", "1", "c degc ºc celsius centigrade"),
        ("°F", Fraction(5, 9), "f degf ºf fahrenheit"),
    ),
    "temperature difference": (("K", "1", "kelvin kelvins"),),
    "slope": (
        ("mm/m", "1", "mm/metre mm/meter"),
        ("cm/m", "10", "cm/metre cm/meter"),
        ("in/ft", Fraction(1000, 12), "inch/foot inches/foot inch/ft inches/ft"),
    ),
    "pressure": (
        ("Pa", "1", "pascal pascals"),
        ("mbar", "100", "millibar millibars mb"),
    ),
    "flow": (
        ("m³/h", "1", "m3/h m3/hr m³/hr m^3/h"),
        ("ft³/h", Fraction("0.3048") ** 3, "ft3/h ft3/hr ft³/hr ft^3/h cfh"),
    ),
    "volume": (
        ("ml", "1", "millilitre millilitres milliliter milliliters cm³ cm3"),
        ("l", "1000", "litre litres liter liters ltr"),
        ("m³", "1000000", "m3 m^3"),
        ("ft³", Fraction("30.48") ** 3, "ft3 ft^3"),
    ),
    "time": (
        ("s", "1", "sec secs second seconds"),
        ("min", "60", "mins minute minutes"),
        ("h", "3600", "hr hrs hour hours"),
    ),
    "mass": (("kg", "1", "kilo kilos kilogram kilograms"),),
}
_FAHRENHEIT_OFFSET = Fraction(-160, 9)
_ANGLE = frozenset(("°", "º", "deg", "degs", "degree", "degrees"))
_SPELLED = {
    text.casefold(): Unit(kind, Fraction(scale), _FAHRENHEIT_OFFSET if name == "°F" else Fraction(0))
    for kind, rows in _TABLE.items()
    for name, scale, others in rows
    for text in (name, *others.split())
}

_ONE_IN = re.compile(r"(?P<rise>[0-9./ ]+?)\s*(?:\bin\b|(?<=[0-9])in(?=[ 0-9])|:)\s*(?P<run>[0-9].*)")
_FEET_AND_INCHES = re.compile(
    r"(?P<feet>[0-9./ -]+?)\s*(?:ft\.?|feet|foot|'|′|’)\s*(?P<inches>[0-9].*)", re.I
)


def to_unit(text: str, unit: str | None, *, bare: bool = False) -> Fraction:
    """Read `text` as a quantity in `unit`, exactly.

    `unit` None asks for a plain number and refuses any unit. Otherwise a number without a unit is taken to
    be in `unit` only where `bare` is true, as for typed words; a text out of a file has to say its unit. A
    unit that no table holds is accepted where it is the one asked for, as text. Raises `Refused` with what
    to write instead.
    """
    if unit is None:
        number, rest = split_number(text)
        if rest:
            raise Refused(
                f'"{clipped(text)}" has "{clipped(rest)}" behind its number', "write the number alone"
            )
        return number
    together = _written_together(text, unit)
    if together is not None:
        return together
    number, rest = split_number(text)
    if not rest:
        if bare:
            return number
        hint = f'write "{clipped(text.strip())} {unit}" or the number alone'
        raise Refused(f'"{clipped(text)}" does not say its unit', hint)
    if _same_text(rest, unit):
        return number
    kind = kind_of(unit)
    if kind is None or kind_of(rest) != kind:
        fits = f'the number and "{unit}"' if kind is None else f"it in {_listed(spellings(kind))}"
        raise Refused(f'"{clipped(text)}" is not a quantity in {unit}', f"write {fits}")
    return _from_base(_to_base(number, rest), unit)


def kind_of(unit: str) -> str | None:
    """The kind of quantity a unit measures ("length", "slope", …), or None for one that no table holds."""
    found = _find(unit)
    if found is not None:
        return found.kind
    return "slope" if tidied(unit).casefold() in _ANGLE else None


def converted(number: Fraction, unit: str | None, into: str | None) -> Fraction:
    """A number of one unit in another; a number without a unit is in the other already.

    Raises `Refused` where the two are not of one kind.
    """
    if not unit or not into or _same_text(unit, into):
        return number
    if kind_of(unit) is None or kind_of(unit) != kind_of(into):
        raise Refused(f"{unit} cannot be turned into {into}", f"ask for it in {into}")
    return _from_base(_to_base(number, unit), into)


def spellings(kind: str) -> tuple[str, ...]:
    """The units of one kind, each as it is shown to people."""
    names = tuple(name for name, _, _ in _TABLE[kind])
    return (*names, "degrees", "1 in 40") if kind == "slope" else names


def _written_together(text: str, unit: str) -> Fraction | None:
    """What two numbers say together, in `unit`: a slope as "1 in 40" or "1:40", a length as "1 ft 6 in"."""
    plain, kind = tidied(text), kind_of(unit)
    if kind == "slope" and (found := _ONE_IN.fullmatch(plain)):
        (rise, left), (run, right) = split_number(found["rise"]), split_number(found["run"])
        if left or right or run <= 0:
            raise Refused(f'"{clipped(text)}" is not a slope', 'write it like "1 in 40"')
        return _from_base(1000 * rise / run, unit)
    if kind == "length" and (found := _FEET_AND_INCHES.fullmatch(plain)):
        (feet, left), (inches, right) = split_number(found["feet"]), split_number(found["inches"])
        if not left and feet >= 0 and _find(right) == _SPELLED["in"]:
            return _from_base(_to_base(feet, "ft") + _to_base(inches, "in"), unit)
    return None


def _find(unit: str) -> Unit | None:
    """A unit of the table by its spelling; case and a closing full stop make no difference."""
    return _SPELLED.get(tidied(unit).casefold().removesuffix("."))


def _same_text(left: str, right: str) -> bool:
    """Whether two unit texts read the same; a plural `s` makes no difference."""
    first, second = (tidied(text).casefold().removesuffix("s") for text in (left, right))
    return first == second


def _to_base(number: Fraction, unit: str) -> Fraction:
    """From a unit of the table, or degrees of slope, to the base unit of its kind."""
    found = _find(unit)
    if found is not None:
        return number * found.scale + found.offset
    if abs(number) >= 90:
        raise Refused(
            f"a slope of {show(number)} degrees cannot be", "write an angle between −90 and 90 degrees"
        )
    return _rounded(1000 * math.tan(math.radians(number)))


def _from_base(base: Fraction, unit: str) -> Fraction:
    """From the base unit of a kind to one of its units, or to degrees of slope."""
    found = _find(unit)
    if found is not None:
        return (base - found.offset) / found.scale
    return _rounded(math.degrees(math.atan(base / 1000)))


def _rounded(value: float) -> Fraction:
    """A value that passed through a tangent, to `ANGLE_DECIMALS`."""
    return Fraction(f"{value:.{ANGLE_DECIMALS}f}")


def _listed(names: Iterable[str]) -> str:
    """Names as a person lists them: "mm, cm or in"."""
    *most, last = names
    return f"{', '.join(most)} or {last}" if most else last
