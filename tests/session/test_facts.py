"""Facts files: what is read from them, what is said of those that cannot be used, and the blank one."""

from __future__ import annotations

import re
import tomllib
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from assistant.errors import Refused
from assistant.session.fact import Fact
from assistant.session.facts import blank, read_facts
from assistant.session.judge import judge
from assistant.session.session import Session
from assistant.tree.load import installed_ids, load
from assistant.tree.mistakes import Unreadable
from tests.writing import choice, number, whole

PART = choice("age", "new ! good > size", "old ! bad > size", unsure='then = "end"')
PART += number("size", "below = 60 > end", " > end", unsure='then = "end"')
STEPS = choice(
    "situation", "new > pipes", "existing > pipes", more='must-answer = true\naccept = ["seen", "told"]'
)
STEPS += number("pipes", " > pipe", kind="count", unit="", most="3")
STEPS += """
[each.pipe]
count = "pipes"
tree = "part"
then = "near"
set = { size = 10 }

[question.near]
kind = "several"
ask = "What is near?"
must-answer = true
then = "end"
[[question.near.answer]]
id = "door"
says = '''A door.

Also a gate.'''
"""
TOP = 'tree = "small.toml"\n[facts]\n'
GOOD = TOP + 'situation = "new"\npipes = 1\n"pipe.1/age" = "new"\nnear = []\n'


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "part.toml").write_text(whole(PART, "age", tree_id="part"))
    (tmp_path / "small.toml").write_text(whole(STEPS, "situation"))
    return tmp_path


def read(folder: Path, text: str | bytes, tree: str | None = None) -> dict[str, Fact]:
    path = folder / "facts.toml"
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return dict(read_facts(path, tree).facts)


def test_facts_are_read_in_the_order_written_with_their_basis(folder: Path) -> None:
    facts = read(folder, GOOD + '[basis]\nsituation = "told"\n')
    assert facts == {
        "situation": Fact("new", "told"), "pipes": Fact(Fraction(1)), "pipe.1/age": Fact("new"), "near": Fact(()),
    }  # fmt: skip
    assert list(facts) == ["situation", "pipes", "pipe.1/age", "near"]
    assert facts["pipes"].basis == "unstated"


def test_the_tree_may_be_named_from_outside(folder: Path) -> None:
    path = str(folder / "small.toml")
    assert "near" in read(folder, GOOD.split("\n", 1)[1], path)
    assert "near" in read(folder, GOOD, path)


