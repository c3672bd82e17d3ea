"""What was found on a way, packed into one number, so that two ways are joined by a bitwise or.

Invariant: each requirement of the surveyed tree has four bits, of which as many are set as its gravest effect is grave; above
them one bit says that something found wrong can be put right.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from assistant.tree.model import RANK, STATE
from assistant.tree.tree import Tree

__all__ = ["Bits"]

BITS = 4


LATER = tuple(tuple(STATE[max(found, later)] for later in range(len(STATE))) for found in range(len(STATE)))
"""The state that a requirement comes to, by the gravest effect found so far and then by the gravest found later."""


class Bits:
    """The packing for one tree and all those it visits.

    With `merged`, two that can only come to the same verdict, whatever else is found, are made one.
    """

    def __init__(self, root: Tree, names: Iterable[str] | None = None, merged: bool = True) -> None:
        self.names = tuple(root.file.requirement if names is None else names)
        self.verdicts = root.file.verdict if merged else ()
        self.one: dict[tuple[int, bool], int] = {}
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

    def alike(self, bits: int, exact: bool = True) -> int:
        """The one that stands for all that can only come to the same, whatever else is found.

        Without `exact`, only those are made one of which the verdict is decided: where a way may not be real, several that
        come to the same are worth a try.
        """
        found = self.one.get((bits, exact))
        if found is None:
            ahead = self.ahead(bits) if self.verdicts else None
            if ahead is None or (len(ahead) > 1 and not exact):
                found = bits
            else:
                found = self.classes.setdefault((ahead, self.danger(bits), bits & self.help), bits)
            self.one[bits, exact] = found
        return found

    def ahead(self, bits: int) -> tuple[object, ...] | None:
        """The verdicts that can still be given, and what each still hangs on; two with the same are given the same.

        None where a flue may still be passed, or given no verdict: there it matters what exactly was found.
        """
        later = {name: LATER[(bits >> shift & 15).bit_count()] for name, shift in self.shift.items()}
        past: dict[str, frozenset[str]] = dict.fromkeys(later, frozenset())
        """By requirement the states for which a verdict further up is given."""
        ahead: list[object] = []
        for verdict in self.verdicts:
            hangs_on: list[object] = []
            for name, allowed in verdict.when.items():
                among = [name] if name in later else list(later)
                matching = [
                    [s in allowed if s not in past[one] else None for s in later[one]] for one in among
                ]
                join = any if name == "any" else all
                if not join(True in one for one in matching):
                    break
                if not join(False not in one for one in matching):
                    hangs_on.append((name, *map(tuple, matching)))
            else:
                if verdict.outcome == "acceptable":
                    return None
                ahead.append((verdict.id, *hangs_on))
                if not hangs_on:
                    return tuple(ahead)
            if len(verdict.when) == 1 and "all" not in verdict.when:
                [(name, allowed)] = verdict.when.items()
                for one in [name] if name in later else later:
                    past[one] |= frozenset(allowed)
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
