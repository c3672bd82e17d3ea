"""The smallest set of consultations that covers every answer, and both sides of every limit.

Invariant: a set that is called smallest is proved to be: where every answer to be covered is one edge of the graph, by a
least flow that passes each of them at least once, which is as large as the answers of which no two lie on one way. Elsewhere
the ways are chosen greedily, each for the most answers not yet covered.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from typing import NamedTuple

from assistant.tree.answers import Value
from assistant.tree.survey.bits import Bits
from assistant.tree.survey.flow import Flow
from assistant.tree.survey.graph import Edge, Exit, Graph, Node, Survey
from assistant.tree.survey.shortest import Taken
from assistant.tree.survey.wanted import Covered, covered_by_move
from assistant.tree.survey.witness import answers_of
from assistant.tree.tree import Tree

__all__ = ["Cover", "cover", "sided"]

TRIES = 3
"""Ways tried for an answer that real answers may not come to."""


MOST_CHOSEN = 500_000
"""Edges looked at in choosing ways one by one; beyond that, ways are led along the least flow first."""

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
    flow = Flow(survey.root, planner.first)
    least = flow.least()
    if planner.plain:
        return Cover([answers_of(way) for way in flow.ways()], least, [])
    consultations: list[Mapping[str, Value]] = []
    many = least * sum(map(len, survey.root.edges.values())) > MOST_CHOSEN
    led = [planner.led(way) for way in flow.ways()] if many else []
    tried: dict[Covered, int] = {}
    covered_so_far: set[Covered] = set()
    while wanted:
        way, aims = led.pop() if led else planner.plan(wanted)
        aims &= wanted
        if not aims:
            if led:
                continue
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
        self.numbers: dict[Covered, int] = {}
        self.rows: dict[int, dict[Node, list[int]]] = {}
        """For each graph, node and edge the number of what it covers; -1 for nothing."""
        for graph in survey.graphs.values():
            rows = self.rows[id(graph)] = {}
            for node, edges in graph.edges.items():
                rows[node] = [self.number(graph, node, place, edge) for place, edge in enumerate(edges)]

    def number(self, graph: Graph, node: Node, place: int, edge: Edge) -> int:
        """The number of what an edge covers."""
        if edge.inner is not None:
            self.plain = False
        covered = covered_by_move(graph, node, edge.move)
        if covered is None:
            return -1
        self.plain = self.plain and covered not in self.numbers and not edge.move.unsure
        self.first[id(graph), node, place] = covered
        return self.numbers.setdefault(covered, len(self.numbers))

    def everything(self) -> set[Covered]:
        """All that there is to cover."""
        return set(self.numbers)

    def plan(self, wanted: set[Covered]) -> tuple[list[Taken], set[Covered]]:
        """A way that covers much of what is wanted, and what that is."""
        aims: set[Covered] = set()
        way = list(self.walk(self.survey.root, None, wanted - self.given_up, aims, ""))
        return way, aims

    def led(self, way: Sequence[Taken]) -> tuple[list[Taken], set[Covered]]:
        """A real way that goes along another, which takes no heed of what is known, as far as it can.

        Where it is led elsewhere it joins the other again where they meet.
        """
        graph = self.survey.root
        places = {(one.node.step, one.node.at): number for number, one in enumerate(way)}
        aims: set[Covered] = set()
        taken: list[Taken] = []
        node: Node | Exit = graph.root
        while isinstance(node, Node):
            number = places.get((node.step, node.at))
            meant = way[number] if number is not None else None
            onward = way[number + 1].node.step if number is not None and number + 1 < len(way) else ""
            chosen = 0
            for place, edge in enumerate(graph.edges[node]):
                covered = self.first.get((id(graph), node, place))
                if (
                    meant is not None
                    and covered is not None
                    and edge.move.row == meant.move.row
                    and edge.move.changes == meant.move.changes
                ):
                    chosen = place
                    break
                if isinstance(edge.to, Node) and edge.to.step == onward:
                    chosen = place
            edge = graph.edges[node][chosen]
            covered = self.first.get((id(graph), node, chosen))
            if covered is not None:
                aims.add(covered)
            bits = min(edge.move.spread) if edge.move.spread else edge.move.bits
            part = f"{edge.part}/" if edge.inner is not None else ""
            taken.append(Taken(graph.frame, "", node, edge.move, bits, part))
            if edge.inner is not None:
                taken += self.walk(edge.inner, edge.exit, set(), aims, part)
            node = edge.to
        return taken, aims

    def gains(
        self,
        graph: Graph,
        exit_: Exit | None,
        wanted: set[int],
        done: dict[object, dict[Node, tuple[int, int]]],
    ) -> dict[Node, tuple[int, int]]:
        """For each node the most that ways on from it to an exit, or to any, cover, and the edge that they take."""
        key = (id(graph), exit_)
        if key in done:
            return done[key]
        gains = done[key] = {}
        rows = self.rows[id(graph)]
        for node, edges in reversed(graph.edges.items()):
            best, chosen = -1, -1
            for place, (number, edge) in enumerate(zip(rows[node], edges, strict=True)):
                to = edge.to
                if isinstance(to, Exit):
                    more = 0 if exit_ is None or to == exit_ else -1
                else:
                    more = gains[to][0] if to in gains else -1
                if more < 0:
                    continue
                if edge.inner is not None:
                    inside = self.gains(edge.inner, edge.exit, wanted, done).get(edge.inner.root)
                    if inside is None:
                        continue
                    more += inside[0]
                elif number in wanted:
                    more += 1
                if more > best:
                    best, chosen = more, place
            if chosen >= 0:
                gains[node] = best, chosen
        return gains

    def walk(
        self, graph: Graph, exit_: Exit | None, wanted: set[Covered], aims: set[Covered], prefix: str
    ) -> Iterator[Taken]:
        """The moves of the best way through a run; what it covers is no longer wanted of the runs after it."""
        gains = self.gains(graph, exit_, {self.numbers[one] for one in wanted - aims}, {})
        node: Node | Exit = graph.root
        while isinstance(node, Node):
            place = gains[node][1]
            edge = graph.edges[node][place]
            covered = self.first.get((id(graph), node, place))
            if covered is not None and covered in wanted:
                aims.add(covered)
            bits = min(edge.move.spread) if edge.move.spread else edge.move.bits
            part = f"{edge.part}/" if edge.inner is not None else ""
            yield Taken(graph.frame, prefix, node, edge.move, bits, part)
            if edge.inner is not None:
                yield from self.walk(edge.inner, edge.exit, wanted, aims, prefix + part)
            node = edge.to