REFUSED = [
    # the file, where it is told, what is said and what is hinted
    (TOP + 'situtation = "new"\n', "3:1", '"situtation" can never be asked by "small".', 'Did you mean "situation"?'),
    (TOP + 'kitchen = "new"\n', "3:1", '"kitchen" can never be asked by "small".', "small.toml` writes every key there is."),
    (TOP + '"pipe.1/agee" = "new"\n', "3:1", '"pipe.1/agee" can never be asked.', 'Did you mean "pipe.1/age"?'),
    (TOP + '"pipe/2/age" = "new"\n', "3:1", '"pipe/2/age" can never be asked by "small".', 'Did you mean "pipe.2/age"?'),
    (TOP + '"pipe2/age" = "new"\n', "3:1", '"pipe2/age" can never be asked by "small".', 'Did you mean "pipe.2/age"?'),
    (TOP + '"pipe.2.age" = "new"\n', "3:1", '"pipe.2.age" can never be asked by "small".', 'Did you mean "pipe.2/age"?'),
    (TOP + '"pip.2/age" = "new"\n', "3:1", '"pip.2/age" can never be asked by "small".', 'Did you mean "pipe.2/age"?'),
    (TOP + '"Pipe.2/Ag_e" = "new"\n', "3:1", "can never be asked", 'Did you mean "pipe.2/age"?'),
    (TOP + '"pipe/age" = "new"\n', "3:1", "can never be asked", 'Did you mean "pipe.1/age"?'),
    (TOP + '"pipe.2/near" = []\n', "3:1", '"pipe.2/near" can never be asked.', 'Did you mean "near"?'),
    (TOP + '"pipe.2/kitchen" = 1\n', "3:1", '"pipe.2/kitchen" can never be asked.', "small.toml` writes every key"),
    (TOP + 'age = "new"\n', "3:1", '"age" can never be asked by "small".', 'Did you mean "pipe.1/age"?'),
    (TOP + '"pipe.4/age" = "new"\n', "3:1", 'there is no "pipe.4".', "There can be pipe.1 to pipe.3."),
    (TOP + '"pipe.1/size" = 3\n', "3:1", '"pipe.1/size" is never asked: it is answered by the tree itself.', "Take"),
    (TOP + 'situation = "nwe"\n', "3:13", 'situation: "nwe" is not an answer here.', 'Did you mean "new"?'),
    (TOP + "pipes = 9\n", "3:9", "pipes: 9 is outside what this can be.", "Write a whole number from 0 to 3."),
    (TOP + "pipes = 1.5\n", "3:9", "pipes: 1.5 is not a whole number.", "Write a whole number from 0 to 3."),
    (TOP + "situation = true\n", "3:13", "situation: true is not an answer.", 'Write "new" (It is new), "existing" (It is existing).'),
    (TOP + "pipes = 2026-01-01\n", "3:9", "2026-01-01 is a date or time without quotes", 'pipes = "2026-01-01"'),
    (TOP + "pipes = nan\n", "3:9", "nan is not a number that anyone can measure.", "Write the number in digits."),
    (TOP + "near = [1]\n", "3:8", "near: 1 is not an answer here.", 'Write a list of "door" (A door. Also a gate).'),
    (TOP + "near = \"door\"\n", "3:8", 'near: "door" is not a list.', 'Write a list of "door" (A door. Also a gate).'),
    (TOP + 'pipe.1.age = "new"\n', "3:1", '"pipe" is a table; a fact key is one name in quotes.', 'in one line: "pipe.1/age" = "new"'),
    (TOP + '[facts."pipe.2"]\n"v/h" = 3\n', "3:8", '"pipe.2" is a table', 'in one line: "pipe.2/v/h" = 3'),
    (TOP + '[facts.pipe.2]\nage = "new"\nsize = 2.5\nx = [true]\n', "3:8", '"pipe" is a table',
     '\n"pipe.2/age" = "new"\n"pipe.2/size" = 2.5\n"pipe.2/x" = [true]'),
    ('tree = "small.toml"\n[fact]\nsituation = "new"\n', "2:2", "`fact` is not a key", "Did you mean [facts]?"),
    (TOP + '[facts.a]\nb.2.c = "new"\n', "3:8", '"a" is a table', 'Write it below [facts] in one line: "a/b.2/c" = "new"'),
    (TOP + 'pipe.1/age = "new"\n', "3:1", "The name pipe.1/age needs quotes", 'Write: "pipe.1/age" = "new"'),
    (TOP + "situation = new\n", "3:13", "new is a word without quotes.", 'situation = "new"'),
    (TOP + 'situation = "not-sure"\n', "3:13", "situation: this question must be answered", 'Write "new" (It is new), "existing" (It is existing).'),
    (TOP + 'situation = "new"\n[basis]\nsituation = "assumed"\n', "3:13", 'and "assumed" does not settle it.', "seen, told."),
    (TOP + 'situation = "new"\n[basis]\nsituation = "sen"\n', "5:13", "situation: this is not a basis.", '"seen"?'),
    (TOP + 'situation = "new"\n[basis]\nsituation = true\n', "5:13", "situation: this is not a basis.", 'Write one of "seen"'),
    (TOP + '[basis]\nsituation = "seen"\n', "4:13", '"situation" has a basis and no fact.', "Write the fact too"),
    (TOP + '[basis]\nsituatio = "seen"\n', "4:1", '"situatio" can never be asked by "small".', 'Did you mean "situation"?'),
    ('[facts]\nsituation = "new"\n', "1:1", "the file does not say which tree it is for.", "as its first line, or"),
    ('tree = 3\n[facts]\n', "1:8", "`tree` needs the id or the path of a tree, in quotes.", ""),
    ('tree = "small.toml"\nfacts = 3\n', "2:9", "`facts` needs to be a table.", "Write the header [facts]."),
    ('tree = "small.toml"\n[fcts]\n[facts]\n', "2:2", "`fcts` is not a key of a facts file.", "Did you mean [facts]?"),
    ('format = 2\n' + GOOD, "1:10", "this facts file is of another format.", "Write `format = 1`."),
    ('tree = "small.toml\n[facts]\n', "1:8", 'The text that opens here with " is not closed', 'Put " after'),
    (TOP.encode() + b"# \xe9\n", "3:3", "This file is not saved as UTF-8: line 3 has the byte E9", "Save it as UTF-8"),
    (bytes(range(256)), "", "This is not a text file.", "Name a TOML file"),
    ("#" * 2_000_001, "", "facts.toml is larger than 2,000,000 bytes", ""),
    (TOP + "a = " + "[" * 5000, "3:37", "nested more than 32 deep", ""),
    (TOP + "pipes = " + "9" * 5000, "3:9", "This number has 5000 digits", "Check the digits."),
    (TOP + 'situation = "\\u001b[31m"\n', "3:14", "\\u001b puts a control character into the text", "Take it out."),
]  # fmt: skip


