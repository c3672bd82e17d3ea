"""The difference between two editions, as text and as data."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Mapping
from fractions import Fraction
from typing import Any

from assistant.render.numbers import OUTCOME, big, exactly
from assistant.session.compared import Compared, Shown
from assistant.session.witness import facts_lines
from assistant.tree.answers import Value
from assistant.tree.compare.besides import Detail, meaning_differs
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
        where = f"the installed {tree.id}" if tree.installed else safely(tree.document.name, 200)
        yield from textwrap.wrap(
            f"{word}: {where}, edition {tree.file.tree.edition}", width, subsequent_indent="     "
        )
    if old.digest != new.digest and old.file.tree.edition == new.file.tree.edition:
        yield from textwrap.wrap("Both say they are the same edition: raise it in the new one.", width)
    yield ""
    if not found.shown and not found.doubtful:
        yield from textwrap.wrap(
            "No difference in which verdict is given: the same answers come to the same verdict in both, whatever they are. "
            "This is proved over every path, not sampled.", width,
        )  # fmt: skip
    many = len(found.shown)
    if many:
        yield from textwrap.wrap(
            f"{many} kind{'s' * (many != 1)} of case change{'s' * (many == 1)} the verdict. All others keep it: that is "
            "proved over every path.", width,
        )  # fmt: skip
    changed = meaning_differs(old, found.besides)
    for number, one in enumerate(by_weight(old, new, found), 1):
        yield ""
        yield from _change(old, new, number, one, found.exact, changed, width)
    if found.doubtful:
        yield ""
        yield from textwrap.wrap(
            "These could not be ruled out, since what a working gives is not followed through every combination; no "
            "answers that were tried come to them:", width,
        )  # fmt: skip
        for change in found.doubtful:
            yield from textwrap.wrap(f"- {change.old} → {change.new}", width, initial_indent="  ")
    yield from _closing(old, new, found, width)
    yield from _besides(found.besides, width)


def _closing(old: Tree, new: Tree, found: Compared, width: int) -> Iterator[str]:
    """Which changes to look at first."""
    softer = [
        number
        for number, one in enumerate(by_weight(old, new, found), 1)
        if _turn(old, new, one.change) in SOFTER
    ]
    if found.shown and len(found.shown) > 1:
        yield ""
        told = ", ".join(map(str, softer))
        yield from textwrap.wrap(
            f"{len(softer)} of {len(found.shown)} are judged less gravely than before: look at {told} first."
            if softer else "None of them is judged less gravely than before.", width,
        )  # fmt: skip


SOFTER = ("PASSES NOW", "SOFTER")


def _turn(old: Tree, new: Tree, change: Change) -> str:
    """Which way a verdict has turned, in a word or two."""
    before, after = _outcome(old, change.old), _outcome(new, change.new)
    if after == "acceptable" and before != "acceptable":
        return "PASSES NOW"
    mine, its = GRAVITY.get(before, 1), GRAVITY.get(after, 1)
    if REFUSED in (change.old, change.new) or mine == its:
        return "OTHER VERDICT"
    return "SOFTER" if its < mine else "STRICTER"


TURNS = {
    "PASSES NOW": "what was not acceptable before is acceptable in the new edition.",
    "SOFTER": "less grave than before.",
    "STRICTER": "graver than before.",
    "OTHER VERDICT": "as grave as before, or not given at all in one of them.",
}


def _change(
    old: Tree, new: Tree, number: int, one: Shown, exact: bool, changed: set[str], width: int
) -> Iterator[str]:
    change = one.change
    before, after = _named(old, change.old), _named(new, change.new)
    yield from textwrap.wrap(f"{number}. {before} → {after}", width, subsequent_indent="   ")
    turn = _turn(old, new, change)
    yield from textwrap.wrap(f"{turn}: {TURNS[turn]}", width, initial_indent="   ", subsequent_indent="   ")
    most = "" if exact else "at most "
    pairs = f"{most}{big(change.ways)} pair{'s' * (change.ways != 1)} of paths, one in each edition"
    yield from textwrap.wrap(
        f"{pairs}. These answers show it:", width, initial_indent="   ", subsequent_indent="   "
    )
    for key, line in zip(one.answers or {}, facts_lines(one.answers or {}), strict=True):
        mark = "   # changed here" if key.rpartition("/")[2] in changed else ""
        yield f"     {line}{mark}"


def _besides(details: list[Detail], width: int) -> Iterator[str]:
    """What else differs, the gravest named each, the rest by what it is."""
    if not details:
        return
    yield ""
    yield "What was changed in the file:"
    rest: dict[str, list[str]] = {}
    for detail in details:
        if detail.key in (
            "unsafe",
            "effect",
            "outcome",
            "requirement",
            "order",
            "below",
            "up_to",
            "least",
            "most",
        ):
            key = detail.key.replace("_", "-")
            yield from _item(
                f"{_place(detail)}: `{key}` {_shown(detail.before)} → {_shown(detail.after)}", width
            )
        elif detail.key == "":
            yield from _item(f"{_place(detail)}: {'taken out' if detail.after is None else 'new'}", width)
        else:
            rest.setdefault(_sort(detail), []).append(_place(detail))
    for sort, places in rest.items():
        listed = ", ".join(dict.fromkeys(places))
        yield from _item(f"{sort}: {listed}", width)


def _sort(detail: Detail) -> str:
    """What kind of change a key is."""
    if detail.meaning:
        return "where answers lead, what they find, or what is asked for"
    names = {
        "put_right": "work that puts right, or its effort",
        "effort": "work that puts right, or its effort",
    }
    if detail.table.startswith("verdict."):
        return "what a verdict says, or says to do"
    return names.get(
        detail.key, "what the householder is told" if detail.key == "householder" else "words and sources"
    )


def _place(detail: Detail) -> str:
    return f"[{detail.table}]"


def _shown(value: object) -> str:
    if value is None:
        return "nothing"
    if isinstance(value, Fraction):
        return str(int(value)) if value.denominator == 1 else str(float(value))
    return safely(str(value), 60)


def _item(text: str, width: int) -> list[str]:
    return textwrap.wrap(
        f"- {text}.", width, initial_indent="  ", subsequent_indent="    ", break_on_hyphens=False
    )


def _named(tree: Tree, verdict: str | None) -> str:
    if verdict == REFUSED:
        return "refused (an answer that this edition does not take)"
    outcome = _outcome(tree, verdict)
    return f"{verdict} ({OUTCOME[outcome]})" if outcome else "no verdict"


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
                "pairs_of_paths": exactly(one.change.ways),
                "facts": None
                if one.answers is None
                else {key: _plain(value) for key, value in one.answers.items()},
            }
            for one in by_weight(old, new, found)
        ],
        "besides": [
            {"tree": one.tree, "table": one.table, "key": one.key.replace("_", "-"), "meaning": one.meaning}
            for one in found.besides
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
