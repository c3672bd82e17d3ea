"""Large trees as plain text, of a likeness with real ones: mixed questions, full prose, looks back, ways that part and join.

The same size and seed always give the same text. Every tree passes its proofs, so that what is measured on one is what a
good tree costs.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from random import Random

from tests.large_prose import SOURCES, Prose

__all__ = ["OF_SEVENTY_DIGITS", "SIZES", "large"]

SIZES = (60, 300, 1_000, 10_000)
OF_SEVENTY_DIGITS = 9
"""The seed with which a narrow tree of 1,000 questions has about 10 to the power 70 ways."""

NEAREST, FARTHEST = 7, 13
"""How many steps back a look back goes, about one step in six being one."""
FARTHEST_SKIP = 5
"""How many steps an answer may go on by at once; fewer than a look back, so that what it looks at was asked."""

VERDICTS = (
    ("stop", "Stop. Get everyone out", "stop", '{ safe-now = "not-met" }'),
    ("not-right", "Not acceptable as it is", "not-acceptable", '{ any = "not-met" }'),
    ("not-settled", "Not settled: too little is known", "not-settled", '{ any = "not-proven" }'),
    ("right", "Acceptable on what was seen", "acceptable", '{ all = "met" }'),
    ("not-judged", "Not settled: not everything was looked at", "not-settled", ""),
)

WRONG = {"safe-now": "danger", "sound": "fails", "weatherproof": "fails"}
"""The requirements, and how grave a finding against each is."""


@dataclass
class Row:
    """An answer or a band of a step."""

    name: str
    """An answer's id, or the end of a band as it is written ("" for the last)."""
    finding: str = ""
    skip: int = 0
    """How many steps it passes over."""
    ends: bool = False
    right: bool = False


@dataclass
class Step:
    """A step under way of being written."""

    name: str
    kind: str
    rows: list[Row]
    about: str = ""
    unsure: Row | None = None
    """What follows from not sure where the author decided it."""
    undecided: bool = False
    looked_at: str = ""
    """The question that a recall looks back at."""
    least: int = 0
    most: int = 0
    spent: bool = False
    """Whether nothing looks back at it any more."""


def large(questions: int, seed: int = 1, narrow: bool = False) -> str:
    """The text of a tree of so many questions; `narrow`: most of what is found wrong ends the consultation at once."""
    return "\n".join(_Writer(questions, Random(seed), narrow).lines()) + "\n"