@pytest.mark.parametrize(("text", "place", "message", "hint"), REFUSED)
def test_a_file_that_cannot_be_used_gets_one_clear_message(
    folder: Path, text: str | bytes, place: str, message: str, hint: str
) -> None:
    with pytest.raises(Unreadable) as refused:
        read(folder, text)
    [mistake] = refused.value.mistakes
    assert mistake.where == f"{folder}/facts.toml" + (f":{place}" if place else "")
    assert message in mistake.message.replace(f"{folder}/", "")
    assert hint in mistake.hint
    assert "\x1b" not in str(mistake)


def test_everything_wrong_with_a_file_is_told_in_one_go(folder: Path) -> None:
    with pytest.raises(Unreadable) as refused:
        read(folder, TOP + 'situtation = "new"\npipes = 9\nnear = ["dor"]\n[basis]\nnear = "guessed"\n')
    assert [str(m.place) for m in refused.value.mistakes] == ["3:1", "4:9", "5:8", "7:8"]
    assert refused.value.message.endswith("There are 3 more faults in this file.")


def test_a_file_full_of_mistakes_is_given_up(folder: Path) -> None:
    with pytest.raises(Unreadable) as refused:
        read(folder, TOP + "".join(f"situatoin{number} = 1\n" for number in range(50_000)))
    assert len(refused.value.mistakes) == 100
    assert refused.value.message.endswith("There are at least 99 more faults in this file.")


def test_of_a_tree_with_more_keys_than_anyone_reads_the_nearest_is_still_found(folder: Path) -> None:
    def of_a_hundred(tree: str) -> str:
        inner = number("things", " > thing", kind="count", unit="", most="100")
        return inner + f'[each.thing]\ncount = "things"\ntree = "{tree}"\nthen = "end"\n'

    for name, inner in (("third", "part"), ("second", "third"), ("first", "second")):
        (folder / f"{name}.toml").write_text(whole(of_a_hundred(inner), "things", tree_id=name))
    for key, meant in (
        ("thing/1/thing/2/things", "thing.1/thing.2/things"),
        ("thing.99/thing.99/thing.99/aeg", "thing.99/thing.99/thing.99/age"),
        ("kitchen", "first.toml` writes"),
    ):
        with pytest.raises(Unreadable) as refused:
            read(folder, f'tree = "first.toml"\n[facts]\n"{key}" = 1\n')
        assert meant in refused.value.hint


