"""From what a file or a person gives to the exact answer: what is taken, and what is said of the rest."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from assistant.errors import Refused
from assistant.tree.answers import read_answer, say_answer
from assistant.tree.bands import band_of
from assistant.tree.model import Question
from tests.writing import choice, number, tree

SEVERAL = """
[question.near]
kind = "several"
ask = "What is near?"
then = "end"
[question.near.not-sure]
then = "end"
[[question.near.answer]]
id = "door"
says = "A door."
[[question.near.answer]]
id = "window"
says = "A window"

[question.remark]
kind = "note"
ask = "Anything else?"
must-answer = true
then = "end"
"""
TREE = tree(
    choice("fixing", "screws > end", "clamp > end", unsure="")
    + number("gap", "below = 300 > end", "up-to = 400 > end", " > end", unsure="", least="-5", most="500")
    + number("slope", " > end", unit="", least="0", most="1")
    + number("joints", " > end", kind="count", unit="", most="8", unsure='then = "end"')
    + SEVERAL,
    "fixing",
)


def question(name: str) -> Question:
    return TREE.file.question[name]


@pytest.mark.parametrize(
    ("name", "given", "value"),
    [
        ("fixing", "clamp", "clamp"),
        ("fixing", "not-sure", "not-sure"),
        ("near", [], ()),
        ("near", ["window", "door"], ("door", "window")),
        ("near", "not-sure", "not-sure"),
        ("remark", "As found.", "As found."),
        ("gap", 300, Fraction(300)),
        ("gap", Decimal("0.1"), Fraction(1, 10)),
        ("gap", "30 cm", Fraction(300)),
        ("gap", "0.3 m", Fraction(300)),
        ("gap", "1/3 in", Fraction(127, 15)),
        ("gap", "1 1/2 in", Fraction(381, 10)),
        ("gap", "12.7 cm", Fraction(127)),
        ("gap", "5″", Fraction(127)),
        ("gap", "½ inch", Fraction(127, 10)),
        ("gap", "-5 mm", Fraction(-5)),
        ("gap", 500, Fraction(500)),
        ("slope", "1/3", Fraction(1, 3)),
        ("slope", Decimal("0.004"), Fraction(1, 250)),
        ("joints", 0, Fraction(0)),
        ("joints", Decimal("3.0"), Fraction(3)),
        ("joints", "3", Fraction(3)),
    ],
)
def test_what_is_taken_is_exact(name: str, given: object, value: object) -> None:
    assert read_answer(question(name), given) == value


@pytest.mark.parametrize(
    ("name", "given", "message", "hint"),
    [
        ("fixing", "screw", '"screw" is not an answer here', 'Did you mean "screws"? Write "screws" (It is screws), "clamp" (It is clamp), or'),
        ("fixing", "It is clamp", '"It is clamp" is not an answer here', 'Did you mean "clamp"?'),
        ("fixing", "glue", '"glue" is not an answer here', 'Write "screws" (It is screws), "clamp" (It is clamp), or "not-sure".'),
        ("fixing", 3, "3 is not an answer here", 'Write "screws"'),
        ("fixing", True, "true is not an answer", 'Write "screws"'),
        ("fixing", None, "", 'Write "screws"'),
        ("fixing", {"screws": 1}, "a table is not an answer", 'Write "screws"'),
        ("fixing", ["screws"], "", 'Write "screws"'),
        ("near", "door", '"door" is not a list', 'Write a list of "door" (A door), "window" (A window), or "not-sure".'),
        ("near", ["dor"], '"dor" is not an answer here', 'Did you mean "door"?'),
        ("near", ["door", "door"], "the same answer stands there twice", "Write each once."),
        ("near", ["not-sure"], '"not-sure" is not an answer here', 'or "not-sure"'),
        ("near", [["door"]], "", "Write a list of"),
        ("remark", 3, "a note needs a text", ""),
        ("remark", "x" * 20_001, "at most 20000 characters", ""),
        ("remark", "not-sure", "this question must be answered; not sure is not enough here", "Write a text"),
        ("gap", "300", '"300" does not say its unit', 'Write "300 mm" or the number alone.'),
        ("gap", "30 kg", '"30 kg" is not a quantity in mm', "Write it in mm, cm, m, in or ft."),
        ("gap", "wide", '"wide" is not a number', "Write a number, such as"),
        ("gap", "1/0 mm", "divides by nothing", ""),
        ("gap", "12,7 cm", "has a comma in its number", "12.7"),
        ("gap", Decimal("500.001"), "500.001 mm is outside what this can be", "Write a number from −5 to 500 in mm"),
        ("gap", "51 cm", "510 mm is outside what this can be", "from −5 to 500 in mm"),
        ("gap", [300], "a list is not a number", "Write a number"),
        ("gap", False, "false is not an answer", "Write a number from −5 to 500 in mm, or \"not-sure\"."),
        ("slope", "0.5 mm", "", ""),
        ("slope", "not-sure", "this question must be answered", "Write a number from 0 to 1."),
        ("joints", Decimal("2.5"), "2.5 is not a whole number", "Write a whole number from 0 to 8, or"),
        ("joints", 9, "9 is outside what this can be", "Write a whole number from 0 to 8"),
        ("joints", "3 pipes", "", ""),
    ],
)  # fmt: skip
def test_what_is_refused_says_what_may_be_written(name: str, given: object, message: str, hint: str) -> None:
    with pytest.raises(Refused) as refused:
        read_answer(question(name), given)
    assert message in refused.value.message
    assert hint in refused.value.hint
    assert refused.value.message


def test_typed_words_need_no_unit() -> None:
    assert read_answer(question("gap"), "300", bare=True) == 300


@pytest.mark.parametrize(
    ("given", "band"),
    [
        (Decimal("299.999999999999999"), 0), ("29.9 cm", 0), ("30 cm", 1), (300, 1), ("11 13/16 in", 1),
        ("11.8 in", 0), (400, 1), ("40 cm", 1), (Decimal("400.000000000000001"), 2),
    ],
)  # fmt: skip
def test_below_leaves_its_number_out_and_up_to_takes_it_in(given: object, band: int) -> None:
    gap = question("gap")
    value = read_answer(gap, given)
    assert isinstance(value, Fraction)
    assert band_of(gap.band, value) is gap.band[band]


@pytest.mark.parametrize(
    ("name", "value", "words"),
    [
        ("fixing", "clamp", "It is clamp"),
        ("fixing", "not-sure", "Not sure"),
        ("near", ("door", "window"), "A door, A window"),
        ("near", (), "None of these"),
        ("gap", Fraction(127, 10), "12.7 mm"),
        ("remark", "As found.", "As found."),
    ],
)
def test_an_answer_in_words(name: str, value: str | tuple[str, ...] | Fraction, words: str) -> None:
    assert say_answer(question(name), value) == words
