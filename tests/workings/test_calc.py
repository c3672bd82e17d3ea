"""Workings on what a person typed."""

from __future__ import annotations

from fractions import Fraction

import pytest

from assistant.errors import Refused
from assistant.workings.calc import given_of, run_text

JOINTS: list[dict[str, object]] = [
    {"axis": "up", "held_by": "push-fit", "slides": "no", "inner_held": "anchored", "bracket": "none"},
    {"axis": "out", "held_by": "push-fit", "slides": "no", "inner_held": "anchored", "bracket": "none"},
]


def test_values_with_units_and_without() -> None:
    assert run_text("annular-gap", {"hole_mm": "5 in", "flue_mm": "100"}).results == {
        "gap_mm": Fraction(27, 2)
    }


def test_what_was_read_is_there_to_be_shown() -> None:
    assert given_of("annular-gap", {"hole_mm": "5 in", "flue_mm": "10 cm"}) == {
        "hole_mm": 127,
        "flue_mm": 100,
    }


def test_tables_take_text_and_numbers() -> None:
    joints = [{**each, "engagement_mm": value} for each, value in zip(JOINTS, ("4 cm", 30), strict=True)]
    typed = {"inside_face": "fixed-collar", "hole": "cored", "hole_mm": "127 mm", "flue_mm": "100 mm"}
    results = run_text("restraint", typed | {"wall_mm": "30 cm", "reach_mm": "250"}, joints).results
    assert [each["engagement_mm"] for each in results["joints"]] == [40, 30]  # type: ignore[attr-defined]
    assert results["worst"] == 0
    assert results["opening_mm"] == 36


def test_not_sure_is_unknown() -> None:
    joints = [{**JOINTS[1], "held_by": "not-sure", "engagement_mm": "not-sure"}]
    assert run_text("restraint", {"inside_face": "not-sure"}, joints).results["state"] == "not-proven"


@pytest.mark.parametrize(
    ("name", "typed", "items", "said"),
    [
        ("anular-gap", {}, None, 'did you mean "annular-gap"?'),
        ("annular-gap", {"hole_mm": "127", "flu_mm": "100"}, None, 'did you mean "flue_mm"?'),
        ("annular-gap", {"hole_mm": "12,7 cm", "flue_mm": "100"}, None, "hole_mm: "),
        ("annular-gap", {"hole_mm": "127 kg", "flue_mm": "100"}, None, "mm, cm, m, in or ft"),
        ("annular-gap", {"hole_mm": "127", "flue_mm": "100"}, [{}], "takes no list"),
        ("restraint", {}, None, "joints: "),
        ("restraint", {"joints": "3"}, JOINTS, "[[joints]]"),
        ("restraint", {}, [{**JOINTS[0], "held": "clamp"}], 'did you mean "held_by"?'),
        ("restraint", {}, [{**JOINTS[0], "held_by": "screw"}], 'did you mean "screws"?'),
        ("restraint", {}, [{**JOINTS[0], "engagement_mm": "4 kg"}], "joints.1.engagement_mm: "),
        ("restraint", {}, [{"held_by": "screws"}], "joints.1.axis: "),
    ],
)
def test_what_cannot_be_used_is_refused(
    name: str, typed: dict[str, str], items: list[dict[str, object]] | None, said: str
) -> None:
    with pytest.raises(Refused) as refused:
        run_text(name, typed, items)
    assert said in str(refused.value)
