"""Workings by name: what is declared is what is taken and given."""

from __future__ import annotations

import subprocess
import sys
from decimal import Decimal
from fractions import Fraction

import pytest

from assistant.errors import Refused
from assistant.workings import annulus
from assistant.workings.registry import find, names
from assistant.workings.working import Figures, Input, Result, Source, Working
from tests.workings.flues import flue, joint

GIVEN: dict[str, dict[str, object]] = {
    "annular-gap": {"hole_mm": 127, "flue_mm": 100},
    "annulus-fill": {"hole_mm": 127, "flue_mm": 100, "depth_mm": 100, "mix": "1:4", "waste_percent": 10},
    "restraint": flue(joint("out")),
}


@pytest.mark.parametrize("name", names())
def test_each_is_fully_declared_and_gives_what_it_declares(name: str) -> None:
    working = find(name)
    assert working.name == name
    assert working.title
    assert working.leaves_out
    assert working.sources
    assert all(each.means for each in (*working.inputs, *working.results))
    for each in (*working.inputs, *working.results):
        assert (each.unit == "mm") == each.name.endswith("_mm")
    figures = working.work(GIVEN[name])
    assert list(figures.results) == [each.name for each in working.results]
    assert figures.shown


@pytest.mark.parametrize("name", names())
def test_each_only_needs_what_it_says_is_required(name: str) -> None:
    working = find(name)
    needed = {each.name: GIVEN[name][each.name] for each in working.inputs if each.required}
    working.work(needed)
    for left_out in needed:
        with pytest.raises(Refused) as refused:
            working.work({key: value for key, value in needed.items() if key != left_out})
        assert refused.value.where == left_out
        assert refused.value.hint


def test_a_name_that_is_not_there_gets_the_nearest() -> None:
    with pytest.raises(Refused, match="anular-gap") as refused:
        find("anular-gap")
    assert refused.value.hint == 'did you mean "annular-gap"?'
    with pytest.raises(Refused) as refused:
        find("zzz")
    assert "restraint" in refused.value.hint


def test_an_input_that_is_not_there_gets_the_nearest() -> None:
    with pytest.raises(Refused) as refused:
        find("annular-gap").work({"hole_mm": 127, "flue_mm": 100, "flu_mm": 1})
    assert refused.value.hint == 'did you mean "flue_mm"?'


def test_every_complaint_at_once() -> None:
    with pytest.raises(Refused) as refused:
        find("annulus-fill").work({"hole_mm": -1, "flue_mm": "wide", "depth_mm": 100, "mix": 4})
    for name in ("hole_mm", "flue_mm", "mix", "waste_percent"):
        assert f"{name}: " in str(refused.value)
    assert (refused.value.where, refused.value.hint) == ("hole_mm", "it has to be more than 0")
    assert refused.value.message == (
        "−1 mm is out of range. Also flue_mm: 'wide' is not a number; mix: 4 is not text; "
        "waste_percent: nothing is given for what is spilt or left over"
    )


def test_of_many_complaints_the_first_are_named_and_the_rest_counted() -> None:
    probe = _probe(*(Input(f"n{number}", "a number") for number in range(20)))
    with pytest.raises(Refused) as refused:
        probe.work({})
    assert refused.value.message.endswith("n8: nothing is given for a number; and 11 more")
    assert len(str(refused.value).splitlines()) == 40


def test_what_is_missing_is_said_once() -> None:
    given = {"hole_mm": 127, "flue_mm": 100, "depth_mm": 100, "waste_percent": 10}
    with pytest.raises(Refused) as refused:
        find("annulus-fill").work(given)
    assert str(refused.value) == (
        "mix: nothing is given for the mix of cement to sand, such as 1:4\ngive it as text"
    )


def _probe(*inputs: Input) -> Working:
    """A working that hands back what reached it."""
    return Working(
        "probe",
        "Probe",
        inputs,
        (Result("all", "all"),),
        (Source("none", "None", "memory"),),
        "all",
        lambda given: Figures(given, ""),
    )


def test_numbers_arrive_exact() -> None:
    probe = _probe(Input("a_mm", "a", "mm"), Input("n", "n", kind="count"))
    for value in (Fraction(1, 10), Decimal("0.1"), 0.1):
        results = probe.work({"a_mm": value, "n": Decimal(3)}).results
        assert results == {"a_mm": Fraction(1, 10), "n": 3}
        assert isinstance(results["n"], int)


@pytest.mark.parametrize("unknown", [{}, {"a": None}, {"a": "not-sure"}])
def test_what_is_left_out_is_unknown(unknown: dict[str, object]) -> None:
    assert _probe(Input("a", "a", required=False)).work(unknown).results == {"a": None}


@pytest.mark.parametrize(
    ("wanted", "value", "message", "hint"),
    [
        (Input("a", "a", "mm", least=0), -1, "−1 mm is out of range", "0 or more"),
        (Input("a", "a", "mm", above=0), 0, "0 mm is out of range", "more than 0"),
        (Input("a", "a", "mm", most=9), 10, "10 mm is out of range", "9 or less"),
        (Input("a", "a", "mm"), "10 mm", "not a number", "a number in mm"),
        (Input("a", "a", "mm"), True, "not a number", "a number in mm"),
        (Input("a", "pipes", kind="count"), Fraction(1, 2), "not a whole number", "whole number of pipes"),
        (Input("a", "a", kind="text"), 5, "not text", "a"),
        (Input("a", "a", kind="choice", choices=("screws", "clamp")), "screw", "not an answer", '"screws"'),
        (
            Input("a", "a", kind="choice", choices=("screws", "clamp")),
            "x",
            "not an answer",
            "screws or clamp",
        ),
        (Input("a", "a", kind="items", keys=(Input("b", "b"),)), 5, "not a list", "tables with b"),
        (Input("a", "a", kind="items", keys=(Input("b", "b"),)), [5], "not a list", "tables with b"),
        (Input("a", "a", kind="items", least=1), [], "0 is out of range", "1 or more"),
    ],
)
def test_what_does_not_fit_is_refused(wanted: Input, value: object, message: str, hint: str) -> None:
    with pytest.raises(Refused) as refused:
        _probe(wanted).work({"a": value})
    assert message in refused.value.message
    assert hint in refused.value.hint
    assert refused.value.where == "a"


def test_tables_are_checked_key_by_key_and_further_keys_are_passed_over() -> None:
    probe = _probe(Input("a", "a", kind="items", keys=(Input("b", "b", "mm"),)))
    assert probe.work({"a": [{"b": 1, "seal": "sound"}]}).results == {"a": ({"b": Fraction(1)},)}
    with pytest.raises(Refused) as refused:
        probe.work({"a": [{"b": 1}, {}]})
    assert refused.value.where == "a.2.b"


def test_nothing_is_loaded_before_it_is_asked_for() -> None:
    script = (
        "import sys; from assistant.workings import registry; registry.names();"
        "loaded = [m for m in sys.modules if m.startswith('assistant.workings.')];"
        "assert not any('annulus' in m or 'restraint' in m for m in loaded), loaded;"
        "assert not {'pydantic', 'textual', 'numpy', 'scipy'} & set(sys.modules);"
        "registry.find('annular-gap');"
        "assert 'assistant.workings.annulus' in sys.modules;"
        "assert 'assistant.workings.restraint' not in sys.modules"
    )
    subprocess.run([sys.executable, "-c", script], check=True)


def test_modules_declare_what_the_registry_names() -> None:
    assert [each.name for each in annulus.WORKINGS] == ["annular-gap", "annulus-fill"]
