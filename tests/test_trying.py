"""Trying a tree that is being written: when it is read again, what becomes of the answers, and what is kept."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

from assistant.cli import command
from assistant.conversation import Said, all_said
from assistant.conversation.carried import UNCHANGED
from assistant.conversation.trying import Trying
from assistant.conversation.watch import LONG_REST, REST, Marks, Watch, marks
from assistant.errors import Refused
from assistant.session.record import read_record
from assistant.session.store import Store
from assistant.tree.load import load
from tests.conftest import NOW, TREES

GOOD = ["fitting", "none", "12", "1", "screws", "40 mm", "all well"]


class Hand:
    """A clock that is moved by hand."""

    def __init__(self) -> None:
        self.now = 100.0

    def __call__(self) -> float:
        return self.now


class Bench:
    """A tree on disk, the talk that tries it, and a hand on the clock."""

    def __init__(self, folder: Path, name: str = "small") -> None:
        for tree in ("small", "part"):
            shutil.copy(TREES / f"{tree}.toml", folder)
        self.file = folder / f"{name}.toml"
        self.clock = Hand()
        self.watch = Watch(self.file, lambda: marks(self.file), self.clock)
        self.trying = Trying(Store(folder / "home"), lambda: NOW, str(self.file), self.watch)
        self.trying.start()
        self.trying.prove()

    def write(self, text: str) -> None:
        """Write the file, at a time of its own: a clock of the disk may be too coarse to tell two writes apart."""
        self.file.write_text(text, encoding="utf-8")
        self.clock.now += 1
        os.utime(self.file, (self.clock.now, self.clock.now))

    def change(self, *changes: tuple[str, str]) -> None:
        text = self.file.read_text(encoding="utf-8")
        for old, new in changes:
            assert old in text
            text = text.replace(old, new, 1)
        self.write(text)

    def look(self) -> list[Said] | None:
        """Look twice: when the change is first seen, and when it has come to rest."""
        if self.trying.stirring:
            self.clock.now += LONG_REST
        return self.trying.look()

    def say(self, *texts: str) -> list[Said]:
        said: list[Said] = []
        for text in texts:
            said = self.trying.say(text)
        return said

    @property
    def key(self) -> str:
        assert self.trying.prompt is not None
        return self.trying.prompt.key

    @property
    def answers(self) -> list[str]:
        assert self.trying.session is not None
        return list(self.trying.session.facts)


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return Bench(tmp_path)


LOOSE = ("why = ", "# why = ")
BROKEN = ('then = "gap"', 'then = "gapp"')


# When a change counts


class Disk:
    def __init__(self) -> None:
        self.state: Marks = {"a.toml": (1, 10, 1)}

    def __call__(self) -> Marks:
        return dict(self.state)


def watched() -> tuple[Watch, Disk, Hand]:
    disk, clock = Disk(), Hand()
    return Watch(Path("a.toml"), disk, clock), disk, clock


def test_a_change_counts_once_it_has_come_to_rest() -> None:
    watch, disk, clock = watched()
    assert not watch.stirring
    disk.state["a.toml"] = (2, 11, 1)
    assert (watch.stirring, watch.due) == (True, False)
    clock.now += REST * 1.01
    assert watch.due
    watch.take()
    assert (watch.stirring, watch.due) == (False, False)


def test_several_writes_in_a_row_are_one_change() -> None:
    watch, disk, clock = watched()
    for number in range(5):
        disk.state["a.toml"] = (2 + number, 11, 1)
        assert not watch.due
        clock.now += REST * 0.9
    clock.now += REST * 1.01
    assert watch.due


@pytest.mark.parametrize("gone", [True, False])
def test_a_file_that_is_empty_or_gone_is_given_longer(gone: bool) -> None:
    watch, disk, clock = watched()
    if gone:
        del disk.state["a.toml"]
    else:
        disk.state["a.toml"] = (2, 0, 1)
    assert not watch.due
    clock.now += REST * 1.01
    assert not watch.due
    clock.now += LONG_REST
    assert watch.due


def test_a_change_while_it_is_read_is_another_change() -> None:
    watch, disk, clock = watched()
    disk.state["a.toml"] = (2, 11, 1)
    assert watch.stirring
    clock.now += REST * 1.01
    assert watch.due
    disk.state["a.toml"] = (3, 12, 1)
    watch.take()
    assert watch.stirring


@given(st.lists(st.tuples(st.integers(0, 3), st.floats(0, 2)), max_size=12))
def test_what_comes_to_rest_is_always_read_in_the_end(writes: list[tuple[int, float]]) -> None:
    watch, disk, clock = watched()
    for size, passed in writes:
        disk.state["a.toml"] = (size, size, 1)
        if watch.due:
            watch.take()
        clock.now += passed
    for _ in range(2):
        if watch.due:
            watch.take()
        clock.now += LONG_REST
    assert not watch.due


def test_trees_beside_it_and_those_that_come_to_lie_there_are_looked_at(tmp_path: Path) -> None:
    tree = tmp_path / "a.toml"
    assert marks(tree) == {}
    for name in ("a.toml", "b.toml", "c.txt"):
        (tmp_path / name).touch()
    assert [Path(name).name for name in sorted(marks(tree))] == ["a.toml", "b.toml"]


# Reading it again


def test_nothing_is_said_while_nothing_changes(bench: Bench) -> None:
    assert bench.look() is None
    bench.file.touch()
    assert bench.look() is None


def test_the_answers_stay_and_the_question_is_the_one_due_now(bench: Bench) -> None:
    bench.say("fitting", "none")
    bench.change(("How wide is the gap?", "How wide is it?"))
    said = bench.look()
    assert said is not None
    assert said[0].text == UNCHANGED
    assert bench.answers == ["situation", "near"]
    assert bench.trying.prompt is not None
    assert bench.trying.prompt.ask == "How wide is it?"


def test_what_does_not_fit_any_more_is_told_by_name_and_can_come_back(bench: Bench) -> None:
    bench.say(*GOOD[:5])
    bench.change(('id = "fitting"', 'id = "new"'))
    said = bench.look()
    assert said is not None
    told = all_said(said)
    assert "1 answer no longer fits; 4 answers are set aside." in told
    assert 'No longer fits: Is it new, or in use? New work. Now "fitting" is not an answer here.' in told
    assert "Joint 1 · How is it held together? Screws" in told
    assert bench.key == "situation"
    bench.change(('id = "new"', 'id = "fitting"'))
    said = bench.look()
    assert said is not None
    assert "1 answer fits again." in said[0].text
    bench.say("", "", "", "", "")
    assert bench.answers == ["situation", "near", "gap", "joint-count", "joint.1/held-by"]


def test_that_faults_are_mended_is_said_before_what_has_changed(bench: Bench) -> None:
    bench.change(BROKEN)
    assert bench.look() is not None
    bench.change(BROKEN[::-1], ("How wide is the gap?", "How wide is it?"))
    said = bench.look()
    assert said is not None
    assert all_said(said) == f"Mended: The fault is mended.\nRead again: {UNCHANGED}"


def test_a_visited_tree_is_watched_as_well(bench: Bench) -> None:
    bench.say(*GOOD[:5])
    part = bench.file.with_name("part.toml")
    part.write_text(
        part.read_text(encoding="utf-8").replace("How far does it go in?", "How far in?"), encoding="utf-8"
    )
    assert bench.look() is not None
    assert bench.trying.prompt is not None
    assert bench.trying.prompt.ask == "How far in?"


def test_a_mistake_leaves_the_tree_in_use_and_goes_once_it_is_mended(bench: Bench) -> None:
    bench.say("fitting")
    bench.change(BROKEN)
    said = bench.look()
    assert said is not None
    assert "The one that was read before stays in use." in said[0].text
    [fault, *_] = bench.trying.faults
    line = next(n for n, text in enumerate(bench.file.read_text().splitlines(), 1) if "gapp" in text)
    assert fault.text.startswith(f"{bench.file}:{line}:8: ")
    assert fault.line == 'then = "gapp"'
    assert fault.caret == " " * fault.line.index('"') + "^"
    assert fault.hint == 'Did you mean "gap"?'
    assert bench.key == "near"
    bench.say("none")
    bench.change((BROKEN[1], BROKEN[0]))
    said = bench.look()
    assert said is not None
    assert said[0].label == "Mended"
    assert bench.trying.faults == ()
    assert bench.answers == ["situation", "near"]


def test_the_same_mistake_is_told_once(bench: Bench) -> None:
    bench.change(BROKEN)
    assert bench.look() is not None
    bench.change(("To try every kind", "To try each kind"))
    assert bench.look() is None


def test_a_tree_that_cannot_be_walked_never_replaces_one_that_can(bench: Bench) -> None:
    bench.say("fitting")
    round_ = '\n[recall.round]\nquestion = "situation"\nthen = "round"\n'
    bench.change(('first = "situation"', 'first = "round"'))
    bench.write(bench.file.read_text(encoding="utf-8") + round_)
    assert bench.look() is not None
    assert bench.trying.faults
    assert bench.key == "near"


def test_a_question_of_its_own_is_dropped_when_the_tree_changes(bench: Bench) -> None:
    bench.say("fitting", "none", "12", "2", "screws", "40 mm", "same")
    assert bench.key == "confirm"
    bench.change(('says = "In use"', 'says = "Used"'))
    assert bench.look() is not None
    assert bench.key == "joint.2/held-by"


# A tree that is not there yet


def test_a_tree_is_waited_for(tmp_path: Path) -> None:
    bench = Bench(tmp_path, "mine")
    assert bench.key == "job"
    assert bench.trying.faults
    with pytest.raises(Refused):
        bench.say("fitting")
    assert bench.say("1")[0].label in ("Read", "Not read")
    bench.write((TREES / "small.toml").read_text(encoding="utf-8").replace('id = "small"', 'id = "mine"', 1))
    said = bench.look()
    assert said is not None
    assert said[0].label == "A small run"
    assert bench.key == "situation"
    assert bench.trying.faults == ()


def test_without_watching_a_tree_that_cannot_be_read_is_refused(tmp_path: Path) -> None:
    (tmp_path / "mine.toml").write_text("x", encoding="utf-8")
    with pytest.raises(Refused):
        Trying(Store(tmp_path), lambda: NOW, str(tmp_path / "mine.toml")).start()


# Proofs


def test_a_tree_that_fails_its_proofs_opens_all_the_same_and_says_so(bench: Bench) -> None:
    bench.change(LOOSE)
    trying = Trying(Store(bench.file.parent), lambda: NOW, str(bench.file))
    trying.start()
    told = all_said(trying.prove())
    assert f"1 fault, so its verdicts say that it is unproven. `throughwall check {bench.file}`" in told
    assert "[question.situation] has no `why`" in told
    assert trying.session is not None
    assert not trying.session.proven


def test_a_tree_counts_as_unproven_until_its_proofs_have_been_gone_through(bench: Bench) -> None:
    assert bench.trying.session is not None
    assert bench.trying.session.proven
    bench.change(("To try every kind", "To try each kind"))
    assert bench.look() is not None
    assert not bench.trying.session.proven
    assert bench.trying.prove() == []
    assert bench.trying.session.proven


def test_complaints_are_told_when_they_change(bench: Bench) -> None:
    bench.change(LOOSE)
    bench.look()
    assert "1 fault" in bench.trying.prove()[0].text
    bench.change(("To try every kind", "To try each kind"))
    bench.look()
    assert bench.trying.prove() == []
    bench.change(LOOSE[::-1])
    bench.look()
    assert all_said(bench.trying.prove()) == (
        "Mended: No longer a fault: [question.situation] has no `why`.\nProofs: The tree has passed its proofs."
    )


def test_the_proofs_of_a_tree_that_was_replaced_count_for_nothing(bench: Bench) -> None:
    from assistant.session.prove import Proof

    assert bench.trying.session is not None
    bench.change(LOOSE)
    bench.look()
    assert bench.trying.proved(load("depth"), Proof([], True)) == []
    assert not bench.trying.session.proven


# What is kept


def test_nothing_is_kept_unless_it_is_asked_for(bench: Bench) -> None:
    bench.say(*GOOD)
    assert all_said(bench.say("quit")) == "Left: This was a trial, and nothing was kept."
    assert not bench.trying.store.folder.exists()


def test_once_saved_every_answer_is_kept(bench: Bench) -> None:
    said = bench.say("fitting", "save")
    path = bench.trying.path
    assert path is not None
    assert said[0] == Said(said[0].tone, str(path), "Kept in")
    bench.say("none")
    bench.change(('id = "below-eaves"', 'id = "eaves"'))
    bench.look()
    bench.say("12")
    record = read_record(path)
    assert list(record.session.facts) == ["situation", "near", "gap"]
    assert all_said(bench.say("save")) == f"Kept in: {path}"
    assert bench.say("quit")[0].label == "Kept in"


def test_what_no_longer_fits_is_kept_with_the_rest(bench: Bench) -> None:
    bench.say("fitting", "save", "none")
    bench.change(('id = "fitting"', 'id = "new"'))
    bench.look()
    assert bench.trying.path is not None
    record = read_record(bench.trying.path)
    assert [lost.key for lost in record.lost] == ["situation"]
    assert list(record.session.parked) == ["near"]


def test_save_alone_is_no_note(bench: Bench) -> None:
    bench.say(*GOOD[:-1])
    with pytest.raises(Refused, match="alone could be your note"):
        bench.say("save")
    assert bench.say("/save")[0].label == "Kept in"


def test_the_help_promises_no_more_than_a_trial_keeps(bench: Bench) -> None:
    told = {said.label: said.text for said in bench.say("help")}
    assert told["quit"] == "Leave; nothing is kept, unless you saved it."
    assert told["save"] == "Keep this trial in a record, from here on."


def test_new_begins_again_with_the_same_tree(bench: Bench) -> None:
    bench.say(*GOOD, "new")
    assert bench.key == "situation"
    assert bench.answers == []


def test_there_is_no_choice_of_job_to_go_back_to(bench: Bench) -> None:
    with pytest.raises(Refused, match="first question"):
        bench.say("back")


# The command


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[..., tuple[int, str, str]]:
    for tree in ("small", "part"):
        shutil.copy(TREES / f"{tree}.toml", tmp_path)
    monkeypatch.chdir(tmp_path)

    def run(*arguments: str, lines: str = "") -> tuple[int, str, str]:
        ended = CliRunner().invoke(
            command, ["tree", "try", *arguments, "--home", "home"], input=lines, standalone_mode=False
        )
        if isinstance(ended.exception, Refused):
            raise ended.exception
        return ended.return_value or 0, ended.stdout, ended.stderr

    return run


def test_the_command_tries_a_tree_and_leaves_nothing_behind(
    run: Callable[..., tuple[int, str, str]], tmp_path: Path
) -> None:
    status, out, _ = run("small.toml", lines="\n".join(GOOD) + "\n")
    assert status == 0
    assert "Trial: This is a trial." in out
    assert "It holds" in out
    assert "Left: This was a trial, and nothing was kept." in out
    assert not (tmp_path / "home").exists()


def test_the_command_watches_from_one_reply_to_the_next(run: Callable[..., tuple[int, str, str]]) -> None:
    status, out, _ = run("small.toml", "--watch", lines="fitting\n")
    assert status == 0
    assert "Question 2" in out


def test_an_installed_tree_can_be_tried_by_its_id(run: Callable[..., tuple[int, str, str]]) -> None:
    assert "How far the spigot goes in" in run("depth")[1]


def test_a_tree_that_is_not_there_is_refused(run: Callable[..., tuple[int, str, str]]) -> None:
    with pytest.raises(Refused):
        run("nowhere.toml")


def test_a_tree_that_is_not_there_is_waited_for_with_its_fault_shown(
    run: Callable[..., tuple[int, str, str]],
) -> None:
    status, out, _ = run("nowhere.toml", "--watch")
    assert status == 0
    assert "Fault: nowhere.toml: There is no file nowhere.toml." in out
    assert "Mend it and save it" in out
