"""The restraint working as it is declared and run: from checked inputs to results.

A joint is judged by the greater opening of its outer and its inner, with everything not known at its best and at
its worst; where the two states differ, it is not proven. The openings reported are the worst.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from functools import lru_cache
from typing import Any

from assistant.workings.annulus import radial_gap
from assistant.workings.restraint.additions import smallest_sets
from assistant.workings.restraint.joint_words import JointFound
from assistant.workings.restraint.model import AXES, Amounts, Flue, Joint, Line
from assistant.workings.restraint.words import described
from assistant.workings.working import Figures, Input, Result, Source, Working

__all__ = ["FACES", "MOST_JOINTS", "WORKINGS"]

MOST_JOINTS = 8
MOST_MM = 100_000
FACES = (
    "mortar",
    "fixed-collar",
    "flexible-collar",
    "sleeve-seal",
    "foam",
    "silicone",
    "trim-ring",
    "nothing",
)
_STATES = ("holds", "not-proven", "parts")


def _run(given: Mapping[str, object]) -> Figures:
    """Freeze what was given; the same flue again costs a look-up."""
    results, shown = _found(_flue(given))
    return Figures(_copied(results), shown)


def _copied(value: Any) -> Any:
    """Tables and lists of a remembered result anew, so that nobody's change reaches the next one."""
    if isinstance(value, dict):
        return {key: _copied(inner) for key, inner in value.items()}
    return [_copied(inner) for inner in value] if isinstance(value, list) else value


@lru_cache(maxsize=1024)
def _found(flue: Flue) -> tuple[dict[str, object], str]:
    """All results of one flue, and the words."""
    amounts = Amounts.of(flue)
    used = [axis for axis in AXES if any(joint.axis == axis for joint in flue.joints)]
    best = {axis: Line(flue, amounts, axis, best=True) for axis in used}
    worst = {axis: Line(flue, amounts, axis, best=False) for axis in used}
    joints = [
        _joint(k, joint, best[joint.axis], worst[joint.axis]) for k, joint in enumerate(flue.joints, start=1)
    ]
    state = max((each.state for each in joints), key=_STATES.index)
    fixes = smallest_sets(flue, worst.values()) if state != "holds" else []
    results: dict[str, object] = {
        "worst": _STATES.index(state),
        "state": state,
        "opening_mm": amounts.value(max(each.opening for each in joints)),
        "joints": [
            {
                "outer_opening_mm": amounts.value(each.outer),
                "inner_opening_mm": None if each.inner is None else amounts.value(each.inner),
                "engagement_mm": joint.engagement,
                "state": each.state,
                "direction": each.direction,
            }
            for each, joint in zip(joints, flue.joints, strict=True)
        ],
        "fixes": [[str(addition) for addition in one] for one in fixes],
    }
    return results, described(flue, joints, worst, fixes)


def _joint(k: int, joint: Joint, best: Line, worst: Line) -> JointFound:
    """What one joint does with everything not known at its best and at its worst."""
    outer_best, inner_best = _openings(k, joint, best)
    outer, inner = _openings(k, joint, worst)
    ducts = worst.flue.ducts
    at_best = outer_best if ducts != "concentric" or inner_best is None else max(outer_best, inner_best)
    at_worst = outer if inner is None else max(outer, inner)
    states = {_state(amount, joint, worst.amounts) for amount in (at_best, at_worst)}
    state = states.pop() if len(states) == 1 else "not-proven"
    return JointFound(k, outer, inner, at_best, state, worst)


def _openings(k: int, joint: Joint, line: Line) -> tuple[int, int | None]:
    """The greatest opening of joint k, outer and inner (None: twin pipe has none), on one line."""
    body = line.joints.index(k, 1)
    outer = line.spread(body - 1, body)
    if line.flue.ducts == "twin":
        return outer, None
    if joint.inner_held == "free" or (joint.inner_held is None and not line.best):
        return outer, line.amounts.unbounded
    spreads = line.inner_spreads(body)
    return outer, min(spreads) if line.best else max(spreads)


def _state(opening: int, joint: Joint, amounts: Amounts) -> str:
    """What an opening means for a joint: zero or less than the depth engaged holds, as much or more parts."""
    if opening == 0:
        return "holds"
    if opening >= amounts.unbounded:
        return "parts"
    if opening >= amounts.unknown or joint.engagement is None:
        return "not-proven"
    return "holds" if opening < amounts.count(joint.engagement) else "parts"


