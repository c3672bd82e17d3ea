"""The numbers of a tree in words: what they are, and what they do not say."""

from __future__ import annotations

import re

from assistant.render.numbers import numbers_text
from assistant.session.numbers import Numbers, numbers
from assistant.tree.load import load
from assistant.tree.survey.told import Alike
from assistant.tree.tree import Tree
from tests.writing import choice, tree


def small() -> Tree:
    return tree(choice("q", "a ! good > end", "b ! bad > end"), "q")


def told(**changes: object) -> str:
    """The numbers of a small tree, some of them changed, on one line."""
    found: Numbers = numbers(small())._replace(**changes)
    return " ".join(numbers_text(small(), found).split())


def test_a_share_of_the_paths_says_nothing_about_how_often() -> None:
    text = told()
    assert "1 50 % sound (acceptable)" in text
    assert (
        "not cases met in practice, and a share of them says nothing about how often a verdict comes up"
        in text
    )


def test_numbers_beyond_counting_have_no_shares() -> None:
    text = told(ways={"sound": 10**9 - 1, "unsound": 1})
    assert "%" not in text
    assert "999 999 999 sound (acceptable) 1 unsound (not acceptable)" in text
    assert "and their number says nothing about how often" in text


def test_no_answers_alike_is_said_exactly() -> None:
    assert "None: between any two answers something that follows differs." in told()


def test_a_question_that_changes_nothing_may_still_be_worth_asking() -> None:
    worth = "may still be worth asking"
    some, whole = Alike("small", "q", ("a", "b"), False), Alike("small", "q", ("a", "b"), True)
    assert worth not in told(alike=[some])
    assert worth in told(alike=[whole])


def test_a_share_stands_in_its_column() -> None:
    text = numbers_text(load("sealant"), numbers(load("sealant")))
    rows = re.findall(r"^ *[\d ]+  (?:< 1|[ \d]{3}) %  [a-z-]+ \(", text, re.MULTILINE)
    assert len({len(row.rpartition("  ")[0]) for row in rows}) == 1
