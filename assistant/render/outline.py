"""The outline of a tree as plain text: every step once, in the order in which they are met, and the verdicts.

Invariant: nothing from a tree reaches the terminal as a control code, and no line is wider than asked for.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence

from assistant.render.verdict import CLASS_WORDS
from assistant.tree.model import Question
from assistant.tree.picture.measure import wrapped
from assistant.tree.picture.order import END, Order, ordered
from assistant.tree.picture.words import (
    OUTCOMES,
    Row,
    answered,
    does,
    finds,
    found_by,
    kind_of,
    plain,
    rows,
    when,
)
from assistant.tree.tree import Tree

__all__ = ["outline"]

WIDTH = 80
LEAST_WIDTH = 30
STEP_IN = 3
"""Columns that what lies in a branch is moved in."""
GLUE = "\0"
"""A space at which no line is broken; nothing from a tree can hold it."""
MOST_REASON = 150
"""Signs of a finding's reason that are shown, unless its first sentence is longer."""
SENTENCE = re.compile(r"(?<=[.!?]) (?=[A-Z])")
MOST_NAMED = 6
"""Steps that are named one by one as those that lead to another."""
COUNTED = {
    "question": ("question", "questions"),
    "recall": ("look-back", "look-backs"),
    "working": ("working", "workings"),
    "visit": ("visit", "visits"),
    "each": ("tree run for several things", "trees run for several things"),
}
STANDING = {"published": "published", "common-practice": "common practice", "memory": "from memory"}


def outline(tree: Tree, width: int = WIDTH) -> str:
    """A tree from its title to its verdicts, in lines of at most `width` columns (30 at least)."""
    page = _Page(tree, max(width, LEAST_WIDTH))
    return (
        "\n".join(line.rstrip() for line in (*page.head(), *page.steps(), *page.findings(), *page.verdicts()))
        + "\n"
    )


