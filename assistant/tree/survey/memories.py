"""The memories of one run, numbered, with every single thing known numbered too.

Invariant: two ways on which the same is known, as far as anything still looks at it, have memories of the same number. Since
what is known at a place can be a stretch of numbers, it is compared once and by its own number from then on.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from assistant.tree.survey.frame import Frame
from assistant.tree.survey.known import Known, Memory

__all__ = ["NO_CHANGE", "Change", "Memories"]

GONE = -1
"""In place of what nothing looks at any more."""


class Change(NamedTuple):
    """What is known anew after a move."""

    facts: tuple[int, ...]
    places: frozenset[str]


NO_CHANGE = Change((), frozenset())


class Memories:
    """What is known on the ways of one run."""

    def __init__(self, frame: Frame) -> None:
        self.frame = frame
        self.all: list[Memory] = []
        """Each memory at its number."""
        self.facts: list[tuple[str, Known]] = []
        """What can be known at a place, each at its number."""
        self.places: list[str] = []
        """The place of each fact."""
        self.known: list[tuple[int, ...]] = []
        """The facts of each memory."""
        self.fact_numbers: dict[tuple[str, Known], int] = {}
        self.numbers: dict[tuple[int, ...], int] = {}
        self.stay: dict[str, _Staying] = {}
        """By step, what is left of a fact there."""

    def fact(self, place: str, known: Known) -> int:
        """The number of one thing known."""
        number = self.fact_numbers.setdefault((place, known), len(self.facts))
        if number == len(self.facts):
            self.facts.append((place, known))
            self.places.append(place)
        return number

    def change(self, changes: Iterable[tuple[str, Known]]) -> Change:
        """What a move makes known."""
        facts = tuple(self.fact(place, known) for place, known in changes)
        return Change(facts, frozenset(self.places[fact] for fact in facts)) if facts else NO_CHANGE

    def number(self, memory: Memory) -> int:
        """The number of a memory."""
        return self.numbered([self.fact(place, known) for place, known in memory])

    def numbered(self, facts: list[int]) -> int:
        """The number of the memory that holds these facts."""
        facts.sort()
        key = tuple(facts)
        number = self.numbers.get(key)
        if number is None:
            number = self.numbers[key] = len(self.all)
            self.known.append(key)
            self.all.append(tuple(sorted((self.facts[fact] for fact in key), key=lambda pair: pair[0])))
        return number

    def at(self, number: int, places: frozenset[str]) -> tuple[int, ...]:
        """What a memory holds of these places."""
        return tuple([fact for fact in self.known[number] if self.places[fact] in places])

    def after(self, step: str, number: int, change: Change) -> int:
        """What is known at a step, after one at which this memory was and a move that changed it."""
        stay = self.stay.get(step)
        if stay is None:
            stay = self.stay[step] = _Staying(self, step)
        known, places, gone = self.known[number], self.places, change.places
        if gone:
            left = [stays for fact in known if places[fact] not in gone and (stays := stay[fact]) != GONE]
            left += [stays for fact in change.facts if (stays := stay[fact]) != GONE]
        else:
            left = [stays for fact in known if (stays := stay[fact]) != GONE]
        return self.numbered(left)


class _Staying(dict[int, int]):
    """What is left of each fact at a step: itself, one that is taken alike from there on, or nothing."""

    def __init__(self, memories: Memories, step: str) -> None:
        super().__init__()
        self.memories, self.step = memories, step

    def __missing__(self, fact: int) -> int:
        left = self.memories.frame.remember(self.step, (self.memories.facts[fact],))
        self[fact] = self.memories.fact(*left[0]) if left else GONE
        return self[fact]
