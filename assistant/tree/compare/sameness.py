"""Which steps mean the same in two editions of a tree, whatever their words.

Invariant: from a step that `same` names, the same answers lead to the same findings and the same end in both.
"""

from __future__ import annotations

from collections.abc import Sequence

from assistant.tree.model import Each, NotSure, Question, Recall, Row, Visit, Working
from assistant.tree.survey.frame import in_order
from assistant.tree.tree import Tree, ways_on

__all__ = ["Sameness"]


class Sameness:
    """Compares the steps of two families of trees."""

    def __init__(self) -> None:
        self.done: dict[tuple[int, int], frozenset[str]] = {}
        self.told: dict[tuple[int, int], dict[str, bool]] = {}
        self.changed: dict[tuple[int, int], set[str]] = {}

    def trees(self, old: Tree, new: Tree) -> bool:
        """Whether two trees mean the same from their first step on."""
        if old is new or old.digest == new.digest:
            return True
        first = old.file.tree.first
        return first == new.file.tree.first and first in self.steps(old, new)

    def steps(self, old: Tree, new: Tree, order: Sequence[str] = ()) -> frozenset[str]:
        """The steps from which on two trees mean the same."""
        key = (id(old), id(new))
        if key not in self.done:
            same: set[str] = {"end"}
            for name in reversed(order or in_order(old)):
                if name in new.steps and self.alike(old, new, name):
                    ways = set(ways_on(old.steps[name]))
                    if all(way in same or way.startswith("verdict:") for way in ways):
                        same.add(name)
            self.done[key] = frozenset(same)
        return self.done[key]

    def alike(self, old: Tree, new: Tree, name: str) -> bool:
        """Whether one step means the same in two trees, what follows it left aside."""
        told = self.told.setdefault((id(old), id(new)), {})
        if name not in told:
            told[name] = self.means_same(old, new, name)
        return told[name]

    def findings(self, old: Tree, new: Tree) -> set[str]:
        """The findings that are not the same in two trees."""
        key = (id(old), id(new))
        if key not in self.changed:
            before, after = old.file.finding, new.file.finding
            self.changed[key] = {
                name
                for name in (*before, *after)
                if name not in before
                or name not in after
                or (before[name].requirement, before[name].effect)
                != (after[name].requirement, after[name].effect)
            }
        return self.changed[key]

    def means_same(self, old: Tree, new: Tree, name: str) -> bool:
        """Whether one step means the same, found out."""
        before, after = old.steps[name], new.steps[name]
        if type(before) is not type(after):
            return False
        if isinstance(before, Visit | Each) and isinstance(after, Visit | Each):
            told = ("tree", "then", "given", "set", "count", "over")
            if any(getattr(before, key, None) != getattr(after, key, None) for key in told):
                return False
            if not self.trees(old.parts[before.tree], new.parts[after.tree]):
                return False
            return not isinstance(before, Each) or _question(old, before.count or before.over) == _question(
                new, after.count or after.over if isinstance(after, Each) else ""
            )
        if not self.findings(old, new) and _written_alike(old, new, name):
            return True
        return _meaning(old, name) == _meaning(new, name)


def _written_alike(old: Tree, new: Tree, name: str) -> bool:
    """Whether a step, and the question that it looks at, are written alike word for word."""
    for kind in ("question", "recall", "working"):
        before, after = (tree.document.data.get(kind, {}).get(name) for tree in (old, new))
        if before is not None:
            if (
                kind == "recall"
                and isinstance(before, dict)
                and not _written_alike(old, new, str(before["question"]))
            ):
                return False
            return bool(before == after)
    return False


def _meaning(tree: Tree, name: str) -> object:
    """All that a step does, without its words."""
    step = tree.steps[name]
    if isinstance(step, Question):
        return _question(tree, name)
    if isinstance(step, Recall):
        return (
            _question(tree, step.question),
            step.question,
            step.then,
            _rows(tree, step),
            _unsure(tree, step.not_sure),
        )
    assert isinstance(step, Working)
    given = sorted(step.give.items()), sorted(step.set.items(), key=str)
    return step.run, given, step.branch_on, step.then, _rows(tree, step), _unsure(tree, step.not_sure)


def _question(tree: Tree, name: str | None) -> object:
    question = tree.file.question[name or ""]
    limits = question.unit, question.least, question.most, question.accept, question.must_answer
    return question.kind, limits, question.then, _rows(tree, question), _unsure(tree, question.not_sure)


def _rows(tree: Tree, step: Question | Recall | Working) -> list[object]:
    rows: list[Row] = [*step.band] if isinstance(step, Working) else [*step.answer, *step.band]
    return [
        (
            getattr(row, "id", None),
            getattr(row, "below", None),
            getattr(row, "up_to", None),
            row.then,
            _found(tree, row),
        )
        for row in rows
    ]


def _unsure(tree: Tree, not_sure: NotSure | None) -> object:
    return None if not_sure is None else (not_sure.then, _found(tree, not_sure))


def _found(tree: Tree, row: Row | NotSure) -> tuple[object, ...]:
    """What a row finds: the requirements and effects, whatever the findings are called."""
    findings = [tree.file.finding[name] for name in row.finding]
    return tuple(sorted((one.requirement or "", one.effect) for one in findings if one.effect != "advice"))