class _Page:
    def __init__(self, tree: Tree, width: int) -> None:
        self.tree = tree
        self.file = tree.file
        self.width = width
        self.order: Order = ordered(tree)
        self.deepest = (width // 4) // STEP_IN
        self.after = dict(zip(self.order.numbers, [*self.order.numbers][1:], strict=False))
        self.sources: dict[str, list[str]] = {}
        for name in self.order.numbers:
            for way in self.order.ways[name]:
                self.sources.setdefault(way, []).append(name)

    def told(self, text: str, first: str = "", rest: str | None = None) -> Iterator[str]:
        """A text wrapped to the page, `first` before its first line and `rest` before the others."""
        rest = " " * len(first) if rest is None else rest
        for number, line in enumerate(wrapped(text, self.width - max(len(first), len(rest)))):
            yield (rest if number else first) + line.replace(GLUE, " ")

    def head(self) -> Iterator[str]:
        """What the tree is for and what it is made of."""
        about = self.file.tree
        yield from self.told(f"{plain(about.title)} ({about.id}, edition {plain(about.edition)})")
        yield ""
        yield from self.told(plain(about.purpose))
        yield from self.told(plain(about.applies_to), "For: ", "     ")
        yield from self.told(plain(about.place), "Place: ")
        if about.review_by:
            yield from self.told(plain(about.review_by), "Review by: ")
        yield ""
        yield "REQUIREMENTS"
        for requirement in self.file.requirement.values():
            yield from self.told(f"{plain(requirement.title)}: {plain(requirement.means)}", "  ", "    ")
        yield ""
        standing = Counter[str](source.standing for source in self.file.source.values())
        parts = ", ".join(f"{standing[key]} {words}" for key, words in STANDING.items() if standing[key])
        yield from self.told(f"{standing.total()} ({parts})" if parts else "none", "Sources: ")
        kinds = Counter(kind_of(step) for step in self.tree.steps.values())
        made = ", ".join(
            f"{kinds[key]} {words[kinds[key] > 1]}" for key, words in COUNTED.items() if kinds[key]
        )
        yield from self.told(f"{len(self.tree.steps)} ({made})", "Steps: ")
        yield ""

    def steps(self) -> Iterator[str]:
        """Every step in order; what lies in a branch is moved in."""
        yield "STEPS"
        yield from self.told(
            'A step leads to the one that "→" names. What only some answers lead to is moved in. In brackets: what an '
            "answer finds. Of all that is found on one requirement, the gravest counts."
        )
        before = ""
        for name, number in self.order.numbers.items():
            yield ""
            yield from self.step(name, number, before)
            before = name

    def step(self, name: str, number: int, before: str) -> Iterator[str]:
        """One step: how it is reached, what it does, and where each answer leads."""
        step = self.tree.steps[name]
        margin = " " * (STEP_IN * min(self.order.levels[name], self.deepest))
        head = f"{name} ({answered(step)})" if isinstance(step, Question) else name
        begin = f"{margin}{number}. "
        margin = " " * len(begin)
        yield from self.told(f"{head}{self.reached(name, before)}", begin)
        yield from self.told(does(self.tree, step), margin)
        found = rows(self.tree, step)
        same = {row.then for row in found if row.then} if all(row.then for row in found) else set()
        joint = len(same) == 1
        for row in found:
            if row.says:
                yield from self.told(self.row(name, row, not joint), f"{margin}- ")
        if joint:
            yield from self.told(self.onwards(name, same.pop()), f"{margin}→ ")

    def findings(self) -> Iterator[str]:
        """Every finding once: what it says of which requirement, which steps come to it, and why."""
        if not self.file.finding:
            return
        sources: dict[str, list[int]] = {}
        for step, number in self.order.numbers.items():
            for name in found_by(self.tree, self.tree.steps[step]):
                sources.setdefault(name, []).append(number)
        yield ""
        yield "FINDINGS"
        for name, finding in self.file.finding.items():
            [found] = finds(self.tree, [name])
            likely = f", likely class {CLASS_WORDS[finding.unsafe]}" if finding.unsafe else ""
            yield ""
            yield from self.told(f"{name} [{found.says}]{likely}{_from(sources.get(name, []))}", "- ", "  ")
            yield from self.told(_in_short(plain(finding.reason)), "  ")

    def row(self, name: str, row: Row, leads: bool) -> str:
        """One answer: what it finds, and where it leads unless all lead there."""
        found = f" [{'; '.join(each.says for each in row.finds)}]" if row.finds else ""
        if row.then is None:
            return f"{row.says}{found}: every answer stays possible"
        return f"{row.says}{found} →{GLUE}{self.onwards(name, row.then)}" if leads else row.says + found

    def reached(self, name: str, before: str) -> str:
        """How a step is reached, unless it is only from the one above it."""
        sources = self.sources.get(name, [])
        if name in self.order.unreached and not sources:
            return ", which no way leads to"
        if not sources or sources == [before]:
            return ""
        return _from([self.order.numbers[one] for one in sources])

    def onwards(self, name: str, way: str) -> str:
        """Where something leads: the next step, one further on, or an end."""
        if way == END:
            return "end: the first verdict that fits"
        if way not in self.order.numbers:
            return f"at once the verdict {way.removeprefix('verdict:')}"
        if self.after.get(name) == way:
            return way
        where = "below" if self.order.numbers[way] > self.order.numbers[name] else "above"
        return f"goes on at {way}{GLUE}({self.order.numbers[way]},{GLUE}{where})"

    def verdicts(self) -> Iterator[str]:
        """The list of verdicts with when each is given."""
        yield ""
        yield "VERDICTS"
        given = _given_at_once(self.order.ways)
        if END in self.sources:
            yield from self.told("At the end, the first of these that fits is given.")
        elif not given:
            yield from self.told("None is given here: this tree is a part of others.")
        for number, verdict in enumerate(self.file.verdict, 1):
            yield ""
            begin = f"{number}. "
            margin = " " * len(begin)
            yield from self.told(f"{verdict.id}: {plain(verdict.title)}", begin)
            yield from self.told(f"{OUTCOMES[verdict.outcome]}, {when(self.tree, verdict)}", margin)
            if verdict.id in given:
                yield from self.told(f"and at once from {', '.join(given[verdict.id])}", margin)


def _from(numbers: Sequence[int]) -> str:
    """The steps that lead to something, by number, or how many where they are many."""
    if len(numbers) > MOST_NAMED:
        return f", from {len(numbers)} steps"
    *most, last = [*map(str, numbers)] or [""]
    return f", from {', '.join(most)} and {last}" if most else f", from {last}" if last else ""


def _in_short(text: str) -> str:
    """The sentences of a text that fit in so many columns, the first in any case; a mark where it goes on."""
    first, *others = SENTENCE.split(text)
    for other in others:
        if len(first) + len(other) >= MOST_REASON:
            return f"{first} …"
        first = f"{first} {other}"
    return first


def _given_at_once(ways: Mapping[str, Sequence[str]]) -> dict[str, list[str]]:
    given: dict[str, list[str]] = {}
    for name, found in ways.items():
        for way in found:
            if way.startswith("verdict:"):
                given.setdefault(way.removeprefix("verdict:"), []).append(name)
    return given
