"""A decision tree as it is written: the tables of format 1, closed and typed.

Invariant: a value of these classes came through `load`, so every id in it is known to exist and nothing later
checks it again. All prose is unwrapped (single line breaks are spaces, blank lines part paragraphs), all numbers
are exact fractions.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, PlainValidator

__all__ = [
    "BASES",
    "NOT_SURE",
    "RANK",
    "STATE",
    "STATES",
    "About",
    "Answer",
    "Band",
    "Each",
    "Effect",
    "Finding",
    "Moved",
    "NotSure",
    "Question",
    "Recall",
    "RecallAnswer",
    "Requirement",
    "Row",
    "Source",
    "Step",
    "TreeFile",
    "Verdict",
    "Visit",
    "Working",
    "unwrap",
]

NOT_SURE = "not-sure"
"""The answer a person gives who does not know; reserved, never the id of an author's answer."""

RESERVED = frozenset({"any", "all", "end", NOT_SURE})
"""Ids that mean something to the engine and so cannot name a step, answer, requirement or verdict."""


RANK = {"meets": 1, "unproven": 2, "fails": 3, "danger": 4}
"""How grave an effect is; the gravest found decides a requirement's state. Advice has none."""

STATE = ("not-judged", "met", "not-proven", "not-met", "not-met")
"""The state of a requirement by the gravest effect found for it."""

STATES = ("met", "not-met", "not-proven", "not-judged")
"""What a requirement can be found to be."""

BASES = ("seen", "measured", "instructions", "told", "assumed")
"""How a person can say they know an answer."""

Effect = Literal["meets", "unproven", "fails", "danger", "advice"]
Unsafe = Literal["at-risk", "immediately-dangerous"]
Outcome = Literal["acceptable", "not-settled", "not-acceptable", "stop"]


def unwrap(text: str) -> str:
    """Prose as it is shown: single line breaks become spaces, blank lines stay as one paragraph break."""
    if "\n" not in text:
        return text.strip()
    paragraphs = re.split(r"\n[ \t]*\n\s*", text.strip())
    return "\n\n".join(" ".join(paragraph.split()) for paragraph in paragraphs)


def _ids(value: object) -> object:
    """One id or a list of them; a repeated id is a slip worth hearing about."""
    several = [value] if isinstance(value, str) else value
    if isinstance(several, list) and len({str(item) for item in several}) != len(several):
        raise ValueError("names the same id twice")
    return several


def _number(value: object) -> Fraction:
    if isinstance(value, bool) or not isinstance(value, int | Decimal):
        raise ValueError("needs a number, without quotes and without a unit")
    return Fraction(value)


def _constant(value: object) -> object:
    """A constant for a working or an answer set by the author: text, an exact number, or a list of texts."""
    if isinstance(value, bool) or not isinstance(value, str | int | Decimal | list):
        raise ValueError("needs a text, a number, or a list of texts")
    if isinstance(value, list):
        if not all(isinstance(item, str) for item in value):
            raise ValueError("needs a list of texts")
        return tuple(value)
    return value if isinstance(value, str) else Fraction(value)


def _flag(value: object) -> bool:
    if not isinstance(value, bool):
        raise ValueError("needs true or false, without quotes")
    return value


def _effort(value: object) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or not 1 <= value <= 5:
        raise ValueError("needs a whole number from 1 (minutes) to 5")
    return value


def _wanted(value: object) -> object:
    """The states of a requirement that a verdict's `when` allows."""
    states = (value,) if isinstance(value, str) else value
    if not isinstance(states, list | tuple) or not states or not all(state in STATES for state in states):
        raise ValueError(f"needs one of {', '.join(STATES)}, or a list of them")
    return tuple(states)


def _keys(value: object) -> object:
    """A fact key, or a list of "each" lists to be merged thing by thing."""
    if isinstance(value, str):
        return (value,)
    if isinstance(value, list) and value and all(isinstance(item, str) for item in value):
        return tuple(value)
    raise ValueError('needs a fact key in quotes, or a list of them such as ["joint.*", "depth.*"]')


Prose = str
"""Text for people; unwrapped before it comes here, and never empty."""
Ids = Annotated[tuple[str, ...], BeforeValidator(_ids)]
Number = Annotated[Fraction, PlainValidator(_number)]
Constant = Annotated[Any, PlainValidator(_constant)]
Keys = Annotated[Any, PlainValidator(_keys)]
Wanted = Annotated[tuple[str, ...], PlainValidator(_wanted)]


class Table(BaseModel):
    """One table of a tree: keys as in the file (with dashes), nothing unknown, never changed."""

    model_config = ConfigDict(
        extra="forbid",
        frozen=True,
        alias_generator=lambda name: name.replace("_", "-"),
        populate_by_name=False,
        str_strip_whitespace=True,
        str_min_length=1,
    )


class About(Table):
    """`[tree]`: what this tree is for, and where it begins."""

    id: str
    title: Prose
    edition: Prose
    purpose: Prose
    applies_to: Prose
    place: Prose
    first: str
    defer: tuple[Prose, ...]
    review_by: str | None = None


class Requirement(Table):
    """`[requirement.<id>]`: one thing a verdict must speak to."""

    title: Prose
    means: Prose


class Source(Table):
    """`[source.<id>]`: where a question or finding comes from, and how firm that is."""

    title: Prose
    part: Prose | None = None
    edition: Prose | None = None
    standing: Literal["published", "common-practice", "memory"]


