"""Typed figures: a measure with or without its unit, a count in figures or words.

Invariant: a figure that comes out was typed as that figure; one said to be a guess is asked back.
"""

from __future__ import annotations

import re

from assistant.errors import Refused
from assistant.session.spoken import NUMBERS, odd, words_of
from assistant.session.understood import Understood
from assistant.tree.answers import read_answer
from assistant.tree.model import Question

__all__ = ["read_typed", "typed_number"]

_ABOUT = re.compile(
    r"^\s*(?:about|around|roughly|approx\w*\.?|circa|ca\.?|nearly|almost|say|maybe|[~≈])\s*(?=[0-9.½¼¾])",
    re.I,
)


def read_typed(question: Question, text: str) -> Understood:
    """A figure or a note as its question takes it, or why not."""
    try:
        return Understood(read_answer(question, text, bare=True))
    except Refused as error:
        return Understood(None, refused=error)


def typed_number(question: Question, text: str, words: list[str]) -> Understood:
    """A measure or a count, with or without its unit; an estimate is asked back."""
    if _ABOUT.match(text):
        return Understood(
            None,
            refused=Refused(
                f'"{text.strip()}" is an estimate',
                "Measure it, or type `unsure`. To put an estimate on record type `basis assumed`, then the number alone.",
            ),
        )
    text = text.strip().rstrip(".!,;").rstrip()
    if question.kind == "count" and not odd(text):
        text = _counted(question, text, words)
    return read_typed(question, text)


def _counted(question: Question, text: str, words: list[str]) -> str:
    """The number of a count typed in words, alone or with what is counted: "two", "2 joints", "none"."""
    counted = re.match(r"how many (\w+)", question.ask, re.I)
    thing = words_of(counted[1]) if counted else []
    named = len(words) == 2 and words[1:] == thing
    if named:
        words, text = words[:1], text.split()[0]
    if words == ["none"] or (named and words == ["no"]):
        return "0"
    return str(NUMBERS[words[0]]) if len(words) == 1 and words[0] in NUMBERS and text.isalpha() else text
