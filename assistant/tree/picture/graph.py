"""A tree as a graph to draw: a node for each step, for the end and for each verdict, an edge for each pair they join.

Invariant: nothing is left out but the words behind a question; all text is plain, in nodes and edges that come in the
same order whenever the tree is the same.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from assistant.errors import Refused
from assistant.tree.model import Question, Recall
from assistant.tree.picture.order import END, ordered
from assistant.tree.picture.words import Row, answered, does, kind_of, plain, rows, when
from assistant.tree.tree import Tree

__all__ = ["END", "VERDICT", "Chart", "Edge", "Node", "chart"]

VERDICT = "verdict:"
MOST_NODES = 2_000
"""Steps and verdicts that are drawn: more than that nobody can look at."""


class Node(NamedTuple):
    """One box."""

    id: str
    """A step's id, "end", or "verdict:…"."""
    kind: str
    """question, recall, working, visit, each, end or verdict."""
    number: int
    """A step's place in the order of asking, a verdict's in its list, from 1; 0 for the end."""
    says: str
    detail: str = ""
    """How a question is answered; when a verdict is given."""
    outcome: str = ""


class Edge(NamedTuple):
    """The answers that lead from one node to another."""

    source: str
    target: str
    rows: tuple[Row, ...]


@dataclass(frozen=True)
class Chart:
    """A tree to draw."""

    id: str
    title: str
    edition: str
    purpose: str
    cautions: tuple[str, ...]
    nodes: dict[str, Node]
    edges: tuple[Edge, ...]
    unreached: frozenset[str]


def chart(tree: Tree) -> Chart:
    """The graph of a tree. Raises `Refused` where it is too large to be drawn."""
    file = tree.file
    if len(tree.steps) + len(file.verdict) > MOST_NODES:
        raise Refused(
            f"this tree has {len(tree.steps):,} steps and {len(file.verdict):,} verdicts; "
            f"{MOST_NODES:,} together are drawn at most",
            "Its outline as text shows them all. A tree that is visited can take a part of its steps.",
        )
    order = ordered(tree)
    nodes = {}
    for name, number in order.numbers.items():
        step = tree.steps[name]
        detail = answered(step).removeprefix("one answer").strip(", ") if isinstance(step, Question) else ""
        says = does(tree, step, brief=True)
        if isinstance(step, Recall):
            says = f"{says} ({order.numbers[step.question]})"
        nodes[name] = Node(name, kind_of(step), number, says, detail)
    edges = []
    for name in order.numbers:
        joined: dict[str, list[Row]] = {}
        for row in rows(tree, tree.steps[name]):
            if row.then:
                joined.setdefault(row.then, []).append(row)
        undecided = [row for row in rows(tree, tree.steps[name]) if row.then is None]
        edges += [Edge(name, goal, (*found, *undecided)) for goal, found in joined.items()]
    ends = any(edge.target == END for edge in edges)
    if ends:
        nodes[END] = Node(END, END, 0, "End: the first verdict that fits is given")
    for number, verdict in enumerate(file.verdict, 1):
        name = VERDICT + verdict.id
        nodes[name] = Node(
            name, "verdict", number, plain(verdict.title), when(tree, verdict), verdict.outcome
        )
        if ends:
            edges.append(Edge(END, name, ()))
    about = file.tree
    return Chart(
        tree.id, plain(about.title), plain(about.edition), plain(about.purpose), tuple(plain(each) for each in about.defer),
        nodes, tuple(edges), order.unreached,
    )  # fmt: skip
