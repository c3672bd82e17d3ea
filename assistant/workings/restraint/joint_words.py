"""What one joint does, in words that a fitter can follow along the flue with a finger."""

from __future__ import annotations

from dataclasses import dataclass

from assistant.workings.restraint.model import Joint, Line
from assistant.workings.units import show

__all__ = ["JointFound", "joint_in_words"]

_WAYS = {"up": "up", "out": "out", "along": "along the wall"}
_GO = {"up": "go up", "out": "go out", "along": "go sideways"}
_COME = {"up": "come down", "out": "come back in", "along": "come back"}
_AWAY = {
    "up": "lifted from inside",
    "out": "pulled out from outside",
    "along": "pulled sideways from inside",
}
_BACK = {
    "up": "pushed down from inside",
    "out": "pulled back from inside",
    "along": "pushed back sideways from inside",
}
_HELD = {"screws": "screwed", "clamp": "clamped", "push-fit": "pushed in only", None: "fixing not known"}
_SLIDES = {
    "no": "",
    "fixed-at-length": ", slide fixed at its length",
    "free": ", slides freely",
    None: ", not known whether it slides",
}


@dataclass(frozen=True, slots=True)
class JointFound:
    """Joint k: its greatest openings at worst (inner None: there is none) and at best, its state, and its line."""

    k: int
    outer: int
    inner: int | None
    at_best: int
    state: str
    line: Line

    @property
    def opening(self) -> int:
        """The greater of outer and inner, at worst."""
        return max(self.outer, self.inner or 0)

    @property
    def direction(self) -> str | None:
        """Which way it comes apart and who could do it; None for a joint that cannot open."""
        if self.opening == 0:
            return None
        axis, body = self.line.axis, self.line.joints.index(self.k, 1)
        if self.outer < self.opening:
            return f"inner duct {_AWAY[axis]}" if axis == "out" else "inner duct slips, hidden in the outer"
        if self.line.away[body] < self.line.back[body - 1]:
            return _BACK[axis]
        at_wall = self.line.away[body] >= self.line.away[-1] > 0 and axis != "out"
        return f"{_AWAY[axis]}, or by the terminal from outside" if at_wall else _AWAY[axis]


def joint_in_words(joint: Joint, found: JointFound) -> str:
    """One joint: how it is held, how far it opens and why, and what that means."""
    line, k = found.line, found.k
    body = line.joints.index(k, 1)
    said = [f"Joint {k}, {_WAYS[joint.axis]}: {_HELD[joint.held_by]}{_SLIDES[joint.slides]}."]
    if line.opens[body] == 0:
        said.append("The outer cannot open.")
    else:
        away, back = line.away[body], line.back[body - 1]
        said.append(f"{_moves(line, k, away, _GO)} ({_stop(line, body, ahead=True)}).")
        if k > 1:
            said.append(f"{_moves(line, k - 1, back, _COME)} ({_stop(line, body - 1, ahead=False)}).")
        said.append(f"Opens {_sum(line, away, back, found.outer)}.")
    said += _inner(joint, found)
    said.append(_verdict(joint, found))
    return " ".join(said)


def _inner(joint: Joint, found: JointFound) -> list[str]:
    """What the inner duct adds, where it adds anything."""
    if found.inner is None or found.inner == found.outer:
        return []
    if joint.inner_held == "free":
        return ["The inner is not fixed to its outer: nothing keeps it in its socket."]
    if joint.inner_held is None:
        return ["It is not known whether the inner is fixed to its outer; at worst nothing keeps it in."]
    behind = "the inner behind it is free, or may be"
    return [f"Inner ({behind}): opens {_much(found.line, found.inner)}."]


def _verdict(joint: Joint, found: JointFound) -> str:
    """The state of a joint and the comparison behind it."""
    amounts, opening = found.line.amounts, found.opening
    if opening == 0:
        return "Holds."
    if found.state == "not-proven":
        at_best = "it cannot open" if found.at_best == 0 else f"it opens {_much(found.line, found.at_best)}"
        if found.at_best != opening:
            return f"At best {at_best}. Not proven."
        if joint.engagement is None:
            return "The depth engaged is not known. Not proven."
        return f"{show(joint.engagement, 'mm')} engaged. Not proven."
    if opening >= amounts.unbounded:
        return f"Parts: {found.direction}."
    engaged = show(joint.engagement, "mm")
    if found.state == "holds":
        return f"That is less than the {engaged} engaged. Holds."
    return f"That is not less than the {engaged} engaged. Parts: {found.direction}."


def _moves(line: Line, length: int, amount: int, way: dict[str, str]) -> str:
    """How far a length can go one way."""
    if amount == 0:
        return f"Length {length} cannot {way[line.axis]}"
    return f"Length {length} can {way[line.axis]} {_much(line, amount)}"


def _much(line: Line, amount: int) -> str:
    """An amount in words."""
    value = line.amounts.value(amount)
    if value == "unbounded":
        return "without limit"
    return "by an amount not known" if value == "unknown" else show(value, "mm")


def _sum(line: Line, away: int, back: int, total: int) -> str:
    """The two amounts added, where both are numbers and neither is nothing."""
    if total < line.amounts.unknown and away and back:
        one, other = (show(line.amounts.value(each)) for each in (away, back))
        return f"{one} + {other} = {_much(line, total)}"
    return _much(line, total)


def _stop(line: Line, body: int, *, ahead: bool) -> str:
    """What stops a body in the end, going from the appliance (`ahead`) or towards it."""
    slides = []
    limits = line.own_away if ahead else line.own_back
    swept = line.away if ahead else line.back
    if swept[body] >= line.amounts.unbounded:
        return "nothing stops it"
    while swept[body] != limits[body]:
        nearer = body + 1 if ahead else body - 1
        joint = nearer if ahead else body
        if line.closes[joint]:
            slides.append(f"the slide at joint {line.joints[joint]} closing")
        body = nearer
    slides.append(_hold(line, body, ahead))
    return ", then ".join(slides)


def _hold(line: Line, body: int, ahead: bool) -> str:
    """The hold on a body that limits it."""
    members, flue = line.members[body], line.flue
    if 0 in members:
        return "the appliance"
    for k in members:
        bracket = flue.joints[k - 1].bracket
        if bracket == "grips" or (bracket == "carries" and line.axis == "up" and not ahead):
            return f"the bracket on length {k}"
    if flue.grips and "mortar" in (flue.inside_face, flue.outside_face):
        return "the mortar at the wall"
    return f"the fixed collar {'inside' if ahead else 'outside'}" if line.axis == "out" else "the hole"
