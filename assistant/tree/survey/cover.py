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


MOST_CHOSEN = 3_000_000
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
        seen: set[Covered] = set()
        for graph in survey.graphs.values():
            for node, edges in graph.edges.items():
                for place, edge in enumerate(edges):
                    if edge.inner is not None:
                        self.plain = False
                    covered = covered_by_move(graph, node, edge.move)
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
