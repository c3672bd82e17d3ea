"""The graph of all ways through one run of a tree: its nodes are steps with what is known there.

Invariant: every node is reached by some real answers, where no step is loose; the nodes come in an order in which each
follows all that lead to it. A visited tree is run once for each way it can be handed answers, and stands in the graph of
its visitor as one move for each way it can end.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property
from typing import NamedTuple

from assistant.tree.answers import read_answer
from assistant.tree.bands import Stretch
from assistant.tree.model import NOT_SURE, Each, Question, Recall, Visit, Working
from assistant.tree.survey.bits import Bits
from assistant.tree.survey.frame import Frame
from assistant.tree.survey.known import (
    Known,
    Memory,
    Open,
    exactly,
    looked_up,
    settled,
    whole_range,
)
from assistant.tree.survey.memories import Change, Memories
from assistant.tree.survey.moves import NONE, Move, Moves
from assistant.tree.tree import Tree

__all__ = ["Edge", "Exit", "Explorer", "Fault", "Graph", "Node", "Survey", "TooMany", "Way"]

MOST_EXACT = 20_000
"""Nodes of a survey in which counts stay known as long as anything counts by them."""
MOST_NODES = 120_000
"""Nodes of all graphs of one survey."""
MOST_WORK = 10_000_000
"""Additions spent on one survey."""


class TooMany(Exception):
    """The tree has more ways, told apart by what is looked at later, than can be gone through."""


class Node(NamedTuple):
    """A step, for an each the number of things already run, and what is known there that still matters."""

    step: str
    at: int
    known: int
    """Which of the graph's memories."""


class Exit(NamedTuple):
    """An end of one run: "end" or "verdict:…", and what is looked at outside."""

    end: str
    known: int


class Fault(NamedTuple):
    """Something that goes wrong at a step, and at which of its things."""

    code: str
    step: str
    about: str


class Edge(NamedTuple):
    """A move, and the node or exit that it leads to."""

    move: Move
    to: Node | Exit
    inner: Graph | None = None
    """The run of a visited tree that lies between."""
    exit: Exit | None = None
    """How that run ended."""
    part: str = ""
    """What that run is called in fact keys: a visit's name, or "joint.2"."""


@dataclass(eq=False)
class Graph:
    """All ways through one run."""

    frame: Frame
    memories: list[Memory] = field(default_factory=list)
    edges: dict[Node, list[Edge]] = field(default_factory=dict)
    faults: dict[Fault, Node] = field(default_factory=dict)
    exits: dict[Exit, None] = field(default_factory=dict)
    first_from: dict[Node, list[Node]] = field(default_factory=dict)
    """The nodes that were first met from each: nothing before it leads to them."""
    comes_from: dict[Node, tuple[Node, Edge] | None] = field(default_factory=dict)
    """A shortest way to each node, backwards."""
    counted: dict[int, int] | None = None
    """Filled by `count`: what is found on the ways from the root, in how many ways."""
    at_exits: dict[Exit, Mapping[int, int]] | None = None
    """Filled by `count`: what is found on the ways to each exit."""

    @property
    def root(self) -> Node:
        """Where every way begins."""
        return next(iter(self.edges))


class Survey:
    """The ways through a tree and those it visits."""

    def __init__(self, tree: Tree, bits: Bits | None = None, sides: bool = False) -> None:
        self.tree = tree
        self.sides = sides
        """Whether only numbers beside a limit are answered."""
        self.bits = bits or Bits(tree)
        self.loose: set[tuple[str, str]] = set()
        """Tree and step of every working that cannot be followed, or not exactly."""
        self.graphs: dict[tuple[object, ...], Graph] = {}
        self.nodes = 0
        self.work = 0
        self.wide = False
        """Whether a count is forgotten once something has been run so many times, because there are too many nodes."""

    @cached_property
    def root(self) -> Graph:
        """The graph of the whole tree, explored when it is first asked for. Raises `TooMany`."""
        try:
            return self.run(Frame(self.tree))
        except TooMany:
            if self.most == MOST_NODES:
                raise
            self.widen()
            return self.run(Frame(self.tree))

    def widen(self) -> None:
        """Begin again, and forget counts as soon as something has been run so many times."""
        self.wide, self.nodes, self.most = True, 0, MOST_NODES
        self.graphs.clear()

    @cached_property
    def most(self) -> int:
        """How many nodes there may be."""
        counts = any(each.count for tree in self.tree.family() for each in tree.file.each.values())
        return MOST_EXACT if counts else MOST_NODES

    @property
    def exact(self) -> bool:
        """Whether every way is one that real answers take. Raises `TooMany`."""
        return bool(self.root.edges) and not self.loose

    def spend(self, work: int) -> None:
        """Count work done. Raises `TooMany` beyond the limit."""
        self.work += work
        if self.work > MOST_WORK:
            raise TooMany

    def run(self, frame: Frame) -> Graph:
        """The graph of one run. Raises `TooMany` beyond the limits."""
        graph = self.graphs.get(frame.key)
        if graph is None:
            graph = self.graphs[frame.key] = Explorer(self, frame).explore()
        return graph


