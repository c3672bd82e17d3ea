"""The engine against a second, naive reading of the format, on random trees and random facts."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from itertools import combinations, product
from pathlib import Path
from tempfile import mkdtemp
from typing import Any

from hypothesis import HealthCheck, assume, given, settings

from assistant.session.fact import UNSTATED, Fact
from assistant.session.judge import Judgement, judge
from assistant.session.putright import MAKING_SURE, put_right
from assistant.session.session import Session
from assistant.tree.answers import read_answer
from assistant.tree.load import load_text
from assistant.tree.tree import Tree
from tests.growing import NOT_SURE, Case, Family, candidates, cases
from tests.oracle import Oracle, Result, TooMany
from tests.writing import dumped

QUIET = settings(
    deadline=None,
    derandomize=True,
    database=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much],
)


@cache
def folder() -> Path:
    return Path(mkdtemp(prefix="grown-"))


def loaded(family: Family) -> Tree:
    for name, tree in family.trees.items():
        (folder() / f"{name}.toml").write_text(dumped(tree))
    return load_text(dumped(family.trees[family.root]), "root.toml", folder())


def engine(tree: Tree, facts: Mapping[str, Any], basis: Mapping[str, str]) -> Judgement:
    read = {
        key: Fact(read_answer(tree.ask(key).question, value), basis.get(key, UNSTATED))
        for key, value in facts.items()
    }
    return judge(Session(tree, read))


def expected(oracle: Oracle, facts: Mapping[str, Any], basis: Mapping[str, str]) -> Result:
    try:
        return oracle.result(facts, basis)
    except TooMany:
        assume(False)
        raise


@settings(QUIET, max_examples=400)
@given(cases())
def test_the_engine_judges_as_the_format_says(case: Case) -> None:
    oracle = Oracle(case.family.trees, case.family.root)
    want = expected(oracle, case.facts, case.basis)
    got = engine(loaded(case.family), case.facts, case.basis)
    assert (got.session.next.key if got.session.next else None) == want.next
    assert list(got.walk.asked) == want.path
    assert got.outcome == want.outcome
    assert (got.verdict.id if got.verdict else None) == want.verdict
    assert got.requirements == want.requirements
    assert {(f.tree.id, f.id): set(f.causes) for f in got.findings} == want.findings
    assert {(w.step, tuple(sorted(w.inputs.items()))) for w in got.workings} == want.workings
    assert got.likely_class == want.likely_class
    if want.next is None:
        assert got.possible == want.possible


@settings(QUIET, max_examples=150)
@given(cases())
def test_a_finding_is_certain_where_every_line_meets_it(case: Case) -> None:
    want = expected(Oracle(case.family.trees, case.family.root), case.facts, case.basis)
    assume(want.next is None and want.unsettled)
    got = engine(loaded(case.family), case.facts, case.basis)
    assert {(found.tree.id, found.id) for found in got.findings if got.certain(found)} == want.certain


@settings(QUIET, max_examples=150)
@given(cases(most=7, answered=0.6))
def test_no_verdict_that_more_answers_reach_is_missing_from_the_outlook(case: Case) -> None:
    oracle = Oracle(case.family.trees, case.family.root)
    assume(expected(oracle, case.facts, case.basis).next is not None)
    got = engine(loaded(case.family), case.facts, case.basis)
    reached = {
        verdict for result in completions(case, oracle, case.facts, [400]) for verdict in result.possible
    }
    assert reached <= set(got.possible)


def completions(case: Case, oracle: Oracle, facts: Mapping[str, Any], left: list[int]) -> Iterator[Result]:
    """What the facts come to with every answer to what is missing, as far as the count in `left` goes."""
    result = expected(oracle, facts, case.basis)
    if result.next is None:
        left[0] -= 1
        yield result
        return
    for value in candidates(dict(case.family.questions())[result.next]):
        if left[0] > 0:
            yield from completions(case, oracle, {**facts, result.next: value}, left)


@settings(QUIET, max_examples=200)
@given(cases(most=8, simple=True))
def test_the_list_of_things_to_find_out_is_the_shortest(case: Case) -> None:
    oracle = Oracle(case.family.trees, case.family.root)
    want = expected(oracle, case.facts, case.basis)
    assume(want.next is None and want.verdict is None and 1 < len(want.unsettled) < 5)
    got = engine(loaded(case.family), case.facts, case.basis)
    found_out = [unsure.asked.key for unsure in got.open]
    if want.outcome == "not-settled":
        assert decided(case, oracle, found_out) or len(found_out) == len(want.unsettled)
        for size in range(len(found_out)):
            assert not any(decided(case, oracle, keys) for keys in combinations(sorted(want.unsettled), size))


def decided(case: Case, oracle: Oracle, keys: Sequence[str]) -> bool:
    """Whether these answers, however they turn out, leave one outcome."""
    questions = dict(case.family.questions())
    answers = ([value for value in candidates(questions[key]) if value != NOT_SURE] for key in keys)
    basis = {key: basis for key, basis in case.basis.items() if key not in keys}
    for values in product(*answers):
        result = expected(oracle, {**case.facts, **dict(zip(keys, values, strict=True))}, basis)
        if result.next is None and len(result.outcomes) > 1:
            return False
    return True


@settings(QUIET, max_examples=150)
@given(cases(least=2, most=6, simple=True, work=True))
def test_the_least_work_is_what_trying_all_work_finds(case: Case) -> None:
    oracle = Oracle(case.family.trees, case.family.root)
    want = expected(oracle, case.facts, case.basis)
    assume(want.next is None and want.outcome != "acceptable")
    remedies = put_right(engine(loaded(case.family), case.facts, case.basis).session)
    costs = work_that_helps(case, oracle)
    assert [remedy.effort for remedy in remedies[:1]] == ([min(costs.values())] if costs else [])
    done = [frozenset((change.asked.key, change.after) for change in remedy.changes) for remedy in remedies]
    assert all(costs[work] == remedy.effort for work, remedy in zip(done, remedies, strict=True))
    assert not any(one < other for one in done for other in done)


def work_that_helps(case: Case, oracle: Oracle) -> dict[frozenset[tuple[str, Any]], int]:
    """Every set of work that makes the verdict acceptable, with its effort.

    A question that work opens is worked on too, or left not sure, or, where no work answers it, made sure of.
    """
    questions = dict(case.family.questions())
    helps: dict[frozenset[tuple[str, Any]], int] = {}
    waiting: list[tuple[dict[str, Any], dict[str, Any], int]] = [({}, {}, 0)]
    seen = set()
    while waiting:
        work, left, cost = waiting.pop()
        if (state := (frozenset(work.items()), frozenset(left))) in seen:
            continue
        seen.add(state)
        assume(len(seen) < 500)
        basis = {name: basis for name, basis in case.basis.items() if name not in work}
        result = expected(oracle, {**case.facts, **work, **left}, basis)
        if result.outcome == "acceptable":
            helps[frozenset(work.items())] = cost
            continue
        if result.next is not None and "not-sure" in questions[result.next]:
            waiting.append((work, {**left, result.next: NOT_SURE}, cost))
        for name in [result.next] if result.next is not None else set(result.path) - set(work):
            answers = questions[name].get("answer", [])
            ways = {a["id"]: a["effort"] for a in answers if "put-right" in a}
            if result.next is not None and questions[name]["kind"] == "choice":
                ways = ways or {answer["id"]: MAKING_SURE for answer in answers}
            ways.pop(settled(case, name, questions[name]), None)
            waiting += [({**work, name: answer}, left, cost + effort) for answer, effort in ways.items()]
    return helps


def settled(case: Case, key: str, question: Mapping[str, Any]) -> Any:
    """The answer that counts before any work."""
    accepted = case.basis.get(key) in (None, *question.get("accept", [case.basis.get(key)]))
    return case.facts.get(key) if accepted else NOT_SURE
