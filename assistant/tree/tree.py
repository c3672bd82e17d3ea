"""A tree ready to run: its tables, the trees it visits, and the meaning of every fact key.

Invariant: every reference in a `Tree` resolves; the trees it visits are in `parts` under their ids.
"""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from itertools import islice
from typing import NamedTuple

from assistant.errors import Refused
from assistant.tree.answers import Value
from assistant.tree.mistakes import nearest
from assistant.tree.model import Each, Question, Row, Step, TreeFile, Visit, Working
from assistant.tree.toml import Document
from assistant.workings import registry
from assistant.workings.units import converted

__all__ = ["Asked", "Tree", "each_items"]

MOST_COMPARED = 4000
"""Keys that are looked through for the one that was meant: a tree may have more than anyone would wait for."""


class Asked(NamedTuple):
    """A question at its place in a consultation: the one that a fact key names."""

    key: str
    question_id: str
    question: Question
    tree: Tree
    labels: tuple[str, ...] = ()
    """Which of several things it is asked about, outermost first: `("Joint 2",)`."""


@dataclass(frozen=True, eq=False)
class Tree:
    """A loaded tree and the trees it visits; equal only to itself, told apart by its digest."""

    file: TreeFile
    document: Document
    installed: bool
    parts: Mapping[str, Tree]

    @property
    def id(self) -> str:
        """The id that records and facts files name it by."""
        return self.file.tree.id

    @cached_property
    def steps(self) -> dict[str, Step]:
        """Every step by its id: questions, recalls, workings, visits and eaches share one namespace."""
        file = self.file
        return {**file.question, **file.recall, **file.working, **file.visit, **file.each}

    @cached_property
    def digest(self) -> str:
        """SHA-256, in hex, over this tree and every tree it visits."""
        whole = hashlib.sha256(self.document.digest.encode())
        for name in sorted(self.parts):
            whole.update(f"{name} {self.parts[name].digest}".encode())
        return whole.hexdigest()

    def family(self) -> Iterator[Tree]:
        """This tree and every tree it visits, each once."""
        seen: dict[str, Tree] = {}

        def gather(tree: Tree) -> None:
            if tree.id not in seen:
                seen[tree.id] = tree
                for part in tree.parts.values():
                    gather(part)

        gather(self)
        yield from seen.values()

    def verdict_ends(self) -> Iterator[str]:
        """Every `verdict:…` that some step of this tree leads to."""
        for step in self.steps.values():
            yield from (way for way in ways_on(step) if way.startswith("verdict:"))

    @cached_property
    def watched(self) -> frozenset[str]:
        """This tree's fact keys that a recall, a working, a visit or an each may look back at."""
        file = self.file
        seen = {recall.question for recall in file.recall.values()}
        visits: list[Visit | Each] = [*file.visit.values(), *file.each.values()]
        for visit in visits:
            seen.update(visit.given.values())
        for each in file.each.values():
            seen.update(name for name in (each.count, each.over) if name)
        for working in file.working.values():
            for keys in working.give.values():
                seen.update(keys)
        return frozenset(seen)

    @cached_property
    def gathered(self) -> frozenset[str]:
        """Ids of eaches whose things a working looks at as a list ("joint.*")."""
        keys = (
            key for working in self.file.working.values() for given in working.give.values() for key in given
        )
        return frozenset(key.removesuffix(".*") for key in keys if key.endswith(".*"))

    def ask(self, key: str) -> Asked:
        """The question that a fact key names.

        Raises `Refused` where these trees could never ask it, with the nearest key that they could.
        """
        try:
            return _ask(self, key, key.split("/"), "", ())
        except _NoKey as lost:
            message = f'"{key}" can never be asked' + ("" if lost.done else f' by "{self.id}"')
            near = self.written_as(key) or _likely(key, lost, self._compared.values())
            if near:
                raise Refused(message, f'Did you mean "{near}"?') from None
            name = self.id if self.installed else self.document.name
            raise Refused(message, f"`throughwall facts new {name}` writes every key there is.") from None

    def has_key(self, key: str) -> Question | None:
        """The question that a fact key names, None where there is none."""
        try:
            return _ask(self, key, key.split("/"), "", ()).question
        except (_NoKey, Refused):
            return None

    def handed(self, working: Working, name: str, value: Value) -> Value:
        """An answer as an input of a working wants it: a number in the unit of that input."""
        into = self.units_of(working)[name]
        return converted(value, *into) if into is not None and isinstance(value, Fraction) else value

    def units_of(self, working: Working) -> dict[str, tuple[str, str] | None]:
        """For each input that single answers are given to, the unit asked in and the unit wanted, where they differ."""
        found = self._units.get(id(working))
        if found is None:
            wanted = {one.name: one.unit for one in registry.find(working.run).inputs}
            found = self._units[id(working)] = {}
            for name, keys in working.give.items():
                question = None if keys[0].endswith(".*") else self.has_key(keys[0])
                unit, into = question.unit if question else None, wanted.get(name)
                found[name] = (unit, into) if unit and into and unit != into else None
        return found

    @cached_property
    def _units(self) -> dict[int, dict[str, tuple[str, str] | None]]:
        return {}

    def written_as(self, key: str) -> str | None:
        """The fact key that differs from `key` in its dots, slashes, dashes and capitals alone."""
        return key if self.has_key(key) else self._compared.get(_letters(key))

    @cached_property
    def _compared(self) -> dict[str, str]:
        """The first keys, by their letters and digits."""
        compared: dict[str, str] = {}
        for key in islice(self.every_key(), MOST_COMPARED):
            compared.setdefault(_letters(key), key)
        return compared

    def every_key(self) -> Iterator[str]:
        """Every fact key these trees could ask, things of a count up to its most, in author order."""
        yield from _keys(self, "", frozenset())


