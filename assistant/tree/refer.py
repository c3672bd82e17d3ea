"""Whether everything a tree names exists, and every way on leads somewhere: the second half of loading.

Invariant: a tree with no mistake here can be walked without a lookup that fails. Each rule is one method, and
every breach is told at once.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence
from fractions import Fraction

from assistant.errors import Refused
from assistant.tree.keys import table_name
from assistant.tree.mistakes import Mistake
from assistant.tree.model import (
    Answer,
    Band,
    Question,
    Recall,
    TreeFile,
    Working,
)
from assistant.tree.slips import Path
from assistant.tree.toml import Document
from assistant.tree.tree import Tree
from assistant.tree.visits import MOST_EACH, Visits
from assistant.workings import registry
from assistant.workings.registry import Input
from assistant.workings.units import converted

__all__ = ["MOST_EACH", "MOST_STEPS", "references"]

MOST_STEPS = 20_000


def references(
    file: TreeFile, document: Document, parts: Mapping[str, Tree | None], broken: Collection[Path] = ()
) -> list[Mistake]:
    """Everything in this file that names what does not exist, or leaves a way on open.

    Nothing is said about the `broken` tables, of which something was said already.
    """
    referee = _Referee(file, document, parts, broken)
    referee.whole()
    return referee.mistakes


class _Referee(Visits):
    """The rules, one method a kind of table."""

    def whole(self) -> None:
        self.ids()
        if len(self.steps) > MOST_STEPS:
            self.slip(
                ("tree",),
                "too-many-steps",
                f"this tree has {len(self.steps)} steps; the most is {MOST_STEPS}.",
                "Cut it into several trees that visit each other.",
                key=True,
            )
        self.way(("tree", "first"), self.file.tree.first, end=False)
        if not self.file.tree.defer:
            self.slip(
                ("tree", "defer"),
                "no-defer",
                "`defer` in [tree] needs at least one sentence.",
                "It stands with every verdict: the maker's instructions, the local code, who may do the work.",
            )
        if self.file.tree.review_by and not re.fullmatch(r"\d{4}-(0[1-9]|1[0-2])", self.file.tree.review_by):
            self.slip(
                ("tree", "review-by"),
                "bad-month",
                "`review-by` needs a year and a month.",
                'Write "2027-06".',
            )
        for name, question in self.file.question.items():
            self.question(("question", name), question)
        for name, recall in self.file.recall.items():
            self.recall(("recall", name), recall)
        for name, working in self.file.working.items():
            self.working(("working", name), working)
        for name, visit in self.file.visit.items():
            self.visit(("visit", name), visit)
        for name, each in self.file.each.items():
            self.each(("each", name), each)
        for name, finding in self.file.finding.items():
            self.sources(("finding", name), finding.source)
            if finding.requirement is not None:
                self.named(
                    ("finding", name, "requirement"),
                    finding.requirement,
                    self.file.requirement,
                    "requirement",
                )
            elif finding.effect != "advice":
                self.slip(
                    ("finding", name), "missing-key", f'[finding.{name}] needs `requirement`: its effect is "{finding.effect}".',
                    'Only a finding with effect = "advice" can do without.', key=True,
                )  # fmt: skip
        wanted = {"any": None, "all": None, **self.file.requirement}
        for index, verdict in enumerate(self.file.verdict):
            for requirement in verdict.when:
                self.named(
                    ("verdict", index, "when", requirement),
                    requirement,
                    wanted,
                    "requirement",
                    key=True,
                )
        self.handed_back()

    def question(self, table: Path, question: Question) -> None:
        self.sources(table, question.source)
        numeric = question.kind in ("measure", "count")
        rows = question.answer if question.kind in ("choice", "several") else question.band
        wrong = "band" if question.kind in ("choice", "several") else "answer"
        if question.kind == "note" and question.band:
            wrong = "band"
        misplaced = bool(getattr(question, wrong))
        if misplaced:
            right = {"answer": "answers", "band": "bands"}[wrong]
            self.slip(
                (*table, wrong),
                "wrong-rows",
                f"a {question.kind} question has no {right}.",
                self.rows_hint(table, question.kind),
                key=True,
                also=[self.kind_of(str(table[1]))],
            )
        elif question.kind in ("choice", "several") and not question.answer:
            self.slip(
                table,
                "no-answers",
                f"{table_name(table)} has no answers.",
                f"Write [[{'.'.join(map(str, table))}.answer]] tables below it.",
                key=True,
            )
        self.numbers(table, question)
        if question.kind in ("several", "note") and question.then is None:
            self.slip(
                table,
                "no-way-on",
                f"{table_name(table)} needs `then`: a {question.kind} question has one way on.",
                "Write it above the first header that follows.",
                key=True,
            )
        if question.must_answer and question.not_sure is not None:
            self.slip(
                (*table, "not-sure"),
                "answer-or-not-sure",
                f"{table_name(table)} must be answered and yet has a not-sure.",
                "Take one of the two out: the line `must-answer = true`, or this table with all its lines.",
                key=True,
                also=[self.label((*table, "must-answer"), "this says that it must be answered")],
            )
        self.rows(table, "answer" if question.kind in ("choice", "several") else "band", rows, question)
        if numeric and not misplaced:
            self.bands(table, question.band)
            if not question.band and question.then is None:
                self.slip(
                    table,
                    "no-way-on",
                    f"{table_name(table)} leads nowhere.",
                    "Write bands, or `then`.",
                    key=True,
                )
        self.not_sure(table, question.not_sure)
        if (
            question.not_sure is not None
            and question.not_sure.then is None
            and question.kind in ("several", "note")
        ):
            self.slip(
                (*table, "not-sure"),
                "not-sure-way",
                f"not sure of a {question.kind} question needs `then`.",
                "Not every answer to it can be tried in turn.",
                key=True,
            )
        self.work(table, question)
        if question.then is not None:
            self.way((*table, "then"), question.then)

    def numbers(self, table: Path, question: Question) -> None:
        """The limits of a measure or count; no other kind has any."""
        numeric = question.kind in ("measure", "count")
        for key in ("least", "most"):
            value = getattr(question, key)
            if numeric and value is None:
                self.slip(
                    table,
                    "missing-key",
                    f"{table_name(table)} needs `{key}`.",
                    "What lies outside least and most is refused.",
                    key=True,
                )
            elif value is not None and not numeric:
                self.slip(
                    (*table, key),
                    "wrong-key",
                    f"a {question.kind} question has no `{key}`.",
                    "Take it out.",
                    key=True,
                )
            elif value is not None and question.kind == "count" and value.denominator != 1:
                self.slip(
                    (*table, key),
                    "wrong-value",
                    f"`{key}` of a count needs a whole number.",
                    f"Write `{key} = {int(value)}`.",
                )
        if question.least is not None and question.most is not None and question.least > question.most:
            self.slip(
                (*table, "least"), "least-over-most", "`least` is more than `most`.", "Turn them round.",
                also=[self.label((*table, "most"), "less than `least`", key=False)],
            )  # fmt: skip
        if question.unit is not None and not numeric:
            self.slip(
                (*table, "unit"),
                "wrong-key",
                f"a {question.kind} question has no `unit`.",
                "Take it out.",
                key=True,
            )

    def work(self, table: Path, question: Question) -> None:
        """The answers of a several question lead nowhere of their own; work that puts right has an effort."""
        if question.kind == "several":
            for index, answer in enumerate(question.answer):
                if answer.then is not None:
                    self.slip(
                        (*table, "answer", index, "then"),
                        "wrong-key",
                        "an answer of a several question cannot name `then`, since several may be given.",
                        "Write one `then` for the whole question, and recall what was answered later on.",
                        key=True,
                    )
        key = "answer" if question.kind in ("choice", "several") else "band"
        rows: Sequence[Answer | Band] = question.answer if key == "answer" else question.band
        for index, row in enumerate(rows):
            path = (*table, key, index)
            if (row.put_right is None) != (row.effort is None):
                has, lacks = ("put-right", "effort") if row.effort is None else ("effort", "put-right")
                line = "effort = 2" if lacks == "effort" else 'put-right = "…"'
                self.slip(
                    (*path, has),
                    "missing-key",
                    f"{table_name(path)} has `{has}` and no `{lacks}`.",
                    f"Write `{line}` beside it. Work needs both: what to do, and its effort from 1 (minutes) to 5.",
                    key=True,
                )

    def recall(self, table: Path, recall: Recall) -> None:
        self.not_sure(table, recall.not_sure)
        if recall.then is not None:
            self.way((*table, "then"), recall.then)
        if not self.named((*table, "question"), recall.question, self.file.question, "question"):
            return
        question = self.file.question[recall.question]
        if question.kind not in ("choice", "measure", "count"):
            self.slip(
                (*table, "question"),
                "wrong-kind",
                f'"{recall.question}" is a {question.kind} question and cannot be recalled.',
                "A recall looks at a choice, a measure or a count.",
                also=[self.kind_of(recall.question)],
            )
            return
        key, wrong = ("answer", "band") if question.kind == "choice" else ("band", "answer")
        if getattr(recall, wrong):
            self.slip(
                (*table, wrong),
                "wrong-rows",
                f'"{recall.question}" is a {question.kind} question: its recall has {key}s.',
                f"Write [[{'.'.join(map(str, table))}.{key}]] tables.",
                key=True,
            )
        self.rows(table, key, getattr(recall, key), recall)
        self.bands(table, recall.band)
        if not getattr(recall, key) and recall.then is None:
            self.slip(
                table,
                "no-way-on",
                f"{table_name(table)} leads nowhere.",
                f"Write {key}s, or `then`.",
                key=True,
            )
        if question.kind != "choice":
            return
        ids = [answer.id for answer in question.answer]
        for index, row in enumerate(recall.answer):
            self.named(
                (*table, "answer", index, "id"), row.id, ids, "answer", owner=f'"{recall.question}"',
                also=lambda: self.label(("question", recall.question), "its answers stand below this header"),
            )  # fmt: skip

    def unit_fits(self, table: Path, name: str, keys: Sequence[str], wanted: Input) -> None:
        """A number that a working is given has to be of the kind that it takes."""
        question = None if keys[0].endswith(".*") else self.question_at(keys[0])
        if question is None or question.unit is None or wanted.unit is None:
            return
        try:
            converted(Fraction(1), question.unit, wanted.unit)
        except Refused:
            self.slip(
                (*table, "give", name),
                "wrong-kind",
                f'"{keys[0]}" is asked in {question.unit}, but "{name}" is wanted in {wanted.unit}.',
                f"Ask for it in {wanted.unit}, or in a unit of the same kind.",
            )

    def working(self, table: Path, working: Working) -> None:
        self.sources(table, working.source)
        self.not_sure(table, working.not_sure)
        if working.then is not None:
            self.way((*table, "then"), working.then)
        self.rows(table, "band", working.band, working)
        self.bands(table, working.band)
        if not working.band:
            self.slip(
                table, "no-bands", f"{table_name(table)} has no bands.", "Write at least one.", key=True
            )
        for name, keys in working.give.items():
            for key in keys:
                self.fact_key((*table, "give", name), key, star=True)
        if not self.named((*table, "run"), working.run, registry.names(), "working"):
            return
        calculation = registry.find(working.run)
        inputs = {one.name: one for one in calculation.inputs}
        for where in ("give", "set"):
            for name in getattr(working, where):
                self.named((*table, where, name), name, inputs, "input", key=True, owner=working.run)
        for name in working.set:
            if name in working.give:
                self.given_and_set(table, name)
        for name, keys in working.give.items():
            if name in inputs:
                self.unit_fits(table, name, keys, inputs[name])
        for name, one in inputs.items():
            if one.required and name not in working.give and name not in working.set:
                self.slip(
                    table,
                    "missing-input",
                    f'{table_name(table)} does not give "{name}", which {working.run} needs.',
                    f'Write `give = {{ {name} = "<fact key>" }}`.',
                    key=True,
                )
        self.named(
            (*table, "branch-on"),
            working.branch_on,
            [result.name for result in calculation.results],
            "result",
            owner=working.run,
        )
