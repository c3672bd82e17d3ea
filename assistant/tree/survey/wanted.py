"""What there is to cover in a tree: every answer, and a number on both sides of every limit."""

from __future__ import annotations

from typing import NamedTuple

from assistant.tree.answers import Value
from assistant.tree.bands import Stretch
from assistant.tree.model import NOT_SURE, Question
from assistant.tree.survey.graph import Graph, Node
from assistant.tree.survey.moves import Move

__all__ = ["ANY", "Covered", "covered_by_move"]

ANY = "any"
"""A number that no limit is set to."""


class Covered(NamedTuple):
    """An answer to be covered: of which question of which tree; an id, "not-sure", a number beside a limit, or several ids."""

    tree: str
    question: str
    answer: Value


def covered_by_move(graph: Graph, node: Node, move: Move) -> Covered | None:
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
