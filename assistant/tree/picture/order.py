"""The steps of a tree in an order in which every consultation meets them, and how deep each lies in branches.

Invariant: where no circle is closed, each step comes after all that lead to it; what is asked first on a branch an
author wrote first comes first. The order is the same whenever the tree is.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import partial
from typing import NamedTuple

from assistant.tree.picture.words import rows
from assistant.tree.tree import Tree

__all__ = ["Order", "ordered"]

END = "end"
Ways = Mapping[str, Sequence[str]]


class Order(NamedTuple):
    """Every step once."""

    numbers: dict[str, int]
    """Each step's number, from 1, in order."""
    levels: dict[str, int]
    """How many branches each lies in: 0 for what every way passes."""
    ways: dict[str, tuple[str, ...]]
    """Where each step leads, each goal once, in author order."""
    unreached: frozenset[str]
    """Steps that no way leads to; they come last."""


def ordered(tree: Tree) -> Order:
    """The order of a tree's steps."""
    ways = {
        name: tuple(dict.fromkeys(row.then for row in rows(tree, step) if row.then))
        for name, step in tree.steps.items()
    }
    inner = {name: [way for way in found if way in ways] for name, found in ways.items()}
    first = _downwards([tree.file.tree.first], inner)
    reached = set(first)
    rest = [name for name in _downwards(list(inner), inner) if name not in reached]
    numbers = {name: number for number, name in enumerate((*first, *rest), 1)}
    levels = _levels(first, ways)
    levels.update(dict.fromkeys(rest, 0))
    return Order(numbers, levels, ways, frozenset(rest))


def _downwards(roots: Sequence[str], ways: Ways) -> list[str]:
    """What is reached from the roots, each after all that lead to it."""
    done: list[str] = []
    seen: set[str] = set()
    for root in reversed(roots):
        if root in seen:
            continue
        seen.add(root)
        waiting = [(root, iter(tuple(reversed(ways.get(root, ())))))]
        while waiting:
            name, left = waiting[-1]
            way = next((way for way in left if way not in seen), None)
            if way is None:
                waiting.pop()
                done.append(name)
            else:
                seen.add(way)
                waiting.append((way, iter(tuple(reversed(ways.get(way, ()))))))
    return done[::-1]


def _levels(steps: Sequence[str], ways: Ways) -> dict[str, int]:
    """A step that every way from its dominator passes lies as deep as that one, any other one deeper."""
    ends = [END] if any(END in ways[name] for name in steps) else []
    onwards = {name: [way for way in ways[name] if way in ways or way in ends or not ends] for name in steps}
    if not ends:  # every way ends in a verdict of its own
        onwards = {name: [way if way in ways else END for way in found] for name, found in onwards.items()}
    back: dict[str, list[str]] = {END: [], **{name: [] for name in steps}}
    for name, found in onwards.items():
        for way in found:
            back[way].append(name)
    above = _dominators(steps, back)
    upwards = _downwards([END], back)
    after = _dominators(upwards, {**onwards, END: []})
    passed = partial(_under, *_spans(upwards, after))
    levels: dict[str, int] = {}
    for name in steps:
        over = above.get(name)
        levels[name] = 0 if over is None else levels[over] + (not passed(over, name))
    return levels


def _dominators(order: Sequence[str], back: Ways) -> dict[str, str]:
    """The nearest step that every way to each passes; `order` begins with the root, in reverse postorder."""
    place = {name: at for at, name in enumerate(order)}
    found: dict[str, str] = {order[0]: order[0]}

    def meet(one: str, other: str) -> str:
        while one != other:
            if place[one] > place[other]:
                one = found[one]
            else:
                other = found[other]
        return one

    changed = True
    while changed:
        changed = False
        for name in order[1:]:
            known = [one for one in back[name] if one in found]
            nearest = known[0]
            for one in known[1:]:
                nearest = meet(nearest, one)
            if found.get(name) != nearest:
                found[name] = nearest
                changed = True
    del found[order[0]]
    return found


def _spans(order: Iterable[str], over: Mapping[str, str]) -> tuple[dict[str, int], dict[str, int]]:
    """Where each node's part of the tree of dominators begins and ends."""
    below: dict[str, list[str]] = {name: [] for name in order}
    for name, one in over.items():
        below[one].append(name)
    begins: dict[str, int] = {}
    ends: dict[str, int] = {}
    roots = [name for name in below if name not in over]
    waiting = [(root, True) for root in roots]
    while waiting:
        name, entering = waiting.pop()
        if entering:
            begins[name] = len(begins)
            waiting.append((name, False))
            waiting += [(one, True) for one in below[name]]
        else:
            ends[name] = len(begins)
    return begins, ends


def _under(begins: Mapping[str, int], ends: Mapping[str, int], name: str, over: str) -> bool:
    """Whether `over` holds `name` in its part of the tree of dominators."""
    if name not in begins or over not in begins:
        return False
    return begins[over] <= begins[name] < ends[over]
