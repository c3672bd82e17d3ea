"""Typed words taken as an answer, or asked back; never guessed.

Invariant: a text is taken as an answer only where exactly one reading fits it. A word of denial that is not part of
that reading turns it into a question back.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from assistant.errors import Refused
from assistant.tree.answers import Value, read_answer
from assistant.tree.model import NOT_SURE, Question

__all__ = ["Understood", "understand"]

MOST_TEXT = 4_000


def _words(text: str) -> list[str]:
    """The words of a text in lower case, joined forms ("isn't") kept as one, plurals cut back."""
    lowered = text.casefold().replace("’", "'").replace("n't", "nt").replace("'", "")
    return [_singular(word) for word in re.findall(r"[a-z0-9]+", lowered)]


def _singular(word: str) -> str:
    return word[:-1] if len(word) > 3 and word.endswith("s") and not word.endswith("ss") else word


DENIALS = frozenset(
    _words(
        "no not never none nothing without isn't aren't wasn't weren't doesn't don't didn't can't cannot hasn't "
        "haven't nor neither missing lacks lacking non hardly barely except but"
    )
)
HEDGES = frozenset(
    _words("maybe perhaps probably possibly might guess think reckon assume suppose either or")
)
SMALL = frozenset(_words("a an the it its is are was there s i of this that just only they them he she"))
UNSURE = frozenset(
    " ".join(_words(phrase))
    for phrase in (
        "not sure", "I'm not sure", "I am not sure", "unsure", "don't know", "I don't know", "do not know",
        "I do not know", "dunno", "no idea", "no clue", "haven't a clue", "can't tell", "cannot tell", "can not tell",
        "can't say", "cannot say", "unknown", "not known", "not certain", "unclear",
    )
)  # fmt: skip
NUMBERS = {
    word: number
    for number, word in enumerate(
        [
            "none",
            "one",
            "two",
            "three",
            "four",
            "five",
            "six",
            "seven",
            "eight",
            "nine",
            "ten",
            "eleven",
            "twelve",
        ]
    )
}


@dataclass(frozen=True)
class Understood:
    """How a typed text was taken: an answer, or the answers it might be."""

    value: Value | None
    among: tuple[str, ...] = ()
    """Answer ids to ask back about; empty where nothing came near."""
    refused: Refused | None = None
    """Why a number could not be taken."""


def understand(question: Question, text: str) -> Understood:
    """Take typed words as an answer to the question, or say between which answers they leave it."""
    words = _words(text[:MOST_TEXT])
    plain = " ".join(words)
    if not words:
        return Understood(None)
    if text.strip() == NOT_SURE or plain in UNSURE:
        return Understood(None if question.must_answer else NOT_SURE, refused=_must(question))
    if question.kind == "note":
        return Understood(text.strip())
    if question.kind in ("measure", "count"):
        return _number(question, text, plain)
    if question.kind == "several":
        return _several(question, text)
    return _choice(question, text, words)


def _must(question: Question) -> Refused | None:
    if not question.must_answer:
        return None
    return Refused(
        "This one has to be answered before the next can be asked.", "Ask `how` for how to find out."
    )


def _number(question: Question, text: str, plain: str) -> Understood:
    if question.kind == "count" and plain in NUMBERS:
        text = str(NUMBERS[plain])
    try:
        return Understood(read_answer(question, text.strip(), bare=True))
    except Refused as error:
        return Understood(None, refused=error)


def _several(question: Question, text: str) -> Understood:
    plain = " ".join(_words(text))
    if plain in ("none", "none of these", "none of them", "nothing"):
        return Understood(())
    chosen: list[str] = []
    for part in re.split(r"[,;+&]|\band\b", text):
        if not part.strip():
            continue
        one = _choice(question, part, _words(part))
        if not isinstance(one.value, str):
            return one
        chosen.append(one.value)
    return Understood(tuple(a.id for a in question.answer if a.id in chosen)) if chosen else Understood(None)


def _choice(question: Question, text: str, words: list[str]) -> Understood:
    stripped = text.strip().rstrip(".)").strip()
    if question.answer_of(stripped):
        return Understood(stripped)
    if stripped.isdecimal() and len(stripped) < 4:
        if 1 <= int(stripped) <= len(question.answer):
            return Understood(question.answer[int(stripped) - 1].id)
        return Understood(
            None,
            refused=Refused(
                f"There is no answer {int(stripped)}.", f"The answers are 1 to {len(question.answer)}."
            ),
        )
    exact, within, near = [], [], []
    for answer in question.answer:
        phrases = [_bare(_words(phrase)) for phrase in (answer.id, answer.says, *answer.also)]
        bare = _bare(words)
        if bare in phrases:
            exact.append(answer.id)
        elif any(phrase and _inside(phrase, bare) for phrase in phrases):
            within.append(answer.id)
        elif any(set(phrase) & set(bare) - DENIALS for phrase in phrases):
            near.append(answer.id)
    if len(exact) == 1:
        return Understood(exact[0])
    if len(within) == 1 and not exact and not near_denial(question, within[0], words):
        return Understood(within[0])
    return Understood(None, tuple(exact or within or near))


def near_denial(question: Question, answer_id: str, words: list[str]) -> bool:
    """Whether the text holds a denial, a hedge or an alternative that the answer's own phrases do not account for."""
    answer = question.answer_of(answer_id)
    own: set[str] = set()
    if answer is not None:
        for phrase in (answer.id, answer.says, *answer.also):
            if _inside(_bare(_words(phrase)), _bare(words)):
                own.update(_words(phrase))
    return bool((set(words) & (DENIALS | HEDGES)) - own)


def _bare(words: list[str]) -> list[str]:
    return [word for word in words if word not in SMALL] or words


def _inside(phrase: list[str], words: list[str]) -> bool:
    """Whether the phrase stands in the words, in one piece."""
    size = len(phrase)
    return any(words[start : start + size] == phrase for start in range(len(words) - size + 1))
