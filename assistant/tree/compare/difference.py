"""Two editions of a tree: every pair of verdicts that the same answers reach.

Invariant: where nothing is found, the same answers lead to the same verdict in both, whatever they are: that is proved, not
sampled. An answer that one edition does not take is given the verdict "refused" there.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from assistant.tree.answers import Value
from assistant.tree.bands import Stretch
from assistant.tree.compare.found import Best, Found, Key, found_in
from assistant.tree.compare.pair import Pairs
from assistant.tree.compare.shown import answers_for
from assistant.tree.compare.side import Edition
from assistant.tree.compare.state import REFUSED
from assistant.tree.model import Verdict
from assistant.tree.survey.bits import Bits
from assistant.tree.survey.frame import Frame
from assistant.tree.survey.graph import TooMany
from assistant.tree.tree import Tree

__all__ = ["Change", "Difference", "compare"]

MOST_SHOWN = 6
"""Ways to one pair of verdicts for which answers are worked out."""


class Change(NamedTuple):
    """A pair of verdicts that the same answers reach."""

    old: str | None
    """The verdict in the old edition: an id; "refused"; None: no verdict matches."""
    new: str | None
    ways: int
    """How many pairs of ways lead there."""
    shown: list[dict[str, Value]]
    """Answers that show it, the fewest first."""


class Difference(NamedTuple):
    """All that two editions differ in."""

    changes: list[Change]
    exact: bool
    """Whether real answers reach every one of these pairs."""


class _Plain(Bits):
    """The packing of findings alone."""

    def __init__(self, root: Tree, names: list[str], merged: bool = False) -> None:
        super().__init__(root, names, merged)
        self.help = 0


def compare(old: Tree, new: Tree) -> Difference:
    """Compare two editions. Raises `TooMany` where there are too many ways that differ."""
    try:
        return _compare(old, new, wide=False)
    except TooMany:
        return _compare(old, new, wide=True)


def _compare(old: Tree, new: Tree, wide: bool) -> Difference:
    names = list(dict.fromkeys((*old.file.requirement, *new.file.requirement)))
    stands_for: dict[object, Stretch] = {}
    editions = [Edition(tree, _Plain(tree, names), stands_for) for tree in (old, new)]
    for edition in editions if wide else ():
        edition.survey.widen()
    listed_alike = [_told(verdict) for verdict in old.file.verdict] == [_told(v) for v in new.file.verdict]
    whole = not listed_alike or list(old.file.requirement) != list(new.file.requirement)
    pairs = Pairs(editions[0], editions[1], None if whole else _Plain(old, names, merged=True))
    found = found_in(pairs, pairs.run(Frame(old), Frame(new)))
    changes: dict[tuple[str | None, str | None], list[tuple[Key, Best]]] = {}
    for key, best in found.at_first(whole).items():
        number, mine, its = key
        end = found.ends[number]
        before = _verdict(old, editions[0].survey.bits, end.old.step, mine)
        after = _verdict(new, editions[1].survey.bits, end.new.step, its)
        if before != after:
            names_ = before[0] if before else None, after[0] if after else None
            changes.setdefault(names_, []).append((key, best))
    listed = [_change(found, pair, several, whole) for pair, several in changes.items()]
    loose = wide or pairs.loose or any(edition.loose for edition in editions)
    return Difference(sorted(listed, key=lambda change: (-change.ways, str(change[:2]))), not loose)


def _told(verdict: Verdict) -> tuple[object, ...]:
    return verdict.id, verdict.outcome, verdict.when


def _verdict(tree: Tree, bits: Bits, end: str, found: int) -> tuple[str, str] | None:
    """The id and outcome of the verdict at an end."""
    if end == REFUSED:
        return REFUSED, REFUSED
    states: Mapping[str, str] = {
        name: state for name, state in bits.states(found).items() if name in tree.file.requirement
    }
    named = end.removeprefix("verdict:") if end != "end" else None
    for verdict in tree.file.verdict:
        if verdict.id == named or (named is None and verdict.matches(states)):
            return verdict.id, verdict.outcome
    return None


def _change(
    found: Found, pair: tuple[str | None, str | None], several: list[tuple[Key, Best]], whole: bool
) -> Change:
    several.sort(key=lambda item: item[1].length)
    shown = [answers_for(found.way(key, whole)) for key, _ in several[:MOST_SHOWN]]
    return Change(*pair, sum(best.ways for _, best in several), shown)
