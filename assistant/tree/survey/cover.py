"""The smallest set of consultations that covers every answer, and both sides of every limit.

Invariant: a set that is called smallest is proved to be: where every answer to be covered is one edge of the graph, by a
least flow that passes each of them at least once, which is as large as the answers of which no two lie on one way. Elsewhere
the ways are chosen greedily, each for the most answers not yet covered.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Collection, Iterator, Mapping
from typing import NamedTuple

from assistant.tree.answers import Value
from assistant.tree.bands import Stretch
from assistant.tree.model import NOT_SURE, Question
from assistant.tree.survey.bits import Bits
from assistant.tree.survey.graph import Edge, Exit, Graph, Node, Survey
from assistant.tree.survey.moves import Move
from assistant.tree.survey.shortest import Taken
from assistant.tree.survey.witness import answers_of
from assistant.tree.tree import Tree

__all__ = ["ANY", "Cover", "Covered", "cover", "sided"]

TRIES = 3
"""Ways tried for an answer that real answers may not come to."""


class Covered(NamedTuple):
    """An answer to be covered: of which question of which tree; an id, "not-sure", a number beside a limit, or several ids."""

    tree: str
    question: str
    answer: Value


ANY = "any"
"""A number that no limit is set to."""

Takes = Callable[[Mapping[str, Value], Collection[Covered]], tuple[Mapping[str, Value], Collection[Covered]]]
"""Completes the answers of a way, with what is still wanted where it can, and tells what they really cover."""


class Cover(NamedTuple):
    """Consultations that together cover what there is to cover."""

    consultations: list[Mapping[str, Value]]
    least: int
    """No set can be smaller than this."""
    left: list[Covered]
    """What no consultation that was tried comes to."""

    @property
    def smallest(self) -> bool:
        """Whether no smaller set would do."""
        return len(self.consultations) == self.least and not self.left


def sided(tree: Tree) -> Survey:
    """A survey in which a number is one of those beside a limit, on either side."""
    return Survey(tree, Bits(tree), sides=True)


def cover(survey: Survey, takes: Takes | None = None) -> Cover:
    """The consultations; `survey` comes from `sided`. Raises `TooMany`."""
    planner = _Planner(survey)
    wanted = planner.everything()
    flow = _Flow(survey.root, planner.first)
    least = flow.least()
    if planner.plain:
        return Cover([answers_of(way) for way in flow.ways()], least, [])
    consultations: list[Mapping[str, Value]] = []
    tried: dict[Covered, int] = {}
    covered_so_far: set[Covered] = set()
    while wanted:
        way, aims = planner.plan(wanted)
        if not aims:
            break
        answers: Mapping[str, Value] = answers_of(way)
        covered: Collection[Covered] = aims
        if takes is not None:
            answers, covered = takes(answers, wanted)
        new = wanted.intersection(covered)
        if new:
            consultations.append(answers)
            wanted -= new
        for aim in sorted(aims - new, key=str):
            tried[aim] = tried.get(aim, 0) + 1
            if tried[aim] >= TRIES:
                planner.given_up.add(aim)
        if not new:
            planner.given_up.add(min(aims, key=str))
        wanted -= planner.given_up
        covered_so_far |= set(covered)
    left = sorted((planner.given_up | wanted) - covered_so_far, key=str)
    return Cover(consultations, min(least, len(consultations)), left)


class _Planner:
    """Chooses the way that covers the most of what is still wanted."""

    def __init__(self, survey: Survey) -> None:
        self.survey = survey
        self.given_up: set[Covered] = set()
        self.first: dict[tuple[int, Node, int], Covered] = {}
        """What an edge covers, by its graph, node and place."""
        self.plain = survey.exact and not survey.wide
        """Whether everything to be covered is one edge of the root's graph."""
        seen: set[Covered] = set()
        for graph in survey.graphs.values():
            for node, edges in graph.edges.items():
                for place, edge in enumerate(edges):
                    if edge.inner is not None:
                        self.plain = False
                    covered = _covered(graph, node, edge.move)
                    if covered is not None:
                        self.plain = self.plain and covered not in seen and not edge.move.unsure
                        seen.add(covered)
                        self.first[id(graph), node, place] = covered

    def everything(self) -> set[Covered]:
        """All that there is to cover."""
        return set(self.first.values())

    def plan(self, wanted: set[Covered]) -> tuple[list[Taken], set[Covered]]:
        """A way that covers much of what is wanted, and what that is."""
        aims: set[Covered] = set()
        way = list(self.walk(self.survey.root, None, wanted - self.given_up, aims, ""))
        return way, aims

    def gains(
        self, graph: Graph, wanted: set[Covered], done: dict[object, object]
    ) -> dict[Node, dict[Exit, int]]:
        """For each node the most that ways on from it cover, by the exit they come to."""
        key = id(graph)
        if key in done:
            return done[key]  # type: ignore[return-value]
        gains: dict[Node, dict[Exit, int]] = {}
        for node in reversed(graph.edges):
            here: dict[Exit, int] = {}
            for place, edge in enumerate(graph.edges[node]):
                gain = self.gain(graph, node, place, edge, wanted, done)
                if gain is None:
                    continue
                onward = {edge.to: 0} if isinstance(edge.to, Exit) else gains[edge.to]
                for exit_, more in onward.items():
                    if gain + more > here.get(exit_, -1):
                        here[exit_] = gain + more
            gains[node] = here
        done[key] = gains
        return gains

    def gain(
        self,
        graph: Graph,
        node: Node,
        place: int,
        edge: Edge,
        wanted: set[Covered],
        done: dict[object, object],
    ) -> int | None:
        """What one edge covers; None where its run never comes to that end."""
        if edge.inner is not None and edge.exit is not None:
            return self.gains(edge.inner, wanted, done)[edge.inner.root].get(edge.exit)
        return int(self.first.get((id(graph), node, place)) in wanted)

    def walk(
        self, graph: Graph, exit_: Exit | None, wanted: set[Covered], aims: set[Covered], prefix: str
    ) -> Iterator[Taken]:
        """The moves of the best way through a run; what it covers is no longer wanted of the runs after it."""
        wanted = wanted - aims
        done: dict[object, object] = {}
        gains = self.gains(graph, wanted, done)
        node: Node | Exit = graph.root
        if exit_ is None:
            exit_ = max(gains[graph.root], key=lambda one: gains[graph.root][one])
        while isinstance(node, Node):
            best: tuple[int, Edge, int] | None = None
            for place, edge in enumerate(graph.edges[node]):
                gain = self.gain(graph, node, place, edge, wanted, done)
                onward = {edge.to: 0} if isinstance(edge.to, Exit) else gains[edge.to]
                if gain is not None and exit_ in onward and (best is None or gain + onward[exit_] > best[0]):
                    best = (gain + onward[exit_], edge, place)
            assert best is not None
            _, edge, place = best
            covered = self.first.get((id(graph), node, place))
            if covered is not None and covered in wanted:
                aims.add(covered)
            bits = min(edge.move.spread) if edge.move.spread else edge.move.bits
            part = f"{edge.part}/" if edge.inner is not None else ""
            yield Taken(graph.frame, prefix, node, edge.move, bits, part)
            if edge.inner is not None:
                yield from self.walk(edge.inner, edge.exit, wanted, aims, prefix + part)
            node = edge.to


def _covered(graph: Graph, node: Node, move: Move) -> Covered | None:
    """The answer that a move gives, where it is one to be covered."""
    question = graph.frame.tree.steps[node.step]
    if not isinstance(question, Question) or node.step in graph.frame.linked or question.kind == "note":
        return None
    tree = graph.frame.tree.id
    known = dict(move.changes).get(node.step)
    if move.unsure or known == NOT_SURE:
        return Covered(tree, node.step, NOT_SURE)
    if question.kind == "choice":
        return Covered(tree, node.step, question.answer[move.row].id)
    if isinstance(known, Stretch) and known.low is not None and known.low == known.high:
        return Covered(tree, node.step, known.low)
    return Covered(
        tree, node.step, known if isinstance(known, tuple) and not isinstance(known, Stretch) else ANY
    )


class _Flow:
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
