"""The same answers under a tree that has changed: what stays, what is set aside, and that nothing is lost."""

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from tempfile import mkdtemp
from types import MappingProxyType
from typing import Any

import pytest
from hypothesis import HealthCheck, assume, given, settings

from assistant.errors import Refused
from assistant.session.fact import UNSTATED, Fact
from assistant.session.record import Record
from assistant.session.reload import CarriedOver, carry_over
from assistant.session.session import Session
from assistant.tree.answers import read_answer
from assistant.tree.load import load_text
from assistant.tree.tree import Tree
from tests.conftest import NOW, TREES
from tests.growing import Case, Family, cases
from tests.writing import dumped

SMALL = (TREES / "small.toml").read_text(encoding="utf-8")
GIVEN = {
    "situation": "fitting", "near": ["window"], "gap": "12 mm", "joint-count": 1, "joint.1/held-by": "screws",
    "joint.1/depth": "40 mm", "remark": "all well",
}  # fmt: skip
QUIET = settings(
    deadline=None, max_examples=150, derandomize=True, database=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much],
)  # fmt: skip


def small(*changes: tuple[str, str]) -> Tree:
    """The small tree with some of its text replaced, once each."""
    text = SMALL
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    return load_text(text, "small.toml", TREES)


def answered(tree: Tree, given: Mapping[str, Any], basis: Mapping[str, str] = MappingProxyType({})) -> Record:
    session = Session(tree)
    while session.next is not None and session.next.key in given:
        key = session.next.key
        value = read_answer(session.next.question, given[key])
        session = session.answer(key, Fact(value, basis.get(key, UNSTATED), note=f"of {key}"))
    return Record(session, NOW, times=dict.fromkeys(session.facts, NOW))


def unfit(carried: CarriedOver) -> dict[str, str]:
    return {lost.key: lost.why.message for lost in carried.unfit}


def test_a_change_of_words_changes_no_answer() -> None:
    before = answered(small(), GIVEN)
    carried = carry_over(
        before, small(('says = "New work"', 'says = "New"'), ("Is it new,", "Is this new,")), True
    )
    assert carried.record.session.facts == before.session.facts
    assert list(carried.record.session.facts) == list(GIVEN)
    assert carried.record.times == before.times
    assert (carried.unfit, carried.aside, carried.again) == ((), (), ())


def test_an_answer_that_is_gone_is_told_and_comes_back_to_be_confirmed() -> None:
    before = answered(small(), GIVEN)
    without = small(('id = "fitting"', 'id = "new-work"'))
    carried = carry_over(before, without, True)
    session = carried.record.session
    assert unfit(carried) == {"situation": '"fitting" is not an answer here'}
    assert session.facts == {}
    assert session.next is not None
    assert session.next.key == "situation"
    assert list(carried.aside) == list(session.parked) == [key for key in GIVEN if key != "situation"]
    back = carry_over(carried.record, small(), True)
    assert back.again == ("situation",)
    assert back.record.session.parked == before.session.facts
    assert back.record.lost == ()


def test_a_question_that_is_new_is_asked_and_the_later_answers_are_offered_again() -> None:
    before = answered(small(), GIVEN)
    new = """
[question.floor]
kind = "count"
least = 0
most = 9
ask = "Which floor?"
must-answer = true
then = "near"
"""
    carried = carry_over(
        before,
        small(('then = "near"', 'then = "floor"'), ("\n[question.near]", new + "\n[question.near]")),
        False,
    )
    session = carried.record.session
    assert list(session.facts) == ["situation"]
    assert session.next is not None
    assert session.next.key == "floor"
    assert len(session.parked) == len(GIVEN) - 1
    assert not session.proven


@pytest.mark.parametrize(
    ("old", "new", "why"),
    [
        ('unit = "mm"', 'unit = "cm"', "it was given as 12 mm, and the question is now in cm"),
        ("most = 500", "most = 10", "12 mm is outside what this can be"),
        ('[question.gap]\nkind = "measure"', '[question.gap]\nkind = "count"', ""),
    ],
)
def test_a_number_stays_only_where_it_means_the_same(old: str, new: str, why: str) -> None:
    carried = carry_over(answered(small(), GIVEN), small((old, new)), True)
    assert unfit(carried) == ({"gap": why} if why else {})


def test_an_answer_that_was_picked_is_no_note() -> None:
    note = '[question.situation]\nkind = "note"'
    start, end = SMALL.index('[question.situation]\nkind = "choice"'), SMALL.index("[question.near]")
    tree = load_text(
        f'{SMALL[:start]}{note}\nask = "?"\nmust-answer = true\nthen = "near"\n\n{SMALL[end:]}',
        "small.toml",
        TREES,
    )
    carried = carry_over(answered(small(), GIVEN), tree, True)
    assert unfit(carried) == {"situation": "it was picked from a list, and the question now takes a note"}


def test_what_is_not_asked_any_more_is_set_aside_by_name() -> None:
    carried = carry_over(answered(small(), GIVEN), small(('then = "joint"', 'then = "remark"')), True)
    assert carried.aside == ("joint.1/held-by", "joint.1/depth")
    assert list(carried.record.session.facts) == ["situation", "near", "gap", "joint-count", "remark"]


# Any tree


@cache
def folder(name: str) -> Path:
    return Path(mkdtemp(prefix=f"carried-{name}-"))


def loaded(family: Family, place: str) -> Tree:
    for name, tree in family.trees.items():
        (folder(place) / f"{name}.toml").write_text(dumped(tree))
    return load_text(dumped(family.trees[family.root]), "root.toml", folder(place))


def every(record: Record) -> set[str]:
    return {*record.session.facts, *record.session.parked, *(lost.key for lost in record.lost)}


def consult(tree: Tree, case: Case) -> Record:
    try:
        return answered(tree, case.facts, case.basis)
    except Refused:  # answers that contradict each other: nobody can give them
        assume(False)
        raise


@QUIET
@given(cases(most=8), cases(most=8))
def test_no_answer_is_lost_under_any_tree_and_back(case: Case, other: Case) -> None:
    one, two = loaded(case.family, "one"), loaded(other.family, "two")
    before = consult(one, case)
    carried = carry_over(before, two, True)
    after = carried.record.session
    assert every(carried.record) == every(before)
    assert set(after.facts) <= set(after.walk.asked)
    assert [key for key in before.session.facts if key in after.facts] == list(after.facts)
    assert {lost.key for lost in carried.unfit} | set(carried.aside) | set(after.facts) == set(
        before.session.facts
    )
    back = carry_over(carried.record, one, True).record
    assert back.lost == ()
    assert {**back.session.facts, **back.session.parked} == before.session.facts


@QUIET
@given(cases())
def test_the_same_tree_changes_nothing(case: Case) -> None:
    tree = loaded(case.family, "one")
    before = consult(tree, case)
    carried = carry_over(before, tree, True)
    assert carried.record == before
    assert (carried.unfit, carried.aside, carried.again) == ((), (), ())
