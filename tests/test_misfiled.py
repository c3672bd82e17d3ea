"""Files that are not what the command asked for, or that an editor has spoilt: what is said of each, and what to do."""

from __future__ import annotations

from pathlib import Path

import pytest

from assistant.errors import Refused
from assistant.session.facts import read_facts
from assistant.session.record import read_record
from assistant.tree.load import load
from assistant.tree.mistakes import Unreadable
from tests.tree.guard import GUARD

FACTS = 'format = 1\ntree = "guard.toml"\n\n[facts]\n"fitted" = "fitted"\n'
RECORD = 'format = 1\nrecord = "consultation"\n[tree]\nid = "guard"\n'


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    Path("guard.toml").write_text(GUARD)
    Path("facts.toml").write_text(FACTS)
    Path("record.toml").write_text(RECORD)
    return tmp_path


READERS = {"tree": lambda name: load(name), "facts": lambda name: read_facts(Path(name)), "record": lambda name: read_record(Path(name))}  # fmt: skip


@pytest.mark.parametrize(
    ("wanted", "name", "message", "hint"),
    [
        ("facts", "guard.toml", "This is a tree, not a facts file.", "Type: throughwall facts new guard.toml > facts.toml"),
        ("facts", "record.toml", "This is a record of a consultation, not a facts file.", "`throughwall --open record.toml` goes on with it."),
        ("tree", "facts.toml", "This is a facts file, not a tree.", "`throughwall judge facts.toml` reads it."),
        ("tree", "record.toml", "This is a record of a consultation, not a tree.", "`throughwall --open record.toml` goes on with it."),
        ("record", "guard.toml", "This is a tree, not a record of a consultation.", "To begin with it: throughwall --tree guard.toml"),
        ("record", "facts.toml", "This is a facts file, not a record of a consultation.", "`throughwall judge facts.toml` reads it."),
    ],
)  # fmt: skip
def test_a_file_of_another_kind_names_the_command_that_takes_it(
    folder: Path, wanted: str, name: str, message: str, hint: str
) -> None:
    with pytest.raises(Unreadable) as refused:
        READERS[wanted](name)
    [mistake] = refused.value.mistakes
    assert (mistake.code, mistake.message, mistake.hint) == ("other-file", message, hint)


def test_an_ending_that_an_editor_added_is_told(folder: Path) -> None:
    Path("guard.toml").rename("guard.toml.txt")
    with pytest.raises(Unreadable) as refused:
        load("guard.toml.txt")
    [mistake] = refused.value.mistakes
    assert (mistake.code, mistake.message) == (
        "added-ending",
        "Your editor has added .txt to the file's name.",
    )
    assert mistake.hint == "Rename it to guard.toml."


@pytest.mark.parametrize("lies", ["guard.toml.txt", "guard.toml.rtf", "guard.txt"])
@pytest.mark.parametrize("asked", ["guard.toml", "guard"])
def test_a_file_that_is_there_with_another_ending_is_mentioned(folder: Path, lies: str, asked: str) -> None:
    Path("guard.toml").rename(lies)
    with pytest.raises(Refused) as refused:
        load(asked)
    assert refused.value.hint == (
        f"There is {lies}: your editor has added the ending. Rename it to guard.toml."
    )


@pytest.mark.parametrize(
    ("content", "what"),
    [
        (rb"{\rtf1\ansi format = 1}", "a rich text file (RTF)"),
        (b"PK\x03\x04" + b"\0" * 40, "a word processor's document, or a packed one (ZIP)"),
        (b"%PDF-1.7", "a PDF"),
        (b"\xef\xbb\xbf<html><body>", "a web page (HTML)"),
        (b"\n<!DOCTYPE html>", "a web page (HTML)"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "a word processor's document"),
    ],
)
def test_a_word_processor_s_file_is_called_what_it_is(folder: Path, content: bytes, what: str) -> None:
    Path("guard.toml").write_bytes(content)
    with pytest.raises(Unreadable) as refused:
        load("guard.toml")
    [mistake] = refused.value.mistakes
    assert mistake.message == f"This is {what}, not plain text."
    assert '"Plain text"' in mistake.hint


YES = 'Did you mean "fitted"? Write "fitted" (Yes), "missing" (No guard), or "not-sure".'
FIRM = 'Write "screws" (It is held by screws), "loose" (It moves).'


@pytest.mark.parametrize(
    ("fact", "hint"),
    [
        ('"fitted" = Yes', YES), ("fitted = yes # seen", YES), ('"fitted" = "Yes"', YES), ('"fitted" = true', YES), ('"fitted" = True', YES),
        ('"fitted" = guarded', YES), ('"fitted" = No guard', 'Did you mean "missing"? Write "fitted" (Yes)'),
        ('"fitted" = fitted', 'fitted = "fitted"'),
        ('"firm" = "yes"', f'Did you mean "screws"? {FIRM}'), ('"firm" = Yes', f'Did you mean "screws"? {FIRM}'),
        ('"firm" = "It moves."', f'Did you mean "loose"? {FIRM}'), ('"firm" = false', FIRM), ('"firm" = "maybe"', FIRM),
        ('"gap" = 5 mm', 'gap = "5 mm"'),
    ],
)  # fmt: skip
def test_a_fact_is_answered_with_the_ids_and_what_they_say(folder: Path, fact: str, hint: str) -> None:
    Path("facts.toml").write_text(f'tree = "guard.toml"\n[facts]\n{fact}\n')
    with pytest.raises(Unreadable) as refused:
        read_facts(Path("facts.toml"))
    [mistake] = refused.value.mistakes
    assert hint in mistake.hint
    assert mistake.place is not None
    assert mistake.place.line == 3


def test_where_the_tree_is_not_known_a_word_still_gets_its_quotes(folder: Path) -> None:
    Path("facts.toml").write_text('[facts]\n"fitted" = fitted\n')
    with pytest.raises(Unreadable) as refused:
        read_facts(Path("facts.toml"))
    assert 'fitted = "fitted"' in refused.value.hint
