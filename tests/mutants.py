"""Every small change to a tree, and what notices it: `check`, then `compare`; the rest must be no change at all.

    python -m tests.mutants [TREE…] [--every N]

A mutant has one way on, one limit of a band, or one finding written otherwise. Of each it is told whether `check` finds
something wrong, whether `compare` tells of other verdicts, or whether it is called no difference; one that is called no
difference is walked beside the tree over the consultations that cover it and others.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator, Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass, field
from decimal import Decimal
from random import Random
from typing import Any, NamedTuple

from assistant.errors import Refused
from assistant.session.covering import covering
from assistant.session.fact import Fact
from assistant.session.prove import work_out
from assistant.session.search import completed, options
from assistant.session.walk import walk
from assistant.tree.answers import Value, read_answer
from assistant.tree.compare import Difference, compare
from assistant.tree.installed import installed_folder, installed_ids
from assistant.tree.load import load, load_text
from assistant.tree.mistakes import Unreadable
from assistant.tree.model import RANK
from assistant.tree.survey.graph import TooMany
from assistant.tree.tree import Asked, Tree
from tests.writing import dumped

__all__ = ["Mutant", "Share", "Workbench", "changes", "mutant", "table"]

Table = dict[str, Any]
KINDS = ("question", "recall", "working", "visit", "each")
EFFECTS = (*RANK, "advice")


class Mutant(NamedTuple):
    """A tree with one thing changed."""

    kind: str
    about: str
    data: Table


Change = tuple[str, str, tuple[Any, ...], Any]
"""The kind, what it is about, the keys that lead there, and the value; None: nothing any more."""


# The changes


def mutant(data: Table, change: Change) -> Mutant:
    """A tree's tables with one thing changed."""
    kind, about, path, value = change
    changed = dict(data)
    table = changed
    for key in path[:-1]:  # only what is changed is copied
        table[key] = deepcopy(table[key]) if table is changed else table[key]
        table = table[key]
    if value is None:
        table.pop(path[-1])
    elif isinstance(value, dict):  # a limit of another sort
        table.pop(path[-1])
        table.update(value)
    else:
        table[path[-1]] = value
    return Mutant(kind, about, changed)


def changes(data: Table) -> Iterator[Change]:
    """Every small change to a tree."""
    steps = [(kind, name) for kind in KINDS for name in data.get(kind, {})]
    targets = [name for _, name in steps] + ["end", *(f"verdict:{one['id']}" for one in data["verdict"])]
    yield from _other("edge", ("tree", "first"), data["tree"]["first"], [name for _, name in steps])
    for kind, name in steps:
        for path, table in _tables(data[kind][name], (kind, name)):
            if "then" in table:
                yield from _other("edge", (*path, "then"), table["then"], targets)
            if path[-1] != name:
                yield from _findings(data, path, table)
            if path[-2:-1] == ("band",):
                yield from _limits(data[kind][name], path, table)
    for name, finding in data.get("finding", {}).items():
        yield from _other("effect", ("finding", name, "effect"), finding["effect"], EFFECTS)
        yield from _other(
            "requirement", ("finding", name, "requirement"), finding.get("requirement"), data["requirement"]
        )


def _tables(step: Table, path: tuple[Any, ...]) -> Iterator[tuple[tuple[Any, ...], Table]]:
    yield path, step
    for key in ("answer", "band"):
        for index, row in enumerate(step.get(key, [])):
            yield (*path, key, index), row
    if "not-sure" in step:
        yield (*path, "not-sure"), step["not-sure"]


def _other(kind: str, path: tuple[Any, ...], before: Any, values: Any) -> Iterator[Change]:
    for value in values:
        if value != before:
            yield kind, f"{_said(path)} = {value}, was {before}", path, value


def _findings(data: Table, path: tuple[Any, ...], table: Table) -> Iterator[Change]:
    has = table.get("finding", [])
    has = [has] if isinstance(has, str) else list(has)
    for one in has:
        rest = [other for other in has if other != one]
        yield "finding dropped", f"{_said(path)}: {one}", (*path, "finding"), rest or None
    for one in data.get("finding", {}):
        if one not in has:
            yield "finding added", f"{_said(path)}: {one}", (*path, "finding"), [*has, one]


def _limits(step: Table, path: tuple[Any, ...], band: Table) -> Iterator[Change]:
    for key, other in (("below", "up-to"), ("up-to", "below")):
        if key not in band:
            continue
        for towards in (-1, 1):
            moved = band[key] + towards * _step(band[key])
            yield "limit", f"{_said(path)} {key} = {moved}, was {band[key]}", (*path, key), moved
        yield "limit", f"{_said(path)} {other} = {band[key]}, was {key}", (*path, key), {other: band[key]}


def _step(number: Any) -> Any:
    """One in the last decimal that a number is written with."""
    if isinstance(number, int):
        return 1
    exponent = Decimal(str(number)).as_tuple().exponent
    assert isinstance(exponent, int)
    return Decimal(1).scaleb(exponent)


def _said(path: tuple[Any, ...]) -> str:
    return ".".join(str(one) for one in path)


# What notices them


@dataclass
class Share:
    """How many mutants of one kind there are, and what notices them."""

    all: int = 0
    checked: int = 0
    """Of these `check` complains."""
    compared: int = 0
    """Of these `compare` tells, of those that are left."""
    doubtful: int = 0
    """Of these `compare` cannot say whether real answers lead elsewhere; none that were tried do."""
    alike: int = 0
    """These `compare` calls no difference."""
    states: int = 0
    """Of those that are called no difference these leave a requirement in another state, under the same verdict."""
    wrong: list[str] = field(default_factory=list)
    """These are called no difference, and lead to another verdict."""
    survived: list[str] = field(default_factory=list)

    def line(self, name: str) -> str:
        """One line of the table that is printed."""
        noticed = self.checked + self.compared
        return (
            f"{name:<17}{self.all:>7}{self.checked:>8}{self.compared:>9}{self.doubtful:>9}{self.alike:>7}{self.states:>8}"
            f"{100 * noticed / max(1, self.all):>9.1f} %"
        )


