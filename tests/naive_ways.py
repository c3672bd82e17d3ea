"""Every way through a tree, one by one: the naive interpreter, asked nothing and trying every answer.

A way is the row taken at every step; what it comes to and what went wrong on it are noted beside it. The answers tried
have one of every sort among them, so that each way that real answers take is met.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import Any, NamedTuple

from tests.oracle import NO_NUMBER, NOT_SURE, Here, Line, Oracle, Table, TooMany

MOST_WAYS = 4_000
"""Lines that are worth enumerating."""

Step = tuple[str, str, bool]
"""A step with the prefix of its run, its row, and whether that is only one of those that "not sure" leaves possible."""


class Way(NamedTuple):
    """A line that came to an end."""

    steps: tuple[Step, ...]
    facts: Mapping[str, Any]
    verdict: str | None
    """None: no verdict matches."""
    states: tuple[str, ...]
    danger: bool
    help: bool
    """Whether it passed a question with work that brings about another answer."""
    asked: int


@dataclass(frozen=True)
class Trace(Line):
    """A line with the rows that it took."""

    steps: tuple[Step, ...] = ()
    help: bool = False
    facts: Mapping[str, Any] = field(default_factory=dict)


class Ways(Oracle):
    """Every line under every answer."""

    def __init__(
        self, trees: Mapping[str, Table], root: str, candidates: Callable[[str, Table], list[Any]]
    ) -> None:
        super().__init__(trees, root)
        self.candidates = candidates
        self.faults: set[tuple[str, str, str]] = set()
        """Code, prefix and step of whatever went wrong."""
        self.taken: set[tuple[str, str]] = set()
        """Every step that some line stood at, with its prefix."""
        self.rows: set[Step] = set()
        """Every row that some line took."""

    def ways(self) -> Iterator[Way]:
        """Every line, several under one way among them. Raises `TooMany`."""
        lines = self.go(Here(self.root), self.root["tree"]["first"], Trace())
        for count, line in enumerate(lines):
            if count >= MOST_WAYS:
                raise TooMany
            assert isinstance(line, Trace)
            states = self.states(line)
            verdict = line.verdict or next(
                (one["id"] for one in self.root["verdict"] if self.holds(one, states)), None
            )
            found = [self.trees[tree]["finding"][name] for tree, name, _ in line.findings]
            danger = any(one["effect"] == "danger" for one in found)
            yield Way(
                line.steps, line.facts, verdict, tuple(states.values()), danger, line.help, len(line.facts)
            )  # fmt: skip

    def go(self, here: Here, then: str, line: Line) -> Iterator[Line]:
        if line.over or then == "end":
            yield line
            return
        if not then.startswith("verdict:"):
            self.taken.add((here.prefix, then))
        yield from super().go(here, then, line)

    def fault(self, code: str, here: Here, name: str) -> None:
        self.faults.add((code, here.prefix, name))

    def stepped(self, line: Line, here: Here, name: str, row: object, unsure: bool = False) -> Trace:
        assert isinstance(line, Trace)
        step = (here.prefix + name, str(row), unsure)
        self.rows.add(step)
        return replace(line, steps=(*line.steps, step))

    @staticmethod
    def helped(here: Here, line: Trace, name: str, without: int | None) -> Trace:
        """Note where work could bring about another answer to a question that a person was asked."""
        question = here.tree["question"][name]
        rows = question.get("answer", question.get("band", []))
        helps = any(
            "put-right" in row and not wrong(here, row) for index, row in enumerate(rows) if index != without
        )
        return replace(line, help=True) if helps and name not in here.given else line

    # Questions

    def question(self, here: Here, name: str, question: Table, line: Line) -> Iterator[Line]:
        assert isinstance(line, Trace)
        key = here.key(name)
        if name in here.given:
            yield from self.answered(here, name, question, line, self.value(line, key))
            return
        for value in self.candidates(key, question):
            known, facts = {**line.known, key: value}, {**line.facts, key: value}
            yield from self.answered(here, name, question, replace(line, known=known, facts=facts), value)

    def answered(self, here: Here, name: str, question: Table, line: Trace, value: Any) -> Iterator[Line]:
        kind = question["kind"]
        if value in (None, NOT_SURE, NO_NUMBER):
            yield from self.unanswered(here, name, question, line)
            return
        if name in here.given and not self.admits(question, value):
            self.fault("given-not-taken", here, name)
            return
        if kind == "several":
            chosen = [row for row in question["answer"] if row["id"] in value]
            line = self.stepped(line, here, name, [row["id"] for row in chosen])
            for row in chosen:
                line = self.noted(here, line, row)
            yield from self.go(here, question["then"], line)
            return
        if kind == "choice":
            [row] = [row for row in question["answer"] if row["id"] == value]
            index = question["answer"].index(row)
        elif "band" in question:
            index = self.place(question, value)
            row = question["band"][index]
        else:
            yield from self.go(here, question["then"], self.stepped(line, here, name, ""))
            return
        line = self.helped(here, self.stepped(line, here, name, index), name, index)
        yield from self.branch(here, question, row, line, ())

    def unanswered(self, here: Here, name: str, question: Table, line: Trace) -> Iterator[Line]:
        if name in here.given and question.get("must-answer"):
            self.fault("given-not-known", here, name)
        not_sure, key = question.get("not-sure", {}), here.key(name)
        line = self.noted(here, line, not_sure)
        if "then" in not_sure:
            line = self.helped(here, self.stepped(line, here, name, NOT_SURE), name, None)
            yield from self.go(here, not_sure["then"], line)
            return
        kind = question["kind"]
        rows = question["answer"] if kind == "choice" else question.get("band", [{}])
        for index, row in enumerate(rows):
            assume = {key: row["id"] if kind == "choice" else NO_NUMBER} if row else {}
            on = self.helped(here, self.stepped(line, here, name, index, True), name, None)
            yield from self.branch(here, question, row, on, (), assume)

    @staticmethod
    def noted(here: Here, line: Trace, row: Table) -> Trace:
        on = Oracle.found(here, line, row, ())
        assert isinstance(on, Trace)
        return on

    @staticmethod
    def place(step: Table, number: Fraction) -> int:
        """Which band a number falls into."""
        for index, band in enumerate(step["band"]):
            if ("below" in band and number < band["below"]) or ("up-to" in band and number <= band["up-to"]):
                return index
        return len(step["band"]) - 1

    @staticmethod
    def admits(question: Table, value: Any) -> bool:
        if question["kind"] in ("choice", "several"):
            ids = {row["id"] for row in question["answer"]}
            return {value} <= ids if question["kind"] == "choice" else set(value) <= ids
        if question["kind"] in ("measure", "count"):
            return bool(question["least"] <= value <= question["most"])
        return True

    # Steps that ask nothing

    def recall(self, here: Here, name: str, recall: Table, line: Line) -> Iterator[Line]:
        question = here.tree["question"][recall["question"]]
        key = here.key(recall["question"])
        value = self.value(line, key)
        rows = recall.get("answer", [])
        places = {row["id"]: index for index, row in enumerate(rows)}
        choice = question["kind"] == "choice"
        if value not in (None, NOT_SURE, NO_NUMBER):
            if choice and value not in places and "then" not in recall:
                self.fault("recall-leaves-out", here, name)
                return
            if choice:
                index: int | None = places.get(value)
                row = {} if index is None else rows[index]
            else:
                index = self.place(recall, value) if "band" in recall else None
                row = {} if index is None else recall["band"][index]
            yield from self.branch(here, recall, row, self.stepped(line, here, name, index), ())
            return
        if value is None:
            self.fault("recall-not-asked", here, name)
        elif "not-sure" not in recall:
            self.fault("not-sure-missing", here, name)
        not_sure = recall.get("not-sure", {})
        assert isinstance(line, Trace)
        line = self.noted(here, line, not_sure)
        if "then" in not_sure:
            yield from self.go(here, not_sure["then"], self.stepped(line, here, name, NOT_SURE))
        elif choice:
            for answer in question["answer"]:
                index = places.get(answer["id"])
                row = {} if index is None else rows[index]
                if index is not None or "then" in recall:
                    on = self.stepped(line, here, name, answer["id"] if index is None else index, True)
                    yield from self.branch(here, recall, row, on, (), {key: answer["id"]})
        else:
            for index, row in enumerate(recall.get("band", [{}])):
                yield from self.branch(here, recall, row, self.stepped(line, here, name, index, True), ())

    def working(self, here: Here, name: str, working: Table, line: Line) -> Iterator[Line]:
        inputs = dict(working.get("set", {}))
        inputs |= {
            put: self.value(line, here.key(written)) for put, written in working.get("give", {}).items()
        }
        if not any(value in (None, NOT_SURE, NO_NUMBER) for value in inputs.values()):
            gap = Fraction(inputs["hole_mm"] - inputs["flue_mm"]) / 2
            if gap < 0:  # the working refuses: nobody can give these answers
                return
            index = self.place(working, gap)
            row = working["band"][index]
            yield from self.branch(here, working, row, self.stepped(line, here, name, index), ())
            return
        if "not-sure" not in working:
            self.fault("not-sure-missing", here, name)
        not_sure = working.get("not-sure", {})
        assert isinstance(line, Trace)
        line = self.noted(here, line, not_sure)
        if "then" in not_sure:
            yield from self.go(here, not_sure["then"], self.stepped(line, here, name, NOT_SURE))
            return
        for index, row in enumerate(working["band"]):
            yield from self.branch(here, working, row, self.stepped(line, here, name, index, True), ())

    def each(self, here: Here, name: str, each: Table, line: Line) -> Iterator[Line]:
        value = self.value(line, here.key(each.get("count") or each["over"]))
        if value in (None, NOT_SURE, NO_NUMBER):
            self.fault("nothing-to-count", here, name)
            return
        yield from super().each(here, name, each, self.stepped(line, here, name, value))


def wrong(here: Here, row: Table) -> bool:
    """Whether a row finds something unproven or worse: bringing it about puts nothing right."""
    named = row.get("finding", [])
    findings = [named] if isinstance(named, str) else named
    return any(here.tree["finding"][one]["effect"] in ("unproven", "fails", "danger") for one in findings)
