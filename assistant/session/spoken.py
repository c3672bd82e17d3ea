"""Typed text as words that can be compared, and what kinds of words there are.

Invariant: every sign of a text counts. A sign or word that is not known to be harmless is doubt, never noise.
"""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

__all__ = [
    "CONTRASTS", "DENIALS", "HARMLESS", "HEDGES", "NUMBERS", "OPENERS", "SCOPE", "SMALL", "TURNING", "UNDONE", "bare",
    "denies", "numbered", "odd", "says_unsure", "spans", "words_of", "yes_or_no",
]  # fmt: skip

_COUNTED = (
    "zero",
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
)
NUMBERS = {word: number for number, word in enumerate(_COUNTED)}
_DIGITS = {str(number): word for word, number in NUMBERS.items()}

_WORD = re.compile(r"[^\W_]+")
_ODD = re.compile(r"[^\w\s.,;:'\"()/&+%°–—-]|!(?!\s*$)|_")
_KEPT = frozenset(
    ("this", "gas", "sounds", "always", "across", "perhaps", "yes", "plus", "its", "is", "was", "has")
)


def words_of(text: str) -> list[str]:
    """The words in lower case: "isn't" in one piece, plurals cut back, small numbers spelled out."""
    return list(_words_of(text))


@lru_cache(maxsize=4096)
def _words_of(text: str) -> tuple[str, ...]:
    text = unicodedata.normalize("NFKC", text).casefold().translate({0x2019: "'", 0x2018: "'", 0x2032: "'"})
    text = text.replace("n't", "nt")
    text = re.sub(r"'(?:s|m|re|ve)\b", "", text).replace("'", "")
    return tuple(_DIGITS.get(word, _singular(word)) for word in _WORD.findall(text))


def _singular(word: str) -> str:
    if word in _KEPT or len(word) < 4 or not word.endswith("s") or word.endswith("ss"):
        return word
    if word.endswith("ies") and len(word) > 4:
        return f"{word[:-3]}y"
    return word[:-2] if word.endswith(("xes", "ches", "shes", "sses")) else word[:-1]


def _each(words: str) -> frozenset[str]:
    return frozenset(word for one in words.split() for word in words_of(one))


DENIALS = _each(
    "no not never none nothing nobody nowhere without isn't aren't wasn't weren't doesn't don't didn't can't cannot "
    "couldn't wouldn't won't shouldn't hasn't haven't hadn't mustn't needn't ain't nor neither missing lacks lacking "
    "lack minus non hardly barely scarcely except but nope nah rather instead unless anything false untrue wrong"
)
"""Words that turn what stands beside them round."""

CONTRASTS = _each("but except unless instead rather though although however")
"""Words after which something else follows than what came before."""

UNDONE = _each("removed gone fallen fell sheared snapped broken lost absent undone out apart was were had un")
"""Words that say of a thing that it is no longer there, or no longer so."""

TURNING = ("un", "non", "dis", "de")
"""Beginnings that turn the rest of a word round: "unscrewed"."""

HEDGES = _each(
    "maybe perhaps probably possibly might guess think thought reckon assume assumed suppose supposed either or may "
    "should would could can must need looks look seems seem sounds appears feels believe likely unlikely nearly almost "
    "about roughly if though although however was were had been used meant expect hope doubt unsure sure"
)
"""Words that leave open whether what stands beside them holds."""

SMALL = _each("a an the it its is are this that these those i im we am of be theyre")
"""Words that make no difference to an answer, whether typed or not."""

HARMLESS = SMALL | _each(
    "in on at by with for has have got there held see seen found present and my our they them he she "
    "two three four five six couple flue boiler appliance"
)
"""Words that may stand beside an answer without casting doubt on it."""

SCOPE = _each(
    "inside outside inner outer indoors outdoors internal external in out top bottom left right front back upper lower "
    "up down off on part partly side sides half one end some do does did come again other far much clear out only"
)
"""Words that can bound or turn an answer, so that a question's having them makes them no less telling."""

OPENERS = DENIALS - _each("missing lacks lacking lack nothing nobody nowhere")
"""Words that turn round what follows them, so that alone they are no answer in the midst of a text."""

_PADDING = _each(
    "really honestly honest sorry at all to be mate just still yet afraid quite very from here me you one"
)

UNSURE = frozenset(
    " ".join(words_of(phrase))
    for phrase in (
        "not sure", "I'm not sure", "I am not sure", "unsure", "don't know", "I don't know", "do not know", "dont know",
        "I do not know", "dunno", "no idea", "no clue", "not a clue", "haven't a clue", "have not a clue", "can't tell",
        "cannot tell", "can not tell", "couldn't tell", "could not tell", "can't say", "cannot say", "can't see",
        "cannot see", "can not see", "can't see it", "cannot see it", "unknown", "not known", "not certain", "uncertain",
        "unclear", "not sure about this", "hard to say", "hard to tell", "impossible to say",
        "impossible to tell", "no way of knowing", "no way to tell", "don't know about this one", "I couldn't say",
    )
)  # fmt: skip


def says_unsure(words: list[str]) -> bool:
    """Whether the words say "not sure", and nothing else."""
    said = {" ".join(words), " ".join(w for w in words if w not in SMALL)}
    said.add(" ".join(w for w in words if w not in _PADDING and w not in SMALL) if len(words) > 1 else "")
    return bool(said & (UNSURE | _UNSURE_BARE))


_UNSURE_BARE = frozenset(" ".join(w for w in phrase.split() if w not in SMALL) for phrase in UNSURE)


def odd(text: str) -> bool:
    """Whether the text holds a sign that could mean anything: a question mark, a cross, a tilde."""
    return _ODD.search(unicodedata.normalize("NFKC", text).replace("’", "'")) is not None


def numbered(text: str) -> int | None:
    """The number that the text is, as one picks from a list: "2", "2.", "(2)", "#2", "number 2", "option two"."""
    plain = text.strip().casefold()
    found = re.fullmatch(r"\(?(?:#|(?:number|option|answer|choice)\s+)?([0-9]{1,3}|[a-z]+)[.):]?", plain)
    if found is None:
        return None
    if found[1].isdecimal():
        return int(found[1])
    return NUMBERS.get(found[1]) if " " in plain else None


def bare(words: list[str]) -> list[str]:
    """The words without the small ones; all of them where only a denial, or nothing, would be left."""
    kept = [word for word in words if word not in SMALL]
    return words if not kept or (len(kept) < len(words) and set(kept) <= DENIALS) else kept


_YES_NO = {
    **dict.fromkeys(("y", "yes", "yep", "yeah", "yup", "aye"), "yes"),
    **dict.fromkeys(("n", "no", "nope", "nah"), "no"),
}


def yes_or_no(text: str) -> str | None:
    """The "yes" or "no" that the text is, in whichever word, where it is nothing more: "y", "Nope.", "yes it is"."""
    said = {_YES_NO.get(word, word) for word in words_of(text) if word not in SMALL}
    return said.pop() if len(said) == 1 and said <= {"yes", "no"} and not odd(text) else None


def denies(words: list[str]) -> bool:
    """Whether one of the words is a denial."""
    return not DENIALS.isdisjoint(words)


def spans(phrase: list[str], words: list[str]) -> list[tuple[int, int]]:
    """Where the phrase stands in the words, in one piece."""
    size = len(phrase)
    starts = range(len(words) - size + 1) if size else range(0)
    return [(start, start + size) for start in starts if words[start : start + size] == phrase]