HEAD = f"{'':<17}{'all':>7}{'check':>8}{'compare':>9}{'doubt':>9}{'alike':>7}{'states':>8}{'noticed':>11}"


class Workbench:
    """One installed tree, and the consultations in which its mutants are held against it."""

    def __init__(self, tree_id: str, more: int = 150, every: int = 3_000) -> None:
        self.tree = load(tree_id)
        self.data: Table = _plain(self.tree.document.data)
        self.tried = list(_tried(self.tree, more, every))
        self.shares: dict[str, Share] = {}

    def changes(self) -> list[Change]:
        """Every small change to this tree."""
        return list(changes(self.data))

    def run(self, chosen: Sequence[Change]) -> dict[str, Share]:
        """What notices each of these changes."""
        for change in chosen:
            self.one(mutant(self.data, change))
        return self.shares

    def one(self, made: Mutant) -> None:
        """What notices one mutant."""
        share = self.shares.setdefault(made.kind, Share())
        share.all += 1
        tree = self.loaded(made)
        if tree is None or work_out(tree).complaints:
            share.checked += 1
            return
        try:
            difference = compare(self.tree, tree)
        except TooMany:
            share.compared += 1
            return
        if difference.changes:
            if difference.exact or self.shown(tree, difference):
                share.compared += 1
            else:
                share.doubtful += 1
            return
        share.alike += 1
        share.survived.append(made.about)
        states = False
        for facts in self.tried:
            before, after = _came_to(self.tree, facts), _came_to(tree, facts)
            if {end[:1] for end in before} != {end[:1] for end in after}:
                share.wrong.append(f"{made.about}: {facts}")
                break
            states = states or before != after
        share.states += states

    def shown(self, tree: Tree, difference: Difference) -> bool:
        """Whether any answers that were tried come to another verdict."""
        for change in difference.changes:
            for answers in (*change.shown, *self.tried):
                facts = completed(tree, completed(self.tree, answers))
                whole = {**answers, **facts}
                before, after = _came_to(self.tree, whole), _came_to(tree, whole)
                if {end[:1] for end in before} != {end[:1] for end in after}:
                    return True
        return False

    def loaded(self, made: Mutant) -> Tree | None:
        """A mutant, if it loads."""
        try:
            return load_text(dumped(made.data), f"{self.tree.id}.toml", installed_folder())
        except Unreadable:
            return None


def _plain(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {key: _plain(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(one) for one in value]
    return value


def _came_to(tree: Tree, answers: Mapping[str, Value]) -> frozenset[tuple[object, ...]]:
    """The verdicts and states that answers come to; what is not asked or not taken is left out, the rest completed."""
    facts = {}
    for key, value in answers.items():
        try:
            facts[key] = Fact(
                read_answer(tree.ask(key).question, list(value) if isinstance(value, tuple) else value)
            )
        except Refused:
            continue
    try:
        result = walk(tree, facts)
        if result.next is not None:
            whole = completed(tree, {key: fact.value for key, fact in facts.items()})
            result = walk(tree, {key: Fact(value) for key, value in whole.items()})
        return frozenset(result.ends)
    except Refused as refused:
        return frozenset({("refused", refused.message)})


def _tried(tree: Tree, more: int, every: int) -> Iterator[Mapping[str, Value]]:
    """Consultations: those that cover the tree, random ones, and all there are where they are few."""
    yield from covering(tree).consultations
    random = Random(tree.id)

    def choose(asked: Asked) -> Value:
        return random.choice(list(options(asked)))

    for _ in range(more):
        yield completed(tree, {}, choose)
    found = list(_every(tree, every))
    if len(found) < every:
        yield from found


def _every(tree: Tree, most: int) -> Iterator[Mapping[str, Value]]:
    waiting: list[dict[str, Value]] = [{}]
    while waiting and most:
        answers = waiting.pop()
        try:
            result = walk(tree, {key: Fact(value) for key, value in answers.items()})
        except Refused:
            continue
        if result.next is None:
            most -= 1
            yield answers
        else:
            waiting += [{**answers, result.next.key: value} for value in options(result.next)]


def table(tree_id: str, shares: Mapping[str, Share]) -> Iterator[str]:
    """What is printed for one tree."""
    yield HEAD
    whole = Share()
    for kind, share in shares.items():
        yield share.line(kind)
        for name in ("all", "checked", "compared", "doubtful", "alike", "states"):
            setattr(whole, name, getattr(whole, name) + getattr(share, name))
    yield whole.line(tree_id)


def main(arguments: Sequence[str]) -> None:
    """Run every mutant, or every so manieth, of these trees."""
    every, verbose = 1, "--survived" in arguments
    if "--every" in arguments:
        every = int(arguments[list(arguments).index("--every") + 1])
    trees = [one for one in arguments if not one.startswith("--") and not one.isdigit()]
    for tree_id in trees or installed_ids():
        bench = Workbench(tree_id)
        found = bench.run(bench.changes()[::every])
        print("\n".join(table(tree_id, found)), flush=True)
        for share in found.values():
            for wrong in share.wrong:
                print("WRONG", wrong)
            for one in share.survived if verbose else ():
                print("   alike:", one)


if __name__ == "__main__":
    main(sys.argv[1:])
