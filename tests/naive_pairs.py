"""Two editions under every answer, one by one, read from the contract: what a pair of verdicts is.

A pair is what both editions come to under the same answers. An answer "not sure" that an edition leaves open stands for each
answer that it could be; it is the same one in both, wherever either leaves it open: an answer of a choice, a number of a
question. What a recall of a number, or a working, leaves open is a number of its own, the same for steps of one name. An
edition that is given, or that assumes, an answer which it does not have is "refused" there, if the other takes it; so is one
that comes to where it cannot go on, as a working that does not take what it is given.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any, NamedTuple

from tests.growing import NOT_SURE, Table
from tests.growing_ways import of_every_sort
from tests.naive_ways import Ways
from tests.oracle import NO_NUMBER, Here, Line, Oracle

__all__ = ["REFUSED", "Edition", "Outcome", "Pair", "Space", "pairs"]

REFUSED = "refused"


class Need(Exception):
    """A fact key, or what is assumed, that was not told yet."""


class Fault(Exception):
    """An edition cannot go on; `key` where it does not take an answer."""

    def __init__(self, key: str = "") -> None:
        self.key = key


@dataclass
class Outcome:
    """What one edition comes to."""

    verdict: tuple[str, str] | None
    """Its id and outcome; None: none matches."""
    states: tuple[str, ...] = ()
    took: set[str] = field(default_factory=set)
    """What was told or assumed."""
    rows: list[tuple[str, str]] = field(default_factory=list)
    refused: str = ""
    """The answer that was not taken."""

    @property
    def told(self) -> tuple[str, str] | None:
        return self.verdict


class Edition:
    """One edition, walked along one line."""

    def __init__(self, trees: Mapping[str, Table], root: str) -> None:
        self.oracle = Oracle(trees, root)
        self.trees = trees
        self.root = trees[root]

    def outcome(self, facts: Mapping[str, Any]) -> Outcome:
        """Where one line ends. Raises `Need`."""
        run = _Run(self, facts)
        try:
            end = run.go(Here(self.root), self.root["tree"]["first"])
        except Fault as fault:
            return Outcome((REFUSED, REFUSED), (), run.took, run.rows, fault.key)
        line = Line(findings=tuple(run.findings))
        states = self.oracle.states(line)
        named = end.removeprefix("verdict:") if end != "end" else None
        found = next(
            (
                v
                for v in self.root["verdict"]
                if v["id"] == named or (not named and self.oracle.holds(v, states))
            ),
            None,
        )
        told = (found["id"], found["outcome"]) if found else None
        return Outcome(told, tuple(states.values()), run.took, run.rows)

    def question(self, key: str) -> Table | None:
        """The question behind a fact key; None where there is none."""
        tree = self.root
        *visits, name = key.split("/")
        for part in visits:
            step = part.partition(".")[0]
            visit = tree["visit"].get(step) or tree["each"].get(step)
            if visit is None:
                return None
            tree = self.trees[visit["tree"]]
        found = tree["question"].get(name)
        return dict(found) if found else None

    def step(self, key: str) -> Table | None:
        """The recall or working of this name."""
        tree = self.root
        *visits, name = key.split("/")
        for part in visits:
            step = part.partition(".")[0]
            visit = tree["visit"].get(step) or tree["each"].get(step)
            if visit is None:
                return None
            tree = self.trees[visit["tree"]]
        return tree["recall"].get(name) or tree["working"].get(name)  # type: ignore[no-any-return]


class _Run:
    """One line of one edition."""

    def __init__(self, edition: Edition, facts: Mapping[str, Any]) -> None:
        self.edition = edition
        self.facts = facts
        self.known: dict[str, Any] = {}
        self.set: dict[str, Any] = {}
        self.findings: list[tuple[str, str, tuple[str, ...]]] = []
        self.took: set[str] = set()
        self.rows: list[tuple[str, str]] = []

    def fact(self, key: str) -> Any:
        if key not in self.facts:
            raise Need(key)
        return self.facts[key]

    def find(self, here: Here, row: Table) -> None:
        names = row.get("finding", [])
        names = [names] if isinstance(names, str) else names
        self.findings += [(here.id, name, ()) for name in names]

    def value(self, key: str) -> Any:
        return self.known.get(key, self.set.get(key))

    def go(self, here: Here, then: str) -> str:
        """The end of this run."""
        while then != "end" and not then.startswith("verdict:"):
            for kind in ("question", "recall", "working", "visit", "each"):
                if then in here.tree[kind]:
                    then = getattr(self, kind)(here, then, here.tree[kind][then])
                    break
        return then

    def along(self, here: Here, name: str, step: Table, row: Table, index: object) -> str:
        self.rows.append((here.prefix + name, str(index)))
        self.find(here, row)
        return str(row.get("then") or step["then"])

    def banded(self, here: Here, name: str, step: Table, number: Fraction, mark: str = "") -> str:
        index = Ways.place(step, number)
        return self.along(here, name, step, step["band"][index], f"{index}{mark}")

    # Questions

    def question(self, here: Here, name: str, question: Table) -> str:
        key = here.key(name)
        linked = name in here.given
        if linked:
            value = self.value(key)
        else:
            value = self.fact(key)
            if (value == NOT_SURE and "must-answer" in question) or (
                value != NOT_SURE and not sort_taken(question, value)
            ):
                raise Fault(key)
            self.took.add(key)
            self.known[key] = value
        if value in (None, NOT_SURE, NO_NUMBER):
            return self.unanswered(here, name, question, key)
        if linked and not sort_taken(question, value):
            raise Fault
        if question["kind"] == "choice":
            index = [row["id"] for row in question["answer"]].index(value)
            return self.along(here, name, question, question["answer"][index], index)
        if question["kind"] == "several":
            for row in question["answer"]:
                if row["id"] in value:
                    self.find(here, row)
            self.rows.append((here.prefix + name, str(sorted(value))))
            return str(question["then"])
        if "band" in question:
            return self.banded(here, name, question, value)
        self.rows.append((here.prefix + name, ""))
        return str(question["then"])

    def unanswered(self, here: Here, name: str, question: Table, key: str) -> str:
        not_sure = question.get("not-sure", {})
        self.find(here, not_sure)
        if "then" in not_sure:
            self.rows.append((here.prefix + name, NOT_SURE))
            return str(not_sure["then"])
        hidden = key + "?"
        if question["kind"] == "choice":
            guess = self.fact(hidden)
            ids = [row["id"] for row in question["answer"]]
            if guess not in ids:
                raise Fault(hidden)
            self.took.add(hidden)
            self.known[key] = guess
            return self.along(
                here, name, question, question["answer"][ids.index(guess)], f"{ids.index(guess)}?"
            )
        if "band" in question:
            guess = self.fact(hidden)
            if not sort_taken(question, guess):
                raise Fault(hidden)
            self.took.add(hidden)
            self.known[key] = NO_NUMBER
            return self.banded(here, name, question, guess, "?")
        self.rows.append((here.prefix + name, "?"))
        return str(question["then"])

    # Looking back

    def recall(self, here: Here, name: str, recall: Table) -> str:
        question = here.tree["question"][recall["question"]]
        key = here.key(recall["question"])
        value = self.value(key)
        rows = {row["id"]: row for row in recall.get("answer", [])}
        choice = question["kind"] == "choice"
        mark = ""
        if value in (None, NOT_SURE, NO_NUMBER):
            not_sure = recall.get("not-sure", {})
            self.find(here, not_sure)
            if "then" in not_sure:
                self.rows.append((here.prefix + name, NOT_SURE))
                return str(not_sure["then"])
            mark = "?"
            hidden = f"{key}?" if choice else f"{here.prefix}{name}?"
            if choice:
                value = self.fact(hidden)
                told = [one["id"] for one in question["answer"] if one["id"] in rows or "then" in recall]
                if value not in told:
                    raise Fault(hidden)
                self.took.add(hidden)
                self.known[key] = value
            elif "band" in recall:
                value = self.fact(hidden)
                self.took.add(hidden)
        if choice:
            if value not in rows and "then" not in recall:
                raise Fault
            index = list(rows).index(value) if value in rows else value
            return self.along(here, name, recall, rows.get(value, {}), f"{index}{mark}")
        if "band" in recall:
            return self.banded(here, name, recall, value, mark)
        return self.along(here, name, recall, {}, mark)

    def working(self, here: Here, name: str, working: Table) -> str:
        inputs = dict(working.get("set", {}))
        inputs |= {put: self.value(here.key(written)) for put, written in working.get("give", {}).items()}
        if any(value in (None, NOT_SURE, NO_NUMBER) for value in inputs.values()):
            not_sure = working.get("not-sure", {})
            self.find(here, not_sure)
            if "then" in not_sure:
                self.rows.append((here.prefix + name, NOT_SURE))
                return str(not_sure["then"])
            hidden = f"{here.prefix}{name}?"
            guess = self.fact(hidden)
            self.took.add(hidden)
            return self.banded(here, name, working, guess, "?")
        gap = Fraction(inputs["hole_mm"] - inputs["flue_mm"]) / 2
        if gap < 0:
            raise Fault
        return self.banded(here, name, working, gap)

    # Other trees

    def inside(self, here: Here, visit: Table, name: str) -> Here:
        prefix = f"{here.prefix}{name}/"
        given = {question: here.key(key) for question, key in visit.get("given", {}).items()}
        for question, value in visit.get("set", {}).items():
            given[question] = prefix + question
            self.set[prefix + question] = value
        return Here(self.edition.trees[visit["tree"]], prefix, given)

    def visit(self, here: Here, name: str, visit: Table) -> str:
        inside = self.inside(here, visit, name)
        end = self.go(inside, inside.tree["tree"]["first"])
        return end if end != "end" else str(visit["then"])

    def each(self, here: Here, name: str, each: Table) -> str:
        counted = each.get("count") or each["over"]
        value = self.value(here.key(counted))
        if value in (None, NOT_SURE, NO_NUMBER):
            raise Fault
        if not sort_taken(here.tree["question"][counted], value):
            raise Fault
        if "count" in each:
            items = [str(number + 1) for number in range(int(value))]
        else:
            items = [one["id"] for one in here.tree["question"][counted]["answer"] if one["id"] in value]
        self.rows.append((here.prefix + name, str(items)))
        for item in items:
            inside = self.inside(here, each, f"{name}.{item}")
            end = self.go(inside, inside.tree["tree"]["first"])
            if end != "end":
                return end
        return str(each["then"])


def sort_taken(question: Table, value: Any) -> bool:
    """Whether a question takes an answer that is not "not sure"."""
    kinds = {"choice": str, "note": str, "several": list, "measure": Fraction, "count": Fraction}
    if question["kind"] in ("measure", "count") and isinstance(value, int):
        value = Fraction(value)
    return isinstance(value, kinds[question["kind"]]) and Ways.admits(question, value)


class Pair(NamedTuple):
    """The same answers in both editions."""

    facts: Mapping[str, Any]
    old: Outcome
    new: Outcome


class Space:
    """The answers that are tried, one of every sort for both editions."""

    def __init__(self, old: Edition, new: Edition) -> None:
        self.editions = (old, new)
        self.ends: dict[object, set[Fraction]] = {}
        for edition in self.editions:
            for tree in edition.trees.values():
                self.gather(tree)

    def gather(self, tree: Table) -> None:
        for step in (*tree["question"].values(), *tree["recall"].values(), *tree["working"].values()):
            for band in step.get("band", []):
                for key in ("below", "up-to"):
                    if key in band:
                        self.ends.setdefault("all", set()).add(Fraction(band[key]))
        for question in tree["question"].values():
            if "least" in question:
                self.ends.setdefault("all", set()).update(
                    (Fraction(question["least"]), Fraction(question["most"]))
                )

    def between(self, least: Fraction, most: Fraction) -> list[Fraction]:
        """Every end of a band between these, and a number on either side of each."""
        inner = [least, *sorted(end for end in self.ends["all"] if least < end < most), most]
        numbers = [least]
        for low, high in itertools.pairwise(inner):
            numbers += [(low + high) / 2, high]
        return list(dict.fromkeys(numbers))

    def values(self, key: str) -> list[Any]:
        """What is tried for a fact key, or for what is assumed."""
        name = key.removesuffix("?")
        questions = [found for one in self.editions if (found := one.question(name)) is not None]
        if not questions:
            return self.between(min(self.ends["all"]) - 1, max(self.ends["all"]) + 1)
        values: list[Any] = []
        for question in questions:
            if question["kind"] in ("choice", "several", "note"):
                values += [v for v in of_every_sort(name, question) if v != NOT_SURE]
            else:
                least = min(Fraction(one["least"]) for one in questions if "least" in one)
                most = max(Fraction(one["most"]) for one in questions if "most" in one)
                if question["kind"] == "count":
                    values += [Fraction(n) for n in range(int(least), int(most) + 1)]
                else:
                    values += self.between(least, most)
                    if question["least"] in range(90, 150):
                        values += [v for v in of_every_sort(name, question) if v != NOT_SURE]
        if any(question["kind"] == "several" for question in questions):
            ids = list(dict.fromkeys(a["id"] for q in questions for a in q["answer"]))
            values = [
                [one for n, one in enumerate(ids) if chosen >> n & 1] for chosen in range(2 ** len(ids))
            ]
        unsure = [NOT_SURE] if not key.endswith("?") and any("not-sure" in q for q in questions) else []
        unique: list[Any] = []
        for value in [*values, *unsure]:
            if value not in unique:
                unique.append(value)
        return unique


def pairs(old: Edition, new: Edition, left: list[int], space: Space | None = None) -> Iterator[Pair]:
    """What both come to under every answer, as far as the count in `left` goes; what only one was asked and refuses left out."""
    space = space or Space(old, new)
    waiting: list[dict[str, Any]] = [{}]
    while waiting and left[0]:
        facts = waiting.pop()
        try:
            before, after = old.outcome(facts), new.outcome(facts)
        except Need as need:
            [key] = need.args
            waiting += [{**facts, key: value} for value in reversed(space.values(key))]
            continue
        left[0] -= 1
        if before.refused and before.refused not in after.took:
            continue
        if after.refused and after.refused not in before.took:
            continue
        yield Pair(facts, before, after)
