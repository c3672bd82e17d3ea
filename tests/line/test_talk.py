"""The talk in lines, held in this process."""

import io
from collections import Counter
from pathlib import Path

import pytest

from assistant.conversation import Conversation, Said, Tone
from assistant.line.face import Face
from assistant.line.reader import LineReader
from assistant.tree.tree import Tree
from tests.test_conversation import loosened

GOOD = ["fitting", "none", "12", "1", "screws", "40 mm", "all well"]


def talk(conversation: Conversation, *lines: str) -> str:
    out = io.StringIO()
    reader = LineReader(io.StringIO("".join(f"{line}\n" for line in lines)), out, echo=True)
    assert Face(conversation, reader, out).run() == 0
    return out.getvalue()


@pytest.fixture(autouse=True)
def _eighty_columns(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")


def begun(conversation: Conversation, tree: Tree) -> Conversation:
    conversation.opening = conversation.begin(tree)
    return conversation


def test_a_talk_to_its_verdict_and_on_to_the_end_of_the_input(
    conversation: Conversation, small: Tree
) -> None:
    text = talk(begun(conversation, small), *GOOD)
    assert text.startswith(
        "A small run: To try every kind of question.\nRemember: The engineer decides.\n\nQuestion 1\n"
    )
    assert (
        'Answer (a number, or your own words; "why", "how", "help"): fitting\nTaken as: New work\n\n' in text
    )
    assert (
        "Question 5 · Joint 1\nHow is it held together?\n  1  Screws\n  2  Pushed in, nothing more\n" in text
    )
    assert "It holds" in text
    end = f"Kept in: {conversation.path} To open it again: type throughwall --open and the file."
    assert " ".join(text.split()).endswith(end)


def test_nothing_is_written_twice(conversation: Conversation, small: Tree) -> None:
    text = talk(begun(conversation, small), "fitting", "why", "how", "nonsense", "back", "", *GOOD[1:])
    counted = Counter(line for line in text.splitlines() if line.startswith("Question") or line.endswith("?"))
    assert counted.pop("Question 1") == 2  # once more after `back`: it is open again
    assert counted.pop("Is it new, or in use?") == 2
    assert counted.pop("Question 2") == 2
    assert counted.pop("What is near the terminal?") == 2
    assert {line: n for line, n in counted.items() if n > 1} == {}


def test_again_reads_the_question_out_again(conversation: Conversation, small: Tree) -> None:
    assert talk(begun(conversation, small), "again").count("Is it new, or in use?") == 2


def test_after_the_verdict_an_answer_can_be_changed_and_the_new_verdict_is_told(
    conversation: Conversation, small: Tree
) -> None:
    text = talk(begun(conversation, small), *GOOD, "answers", "change 5", "push-fit", "", "")
    assert "5: Joint 1 · How is it held together? Screws" in text
    assert "Change: Open again. 2 later answers are set aside and offered again one by one." in text
    assert "Before, you said: Screws. Enter alone keeps that." in text
    assert "Kept: 40 mm" in text
    assert text.index("It holds") < text.index("A joint can part")
    assert "Drive the maker's screws." in text


def test_a_verdict_that_stays_is_told_in_a_line_and_again_on_request(
    conversation: Conversation, small: Tree
) -> None:
    text = talk(begun(conversation, small), *GOOD, "back", "", "again")
    assert "The verdict is the same as before" in text
    assert text.count("It holds") == 2


def test_a_new_consultation_after_the_verdict(conversation: Conversation, small: Tree) -> None:
    text = talk(begun(conversation, small), *GOOD, "new")
    assert "Kept in:" in text
    assert "What is the job today?" in text


def test_what_cannot_be_taken_says_what_to_type(conversation: Conversation, small: Tree) -> None:
    text = talk(begun(conversation, small), "", "fitting", "none", "five", "1e9")
    assert "Not taken: Nothing was typed. Type a number, or your own words, or `help`." in text
    assert 'Not taken: "five" is not a number. Write a number, such as 127, 13.5 or 1/3.' in text
    assert "is outside what this can be" in " ".join(text.split())


def test_a_tree_that_breaks_its_proofs_is_refused_with_its_complaints(
    conversation: Conversation, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    tree = loosened(tmp_path)
    monkeypatch.setattr("assistant.tree.load.load", lambda name: tree)
    text = talk(conversation, "1")
    assert f"Not taken: The file cannot be used as it is.\n{tmp_path / 'loose.toml'}:23:11:" in text
    assert "Started with --unproven, it is used all the same" in " ".join(text.split())


def test_emergency_from_any_question(conversation: Conversation, small: Tree) -> None:
    assert "Stop: Turn the appliance off if you can do it safely." in talk(
        begun(conversation, small), "danger"
    )


def test_the_end_of_the_input_is_leaving(conversation: Conversation) -> None:
    assert talk(conversation).endswith("\nLeft: Nothing was answered, so nothing was kept.\n")


def test_hostile_trees_are_text_and_nothing_more(conversation: Conversation, hostile: Tree) -> None:
    text = talk(begun(conversation, hostile), "why", "how", "[red]", "answers", "change 1", "no", "possible")
    assert all(line.isprintable() for line in text.splitlines())
    assert "[red]Title[/red] [@click=app.quit]press[/] %s {0}" in text
    assert "x" * 120 in text
    for line in text.splitlines():
        assert len(line) <= 80 or "x" * 120 in line or str(conversation.path) in line


def test_control_codes_are_dropped_wherever_they_come_from(conversation: Conversation) -> None:
    conversation.opening = [Said(Tone.TOLD, "\x1b]52;c;eA==\x07 \x9b31m \u202e", "\x1b[2JLabel")]
    text = talk(conversation, "\x1b[31mfoo\x07")
    assert text.startswith("[2JLabel: ]52;c;eA== 31m\n")
    assert '"[31mfoo" is not one of the choices' in text


def test_a_line_without_end_is_cut(conversation: Conversation, small: Tree) -> None:
    text = talk(begun(conversation, small), "x" * 300_000, "fitting")
    assert "Taken as: New work" in text
    assert text.count("Not taken") == 1