def test_a_fact_written_above_its_header_is_told_where_it_goes(folder: Path) -> None:
    with pytest.raises(Unreadable) as refused:
        read(folder, 'tree = "small.toml"\nsituation = "new"\n')
    missing, stray = refused.value.mistakes
    assert stray.hint.startswith("If it is a fact, write it below the header [facts].")
    assert missing.message == "the file has no [facts]."


def test_a_file_for_another_tree_is_refused(folder: Path) -> None:
    with pytest.raises(Unreadable, match='the file is for the tree "part", not for "small"'):
        read(folder, 'tree = "part"\n[facts]\n', str(folder / "small.toml"))


@pytest.mark.parametrize(
    ("named", "message"),
    [
        ("smll", 'there is no tree "smll"'),
        ("smll.toml", "There is no file"),
        ("x" * 5000, 'there is no tree "xxx'),
    ],
)
def test_a_tree_that_is_not_there_is_refused(folder: Path, named: str, message: str) -> None:
    with pytest.raises(Refused) as refused:
        read(folder, f'tree = "{named}"\n[facts]\n')
    assert message in refused.value.message
    assert len(refused.value.message + refused.value.hint) < 1000


def test_a_folder_and_a_file_that_is_not_there_are_refused(folder: Path) -> None:
    with pytest.raises(Refused, match="is a folder, not a file"):
        read_facts(folder)
    with pytest.raises(Refused, match="There is no file") as refused:
        read_facts(folder / "smal.toml")
    assert refused.value.hint.endswith("small.toml?")


# The blank file


def filled(text: str, answers: dict[str, str]) -> str:
    """A blank file with these lines filled in."""
    for key, value in answers.items():
        text, changed = re.subn(
            rf'^# "{re.escape(key)}" = .*$', f'"{key}" = {value}', text, count=1, flags=re.MULTILINE
        )
        assert changed
    return text


def keys(text: str) -> list[str]:
    return re.findall(r'^# "([^"]+)" = ', text.partition("\n[basis]")[0], flags=re.MULTILINE)


def test_a_blank_file_is_a_facts_file_that_lists_every_key_in_quotes(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(folder)
    tree = load("small.toml")
    text = blank(tree)
    assert tomllib.loads(text) == {"format": 1, "tree": "small.toml", "facts": {}, "basis": {}}
    assert (
        keys(text)
        == ["situation", "pipes", "pipe.1/age", "pipe.2/age", "pipe.3/age", "near"]
        == list(tree.every_key())
    )
    assert "#   door  A door. Also a gate." in text
    assert '\n# 2\n# What of age?\n# "pipe.2/age" = "new"\n' in text
    assert "\n\n# No longer about 3\n\n# What is near?\n" in text
    assert read(folder, text) == {}


def test_a_blank_file_filled_in_is_judged(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(folder)
    answers = {
        "situation": '"new"',
        "pipes": "2",
        "pipe.1/age": '"new"',
        "pipe.2/age": '"new"',
        "near": '["door"]',
    }
    (folder / "facts.toml").write_text(filled(blank(load("small.toml")), answers))
    file = read_facts(folder / "facts.toml")
    assert judge(Session(file.tree, file.facts)).outcome == "acceptable"


@pytest.mark.parametrize("tree_id", installed_ids())
def test_the_examples_in_the_blank_file_of_an_installed_tree_are_answers(
    tree_id: str, tmp_path: Path
) -> None:
    text = blank(load(tree_id))
    examples: dict[str, Any] = dict(
        re.findall(r'^# "([^"]+)" = (.*)$', text.partition("\n[basis]")[0], flags=re.MULTILINE)
    )
    facts = read(tmp_path, filled(text, examples))
    assert list(facts) == keys(text) == list(load(tree_id).every_key())