def _flue(given: Mapping[str, object]) -> Flue:
    """The checked inputs as the model takes them. Raises `Refused` where they contradict each other."""
    value: Any = given
    joints = []
    for table in value["joints"]:
        answers = {each.name: table.get(each.name) for each in fields(Joint)}
        joints.append(Joint(**answers | {"engagement": table["engagement_mm"], "travel": table["travel_mm"]}))
    if value["hole_mm"] is not None and value["flue_mm"] is not None:
        radial_gap(value["hole_mm"], value["flue_mm"])  # refuses a flue that does not fit its hole
    return Flue(joints=tuple(joints), **{each.name: value[each.name] for each in fields(Flue)[1:]})


def _choice(name: str, means: str, *choices: str, required: bool = False) -> Input:
    """An answer by id, unknown where it is left out."""
    return Input(name, means, kind="choice", required=required, choices=choices)


def _length(name: str, means: str, least: int = 0) -> Input:
    """A length in mm, unknown where it is left out; zero is allowed only where `least` says so by being zero."""
    above = 0 if least else None
    return Input(name, means, "mm", required=False, least=0, above=above, most=MOST_MM)


_JOINT = (
    _choice("axis", "the way the joint lies: up, out through the wall, or along it", *AXES, required=True),
    _choice("held_by", "what holds the joint together", "screws", "clamp", "push-fit"),
    _choice("slides", "whether the length slides in itself", "no", "fixed-at-length", "free"),
    _choice("inner_held", "whether the inner duct is fixed to its outer", "anchored", "free"),
    _choice("bracket", "the bracket on the length beyond the joint", "grips", "carries", "none"),
    _choice("maker_wants", "the fixing its maker wants", "screws", "clamp", "push-fit"),
    _length("engagement_mm", "how far the spigot goes into its socket"),
    _length("travel_mm", "how far a free slide can close; any amount where left out"),
)
WORKINGS = (
    Working(
        name="restraint",
        title="Whether a joint can be drawn apart, and what would stop it",
        inputs=(
            Input(
                "joints",
                "the joints, from the appliance to the length through the wall",
                kind="items",
                least=1,
                most=MOST_JOINTS,
                keys=_JOINT,
            ),
            _choice(
                "ducts", "one duct inside another, or twin pipe (one pipe at a time)", "concentric", "twin"
            ),
            _choice("inside_face", "what is at the inside face of the wall", *FACES),
            _choice("outside_face", "what is at the outside face of the wall", *FACES),
            _choice("mortar_state", "the state of the mortar at the faces", "sound", "cracked-or-loose"),
            _choice("outer_material", "what the outer duct is made of", "steel", "aluminium", "plastic"),
            _choice("hole", "how the hole was made", "cored", "broken-out"),
            _length("hole_mm", "the diameter of the hole", 1),
            _length("flue_mm", "the outside diameter of the flue", 1),
            _length("wall_mm", "the thickness of the wall", 1),
            _length("reach_mm", "from the wall's inside face to the centre of the appliance outlet"),
        ),
        results=(
            Result(
                "worst",
                "how the run holds",
                codes=("every joint holds", "it is not proven for some joint", "some joint can part"),
            ),
            Result("state", "the same in a word: holds, not-proven or parts"),
            Result("opening_mm", "the greatest opening of any joint", "mm"),
            Result("joints", "each joint: its openings, the depth engaged, its state and which way it goes"),
            Result("fixes", "the smallest sets of additions that hold every joint, least work first"),
        ),
        sources=(
            Source(
                "restraint-method",
                "Lengths, joints and holds as difference constraints; greatest opening as a shortest path",
                "published",
            ),
            Source(
                "restraint-trade",
                "What screws, clamps, push-fit joints, brackets, collars and mortar hold",
                "common-practice",
            ),
            Source("thin-gap", "Mortar cannot be worked into a radial gap under about 5 mm", "memory"),
        ),
        leaves_out=(
            "It looks at joints sliding apart and at the flue rocking in its hole; not at bending, at weight, at"
            " a fixing that fails, or at the heat that lengthens a flue held at both ends (see expansion). It"
            " reasons from what it was told: push, pull and twist the flue by hand as well."
        ),
        run=_run,
    ),
)
