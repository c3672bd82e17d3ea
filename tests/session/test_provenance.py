"""Where trees come from and when their review is due: said in verdicts, in records, and beside the JSON."""

import json
import shutil
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner

from assistant.cli import command
from assistant.conversation import Conversation, all_said
from assistant.render.text import verdict_text
from assistant.session.facts import read_facts
from assistant.session.judge import judge
from assistant.session.provenance import overdue, remarks, strangers
from assistant.session.record import Record, read_record, write_record
from assistant.session.session import Session
from assistant.session.store import Store
from assistant.tree.installed import installed_folder
from assistant.tree.load import load
from assistant.tree.mistakes import Unreadable
from assistant.tree.tree import Tree
from tests.conftest import NOW, TREES

GOOD = Path(__file__).parents[1] / "data" / "acceptable.toml"


def reviewed(folder: Path, month: str, part: str = "") -> Tree:
    """The small tree with a month of review; `part` is that of the tree it visits."""
    for name, due in (("small", month), ("part", part)):
        text = (TREES / f"{name}.toml").read_text(encoding="utf-8")
        line = f'review-by = "{due}"\n' if due else ""
        (folder / f"{name}.toml").write_text(text.replace("defer = ", f"{line}defer = ", 1), encoding="utf-8")
    return load(str(folder / "small.toml"))


def test_the_installed_trees_need_no_remark() -> None:
    assert remarks(load("through-wall"), "2026-01-01") == []


def test_a_copy_of_an_installed_tree_says_so_and_so_does_one_that_differs_by_a_byte(tmp_path: Path) -> None:
    copy = tmp_path / "through-wall.toml"
    shutil.copy(installed_folder() / "through-wall.toml", copy)
    for _ in range(2):
        tree = load(str(copy))
        told = verdict_text(judge(Session(tree, read_facts(GOOD, str(copy)).facts)))
        assert f"Judged by {copy}, which is not one of the installed" in " ".join(told.split())
        assert [one.id for one in strangers(tree)] == ["through-wall"]
        copy.write_text(copy.read_text(encoding="utf-8") + "#", encoding="utf-8")


def test_a_link_to_an_installed_tree_does_not_hide_what_lies_beside_the_link(tmp_path: Path) -> None:
    (tmp_path / "through-wall.toml").symlink_to(installed_folder() / "through-wall.toml")
    shutil.copy(installed_folder() / "joint.toml", tmp_path)
    tree = load(str(tmp_path / "through-wall.toml"))
    assert [one.text for one in remarks(tree)] == [
        f"It visits {tmp_path / 'joint.toml'}, which is not one of the installed trees."
    ]


@pytest.mark.parametrize(
    ("today", "due"), [("2027-06-30", []), ("2027-07-01", ["small"]), ("2028-01-01", ["small"]), ("", [])]
)
def test_a_review_is_due_once_its_month_is_over(tmp_path: Path, today: str, due: list[str]) -> None:
    assert [tree.id for tree in overdue(reviewed(tmp_path, "2027-06"), today)] == due


def test_a_verdict_tells_of_the_review_of_a_visited_tree(tmp_path: Path) -> None:
    tree = reviewed(tmp_path, "2027-06", part="2026-02")
    said = [one.text for one in remarks(tree, "2026-03-02") if one.mark == "review"]
    assert said == [
        f"{tree.parts['part'].file.tree.title} was to be reviewed by 2026-02, and that is past: "
        "check it before relying on it."
    ]


def test_a_consultation_says_at_its_start_that_a_review_is_due(tmp_path: Path, store: Store) -> None:
    tree = reviewed(tmp_path, "2026-02")
    talk = Conversation(store, lambda: NOW)
    assert "Review: A small run was to be reviewed by 2026-02" in all_said(talk.begin(tree))
    talk.say("fitting")
    assert talk.path is not None
    assert "Review: " in all_said(Conversation(store, lambda: NOW).open(talk.path))
    assert "Review: " not in all_said(
        Conversation(store, lambda: "2026-02-28T23:59:00+00:00").open(talk.path)
    )


# The record


