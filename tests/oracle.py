"""The format read a second time: a small interpreter that knows nothing of the engine.

It takes the tables of trees as plain data and enumerates every line of reasoning one by one, in author order,
without ever joining two of them again. Slow, and short enough to be read against the contract.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import Any

Table = dict[str, Any]
NOT_SURE = "not-sure"
NO_NUMBER = "a number in the band that is assumed"
GRAVITY = {"meets": 1, "unproven": 2, "fails": 3, "danger": 3}
STATES = ("not-judged", "met", "not-proven", "not-met")
OUTCOMES = ("acceptable", "not-settled", "not-acceptable", "stop")
MOST_LINES = 2_000


class TooMany(Exception):
    """More lines than are worth enumerating."""


@dataclass(frozen=True)
class Line:
    """One line of reasoning up to where it stands."""

    known: Mapping[str, Any] = field(default_factory=dict)
    asked: tuple[str, ...] = ()
    findings: tuple[tuple[str, str, tuple[str, ...]], ...] = ()
    """Tree, finding, causes."""
    workings: tuple[tuple[str, tuple[tuple[str, Any], ...]], ...] = ()
    unsettled: tuple[str, ...] = ()
    """What was split on: unsettled answers that no author decided."""
    verdict: str | None = None
    missing: str | None = None

    @property
    def over(self) -> bool:
        return self.verdict is not None or self.missing is not None


@dataclass(frozen=True)
class Here:
    """A tree being run: its fact keys begin with `prefix`; `given` maps its questions to keys elsewhere."""

    tree: Table
    prefix: str = ""
    given: Mapping[str, str] = field(default_factory=dict)

    @property
    def id(self) -> str:
        return str(self.tree["tree"]["id"])

    def key(self, written: str) -> str:
        return self.given.get(written, self.prefix + written)


@dataclass
class Result:
    """What all lines together come to."""

    next: str | None
    path: list[str]
    outcome: str | None
    outcomes: set[str]
    verdict: str | None
    possible: list[str]
    requirements: dict[str, str]
    findings: dict[tuple[str, str], set[str]]
    workings: set[tuple[str, tuple[tuple[str, Any], ...]]]
    unsettled: set[str]
    likely_class: str | None
    certain: set[tuple[str, str]]
    """Findings that every line meets."""


class Oracle:
    """A family of trees, by id, the one to run first; and facts with their basis."""

    def __init__(self, trees: Mapping[str, Table], root: str) -> None:
        self.trees = trees
        self.root = trees[root]
        self.facts: Mapping[str, Any] = {}
        self.basis: Mapping[str, str] = {}
        self.set: dict[str, Any] = {}
        self.count = 0

    def result(self, facts: Mapping[str, Any], basis: Mapping[str, str] | None = None) -> Result:
        self.facts, self.basis, self.set, self.count = facts, basis or {}, {}, 0
        here = Here(self.root)
        lines = list(self.go(here, self.root["tree"]["first"], Line()))
        missing = [line.missing for line in lines if line.missing]
        path = list(dict.fromkeys(key for line in lines for key in line.asked))
        findings: dict[tuple[str, str], set[str]] = {}
        for line in lines:
            for tree, name, causes in line.findings:
                findings.setdefault((tree, name), set()).update(causes)
        workings = {working for line in lines for working in line.workings}
        unsettled = {key for line in lines for key in line.unsettled}
        certain = set.intersection(*({(tree, name) for tree, name, _ in line.findings} for line in lines))
        if missing:
            return Result(
                missing[0], path, None, set(), None, [], {}, findings, workings, unsettled, None, certain
            )
        states = [self.states(line) for line in lines]
        ends = [self.end(line, state) for line, state in zip(lines, states, strict=True)]
        outcomes = {verdict["outcome"] for verdict in ends}
        ids = [verdict["id"] for verdict in ends]
        together = {
            name: states[0][name] if len({state[name] for state in states}) == 1 else "not-proven"
            for name in self.root["requirement"]
        }
        classes = [c for tree, name in findings if (c := self.trees[tree]["finding"][name].get("unsafe"))]
        return Result(
            None, path,
            next(iter(outcomes)) if len(outcomes) == 1 else "not-settled", outcomes,
            ids[0] if len(set(ids)) == 1 else None,
            [verdict["id"] for verdict in self.root["verdict"] if verdict["id"] in ids],
            together, findings, workings, unsettled,
            max(classes, key=("at-risk", "immediately-dangerous").index, default=None),
            certain,
        )  # fmt: skip

    # The ends of lines

    def states(self, line: Line) -> dict[str, str]:
        gravest = dict.fromkeys(self.root["requirement"], 0)
        for tree, name, _ in line.findings:
            finding = self.trees[tree]["finding"][name]
            if finding["effect"] != "advice":
                requirement = finding["requirement"]
                gravest[requirement] = max(gravest[requirement], GRAVITY[finding["effect"]])
        return {name: STATES[gravity] for name, gravity in gravest.items()}

    def end(self, line: Line, states: Mapping[str, str]) -> Table:
        for verdict in self.root["verdict"]:
            if line.verdict == verdict["id"] or (not line.verdict and self.holds(verdict, states)):
                return dict(verdict)
        raise AssertionError("no verdict matches")

    @staticmethod
    def holds(verdict: Table, states: Mapping[str, str]) -> bool:
        def allowed(want: Any, state: str) -> bool:
            return state == want if isinstance(want, str) else state in want

        tests = {"any": any, "all": all}
        return all(
            tests[name](allowed(want, state) for state in states.values())
            if name in tests
            else allowed(want, states[name])
            for name, want in verdict.get("when", {}).items()
        )

    # Lines

    def go(self, here: Here, then: str, line: Line) -> Iterator[Line]:
        """Every line from a step to an end of this tree, or to its own end."""
        if line.over or then == "end":
            self.count += 1
            if self.count > MOST_LINES:
                raise TooMany
            yield line
            return
        if then.startswith("verdict:"):
            yield replace(line, verdict=then.removeprefix("verdict:"))
            return
        for kind in ("question", "recall", "working", "visit", "each"):
            if then in here.tree.get(kind, {}):
                yield from getattr(self, kind)(here, then, here.tree[kind][then], line)

    def branch(
        self,
        here: Here,
        step: Table,
        row: Table,
        line: Line,
        causes: tuple[str, ...],
        assume: Table | None = None,
    ) -> Iterator[Line]:
        """Go on along one answer or band."""
        known = {**line.known, **(assume or {})}
        line = self.found(here, replace(line, known=known), row, causes)
        yield from self.go(here, row.get("then") or step["then"], line)

    @staticmethod
    def found(here: Here, line: Line, row: Table, causes: tuple[str, ...]) -> Line:
        names = row.get("finding", [])
        names = [names] if isinstance(names, str) else names
        return replace(line, findings=line.findings + tuple((here.id, name, causes) for name in names))

    def value(self, line: Line, key: str) -> Any:
        return line.known.get(key, self.set.get(key))

    @staticmethod
    def band(step: Table, number: Fraction) -> Table:
        for band in step["band"]:
            if "below" in band and number < band["below"]:
                return dict(band)
            if "up-to" in band and number <= band["up-to"]:
                return dict(band)
        return dict(step["band"][-1])

    # Steps

    def question(self, here: Here, name: str, question: Table, line: Line) -> Iterator[Line]:
        key = here.key(name)
        causes = () if key in self.set else (key,)
        if name in here.given:
            value = self.value(line, key)
        elif key not in self.facts:
            yield replace(line, missing=key)
            return
        else:
            value = self.facts[key]
            if key in self.basis and self.basis[key] not in question.get("accept", [self.basis[key]]):
                value = NOT_SURE
            line = replace(line, known={**line.known, key: value}, asked=(*line.asked, key))
        kind = question["kind"]
        if value in (NOT_SURE, NO_NUMBER):
            not_sure = question["not-sure"]
            line = self.found(here, line, not_sure, causes)
            if "then" in not_sure:
                yield from self.go(here, not_sure["then"], line)
                return
            line = replace(line, unsettled=line.unsettled + causes)
            rows = question["answer"] if kind == "choice" else question.get("band", [{}])
            for row in rows:
                assume = {key: row["id"] if kind == "choice" else NO_NUMBER}
                yield from self.branch(here, question, row, line, causes, assume)
        elif kind == "choice":
            [row] = [row for row in question["answer"] if row["id"] == value]
            yield from self.branch(here, question, row, line, causes)
        elif kind == "several":
            for row in question["answer"]:
                line = self.found(here, line, row, causes) if row["id"] in value else line
            yield from self.go(here, question["then"], line)
        elif "band" in question:
            yield from self.branch(here, question, self.band(question, value), line, causes)
        else:
            yield from self.go(here, question["then"], line)

    def recall(self, here: Here, name: str, recall: Table, line: Line) -> Iterator[Line]:
        question = here.tree["question"][recall["question"]]
        key = here.key(recall["question"])
        causes = () if key in self.set else (key,)
        value = self.value(line, key)
        named = {row["id"]: row for row in recall.get("answer", [])}
        if value not in (None, NOT_SURE, NO_NUMBER):
            row = named.get(value, {}) if question["kind"] == "choice" else self.band(recall, value)
            yield from self.branch(here, recall, row, line, causes)
            return
        not_sure = recall["not-sure"]
        line = self.found(here, line, not_sure, causes)
        if "then" in not_sure:
            yield from self.go(here, not_sure["then"], line)
        elif question["kind"] == "choice":
            for answer in question["answer"]:
                row = named.get(answer["id"], {})
                yield from self.branch(here, recall, row, line, causes, {key: answer["id"]})
        else:
            for row in recall["band"]:
                yield from self.branch(here, recall, row, line, causes)

    def working(self, here: Here, name: str, working: Table, line: Line) -> Iterator[Line]:
        """Of the workings of the trade only the gap round a flue: half of the hole less the flue."""
        assert (working["run"], working["branch-on"]) == ("annular-gap", "gap_mm")
        keys = {put: here.key(key) for put, key in working.get("give", {}).items()}
        inputs = dict(working.get("set", {}))
        inputs |= {put: self.value(line, key) for put, key in keys.items()}
        causes = tuple(k for k in keys.values() if k not in self.set and self.value(line, k) is not None)
        if not any(value in (None, NOT_SURE, NO_NUMBER) for value in inputs.values()):
            done = (here.prefix + name, tuple(sorted(inputs.items())))
            line = replace(line, workings=(*line.workings, done))
            gap = Fraction(inputs["hole_mm"] - inputs["flue_mm"]) / 2
            yield from self.branch(here, working, self.band(working, gap), line, causes)
            return
        not_sure = working["not-sure"]
        line = self.found(here, line, not_sure, causes)
        if "then" in not_sure:
            yield from self.go(here, not_sure["then"], line)
            return
        for row in working["band"]:
            yield from self.branch(here, working, row, line, causes)

    def inside(self, here: Here, visit: Table, name: str) -> Here:
        prefix = f"{here.prefix}{name}/"
        given = {question: here.key(key) for question, key in visit.get("given", {}).items()}
        for question, value in visit.get("set", {}).items():
            given[question] = prefix + question
            self.set[prefix + question] = value
        return Here(self.trees[visit["tree"]], prefix, given)

    def visit(self, here: Here, name: str, visit: Table, line: Line) -> Iterator[Line]:
        inside = self.inside(here, visit, name)
        for back in self.go(inside, inside.tree["tree"]["first"], line):
            yield from self.go(here, visit["then"], back)

    def each(self, here: Here, name: str, each: Table, line: Line) -> Iterator[Line]:
        value = self.value(line, here.key(each.get("count") or each["over"]))
        if "count" in each:
            items = [str(number + 1) for number in range(int(value))]
        else:
            answers = here.tree["question"][each["over"]]["answer"]
            items = [answer["id"] for answer in answers if answer["id"] in value]
        yield from self.items(here, name, each, items, line)

    def items(self, here: Here, name: str, each: Table, items: list[str], line: Line) -> Iterator[Line]:
        if not items or line.over:
            yield from self.go(here, each["then"], line)
            return
        inside = self.inside(here, each, f"{name}.{items[0]}")
        for back in self.go(inside, inside.tree["tree"]["first"], line):
            yield from self.items(here, name, each, items[1:], back)
