"""Proofs about how a tree that loads is put together, whatever is answered.

Invariant: a complaint is a fact about the tree, never a guess. An empty list means that every proof here holds for
the tree and for every tree it visits; what hangs on answers is proved by `survey`.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from assistant.tree.bands import question_stretches, stretches
from assistant.tree.mistakes import Label, Mistake, Place
from assistant.tree.model import RANK, Each, Finding, Question, Recall, Visit, Working
from assistant.tree.safety import masked
from assistant.tree.tree import Tree, ways_on

__all__ = ["check"]

Path = tuple[str | int, ...]


def check(tree: Tree) -> list[Mistake]:
    """Everything that these proofs find wrong with the tree and those it visits, in the order of their places."""
    complaints = [mistake for part in tree.family() for mistake in _Proof(part).complaints()]
    complaints += masked(tree)
    return sorted(complaints, key=lambda m: (m.file, m.place or Place(0, 0), m.code))


class _Proof:
    def __init__(self, tree: Tree) -> None:
        self.tree = tree
        self.file = tree.file
        self.kinds = {
            name: kind
            for kind in ("question", "recall", "working", "visit", "each")
            for name in getattr(self.file, kind)
        }

    def slip(self, path: Path, code: str, message: str, hint: str) -> Mistake:
        return Mistake(self.tree.document.name, self.tree.document.place(path, key=True), code, message, hint)

    def step(self, name: str) -> Path:
        return (self.kinds[name], name)

    def complaints(self) -> Iterator[Mistake]:
        circle = self.circle()
        if circle:
            yield self.goes_round(circle)
        reached = self.reached()
        for name in self.kinds:
            if name not in reached:
                yield self.slip(
                    self.step(name),
                    "unreachable",
                    f'no way leads to "{name}".',
                    "Lead to it with a `then`, or take it out.",
                )
        yield from self.unused()
        for name, question in self.file.question.items():
            yield from self.question(name, question)
        for name, finding in self.file.finding.items():
            if not finding.source:
                yield self.slip(
                    ("finding", name),
                    "no-source",
                    f"[finding.{name}] names no source.",
                    "Write `source`; common practice is a source too.",
                )
        for kind in ("recall", "working"):
            for name, step in getattr(self.file, kind).items():
                yield from self.bands((kind, name), step)

    def goes_round(self, circle: list[str]) -> Mistake:
        """A circle, with the place of every `then` that closes it."""
        round_ = " → ".join((*circle, circle[0]))
        first, *others = [
            (self.then_of(name, onward), f"{name} goes on to {onward} here")
            for name, onward in pairwise((*circle, circle[0]))
        ]
        told = self.slip(
            first[0],
            "goes-round",
            f"these steps lead round in a circle: {round_}.",
            "Let one of them lead elsewhere: no consultation would ever end.",
        )
        return told._replace(
            also=tuple(
                Label(place, says)
                for path, says in others
                if (place := self.tree.document.place(path)) is not None
            )
        )

    def then_of(self, name: str, onward: str) -> Path:
        """Where a step says that it goes on to another."""
        step, path = self.tree.steps[name], self.step(name)
        if not isinstance(step, Visit | Each):
            for kind in ("answer", "band"):
                for index, row in enumerate(getattr(step, kind, ())):
                    if row.then == onward:
                        return (*path, kind, index, "then")
            if step.then != onward and step.not_sure is not None and step.not_sure.then == onward:
                return (*path, "not-sure", "then")
        return (*path, "then")

    def targets(self, name: str) -> Iterator[str]:
        return (way for way in dict.fromkeys(ways_on(self.tree.steps[name])) if way in self.kinds)

    def reached(self) -> set[str]:
        reached, waiting = set[str](), [self.file.tree.first]
        while waiting:
            name = waiting.pop()
            if name not in reached:
                reached.add(name)
                waiting.extend(self.targets(name))
        return reached

    def circle(self) -> list[str]:
        """The members of one circle of steps, in order; empty where there is none."""
        state: dict[str, int] = {}
        path: list[str] = []
        waiting: list[tuple[str, Iterator[str]]] = []

        def enter(name: str) -> None:
            state[name] = 1
            path.append(name)
            waiting.append((name, self.targets(name)))

        for start in self.kinds:
            if start in state:
                continue
            enter(start)
            while waiting:
                name, ways = waiting[-1]
                way = next(ways, None)
                if way is None:
                    waiting.pop()
                    path.pop()
                    state[name] = 2
                elif state.get(way) == 1:
                    return path[path.index(way) :]
                elif way not in state:
                    enter(way)
        return []

    def unused(self) -> Iterator[Mistake]:
        findings, sources, verdicts = set[str](), set[str](), set[str]()
        for step in self.tree.steps.values():
            if not isinstance(step, Visit | Each):
                rows = [*step.band] if isinstance(step, Working) else [*step.answer, *step.band]
                for row in rows:
                    findings.update(row.finding)
                if step.not_sure is not None:
                    findings.update(step.not_sure.finding)
            if isinstance(step, Question | Working):
                sources.update(step.source)
            verdicts.update(
                way.removeprefix("verdict:") for way in ways_on(step) if way.startswith("verdict:")
            )
        for name, finding in self.file.finding.items():
            sources.update(finding.source)
            if name not in findings:
                yield self.unfound(name, finding)
        yield from self.unspoken()
        for name in self.file.source:
            if name not in sources:
                yield self.slip(
                    ("source", name), "unused", f"nothing names [source.{name}].", "Name it, or take it out."
                )

    def unfound(self, name: str, finding: Finding) -> Mistake:
        """A finding that nothing leads to; one that refuses a flue was most likely lost by an answer."""
        message = f"nothing leads to [finding.{name}]."
        if RANK.get(finding.effect, 0) < RANK["unproven"]:
            hint = "Name it where it is found, or take it out."
            return self.slip(("finding", name), "unused", message, hint)
        from assistant.tree.silent import silent_rows

        silent = silent_rows(self.tree, finding)
        listed = ", ".join(row.named for row in silent)
        refuses = "refuses a flue" if finding.effect != "unproven" else "keeps a flue from being passed"
        found = (
            f"Answers that find nothing, or the same as another: {listed}."
            if silent
            else "Every answer finds something; look for one that names another finding."
        )
        hint = (
            f"This finding {refuses}. Most likely an answer has lost it, or names another. {found} "
            "Take it out only if nothing should be refused for it."
        )
        told = self.slip(("finding", name), "unused", message, hint)
        return told._replace(also=tuple(Label(row.place, "was it lost here?") for row in silent))

    def unspoken(self) -> Iterator[Mistake]:
        """Requirements that nothing found here, or in a tree visited from here, ever speaks to."""
        spoken = {
            finding.requirement for part in self.tree.family() for finding in part.file.finding.values()
        }
        named = {name for verdict in self.file.verdict for name in verdict.when}
        for name in self.file.requirement:
            if name not in spoken and name not in named:
                yield self.slip(
                    ("requirement", name),
                    "unused-requirement",
                    f"no finding speaks to [requirement.{name}].",
                    "Give a finding `requirement` with this name, or take the requirement out.",
                )

    def question(self, name: str, question: Question) -> Iterator[Mistake]:
        path: Path = ("question", name)
        for key in ("why", "look", "source"):
            if not getattr(question, key):
                yield self.slip(
                    path,
                    f"no-{key}",
                    f"[question.{name}] has no `{key}`.",
                    "Whoever is asked may ask back; write it.",
                )
        if not question.must_answer and question.not_sure is None:
            yield self.slip(
                path, "no-not-sure", f"[question.{name}] does not say what follows from not sure.",
                f"Write a [question.{name}.not-sure] table, or `must-answer = true`.",
            )  # fmt: skip
        yield from self.bands(path, question)

    def bands(self, path: Path, step: Question | Recall | Working) -> Iterator[Mistake]:
        if not step.band:
            return
        if isinstance(step, Question):
            found = list(question_stretches(step))
        elif isinstance(step, Recall):
            question = self.file.question[step.question]
            found = list(stretches(step.band, question.least, question.most, question.kind == "count"))
        else:
            found = list(stretches(step.band))
        ends = [band.below if band.below is not None else band.up_to for band in step.band[:-1]]
        for index, (low, high) in enumerate(pairwise(ends)):
            if low is not None and high is not None and high < low:
                told = self.slip(
                    (*path, "band", index + 1),
                    "not-ascending",
                    "this band ends before the one above it.",
                    "Write the bands from the smallest to the largest.",
                )
                above = self.tree.document.place((*path, "band", index), key=True)
                yield told if above is None else told._replace(also=(Label(above, "the band above it"),))
                return
        for index, stretch in enumerate(found):
            if stretch.empty:
                yield self.slip(
                    (*path, "band", index),
                    "empty-band",
                    "no number falls into this band.",
                    "Take it out, or mend its ends or the limits of the question.",
                )
