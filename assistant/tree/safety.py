"""The rules of safety: what no end of a consultation may do, and that no verdict hides another.

Invariant: a rule is about one end alone: the verdict that is given, the requirements' states, and whether a danger was
found.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import product
from typing import NamedTuple

from assistant.tree.mistakes import Label, Mistake, Place, safely
from assistant.tree.model import STATES
from assistant.tree.tree import Tree

__all__ = ["Breach", "breach", "hidden_verdicts", "masked"]

MOST_COMBINATIONS = 70_000
"""Combinations of states that are looked at for masked verdicts; a tree with more requirements is not."""
MOST_LABELS = 5
"""Other verdicts that are pointed at."""


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
    """Complaints of verdicts that can never be given, whatever is found, naming those that stand in their way."""
    hidden = hidden_verdicts(tree)
    if hidden:
        yield from _hidden(tree, hidden)


def hidden_verdicts(tree: Tree) -> list[int]:
    """The verdicts that can never be given, by their number: wherever they match, one before them does."""
    names = _told_apart(tree)
    if len(STATES) ** len(names) > MOST_COMBINATIONS:
        return []
    given = {then.removeprefix("verdict:") for part in tree.family() for then in part.verdict_ends()}
    for combination in product(STATES, repeat=len(names)):
        first = _first(tree, dict(zip(names, combination, strict=True)))
        given.update([first] if first else [])
    return [index for index, verdict in enumerate(tree.file.verdict) if verdict.id not in given]


def _told_apart(tree: Tree) -> list[str]:
    """The requirements whose states decide which verdict is given; of those that none names, as many as matter."""
    wanted = {name for verdict in tree.file.verdict for name in verdict.when}
    alike = [name for name in tree.file.requirement if name not in wanted]  # only `any` and `all` see these
    return [name for name in tree.file.requirement if name in wanted] + alike[: len(STATES)]


def _hidden(tree: Tree, hidden: Sequence[int]) -> Iterator[Mistake]:
    """The verdicts that are never given, each with those before it that take all that it would match."""
    names = _told_apart(tree)
    takers: dict[int, set[int]] = {index: set() for index in hidden}
    verdicts = tree.file.verdict
    for combination in product(STATES, repeat=len(names)):
        states = dict(zip(names, combination, strict=True))
        matching = [index for index, verdict in enumerate(verdicts) if verdict.matches(states)]
        for index in matching:
            if index in takers:
                takers[index].add(matching[0])
    greedy = next((index for index, verdict in enumerate(verdicts) if not verdict.when), len(verdicts))
    behind = [index for index in hidden if greedy in takers[index]]
    for index in hidden:
        if index not in behind:
            yield _masked(tree, index, sorted(takers[index]))
    if behind:
        yield _behind(tree, greedy, behind)


def _masked(tree: Tree, index: int, takers: Sequence[int]) -> Mistake:
    """One verdict that others take everything from."""
    verdict = tree.file.verdict[index]
    lines = [place.line if (place := _verdict_at(tree, one)) else 0 for one in takers]
    named = [
        f'"{safely(tree.file.verdict[one].id)}" (line {line})'
        for one, line in zip(takers, lines, strict=True)
    ]
    listed = " or ".join([", ".join(named[:-1]), named[-1]] if len(named) > 1 else named)
    message = f'the verdict "{verdict.id}" can never be given: wherever it matches, {listed} before it does.'
    hint = f"Move it up, above line {min(lines, default=0)}, mend its `when`, or take it out."
    same = next((one for one in takers if tree.file.verdict[one].when == verdict.when), None)
    if same is not None:
        other = safely(tree.file.verdict[same].id)
        hint = f'It asks for the same as "{other}": change the `when` of one of the two, or take one out.'
    if not takers:
        message = (
            f'the verdict "{verdict.id}" can never be given: nothing that is found brings its `when` about.'
        )
        hint = "Mend its `when`, or take it out."
    also = tuple(_label(tree, one, "this one takes what it would match") for one in takers[:MOST_LABELS])
    return Mistake(tree.document.name, _verdict_at(tree, index), "masked-verdict", message, hint, also)


def _behind(tree: Tree, greedy: int, behind: Sequence[int]) -> Mistake:
    """One verdict that takes everything from all those below it."""
    verdicts = tree.file.verdict
    first, *others = behind
    place = _verdict_at(tree, greedy)
    culprit = f'line {place.line if place else 0} "{safely(verdicts[greedy].id)}"'
    more = f", nor can {len(others)} more below it" if others else ""
    message = f'the verdict "{verdicts[first].id}" can never be given{more}: {culprit} has no `when` and takes everything.'
    hint = f"Move {culprit} to the end: the last verdict takes all that is left."
    if not all(verdicts[index].when for index in behind):
        hint = f"Only one verdict can do without `when`, the last: give {culprit} a `when`, or take one of the two out."
    also = (
        _label(tree, greedy, "this one has no `when` and takes everything"),
        *(_label(tree, index, "this one is never given either") for index in others[:MOST_LABELS]),
    )
    return Mistake(tree.document.name, _verdict_at(tree, first), "masked-verdict", message, hint, also)


def _verdict_at(tree: Tree, index: int) -> Place | None:
    return tree.document.place(("verdict", index), key=True)


def _label(tree: Tree, index: int, says: str) -> Label:
    return Label(_verdict_at(tree, index) or Place(1, 1), says)


def _first(tree: Tree, states: Mapping[str, str]) -> str | None:
    return next((verdict.id for verdict in tree.file.verdict if verdict.matches(states)), None)
