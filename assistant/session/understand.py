"""Typed words taken as an answer, or asked back; never guessed.

Invariant: a text is taken as an answer only where exactly one reading fits it and every other word of it is known to
be harmless. Whatever casts doubt (a denial, a hedge, a question mark, a word not understood) asks back.
"""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass

from assistant.errors import Refused
from assistant.session.figures import read_typed, typed_number
from assistant.session.spoken import (
    CONTRASTS,
    DENIALS,
    HARMLESS,
    HEDGES,
    NUMBERS,
    OPENERS,
    SCOPE,
    SMALL,
    TURNING,
    UNDONE,
    bare,
    denies,
    numbered,
    odd,
    says_unsure,
    spans,
    words_of,
    yes_or_no,
)
from assistant.session.understood import Understood
from assistant.tree.model import NOT_SURE, Answer, Question

__all__ = ["Understood", "understand"]

MOST_TEXT = 400
"""Characters of an answer in own words; a longer text is a story, and is asked back."""

LEAST_ALIKE = 0.78
"""How like a word of an answer a misspelt one has to be to be asked back about (0 to 1)."""

_TURNS = DENIALS | CONTRASTS | UNDONE
"""Words beside which no answer is offered alone."""


@dataclass(frozen=True)
class _Hit:
    """An answer's phrase found in the text, from one word to another."""

    answer: str
    start: int
    end: int

    def within(self, other: _Hit) -> bool:
        """Whether the other covers this one and more."""
        return (
            other.start <= self.start
            and self.end <= other.end
            and other.end - other.start > self.end - self.start
        )


def understand(question: Question, text: str) -> Understood:
    """Take typed words as an answer to the question, or say between which answers they leave it."""
    if question.kind == "note":
        return _note(question, text)
    if len(text) > MOST_TEXT:
        return Understood(None)
    words = words_of(text)
    if not words:
        return Understood(None)
    exact = _exact(question, words)
    if text.strip() == NOT_SURE or (not exact and not odd(text) and says_unsure(words)):
        return Understood(None if question.must_answer else NOT_SURE, refused=_must(question))
    if question.kind in ("measure", "count"):
        return typed_number(question, text, words)
    taken = _several(question, text) if question.kind == "several" else _choice(question, text)
    if taken.value is not None or taken.refused is not None or len(taken.among) > 1:
        return taken
    if _turned_round(question, words) or (taken.among and not _TURNS.isdisjoint(words)):
        return Understood(None, _all(question))
    return taken


def _must(question: Question) -> Refused | None:
    if not question.must_answer:
        return None
    return Refused("this one has to be answered before the next can be asked", "`how` tells how to find out.")


def _note(question: Question, text: str) -> Understood:
    if text.strip() == NOT_SURE or says_unsure(words_of(text[:MOST_TEXT])):
        return Understood(None if question.must_answer else NOT_SURE, refused=_must(question))
    return read_typed(question, text.strip())


def _several(question: Question, text: str) -> Understood:
    whole = _choice(question, text)
    if isinstance(whole.value, str):
        return Understood((whole.value,))
    if words_of(text) in (["none"], ["none", "of", "these"], ["none", "of", "them"], ["nothing"]) and not odd(
        text
    ):
        return Understood(())
    parts = re.split(r"[,;+&]|\band\b|\bplus\b", text) if not re.fullmatch(r"[\d\s]+", text) else text.split()
    chosen: list[str] = []
    among: list[str] = []
    doubt = False
    for part in filter(str.strip, parts):
        one = _choice(question, part)
        if one.refused is not None:
            return one
        doubt = doubt or one.value is None
        chosen += [one.value] if isinstance(one.value, str) else []
        among += one.among
    if doubt or not chosen:
        return Understood(None, _in_order(question, {*among, *(chosen if among else ())}))
    return Understood(_in_order(question, set(chosen)))


def _choice(question: Question, text: str) -> Understood:
    if question.answer_of(text.strip()):
        return Understood(text.strip())
    number = numbered(text)
    if number is not None:
        return _picked(question, number)
    lead = re.match(r"\s*\(?([0-9]{1,2})\s*[.):]\s*(.+)$", text, re.S)
    if lead:
        picked, said = _picked(question, int(lead[1])), _choice(question, lead[2])
        if picked.value is None or picked.value == said.value:
            return picked
        return Understood(None, _in_order(question, {str(picked.value), *_named(said)}))
    words = words_of(text)
    plain = yes_or_no(text) if len(words) == 1 else None
    words = [plain] if plain else words
    exact = _exact(question, words)
    doubt = odd(text)
    if len(exact) == 1 and not doubt:
        return Understood(exact[0])
    hits = _hits(question, text, bare(words))
    found = {hit.answer for hit in hits}
    if len(found) == 1 and not exact and not doubt and _clear(question, text, bare(words), hits):
        return Understood(found.pop())
    if exact or len(found) > 1:
        return Understood(None, _in_order(question, found | set(exact)))
    if found and denies(_left(bare(words), hits)):
        parted = re.search(r"[,;:.–—]\s|\s-\s", text) is not None or not CONTRASTS.isdisjoint(words)
        return Understood(None, tuple(a.id for a in question.answer if parted or a.id not in found))
    if plain:
        return Understood(None, _all(question))
    return Understood(None, _in_order(question, found or _near(question, text, words)))


