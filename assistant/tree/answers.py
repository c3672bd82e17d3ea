"""From what a file or a person gives to the exact answer a question records.

Invariant: an answer that comes out is one of the question's own, in its unit, within its limits; an answer that
does not is refused with what may be written instead. Nothing is guessed.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from assistant.errors import Refused
from assistant.tree.mistakes import nearest
from assistant.tree.model import NOT_SURE, Question
from assistant.workings.units import show, to_unit

__all__ = ["Value", "expected_answer", "read_answer", "say_answer"]

Value = str | tuple[str, ...] | Fraction
"""An answer: an answer id, several ids, an exact number in the question's unit, a note's text, or `not-sure`."""

MOST_NOTE = 20_000
MOST_WORDED = 8
"""Answers whose words are told beside their ids."""
MOST_WORDS = 40
"""Characters of them."""


def read_answer(question: Question, given: object, bare: bool = False) -> Value:
    """The answer that `given` (a TOML value, or text) stands for.

    `bare` takes a text without a unit as a number in the question's unit, as for typed words. Raises `Refused`.
    """
    if given == NOT_SURE:
        if question.must_answer:
            raise Refused("this question must be answered; not sure is not enough here", _expected(question))
        return NOT_SURE
    if isinstance(given, bool) or not isinstance(given, str | int | Decimal | Fraction | list):
        meant = _said(question, "yes" if given else "no") if isinstance(given, bool) else None
        raise Refused(
            f"{_found(given)} is not an answer",
            (f'Did you mean "{meant}"? ' if meant else "") + _expected(question),
        )
    if question.kind == "choice":
        return _choice(question, given)
    if question.kind == "several":
        return _several(question, given)
    if question.kind == "note":
        if not isinstance(given, str) or len(given) > MOST_NOTE:
            raise Refused(
                "a note needs a text"
                + (f" of at most {MOST_NOTE} characters" if isinstance(given, str) else "")
            )
        return given
    return _number(question, given, bare)


def say_answer(question: Question, value: Value) -> str:
    """An answer in the words of its question."""
    if value == NOT_SURE:
        return "Not sure"
    if isinstance(value, Fraction):
        return show(value, question.unit)
    if isinstance(value, tuple):
        return ", ".join(_says(question, one) for one in value) or "None of these"
    return value if question.kind == "note" else _says(question, value)


def _says(question: Question, answer_id: str) -> str:
    answer = question.answer_of(answer_id)
    return answer.says.rstrip(".") if answer else answer_id


def _choice(question: Question, given: object) -> str:
    if isinstance(given, str) and question.answer_of(given):
        return given
    raise _no_such(question, given)


def _several(question: Question, given: object) -> tuple[str, ...]:
    if not isinstance(given, list):
        meant = _said(question, given) if isinstance(given, str) else None
        raise Refused(
            f"{_found(given)} is not a list",
            (f'Did you mean ["{meant}"]? ' if meant else "") + _expected(question),
        )
    for one in given:
        if not (isinstance(one, str) and question.answer_of(one)):
            raise _no_such(question, one)
    if len(set(given)) != len(given):
        raise Refused("the same answer stands there twice", "Write each once.")
    return tuple(answer.id for answer in question.answer if answer.id in given)


def _number(question: Question, given: object, bare: bool) -> Fraction:
    if isinstance(given, str):
        try:
            value = to_unit(given, question.unit, bare=bare)
        except Refused as error:
            hint = f"{error.hint[:1].upper()}{error.hint[1:]}."
            raise Refused(error.message, hint if error.hint else _expected(question)) from error
    elif isinstance(given, int | Decimal | Fraction):
        value = Fraction(given)
    else:
        raise Refused("a list is not a number", _expected(question))
    if question.kind == "count" and value.denominator != 1:
        raise Refused(f"{show(value)} is not a whole number", _expected(question))
    if (
        question.least is not None
        and question.most is not None
        and not question.least <= value <= question.most
    ):
        raise Refused(f"{show(value, question.unit)} is outside what this can be", _expected(question))
    return value


def _no_such(question: Question, given: object) -> Refused:
    meant = _meant(question, given) if isinstance(given, str) else None
    return Refused(
        f"{_found(given)} is not an answer here",
        (f'Did you mean "{meant}"? ' if meant else "") + _expected(question),
    )


def expected_answer(question: Question, raw: str) -> str:
    """What to write for a question with answers where a word stands without quotes; empty for any other."""
    if question.kind not in ("choice", "several") or question.answer_of(raw):
        return ""
    meant = _meant(question, {"true": "yes", "false": "no"}.get(raw.casefold(), raw))
    return (f'Did you mean "{meant}"? ' if meant else "") + _expected(question)


def _meant(question: Question, given: str) -> str | None:
    """The id of the answer that says this, or one of whose other words it is, or whose id is near."""
    return _said(question, given) or nearest(given, [answer.id for answer in question.answer])


def _said(question: Question, given: str) -> str | None:
    words = {answer.id: (answer.id, answer.says, *answer.also) for answer in question.answer}
    return next((name for name, several in words.items() if any(_same(given, one) for one in several)), None)


def _same(one: str, other: str) -> bool:
    letters, others = (
        [sign for sign in text.casefold() if sign.isalnum()] for text in (one[:400], other[:400])
    )
    return letters == others != []


def _expected(question: Question) -> str:
    unsure = "" if question.must_answer else f', or "{NOT_SURE}"'
    if question.kind in ("choice", "several"):
        worded = len(question.answer) <= MOST_WORDED
        ids = ", ".join(
            f'"{answer.id}"'
            + (f" ({_short(answer.says)})" if worded and not _same(answer.id, answer.says) else "")
            for answer in question.answer
        )
        return f"Write {'a list of ' if question.kind == 'several' else ''}{ids}{unsure}."
    if question.kind == "note":
        return f"Write a text in quotes{unsure}."
    whole = "a whole number" if question.kind == "count" else "a number"
    unit = f" in {question.unit}" if question.unit else ""
    limits = (
        f" from {show(question.least)} to {show(question.most)}"
        if question.least is not None and question.most is not None
        else ""
    )
    return f"Write {whole}{limits}{unit}{unsure}."


def _short(text: str) -> str:
    line = " ".join(text.split()).rstrip(".")
    return line if len(line) <= MOST_WORDS else line[: MOST_WORDS - 1] + "…"


def _found(given: object) -> str:
    if isinstance(given, str):
        return f'"{given if len(given) <= 60 else given[:59] + "…"}"'
    if isinstance(given, dict):
        return "a table"
    return str(given).lower() if isinstance(given, bool) else str(given)[:60]
