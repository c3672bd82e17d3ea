"""Whether everything a tree names exists, and every way on leads somewhere: the second half of loading.

Invariant: a tree with no mistake here can be walked without a lookup that fails. Each rule is one method, and
every breach is told at once.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping, Sequence

from assistant.errors import Refused
from assistant.tree.keys import table_name
from assistant.tree.mistakes import Label, Mistake
from assistant.tree.model import (
    Band,
    Each,
    NotSure,
    Question,
    Recall,
    Row,
    TreeFile,
    Visit,
    Working,
)
from assistant.tree.names import STEP_KINDS, Names
from assistant.tree.slips import Path, labelled
from assistant.tree.toml import Document
from assistant.tree.tree import Tree
from assistant.workings import registry

__all__ = ["references"]

MOST_EACH = 100
MOST_STEPS = 20_000
MOST_LABELS = 5
"""Places that are pointed at beside the first, where there are many alike."""


def references(
    file: TreeFile, document: Document, parts: Mapping[str, Tree | None], broken: Collection[Path] = ()
) -> list[Mistake]:
    """Everything in this file that names what does not exist, or leaves a way on open.

    Nothing is said about the `broken` tables, of which something was said already.
    """
    referee = _Referee(file, document, parts, broken)
    referee.whole()
    return referee.mistakes


class _Referee(Names):
    """The rules, one method a kind of table."""

    def whole(self) -> None:
        self.ids()
        if len(self.steps) > MOST_STEPS:
            self.slip(
                ("tree",),
                "too-many-steps",
                f"this tree has {len(self.steps)} steps; the most is {MOST_STEPS}.",
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
        for index, verdict in enumerate(self.file.verdict):
            for requirement in verdict.when:
                if requirement not in ("any", "all"):
                    self.named(
                        ("verdict", index, "when", requirement),
                        requirement,
                        self.file.requirement,
                        "requirement",
                        key=True,
                    )
        self.handed_back()

    # Steps

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
                self.slip((*table, key), "wrong-value", f"`{key}` of a count needs a whole number.")
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
        if question.kind in ("several", "note") and question.then is None:
            self.slip(
                table,
                "no-way-on",
                f"{table_name(table)} needs `then`: a {question.kind} question has one way on.",
                "Write it above the first header that follows.",
                key=True,
            )
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
        for index, row in enumerate(rows):
            path = (*table, "answer" if question.kind in ("choice", "several") else "band", index)
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
        if question.then is not None:
            self.way((*table, "then"), question.then)

    @staticmethod
    def rows_hint(table: Path, kind: str) -> str:
        if kind == "note":
            return "Write `then` alone, below its header."
        rows = "answer" if kind in ("choice", "several") else "band"
        return f"Write [[{'.'.join(map(str, table))}.{rows}]], or change its `kind`."

    def rows(self, table: Path, key: str, rows: Sequence[Row], step: Question | Recall | Working) -> None:
        """Every row's finding and way on; a row without a way on tells of a stray `then` below it."""
        several = isinstance(step, Question) and step.kind == "several"
        open_rows: list[int] = []
        for index, row in enumerate(rows):
            self.findings((*table, key, index), row.finding)
            if row.then is not None and not several:
                self.way((*table, key, index, "then"), row.then)
            elif step.then is None and not several:
                open_rows.append(index)
        last = len(rows) - 1
        stray: Path | None = None
        if rows and rows[last].then is not None:
            stray = (*table, key, last)
        elif step.not_sure is not None and step.not_sure.then:
            stray = (*table, "not-sure")
        if not open_rows:
            return
        first, *others = open_rows
        path = (*table, key, first)
        hint = f"Write `then` below {table_name(path)}, or once for all right below {table_name(table)}."
        also = [self.label((*table, key, index), "this one too") for index in others[:MOST_LABELS]]
        if stray is not None:
            hint = (
                f"The `then` in {table_name(stray)} may be meant for all of them: move it up, above the first "
                f"header that follows {table_name(table)}."
            )
            also.append(self.label((*stray, "then"), "this `then` may be meant for all"))
        more = f", nor {'does' if len(others) == 1 else 'do'} {len(others)} more" if others else ""
        message = f"{table_name(path)} leads nowhere{more}, and {table_name(table)} has no `then`."
        self.slip(path, "no-way-on", message, hint, key=True, also=also)

    def bands(self, table: Path, bands: tuple[Band, ...]) -> None:
        for index, band in enumerate(bands):
            path = (*table, "band", index)
            ends = (band.below is not None) + (band.up_to is not None)
            if ends == 2:
                self.slip(
                    path,
                    "two-ends",
                    f"{table_name(path)} has both `below` and `up-to`.",
                    "`below` leaves its number out, `up-to` takes it in: keep one.",
                    key=True,
                    also=[self.label((*path, end), "an upper end") for end in ("below", "up-to")],
                )
            elif ends == 0 and index < len(bands) - 1:
                self.slip(
                    path,
                    "open-band",
                    f"{table_name(path)} has no upper end, so the bands after it are never reached.",
                    "Write `below` or `up-to`, or make it the last.",
                    key=True,
                    also=[self.label((*table, "band", index + 1), "the next one, never reached")],
                )
            elif ends == 1 and index == len(bands) - 1:
                self.slip(
                    (*path, "below" if band.below is not None else "up-to"),
                    "last-band",
                    f"{table_name(path)} is the last band and has an upper end.",
                    "The last band takes all that is left: take this line out, or write one more band below it.",
                    key=True,
                )

    def not_sure(self, table: Path, not_sure: NotSure | None) -> None:
        if not_sure is not None:
            self.findings((*table, "not-sure"), not_sure.finding)
            if not_sure.then is not None:
                self.way((*table, "not-sure", "then"), not_sure.then)

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

    def visit(self, table: Path, visit: Visit | Each) -> None:
        self.way((*table, "then"), visit.then)
        part = self.parts.get(visit.tree)
        for name, key in visit.given.items():
            self.fact_key((*table, "given", name), key)
        if part is None:
            return
        questions = part.file.question
        for name in visit.given:
            there_is = f'the tree "{visit.tree}"'
            if self.named((*table, "given", name), name, questions, "question", key=True, owner=there_is):
                here = self.question_at(visit.given[name])
                there = questions[name]
                if here is not None and (here.kind, here.unit) != (there.kind, there.unit):
                    mine, its = (" in ".join(filter(None, (q.kind, q.unit))) for q in (here, there))
                    self.slip(
                        (*table, "given", name),
                        "wrong-kind",
                        f'"{visit.given[name]}" is a {mine}, but "{name}" there is a {its}.',
                        "Only like can be handed on to like.",
                        also=[
                            *(
                                [self.kind_of(visit.given[name])]
                                if visit.given[name] in self.file.question
                                else []
                            ),
                            labelled(
                                part.document, ("question", name, "kind"), f'"{name}" there', other=True
                            ),
                        ],
                    )
        for name, value in visit.set.items():
            there_is = f'the tree "{visit.tree}"'
            if not self.named((*table, "set", name), name, questions, "question", key=True, owner=there_is):
                continue
            if name in visit.given:
                self.given_and_set(table, name)
            self.constant((*table, "set", name), questions[name], value)

    def given_and_set(self, table: Path, name: str) -> None:
        """A name that is answered both from here and by the author."""
        self.slip(
            (*table, "set", name), "given-and-set", f'"{name}" is given and set.',
            "Keep one: take it out of `set`, or out of `given` or `give`.", key=True,
            also=[self.label((*table, "give" if table[0] == "working" else "given", name), "given here")],
        )  # fmt: skip

    def kind_of(self, question: str) -> Label:
        """Where a question of this tree says what kind it is."""
        return self.label(("question", question, "kind"), f'the kind of "{question}"')

    def constant(self, path: Path, question: Question, value: object) -> None:
        """An answer set by the author must be one that the question there takes."""
        from assistant.tree.answers import read_answer

        try:
            read_answer(question, value if not isinstance(value, tuple) else list(value))
        except Refused as error:
            self.slip(path, "wrong-answer", error.message + ".", error.hint)

    def each(self, table: Path, each: Each) -> None:
        self.visit(table, each)
        if (each.count is None) == (each.over is None):
            self.slip(
                table,
                "count-or-over",
                f"{table_name(table)} needs either `count` or `over`, and not both.",
                "`count` names a count question, `over` a several question.",
                key=True,
                also=[
                    self.label((*table, one), "keep one of the two")
                    for one in ("count", "over")
                    if getattr(each, one) is not None
                ],
            )
            return
        key, kind = ("count", "count") if each.count is not None else ("over", "several")
        name = each.count or each.over or ""
        if not self.named((*table, key), name, self.file.question, "question"):
            return
        question = self.file.question[name]
        if question.kind != kind:
            self.slip(
                (*table, key),
                "wrong-kind",
                f'"{name}" is a {question.kind} question; `{key}` needs a {kind} question.',
                f'Name a question with kind = "{kind}".',
                also=[self.kind_of(name)],
            )
        elif question.not_sure is not None and question.not_sure.then is None:
            self.slip(
                (*table, key),
                "not-sure-way",
                f'"{name}" can be not sure, and then there is nothing to count.',
                "Write `must-answer = true` there, or give its not-sure a `then` that leads past this each.",
                also=[self.label(("question", name, "not-sure"), "this lets it be not sure")],
            )
        elif kind == "count" and question.most is not None and question.most > MOST_EACH:
            self.slip(
                (*table, key),
                "too-many-things",
                f'"{name}" may be as much as {question.most}; an each runs at most {MOST_EACH} times.',
                f"Lower its `most` to {MOST_EACH} or less.",
                also=[self.label(("question", name, "most"), "this is too many")],
            )
        elif kind == "count" and question.least is not None and question.least < 0:
            self.slip(
                (*table, key), "less-than-none", f'"{name}" may be less than nothing.', "Raise its `least` to 0 or more.",
                also=[self.label(("question", name, "least"), "less than none")],
            )  # fmt: skip

    def handed_back(self) -> None:
        """What visited trees speak of must be declared here under the same name."""
        for part in self.parts.values():
            if part is None:
                continue
            place = next(
                (("visit", n, "tree") for n, v in self.file.visit.items() if v.tree == part.id), None
            ) or next(("each", n, "tree") for n, e in self.file.each.items() if e.tree == part.id)
            needed = {f.requirement for f in part.file.finding.values() if f.requirement}
            for requirement in sorted(needed - set(self.file.requirement)):
                self.slip(
                    place,
                    "not-declared",
                    f'"{part.id}" has findings on the requirement "{requirement}", which this tree does not declare.',
                    f"Write a [requirement.{requirement}] table here.",
                    also=[
                        labelled(
                            part.document, ("finding", one, "requirement"), "a finding on it", other=True
                        )
                        for one, finding in part.file.finding.items()
                        if finding.requirement == requirement
                    ][:1],
                )
            named = {
                then.removeprefix("verdict:") for then in _ends(part.file) if then.startswith("verdict:")
            }
            for verdict in sorted(named - set(self.verdicts)):
                self.slip(
                    place,
                    "not-declared",
                    f'"{part.id}" can end with the verdict "{verdict}", which this tree does not declare.',
                    f'Write a [[verdict]] with id = "{verdict}" here.',
                )


def _ends(file: TreeFile) -> Iterable[str]:
    from assistant.tree.tree import ways_on

    for kind in STEP_KINDS:
        for step in getattr(file, kind).values():
            yield from ways_on(step)
