"""The ring between a flue and its hole: how wide it is, and what it takes to fill it.

The volume of the ring does not change where the flue lies off centre; the gap named here is the mean one.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from fractions import Fraction

from assistant.errors import Refused
from assistant.workings.units import show
from assistant.workings.working import Figures, Input, Result, Source, Working

__all__ = ["WORKINGS", "radial_gap"]

PI = Fraction("3.14159265358979323846264338328")
"""π to 29 decimals, so that a volume is exact for every purpose and the same on any machine."""
DRY_FACTOR = Fraction("1.33")
"""Dry materials, by volume, for one volume of wet mortar."""
CEMENT_KG_PER_M3 = 1440
SAND_KG_PER_M3 = 1600
CARTRIDGE_ML = 310

_GEOMETRY = Source("geometry", "Area of a ring: π/4 (D² − d²)", "published")
_HANDBOOK = Source(
    "mortar-handbook",
    "Construction handbook method: 1.33 m³ dry for 1 m³ wet, cement 1440 kg/m³, sand 1600 kg/m³",
    "published",
)
_HOLE = Input("hole_mm", "the diameter of the hole", "mm", above=0, most=5000)
_FLUE = Input("flue_mm", "the outside diameter of the flue", "mm", above=0, most=5000)
_MIX = re.compile(r"1\s*:\s*([0-9]{1,2}(?:\.[0-9]{1,3})?)")


def radial_gap(hole_mm: Fraction, flue_mm: Fraction) -> Fraction:
    """The gap all round a centred flue, in mm. Raises `Refused` where the flue does not fit the hole."""
    if flue_mm >= hole_mm:
        message = f"a flue of {show(flue_mm, 'mm')} does not go through a hole of {show(hole_mm, 'mm')}"
        raise Refused(message, "measure both diameters again; the hole has to be the larger one", "hole_mm")
    return (hole_mm - flue_mm) / 2


def _number(given: Mapping[str, object], name: str) -> Fraction:
    """A required number, checked before the run."""
    value = given[name]
    assert isinstance(value, Fraction)
    return value


def _gap(given: Mapping[str, object]) -> Figures:
    hole, flue = _number(given, "hole_mm"), _number(given, "flue_mm")
    gap = radial_gap(hole, flue)
    return Figures({"gap_mm": gap}, f"({show(hole)} − {show(flue)}) / 2 = {show(gap, 'mm')}")


def _fill(given: Mapping[str, object]) -> Figures:
    hole, flue = _number(given, "hole_mm"), _number(given, "flue_mm")
    depth, waste = _number(given, "depth_mm"), _number(given, "waste_percent")
    radial_gap(hole, flue)
    parts = _parts_of_sand(str(given["mix"]))
    volume_ml = PI / 4 * (hole**2 - flue**2) * depth / 1000
    needed_ml = volume_ml * (1 + waste / 100)
    dry_m3 = needed_ml / 1_000_000 * DRY_FACTOR
    cement = dry_m3 / (1 + parts) * CEMENT_KG_PER_M3
    sand = dry_m3 * parts / (1 + parts) * SAND_KG_PER_M3
    cartridges = math.ceil(needed_ml / CARTRIDGE_ML)
    ring, needed, dry_ml = (show(x, "ml", 1) for x in (volume_ml, needed_ml, dry_m3 * 1_000_000))
    shown = "\n".join(
        (
            f"Ring: π/4 × ({show(hole)}² − {show(flue)}²) × {show(depth)} / 1000 = {ring}",
            f"With {show(waste)} % waste: {ring} × {show(1 + waste / 100)} = {needed}",
            f"Dry, for mortar: {needed} × {show(DRY_FACTOR)} = {dry_ml}, shared 1 to {show(parts)}",
            f"Cement: {dry_ml} / {show(1 + parts)} at {CEMENT_KG_PER_M3} kg/m³ = {show(cement, 'kg', 2)}",
            f"Sand: {dry_ml} × {show(parts)} / {show(1 + parts)} at {SAND_KG_PER_M3} kg/m³"
            f" = {show(sand, 'kg', 2)}",
            f"Or cartridges, where both makers allow them: {needed} / {CARTRIDGE_ML} ml, rounded up ="
            f" {cartridges}",
        )
    )
    results = {"volume_ml": volume_ml, "cement_kg": cement, "sand_kg": sand, "cartridges": cartridges}
    return Figures(results, shown)


def _parts_of_sand(mix: str) -> Fraction:
    """The parts of sand to one of cement in a mix written "1:4". Raises `Refused`."""
    found = _MIX.fullmatch(mix.strip())
    if found is None or not 1 <= Fraction(found[1]) <= 20:
        message = f'"{mix}" is not a mix of cement to sand'
        raise Refused(message, "write it like 1:4, with 1 to 20 of sand", "mix")
    return Fraction(found[1])


WORKINGS = (
    Working(
        name="annular-gap",
        title="The gap between a flue and its hole",
        inputs=(_HOLE, _FLUE),
        results=(
            Result(
                "gap_mm",
                "the gap all round a centred flue",
                "mm",
                rises=("hole_mm",),
                falls=("flue_mm",),
                above=0,
            ),
        ),
        sources=(_GEOMETRY,),
        leaves_out="A flue that lies off centre has less than this on one side and more on the other.",
        run=_gap,
    ),
    Working(
        name="annulus-fill",
        title="What it takes to fill the gap round a flue",
        inputs=(
            _HOLE,
            _FLUE,
            Input("depth_mm", "the depth to fill, one leaf at a time", "mm", above=0, most=5000),
            Input("mix", "the mix of cement to sand, such as 1:4", kind="text"),
            Input("waste_percent", "what is spilt or left over", "%", least=0, most=100),
        ),
        results=(
            Result(
                "volume_ml",
                "the volume of the ring, without waste",
                "ml",
                rises=("hole_mm", "depth_mm"),
                falls=("flue_mm",),
                above=0,
            ),
            Result("cement_kg", "cement to buy, waste included", "kg"),
            Result("sand_kg", "dry sand to buy, waste included", "kg"),
            Result("cartridges", f"cartridges of {CARTRIDGE_ML} ml to buy instead, waste included"),
        ),
        sources=(_GEOMETRY, _HANDBOOK),
        leaves_out=(
            "It takes a round hole with smooth sides; a broken-out one needs more. It does not say whether"
            " mortar, foam or silicone may be used on this flue: the makers do."
        ),
        run=_fill,
    ),
)
