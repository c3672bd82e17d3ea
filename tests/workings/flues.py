"""Flues to try the restraint working on, and the same model written out a second time.

`limits` states the model sentence by sentence as differences that may not be exceeded, with no idea of bodies or
sweeps; `openings` solves those with a plain all-pairs shortest path. Lengths are chosen so that every amount is a
whole number of quarter millimetres, which binary floats hold exactly.
"""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterator
from typing import Any

import numpy as np

Flue = dict[str, Any]
Node = tuple[str, int]

AXES = ("up", "out", "along")
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
LIMITED = 1e7
"""Stands for a limit of an amount that is not known."""
CHOICES = {
    "held_by": ("screws", "clamp", "push-fit"),
    "slides": ("no", "fixed-at-length", "free"),
    "inner_held": ("anchored", "free"),
    "bracket": ("grips", "carries", "none"),
    "ducts": ("concentric", "twin"),
    "inside_face": FACES,
    "outside_face": FACES,
    "mortar_state": ("sound", "cracked-or-loose"),
    "outer_material": ("steel", "aluminium", "plastic"),
    "hole": ("cored", "broken-out"),
}
JOINT_KEYS = ("held_by", "slides", "inner_held", "bracket")
WALL_KEYS = ("ducts", "inside_face", "outside_face", "mortar_state", "outer_material", "hole")


def joint(axis: str, held_by: str | None = "push-fit", **more: object) -> Flue:
    """One joint, plain unless said otherwise."""
    plain = {"slides": "no", "inner_held": "anchored", "bracket": "none"}
    return {"axis": axis, "held_by": held_by, **plain, **more}


def flue(*joints: Flue, **more: object) -> Flue:
    """A concentric steel flue through a cored hole, a flexible collar at each face, unless said otherwise."""
    plain = {
        "ducts": "concentric",
        "inside_face": "flexible-collar",
        "outside_face": "flexible-collar",
        "outer_material": "steel",
        "hole": "cored",
        "hole_mm": 127,
        "flue_mm": 100,
        "wall_mm": 300,
        "reach_mm": 250,
    }
    return {"joints": list(joints), **plain, **more}


def random_flue(rng: random.Random, most_joints: int, unknown: float = 0.0, free_inner: float = 0.15) -> Flue:
    """A flue drawn at random; each answer and measure is left unknown with the probability `unknown`."""

    def maybe(value: object) -> object:
        return None if rng.random() < unknown else value

    def choice(*values: object) -> object:
        return maybe(rng.choice(values))

    joints = [
        {
            "axis": rng.choice(AXES),
            "held_by": choice("screws", "clamp", "push-fit", "push-fit", "push-fit"),
            "slides": choice("no", "no", "fixed-at-length", "free"),
            "inner_held": maybe("free" if rng.random() < free_inner else "anchored"),
            "bracket": choice("grips", "carries", "none", "none", "none"),
            "engagement_mm": rng.choice((None, 0, 20, 30, 40, 50, 72)),
            "travel_mm": rng.choice((None, 20, 30, 50)),
        }
        for _ in range(rng.randint(1, most_joints))
    ]
    hole = rng.choice((108, 110, 117, 127, 152))
    return {
        "joints": joints,
        "ducts": choice("concentric", "concentric", "twin"),
        "inside_face": maybe(rng.choice(FACES)),
        "outside_face": maybe(rng.choice(FACES)),
        "mortar_state": choice("sound", "cracked-or-loose"),
        "outer_material": choice("steel", "aluminium", "plastic"),
        "hole": choice("cored", "cored", "broken-out"),
        "hole_mm": rng.choice((None, hole, hole, hole, hole)),
        "flue_mm": 100,
        "wall_mm": rng.choice((100, 200, 400)),
        "reach_mm": rng.choice((None, 0, 50, 100, 250)),
    }


def gap_mm(given: Flue) -> float | None:
    """The radial gap, where both diameters are known."""
    if given.get("hole_mm") is None or given.get("flue_mm") is None:
        return None
    return float(given["hole_mm"] - given["flue_mm"]) / 2


def grips(given: Flue) -> bool | None:
    """Whether mortar grips, for answers that are known."""
    gap = gap_mm(given)
    if given["mortar_state"] == "cracked-or-loose":
        return False
    if given["outer_material"] != "plastic" and not (gap is not None and gap < 5):
        return True
    return None


