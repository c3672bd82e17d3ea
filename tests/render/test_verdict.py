"""What a verdict tells of its sums where the lines of reasoning differ."""

from __future__ import annotations

from pathlib import Path

import pytest

from assistant.render.text import verdict_text
from assistant.session.facts import read_facts
from assistant.session.judge import judge
from assistant.session.session import Session

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
