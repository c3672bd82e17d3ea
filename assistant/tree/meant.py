"""What was meant by a name that is not there: its spelling, its title in place of its id, or several names in one.

Invariant: a name that is offered is one of those there are.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence
from difflib import SequenceMatcher

from assistant.tree.mistakes import nearest

__all__ = ["LOWER_CASE", "alike", "end_meant", "same_words", "several_meant", "titled"]

LOWER_CASE = "Ids are written in lower case."
_HEAD = re.compile(
    r"\W*(?:question|recall|working|visit|each|step|finding|source|requirement|verdict|answer|tree)s?"
    r"(?:\s*[.:/]\s*|\s+)(.+?)\W*",
    re.IGNORECASE,
)
"""A name with the kind of its table before it, as in a header."""
_BETWEEN = re.compile(r"\s*[,;/+&|]\s*|\s+and\s+|\s+or\s+", re.IGNORECASE)
_END = frozenset(
    {"end", "theend", "endofthetree", "finish", "finished", "fin", "done", "stop", "exit", "quit", "none", "nothing",
     "ready", "verdict", "verdicts", "theverdict", "last"}
)  # fmt: skip
"""How a way to the end is written by those who do not know its word."""


def _letters(text: str) -> str:
    return "".join(sign for sign in text.casefold() if sign.isalnum())


def alike(name: str, among: Collection[str]) -> str | None:
    """The name that differs from this one only in its capitals and signs, or in the kind written before it."""
    names = {_letters(one): one for one in reversed(list(among))}
    found = names.get(_letters(name))
    head = _HEAD.fullmatch(name[:200])
    return found or (names.get(_letters(head[1])) if head else None)


def same_words(text: str, other: str) -> bool:
    """Whether two texts say the same, but for a slip of the pen."""
    one, two = _letters(text[:400]), _letters(other[:400])
    if not one or not two or abs(len(one) - len(two)) > 4:
        return one == two != ""
    return one == two or (min(len(one), len(two)) > 7 and SequenceMatcher(None, one, two).ratio() > 0.9)


def titled(text: str, words: Mapping[str, Sequence[str]]) -> str | None:
    """The id of what is called by this title; `words` are the titles of each."""
    return next((name for name, said in words.items() if any(same_words(text, one) for one in said)), None)


def several_meant(text: str, among: Collection[str]) -> list[str] | None:
    """The names that one text holds, with commas or the like between them; None where it is not several."""
    parts = [part for part in _BETWEEN.split(text.strip(" \t[]\"'")) if part]
    if len(parts) < 2:
        return None
    found = [alike(part, among) or nearest(part, among) for part in parts[:20]]
    return [one for one in found if one] if all(found) and len(set(found)) == len(parts) else None


def end_meant(target: str) -> bool:
    """Whether a way on that leads nowhere is most likely the end."""
    return _letters(target) in _END
