"""The difference between two editions, as text and as data."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Mapping
from fractions import Fraction
from typing import Any

from assistant.render.numbers import OUTCOME, big
from assistant.session.compared import Compared, Shown
from assistant.session.witness import facts_lines
from assistant.tree.answers import Value
from assistant.tree.compare.difference import Change
from assistant.tree.compare.pair import REFUSED
from assistant.tree.mistakes import safely
from assistant.tree.tree import Tree

__all__ = ["by_weight", "compared_data", "compared_text"]

GRAVITY = {"stop": 4, "not-acceptable": 3, "not-settled": 2, None: 1, "acceptable": 0}
"""How far an outcome is from letting a flue pass."""


def by_weight(old: Tree, new: Tree, found: Compared) -> list[Shown]:
    """The changes, those first that let pass what did not pass before."""
    return sorted(found.shown, key=lambda one: _weight(old, new, one.change))


def _weight(old: Tree, new: Tree, change: Change) -> tuple[int, int, str]:
    before, after = GRAVITY.get(_outcome(old, change.old), 1), GRAVITY.get(_outcome(new, change.new), 1)
    return (0 if after == 0 and before else 1 if after < before else 2), -before, f"{change.old} {change.new}"


def _outcome(tree: Tree, verdict: str | None) -> str | None:
    return next((one.outcome for one in tree.file.verdict if one.id == verdict), None)


def compared_text(old: Tree, new: Tree, found: Compared, width: int = 80) -> str:
    """The changes as text, `width` columns wide."""
    return "\n".join(_lines(old, new, found, width)) + "\n"


def _lines(old: Tree, new: Tree, found: Compared, width: int) -> Iterator[str]:
    for word, tree in (("Old", old), ("New", new)):
        yield from textwrap.wrap(
            f"{word}: {safely(tree.document.name, 200)}, edition {tree.file.tree.edition}",
            width,
            subsequent_indent="     ",
        )
    yield ""
    yield from _questions(old, new, width)
    if not found.shown and not found.doubtful:
        yield from textwrap.wrap(
            "No difference in any verdict: the same answers come to the same verdict in both, whatever they are. "
            "This is proved over every path, not sampled.", width,
        )  # fmt: skip
        return
    many = len(found.shown)
    if many:
        yield from textwrap.wrap(
            f"{many} kind{'s' * (many != 1)} of case change{'s' * (many == 1)} the verdict. All others keep it: that is "
            "proved over every path.", width,
        )  # fmt: skip
    for number, one in enumerate(by_weight(old, new, found), 1):
        yield ""
        yield from _change(old, new, number, one, found.exact, width)
    if found.doubtful:
        yield ""
        yield from textwrap.wrap(
            "These could not be ruled out, since what a working gives is not followed through every combination; no "
            "answers that were tried come to them:", width,
        )  # fmt: skip
        for change in found.doubtful:
            yield from textwrap.wrap(f"- {change.old} → {change.new}", width, initial_indent="  ")


def _change(old: Tree, new: Tree, number: int, one: Shown, exact: bool, width: int) -> Iterator[str]:
    change = one.change
    before, after = _named(old, change.old), _named(new, change.new)
    most = "" if exact else "at most "
    passes = _outcome(new, change.new) == "acceptable" and _outcome(old, change.old) != "acceptable"
    yield from textwrap.wrap(f"{number}. {before} → {after}", width, subsequent_indent="   ")
    if passes:
        yield "   PASSES NOW: what was not acceptable before is acceptable in the new edition."
    yield f"   {most}{big(change.ways)} pair{'s' * (change.ways != 1)} of paths. These answers show it:"
    for line in facts_lines(one.answers or {}):
        yield f"     {line}"


def _named(tree: Tree, verdict: str | None) -> str:
    if verdict == REFUSED:
        return "refused (an answer that this edition does not take)"
    outcome = _outcome(tree, verdict)
    return f"{verdict} ({OUTCOME[outcome]})" if outcome else "no verdict"


def _questions(old: Tree, new: Tree, width: int) -> Iterator[str]:
    """What is asked in one edition alone."""
    before = {(part.id, name) for part in old.family() for name in part.file.question}
    after = {(part.id, name) for part in new.family() for name in part.file.question}
    told = False
    for word, names in (
        ("Asked in the old one only", before - after),
        ("Asked in the new one only", after - before),
    ):
        if names:
            told = True
            listed = ", ".join(
                sorted(name if tree in (old.id, new.id) else f"{tree}: {name}" for tree, name in names)
            )
            yield from textwrap.wrap(f"{word}: {listed}.", width)
    if told:
        yield ""


def compared_data(old: Tree, new: Tree, found: Compared) -> dict[str, Any]:
    """The changes as data."""
    return {
        "format": 1,
        "old": _tree(old),
        "new": _tree(new),
        "same": not found.shown and not found.doubtful,
        "exact": found.exact,
        "changes": [
            {
                "old": one.change.old,
                "new": one.change.new,
                "pairs_of_paths": one.change.ways,
                "facts": None
                if one.answers is None
                else {key: _plain(value) for key, value in one.answers.items()},
            }
            for one in by_weight(old, new, found)
        ],
        "not_ruled_out": [{"old": change.old, "new": change.new} for change in found.doubtful],
    }


def _tree(tree: Tree) -> Mapping[str, str]:
    return {
        "id": tree.id,
        "file": tree.document.name,
        "edition": tree.file.tree.edition,
        "digest": tree.digest,
    }


def _plain(value: Value) -> Any:
    if isinstance(value, tuple):
        return list(value)
    if isinstance(value, Fraction):
        return int(value) if value.denominator == 1 else float(value)
    return value