def limits(given: Flue, axis: str, mortar_holds: bool) -> Iterator[tuple[Node, Node, float]]:
    """The model for known answers along one axis: every (a, b, limit) says that a − b is at most `limit`."""
    ground: Node = ("ground", 0)
    n = len(given["joints"])
    concentric = given["ducts"] == "concentric"

    def equal(a: Node, b: Node) -> Iterator[tuple[Node, Node, float]]:
        yield a, b, 0.0
        yield b, a, 0.0

    yield from equal(("O", 0), ground)
    if concentric:
        yield from equal(("I", 0), ground)
    for k, each in enumerate(given["joints"], start=1):
        this, last = ("O", k), ("O", k - 1)
        if each["axis"] != axis:
            yield from equal(this, last)
        elif each["slides"] == "free":
            if each["travel_mm"] is not None:
                yield last, this, float(each["travel_mm"])
        elif each["held_by"] in ("screws", "clamp"):
            yield from equal(this, last)
        else:
            yield last, this, 0.0
        if concentric:
            if each["axis"] != axis or each["inner_held"] == "anchored":
                yield from equal(("I", k), this)
            else:
                yield ("I", k - 1), ("I", k), 0.0
        if each["bracket"] == "grips":
            yield from equal(this, ground)
        if each["bracket"] == "carries" and axis == "up":
            yield ground, this, 0.0
    if mortar_holds and "mortar" in (given["inside_face"], given["outside_face"]):
        yield from equal(("O", n), ground)
        return
    if axis == "out":
        if given["inside_face"] == "fixed-collar":
            yield ("O", n), ground, 0.0
        if given["outside_face"] == "fixed-collar":
            yield ground, ("O", n), 0.0
    elif given["hole"] == "cored":
        gap, wall, reach = gap_mm(given), given["wall_mm"], given["reach_mm"]
        known = gap is not None and wall is not None and reach is not None
        play = gap * (1 + 2 * reach / wall) if known else LIMITED
        yield ("O", n), ground, play
        yield ground, ("O", n), play


def nodes(given: Flue) -> list[Node]:
    """The ground and every displacement along one axis."""
    both = "OI" if given["ducts"] == "concentric" else "O"
    return [("ground", 0)] + [(duct, k) for duct in both for k in range(len(given["joints"]) + 1)]


def openings(given: Flue, mortar_holds: bool) -> list[tuple[float, float | None]]:
    """The greatest opening of each joint, outer and inner, by all-pairs shortest paths (Floyd and Warshall)."""
    place = {node: n for n, node in enumerate(nodes(given))}
    found: list[tuple[float, float | None]] = [(0.0, None)] * len(given["joints"])
    for axis in {each["axis"] for each in given["joints"]}:
        path = np.full((len(place), len(place)), np.inf)
        np.fill_diagonal(path, 0.0)
        for a, b, limit in limits(given, axis, mortar_holds):
            path[place[b], place[a]] = min(path[place[b], place[a]], limit)
        for through in range(len(place)):
            np.minimum(path, path[:, through, None] + path[None, through, :], out=path)
        path[np.isfinite(path) & (path > LIMITED)] = LIMITED
        for k, each in enumerate(given["joints"], start=1):
            if each["axis"] == axis:
                outer = float(path[place["O", k - 1], place["O", k]])
                inner = None
                if given["ducts"] == "concentric":
                    inner = float(path[place["I", k - 1], place["I", k]])
                found[k - 1] = (outer, inner)
    return found


def state(opening: float, engagement: float | None) -> str:
    """What an opening means, sentence by sentence."""
    if opening == 0:
        return "holds"
    if opening == float("inf"):
        return "parts"
    if opening >= LIMITED or engagement is None:
        return "not-proven"
    return "holds" if opening < engagement else "parts"


def amount(value: object) -> float:
    """A reported opening as the second model writes it."""
    if value == "unbounded":
        return float("inf")
    return LIMITED if value == "unknown" else float(value)  # type: ignore[arg-type]


def settled(given: Flue) -> Iterator[tuple[Flue, bool]]:
    """Every way that what is not known could be: all answers, and whether in-between mortar grips."""
    holes = [(key, None) for key in WALL_KEYS if given[key] is None]
    holes += [(key, n) for n, each in enumerate(given["joints"]) for key in JOINT_KEYS if each[key] is None]
    for values in itertools.product(*(CHOICES[key] for key, _ in holes)):
        case = {**given, "joints": [dict(each) for each in given["joints"]]}
        for (key, n), value in zip(holes, values, strict=True):
            (case if n is None else case["joints"][n])[key] = value
        holds = grips(case)
        for mortar_holds in (True, False) if holds is None else (holds,):
            yield case, mortar_holds
