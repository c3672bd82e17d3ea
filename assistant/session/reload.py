"""Going on under another tree: what becomes of the answers when the tree they were given to has changed.

Invariant: no answer is lost: each is in the new session, in force or set aside, or kept beside it as it was written and
told. One that is in force is asked by the new tree, and taken, where it stood before.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

from assistant.errors import Refused
from assistant.session.entry import read_entry, write_entry
from assistant.session.fact import Fact
from assistant.session.record import Lost, Record
from assistant.session.session import Session
from assistant.session.walk import walk
from assistant.tree.tree import Tree

__all__ = ["CarriedOver", "carry_over"]


@dataclass(frozen=True)
class CarriedOver:
    """The consultation under its new tree, and what did not stay as it was."""

    record: Record
    unfit: tuple[Lost, ...] = ()
    """Answers that fitted before, and that the new tree does not ask for or take."""
    aside: tuple[str, ...] = ()
    """Answers that were in force, and are set aside: the new tree does not ask for them where things stand now."""
    again: tuple[str, ...] = ()
    """Answers that did not fit before and do now; they are set aside, to be confirmed."""


def carry_over(record: Record, tree: Tree, proven: bool) -> CarriedOver:
    """The same answers put to another tree. Raises `Refused` where that tree cannot be walked at all."""
    before = record.session
    _ = walk(tree, {})
    lost: dict[str, Lost] = {}

    def fitting(facts: Mapping[str, Fact]) -> dict[str, Fact]:
        fit = {}
        for key, fact in facts.items():
            entry = write_entry(before.tree, key, fact, record.times.get(key))
            try:
                fit[key] = read_entry(tree, entry)
            except Refused as error:
                lost[key] = Lost(key, entry, error)
        return fit

    taken, parked = fitting(before.facts), fitting(before.parked)
    unfit = tuple(lost.values())
    again = {}
    for one in reversed(record.lost):  # of several to one question, the latest
        if one.key in taken or one.key in parked or one.key in lost or one.key in again:
            continue
        try:
            again[one.key] = read_entry(tree, one.written)
        except Refused:
            lost[one.key] = one
    facts = _in_force(tree, taken)
    aside = tuple(key for key in taken if key not in facts)
    parked = {**again, **parked, **{key: taken[key] for key in aside}}
    session = Session(tree, MappingProxyType(facts), MappingProxyType(parked), proven)
    carried = replace(
        record,
        session=session,
        times={key: record.times[key] for key in facts if key in record.times},
        lost=tuple(lost.values()),
    )
    return CarriedOver(carried, unfit, aside, tuple(again))


def _in_force(tree: Tree, facts: Mapping[str, Fact]) -> dict[str, Fact]:
    """Those of the answers that agree with each other and that the tree asks for, in their order."""
    kept: dict[str, Fact] = dict(facts)
    try:
        asked = walk(tree, kept).asked
    except Refused:  # some contradict each other: the earlier ones hold
        kept = {}
        for key, fact in facts.items():
            try:
                _ = walk(tree, {**kept, key: fact})
            except Refused:
                continue
            kept[key] = fact
        asked = walk(tree, kept).asked
    return {key: fact for key, fact in kept.items() if key in asked}
