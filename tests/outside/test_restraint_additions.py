"""The smallest sets of additions, against every set there is, each proven by the second model or by a new run."""

from __future__ import annotations

import itertools
import random
from collections.abc import Sequence

import pytest

from assistant.workings.registry import find
from tests.workings.flues import Flue, flue, grips, joint, openings, random_flue, state


def possible(given: Flue) -> list[str]:
    """Everything that could be added, as the working names it."""
    found = []
    for k, each in enumerate(given["joints"], start=1):
        wanted = each.get("maker_wants") or "screws"
        if wanted != "push-fit":
            found.append(f"joint.{k}: {wanted}")
        found.append(f"length.{k}: bracket")
    return found + [
        f"{face}-face: {what}" for face in ("inside", "outside") for what in ("mortar", "fixed-collar")
    ]


def with_added(given: Flue, added: Sequence[str]) -> Flue:
    """The same flue with the additions made, as a person would answer then."""
    changed = {**given, "joints": [dict(each) for each in given["joints"]]}
    for each in added:
        place, what = each.split(": ")
        if place.endswith("-face"):
            changed[place.replace("-", "_")] = what
            if what == "mortar":
                changed["mortar_state"] = "sound"
        else:
            kind, number = place.split(".")
            key, answer = ("held_by", what) if kind == "joint" else ("bracket", "grips")
            changed["joints"][int(number) - 1][key] = answer
    return changed


def holds(given: Flue) -> bool:
    """Whether every joint holds for known answers, by the second model; in-between mortar holds nothing."""
    return all(
        state(max(outer, inner or 0.0), each["engagement_mm"]) == "holds"
        for (outer, inner), each in zip(openings(given, bool(grips(given))), given["joints"], strict=True)
    )


@pytest.mark.parametrize("seed", range(3))
def test_all_smallest_sets_and_no_others(seed: int) -> None:
    rng = random.Random(f"additions {seed}")
    sizes, found = set(), 0
    for _ in range(60):
        given = random_flue(rng, 4, free_inner=0.03)
        for each in given["joints"]:
            each["maker_wants"] = rng.choice((None, "screws", "clamp", "push-fit"))
            if rng.random() < 0.7:
                each.update(slides="no", bracket="none")
        smallest: list[frozenset[str]] = []
        if not holds(given):
            for size in (1, 2, 3):
                for added in itertools.combinations(possible(given), size):
                    faces = [each.split(":")[0] for each in added]
                    if len(set(faces)) < size or any(one <= set(added) for one in smallest):
                        continue
                    if holds(with_added(given, added)):
                        smallest.append(frozenset(added))
        results = find("restraint").work(given).results
        assert sorted(map(sorted, results["fixes"])) == sorted(map(sorted, smallest)), given
        sizes.update(map(len, smallest))
        found += len(smallest)
    assert sizes == {1, 2, 3}
    assert found > 100


@pytest.mark.parametrize("unknown", [0.0, 0.15])
def test_each_set_holds_when_it_is_run_and_none_of_its_parts_do(unknown: float) -> None:
    rng = random.Random(f"verified {unknown}")
    run = find("restraint").work
    checked = 0
    while checked < 250:
        given = random_flue(rng, 5, unknown, free_inner=0.0)
        given["ducts"] = given["ducts"] and "twin"
        for added in run(given).results["fixes"]:
            checked += 1
            assert run(with_added(given, added)).results["worst"] == 0
            for left_out in added:
                fewer = [each for each in added if each != left_out]
                assert run(with_added(given, fewer)).results["worst"] > 0


def test_least_work_first_and_the_same_every_time() -> None:
    given = flue(joint("up"), joint("along"), joint("out"))
    fixes = find("restraint").work(given).results["fixes"]
    assert fixes == find("restraint").work(dict(reversed(given.items()))).results["fixes"]
    assert fixes[0] == ["length.3: bracket"]
    assert fixes.index(["inside-face: mortar"]) < fixes.index(["outside-face: mortar"])
    assert all(len(set(one)) == len(one) <= 3 for one in fixes)
