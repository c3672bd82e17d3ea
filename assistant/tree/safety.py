"""Whether a tree can pass an unsafe flue: every combination of findings that some way reaches, against its verdicts.

Invariant: `unsafe` complains only of ways that some answers really take; where it finds nothing and `in_doubt` is false,
no way at all breaks these rules. What lies between hangs on what a recall or a working looks at, and is not decided.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from itertools import product

from assistant.tree.futures import Future, Ranks, TooManyWays, futures, states_of
from assistant.tree.mistakes import Mistake
from assistant.tree.model import RANK, STATES, Verdict
from assistant.tree.tree import Tree

__all__ = ["in_doubt", "unsafe"]

MOST_COMBINATIONS = 20_000
"""Combinations of states that are looked at for masked verdicts; a tree with more requirements is not."""


def unsafe(tree: Tree) -> Iterator[Mistake]:
    """Every rule of safety that some way through the tree surely breaks, each with the states it comes to."""
    told: set[tuple[str, str]] = set()
    with suppress(TooManyWays):
        yield from _surely(tree, told)
        yield from _masked(tree)


def _surely(tree: Tree, told: set[tuple[str, str]]) -> Iterator[Mistake]:
    for code, verdict, ranks, message, hint in _breaches(tree, futures(tree, sure=True)):
        if (code, verdict) in told:
            continue
        told.add((code, verdict))
        index = next((n for n, v in enumerate(tree.file.verdict) if v.id == verdict), None)
        path: tuple[str | int, ...] = ("verdict", index) if index is not None else ("tree",)
        states = ", ".join(f"{name} {state}" for name, state in states_of(tree, ranks).items())
        shown = f"{message} (with {states})" if states else message
        yield Mistake(tree.document.name, tree.document.place(path, key=True), code, f"{shown}.", hint)


def in_doubt(tree: Tree) -> bool:
    """Whether some way might break a rule: one that hangs on what a recall or a working looks at included."""
    try:
        return any(True for _ in _breaches(tree, futures(tree)))
    except TooManyWays:
        return True


def _breaches(tree: Tree, ways: Future) -> Iterator[tuple[str, str, Ranks, str, str]]:
    by_id = {verdict.id: verdict for verdict in tree.file.verdict}
    for ranks, end in sorted(ways):
        states = states_of(tree, ranks)
        verdict: Verdict | None
        if end == "end":
            verdict = next((v for v in tree.file.verdict if v.matches(states)), None)
        else:
            verdict = by_id[end.removeprefix("verdict:")]
        if verdict is None:
            yield (
                "no-verdict",
                "",
                ranks,
                "some way ends where no verdict matches",
                "Add a verdict for it, or a last one without `when`.",
            )
            continue
        if RANK["danger"] in ranks and verdict.outcome != "stop":
            yield (
                "danger-goes-on",
                verdict.id,
                ranks,
                f'a danger ends in "{verdict.id}", which is no stop',
                'Put a verdict with outcome = "stop" before it.',
            )
        if verdict.outcome != "acceptable":
            continue
        for (name, state), rank in zip(states.items(), ranks, strict=True):
            if rank >= RANK["unproven"]:
                yield (
                    "unsafe-pass",
                    verdict.id,
                    ranks,
                    f'"{verdict.id}" is acceptable though {name} is {state}',
                    f'Let its `when` ask for {name} = "met", or put a verdict for this before it.',
                )
            elif state == "not-judged" and "not-judged" not in verdict.when.get(name, ()):
                yield (
                    "not-judged-pass",
                    verdict.id,
                    ranks,
                    f'"{verdict.id}" is acceptable though nothing was found on {name}',
                    f"Find something on {name} on every way, or let its `when` name not-judged for it.",
                )


def _masked(tree: Tree) -> Iterator[Mistake]:
    """Verdicts that can never be given, whatever is found: wherever they match, one before them does."""
    names = list(tree.file.requirement)
    if len(STATES) ** len(names) > MOST_COMBINATIONS:
        return
    given = {end.removeprefix("verdict:") for _, end in futures(tree) if end != "end"}
    for combination in product(STATES, repeat=len(names)):
        states = dict(zip(names, combination, strict=True))
        given.update(v.id for v in [next((v for v in tree.file.verdict if v.matches(states)), None)] if v)
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
