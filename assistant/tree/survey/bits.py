"""What was found on a way, packed into one number, so that two ways are joined by a bitwise or.

Invariant: each requirement of the surveyed tree has four bits, of which as many are set as its gravest effect is grave; above
them one bit says that something found wrong can be put right.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from assistant.tree.model import RANK, STATE, STATES, Verdict
from assistant.tree.tree import Tree

__all__ = ["Bits"]

BITS = 4


COULD_BE = (
    frozenset(STATES),
    frozenset(("met", "not-proven", "not-met")),
    frozenset(("not-proven", "not-met")),
    frozenset(("not-met",)),
    frozenset(("not-met",)),
)
"""The states that a requirement can still come to, by the gravest effect found so far."""


class Bits:
    """The packing for one tree and all those it visits.

    With `merged`, two that can only come to the same verdict, whatever else is found, are made one.
    """

    def __init__(self, root: Tree, names: Iterable[str] | None = None, merged: bool = True) -> None:
        self.names = tuple(root.file.requirement if names is None else names)
        self.verdicts = root.file.verdict if merged else ()
        self.one: dict[int, int] = {}
        self.classes: dict[tuple[object, ...], int] = {}
        self.shift = {name: place * BITS for place, name in enumerate(self.names)}
        self.help = 1 << (BITS * len(self.names))
        """Set where work can bring about another answer than one that was given."""
        self.width = BITS * len(self.names) + 1

    def found(self, tree: Tree, findings: Iterable[str]) -> int:
        """What these findings of a tree come to."""
        bits = 0
        for name in findings:
            finding = tree.file.finding[name]
            if finding.requirement is not None and finding.effect in RANK:
                bits |= ((1 << RANK[finding.effect]) - 1) << self.shift[finding.requirement]
        return bits

    def grave(self, bits: int) -> bool:
        """Whether anything was found unproven or worse."""
        return any(bits >> shift & 2 for shift in self.shift.values())

    def danger(self, bits: int) -> bool:
        """Whether a danger was found."""
        return any(bits >> shift & 8 for shift in self.shift.values())

    def alike(self, bits: int) -> int:
        """The one that stands for all that can only come to the same, whatever else is found."""
        found = self.one.get(bits)
        if found is None:
            decided = self.decided(bits) if self.verdicts else None
            if decided is None:
                found = bits
            else:
                rule = (decided.id, self.danger(bits), bits & self.help)
                found = self.classes.setdefault(rule, bits)
            self.one[bits] = found
        return found

    def decided(self, bits: int) -> Verdict | None:
        """The verdict that is given whatever else is found, where it is none that a flue passes by."""
        could = {name: COULD_BE[(bits >> shift & 15).bit_count()] for name, shift in self.shift.items()}
        for verdict in self.verdicts:
            certain, possible = True, True
            for name, allowed in verdict.when.items():
                wanted = set(allowed)
                if name in could:
                    held, can = could[name] <= wanted, not wanted.isdisjoint(could[name])
                elif name == "any":
                    held = any(states <= wanted for states in could.values())
                    can = any(not wanted.isdisjoint(states) for states in could.values())
                else:
                    held = all(states <= wanted for states in could.values())
                    can = all(not wanted.isdisjoint(states) for states in could.values())
                certain, possible = certain and held, possible and can
            if certain:
                return verdict if verdict.outcome != "acceptable" else None
            if possible:
                return None
        return None

    def states(self, bits: int) -> dict[str, str]:
        """The requirements' states."""
        return {name: STATE[(bits >> shift & 15).bit_count()] for name, shift in self.shift.items()}


def spread_of(chosen: Iterable[int]) -> Mapping[int, int]:
    """What any choice among several answers can find, and in how many ways."""
    spread = {0: 1}
    for bits in chosen:
        grown = dict(spread)
        for found, ways in spread.items():
            grown[found | bits] = grown.get(found | bits, 0) + ways
        spread = grown
    return spread
