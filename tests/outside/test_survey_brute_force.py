"""The survey and the proofs against every way through small random trees, tried one by one by another interpreter."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path
from tempfile import mkdtemp
from typing import Any, NamedTuple

from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from assistant.errors import Refused
from assistant.session.fact import Fact
from assistant.session.facts import read_facts
from assistant.session.prove import work_out
from assistant.session.search import completed
from assistant.session.walk import walk
from assistant.session.walked import Walk
from assistant.tree.answers import read_answer
from assistant.tree.load import load
from assistant.tree.mistakes import Mistake
from assistant.tree.survey.bits import Bits
from assistant.tree.survey.graph import Survey
from assistant.tree.survey.outcomes import by_verdict, outcomes
from assistant.tree.survey.shortest import Shortest
from assistant.tree.survey.suspects import idle_rows
from assistant.tree.survey.witness import answers_of
from assistant.tree.tree import Tree
from tests.growing import Family, Table
from tests.growing_ways import family_of, of_every_sort
from tests.naive_ways import Way, Ways
from tests.oracle import NOT_SURE, TooMany
from tests.writing import dumped

QUIET = settings(
    deadline=None,
    derandomize=True,
    database=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)
SEEDS = st.integers(0, 2**32 - 1)
MOST_WALKS = 400
SAFETY = ("unsafe-pass", "not-judged-pass", "no-verdict", "danger-goes-on", "nothing-puts-right")


class Grown(NamedTuple):
    """A tree, and every way through it."""

    family: Family
    tree: Tree
    naive: Ways
    ways: list[Way]
    survey: Survey


@cache
def folder() -> Path:
    return Path(mkdtemp(prefix="grown-ways-"))


def grown(seed: int, breaks: bool = False, most: int = 6) -> Grown:
    family = family_of(seed, most, breaks)
    naive = Ways(family.trees, family.root, of_every_sort)
    try:
        ways = list(naive.ways())
    except TooMany:
        assume(False)
    for name, tree in family.trees.items():
        (folder() / f"{name}.toml").write_text(dumped(tree))
    loaded = load(str(folder() / "root.toml"))
    return Grown(family, loaded, naive, ways, Survey(loaded, Bits(loaded, merged=False)))


def walked(tree: Tree, facts: dict[str, Any]) -> Walk | None:
    """The real walk; None where the answers contradict each other."""
    try:
        return walk(tree, {k: Fact(read_answer(tree.ask(k).question, v)) for k, v in facts.items()})
    except Refused:
        return None


# What ways come to, and how many there are


@settings(QUIET, max_examples=70)
@given(SEEDS, st.booleans())
def test_the_survey_comes_to_what_all_ways_come_to(seed: int, breaks: bool) -> None:
    grown_ = grown(seed, breaks)
    survey = grown_.survey
    got: Counter[object] = Counter()
    for outcome in outcomes(survey):
        states = tuple(survey.bits.states(outcome.bits).values())
        named = outcome.verdict.id if outcome.verdict else None
        got[named, states, survey.bits.danger(outcome.bits), bool(outcome.bits & survey.bits.help)] += (
            outcome.ways
        )
    different = {way.steps: (way.verdict, way.states, way.danger, way.help) for way in grown_.ways}
    want = Counter(different.values())
    if survey.exact:
        assert got == want
    else:
        assert set(want) <= set(got)
        assert all(ways <= got[reached] for reached, ways in want.items())
    merged = by_verdict(Survey(grown_.tree))
    counts: Counter[str] = Counter()
    for (named, *_), ways in got.items():  # type: ignore[misc]
        counts[named or ""] += ways
    assert merged == {**dict.fromkeys(merged, 0), **counts}


@settings(QUIET, max_examples=50)
@given(SEEDS)
def test_the_survey_comes_to_what_all_consultations_come_to(seed: int) -> None:
    grown_ = grown(seed, most=4)
    survey = grown_.survey
    got = {
        (outcome.verdict.id if outcome.verdict else None, tuple(survey.bits.states(outcome.bits).values()))
        for outcome in outcomes(survey)
    }
    left = [MOST_WALKS]
    want = {
        (end.verdict, end.states) for result in consultations(grown_.tree, {}, left) for end in result.ends
    }
    assert want <= got
    if left[0] > 0 and survey.exact:
        assert want == got


def consultations(tree: Tree, facts: dict[str, Any], left: list[int]) -> Iterator[Walk]:
    """Every whole consultation, as far as the count in `left` goes."""
    left[0] -= 1
    result = walked(tree, facts) if left[0] > 0 else None
    if result is None:
        return
    if result.next is None:
        yield result
        return
    question = result.next.tree.document.data["question"][result.next.question_id]
    for value in of_every_sort(result.next.key, question):
        yield from consultations(tree, {**facts, result.next.key: value}, left)


# Steps, rows and faults


@settings(QUIET, max_examples=40)
@given(SEEDS, st.booleans())
def test_steps_and_rows_that_nothing_comes_to_are_those_that_no_way_takes(seed: int, breaks: bool) -> None:
    grown_ = grown(seed, breaks)
    root = grown_.family.trees["root"]
    rows = {step[:2] for step in grown_.naive.rows}
    want = set()
    for kind in ("question", "recall", "working", "visit", "each"):
        for name in root[kind]:
            if ("", name) not in grown_.naive.taken and name in grown_.survey.root.frame.order:
                want.add(("unreachable", name, None))
    for kind in ("recall", "working"):
        for name, step in root[kind].items():
            for index in range(len(step.get("answer", step.get("band", [])))):
                code = "never-taken" if "answer" in step else "unreachable-band"
                if ("", name) in grown_.naive.taken and (name, str(index)) not in rows:
                    want.add((code, name, index))
    got = {(code, path[1], path[3] if len(path) > 2 else None) for code, path, _ in idle_rows(grown_.survey)}
    assert got <= want
    if grown_.survey.exact:  # answers that a recall takes alike need not be told apart
        assert {one for one in want - got if one[0] != "never-taken" or not taken_alike(root, one)} == set()


def taken_alike(root: Table, idle: tuple[str, str, int | None]) -> bool:
    """Whether a recall goes on after an answer as it does after another."""
    _, name, index = idle
    recall = root["recall"][name]
    question = root["question"][recall["question"]]
    rows = {row["id"]: row for row in recall["answer"]}
    told = [
        (row.get("then") or recall.get("then"), row.get("finding"))
        for row in (rows.get(answer["id"], {}) for answer in question["answer"])
        if row or "then" in recall
    ]
    if "not-sure" in recall:
        told.append((recall["not-sure"].get("then"), recall["not-sure"].get("finding")))
    mine = recall["answer"][index]
    return told.count((mine.get("then") or recall.get("then"), mine.get("finding"))) > 1


@settings(QUIET, max_examples=40)
@given(SEEDS)
def test_faults_are_told_where_ways_meet_them(seed: int) -> None:
    grown_ = grown(seed, breaks=True)
    want = {(code, name) for code, prefix, name in grown_.naive.faults if not prefix}
    for code, prefix, _ in grown_.naive.faults:
        if prefix and code.startswith("given-"):
            want.add((code, prefix.split("/")[0].split(".")[0]))
    got = {(fault.code, fault.step) for fault in grown_.survey.root.faults}
    assert got == want if grown_.survey.exact else got >= want


# Safety


@settings(QUIET, max_examples=50)
@given(SEEDS)
def test_rules_of_safety_are_broken_where_some_way_breaks_them(seed: int) -> None:
    grown_ = grown(seed)
    proof = work_out(grown_.tree)
    mine = [one for one in proof.complaints if one.file.endswith("root.toml") and one.code in SAFETY]
    got = {(one.code, about(one)) for one in mine}
    broken = [(way, set(breaches(grown_, way))) for way in grown_.ways]
    assert got <= {fault for _, faults in broken for fault in faults}
    if not any(one.code == "not-proven" for one in proof.remarks):
        assert got == {fault for _, faults in broken for fault in faults}
    for complaint in mine:
        fault = complaint.code, about(complaint)
        lines = witnessed(grown_, complaint)
        ends = {line.verdict for line in lines if fault in breaches(grown_, line)}
        assert ends
        if grown_.survey.exact and len(lines) == 1 and plain(lines[0]):
            alike = [
                way
                for way, faults in broken
                if fault in faults and plain(way) and way.verdict in ends
                if ("not-met" in way.states) == ("not-met" in lines[0].states)  # the gravest is told
            ]
            assert lines[0].asked == min(way.asked for way in alike)


def plain(way: Way) -> bool:
    """Whether nothing on it is not sure, nor looked at without having been asked."""
    unsure = any(unsure or row == NOT_SURE for _, row, unsure in way.steps)
    return not unsure and NOT_SURE not in way.facts.values()


def about(complaint: Mistake) -> str:
    """The verdict that a complaint is about, where that is told in its words."""
    told = re.search(r'verdict "(\w+)"(?: is acceptable|, whose outcome is not "stop")', complaint.message)
    return told[1] if told else ""


def breaches(grown_: Grown, way: Way) -> Iterator[tuple[str, str]]:
    """The gravest rule that a way breaks, read from the contract."""
    outcome = {one["id"]: one for one in grown_.naive.root["verdict"]}
    if way.verdict is None:
        yield "no-verdict", ""
        return
    verdict = outcome[way.verdict]
    if way.danger and verdict["outcome"] not in ("stop", "acceptable"):
        yield "danger-goes-on", way.verdict
    elif verdict["outcome"] == "not-acceptable" and not way.help:
        yield "nothing-puts-right", ""
    if verdict["outcome"] == "acceptable":
        states = dict(zip(grown_.naive.root["requirement"], way.states, strict=True))
        if {"not-met", "not-proven"} & set(way.states):
            yield "unsafe-pass", way.verdict
        elif any(s == "not-judged" and s not in verdict["when"].get(name, "") for name, s in states.items()):
            yield "not-judged-pass", way.verdict


def witnessed(grown_: Grown, complaint: Mistake) -> list[Way]:
    """The lines under the facts file that shows a complaint; the walk of a consultation comes to their ends."""
    path = folder() / "shown.toml"
    path.write_text(complaint.witness)
    return lines_under(grown_, read_facts(path).facts)


def lines_under(grown_: Grown, facts: Mapping[str, Fact]) -> list[Way]:
    given = {
        key: list(fact.value) if isinstance(fact.value, tuple) else fact.value for key, fact in facts.items()
    }
    naive = Ways(grown_.family.trees, "root", lambda key, _: [given[key]])
    lines = list(naive.ways())
    assert {key for line in lines for key in line.facts} == set(given)
    result = walk(grown_.tree, facts)
    assert result.next is None
    assert {(end.verdict, end.states) for end in result.ends} == {
        (line.verdict, line.states) for line in lines
    }
    return lines


@settings(QUIET, max_examples=40)
@given(SEEDS)
def test_answers_are_told_for_everything_that_ways_come_to(seed: int) -> None:
    grown_ = grown(seed)
    assume(grown_.survey.exact)
    bits, shortest = grown_.survey.bits, Shortest(grown_.survey)
    for outcome in outcomes(grown_.survey):
        answers = completed(grown_.tree, answers_of(shortest.to_key(outcome.key)))
        lines = lines_under(grown_, {key: Fact(value) for key, value in answers.items()})
        named = outcome.verdict.id if outcome.verdict else None
        wanted = named, tuple(bits.states(outcome.bits).values()), bits.danger(outcome.bits)
        assert any((line.verdict, line.states, line.danger) == wanted for line in lines)
