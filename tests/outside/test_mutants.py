"""Small changes to the installed trees: what `check` and `compare` notice of them, and that the rest changes nothing."""

from __future__ import annotations

from random import Random

import pytest

from tests.mutants import Share, Workbench, table

SAMPLE = {"depth": 0, "joint": 180, "sealant": 180, "through-wall": 4}
"""How many mutants of each tree are tried; 0: every one. `python -m tests.mutants` tries them all."""
NOTICED = {"depth": 0.78, "joint": 0.65, "sealant": 0.7, "through-wall": 0.5}
"""The share that check or compare noticed when it was measured."""


@pytest.mark.parametrize("tree_id", SAMPLE)
def test_what_is_called_no_difference_is_none(tree_id: str, capsys: pytest.CaptureFixture[str]) -> None:
    bench = Workbench(tree_id, more=30, every=400)
    every = bench.changes()
    chosen = Random(tree_id).sample(every, SAMPLE[tree_id]) if SAMPLE[tree_id] else every
    shares = bench.run(chosen)
    with capsys.disabled():
        print("", *table(tree_id, shares), sep="\n")
    assert [wrong for share in shares.values() for wrong in share.wrong] == []
    assert noticed(list(shares.values())) >= NOTICED[tree_id]


def noticed(shares: list[Share]) -> float:
    return sum(one.checked + one.compared for one in shares) / sum(one.all for one in shares)