def each_items(tree: Tree, each: Each) -> list[tuple[str, str]]:
    """Every thing an `each` could run over: its name in fact keys and its label."""
    if each.count is not None:
        question = tree.file.question[each.count]
        most = int(question.most or 0)
        return [(str(n), (each.label or "{n}").replace("{n}", str(n))) for n in range(1, most + 1)]
    question = tree.file.question[each.over or ""]
    return [
        (answer.id, (each.label or "{says}").replace("{n}", str(n)).replace("{says}", answer.says))
        for n, answer in enumerate(question.answer, 1)
    ]


class _NoKey(Exception):
    """A fact key leads nowhere: from `done` on, where `names` would have ended it."""

    def __init__(self, done: str, head: str, names: Collection[str]) -> None:
        super().__init__(head)
        self.done, self.head, self.names = done, head, names


def _ask(
    tree: Tree, key: str, rest: list[str], done: str, labels: tuple[str, ...], answered: Collection[str] = ()
) -> Asked:
    head = rest[0]
    if len(rest) == 1:
        question = tree.file.question.get(head)
        if question is None:
            raise _NoKey(done, head, [name for name in tree.file.question if name not in answered])
        return Asked(key, head, question, tree, labels)
    name, _, item = head.partition(".")
    visit: Visit | Each | None = tree.file.each.get(name) if item else tree.file.visit.get(name)
    if visit is None:
        raise _NoKey(done, rest[-1], ())
    if isinstance(visit, Each):
        items = dict(each_items(tree, visit))
        if item not in items:
            names = list(items)
            most = (
                f"{done}{name}.{names[0]} to {done}{name}.{names[-1]}"
                if visit.count
                else ", ".join(f"{done}{name}.{n}" for n in names)
            )
            raise Refused(f'"{key}" can never be asked: there is no "{done}{head}"', f"There can be {most}.")
        labels = (*labels, items[item])
    if len(rest) == 2 and (rest[1] in visit.given or rest[1] in visit.set):
        source = f'from "{done}{visit.given[rest[1]]}"' if rest[1] in visit.given else "by the tree itself"
        raise Refused(f'"{key}" is never asked: it is answered {source}', f'Take "{key}" out.')
    answered = {*visit.given, *visit.set}
    return _ask(tree.parts[visit.tree], key, rest[1:], f"{done}{head}/", labels, answered)


def _letters(key: str) -> str:
    """A key without the signs that are easily got wrong."""
    return "".join(character for character in key.casefold() if character.isalnum())


def _likely(key: str, lost: _NoKey, keys: Collection[str]) -> str | None:
    """The whole key that was probably meant, where more than its signs is wrong."""
    if not any(character.isdigit() for character in key):
        keys = [one for one in keys if not any(n in one for n in "23456789")] or keys  # of several, the first
    ending = [one for one in keys if one.rpartition("/")[2] == lost.head]
    near = nearest(lost.head, lost.names)
    if near and (lost.done or not ending):
        return lost.done + near
    if ending:
        return nearest(key, ending) or ending[0]
    near = nearest(key, keys)
    return near if near and nearest(lost.head, [near.rpartition("/")[2]]) else None


def _keys(tree: Tree, prefix: str, answered: frozenset[str]) -> Iterator[str]:
    """Depth first from the first step, so that the keys come as they would be asked."""
    pending, seen = [tree.file.tree.first], set[str]()
    order: list[str] = []
    while pending:
        name = pending.pop()
        if name in seen or name not in tree.steps:
            continue
        seen.add(name)
        order.append(name)
        pending.extend(reversed(list(ways_on(tree.steps[name]))))
    for name in [*order, *(name for name in tree.steps if name not in seen)]:
        step = tree.steps[name]
        if isinstance(step, Question):
            if name not in answered:
                yield prefix + name
        elif isinstance(step, Visit):
            yield from _keys(tree.parts[step.tree], f"{prefix}{name}/", frozenset({*step.given, *step.set}))
        elif isinstance(step, Each):
            for item, _ in each_items(tree, step):
                inner = f"{prefix}{name}.{item}/"
                yield from _keys(tree.parts[step.tree], inner, frozenset({*step.given, *step.set}))


def ways_on(step: Step) -> Iterator[str]:
    """Every `then` of a step, in author order, a default once at its first use."""
    if isinstance(step, Visit | Each):
        yield step.then
        return
    rows: list[Row] = [*step.band] if isinstance(step, Working) else [*step.answer, *step.band]
    for row in rows:
        if row.then:
            yield row.then
        elif step.then:
            yield step.then
    if not rows and step.then:
        yield step.then
    if step.not_sure is not None and step.not_sure.then:
        yield step.not_sure.then
    if rows and step.then:
        yield step.then
