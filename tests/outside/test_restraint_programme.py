"""The restraint working against a linear programme: the openings maximised by a general solver (HiGHS)."""

from __future__ import annotations

import random

import numpy as np
import pytest
from scipy.optimize import linprog
from scipy.sparse import coo_array

from assistant.workings.registry import find
from tests.workings.flues import AXES, LIMITED, Flue, Node, amount, grips, limits, nodes, random_flue, state

BOX = 1e5
"""Displacements in the boxed programmes; every known limit and its sums lie far below."""


def variables(given: Flue) -> dict[tuple[str, Node], int]:
    """A column for each displacement along each axis."""
    return {each: n for n, each in enumerate((axis, node) for axis in AXES for node in nodes(given))}


def rows(given: Flue) -> list[tuple[int, int, float]]:
    column = variables(given)
    holds = bool(grips(given))
    return [
        (column[axis, a], column[axis, b], limit)
        for axis in AXES
        for a, b, limit in limits(given, axis, holds)
        if limit < LIMITED
    ]


def objectives(given: Flue) -> list[tuple[int, int]]:
    """For each reported opening, the columns of the length beyond the joint and of the one before it."""
    column = variables(given)
    found = []
    for k, each in enumerate(given["joints"], start=1):
        for duct in "OI" if given["ducts"] == "concentric" else "O":
            found.append((column[each["axis"], (duct, k)], column[each["axis"], (duct, k - 1)]))
    return found


def grounded(given: Flue) -> list[int]:
    return [n for (_, (kind, _)), n in variables(given).items() if kind == "ground"]


def reported(given: Flue) -> list[float]:
    found = []
    for each in find("restraint").work(given).results["joints"]:
        found.append(amount(each["outer_opening_mm"]))
        if given["ducts"] == "concentric":
            found.append(amount(each["inner_opening_mm"]))
        else:
            assert each["inner_opening_mm"] is None
    return found


def all_known(rng: random.Random) -> Flue:
    """A flue with every answer, and with a limit at the wall that is a number."""
    while True:
        given = random_flue(rng, 8)
        if given["hole_mm"] is not None and given["reach_mm"] is not None and grips(given) is not None:
            return given


@pytest.mark.parametrize("seed", range(4))
def test_every_opening_is_what_the_solver_finds_in_a_box(seed: int) -> None:
    # Many flues, and every opening of each, make one programme of blocks that do not touch. A box around all
    # displacements keeps it bounded; an opening without limit runs into the box.
    rng = random.Random(f"boxed {seed}")
    flues = [all_known(rng) for _ in range(500)]
    row, col, value, limit = [], [], [], []
    aim: list[float] = []
    bounds: list[tuple[float, float]] = []
    asked = []
    for given in flues:
        for far, near in objectives(given):
            start, count = len(aim), len(variables(given))
            aim += [0.0] * count
            aim[start + far] -= 1
            aim[start + near] += 1
            bounds += [(-BOX, BOX)] * count
            for fixed in grounded(given):
                bounds[start + fixed] = (0.0, 0.0)
            for a, b, most in rows(given):
                row += [len(limit)] * 2
                col += [start + a, start + b]
                value += [1.0, -1.0]
                limit.append(most)
            asked.append((start + far, start + near))
    matrix = coo_array((value, (row, col)), shape=(len(limit), len(aim))).tocsr()
    solved = linprog(aim, A_ub=matrix, b_ub=limit, bounds=bounds, method="highs")
    assert solved.status == 0
    found = [solved.x[far] - solved.x[near] for far, near in asked]
    found = [np.inf if each > BOX / 2 else each for each in found]
    ours = [each for given in flues for each in reported(given)]
    np.testing.assert_allclose(ours, found, atol=1e-6)
    assert {np.isinf(each) for each in ours} == {True, False}
    assert any(0 < each < BOX for each in ours)


def test_unbounded_is_what_the_solver_calls_unbounded() -> None:
    rng = random.Random("status")
    seen = set()
    for _ in range(60):
        given = all_known(rng)
        count = len(variables(given))
        matrix = np.zeros((len(rows(given)), count))
        for n, (a, b, _) in enumerate(rows(given)):
            matrix[n, a] += 1
            matrix[n, b] -= 1
        bounds: list[tuple[float | None, float | None]] = [(None, None)] * count
        for fixed in grounded(given):
            bounds[fixed] = (0.0, 0.0)
        for (far, near), ours in zip(objectives(given), reported(given), strict=True):
            aim = np.zeros(count)
            aim[far] -= 1
            aim[near] += 1
            most = [limit for _, _, limit in rows(given)]
            # Presolve may answer "infeasible or unbounded"; nothing moving is always feasible.
            solved = linprog(aim, A_ub=matrix, b_ub=most, bounds=bounds, method="highs")
            if solved.status in (3, 4):
                assert ours == np.inf
            else:
                assert solved.status == 0
                assert ours == pytest.approx(-solved.fun, abs=1e-6)
            seen.add(solved.status == 0)
    assert seen == {True, False}


def test_states_follow_from_the_openings() -> None:
    rng = random.Random("states")
    seen = set()
    for _ in range(1500):
        given = all_known(rng)
        results = find("restraint").work(given).results
        states = []
        for each, told in zip(results["joints"], given["joints"], strict=True):
            inner = each["inner_opening_mm"]
            widest = max(amount(each["outer_opening_mm"]), amount(inner) if inner is not None else 0.0)
            assert each["state"] == state(widest, told["engagement_mm"])
            assert (each["direction"] is None) == (widest == 0)
            states.append(each["state"])
        order = ("holds", "not-proven", "parts")
        assert results["worst"] == max(order.index(each) for each in states)
        assert results["state"] == order[results["worst"]]
        seen.update(states)
    assert seen == {"holds", "not-proven", "parts"}