class _Writer:
    """Plans the steps one after the other, then writes them down."""

    def __init__(self, questions: int, random: Random, narrow: bool) -> None:
        self.random = random
        self.prose = Prose(random)
        self.narrow = narrow
        self.steps: list[Step] = []
        self.findings: dict[str, tuple[str, str, str]] = {}
        self.alike: dict[tuple[str, str], list[str]] = {}
        asked = 0
        while asked < questions:
            recall = self.random.random() < 1 / 6 and self.recall()
            if not recall:
                self.steps.append(self.question(asked))
                asked += 1
        for step in self.steps[-FARTHEST_SKIP:]:
            for row in step.rows:
                row.skip = 0
        self.steps[0].rows[0].skip = 0

    # The plan

    def question(self, number: int) -> Step:
        kind = self.random.choices(("choice", "measure", "count"), (6, 3, 1))[0]
        about = self.prose.about(number)
        step = Step(f"{about.split()[-1]}-{number + 1}", kind, [], about)
        several = self.random.choices((2, 3, 4), (4, 4, 2))[0]
        if kind == "choice":
            step.rows = [Row(name) for name in ("right", "wrong", "other", "hidden")[:several]]
        else:
            several = min(several, 3) if kind == "count" else several
            step.most = 400 if kind == "measure" else 8
            width = step.most // several
            step.rows = [Row(str(width * (place + 1))) for place in range(several - 1)] + [Row("")]
        self.find(step)
        step.rows[0].right = True
        how = self.random.choices(("must", "decided", "undecided"), (3, 6, 1))[0]
        if how == "decided":
            unproven = self.random.random() < 0.7
            step.unsure = Row("", self.finding(step, "unproven") if unproven else "", ends=self.narrow)
        step.undecided = how == "undecided"
        return step

    def find(self, step: Step) -> None:
        """What the answers find: the first that all is well, a later one mostly that it is not."""
        for place, row in enumerate(step.rows):
            chance = self.random.random()
            if place == 0 and chance < 0.5:
                row.finding = self.finding(step, "meets")
            elif place == 1 and chance < 0.6:
                row.finding = self.finding(step, "wrong")
            elif place > 1 and chance < 0.2:
                row.finding = self.finding(step, "unproven")
            if place and self.narrow:
                row.ends = self.random.random() < 0.96
            if place and not row.ends and self.random.random() < 0.2:
                row.skip = self.random.randint(1, FARTHEST_SKIP - 1)

    def finding(self, step: Step, effect: str) -> str:
        """A finding of this effect, one that there is already now and then."""
        requirement = self.random.choices(list(WRONG), (1, 4, 4))[0]
        effect = WRONG[requirement] if effect == "wrong" else effect
        alike = self.alike.setdefault((requirement, effect), [])
        if alike and self.random.random() < 0.4:
            return self.random.choice(alike[-8:])
        name = f"{step.name}-{effect}"
        if name in self.findings:
            return name
        alike.append(name)
        self.findings[name] = requirement, effect, self.prose.reason(step.about, effect)
        return name

    def recall(self) -> bool:
        """A look back at a question that every way to here has asked, where there is one."""
        here = len(self.steps)
        far = self.steps[max(0, here - FARTHEST) : max(0, here - NEAREST)]
        first = here - len(far) - NEAREST
        for place in self.random.sample(range(len(far)), len(far)):
            seen = far[place]
            if seen.kind != "recall" and not seen.spent and not self.passed_over(first + place):
                self.look_back(seen)
                return True
        return False

    def passed_over(self, place: int) -> bool:
        """Whether some answer before a step skips it."""
        return any(
            row.skip and early + row.skip >= place
            for early in range(max(0, place - FARTHEST_SKIP), place)
            for row in self.steps[early].rows
        )

    def look_back(self, seen: Step) -> None:
        recall = Step(f"again-{seen.name}", "recall", [], looked_at=seen.name)
        going_on = [row for row in seen.rows if not row.ends]
        if seen.kind == "choice":
            recall.rows = [Row(row.name) for row in going_on]
        else:
            ends = [0, *(int(row.name) for row in seen.rows[:-1]), seen.most]
            place = seen.rows.index(self.random.choice(going_on))
            recall.rows = [Row(str((ends[place] + ends[place + 1]) // 2)), Row("")]
        found = self.random.choice(recall.rows)
        unproven = found is not recall.rows[0] and self.random.random() < 0.5
        found.finding = self.finding(seen, "unproven" if unproven else "meets")
        if len(recall.rows) > 1 and self.random.random() < 0.3:
            recall.rows[-1].skip = self.random.randint(1, FARTHEST_SKIP - 1)
        if (seen.unsure and not seen.unsure.ends) or (seen.undecided and seen.kind != "choice"):
            recall.unsure = Row("", self.finding(seen, "unproven"))
        seen.spent = True
        self.steps.append(recall)

    # The text

    def lines(self) -> Iterator[str]:
        yield from self.head()
        for place, step in enumerate(self.steps):
            yield ""
            yield from self.recalled(step, place) if step.kind == "recall" else self.asked(step, place)
        for name, (requirement, effect, reason) in self.findings.items():
            yield f'\n[finding.{name}]\nrequirement = "{requirement}"\neffect = "{effect}"\nreason = "{reason}"'
            yield f'source = "{self.random.choice(list(SOURCES))}"'
            if effect == "danger":
                yield 'unsafe = "immediately-dangerous"'
        for name, title, outcome, when in VERDICTS:
            yield f'\n[[verdict]]\nid = "{name}"\ntitle = "{title}"\noutcome = "{outcome}"'
            yield f'says = """\n{self.prose.says(title)}"""\ndo = ["{self.prose.do()}", "{self.prose.do()}"]'
            if when:
                yield f"when = {when}"

    def head(self) -> Iterator[str]:
        yield f'format = 1\n\n[tree]\nid = "large"\ntitle = "A flue of {len(self.steps)} steps"\nedition = "1"'
        yield 'purpose = "To be gone through."\napplies-to = "Tests."\nplace = "Nowhere"'
        yield f'first = "{self.steps[0].name}"\ndefer = ["The engineer on site decides."]'
        for name in WRONG:
            yield f'\n[requirement.{name}]\ntitle = "{name.capitalize()}"\nmeans = "The flue is {name}."'
        for name, title in SOURCES.items():
            yield f'\n[source.{name}]\ntitle = "{title}"\nstanding = "common-practice"'

    def asked(self, step: Step, place: int) -> Iterator[str]:
        yield f'[question.{step.name}]\nkind = "{step.kind}"\nask = "{self.prose.ask(step.about, step.kind)}"'
        yield f'why = """\n{self.prose.why(step.about)}"""\nlook = """\n{self.prose.look(step.about)}"""'
        yield f'source = "{self.random.choice(list(SOURCES))}"'
        if step.kind != "choice":
            yield f"least = 0\nmost = {step.most}" + '\nunit = "mm"' * (step.kind == "measure")
        if step.unsure is None and not step.undecided:
            yield "must-answer = true"
        yield f'then = "{self.onward(place, 0)}"'
        yield from self.not_sure(step, place)
        for row in step.rows:
            yield from self.row(f"question.{step.name}", step, row, place)

    def recalled(self, step: Step, place: int) -> Iterator[str]:
        yield f'[recall.{step.name}]\nquestion = "{step.looked_at}"\nthen = "{self.onward(place, 0)}"'
        yield from self.not_sure(step, place)
        for row in step.rows:
            yield from self.row(f"recall.{step.name}", step, row, place)

    def not_sure(self, step: Step, place: int) -> Iterator[str]:
        table = "recall" if step.kind == "recall" else "question"
        if step.unsure is not None or step.undecided:
            yield f"\n[{table}.{step.name}.not-sure]"
            yield f'find-out = "{self.prose.find_out()}"'
        if step.unsure is not None:
            yield (
                f'finding = "{step.unsure.finding}"' if step.unsure.finding else "# Nothing follows from it."
            )
            yield f'then = "{self.leads(step.unsure, place)}"'

    def row(self, table: str, step: Step, row: Row, place: int) -> Iterator[str]:
        answer = table.startswith("question.") and step.kind == "choice"
        named = answer or (step.kind == "recall" and not row.name.isdigit() and row.name != "")
        yield f"\n[[{table}.{'answer' if named else 'band'}]]"
        yield f'id = "{row.name}"' if named else f"below = {row.name}" if row.name else "# All that is left."
        if step.kind != "recall":
            yield f'says = "{self.prose.answer(row.name if answer else "")}"'
            yield f'seen = "{self.prose.seen(step.about)}"'
        if row.right:
            yield f'put-right = "{self.prose.do()}"\neffort = {self.random.randint(1, 5)}'
        if row.finding:
            yield f'finding = "{row.finding}"'
        if row.ends or row.skip:
            yield f'then = "{self.leads(row, place)}"'

    def leads(self, row: Row, place: int) -> str:
        return "end" if row.ends else self.onward(place, row.skip)

    def onward(self, place: int, skip: int) -> str:
        """The step after one, or that many further on."""
        onward = place + 1 + skip
        return self.steps[onward].name if onward < len(self.steps) else "end"