class NotSure(Table):
    """`[….not-sure]`: how to find out later and, if the author decided it, what follows meanwhile."""

    find_out: Prose | None = None
    finding: Ids = ()
    then: str | None = None


class Branch(Table):
    """What every answer and band may carry: a finding, a way on, and the work that brings it about."""

    seen: Prose | None = None
    finding: Ids = ()
    then: str | None = None
    put_right: Prose | None = None
    effort: Annotated[int | None, PlainValidator(_effort)] = None


class Answer(Branch):
    """`[[question.<id>.answer]]`: one thing a person can say, known by its id."""

    id: str
    says: Prose
    also: tuple[Prose, ...] = ()


class Band(Branch):
    """`[[….band]]`: a stretch of numbers, from the end of the band before to its own end."""

    below: Number | None = None
    up_to: Number | None = None
    says: Prose | None = None

    def holds(self, value: Fraction) -> bool:
        """Whether a value that lies in no earlier band lies in this one."""
        if self.below is not None:
            return value < self.below
        return self.up_to is None or value <= self.up_to


class Question(Table):
    """`[question.<id>]`: one thing to find out."""

    kind: Literal["choice", "several", "measure", "count", "note"]
    ask: Prose
    why: Prose | None = None
    look: Prose | None = None
    source: Ids = ()
    accept: tuple[Literal["seen", "measured", "instructions", "told", "assumed"], ...] | None = None
    must_answer: Annotated[bool, PlainValidator(_flag)] = False
    unit: Prose | None = None
    least: Number | None = None
    most: Number | None = None
    then: str | None = None
    not_sure: NotSure | None = None
    answer: tuple[Answer, ...] = ()
    band: tuple[Band, ...] = ()

    def answer_of(self, answer_id: str) -> Answer | None:
        """The answer with this id, if it is one of this question's."""
        return next((answer for answer in self.answer if answer.id == answer_id), None)


class RecallAnswer(Table):
    """`[[recall.<id>.answer]]`: where an answer given before leads from here."""

    id: str
    finding: Ids = ()
    then: str | None = None


class Recall(Table):
    """`[recall.<id>]`: a branch on an answer already given; asks nothing."""

    question: str
    then: str | None = None
    not_sure: NotSure | None = None
    answer: tuple[RecallAnswer, ...] = ()
    band: tuple[Band, ...] = ()


class Working(Table):
    """`[working.<id>]`: a named calculation and the bands its result falls into."""

    run: str
    give: dict[str, Keys] = Field(default_factory=dict)
    set: dict[str, Constant] = Field(default_factory=dict)
    branch_on: str
    source: Ids = ()
    then: str | None = None
    not_sure: NotSure | None = None
    band: tuple[Band, ...]


class Visit(Table):
    """`[visit.<id>]`: another tree, run once as a part of this one."""

    tree: str
    then: str
    given: dict[str, str] = Field(default_factory=dict)
    set: dict[str, Constant] = Field(default_factory=dict)


class Each(Table):
    """`[each.<id>]`: another tree, run once for each of several things."""

    count: str | None = None
    over: str | None = None
    tree: str
    then: str
    label: Prose | None = None
    given: dict[str, str] = Field(default_factory=dict)
    set: dict[str, Constant] = Field(default_factory=dict)


class Finding(Table):
    """`[finding.<id>]`: what an answer shows, said once, with its reason and source."""

    requirement: str | None = None
    effect: Effect
    reason: Prose
    source: Ids = ()
    unsafe: Unsafe | None = None
    householder: Prose | None = None


class Verdict(Table):
    """`[[verdict]]`: what is said where its `when` holds; the first that matches is given."""

    id: str
    title: Prose
    says: Prose
    do: tuple[Prose, ...]
    outcome: Outcome
    when: dict[str, Wanted] = Field(default_factory=dict)

    def matches(self, states: Mapping[str, str]) -> bool:
        """Whether these requirement states call for this verdict.

        `any` and `all` range over every requirement in `states`; the other entries name one requirement each.
        """
        for name, allowed in self.when.items():
            if name == "any":
                held = any(state in allowed for state in states.values())
            elif name == "all":
                held = all(state in allowed for state in states.values())
            else:
                held = states[name] in allowed
            if not held:
                return False
        return True


class Moved(Table):
    """`[[moved]]`: what an edition left behind called its questions and answers, so that its records carry over."""

    edition: Prose
    questions: dict[str, str] = Field(default_factory=dict)
    answers: dict[str, str] = Field(default_factory=dict)


class TreeFile(Table):
    """One tree file, whole."""

    format: Literal[1]
    tree: About
    requirement: dict[str, Requirement] = Field(default_factory=dict)
    source: dict[str, Source] = Field(default_factory=dict)
    question: dict[str, Question] = Field(default_factory=dict)
    recall: dict[str, Recall] = Field(default_factory=dict)
    working: dict[str, Working] = Field(default_factory=dict)
    visit: dict[str, Visit] = Field(default_factory=dict)
    each: dict[str, Each] = Field(default_factory=dict)
    finding: dict[str, Finding] = Field(default_factory=dict)
    verdict: tuple[Verdict, ...] = ()
    moved: tuple[Moved, ...] = ()


Row = Answer | RecallAnswer | Band
"""Whatever a step can branch on."""

Step = Question | Recall | Working | Visit | Each
"""Whatever `then` can name."""
