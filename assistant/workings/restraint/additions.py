"""The smallest sets of added restraints that hold every joint of a run.

An addition is screws or a clamp at a joint (as its maker wants; neither where the maker wants a push-fit, and
nothing on a slide that is, or may be, free: no fixing holds one until it is fixed at its length), a bracket that
grips a length, or mortar or a fixed collar at a face of the wall. Mortar is offered only where it would be sure to
grip. Freed inner ducts are beyond any of these: where the inner is free, or may be, there is no such set.

Every set is proven with all that is not known at its worst. An addition never lets a joint open further, so what
fails with many additions fails with fewer: each largest set of additions that still fails names, in what it lacks,
additions one of which every remedy must hold. Following those finds every smallest set and looks at few others.
A fixed collar outside never helps: an opening is a length going away from the one before it, and that collar only
keeps the last length from coming in.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

from assistant.workings.restraint.model import Flue, Line

__all__ = ["MOST_ADDED", "Addition", "smallest_sets"]

MOST_ADDED = 3
"""The largest set looked for."""


@dataclass(frozen=True, slots=True)
class Addition:
    """One restraint to add: where, what, and the work from 1 (minutes) to 5."""

    place: str
    what: str
    effort: int

    def __str__(self) -> str:
        return f"{self.place}: {self.what}"


@dataclass(slots=True)
class _Axis:
    """One axis as the search reads it: its limits, and which additions (bits) bring each down to nothing.

    `enough` is the opening at which a joint no longer holds, infinite where it cannot open at all.
    """

    away: list[int]
    back: list[int]
    closes: list[int]
    held_away: list[int]
    held_back: list[int]
    fixed: list[int]
    enough: list[float]

    def holds(self, added: int) -> bool:
        """Whether every joint along this axis holds with the additions of the bits in `added`."""
        last, room, back = len(self.away), 0, [0]
        for b in range(1, last):
            room = 0 if self.held_back[b] & added else min(self.back[b], room + self._closes(b, added))
            back.append(room)
        room = self.away[-1]
        for b in range(last - 1, 0, -1):
            room = 0 if self.held_away[b] & added else min(self.away[b], room)
            opening = 0 if self.fixed[b] & added else room + back[b - 1]
            if opening and opening >= self.enough[b]:
                return False
            room += self._closes(b, added)
        return True

    def _closes(self, body: int, added: int) -> int:
        return 0 if self.fixed[body] & added else self.closes[body]


def smallest_sets(flue: Flue, worst: Iterable[Line]) -> list[tuple[Addition, ...]]:
    """All smallest sets of at most `MOST_ADDED` additions that hold every joint, least work first.

    `worst` holds the flue's axes with everything not known at its worst.
    Empty where nothing needs adding and where nothing that can be added would do.
    """
    if flue.ducts != "twin" and any(joint.inner_held != "anchored" for joint in flue.joints):
        return []
    additions = _additions(flue)
    axes = [_axis(line, additions) for line in worst]
    found = _search(len(additions), lambda added: all(axis.holds(added) for axis in axes))
    sets = [tuple(each for bit, each in enumerate(additions) if added >> bit & 1) for added in found if added]
    order = {each: n for n, each in enumerate(additions)}
    sets.sort(key=lambda one: (sum(each.effort for each in one), len(one), [order[each] for each in one]))
    return sets


def _additions(flue: Flue) -> list[Addition]:
    """What may be added to this flue, in the order it is named to people."""
    additions = []
    for k, joint in enumerate(flue.joints, start=1):
        loose = joint.held_by not in ("screws", "clamp")
        if loose and joint.slides in ("no", "fixed-at-length") and joint.maker_wants != "push-fit":
            additions.append(Addition(f"joint.{k}", joint.maker_wants or "screws", 1))
    additions += [
        Addition(f"length.{k}", "bracket", 2)
        for k, joint in enumerate(flue.joints, start=1)
        if joint.bracket != "grips"
    ]
    additions.append(Addition("inside-face", "fixed-collar", 2))
    additions.append(Addition("outside-face", "fixed-collar", 3))
    if replace(flue, mortar_state="sound").grips:
        additions += [Addition("inside-face", "mortar", 3), Addition("outside-face", "mortar", 4)]
    return additions


def _axis(line: Line, additions: list[Addition]) -> _Axis:
    """One axis at its worst, made ready for the search."""
    bodies = len(line.joints)
    held_away, held_back, fixed = [0] * bodies, [0] * bodies, [0] * bodies
    body_of = {length: b for b, members in enumerate(line.members) for length in members}
    for bit, each in enumerate(additions):
        place, _, number = each.place.partition(".")
        if place == "joint":
            if int(number) in line.joints[1:]:
                fixed[line.joints.index(int(number), 1)] |= 1 << bit
            continue
        body = body_of[int(number)] if place == "length" else bodies - 1
        collar = each.what == "fixed-collar"
        if not collar or (line.axis == "out" and place == "inside-face"):
            held_away[body] |= 1 << bit
        if not collar or (line.axis == "out" and place == "outside-face"):
            held_back[body] |= 1 << bit
    enough: list[float] = [0]
    for b, k in enumerate(line.joints[1:], start=1):
        depth = line.flue.joints[k - 1].engagement
        parts_at = 0 if depth is None else line.amounts.count(depth)
        enough.append(math.inf if line.opens[b] == 0 else parts_at)
    return _Axis(line.own_away, line.own_back, line.closes, held_away, held_back, fixed, enough)


def _search(count: int, holds: Callable[[int], bool]) -> list[int]:
    """All smallest sets of at most `MOST_ADDED` of `count` additions for which `holds`, as bits."""
    everything = (1 << count) - 1
    if not holds(everything):
        return []
    failing: list[int] = []
    found: list[int] = []
    level = [0]
    for size in range(MOST_ADDED + 1):
        following: dict[int, None] = {}
        for added in level:
            if any(one & added == one for one in found):
                continue
            largest = next((one for one in failing if added & ~one == 0), None)
            if largest is None:
                if holds(added):
                    found.append(added)
                    continue
                if size == MOST_ADDED:
                    continue
                largest = _largest_failing(added, count, holds)
                failing.append(largest)
            missing = everything & ~largest
            following.update((added | 1 << bit, None) for bit in range(count) if missing >> bit & 1)
        level = list(following)
    return found


def _largest_failing(added: int, count: int, holds: Callable[[int], bool]) -> int:
    """A largest set of additions around a failing one that fails as well."""
    for bit in range(count):
        more = added | 1 << bit
        if more != added and not holds(more):
            added = more
    return added