def test_a_record_says_which_trees_are_not_installed_with_the_digest_of_each_file(
    tmp_path: Path, small: Tree
) -> None:
    path = tmp_path / "record.toml"
    write_record(path, Record(Session(small, proven=False), NOW))
    text = path.read_text(encoding="utf-8")
    assert "installed = false" in text
    for name in ("small", "part"):
        tree = small if name == "small" else small.parts[name]
        assert f'id = "{name}"\nfile = "{TREES / name}.toml"\ndigest = "{tree.document.digest}"' in text
    assert not read_record(path).session.proven


def test_a_record_of_an_installed_tree_says_nothing_of_it(tmp_path: Path) -> None:
    path = tmp_path / "record.toml"
    write_record(path, Record(Session(load("depth")), NOW))
    assert not any(word in path.read_text(encoding="utf-8") for word in ("installed", "outside", "proven"))


@pytest.mark.parametrize(
    ("change", "to", "code"),
    [
        ("installed = false", 'installed = "no"', "wrong-value"),
        ("proven = false", "proven = 0", "wrong-value"),
        ('id = "part"', "id = 1", "missing-key"),
        ('id = "part"', 'name = "part"', "unknown-key"),
    ],
)
def test_where_a_tree_comes_from_is_read_strictly(
    tmp_path: Path, small: Tree, change: str, to: str, code: str
) -> None:
    path = tmp_path / "record.toml"
    write_record(path, Record(Session(small, proven=False), NOW))
    text = path.read_text(encoding="utf-8")
    assert change in text
    path.write_text(text.replace(change, to), encoding="utf-8")
    with pytest.raises(Unreadable) as caught:
        read_record(path)
    assert code in [mistake.code for mistake in caught.value.mistakes]


@pytest.mark.parametrize(("unit", "kept"), [("mm", True), ("cm", False)])
def test_a_bare_number_is_never_read_in_another_unit(tmp_path: Path, unit: str, kept: bool) -> None:
    tree = reviewed(tmp_path, "")
    path = tmp_path / "record.toml"
    talk = Conversation(Store(tmp_path), lambda: NOW)
    talk.begin(tree)
    for text in ("fitting", "none", "12"):
        talk.say(text)
    assert talk.path is not None
    path.write_bytes(talk.path.read_bytes())
    file = tmp_path / "small.toml"
    file.write_text(
        file.read_text(encoding="utf-8").replace('unit = "mm"', f'unit = "{unit}"', 1), encoding="utf-8"
    )
    record = read_record(path)
    assert ("gap" in record.session.facts) is kept
    assert [lost.why.message for lost in record.lost] == (
        [] if kept else ["it was given as 12 mm, and the question is now in cm"]
    )


# Beside the JSON


@pytest.fixture
def judged(tmp_path: Path) -> Callable[..., tuple[str, str]]:
    """What `judge` says on stdout and stderr of two facts files under a tree whose review is due."""
    reviewed(tmp_path, f"{date.today().year - 1}-12")
    facts = tmp_path / "facts.toml"
    facts.write_text('tree = "./small.toml"\n[facts]\nsituation = "fitting"\n', encoding="utf-8")

    def run(*options: str) -> tuple[str, str]:
        ended = CliRunner().invoke(command, ["judge", str(facts), str(facts), *options])
        return ended.stdout, ended.stderr

    return run


def test_the_json_keeps_its_keys_and_stderr_says_it_once(
    judged: Callable[..., tuple[str, str]], tmp_path: Path
) -> None:
    out, err = judged("--json")
    lines = [json.loads(line) for line in out.splitlines()]
    assert len(lines) == 2
    assert list(lines[0])[:4] == ["format", "file", "tree", "outcome"]
    assert list(lines[0]["tree"]) == ["id", "edition", "digest"]
    told = err.splitlines()
    assert told[0] == f"Judged by {tmp_path / 'small.toml'}, which is not one of the installed trees."
    assert told[1] == f"It visits {tmp_path / 'part.toml'}, which is not one of the installed trees."
    assert "was to be reviewed by" in told[2]
    assert len(told) == 3


def test_stderr_is_left_alone_where_the_verdict_says_it(judged: Callable[..., tuple[str, str]]) -> None:
    assert judged()[1] == ""
