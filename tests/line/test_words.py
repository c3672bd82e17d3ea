import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.conversation import Choice, Prompt, Said, Tone
from assistant.errors import Refused
from assistant.line import words

ANY_TEXT = st.text(st.characters(), max_size=300)


@given(ANY_TEXT)
def test_nothing_that_a_terminal_obeys_comes_out(text: str) -> None:
    said = words.labelled([Said(Tone.WHY, text, text)], 40)
    asked = words.question(
        Prompt("k", text, "choice", (Choice(1, "a", text, True),), (text,), 3, offered=text), 40
    )
    refused = words.refusal(Refused(text, text), 40)
    for line in (*said, *asked, *refused):
        assert line.isprintable()


@given(ANY_TEXT, st.integers(20, 100))
def test_lines_keep_to_the_width_save_for_words_that_are_longer(text: str, columns: int) -> None:
    for line in words.labelled([Said(Tone.WHY, text, "Why")], columns):
        assert len(line) <= columns or len(line.split()) <= 2


def test_a_word_longer_than_the_line_is_left_whole() -> None:
    word = "x" * 90
    assert word in words.labelled([Said(Tone.TOLD, f"a {word} b", "Told")], 40)[1]


def test_every_space_is_a_space() -> None:
    assert words.plain("127 mm\tx\r\x1b[31m") == "127 mm x[31m"


def test_a_question_reads_as_a_person_would_read_it_out() -> None:
    prompt = Prompt(
        "joint.2/held-by", "How is this joint held together?", "choice",
        (Choice(1, "screws", "Screws"), Choice(2, "clamp", "A clamp", offered=True)), ("Joint 2",), 12,
        expects="a number, or your own words", can_be_unsure=True, offered="A clamp", same_as="Joint 1",
    )  # fmt: skip
    assert words.question(prompt, 80) == [
        "Question 12 · Joint 2",
        "How is this joint held together?",
        "  1  Screws",
        "  2  A clamp (your answer before)",
        "Before, you said: A clamp. Enter alone keeps that.",
        'Type "same" to take over what you said of Joint 1.',
    ]
    assert words.message(prompt, False) == (
        'Answer (a number, or your own words; "unsure", "why", "how", "help"): '
    )


def test_what_cannot_be_unsure_does_not_offer_it() -> None:
    assert "unsure" not in words.message(Prompt("k", "Ask?", "count", expects="a whole number"), False)


def test_a_note_wants_a_slash_before_a_word_that_is_no_note() -> None:
    assert '"/why"' in words.message(Prompt("k", "Ask?", "note", expects="a note"), False)


@pytest.mark.parametrize(("columns", "taken"), [("132", 100), ("80", 80), ("10", 20)])
def test_the_width_is_the_terminals_within_what_can_be_read(
    monkeypatch: pytest.MonkeyPatch, columns: str, taken: int
) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    assert words.width() == taken
