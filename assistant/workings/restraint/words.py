"""What the restraint working found, in words: the wall, each joint with its sum, and what could be added."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from assistant.workings.restraint.additions import Addition
from assistant.workings.restraint.joint_words import JointFound, joint_in_words
from assistant.workings.restraint.model import THIN_GAP_MM, Flue, Line
from assistant.workings.units import show

__all__ = ["described"]


def described(
    flue: Flue, joints: Sequence[JointFound], lines: Mapping[str, Line], fixes: Sequence[Sequence[Addition]]
) -> str:
    """The wall, each joint with its sum, and what could be added."""
    words = [_wall(flue, lines)]
    words += [joint_in_words(flue.joints[each.k - 1], each) for each in joints]
    if any(each.state != "holds" for each in joints):
        words += _remedies(flue, fixes)
    return "\n".join(words)


def _wall(flue: Flue, lines: Mapping[str, Line]) -> str:
    """What the wall does for the length that goes through it."""
    n = len(flue.joints)
    grips = flue.grips
    mortared = [where for where, face in _faces(flue) if face == "mortar"]
    if mortared and grips:
        return f"Wall: sound mortar {_listed(mortared, 'and')} grips; length {n} cannot move."
    said = []
    if mortared:
        said.append(
            "cracked or loose mortar holds nothing"
            if grips is False
            else f"it is not known whether the mortar grips ({_doubts(flue)}); at worst it does not"
        )
    said += [f"the fixed collar {where} stops length {n} {_stopped(where)}" for where, _ in _collars(flue)]
    said += [
        f"what is {where} is not known; at worst nothing" for where, face in _faces(flue) if face is None
    ]
    if not said:
        said.append(f"nothing there holds length {n} in or out")
    if set(lines) - {"out"}:
        said.append(_play(flue))
    return f"Wall: {'; '.join(said)}."


def _play(flue: Flue) -> str:
    """How far the length through the wall can rock in its hole."""
    if flue.hole != "cored":
        why = "the hole is broken out" if flue.hole else "at worst the hole is broken out"
        return f"{why}, so sideways movement has no limit"
    if flue.play is None or flue.gap is None:
        return (
            "the hole limits sideways movement, but by how much is not known (it needs gap, wall and reach)"
        )
    gap = f"gap ({show(flue.hole_mm)} − {show(flue.flue_mm)}) / 2 = {show(flue.gap, 'mm')}"
    rock = f"{show(flue.gap)} × (1 + 2 × {show(flue.reach_mm)} / {show(flue.wall_mm)})"
    return f"{gap}, sideways at the outlet {rock} = {show(flue.play, 'mm')}"


def _remedies(flue: Flue, fixes: Sequence[Sequence[Addition]]) -> list[str]:
    """The smallest additions, or why none would do."""
    joints = list(enumerate(flue.joints, start=1))
    said = []
    inner = [str(k) for k, joint in joints if joint.inner_held != "anchored"]
    if fixes:
        said.append("Smallest additions that hold every joint, least work first:")
        said += [f"  {_listed([_addition(each) for each in one], 'and')}" for one in fixes]
    elif inner and flue.ducts != "twin":
        said.append(
            f"Nothing added to the outer holds a free inner (joint {_listed(inner, 'and')}): make sure that it is"
            " fixed to its outer as the maker shows."
        )
    else:
        said.append(
            "No three additions of screws, clamps, brackets, mortar or a fixed collar hold every joint."
        )
    slides = [str(k) for k, joint in joints if joint.slides not in ("no", "fixed-at-length")]
    if slides:
        said.append(
            f"A sliding length has to be fixed at its length, as the maker shows (joint {_listed(slides, 'and')});"
            " it was not counted on here."
        )
    return said


def _addition(each: Addition) -> str:
    """One addition in words."""
    place, _, number = each.place.partition(".")
    if place == "joint":
        return f"{'a clamp' if each.what == 'clamp' else 'screws'} at joint {number}"
    if place == "length":
        return f"a bracket that grips length {number}"
    return f"{'mortar' if each.what == 'mortar' else 'a fixed collar'} at the {place.replace('-', ' ')}"


def _faces(flue: Flue) -> tuple[tuple[str, str | None], ...]:
    """Both faces, each with its place in words."""
    return (("inside", flue.inside_face), ("outside", flue.outside_face))


def _collars(flue: Flue) -> list[tuple[str, str | None]]:
    """The faces with a fixed collar."""
    return [each for each in _faces(flue) if each[1] == "fixed-collar"]


def _stopped(where: str) -> str:
    """What a fixed collar stops."""
    return "going out" if where == "inside" else "coming in"


def _doubts(flue: Flue) -> str:
    """Why it is not known whether mortar grips."""
    doubts = []
    if flue.mortar_state is None:
        doubts.append("its state is not known")
    if flue.outer_material is None:
        doubts.append("what the outer is made of is not known")
    if flue.outer_material == "plastic":
        doubts.append("it barely bonds to plastic")
    if flue.gap is not None and flue.grips is None and flue.gap < THIN_GAP_MM:
        doubts.append(f"the gap of {show(flue.gap, 'mm')} is under {THIN_GAP_MM} mm")
    return ", ".join(doubts)


def _listed(parts: Iterable[str], joiner: str) -> str:
    """Parts as a person lists them."""
    *most, last = parts
    return f"{', '.join(most)} {joiner} {last}" if most else last
