"""A tree in plain words: what each step does, what can be answered, what that finds, when a verdict is given.

Invariant: every text that leaves here is one line of printable characters, whatever the tree holds.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction
from itertools import pairwise
from typing import NamedTuple

from assistant.tree.bands import stretches
from assistant.tree.model import Band, Each, NotSure, Question, Recall, Step, Verdict, Visit, Working
from assistant.tree.tree import Tree
from assistant.workings.numerals import show
from assistant.workings.registry import find
from assistant.workings.working import Result

__all__ = [
    "OUTCOMES", "Finds", "Row", "answered", "does", "finds", "found_by", "kind_of", "plain", "rows", "when",
]  # fmt: skip

OUTCOMES = {
    "acceptable": "Acceptable",
    "not-settled": "Not settled",
    "not-acceptable": "Not acceptable",
    "stop": "Stop",
}
"""The outcomes as people read them, best first."""

EFFECTS = {
    "meets": "{} met",
    "unproven": "{} not proven",
    "fails": "{} not met",
    "danger": "danger: {} not met",
    "advice": "advice",
}
STATES = {"met": "met", "not-met": "not met", "not-proven": "not proven", "not-judged": "not judged"}


class Finds(NamedTuple):
    """What an answer shows: how grave, and about which requirement, in words."""

    effect: str
    says: str


class Row(NamedTuple):
    """One way on from a step."""

    says: str
    """The answer or stretch of numbers; empty where a step has one way on only."""
    finds: tuple[Finds, ...]
    then: str | None
    """A step, "end" or "verdict:…"; None: nothing is decided, every other row stays possible."""


def plain(text: str) -> str:
    """Text on one line, without anything that a terminal or a drawing would obey."""
    return " ".join("".join(sign if sign.isprintable() else _blank(sign) for sign in text).split())


def _blank(sign: str) -> str:
    return " " if sign.isspace() else ""


def kind_of(step: Step) -> str:
    """A step's kind, as in the header of its table."""
    return type(step).__name__.casefold()


def finds(tree: Tree, names: Iterable[str]) -> tuple[Finds, ...]:
    """What these findings say, each once."""
    found: dict[Finds, None] = {}
    for name in names:
        finding = tree.file.finding[name]
        about = tree.file.requirement.get(finding.requirement or "")
        title = plain(about.title) if about else finding.requirement or ""
        found[Finds(finding.effect, EFFECTS[finding.effect].format(title))] = None
    return tuple(found)


def does(tree: Tree, step: Step, brief: bool = False) -> str:
    """What a step does, in a sentence; `brief` leaves out what can be seen elsewhere in a picture."""
    if isinstance(step, Question):
        return plain(step.ask)
    if isinstance(step, Recall):
        asked = "" if brief else f": {plain(tree.file.question[step.question].ask)}"
        return f"Looks back at {step.question}{asked}"
    if isinstance(step, Working):
        return _works_out(step, brief)
    handed = []
    if step.given:
        handed.append(f"with {_listed(step.given.values())} as answered here")
    handed += [f"{name} set to {_constant(value)}" for name, value in step.set.items()]
    told = f", {', '.join(handed)}" if handed else ""
    if isinstance(step, Visit):
        return f"Runs the tree {step.tree} once{told}."
    things = f"each of {step.count}" if step.count else f"each thing named in {step.over}"
    return f"Runs the tree {step.tree} once for {things}{told}."


def answered(question: Question) -> str:
    """How a question is answered, in a few words."""
    kind = {"choice": "one answer", "several": "any of these", "note": "a note", "count": "a whole number"}
    words = kind.get(question.kind, "a number")
    if question.kind in ("measure", "count"):
        words = ", ".join(filter(None, (words, _range(question))))
    return f"{words}, must be answered" if question.must_answer else words


def _works_out(step: Working, brief: bool) -> str:
    result = _looked_at(step)
    means = result.means if result else step.branch_on
    if brief:
        return plain(f"Works out {step.run}: {means}")
    keys = [key for given in step.give.values() for key in given]
    parts = [_listed(f"every {key.removesuffix('.*')}" if key.endswith(".*") else key for key in keys)]
    parts += [f"{name} set to {_constant(value)}" for name, value in step.set.items()]
    from_ = ", ".join(part for part in parts if part)
    return plain(f"Works out {step.run} ({means})" + (f" from {from_}." if from_ else "."))


def _looked_at(step: Working) -> Result | None:
    """The result of a working that its bands lie on."""
    return next((each for each in find(step.run).results if each.name == step.branch_on), None)


def _constant(value: object) -> str:
    if isinstance(value, tuple):
        return _listed(plain(each) for each in value) or "nothing"
    return show(value) if isinstance(value, Fraction) else plain(str(value))


def _listed(words: Iterable[str], last: str = "and") -> str:
    *most, end = [*words] or [""]
    return f"{', '.join(most)} {last} {end}" if most else end


