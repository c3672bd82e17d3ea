"""Trees made to be hard to prove: right, or told to have too many ways, without a hang and in bounded memory."""

from __future__ import annotations

from pathlib import Path

import pytest

from assistant.session.prove import work_out
from assistant.tree.load import load
from tests.writing import choice, number, tree, whole

VERDICT = """
[[verdict]]
id = "{0}"
title = "V"
says = "V."
do = ["Wait."]
outcome = "{1}"
when = {{ {2} }}
"""
EFFECTS = ("meets", "unproven", "fails", "danger")


def codes(*args: object, **rest: object) -> list[str]:
    return [complaint.code for complaint in work_out(tree(*args, **rest)).complaints]  # type: ignore[arg-type]


def independent(requirements: int) -> tuple[str, dict[str, object]]:
    """So many questions, each about a requirement of its own, with every state among the answers."""
    names = tuple(f"r{n}" for n in range(requirements))
    findings = "".join(
        f'[finding.{effect}-{name}]\nrequirement = "{name}"\neffect = "{effect}"\nreason = "So."\nsource = "trade"\n'
        for name in names
        for effect in EFFECTS
    )
    ends = [*(f"q-{name}" for name in names[1:]), "end"]
    body = "".join(
        choice(f"q-{name}", *(f"{effect} ! {effect}-{name} > {then}" for effect in EFFECTS))
        for name, then in zip(names, ends, strict=True)
    )
    return body, {"requirements": names, "findings": findings}


@pytest.mark.parametrize("requirements", [10, 30])
def test_many_independent_requirements_are_proved(requirements: int) -> None:
    body, rest = independent(requirements)
    verdicts = VERDICT.format("good", "acceptable", 'all = "met"') + VERDICT.format(
        "bad", "stop", 'any = "not-met"'
    )
    verdicts += "".join(
        VERDICT.format(f"open-{n}", "not-settled", f'r{n} = "not-proven"') for n in range(requirements)
    )
    proof = work_out(tree(body, "q-r0", **rest, verdicts=verdicts))  # type: ignore[arg-type]
    assert proof.proven
    lax = ", ".join(f'r{n} = "met"' if n != 3 else 'r3 = ["met", "not-proven"]' for n in range(requirements))
    unsafe = verdicts.replace('all = "met"', lax)
    assert "unsafe-pass" in codes(body, "q-r0", **rest, verdicts=unsafe)


def test_verdicts_that_leave_every_combination_open_are_too_many() -> None:
    body, rest = independent(12)
    assert codes(body, "q-r0", **rest, verdicts=VERDICT.format("good", "acceptable", 'all = "met"')) == [
        "too-many-ways"
    ]


@pytest.mark.parametrize("answers", [12, 60])
def test_of_very_many_answers_together_what_can_be_told_is_told(answers: int) -> None:
    effects = [("good", "bad", "unclear", "worse", "note")[n % 5] for n in range(answers)]
    body = choice("s", *(f"a{n} ! {effect}" for n, effect in enumerate(effects)), more='then = "end"')
    found = codes(
        body.replace('"choice"', '"several"').replace("source", "must-answer = true\nsource", 1), "s"
    )
    assert "danger-goes-on" in found
    assert "too-many-ways" not in found


@pytest.mark.parametrize(("most", "deep", "many"), [(8, 3, False), (8, 5, False), (12, 6, True)])
def test_eaches_within_eaches_are_proved_or_too_many(
    tmp_path: Path, most: int, deep: int, many: bool
) -> None:
    body, first = (
        choice("x", "a ! good", "b ! bad", "c ! unclear", more='must-answer = true\nthen = "end"'),
        "x",
    )
    for level in range(deep + 1):
        (tmp_path / f"l{level}.toml").write_text(whole(body, first, tree_id=f"l{level}"))
        each = f'[each.e]\ncount = "n"\ntree = "l{level}"\nthen = "end"\nlabel = "T {{n}}"\n'
        count = 'must-answer = true\nthen = "e"'
        body = number("n", kind="count", unit="", most=str(most), more=count) + each
        first = "n"
    proof = work_out(load(str(tmp_path / f"l{deep}.toml")))
    assert ("too-many-ways" in [one.code for one in proof.complaints]) == many
    assert "nothing-puts-right" in [one.code for one in proof.complaints]


def test_a_number_looked_at_very_often_is_proved() -> None:
    looks = 100
    body = '[question.q]\nkind = "measure"\nask = "Q?"\nwhy = "W."\nlook = "L."\nsource = "trade"\n'
    body += 'unit = "mm"\nleast = 0\nmost = 1000\nmust-answer = true\nthen = "r0"\n'
    for n in range(looks):
        then = f"r{n + 1}" if n + 1 < looks else "end"
        body += f'[recall.r{n}]\nquestion = "q"\nthen = "{then}"\n'
        body += f'[[recall.r{n}.band]]\nbelow = {1 + n * 9}\nfinding = "good"\n[[recall.r{n}.band]]\n'
    found = codes(body, "q")
    assert "too-many-ways" not in found
    assert "unreachable-band" not in found


def test_a_very_long_chain_is_proved() -> None:
    body = "".join(choice(f"q{n}", f"a ! good > q{n + 1}", f"b > q{n + 1}") for n in range(1_500))
    assert not {"too-many-ways", "no-verdict", "unsafe-pass"} & set(
        codes(body + choice("q1500", "a ! good > end"), "q0")
    )
