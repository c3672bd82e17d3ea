"""One run of a tree: what it is handed, what is looked at where, and what has to be reported when it ends.

Invariant: `live[step]` names every place that this step, or any that can follow it, looks at, or that is looked at from
outside once the tree has ended.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import islice

from assistant.tree.bands import Cut, Stretch
from assistant.tree.model import NOT_SURE, Each, Question, Recall, Working
from assistant.tree.survey.known import Known, Memory
from assistant.tree.tree import Tree, each_items, ways_on
from assistant.workings import registry

__all__ = ["Frame", "in_order"]

MOST_ALIKE = 40
"""Recalls of one question that are asked whether they take its answers alike; more are not worth the while."""


@dataclass(frozen=True)
class Frame:
    """A tree to be run, with the answers that are handed to it."""

    tree: Tree
    places: tuple[tuple[str, str], ...] = ()
    """The questions that are answered from outside, each with the place of its answer."""
    entry: Memory = ()
    report: frozenset[str] = frozenset()
    """Places that are looked at from outside after the end."""
    key: tuple[object, ...] = field(init=False, compare=False, default=())

    def __post_init__(self) -> None:
        object.__setattr__(self, "key", (self.tree.id, self.places, self.entry, self.report))

    @cached_property
    def linked(self) -> dict[str, str]:
        """The places of the questions that are answered from outside."""
        return dict(self.places)

    def place(self, question: str) -> str:
        """Where the answer to a question, or to one of a visited tree, is remembered."""
        return self.linked.get(question, question)

    def looks(self, name: str) -> Iterator[str]:
        """The places that a step looks back at."""
        step = self.tree.steps[name]
        if isinstance(step, Question):
            if name in self.linked:
                yield self.linked[name]
        elif isinstance(step, Recall):
            yield self.place(step.question)
        elif isinstance(step, Working):
            yield from (place for _, place in self.inputs(step))
            signature = self.signature(step)
            if signature in self.shared:
                yield signature
        else:
            yield from map(self.place, step.given.values())
            if isinstance(step, Each):
                yield self.place(step.count or step.over or "")

    def inputs(self, working: Working) -> Iterator[tuple[str, str]]:
        """The inputs of a working that matter to its survey, each with its place.

        Where a working can be followed through stretches of numbers these are all it is given, otherwise those alone
        which it cannot do without.
        """
        calculation = registry.find(working.run)
        exact = self.followed(working)
        for wanted in calculation.inputs:
            for key in working.give.get(wanted.name, ()):
                if exact or wanted.required:
                    yield wanted.name, key if key.endswith(".*") else self.place(key)

    @staticmethod
    def followed(working: Working) -> bool:
        """Whether a working is given no list, so that its result follows from what is known of single answers."""
        return not any(key.endswith(".*") for keys in working.give.values() for key in keys)

    @staticmethod
    def signature(working: Working) -> str:
        """What is the same for workings that must give the same result."""
        given = sorted((name, *keys) for name, keys in working.give.items())
        return f"={working.run} {working.branch_on} {given} {sorted(working.set.items(), key=str)}"

    @cached_property
    def lookers(self) -> dict[str, int]:
        """For each place the steps that look at it, as bits by their place in `order`; the first bit: outside."""
        lookers = dict.fromkeys(self.report, 1)
        for index, name in enumerate(self.order, 1):
            for place in self.looks(name):
                lookers[place] = lookers.get(place, 0) | 1 << index
        return lookers

    @cached_property
    def ahead(self) -> dict[str, int]:
        """For each step those from it on, itself included, that look at anything, as bits like those of `lookers`."""
        looking = 0
        for mask in self.lookers.values():
            looking |= mask
        ahead = {"end": 1}
        for index, name in reversed(list(enumerate(self.order, 1))):
            seen = looking & (1 << index)
            for way in ways_on(self.tree.steps[name]):
                seen |= ahead.get(way, 0)
            ahead[name] = seen
        return ahead

    def live(self, step: str) -> frozenset[str]:
        """The places still looked at from a step on, or outside."""
        ahead = self.ahead.get(step, 0)
        return frozenset(place for place, mask in self.lookers.items() if mask & ahead)

    def remember(self, step: str, memory: Memory, changes: Sequence[tuple[str, Known]] = ()) -> Memory:
        """What is known at a step: cut down to what is still looked at, answers that are looked at alike made one."""
        if not memory and not changes:
            return memory
        ahead, kept = self.ahead.get(step, 0), dict(memory)
        kept.update(changes)
        found = []
        for place, known in kept.items():
            mask = self.lookers.get(place, 0) & ahead
            if mask:
                if isinstance(known, str):
                    known = self.alike(place, mask).get(known, known)
                elif isinstance(known, Stretch):
                    known = self.same_stretch(place, mask, known)
                found.append((place, known))
        found.sort(key=lambda item: item[0])
        return tuple(found)

    def alike(self, place: str, mask: int) -> dict[str, str]:
        """For the answers of a choice one that stands for all that the steps of this mask take alike."""
        found = self._alike.get((place, mask))
        if found is None:
            found = self._alike[place, mask] = dict(self._merged(place, mask))
        return found

    def same_stretch(self, place: str, mask: int, known: Stretch) -> Stretch:
        """For a stretch that lies in one band of every recall of this mask one that stands for all that lie in the same."""
        recalls = self._recalls(place, mask, ("measure", "count"))
        if recalls is None:
            return known
        bands = []
        for recall in recalls:
            lies = [n for n, _ in islice(self.cut(recall).met(known), 2)]
            if len(lies) > 1:
                return known
            bands.append(tuple(lies))
        return self._stretches.setdefault((place, mask, tuple(bands)), known)

    def cut(self, recall: Recall) -> Cut:
        """The bands of a recall, ready to be met."""
        found = self._cuts.get(id(recall))
        if found is None:
            found = self._cuts[id(recall)] = Cut(recall.band)
        return found

    @cached_property
    def _cuts(self) -> dict[int, Cut]:
        return {}

    @cached_property
    def _stretches(self) -> dict[object, Stretch]:
        return {}

    def _recalls(self, place: str, mask: int, kinds: Collection[str]) -> list[Recall] | None:
        """The recalls that this mask stands for; None where something else looks at the place, or from outside."""
        question = self.tree.file.question.get(place)
        if mask & 1 or question is None or question.kind not in kinds or place in self.linked.values():
            return None
        if mask.bit_count() > MOST_ALIKE:
            return None
        steps = [self.tree.steps[name] for name in self.named(mask)]
        recalls = [step for step in steps if isinstance(step, Recall)]
        return recalls if len(recalls) == len(steps) else None

    @cached_property
    def _alike(self) -> dict[tuple[str, int], dict[str, str]]:
        return {}

    def _merged(self, place: str, mask: int) -> Iterator[tuple[str, str]]:
        recalls = self._recalls(place, mask, ("choice",))
        if recalls is None:
            return
        question = self.tree.file.question[place]
        first: dict[tuple[object, ...], str] = {}
        for answer in [*(answer.id for answer in question.answer), NOT_SURE]:
            taken = tuple(_taken(recall, answer) for recall in recalls)
            yield answer, first.setdefault(taken, answer)

    def named(self, mask: int) -> Iterator[str]:
        """The steps that these bits stand for, in their order; without the first bit, which stands for none."""
        mask &= ~1
        while mask:
            lowest = mask & -mask
            yield self.order[lowest.bit_length() - 2]
            mask ^= lowest

    @cached_property
    def shared(self) -> frozenset[str]:
        """The signatures of several workings that must give the same result."""
        signatures = Counter(map(self.signature, self.tree.file.working.values()))
        return frozenset(one for one, times in signatures.items() if times > 1)

    @cached_property
    def order(self) -> list[str]:
        """The steps reached from the first, each after all that lead to it."""
        return in_order(self.tree)

    @cached_property
    def valued(self) -> frozenset[str]:
        """Places of which more is looked at than whether they were answered."""
        wanted: set[str] = set(self.report) | {place for place, _ in self.entry}
        for name in self.order:
            step = self.tree.steps[name]
            if isinstance(step, Recall) and not step.band and not step.answer:
                continue
            if not isinstance(step, Working) or self.followed(step):
                wanted.update(self.looks(name))
        return frozenset(wanted)

    @cached_property
    def loosely(self) -> frozenset[str]:
        """Several questions of which only one `each` wants to know what was answered, and which find nothing themselves."""
        looked: dict[str, list[str]] = {}
        for name in self.order:
            for place in self.looks(name):
                looked.setdefault(place, []).append(name)
        loosely = set()
        for name, question in self.tree.file.question.items():
            if question.kind == "several" and name not in self.linked and name not in self.report:
                lookers = looked.get(name, [])
                step = self.tree.steps[lookers[0]] if len(lookers) == 1 else None
                simple = isinstance(step, Each) and step.over == name and name not in step.given.values()
                if simple and not any(answer.finding for answer in question.answer):
                    loosely.add(name)
        return frozenset(loosely)

    @cached_property
    def grave(self) -> frozenset[str]:
        """The findings that something is unproven or worse: an answer with one puts nothing right."""
        findings = self.tree.file.finding.items()
        return frozenset(name for name, one in findings if one.effect in ("unproven", "fails", "danger"))

    def workable(self, name: str, without: int | None = None) -> bool:
        """Whether work can bring about an answer to a question, other than the one at this index."""
        question = self.tree.file.question[name]
        rows = question.answer or question.band
        return any(
            row.put_right and self.grave.isdisjoint(row.finding)
            for index, row in enumerate(rows)
            if index != without
        )

    def items(self, each: Each) -> list[str]:
        """The names of the things that an each could run over."""
        return [item for item, _ in each_items(self.tree, each)]


def _taken(recall: Recall, answer: str) -> object:
    """What a recall does with an answer; the answer itself where it does something of its own."""
    if answer == NOT_SURE:
        if recall.not_sure is None or recall.not_sure.then is None:
            return answer
        return recall.not_sure.then, recall.not_sure.finding
    row = next((row for row in recall.answer if row.id == answer), None)
    if row is None:
        return (recall.then, ()) if recall.then is not None else answer
    return row.then or recall.then or "end", row.finding


def in_order(tree: Tree) -> list[str]:
    """The steps reached from the first, each after all that lead to it; a way that leads back is left out."""
    order: list[str] = []
    entered: set[str] = set()
    left: set[str] = set()
    waiting = [tree.file.tree.first]
    while waiting:
        name = waiting[-1]
        if name not in entered:
            entered.add(name)
            waiting.extend(w for w in ways_on(tree.steps[name]) if w in tree.steps and w not in entered)
        else:
            waiting.pop()
            if name not in left:
                left.add(name)
                order.append(name)
    order.reverse()
    return order
