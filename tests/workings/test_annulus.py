"""The ring round a flue: what it is, and what it takes to fill it."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.errors import Refused
from assistant.workings.registry import find

FILL = {"hole_mm": 127, "flue_mm": 100, "depth_mm": Fraction("102.5"), "mix": "1:4", "waste_percent": 0}


def test_the_gap_with_its_sum() -> None:
    figures = find("annular-gap").work({"hole_mm": 127, "flue_mm": 100})
    assert figures.results == {"gap_mm": Fraction(27, 2)}
    assert figures.shown == "(127 − 100) / 2 = 13.5 mm"


@pytest.mark.parametrize("name", ["annular-gap", "annulus-fill"])
@pytest.mark.parametrize("flue", [127, 152])
def test_a_flue_that_does_not_go_through_is_refused(name: str, flue: int) -> None:
    given = {each.name: FILL[each.name] for each in find(name).inputs}
    with pytest.raises(Refused) as refused:
        find(name).work(given | {"flue_mm": flue})
    assert "does not go through a hole of 127 mm" in refused.value.message
    assert "measure" in refused.value.hint


def test_each_line_of_the_sum() -> None:
    shown = find("annulus-fill").work(FILL | {"waste_percent": 10}).shown.splitlines()
    assert shown == [
        "Ring: π/4 × (127² − 100²) × 102.5 / 1000 = 493.4 ml",
        "With 10 % waste: 493.4 ml × 1.1 = 542.7 ml",
        "Dry, for mortar: 542.7 ml × 1.33 = 721.9 ml, shared 1 to 4",
        "Cement: 721.9 ml / 5 at 1440 kg/m³ = 0.21 kg",
        "Sand: 721.9 ml × 4 / 5 at 1600 kg/m³ = 0.92 kg",
        "Or cartridges, where both makers allow them: 542.7 ml / 310 ml, rounded up = 2",
    ]


@pytest.mark.parametrize("mix", ["4", "4:1:1", "1:0", "1:21", "1:4,5", "one to four", "1:", ""])
def test_a_mix_that_is_none_is_refused(mix: str) -> None:
    with pytest.raises(Refused) as refused:
        find("annulus-fill").work(FILL | {"mix": mix})
    assert "1:4" in refused.value.hint
    assert refused.value.where == "mix"


@given(
    st.fractions(min_value=1, max_value=500, max_denominator=100),
    st.fractions(min_value=Fraction(1, 100), max_value=500, max_denominator=100),
    st.fractions(min_value=1, max_value=1000, max_denominator=100),
    st.integers(0, 100),
)
def test_more_of_anything_takes_more(flue: Fraction, ring: Fraction, depth: Fraction, waste: int) -> None:
    given = {"hole_mm": flue + ring, "flue_mm": flue, "depth_mm": depth, "mix": "1:4", "waste_percent": waste}
    results = find("annulus-fill").work(given).results
    more = find("annulus-fill").work(given | {"depth_mm": depth + 1}).results
    for name in ("volume_ml", "cement_kg", "sand_kg"):
        assert 0 < results[name] < more[name]  # type: ignore[operator]
    assert isinstance(results["cartridges"], int)
    assert results["cartridges"] <= more["cartridges"]  # type: ignore[operator]
    needed = results["volume_ml"] * (1 + Fraction(waste, 100))  # type: ignore[operator]
    assert 0 <= results["cartridges"] * 310 - needed < 310  # type: ignore[operator]
