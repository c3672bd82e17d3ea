"""The rules of safety: what no end of a consultation may do, and whether some way through a tree might.

Invariant: `plainly_safe` is true only where no way at all breaks a rule. Where it is false, a way that hangs on what a
recall or a working looks at may only seem to; whether real answers take it has to be tried.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import product
from typing import NamedTuple

from assistant.tree.futures import TooManyWays, futures, states_of
from assistant.tree.mistakes import Mistake
from assistant.tree.model import RANK, STATES
from assistant.tree.tree import Tree

__all__ = ["Breach", "breach", "masked", "plainly_safe"]

MOST_COMBINATIONS = 20_000
"""Combinations of states that are looked at for masked verdicts; a tree with more requirements is not."""


class Breach(NamedTuple):
    """A rule of safety that an end breaks."""

    code: str
    verdict: str
    message: str
    hint: str


def breach(tree: Tree, named: str | None, states: Mapping[str, str], danger: bool) -> Breach | None:
    """The rule that an end breaks, if any.

    `named` is the verdict given (None: none matches), `states` the requirements' states, `danger` whether a danger was
    found.
    """
    verdict = next((verdict for verdict in tree.file.verdict if verdict.id == named), None)
    if verdict is None:
        told = ", ".join(f"{name} {state}" for name, state in states.items())
        message = (
            f"some answers end where no verdict matches (with {told})"
            if told
            else "some answers end without a verdict"
        )
        return Breach("no-verdict", "", message, "Add a verdict for it, or a last one without `when`.")
    if danger and verdict.outcome not in ("stop", "acceptable"):
        message = f'a danger ends in "{verdict.id}", which is no stop'
        return Breach("danger-goes-on", verdict.id, message, 'Put a verdict with outcome = "stop" before it.')
    if verdict.outcome != "acceptable":
        return None
    for name, state in states.items():
        if state in ("not-met", "not-proven"):
            hint = f'Let its `when` ask for {name} = "met", or put a verdict for this before it.'
            return Breach(
                "unsafe-pass", verdict.id, f'"{verdict.id}" is acceptable though {name} is {state}', hint
            )
        if state == "not-judged" and "not-judged" not in verdict.when.get(name, ()):
            hint = f"Find something on {name} on every way, or let its `when` name not-judged for it."
            message = f'"{verdict.id}" is acceptable though nothing was found on {name}'
            return Breach("not-judged-pass", verdict.id, message, hint)
    return None


def plainly_safe(tree: Tree) -> bool:
    """Whether no way through the tree, taken by real answers or not, breaks a rule."""
    try:
        ways = futures(tree)
    except TooManyWays:
        return False
    for ranks, end in ways:
        states = states_of(tree, ranks)
        named = _first(tree, states) if end == "end" else end.removeprefix("verdict:")
        if breach(tree, named, states, RANK["danger"] in ranks) is not None:
            return False
    return True


def masked(tree: Tree) -> Iterator[Mistake]:
    """Verdicts that can never be given, whatever is found: wherever they match, one before them does."""
    names = list(tree.file.requirement)
    if len(STATES) ** len(names) > MOST_COMBINATIONS:
        return
    given = {then.removeprefix("verdict:") for part in tree.family() for then in part.verdict_ends()}
    for combination in product(STATES, repeat=len(names)):
        first = _first(tree, dict(zip(names, combination, strict=True)))
        given.update([first] if first else [])
    for index, verdict in enumerate(tree.file.verdict):
        if verdict.id not in given:
            place = tree.document.place(("verdict", index), key=True)
            message = (
                f'the verdict "{verdict.id}" can never be given: wherever it matches, one before it does.'
            )
            yield Mistake(
                tree.document.name,
                place,
                "masked-verdict",
                message,
                "Move it up, mend its `when`, or take it out.",
            )


def _first(tree: Tree, states: Mapping[str, str]) -> str | None:
    return next((verdict.id for verdict in tree.file.verdict if verdict.matches(states)), None)
