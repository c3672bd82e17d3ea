"""The difference between two editions against every answer, tried one by one by another interpreter."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from fractions import Fraction
from functools import cache
from pathlib import Path
from random import Random
from tempfile import mkdtemp
from typing import Any, NamedTuple

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from assistant.errors import Refused
from assistant.session.fact import Fact
from assistant.session.walk import walk
from assistant.session.walked import End
from assistant.tree.answers import Value, read_answer
from assistant.tree.compare import Difference, compare
from assistant.tree.load import load, load_text
from assistant.tree.mistakes import Unreadable
from assistant.tree.survey.graph import TooMany
from assistant.tree.tree import Tree
from tests.changing import changed
from tests.growing import Family
from tests.growing_ways import Looking, family_of
from tests.large import large
from tests.naive_pairs import REFUSED, Edition, Pair, Space, pairs
from tests.writing import dumped

QUIET = settings(
    deadline=None,
    derandomize=True,
    database=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)
SEEDS = st.integers(0, 2**32 - 1)
MOST = 1_000
Told = tuple[str, str] | None


class Grown(NamedTuple):
    """A tree, what it was changed to, and every pair."""

    old: Tree
    new: Tree
    editions: tuple[Edition, Edition]
    pairs: list[Pair]
    whole: bool
    """Whether every answer was tried."""
    difference: Difference


@cache
def folder() -> Path:
    return Path(mkdtemp(prefix="changed-"))


def grown(seed: int, most: int = 5, changes: int = 3, plain: bool = False) -> Grown | None:
    before = questions_of(seed, most) if plain else family_of(seed, most, False)
    after = changed(before, seed, changes)
    if after is None:
        return None
    loaded = []
    for name, family in (("old", before), ("new", after)):
        for tree_id, tree in family.trees.items():
            (folder() / name).mkdir(exist_ok=True)
            (folder() / name / f"{tree_id}.toml").write_text(dumped(tree))
        try:
            loaded.append(load(str(folder() / name / "root.toml")))
        except Unreadable:
            return None
    editions = Edition(before.trees, "root"), Edition(after.trees, "root")
    left = [MOST]
    found = list(pairs(*editions, left))
    return Grown(loaded[0], loaded[1], editions, found, left[0] > 0, compare(*loaded))


def questions_of(seed: int, most: int) -> Family:
    """A tree of questions alone."""

    class Asking(Looking):
        def step(self, step: int) -> None:
            self.question(step)

    random, family = Random(seed), Family()
    verdicts = Asking(random, family, "root", 0, False).verdict_list()
    Asking(random, family, "root", random.randint(2, most), False).grow(verdicts)
    return family


def by_name(told: Told) -> str | None:
    return told[0] if told else None


def told(difference: Difference) -> set[tuple[str | None, str | None]]:
    return {(change.old, change.new) for change in difference.changes}


def differing(pairs_: list[Pair]) -> set[tuple[str | None, str | None]]:
    return {
        (by_name(pair.old.verdict), by_name(pair.new.verdict))
        for pair in pairs_
        if pair.old.verdict != pair.new.verdict
    }


# Every pair, and nothing else


@settings(QUIET, max_examples=70)
@given(SEEDS)
def test_every_pair_of_verdicts_that_the_same_answers_reach_is_told(seed: int) -> None:
    found = grown(seed)
    assume(found is not None)
    assert found is not None
    want, got = differing(found.pairs), told(found.difference)
    assert want <= got
    if found.whole and found.difference.exact:
        assert want == got


@settings(QUIET, max_examples=20)
@given(SEEDS)
def test_what_other_answers_lead_to_is_told_in_trees_changed_in_many_places(seed: int) -> None:
    found = grown(seed, most=7, changes=8)
    assume(found is not None)
    assert found is not None
    want, got = differing(found.pairs), told(found.difference)
    assert want <= got
    if found.whole and found.difference.exact:
        assert want == got


# Judged by the walk of a consultation


def given_to(tree: Tree, facts: dict[str, Any]) -> dict[str, Fact]:
    return {key: Fact(read_answer(tree.ask(key).question, value)) for key, value in facts.items()}


@settings(QUIET, max_examples=20)
@given(SEEDS)
def test_pairs_are_what_consultations_come_to(seed: int) -> None:
    found = grown(seed)
    assume(found is not None)
    assert found is not None
    for pair in found.pairs[:: max(1, len(found.pairs) // 40)]:
        for tree, outcome in ((found.old, pair.old), (found.new, pair.new)):
            facts = {key: pair.facts[key] for key in outcome.took if not key.endswith("?")}
            guessed = any(key.endswith("?") for key in pair.facts)
            if outcome.verdict != (REFUSED, REFUSED):
                ends = ends_under(tree, facts) if guessed else walk(tree, given_to(tree, facts)).ends
                if ends is not None:
                    assert (by_name(outcome.verdict), outcome.states) in {(e.verdict, e.states) for e in ends}
                    assert guessed or len(ends) == 1
            elif outcome.refused and not outcome.refused.endswith("?"):
                with_refused = {**facts, outcome.refused: pair.facts[outcome.refused]}
                with pytest.raises(Refused):
                    given_to(tree, with_refused)
            elif not guessed:
                with pytest.raises(Refused):
                    walk(tree, given_to(tree, facts))


def ends_under(tree: Tree, facts: dict[str, Any]) -> tuple[End, ...] | None:
    """The ends of all lines; None where another line cannot go on."""
    try:
        return walk(tree, given_to(tree, facts)).ends
    except Refused:
        return None


# What is shown


@settings(QUIET, max_examples=60)
@given(SEEDS)
def test_what_is_shown_shows_its_pair_in_both(seed: int) -> None:
    found = grown(seed)
    assume(found is not None and found.difference.exact)
    assert found is not None
    for change in found.difference.changes:
        assert change.shown
        for answers in change.shown:
            left = [5 * MOST]
            reached = differing(list(under(found, answers, left)))
            assert (change.old, change.new) in reached or not left[0]


def under(found: Grown, answers: Mapping[str, Value], left: list[int]) -> Iterator[Pair]:
    """What both come to under these answers, whatever is assumed of those that are not sure."""

    class Given(Space):
        def values(self, key: str) -> list[Any]:
            if key.endswith("?"):
                return super().values(key)
            value = answers.get(key)  # None: another line is asked more
            return [] if value is None else [list(value) if isinstance(value, tuple) else value]

    return pairs(*found.editions, left, Given(*found.editions))


@settings(QUIET, max_examples=40)
@given(SEEDS)
def test_the_first_shown_is_as_short_as_any(seed: int) -> None:
    found = grown(seed)
    assume(found is not None and found.difference.exact and found.whole and not found.old.parts)
    assert found is not None
    for change in found.difference.changes:
        lengths = [
            len({key for key in (*pair.old.took, *pair.new.took, pair.old.refused, pair.new.refused) if key})
            for pair in found.pairs
            if (by_name(pair.old.verdict), by_name(pair.new.verdict)) == change[:2]
            and pair.old.verdict != pair.new.verdict
            and not any(key.endswith("?") for key in pair.facts)
        ]
        if lengths:
            assert len(change.shown[0]) <= min(lengths)


# How many


@settings(QUIET, max_examples=40)
@given(SEEDS)
def test_ways_are_counted_where_nothing_looks_back(seed: int) -> None:
    found = grown(seed, plain=True)
    assume(found is not None and found.whole)
    assert found is not None
    assert found.difference.exact
    ways: dict[tuple[str | None, str | None], set[object]] = {}
    for pair in found.pairs:
        if pair.old.verdict != pair.new.verdict:
            both = by_name(pair.old.verdict), by_name(pair.new.verdict)
            ways.setdefault(both, set()).add((tuple(pair.old.rows), tuple(pair.new.rows), side(found, pair)))
    assert {(change.old, change.new): change.ways for change in found.difference.changes} == {
        both: len(several) for both, several in ways.items()
    }


def side(found: Grown, pair: Pair) -> object:
    """On which side of what an edition takes a number lies that it refuses: those are two ways."""
    for edition, outcome in zip(found.editions, (pair.old, pair.new), strict=True):
        question = edition.question(outcome.refused.removesuffix("?")) if outcome.refused else None
        value = pair.facts.get(outcome.refused)
        if question is not None and "least" in question and isinstance(value, Fraction):
            return value < question["least"]
    return None


# Large trees


def test_unrelated_large_trees_come_to_an_end_or_to_a_refusal() -> None:
    old, new = (load_text(large(1_000, seed), "large.toml") for seed in (1, 2))
    try:
        difference = compare(old, new)
    except TooMany:
        return
    assert difference.changes


def test_a_change_in_one_place_of_a_large_tree_is_told() -> None:
    text = large(1_000)
    place = text.rindex('effect = "fails"')
    changed = text[:place] + 'effect = "danger"' + text[place + len('effect = "fails"') :]
    old, same, new = (load_text(one, "large.toml") for one in (text, text + "# The same.\n", changed))
    assert compare(old, same) == Difference([], True)
    assert told(compare(old, new)) == set()  # a danger makes a requirement not met, as what fails does
