"""Quantities: read exactly, converted exactly, shown as people write them."""

from __future__ import annotations

from contextlib import suppress
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.errors import Refused
from assistant.workings.units import as_json, exact, kind_of, show, spellings, to_unit

KINDS = (
    "length",
    "power",
    "share",
    "temperature",
    "temperature difference",
    "slope",
    "pressure",
    "flow",
    "volume",
    "time",
    "mass",
)
UNITS = [unit for kind in KINDS for unit in spellings(kind) if unit not in ("degrees", "1 in 40")]
EXACT = st.fractions(min_value=-1000, max_value=1000, max_denominator=1000)


@pytest.mark.parametrize(
    "text", ["12.7 cm", "12.7cm", "127 mm", "5 in", '5"', "5 ″", "5 inches", "0.127 m", "127"]
)
def test_one_length_however_it_is_written(text: str) -> None:
    assert to_unit(text, "mm", bare=True) == 127


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("1/2 inch", "mm", "12.7"),
        ("½ in", "mm", "12.7"),
        ("1 1/2 in", "mm", "38.1"),
        ("1-1/2 in", "mm", "38.1"),
        ("1½″", "mm", "38.1"),
        ("1/3 in", "in", "1/3"),
        ("1' 6\"", "mm", "457.2"),
        ("1 ft 6 1/2 in", "mm", "469.9"),
        ("6 ft", "mm", "1828.8"),
        ("+30 cm", "mm", "300"),
        ("−5 mm", "mm", "-5"),
        (".5 in", "mm", "12.7"),
        ("1e3 mm", "m", "1"),
        ("24 kw", "kW", "24"),
        ("3600000 MJ/h", "kW", "1000000"),
        ("0.012 %", "ppm", "120"),
        ("2 mbar", "Pa", "200"),
        ("98.6 °F", "°C", "37"),
        ("-40 C", "°F", "-40"),
        ("1 in 40", "mm per m", "25"),
        ("1:40", "mm/m", "25"),
        ("2.5 cm/m", "mm per m", "25"),
        ("1/4 in per ft", "mm/m", "125/6"),
        ("1 litre", "ml", "1000"),
        ("50 l", "m³", "0.05"),
        ("1 m3/h", "m³/h", "1"),
        ("1 ft³/h", "m³/h", "0.028316846592"),
        ("2 min", "s", "120"),
    ],
)
def test_conversions_are_exact(text: str, unit: str, value: str) -> None:
    assert to_unit(text, unit) == Fraction(value)


@pytest.mark.parametrize("degrees", ["2.5 degrees", "2.5°", "2.5 deg"])
def test_an_angle_becomes_a_slope(degrees: str) -> None:
    # 1000 tan 2.5° (trigonometry)
    assert float(to_unit(degrees, "mm per m")) == pytest.approx(43.661, abs=5e-4)
    assert to_unit(degrees, "degrees") == Fraction(5, 2)


def test_a_btu_is_the_international_one() -> None:
    assert float(to_unit("80000 Btu/h", "kW")) == pytest.approx(23.4457, abs=1e-4)


@pytest.mark.parametrize(
    ("text", "unit", "found", "hint"),
    [
        ("12,7 cm", "mm", "comma", "write a point"),
        ("5 kg", "mm", "not a quantity in mm", "mm, cm, m, in or ft"),
        ("5 in 40", "mm", "not a quantity in mm", "in or ft"),
        ("5 mm", "petals", "not a quantity in petals", 'the number and "petals"'),
        ("5 petals", "mm", "not a quantity in mm", "mm, cm"),
        ("1 in", "mm per m", "not a quantity in mm per m", "1 in 40"),
        ("1 in 0", "mm per m", "not a slope", "1 in 40"),
        ("90°", "mm per m", "cannot be", "between"),
        ("5 mm", None, "behind its number", "the number alone"),
        ("nan", "mm", "not a number", "127"),
        ("inf", "mm", "not a number", "127"),
        ("", "mm", "not a number", "127"),
        ("about 5", "mm", "not a number", "127"),
        ("1.2.3 mm", "mm", "not a number", "127"),
        ("1_000 mm", "mm", "not a quantity", "mm, cm"),
        ("٣ mm", "mm", "not a number", "127"),
        ("1/0 in", "mm", "divides by nothing", "127"),
        ("1e400 mm", "mm", "beyond anything", "exponent"),
        ("9" * 5000, "mm", "more than 30 digits", "as it was measured"),
        ("1e" + "9" * 5000, "mm", "more than 30 digits", "as it was measured"),
    ],
)
def test_what_cannot_be_read_is_refused_with_what_to_write(
    text: str, unit: str | None, found: str, hint: str
) -> None:
    with pytest.raises(Refused) as refused:
        to_unit(text, unit, bare=True)
    assert found in refused.value.message
    assert hint in refused.value.hint
    assert len(refused.value.message) < 120


