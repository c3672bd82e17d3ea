"""One of two editions, as it is walked beside the other."""

from __future__ import annotations

from collections.abc import Mapping

from assistant.tree.compare.sameness import Sameness
from assistant.tree.model import Each, Question, Visit
from assistant.tree.survey.bits import Bits
from assistant.tree.survey.count import count
from assistant.tree.survey.frame import Frame
from assistant.tree.survey.graph import Exit, Explorer, Graph, Node, Survey, TooMany, Way
from assistant.tree.survey.known import Memory
from assistant.tree.survey.shortest import Shortest
from assistant.tree.tree import Tree, ways_on

__all__ = ["Edition", "Sameness", "Side"]


class Edition:
    """One edition: its tree, and what was surveyed of it so far."""

    def __init__(self, tree: Tree, bits: Bits) -> None:
        self.tree = tree
        self.survey = Survey(tree, bits)
        self.sides: dict[tuple[object, ...], Side] = {}
        self.shortest = Shortest(self.survey)

    @property
    def loose(self) -> bool:
        """Whether a step was passed that cannot be followed."""
        return any(side.explorer.loose for side in self.sides.values())

    def side(self, frame: Frame) -> Side:
        """One run of a tree of this edition."""
        if frame.key not in self.sides:
            self.sides[frame.key] = Side(self, frame)
        return self.sides[frame.key]


class Side:
    """One run of a tree, walked beside one of the other edition."""

    def __init__(self, edition: Edition, frame: Frame) -> None:
        self.edition = edition
        self.frame = frame
        self.explorer = Explorer(edition.survey, frame)
        self.kept: dict[tuple[str, int, Memory], list[Way]] = {}
        self.index = {name: number for number, name in enumerate(frame.order)}
        self.counts: Mapping[Node | Exit, Mapping[int, int]] = {}
        self.numbers: dict[Memory, int] = {}
        self.onward: dict[str, int] = {}
        for name in reversed(frame.order):
            mask = 1 << self.index[name]
            for way in ways_on(frame.tree.steps[name]):
                mask |= self.onward.get(way, 0)
            self.onward[name] = mask

    def asks(self, step: str) -> bool:
        """Whether a step is a question that is asked in this run."""
        found = self.frame.tree.steps.get(step)
        return isinstance(found, Question) and step not in self.frame.linked

    def visits(self, step: str) -> bool:
        """Whether a step runs another tree."""
        return isinstance(self.frame.tree.steps.get(step), Visit | Each)

    def ends(self, step: str) -> bool:
        """Whether this is no step any more."""
        return step not in self.frame.tree.steps

    def ahead(self, step: str, other: str) -> bool:
        """Whether a step can still come, at this one or after it."""
        number = self.index.get(other)
        return number is not None and bool(self.onward.get(step, 0) >> number & 1)

    def ways(self, step: str, at: int, memory: Memory) -> list[Way]:
        """The ways on from a step."""
        cut = self.frame.remember(step, memory)
        key = (step, at, cut)
        if key not in self.kept:
            self.kept[key] = list(self.explorer.ways(Node(step, at, self.explorer.number(cut))))
        return self.kept[key]

    def graph(self) -> Graph:
        """Everything that can follow in this run by itself."""
        return self.edition.survey.run(self.frame)

    def counted(self) -> Mapping[Node | Exit, Mapping[int, int]]:
        """The ways from each node of that graph, by what is found on them."""
        if not self.counts:
            self.counts = count(self.edition.survey, self.graph(), keep=True)
        return self.counts

    def node(self, step: str, at: int, memory: Memory) -> Node:
        """The node of that graph for what is known. Raises `TooMany` where it is not found again."""
        graph, cut = self.graph(), self.frame.remember(step, memory)
        if not self.numbers:
            self.numbers = {one: number for number, one in enumerate(graph.memories)}
        found = Node(step, at, self.numbers.get(cut, -1))
        if found not in graph.edges:
            raise TooMany
        return found
