"""What a tree hands to the trees it visits, and what they hand back.

Invariant: after these rules a visited tree is handed questions that it has, answers that it takes, and nothing twice.
"""

from __future__ import annotations

from collections.abc import Iterable

from assistant.errors import Refused
from assistant.tree.keys import table_name
from assistant.tree.model import Each, Question, TreeFile, Visit
from assistant.tree.names import STEP_KINDS
from assistant.tree.rows import Rows
from assistant.tree.slips import Path, labelled

__all__ = ["Visits"]

MOST_EACH = 100
"""Times that one each may run."""


class Visits(Rows):
    """The rules for visits and eaches."""

    def visit(self, table: Path, visit: Visit | Each) -> None:
        """What a visit hands on: from questions here, or set by the author, to questions there."""
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

    def constant(self, path: Path, question: Question, value: object) -> None:
        """An answer set by the author must be one that the question there takes."""
        from assistant.tree.answers import read_answer

        try:
            read_answer(question, value if not isinstance(value, tuple) else list(value))
        except Refused as error:
            self.slip(path, "wrong-answer", error.message + ".", error.hint)

    def each(self, table: Path, each: Each) -> None:
        """What an each runs by: a count that is known and bounded, or a several question."""
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
