"""What the survey counts as one, against every continuation: whatever else is found, the same verdict is given."""

from __future__ import annotations

from itertools import product
from random import Random

from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.tree.load import load_text
from assistant.tree.survey.bits import Bits
from assistant.tree.tree import Tree
from tests.growing import OUTCOMES, STATES, Table, told
from tests.oracle import Oracle
from tests.writing import choice, dumped, whole

NAMES = ("sound", "secure", "weatherproof")
NAMED = ("not-judged", "met", "not-proven", "not-met", "not-met")
"""The state for each rank of gravity; the last is a danger."""


def some_verdicts(random: Random) -> list[Table]:
    """Any verdicts, such as authors write and such as they do not."""
    verdicts = []
    for number in range(random.randint(1, 5)):
        when: Table = {}
        for name in random.sample((*NAMES, "any", "all"), random.choice((0, 1, 1, 1, 2, 3))):
            when[name] = random.sample(STATES, random.choice((1, 1, 1, 2, 3)))
        verdicts.append(told(f"v{number}", random.choice(OUTCOMES), when))
    return verdicts


def with_verdicts(verdicts: list[Table]) -> Tree:
    body = choice("q", "a", "b", more='must-answer = true\nthen = "end"')
    text = ""
    for verdict in verdicts:
        when = ", ".join(f"{name} = {states}" for name, states in verdict["when"].items())
        rest = dumped({key: value for key, value in verdict.items() if key != "when"})
        text += f"[[verdict]]\n{rest}when = {{ {when} }}\n"
    return load_text(whole(body, "q", requirements=NAMES, verdicts=text), "small.toml")


def packed(bits: Bits, ranks: tuple[int, ...]) -> int:
    return sum(((1 << rank) - 1) << bits.shift[name] for name, rank in zip(NAMES, ranks, strict=True))


@settings(deadline=None, derandomize=True, database=None, max_examples=60)
@given(st.integers(0, 2**32 - 1))
def test_what_stands_for_another_is_judged_like_it_whatever_else_is_found(seed: int) -> None:
    verdicts = some_verdicts(Random(seed))
    bits = Bits(with_verdicts(verdicts))
    everything = list(product(range(len(NAMED)), repeat=len(NAMES)))

    def given_for(ranks: tuple[int, ...]) -> str | None:
        states = {name: NAMED[rank] for name, rank in zip(NAMES, ranks, strict=True)}
        return next((one["id"] for one in verdicts if Oracle.holds(one, states)), None)

    verdict_for = {ranks: given_for(ranks) for ranks in everything}
    ranks_of = {packed(bits, ranks): ranks for ranks in everything}
    for found in everything:
        standing = ranks_of[bits.alike(packed(bits, found))]
        assert (4 in standing) == (4 in found)
        if standing != found:
            for later in everything:
                one, other = (tuple(map(max, start, later)) for start in (found, standing))
                assert verdict_for[one] == verdict_for[other]
