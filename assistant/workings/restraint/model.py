"""How far each joint of a run can be drawn open: difference constraints on the lengths of a flue.

Length 0 is fixed to the appliance, length n goes through the wall, joint k lies between lengths k−1 and k. Along
each axis every length has a displacement; a joint, a bracket or the wall limits a displacement, or the difference
of two neighbours. The greatest opening of a joint is then a shortest path in the graph of those limits.

Along one axis the graph is a line of lengths with the ground beside it, and no limit is negative. A shortest path
from one length to another therefore either stays on the line or goes through the ground once, so two sweeps over the
line find all of them. Lengths that cannot move against each other along the axis are one body there.

Amounts are whole multiples of one small unit, exact for everything given. An amount that is limited but not known is
a number above every known sum, and unbounded is one far above that: sums and minima then sort themselves.

What is not known is taken at its best and at its worst. For the outer ducts every answer's limits lie inside those
of the next worse one (screws in push-fit in a free slide; gripping mortar in a collar in nothing), so one run with
everything at its best and one at its worst bound all others. The inner ducts hang on the outer ones but never hold
them; where one of them is not known, both of its states are followed.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property

__all__ = ["AXES", "THIN_GAP_MM", "Amounts", "Flue", "Joint", "Line", "fixing_holds"]

AXES = ("up", "out", "along")
THIN_GAP_MM = 5
"""Mortar cannot be worked into a gap under this (from memory; common practice)."""


@dataclass(frozen=True, slots=True)
class Joint:
    """One joint and the length beyond it, as answered; None is not known. Lengths in mm."""

    axis: str
    held_by: str | None
    slides: str | None
    inner_held: str | None
    bracket: str | None
    maker_wants: str | None
    engagement: Fraction | None
    travel: Fraction | None


@dataclass(frozen=True)
class Flue:
    """A run and its wall as answered; None is not known. Lengths in mm."""

    joints: tuple[Joint, ...]
    ducts: str | None
    inside_face: str | None
    outside_face: str | None
    mortar_state: str | None
    outer_material: str | None
    hole: str | None
    hole_mm: Fraction | None
    flue_mm: Fraction | None
    wall_mm: Fraction | None
    reach_mm: Fraction | None

    @cached_property
    def gap(self) -> Fraction | None:
        """The gap all round, in mm; None where not known."""
        if self.hole_mm is None or self.flue_mm is None:
            return None
        return (self.hole_mm - self.flue_mm) / 2

    @cached_property
    def play(self) -> Fraction | None:
        """Sideways movement at the outlet of a tube rocking in its hole, in mm; None where not known."""
        if self.gap is None or self.wall_mm is None or self.reach_mm is None:
            return None
        return self.gap * (1 + 2 * self.reach_mm / self.wall_mm)

    @cached_property
    def grips(self) -> bool | None:
        """Whether mortar of this state, at a face, would hold this flue; None where that cannot be known."""
        if self.mortar_state == "cracked-or-loose":
            return False
        thin = self.gap is not None and self.gap < THIN_GAP_MM
        if self.mortar_state == "sound" and self.outer_material in ("steel", "aluminium") and not thin:
            return True
        return None


@dataclass(frozen=True, slots=True)
class Amounts:
    """The whole-number scale on which this flue's amounts are exact, and its two special amounts."""

    scale: int
    unknown: int
    unbounded: int

    @classmethod
    def of(cls, flue: Flue) -> Amounts:
        """The scale for one flue. No sum of its known amounts reaches `unknown`, no unknown one `unbounded`."""
        known = [flue.play or Fraction(0)]
        known += [x for joint in flue.joints for x in (joint.engagement, joint.travel) if x is not None]
        scale = math.lcm(*(x.denominator for x in known))
        unknown = 2 * sum(int(x * scale) for x in known) + 1
        return cls(scale, unknown, 8 * unknown)

    def count(self, millimetres: Fraction) -> int:
        """A known amount on this scale."""
        return int(millimetres * self.scale)

    def value(self, amount: int) -> Fraction | str:
        """An amount as a result: mm, "unknown" (limited, but by how much is not known) or "unbounded"."""
        if amount >= self.unbounded:
            return "unbounded"
        return "unknown" if amount >= self.unknown else Fraction(amount, self.scale)


def fixing_holds(joint: Joint, best: bool) -> bool:
    """Whether the outer ducts cannot move against each other at this joint, with what is not known settled."""
    slide = ("no", "fixed-at-length", None) if best else ("no", "fixed-at-length")
    fixing = ("screws", "clamp", None) if best else ("screws", "clamp")
    return joint.slides in slide and joint.held_by in fixing


