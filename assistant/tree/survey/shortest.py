"""A shortest way to anything that ways come to, for a witness.

Invariant: the steps of a way come in the order in which they are taken, those of visited trees among them.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from assistant.tree.model import Question
from assistant.tree.survey.count import Same
from assistant.tree.survey.frame import Frame
from assistant.tree.survey.graph import Edge, Exit, Graph, Node, Survey
from assistant.tree.survey.moves import Move

__all__ = ["Shortest", "Taken"]

UNSURE = 4
"""What "not sure" counts as, in questions: a way without it shows more plainly what is wrong."""


class Taken(NamedTuple):
    """A move taken on a way."""

    frame: Frame
    prefix: str
    node: Node
    move: Move
    bits: int
    """What it found."""
    part: str = ""
    """The thing of an each, or the visit, that is run next: "joint.2/"; empty where nothing is."""


class Best(NamedTuple):
    """The shortest way on to something."""

    length: int
    edge: Edge
    bits: int
    key: int


class Shortest:
    """Shortest ways through the graphs of one survey, worked out as they are asked for."""

    def __init__(self, survey: Survey) -> None:
        self.survey = survey
        self.done: dict[int, dict[Node, dict[int, Best]]] = {}
        self.ended: dict[tuple[int, Exit], dict[int, int]] = {}

    def to_key(self, key: int) -> list[Taken]:
        """A shortest way from the root that comes to this."""
        return list(self.along(self.survey.root, self.survey.root.root, key, ""))

    def to_node(self, node: Node) -> list[Taken]:
        """A shortest way from the root to one of its nodes."""
        graph = self.survey.root
        edges: list[tuple[Node, Edge]] = []
        came = graph.comes_from[node]
        while came is not None:
            edges.append(came)
            came = graph.comes_from[came[0]]
        taken: list[Taken] = []
        for at, edge in reversed(edges):
            taken += self.taken(graph, at, edge, self.least_bits(edge), "")
        return taken

    def least_bits(self, edge: Edge) -> int:
        """What is found along a shortest way of an edge."""
        if edge.inner is None or edge.exit is None:
            return min(edge.move.spread) if edge.move.spread else edge.move.bits
        return min(self.through(edge.inner, edge.exit).items(), key=lambda item: item[1])[0]

    def through(self, graph: Graph, exit_: Exit) -> dict[int, int]:
        """The length of a shortest way to this exit, by what is found."""
        width = self.survey.bits.width
        number = list(graph.exits).index(exit_) + 1
        found = self.best(graph)[graph.root]
        return {
            key & ((1 << width) - 1): best.length for key, best in found.items() if key >> width == number
        }

    def best(self, graph: Graph) -> dict[Node, dict[int, Best]]:
        """The shortest ways on from every node of a graph, by what they come to."""
        if id(graph) in self.done:
            return self.done[id(graph)]
        width = self.survey.bits.width
        numbers = {exit_: (index + 1) << width for index, exit_ in enumerate(graph.exits)}
        best = self.done[id(graph)] = {}
        same = Same(self.survey, graph)
        for node in reversed(graph.edges):
            here: dict[int, Best] = {}
            asks = (
                isinstance(graph.frame.tree.steps[node.step], Question)
                and node.step not in graph.frame.linked
            )
            for edge in graph.edges[node]:
                for bits, cost in self.costs(edge).items():
                    length = cost + asks + UNSURE * edge.move.unsure
                    self.survey.spend(1 if isinstance(edge.to, Exit) else len(best[edge.to]))
                    if isinstance(edge.to, Exit):
                        self.offer(
                            here, same[numbers[edge.to] | bits], Best(length, edge, bits, numbers[edge.to])
                        )
                        continue
                    for key, onward in best[edge.to].items():
                        self.offer(here, same[key | bits], Best(length + onward.length, edge, bits, key))
            best[node] = here
        return best

    @staticmethod
    def offer(here: dict[int, Best], key: int, best: Best) -> None:
        """Keep the shorter of two ways."""
        before = here.get(key)
        if before is None or best.length < before.length:
            here[key] = best

    def costs(self, edge: Edge) -> dict[int, int]:
        """The questions asked along an edge, by what is found there."""
        if edge.inner is not None and edge.exit is not None:
            return self.through(edge.inner, edge.exit)
        return dict.fromkeys(edge.move.spread, 0) if edge.move.spread is not None else {edge.move.bits: 0}

    def along(self, graph: Graph, node: Node | Exit, key: int, prefix: str) -> Iterator[Taken]:
        """The moves of a shortest way on from a node."""
        best = self.best(graph)
        while isinstance(node, Node):
            step = best[node][key]
            yield from self.taken(graph, node, step.edge, step.bits, prefix)
            node, key = step.edge.to, step.key

    def taken(self, graph: Graph, node: Node, edge: Edge, bits: int, prefix: str) -> Iterator[Taken]:
        """One edge: its move, and the moves of the visited tree's run that it stands for."""
        if edge.inner is None or edge.exit is None:
            yield Taken(graph.frame, prefix, node, edge.move, bits)
            return
        part = f"{edge.part}/"
        yield Taken(graph.frame, prefix, node, edge.move, bits, part)
        number = list(edge.inner.exits).index(edge.exit) + 1
        inner_key = number << self.survey.bits.width | bits
        yield from self.along(edge.inner, edge.inner.root, inner_key, prefix + part)