Way = tuple[Move, int, Graph | None, Exit | None, str]
"""A move, how many things of an each are then run, and the run that lies between, with its end and name."""


class Explorer:
    """Goes through one run, step by step in an order in which nothing comes before what leads to it."""

    def __init__(self, survey: Survey, frame: Frame) -> None:
        self.survey = survey
        self.frame = frame
        self.tree = frame.tree
        self.loose: set[str] = set()
        self.moves = Moves(frame, survey.bits, self.loose, survey.sides)
        self.memories = Memories(frame)
        self.graph = Graph(frame, self.memories.all)
        self.looks: dict[str, frozenset[str]] = {}
        """What each step looks back at."""
        self.plain: dict[tuple[str, tuple[int, ...]], list[tuple[Way, Change]]] = {}
        """The ways on from steps that run no other tree, by what they look back at."""
        self.inside: dict[tuple[object, ...], tuple[Frame, Mapping[str, str]]] = {}
        self.depth: dict[Node, int] = {}
        self.pending: dict[str, list[Node]] = {}

    def explore(self) -> Graph:
        """Go through the whole run."""
        first = self.tree.file.tree.first
        root = Node(first, 0, self.number(self.frame.remember(first, self.frame.entry)))
        self.graph.comes_from[root] = None
        self.depth[root] = 0
        self.pending[first] = [root]
        for name in self.frame.order:
            waiting = self.pending.pop(name, [])
            for node in waiting:  # grows, where an each goes on to its next thing
                self.leave(node, waiting)
        self.survey.loose.update((self.tree.id, step) for step in self.loose)
        return self.graph

    def number(self, memory: Memory) -> int:
        """The number of a memory in the graph."""
        return self.memories.number(memory)

    def leave(self, node: Node, same: list[Node]) -> None:
        """Follow every move from a node."""
        self.survey.nodes += 1
        if self.survey.nodes > self.survey.most:
            raise TooMany
        edges = self.graph.edges[node] = []
        depth = self.depth[node] + 1
        for (move, at, inner, exit_, part), change in self.taken(node):
            then = move.then
            if then == "end" or then not in self.tree.steps:
                known = self.memories.after(then, node.known, change) if then == "end" else self.number(())
                out = Exit(then, known)
                edges.append(Edge(self.chosen(node, move, part, known), out, inner, exit_, part))
                self.graph.exits.setdefault(out)
                continue
            to = Node(then, at, self.memories.after(then, node.known, change))
            edge = Edge(self.chosen(node, move, part, to.known), to, inner, exit_, part)
            edges.append(edge)
            before = self.depth.get(to)
            if before is None:
                (same if then == node.step else self.pending.setdefault(then, [])).append(to)
                self.graph.first_from.setdefault(node, []).append(to)
            if before is None or depth < before:
                self.depth[to] = depth
                self.graph.comes_from[to] = (node, edge)

    def chosen(self, node: Node, move: Move, part: str, known: int) -> Move:
        """A move, as often as there are choices among several answers that nothing decides any more after it."""
        if not self.frame.loosely:
            return move
        before, after = dict(self.graph.memories[node.known]), dict(self.graph.memories[known])
        before.update(move.changes)
        times = 1
        for name in self.frame.loosely:
            if before.get(name) is Open.SOME and name not in after:
                each = self.tree.file.each.get(node.step)
                decided = 0 if each is None or each.over != name else node.at + (part != "")
                times <<= len(self.tree.file.question[name].answer) - decided
        if times == 1:
            return move
        spread = {move.bits: 1} if move.spread is None else move.spread
        return move._replace(spread={bits: ways * times for bits, ways in spread.items()})

    def ways(self, node: Node) -> Iterator[Way]:
        """Every way on from a node."""
        return (way for way, _ in self.taken(node))

    def taken(self, node: Node) -> Iterable[tuple[Way, Change]]:
        """Every way on from a node, with what is known anew after it."""
        name, step = node.step, self.tree.steps[node.step]
        if isinstance(step, Visit | Each):
            visits = (
                self.visit(node, step, f"{name}/", step.then, 0)
                if isinstance(step, Visit)
                else self.each(node, step)
            )
            return ((way, self.memories.change(way[0].changes)) for way in visits)
        looks = self.looks.get(name)
        if looks is None:
            looks = self.looks[name] = frozenset(self.frame.looks(name))
        key = (name, self.memories.at(node.known, looks) if looks else ())
        taken = self.plain.get(key)
        if taken is None:
            moves = self.moving(node, step)
            taken = [((move, 0, None, None, ""), self.memories.change(move.changes)) for move in moves]
            self.plain[key] = taken
        return taken

    def moving(self, node: Node, step: Question | Recall | Working) -> Iterable[Move]:
        """The moves from a step that runs no other tree."""
        name, memory = node.step, self.graph.memories[node.known]

        def fault(code: str, about: str) -> None:
            self.graph.faults.setdefault(Fault(code, name, about), node)

        if isinstance(step, Question):
            return self.moves.question(name, step, memory, fault)
        if isinstance(step, Recall):
            return self.moves.recall(step, memory, fault)
        return self.moves.working(name, step, memory, fault)

    def each(self, node: Node, each: Each) -> Iterator[Way]:
        """The next of several things, or what follows them all."""
        name, items = node.step, self.frame.items(each)
        place = self.frame.place(each.count or each.over or "")
        known = looked_up(self.graph.memories[node.known], place)
        if not settled(known):
            self.graph.faults.setdefault(Fault("nothing-to-count", name, each.count or each.over or ""), node)
            return
        if isinstance(known, Stretch):
            low, high = known.ends()
            if low != high:
                for number in range(int(low or 0), int(high or 0) + 1):
                    yield (
                        Move(number, False, name, 0, ((place, exactly(Fraction(number))),)),
                        0,
                        None,
                        None,
                        "",
                    )
                return
            items = items[: int(low or 0)]
        elif isinstance(known, tuple):
            items = [item for item in items if item in known]
        if node.at >= len(items):
            changes: list[tuple[str, Known]] = [(f"{name}.*", Open.ANY)]
            if self.survey.wide and each.count and place == each.count:
                changes.append((place, whole_range(self.tree.file.question[place])))
                self.survey.loose.add((self.tree.id, name))
            yield Move(NONE, False, each.then, 0, tuple(changes)), 0, None, None, ""
            return
        inner = f"{name}.{items[node.at]}/"
        yield from self.visit(node, each, inner, name, node.at + 1)
        if known is Open.SOME:
            yield Move(NONE, False, name, 0), node.at + 1, None, None, ""

    def visit(self, node: Node, visit: Visit | Each, inside: str, then: str, at: int) -> Iterator[Way]:
        """One run of the visited tree, as a move for each way it can end."""
        from assistant.tree.survey.count import counts_at

        memory = self.graph.memories[node.known]
        handed = tuple(looked_up(memory, self.frame.place(here)) for here in visit.given.values())
        key = (node.step, inside, then, handed)
        if key not in self.inside:
            self.inside[key] = self.inner(memory, visit, inside, self.frame.live(then))
        frame, back = self.inside[key]
        graph = self.survey.run(frame)
        for fault in graph.faults:
            if fault.code.startswith("given-"):
                self.graph.faults.setdefault(Fault(fault.code, node.step, fault.about), node)
        for exit_, spread in counts_at(self.survey, graph).items():
            if exit_.end == "end":
                changes = tuple((back[place], known) for place, known in graph.memories[exit_.known])
                yield Move(NONE, False, then, 0, changes, spread), at, graph, exit_, inside[:-1]
            else:
                yield Move(NONE, False, exit_.end, 0, (), spread), 0, graph, exit_, inside[:-1]

    def inner(
        self, memory: Memory, visit: Visit | Each, inside: str, after: frozenset[str]
    ) -> tuple[Frame, Mapping[str, str]]:
        """The run of the visited tree, and what the places that it reports are called here."""
        part = self.tree.parts[visit.tree]
        links: dict[str, str] = {}
        entry: dict[str, Known] = {}
        here_of: dict[str, str] = {}
        for there, here in visit.given.items():
            outer = self.frame.place(here)
            place = here_of.setdefault(outer, there)
            links[there] = place
            known = looked_up(memory, outer)
            if known is not None:
                entry[place] = known
        for there, constant in visit.set.items():
            given = list(constant) if isinstance(constant, tuple) else constant
            links[there] = there
            entry[there] = _constant(read_answer(part.file.question[there], given))
        back = {place: outer for outer, place in here_of.items() if outer in after}
        for key in after:
            if key.startswith(inside):
                back[key.removeprefix(inside)] = key
        frame = Frame(
            part,
            tuple(sorted(links.items())),
            tuple(sorted(entry.items(), key=lambda item: item[0])),
            frozenset(back),
        )
        return frame, back


def _constant(value: object) -> Known:
    if isinstance(value, Fraction):
        return exactly(value)
    if isinstance(value, tuple):
        return value
    return value if isinstance(value, str) else NOT_SURE