def rows(tree: Tree, step: Step) -> tuple[Row, ...]:
    """Every way on from a step, in author order, not sure last."""
    if isinstance(step, Visit | Each):
        return (Row("", (), step.then),)
    found = [Row(says, finds(tree, named), then or step.then) for says, named, then in _branches(tree, step)]
    return (*found, *_not_sure(tree, step.not_sure))


def found_by(tree: Tree, step: Step) -> frozenset[str]:
    """Ids of the findings that a step can come to."""
    if isinstance(step, Visit | Each):
        return frozenset()
    unsure = step.not_sure.finding if step.not_sure else ()
    return frozenset(name for _, named, _ in _branches(tree, step) for name in named).union(unsure)


Branch = tuple[str, tuple[str, ...], str | None]


def _branches(tree: Tree, step: Question | Recall | Working) -> list[Branch]:
    if isinstance(step, Working):
        result = _looked_at(step)
        said = _coded(step.band, result.codes) if result and result.codes else None
        said = said or _stretches(step.band, result.unit if result else None)
        return [*zip(said, *_leads(step.band), strict=True)]
    question = step if isinstance(step, Question) else tree.file.question[step.question]
    if step.band:
        said = _stretches(step.band, question.unit, question.kind == "count", (question.least, question.most))
        return [*zip(said, *_leads(step.band), strict=True)]
    if isinstance(step, Question):
        listed = [(_says(question, each.id), each.finding, each.then) for each in step.answer]
        whatever = "Whatever is noted" if step.kind == "note" else "Whatever the number"
        return listed or [(whatever, (), step.then)]
    listed = [(_says(question, each.id), each.finding, each.then) for each in step.answer]
    named = {each.id for each in step.answer}
    others = [each for each in question.answer if each.id not in named]
    if step.then and (others or not question.answer):
        says = "Anything else" if listed else "Whatever was answered"
        listed.append((_says(question, others[0].id) if listed and len(others) == 1 else says, (), step.then))
    return listed


def _leads(bands: Iterable[Band]) -> tuple[list[tuple[str, ...]], list[str | None]]:
    bands = tuple(bands)
    return [band.finding for band in bands], [band.then for band in bands]


def _says(question: Question, answer_id: str) -> str:
    answer = question.answer_of(answer_id)
    return plain(answer.says) if answer else answer_id


def _range(question: Question) -> str:
    if question.least is None or question.most is None:
        return ""
    return f"{show(question.least)} to {show(question.most, question.unit and plain(question.unit))}"


def _not_sure(tree: Tree, not_sure: NotSure | None) -> tuple[Row, ...]:
    return () if not_sure is None else (Row("Not sure", finds(tree, not_sure.finding), not_sure.then),)


def _stretches(
    bands: tuple[Band, ...],
    unit: str | None,
    whole: bool = False,
    limits: tuple[Fraction | None, Fraction | None] = (None, None),
) -> list[str]:
    """Where each band lies, and what its author calls it."""
    said = []
    unit = plain(unit) if unit else None
    for (before, band), stretch in zip(
        pairwise((None, *bands)), stretches(bands, *limits, whole), strict=True
    ):
        assert band is not None
        low, high = stretch.ends()
        if whole and low is not None and high is not None:
            words = show(low) if low == high else f"{show(low)} to {show(high)}"
        else:
            words = _between(before, band, unit)
        called = plain(band.says or "")
        said.append(f"{words}: {called}" if called and called.casefold() != words.casefold() else words)
    return said


def _coded(bands: tuple[Band, ...], codes: tuple[str, ...]) -> list[str] | None:
    """What each band on a code stands for; None where one has no words, so that its numbers are told."""
    said = []
    for band, stretch in zip(bands, stretches(bands), strict=True):
        held = [words for code, words in enumerate(codes) if stretch.holds(Fraction(code))]
        words = plain(band.says or "") or _listed(held, "or")
        said.append(words[:1].upper() + words[1:])
    return said if all(said) else None


def _between(before: Band | None, band: Band, unit: str | None) -> str:
    high = band.below if band.below is not None else band.up_to
    top = "" if high is None else f"{'below' if band.below is not None else 'up to'} {show(high, unit)}"
    if before is None:
        return top[:1].upper() + top[1:] or "Any number"
    low = before.below if before.below is not None else before.up_to
    assert low is not None
    if before.up_to is not None:
        return f"More than {show(low, unit)}" + (f", {top}" if top else "")
    return (
        f"{show(low, unit)} {top}"
        if top.startswith("up")
        else f"{show(low, unit)} or more" + (f", {top}" if top else "")
    )


def when(tree: Tree, verdict: Verdict) -> str:
    """When a verdict fits, in words."""
    if not verdict.when:
        return "in every other case" if len(tree.file.verdict) > 1 else "always"
    return "when " + " and ".join(_state(tree, name, wanted) for name, wanted in verdict.when.items())


def _state(tree: Tree, name: str, wanted: Iterable[str]) -> str:
    words = _listed((STATES[state] for state in wanted), "or")
    named: Mapping[str, str] = {"any": "at least one requirement", "all": "every requirement"}
    about = named.get(name) or plain(tree.file.requirement[name].title)
    return f"{about} is {words}"
