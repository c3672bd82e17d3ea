"""What can be counted about a tree, and what a change does to it, as the commands tell it."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from assistant.cli import command
from assistant.errors import Refused
from assistant.session.covering import covered_by, covering
from assistant.session.facts import read_facts
from assistant.session.judge import judge
from assistant.session.numbers import numbers
from assistant.session.session import Session
from assistant.tree.installed import installed_folder
from assistant.tree.load import load
from tests.writing import choice, head, number, tree, whole

LIMITS = whole(
    choice("seen", "yes > gap", "no ! bad > end")
    + number(
        "gap",
        "below = 300 ! bad",
        "up-to = 400",
        " ! good",
        most="500",
        more='must-answer = true\nthen = "end"',
    ),
    "seen",
)


def run(*arguments: str) -> Result:
    return CliRunner().invoke(command, arguments, prog_name="throughwall", standalone_mode=False)


def edited(folder: Path, name: str, *changes: tuple[str, str]) -> Path:
    """A copy of an installed tree with these changes."""
    text = (installed_folder() / f"{name}.toml").read_text(encoding="utf-8")
    for before, after in changes:
        assert before in text
        text = text.replace(before, after, 1)
    path = folder / f"{name}.toml"
    path.write_text(text, encoding="utf-8")
    return path


# Numbers


def test_ways_are_counted_by_verdict(tmp_path: Path) -> None:
    (tmp_path / "small.toml").write_text(LIMITS, encoding="utf-8")
    found = json.loads(run("tree", str(tmp_path / "small.toml"), "--json").stdout)
    assert found["paths"] == {"sound": "1", "unsound": "2", "open": "1"}
    assert found["exact"] is True
    assert found["asked_on_every_path"] == ["seen"]


def test_a_covering_set_has_every_answer_and_both_sides_of_every_limit(tmp_path: Path) -> None:
    (tmp_path / "small.toml").write_text(LIMITS, encoding="utf-8")
    done = run("tree", str(tmp_path / "small.toml"), "--cover", str(tmp_path / "cover"))
    paths = [Path(line) for line in done.stdout.splitlines()]
    facts = [tomllib.loads(path.read_text(encoding="utf-8"))["facts"] for path in paths]
    gaps = sorted(one["gap"] for one in facts if "gap" in one)
    assert gaps == [299, 300, 400, 401]
    assert len(facts) == 5  # the smallest: no consultation can have two of these
    for path in paths:
        read = read_facts(path)
        assert judge(Session(read.tree, read.facts)).outcome is not None


def test_the_covering_sets_of_the_installed_trees_cover_what_they_say() -> None:
    for name, smallest in (("depth", True), ("sealant", True), ("joint", True)):
        loaded = load(name)
        found = covering(loaded)
        assert (found.smallest, found.left) == (smallest, [])
        covered = set().union(*(covered_by(loaded, answers) for answers in found.consultations))
        for question, table in loaded.file.question.items():
            wanted = {answer.id for answer in table.answer} | (set() if table.must_answer else {"not-sure"})
            assert wanted <= {one.answer for one in covered if one.question == question}


def test_the_outline_ends_with_the_numbers() -> None:
    told = run("tree", "sealant").stdout
    for head_ in ("PATHS", "ASKED ON EVERY PATH", "ANSWERS THAT CHANGE NOTHING", "A COVERING SET"):
        assert f"\n{head_}\n" in told
    assert max(map(len, told.splitlines())) <= 80


def test_what_changes_nothing_is_told_and_what_a_working_is_given_is_not() -> None:
    alike = {one.question: one for one in numbers(load("joint")).alike}
    assert "held-by" not in alike
    assert alike["axis"].every


def test_a_circle_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "small.toml"
    path.write_text(whole(choice("one", "a > two", "b > end") + choice("two", "a > one", "b > end"), "one"))
    done = run("tree", str(path), "--json")
    assert isinstance(done.exception, Refused)


# Compare


def test_words_alone_make_no_difference(tmp_path: Path) -> None:
    path = edited(tmp_path, "joint", ('ask = "', 'ask = "Now then: '))
    done = run("compare", "joint", str(path))
    assert done.return_value == 0
    assert "No difference in which verdict is given" in done.stdout


def test_what_hangs_on_no_verdict_is_told_too(tmp_path: Path) -> None:
    path = edited(
        tmp_path, "joint", ('unsafe = "at-risk"', 'unsafe = "immediately-dangerous"'), ('Two pieces of the pipe', 'Both pieces of the pipe'),
        ("put-right = ", "put-right = "),
    )  # fmt: skip
    told = " ".join(run("compare", "joint", str(path)).stdout.split())
    assert "No difference in which verdict is given" in told
    assert "`unsafe` at-risk → immediately-dangerous" in told
    assert "what the householder is told: [finding." in told


def test_each_change_comes_with_answers_that_show_it(tmp_path: Path) -> None:
    path = edited(tmp_path, "joint", ('effect = "fails"', 'effect = "meets"'))
    done = run("compare", "joint", str(path), "--json", "--witnesses", str(tmp_path / "shown"))
    found = json.loads(done.stdout)
    assert done.return_value == 1
    assert found["exact"]
    assert not found["same"]
    assert not found["not_ruled_out"]
    assert found["changes"]
    for place, change in enumerate(found["changes"], 1):
        for word in ("old", "new"):
            read = read_facts(tmp_path / "shown" / f"{place}-{word}.toml")
            told = judge(Session(read.tree, read.facts))
            assert change[word] in told.possible


def test_what_passes_now_is_told_first(tmp_path: Path) -> None:
    path = edited(tmp_path, "joint", ('effect = "fails"', 'effect = "meets"'))
    told = run("compare", "joint", str(path)).stdout
    first = told[told.index("\n1. ") : told.index("\n2. ")]
    assert "PASSES NOW" in first
    assert max(map(len, told.splitlines())) <= 80


def test_an_answer_that_is_no_longer_taken_is_told(tmp_path: Path) -> None:
    (tmp_path / "old").mkdir()
    (tmp_path / "old" / "small.toml").write_text(LIMITS, encoding="utf-8")
    (tmp_path / "small.toml").write_text(LIMITS.replace("most = 500", "most = 450"), encoding="utf-8")
    found = json.loads(
        run("compare", str(tmp_path / "old" / "small.toml"), str(tmp_path / "small.toml"), "--json").stdout
    )
    assert [(one["old"], one["new"]) for one in found["changes"]] == [("sound", "refused")]
    assert 450 < found["changes"][0]["facts"]["gap"] <= 500


def test_a_limit_that_moved_is_shown_between_its_old_and_new_place(tmp_path: Path) -> None:
    before = tree(LIMITS.removeprefix(head("seen")).partition("[finding")[0], "seen")
    after = tree(
        LIMITS.removeprefix(head("seen")).partition("[finding")[0].replace("below = 300", "below = 310"),
        "seen",
    )
    from assistant.session.compared import compared

    found = compared(before, after)
    assert found.exact
    [shown] = found.shown
    assert (shown.change.old, shown.change.new) == ("open", "unsound")
    assert shown.answers is not None
    assert 300 <= shown.answers["gap"] < 310  # type: ignore[operator]


@pytest.mark.parametrize("name", ["no-such-tree", "./nowhere.toml"])
def test_a_tree_that_is_not_there_is_refused(name: str) -> None:
    done = run("compare", "joint", name)
    assert isinstance(done.exception, Refused)
