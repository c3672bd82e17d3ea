"""What the ways through a tree come to: the verdict that each is given, and how many there are.

Invariant: `key` is what `count` counts at the root: the packed findings, with the number of the exit above them.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from assistant.tree.model import Verdict
from assistant.tree.survey.count import fill
from assistant.tree.survey.graph import Survey

__all__ = ["Outcome", "by_verdict", "outcomes"]


class Outcome(NamedTuple):
    """One thing that ways come to."""

    key: int
    bits: int
    verdict: Verdict | None
    """None: no verdict matches."""
    ways: int


def outcomes(survey: Survey) -> Iterator[Outcome]:
    """Everything that the ways through the tree come to. Raises `TooMany`."""
    width = survey.bits.width
    exits = list(survey.root.exits)
    verdicts = {verdict.id: verdict for verdict in survey.tree.file.verdict}
    for key, ways in fill(survey, survey.root).items():
        end, bits = exits[(key >> width) - 1].end, key & ((1 << width) - 1)
        if end == "end":
            states = survey.bits.states(bits)
            verdict = next((one for one in survey.tree.file.verdict if one.matches(states)), None)
        else:
            verdict = verdicts[end.removeprefix("verdict:")]
        yield Outcome(key, bits, verdict, ways)


def by_verdict(survey: Survey) -> dict[str, int]:
    """How many ways each verdict has, in author order, those without any as 0; under "" the ways without a verdict."""
    counts = {verdict.id: 0 for verdict in survey.tree.file.verdict}
    for outcome in outcomes(survey):
        name = outcome.verdict.id if outcome.verdict else ""
        counts[name] = counts.get(name, 0) + outcome.ways
    return counts
