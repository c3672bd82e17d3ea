"""What a survey tells about single questions: which are asked whatever is answered, and which answers change nothing.

Invariant: "changes nothing" is about everything that follows: the same findings, questions and verdicts on every way.
"""

from __future__ import annotations

from collections.abc import Hashable
from typing import NamedTuple

from assistant.tree.model import Each, NotSure, Question, Recall, Row, Visit, Working
from assistant.tree.survey.graph import Edge, Exit, Graph, Node, Survey
from assistant.tree.survey.moves import NONE

__all__ = ["Alike", "asked_by_every", "idle_answers"]


class Alike(NamedTuple):
    """Answers to a question between which nothing that follows makes a difference."""

    tree: str
    question: str
    answers: tuple[str, ...]
    """What they say; "not sure" among them where it makes none either."""
    every: bool
    """Whether these are all there are, so that the question itself changes nothing."""


def asked_by_every(survey: Survey) -> list[str]:
    """The fact keys that every way asks, in the order asked."""
    return list(_always(survey.root, None, "", {}) or ())


Always = dict[str, None]
"""Fact keys, in order."""


def _always(
    graph: Graph, wanted: Exit | None, prefix: str, done: dict[object, Always | None]
) -> Always | None:
    """The keys asked on every way of a run to this exit, or to any; None where there is no such way."""
    key = (id(graph), wanted, prefix)
    if key in done:
        return done[key]
    always: dict[Node, Always | None] = {}
    for node in reversed(graph.edges):
        here: Always | None = None
        for edge in graph.edges[node]:
            on = _along(edge, always, wanted, prefix, done)
            if on is not None:
                here = on if here is None else {one: None for one in here if one in on}
        step = graph.frame.tree.steps[node.step]
        if here is not None and isinstance(step, Question) and node.step not in graph.frame.linked:
            here = {prefix + node.step: None, **here}
        always[node] = here
    done[key] = always[graph.root]
    return done[key]


def _along(
    edge: Edge,
    always: dict[Node, Always | None],
    wanted: Exit | None,
    prefix: str,
    done: dict[object, Always | None],
) -> Always | None:
    if isinstance(edge.to, Exit):
        onward: Always | None = {} if wanted is None or edge.to == wanted else None
    else:
        onward = always[edge.to]
    if onward is None or edge.inner is None:
        return onward
    inside = _always(edge.inner, edge.exit, f"{prefix}{edge.part}/", done)
    return None if inside is None else {**inside, **onward}


# Answers that change nothing


def idle_answers(survey: Survey) -> list[Alike]:
    """Answers between which nothing that follows makes a difference, wherever their question is asked."""
    classes = _Classes()
    survey.root  # noqa: B018, so that everything is explored
    together: dict[tuple[str, str], list[dict[tuple[int, bool], Hashable]]] = {}
    for graph in survey.graphs.values():
        for node in reversed(graph.edges):
            rows = classes.rows(graph, node)
            step = graph.frame.tree.steps[node.step]
            if isinstance(step, Question) and step.kind != "several" and node.step not in graph.frame.linked:
                together.setdefault((graph.frame.tree.id, node.step), []).append(rows)
    trees = {tree.id: tree for tree in survey.tree.family()}
    found = []
    for (tree, name), several in together.items():
        if name in _worked_on(survey, tree):
            continue
        groups: dict[tuple[Hashable, ...], list[tuple[int, bool]]] = {}
        for row in several[0]:
            groups.setdefault(tuple(rows.get(row) for rows in several), []).append(row)
        question = trees[tree].file.question[name]
        for group in groups.values():
            sure = [row for row in group if not row[1]]
            if len(sure) > 1:
                every = len(group) == len(several[0])
                found.append(Alike(tree, name, tuple(_says(question, row) for row, _ in sure), every))
    return found


def _worked_on(survey: Survey, tree_id: str) -> set[str]:
    """The questions of a tree that a working is given: what it makes of their answers is not followed here."""
    worked: set[str] = set()
    for tree in survey.tree.family():
        keys = {key for step in tree.file.working.values() for given in step.give.values() for key in given}
        if tree.id == tree_id:
            worked |= keys
        visits: dict[str, Visit | Each] = {**tree.file.visit, **tree.file.each}
        for name, visit in visits.items():
            if visit.tree != tree_id:
                continue
            if f"{name}.*" in keys:
                return set(tree.parts[tree_id].file.question)
            worked |= {key.rpartition("/")[2] for key in keys if key.startswith((f"{name}/", f"{name}."))}
            worked |= {there for there, here in visit.given.items() if here in keys}
    return worked


class _Classes:
    """For each node a number: two nodes with the same one cannot be told apart by anything that follows."""

    def __init__(self) -> None:
        self.numbers: dict[Hashable, int] = {}
        self.of: dict[tuple[int, Node], int] = {}

    def rows(self, graph: Graph, node: Node) -> dict[tuple[int, bool], Hashable]:
        """What follows from each row of a node; the node is given its class on the way."""
        rows: dict[tuple[int, bool], Hashable] = {}
        for edge in graph.edges[node]:
            after: Hashable = ("exit", edge.to) if isinstance(edge.to, Exit) else self.of[id(graph), edge.to]
            spread = tuple(sorted(edge.move.spread.items())) if edge.move.spread else None
            inner = (id(edge.inner), edge.exit) if edge.inner else None
            follows = (edge.move.bits, spread, _found(graph, node, edge), inner, after)
            before = rows.get((edge.move.row, edge.move.unsure))
            rows[edge.move.row, edge.move.unsure] = follows if before is None else (before, follows)
        asks = node.step if isinstance(graph.frame.tree.steps[node.step], Question) else None
        if asks is None and len(rows) == 1:
            (only,) = rows.values()
            if (
                isinstance(only, tuple)
                and len(only) == 5
                and only[:4] == (0, None, (), None)
                and isinstance(only[4], int)
            ):
                self.of[id(graph), node] = only[4]
                return rows
        whole = (id(graph), asks, node.at, tuple(sorted(rows.items(), key=lambda item: item[0])))
        self.of[id(graph), node] = self.numbers.setdefault(whole, len(self.numbers))
        return rows


def _found(graph: Graph, node: Node, edge: Edge) -> tuple[str, ...]:
    """The findings of the row that an edge takes, by name."""
    step, move = graph.frame.tree.steps[node.step], edge.move
    rows: tuple[Row, ...] = ()
    not_sure: NotSure | None = None
    if isinstance(step, Working):
        rows, not_sure = step.band, step.not_sure
    elif isinstance(step, Question | Recall):
        rows, not_sure = step.answer or step.band, step.not_sure
    found: tuple[str, ...] = ()
    if 0 <= move.row < len(rows) and not (isinstance(step, Question) and step.kind == "several"):
        found = rows[move.row].finding
    if not_sure is not None and (move.unsure or (move.row == NONE and isinstance(step, Question))):
        found = (*not_sure.finding, *found)
    return found


def _says(question: Question, row: int) -> str:
    if row == NONE:
        return "not sure"
    if question.answer:
        return question.answer[row].says
    band = question.band[row]
    if band.says:
        return band.says
    end = band.below if band.below is not None else band.up_to
    return f"up to {end}" if end is not None else "the rest"