def test_a_bare_number_needs_leave_to_be_in_the_unit() -> None:
    assert to_unit("127", "mm", bare=True) == 127
    assert to_unit("127", None) == 127
    with pytest.raises(Refused) as refused:
        to_unit("127", "mm")
    assert refused.value.hint == 'write "127 mm" or the number alone'


def test_a_unit_that_no_table_holds_is_taken_as_text() -> None:
    assert to_unit("3 widgets", "widgets") == 3
    assert to_unit("1 widget", "Widgets") == 1
    assert to_unit("4 turns per day", "turns per day") == 4
    assert kind_of("widgets") is None


@given(EXACT, st.sampled_from(UNITS), st.sampled_from(UNITS))
def test_there_and_back_is_the_same_number(value: Fraction, one: str, other: str) -> None:
    if kind_of(one) != kind_of(other):
        with pytest.raises(Refused):
            to_unit(f"{value} {one}", other)
        return
    there = to_unit(f"{value.numerator}/{value.denominator} {one}", other)
    assert abs(there) < 10**15
    back = to_unit(f"{there.numerator}/{there.denominator} {other}", one) if _short(there) else value
    assert back == value


def _short(value: Fraction) -> bool:
    return max(len(str(abs(value.numerator))), len(str(value.denominator))) <= 30


@given(st.text(max_size=30), st.sampled_from([None, "mm", "mm per m", "°C", "petals"]), st.booleans())
def test_any_text_is_read_or_refused(text: str, unit: str | None, bare: bool) -> None:
    with suppress(Refused):
        assert isinstance(to_unit(text, unit, bare=bare), Fraction)


@pytest.mark.parametrize(
    ("value", "unit", "shown"),
    [
        (Fraction(27, 2), "mm", "13.5 mm"),
        (300, "mm", "300 mm"),
        (13.499999999999998, "mm", "13.5 mm"),
        (Decimal("0.0040"), None, "0.004"),
        (Fraction(1, 3), "mm", "0.3333 mm"),
        (Fraction(120, 92000), None, "0.001304"),
        (Fraction(-5), "mm", "−5 mm"),
        (Fraction(-1, 10**40), "mm", "0 mm"),
        (Fraction(5, 2), "°", "2.5°"),
        (10**18, None, "1000000000000000000"),
        ("unbounded", "mm", "unbounded"),
        (None, "mm", "not known"),
    ],
)
def test_shown_as_people_write_it(value: object, unit: str | None, shown: str) -> None:
    assert show(value, unit) == shown  # type: ignore[arg-type]


def test_shown_to_so_many_decimals() -> None:
    assert show(Fraction("493.4048"), "ml", 1) == "493.4 ml"
    assert show(Fraction(5, 2), None, 0) == "3"


@given(st.decimals(min_value=-10000, max_value=10000, places=3))
def test_what_is_shown_is_read_back(value: Decimal) -> None:
    assert abs(to_unit(show(value), None) - Fraction(value)) <= Fraction(1, 2000)


def test_numbers_become_exact_and_other_things_are_refused() -> None:
    assert exact(0.1) == exact(Decimal("0.1")) == Fraction(1, 10)
    assert exact(-0.0) == 0
    for value in (True, "5", None, float("nan"), Decimal("Infinity"), 1e300, Decimal("1e-99999999")):
        with pytest.raises(Refused):
            exact(value)


def test_results_as_json_holds_them() -> None:
    value = {"a": Fraction(4, 2), "b": [Decimal("0.5"), None, "unbounded"], "c": ({"d": Fraction(27, 2)},)}
    assert as_json(value) == {"a": 2, "b": [0.5, None, "unbounded"], "c": [{"d": 13.5}]}
    assert isinstance(as_json(Fraction(2)), int)
