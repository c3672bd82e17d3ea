"""What is found on a way, packed: two that are made one can never be told apart by a verdict."""

from __future__ import annotations

from itertools import combinations, product
from random import Random

import pytest

from assistant.tree.load import load_text
from assistant.tree.model import STATES, Verdict
from assistant.tree.survey.bits import BITS, Bits
from tests.large import large
from tests.writing import choice, whole

REQUIREMENTS = ("sound", "secure")
OUTCOMES = ("acceptable", "not-settled", "not-acceptable", "stop")


def verdict(number: int, random: Random) -> str:
    when = {
        name: random.sample(STATES, random.choice((1, 1, 2, 3)))
        for name in (*REQUIREMENTS, "any", "all")
        if random.random() < 0.35
    }
    entries = ", ".join(f"{name} = {states!r}" for name, states in when.items())
    return (
        f'[[verdict]]\nid = "v{number}"\ntitle = "V"\nsays = "V."\ndo = ["Nothing."]\n'
        f'outcome = "{random.choice(OUTCOMES)}"\nwhen = {{ {entries} }}\n'
    )


def given(bits: Bits, verdicts: tuple[Verdict, ...], found: int) -> tuple[Verdict | None, bool, int]:
    states = bits.states(found)
    return next((v for v in verdicts if v.matches(states)), None), bits.danger(found), found & bits.help


@pytest.mark.parametrize("seed", range(60))
@pytest.mark.parametrize("exact", [True, False])
def test_what_is_made_one_is_judged_alike_whatever_else_is_found(seed: int, exact: bool) -> None:
    random = Random(seed)
    verdicts = "".join(verdict(number, random) for number in range(random.randint(1, 5)))
    tree = load_text(
        whole(choice("q", "a > end"), "q", requirements=REQUIREMENTS, verdicts=verdicts), "small.toml"
    )
    bits = Bits(tree)
    levels = [(1 << level) - 1 for level in range(5)]
    every = [a | b << BITS | h for a, b, h in product(levels, levels, (0, bits.help))]
    for one, other in combinations(every, 2):
        if bits.alike(one, exact) == bits.alike(other, exact):
            for later in every:
                assert given(bits, tree.file.verdict, one | later) == given(
                    bits, tree.file.verdict, other | later
                )


def test_of_a_usual_list_of_verdicts_little_has_to_be_told_apart() -> None:
    bits = Bits(load_text(large(60), "large.toml"))
    levels = [(1 << level) - 1 for level in range(5)]
    every = [a | b << BITS | c << 2 * BITS for a, b, c in product(levels, repeat=3)]
    without_danger = {bits.alike(found) for found in every if not bits.danger(found)}
    assert len(without_danger) == 2**3 + 2 + 1  # what is met; something unproven, or not met; to be stopped
