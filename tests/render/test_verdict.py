"""How a verdict tells what only some lines of reasoning come to, and what comes of a tree without its proofs."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from assistant.render.text import verdict_text
from assistant.session.facts import read_facts
from assistant.session.judge import judge
from assistant.session.session import Session
from tests.writing import FINDINGS, choice, session, tree

GOOD = Path(__file__).parents[1] / "data" / "acceptable.toml"


def told(tmp_path: Path, material: str) -> str:
    facts = tmp_path / "facts.toml"
    text = GOOD.read_text(encoding="utf-8")
    facts.write_text(
        text.replace('"outer-material" = "steel"', f'"outer-material" = "{material}"'), encoding="utf-8"
    )
    read = read_facts(facts)
    return verdict_text(judge(Session(read.tree, read.facts)))


def test_each_sum_says_what_it_supposes_where_the_lines_differ(tmp_path: Path) -> None:
    text = told(tmp_path, "not-sure")
    assert "Restraint, if outer material is steel or aluminium" in text
    assert "Restraint, if outer material is plastic" in text
    assert "What was left unsure could still turn it." in text


@pytest.mark.parametrize("material", ["steel", "plastic"])
def test_a_sum_supposes_nothing_where_all_is_known(tmp_path: Path, material: str) -> None:
    text = told(tmp_path, material)
    assert text.count("- Restraint") == 1
    assert "Restraint, if" not in text


HARM = "Gases can get in. Do not touch it."
DOUBT = f"We do not know yet if this is so. Until we know, please do what it says: {HARM}"
TOLD = FINDINGS.replace("[finding.note]", f'householder = "{HARM}"\n\n[finding.note]').replace(
    'reason = "Nobody looked."', 'reason = "Nobody looked."\nhouseholder = "We could not see it."'
)


def harmed(*answers: str) -> str:
    """The verdict, on lines of 200 columns, where one of the answers is the case but nobody knows which."""
    steps = choice("q", *(f"{answer} > end" for answer in answers), unsure='find-out = "Look."')
    return verdict_text(judge(session(tree(steps, "q", findings=TOLD), {"q": "not-sure"})), width=200)


def test_what_only_some_lines_meet_is_not_told_to_the_householder_as_a_fact() -> None:
    text = harmed("a ! worse", "b ! good")
    assert f"TELL THE HOUSEHOLDER\n  - {DOUBT}\n" in text
    assert "Likely class: Immediately Dangerous, if it is so. The registered gas" in text
    assert "\n      Not known yet: It harms somebody.\n" in text


def test_what_every_line_meets_is_told_as_it_stands() -> None:
    text = harmed("a ! worse", "b ! worse")
    assert f"TELL THE HOUSEHOLDER\n  - {HARM}\n" in text
    assert "Likely class: Immediately Dangerous. The registered gas" in text
    assert "Not known yet" not in text


def test_a_doubt_that_only_some_lines_meet_is_told_to_the_householder_in_its_own_words() -> None:
    assert "TELL THE HOUSEHOLDER\n  - We could not see it.\n" in harmed("a ! unclear", "b ! good")


@pytest.mark.parametrize(
    ("proven", "begins"), [(True, "[Acceptable]"), (False, "[UNPROVEN TREE · Acceptable]")]
)
def test_the_first_words_of_a_verdict_say_that_its_tree_is_unproven(proven: bool, begins: str) -> None:
    asked = session(tree(choice("q", "a ! good > end"), "q"), {"q": "a"})
    assert f"VERDICT\n  {begins} Sound\n" in verdict_text(judge(replace(asked, proven=proven)))