def _picked(question: Question, number: int) -> Understood:
    if 1 <= number <= len(question.answer):
        return Understood(question.answer[number - 1].id)
    return Understood(
        None,
        refused=Refused(f"there is no answer {number}", f"The answers are 1 to {len(question.answer)}."),
    )


def _phrases(answer: Answer) -> list[list[str]]:
    return [bare(words_of(phrase)) for phrase in (answer.id, answer.says, *answer.also)]


def _exact(question: Question, words: list[str]) -> list[str]:
    """The answers that have these words as one of their phrases."""
    return [answer.id for answer in question.answer if bare(words) in _phrases(answer)]


def _hits(question: Question, text: str, words: list[str]) -> list[_Hit]:
    """Every phrase of an answer in the words, save those inside a longer one of another answer.

    A phrase that ends in a word of denial ("no", "does not") turns round what follows it, so that it is an answer of
    its own only at the end of the text, or where the text sets it off at its beginning: "no, it stays".
    """
    set_off = re.match(r"\s*\w+\s*[,;.:–—-]\s", text) is not None
    hits = [
        _Hit(answer.id, start, end)
        for answer in question.answer
        for phrase in _phrases(answer)
        for start, end in spans(phrase, words)
        if phrase[-1] not in OPENERS
        or (len(phrase) == 1 and set_off and start == 0)
        or (len(phrase) > 1 and end == len(words))
    ]
    return [
        hit for hit in hits if not any(hit.answer != other.answer and hit.within(other) for other in hits)
    ]


def _left(words: list[str], hits: list[_Hit]) -> list[str]:
    """The words that no hit covers; of two that overlap the longer one counts, so that no word serves twice."""
    covered: set[int] = set()
    for hit in sorted(hits, key=lambda one: one.start - one.end):
        places = set(range(hit.start, hit.end))
        if covered.isdisjoint(places) or places <= covered:
            covered |= places
    return [word for place, word in enumerate(words) if place not in covered]


def _clear(question: Question, text: str, words: list[str], hits: list[_Hit]) -> bool:
    """Whether every word beside the hits is known to be harmless, or is one of the question's own."""
    harmless = HARMLESS | (set(words_of(question.ask)) - DENIALS - HEDGES - SCOPE)
    answer = question.answer_of(hits[0].answer)
    if answer is not None and any(phrase[0] == "yes" for phrase in _phrases(answer)):
        harmless |= {"yes"}
    if any(hit.end - hit.start == 1 and words[hit.start] in DENIALS and _apart(hit, hits) for hit in hits):
        return False  # "nothing unsealed": two denials may take each other back
    if all(hit.end - hit.start == 1 and words[hit.start] in ("yes", "no") for hit in hits):
        harmless = SMALL | ({words[hit.start] for hit in hits} & {"yes"})  # "yes, there": half of it, or all?
    left = _left(words, hits)
    if re.search(r"[0-9]", text) and any(word in NUMBERS for word in left):
        return False  # "2 screws": a count, or the second answer?
    return harmless.issuperset(left)


def _apart(hit: _Hit, hits: list[_Hit]) -> bool:
    """Whether another hit stands elsewhere in the text."""
    return any(other.end <= hit.start or other.start >= hit.end for other in hits)


def _near(question: Question, text: str, words: list[str]) -> set[str]:
    """The answers that share a word with the text, or have one much like a misspelt one; a number names its answer."""
    said = set(words) - DENIALS - HEDGES - HARMLESS - set(words_of(question.ask))
    near = set() if said else _half(question, words)
    for answer in question.answer:
        own = {word for phrase in _phrases(answer) for word in phrase} - DENIALS - HARMLESS
        if said & own or any(_misspelt(word, own) for word in said):
            near.add(answer.id)
    numbers = {int(number) for number in re.findall(r"(?<![0-9.])[0-9]{1,2}(?![0-9.])", text)}
    near |= {answer.id for place, answer in enumerate(question.answer, 1) if place in numbers}
    return near


def _half(question: Question, words: list[str]) -> set[str]:
    """The answers that begin with the text, where it has no telling word: "there" of "There, and whole"."""
    said = bare(words)
    return {a.id for a in question.answer if said and bare(words_of(a.says))[: len(said)] == said}


def _misspelt(word: str, own: set[str]) -> bool:
    """Whether the word is much like one of these: about as long, or with the same ends ("tape" is no "tapper")."""
    if len(word) < 4:
        return False
    alike = [one for one in own if abs(len(one) - len(word)) <= 1 or (one[0], one[-1]) == (word[0], word[-1])]
    return bool(difflib.get_close_matches(word, alike, 1, LEAST_ALIKE))


def _turned_round(question: Question, words: list[str]) -> bool:
    """Whether a word is an answer's own turned round: "unscrewed"."""
    own = {word for answer in question.answer for phrase in _phrases(answer) for word in phrase}
    rests = {
        word.removeprefix(turn) for word in set(words) - own for turn in TURNING if word.startswith(turn)
    }
    return any(rest in own or _misspelt(rest, own) for rest in rests)


def _all(question: Question) -> tuple[str, ...]:
    return tuple(answer.id for answer in question.answer)


def _named(understood: Understood) -> tuple[str, ...]:
    return (understood.value,) if isinstance(understood.value, str) else understood.among


def _in_order(question: Question, ids: set[str]) -> tuple[str, ...]:
    return tuple(answer.id for answer in question.answer if answer.id in ids)