@dataclass(slots=True)
class Line:
    """One axis of a flue, everything not known at its best or at its worst.

    Bodies 0…m, each the lengths in `members`; joint `joints[b]` lies between bodies b−1 and b (entry 0 is unused).
    `own_away` and `own_back` are how far the holds on a body alone let it go from the appliance and towards it,
    `opens` and `closes` how far each joint lets its bodies go; `away` and `back` what all of these leave each body.
    """

    flue: Flue
    amounts: Amounts
    axis: str
    best: bool
    joints: list[int] = field(default_factory=lambda: [0])
    members: list[list[int]] = field(default_factory=lambda: [[0]])
    own_away: list[int] = field(default_factory=lambda: [0])
    own_back: list[int] = field(default_factory=lambda: [0])
    opens: list[int] = field(default_factory=lambda: [0])
    closes: list[int] = field(default_factory=lambda: [0])
    away: list[int] = field(init=False)
    back: list[int] = field(init=False)

    def __post_init__(self) -> None:
        for k, joint in enumerate(self.flue.joints, start=1):
            if joint.axis == self.axis:
                self._add_joint(k, joint)
            self.members[-1].append(k)
            self._hold(*self._bracket(joint))
        self._hold(*self._wall())
        self._sweep()

    def spread(self, near: int, far: int) -> int:
        """How far body `far` can move away from body `near`: the shortest path between them."""
        return min(sum(self.opens[near + 1 : far + 1]), self.away[far] + self.back[near])

    def inner_spreads(self, body: int) -> Iterator[int]:
        """How far the inner of joint `joints[body]`, itself anchored, can open: one amount for each possibility.

        The inner behind it stays with its own outer where it is anchored, or where its joint lies on another
        axis. A free one rests against the inner behind it in turn. One that is not known may be either.
        """
        for near in range(body - 1, -1, -1):
            length = self.members[near][-1]
            rests = length == 0 or length != self.joints[near]
            held = "anchored" if rests else self.flue.joints[length - 1].inner_held
            if held != "free":
                yield self.spread(near, body)
            if held == "anchored":
                return

    def _sweep(self) -> None:
        """Find `away` and `back`: the shortest paths from the ground to every body, and back."""
        self.away, self.back = list(self.own_away), list(self.own_back)
        last = len(self.joints) - 1
        for b in range(1, last + 1):
            self.back[b] = min(self.back[b], self.back[b - 1] + self.closes[b])
        for b in range(last - 1, -1, -1):
            self.away[b] = min(self.away[b], self.away[b + 1] + self.closes[b + 1])
            self.back[b] = min(self.back[b], self.back[b + 1] + self.opens[b + 1])
        for b in range(1, last + 1):
            self.away[b] = min(self.away[b], self.away[b - 1] + self.opens[b])

    def _add_joint(self, k: int, joint: Joint) -> None:
        """Begin a new body beyond a joint that lies along this axis."""
        unbounded = self.amounts.unbounded
        holds = fixing_holds(joint, self.best)
        closes = 0
        if joint.slides == "free" or (joint.slides is None and not self.best):
            closes = unbounded if joint.travel is None else self.amounts.count(joint.travel)
        self.joints.append(k)
        self.members.append([])
        self.own_away.append(unbounded)
        self.own_back.append(unbounded)
        self.opens.append(0 if holds else unbounded)
        self.closes.append(closes)

    def _hold(self, away: int, back: int) -> None:
        """Limit the last body by one more hold."""
        self.own_away[-1] = min(self.own_away[-1], away)
        self.own_back[-1] = min(self.own_back[-1], back)

    def _bracket(self, joint: Joint) -> tuple[int, int]:
        """What the bracket on the length beyond a joint allows, away and back."""
        unbounded = self.amounts.unbounded
        if joint.bracket == "grips" or (joint.bracket is None and self.best):
            return 0, 0
        return unbounded, 0 if joint.bracket == "carries" and self.axis == "up" else unbounded

    def _wall(self) -> tuple[int, int]:
        """What the wall allows the length through it, away and back."""
        flue, unbounded = self.flue, self.amounts.unbounded
        unsure = (None,) if self.best else ()
        grips = flue.grips or (self.best and flue.grips is None)
        if grips and (flue.inside_face in ("mortar", *unsure) or flue.outside_face in ("mortar", *unsure)):
            return 0, 0
        if self.axis == "out":
            return (
                0 if flue.inside_face in ("fixed-collar", *unsure) else unbounded,
                0 if flue.outside_face in ("fixed-collar", *unsure) else unbounded,
            )
        if flue.hole == "broken-out" or (flue.hole is None and not self.best):
            return unbounded, unbounded
        play = self.amounts.unknown if flue.play is None else self.amounts.count(flue.play)
        return play, play
