"""The rules of safety: what no end of a consultation may do, and that no verdict hides another.

Invariant: a rule is about one end alone: the verdict that is given, the requirements' states, and whether a danger was
found.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import product
from typing import NamedTuple

from assistant.tree.mistakes import Mistake
from assistant.tree.model import STATES
from assistant.tree.tree import Tree

__all__ = ["Breach", "breach", "masked"]

MOST_COMBINATIONS = 70_000
"""Combinations of states that are looked at for masked verdicts; a tree with more requirements is not."""


class Breach(NamedTuple):
    """A rule of safety that an end breaks."""

    code: str
    verdict: str
    message: str
    hint: str
    grave: int = 0
    """Of two that break the same rule the one with more is told."""


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
        message = (
            f'some answers find a danger and end in the verdict "{verdict.id}", whose outcome is not "stop"'
        )
        return Breach("danger-goes-on", verdict.id, message, 'Put a verdict with outcome = "stop" before it.')
    if verdict.outcome != "acceptable":
        return None
    passes = f'the verdict "{verdict.id}" is acceptable, and some answers come to it though'
    for grave, wrong in ((2, "not-met"), (1, "not-proven")):
        for name, state in states.items():
            if state == wrong:
                message = f'{passes} the requirement "{name}" is {state} there'
                hint = f'Let its `when` ask for {name} = "met", or put a verdict for this before it.'
                return Breach("unsafe-pass", verdict.id, message, hint, grave)
    for name, state in states.items():
        if state == "not-judged" and "not-judged" not in verdict.when.get(name, ()):
            message = f'{passes} nothing is found on the requirement "{name}" there'
            hint = f"Find something on {name} on every way, or let its `when` name not-judged for it."
            return Breach("not-judged-pass", verdict.id, message, hint)
    return None


def masked(tree: Tree) -> Iterator[Mistake]:
    """Verdicts that can never be given, whatever is found: wherever they match, one before them does."""
    wanted = {name for verdict in tree.file.verdict for name in verdict.when}
    alike = [name for name in tree.file.requirement if name not in wanted]  # only `any` and `all` see these
    names = [name for name in tree.file.requirement if name in wanted] + alike[: len(STATES)]
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
