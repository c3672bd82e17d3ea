"""The ring round a flue and its mortar, against published figures."""

from __future__ import annotations

from fractions import Fraction

import pytest

from assistant.workings.registry import find


def test_ring_against_the_published_volume() -> None:
    # Published check, geometry: hole 127 mm, flue 100 mm, 102.5 mm deep. The published 493.5 ml is a rounding of
    # π/4 (127² − 100²) 102.5 = 493.40 ml, so it is held to within 0.1 ml.
    ring = {"hole_mm": 127, "flue_mm": 100}
    assert find("annular-gap").work(ring).results["gap_mm"] == Fraction("13.5")
    filled = find("annulus-fill").work(
        ring | {"depth_mm": Fraction("102.5"), "mix": "1:4", "waste_percent": 0}
    )
    assert float(filled.results["volume_ml"]) == pytest.approx(493.5, abs=0.1)
    assert float(filled.results["volume_ml"]) == pytest.approx(493.4048, abs=5e-5)


@pytest.mark.parametrize(
    ("sand_parts", "cement_kg", "sand_kg"),
    # Construction handbook method, per m³ of wet mortar: dry factor 1.33, cement 1440 kg/m³, sand 1600 kg/m³.
    [(3, 478.8, 1596), (4, 383.0, 1702), (5, 319.2, 1773), (6, 273.6, 1824)],
)
def test_mortar_against_the_handbook(sand_parts: int, cement_kg: float, sand_kg: float) -> None:
    given = {"hole_mm": 1500, "flue_mm": 1000, "depth_mm": 1000, "waste_percent": 0}
    results = find("annulus-fill").work(given | {"mix": f"1:{sand_parts}"}).results
    cubic_metres = float(results["volume_ml"]) / 1e6
    assert float(results["cement_kg"]) / cubic_metres == pytest.approx(cement_kg, abs=0.05)
    assert float(results["sand_kg"]) / cubic_metres == pytest.approx(sand_kg, abs=0.5)
