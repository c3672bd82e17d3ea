"""The fewest ways past everything that has to be covered: a least flow, and so a proof that no fewer will do."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Mapping

from assistant.tree.survey.graph import Edge, Exit, Graph, Node
from assistant.tree.survey.shortest import Taken
from assistant.tree.survey.wanted import Covered

__all__ = ["Flow"]


class Flow:
    """A least flow that passes everything to be covered through the root's graph, whatever is known at a step.

    Every way through the graph is a way here, so that no set of ways can be smaller than this flow.
    """

    def __init__(self, graph: Graph, first: Mapping[tuple[int, Node, int], Covered]) -> None:
        self.graph = graph
        self.nodes: dict[tuple[str, int], int] = {}
        for node in graph.edges:
            self.nodes.setdefault((node.step, node.at), len(self.nodes))
        self.out: list[list[int]] = [[] for _ in range(len(self.nodes) + 1)]
        self.back: list[list[int]] = [[] for _ in range(len(self.nodes) + 1)]
        self.start: list[int] = []
        self.to: list[int] = []
        self.edge: list[tuple[Node, Edge]] = []
        self.needed: list[int] = []
        known: dict[tuple[int, int, Covered | None], int] = {}
        sink = len(self.nodes)
        for node, edges in graph.edges.items():
            here = self.nodes[node.step, node.at]
            for place, edge in enumerate(edges):
                covered = first.get((id(graph), node, place))
                there = sink if isinstance(edge.to, Exit) else self.nodes[edge.to.step, edge.to.at]
                if here != there and (here, there, covered) not in known:
                    known[here, there, covered] = number = len(self.to)
                    self.start.append(here)
                    self.to.append(there)
                    self.edge.append((node, edge))
                    self.needed.append(0)
                    self.out[here].append(number)
                    self.back[there].append(number)
        counted: dict[Covered, list[int]] = {}
        for (_, _, covered), number in known.items():
            if covered is not None:
                counted.setdefault(covered, []).append(number)
        for numbers in counted.values():
            if len(numbers) == 1:
                self.needed[numbers[0]] = 1
        self.flow = self.enough()
        self.reduce()

    def least(self) -> int:
        """How many ways there have to be."""
        return sum(self.flow[number] for number in self.out[0])

    def enough(self) -> list[int]:
        """A flow that passes each needed edge: ways chosen one by one, each past the most of what is not yet passed."""
        flow = [0] * len(self.to)
        missing = list(self.needed)
        sink = len(self.nodes)
        onward = [0] * (sink + 1)
        best = [0] * sink
        while True:
            for node in range(sink - 1, -1, -1):
                most, chosen = -1, self.out[node][0]
                for number in self.out[node]:
                    gain = missing[number] + onward[self.to[number]]
                    if gain > most:
                        most, chosen = gain, number
                onward[node], best[node] = most, chosen
            if not onward[0]:
                return flow
            node = 0
            while node != sink:
                number = best[node]
                flow[number] += 1
                missing[number] = 0
                node = self.to[number]

    def reduce(self) -> None:
        """Take ways away as long as the rest can be led past all that is needed."""
        while self.take_one_away():
            pass

    def take_one_away(self) -> bool:
        """Find a way from end to beginning along which the flow can be led otherwise with one less."""
        sink = len(self.nodes)
        came: dict[int, tuple[int, bool]] = {0: (-1, True)}
        waiting = deque([0])
        while waiting and sink not in came:
            node = waiting.popleft()
            for number in self.out[node]:  # one less along an edge
                after = self.to[number]
                if after not in came and self.flow[number] > self.needed[number]:
                    came[after] = (number, True)
                    waiting.append(after)
            for number in self.back[node]:  # one more along an edge, against it
                before = self.start[number]
                if before not in came:
                    came[before] = (number, False)
                    waiting.append(before)
        if sink not in came:
            return False
        node = sink
        while node != 0:
            number, less = came[node]
            self.flow[number] += -1 if less else 1
            node = self.start[number] if less else self.to[number]
        return True

    def ways(self) -> Iterator[list[Taken]]:
        """The flow as ways from beginning to end."""
        left = list(self.flow)
        sink = len(self.nodes)
        while any(left[number] for number in self.out[0]):
            way, node = [], 0
            while node != sink:
                number = max(self.out[node], key=lambda one: left[one])
                left[number] -= 1
                at, edge = self.edge[number]
                bits = min(edge.move.spread) if edge.move.spread else edge.move.bits
                way.append(Taken(self.graph.frame, "", at, edge.move, bits))
                node = self.to[number]
            yield way
