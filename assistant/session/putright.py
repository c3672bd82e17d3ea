"""The least work that makes a verdict acceptable: uniform-cost search over what work can change.

Invariant: only answers with `put-right` are ever changed (never what the flue is), and every set of work that comes
out was verified by judging the changed facts. A question that a change opens is answered by work too, or left not sure;
where neither will do, what has to be so is listed as something to make sure of first.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import count
from types import MappingProxyType

from assistant.errors import Refused
from assistant.session.fact import Fact
from assistant.session.judge import judge, with_fact
from assistant.session.session import Session
from assistant.session.walked import Found
from assistant.tree.answers import Value
from assistant.tree.bands import question_stretches
from assistant.tree.model import NOT_SURE
from assistant.tree.tree import Asked

__all__ = ["Change", "Remedy", "put_right"]

MOST_TRIES = 250
"""Sets of work judged before the search is given up."""

FEW_TRIES = 60
"""The same where so much is wrong, or so little can be mended, that a longer search would not get far either."""

MOST_STEPS = 30_000
"""Steps walked in all before the search is given up, so that a flue of which little is known takes no longer."""

LARGE = 4
"""Pieces of work from which on a set counts as large."""

MOST_CHANGES = 24

MAKING_SURE = 1
"""The effort counted for finding out what a change depends on."""

BAD = ("danger", "fails", "unproven")


@dataclass(frozen=True)
class Change:
    """One piece of work: the answer it brings about, and what is to be done."""

    asked: Asked
    before: Value | None
    after: Value
    work: str
    effort: int
    to_make_sure: bool = False
    """Whether it is no work, but something that has to be so for the other work to count."""


@dataclass(frozen=True)
class Remedy:
    """A set of work, its effort in all, and the outcome that was verified for it."""

    changes: tuple[Change, ...]
    effort: int
    outcome: str


@dataclass(frozen=True)
class _Node:
    session: Session
    changes: tuple[Change, ...]

    @property
    def effort(self) -> int:
        return sum(change.effort for change in self.changes)

    @property
    def keys(self) -> frozenset[tuple[str, Value]]:
        return _keys(self.changes)

    @property
    def case(self) -> tuple[frozenset[tuple[str, Value]], frozenset[str]]:
        """What tells it from other nodes: its work, and every question it has an answer to."""
        return self.keys, frozenset(self.session.facts)


def put_right(session: Session, most: int = 3) -> list[Remedy]:
    """The cheapest minimal sets of work that make the verdict acceptable, least effort first, at most `most`.

    Empty where the verdict is acceptable already, where answers are missing, or where no work that these trees know
    of makes it so. Where so much is wrong that the search would be long, the last set is one that works and from which
    nothing can be left out, though a cheaper one may exist.
    """
    if session.next is not None or judge(session).outcome == "acceptable":
        return []
    straight = _straight(_Node(session, ()))
    remedies = _cheapest(session, most, straight)
    if (
        straight is not None
        and len(remedies) < most
        and not any(_within(r.changes, straight) for r in remedies)
    ):
        remedies.append(_remedy(straight))
    return remedies


def _remedy(node: _Node) -> Remedy:
    """The work of a node that is acceptable, what has to be made sure of first."""
    order = list(node.session.walk.asked)
    changes = sorted(
        node.changes, key=lambda change: (not change.to_make_sure, order.index(change.asked.key))
    )
    return Remedy(tuple(changes), node.effort, "acceptable")


def _cheapest(session: Session, most: int, straight: _Node | None) -> list[Remedy]:
    """Uniform-cost search; shorter where the straight way shows that the sets are too large for it to get far."""
    tries = MOST_TRIES if straight is not None and len(straight.changes) <= LARGE else FEW_TRIES
    order = count()
    waiting = [(0, 0, next(order), _Node(session, ()))]
    seen: set[object] = set()
    remedies: list[Remedy] = []
    tries = max(10, min(tries, MOST_STEPS // (session.walk.steps + 1)))
    while waiting and len(remedies) < most and tries:
        *_, node = heapq.heappop(waiting)
        if node.case in seen or any(_within(remedy.changes, node) for remedy in remedies):
            continue
        seen.add(node.case)
        tries -= 1
        if _wrong(node) == 0:
            remedies.append(_remedy(node))
            continue
        for onwards in _onwards(node):
            heapq.heappush(waiting, (onwards.effort, len(onwards.changes), next(order), onwards))
    return remedies


def _straight(node: _Node) -> _Node | None:
    """A set of work that makes it acceptable, found fault by fault, with nothing in it that can be left out.

    Each step takes the first question on which work leaves less wrong, and there the work that leaves least; failing
    that, what is rid of the first fault and leaves least. No question is worked on twice, so it ends.
    """
    wrong = _wrong(node)
    while wrong:
        if len(node.changes) >= MOST_CHANGES:
            return None
        fault, causes = _first_fault(node)
        ways = list(_onwards(node))[::-1]  # what was asked last before a fault is the likeliest to mend it
        ways.sort(key=lambda way: way.changes[-1].asked.key not in causes)
        better: list[tuple[float, int, _Node]] = []
        other: list[tuple[float, int, _Node]] = []
        for place, way in enumerate(ways):
            if better and way.changes[-1].asked.key != better[0][2].changes[-1].asked.key:
                break  # the answers of one question are weighed against each other, not all work there is
            settled = _settled(way)
            left = _wrong(settled)
            if left < wrong:
                better.append((left, place, settled))
            elif left < math.inf and _first_fault(settled)[0] != fault:
                other.append((left, place, settled))
        if not better and not other:
            return None
        wrong, _, node = min(better or other, key=lambda one: one[:2])
    return _pared(node)


def _pared(node: _Node) -> _Node:
    """The node without the work that makes no difference to its being acceptable."""
    for change in node.changes:
        facts = dict(node.session.facts)
        if change.before is None:
            del facts[change.asked.key]
        else:
            facts[change.asked.key] = Fact(change.before)
        kept = tuple(one for one in node.changes if one is not change)
        pared = _Node(replace(node.session, facts=MappingProxyType(facts)), kept)
        if _wrong(pared) == 0:
            node = pared
    return node


def _settled(node: _Node) -> _Node:
    """The node with every question that its work opened answered, each in the way that leaves least wrong."""
    for _ in range(MOST_CHANGES):
        try:
            if node.session.next is None:
                return node
        except Refused:
            return node
        ways = list(_onwards(node))
        if not ways:
            return node
        node = min(ways, key=lambda way: (_wrong(way), way.effort))
    return node


def _wrong(node: _Node) -> float:
    """How much is wrong: 0 where it is acceptable, more the more bad findings there are and the more causes."""
    try:
        judgement = judge(node.session)
    except Refused:
        return math.inf
    if judgement.outcome == "acceptable":
        return 0
    bad = sum(_weight(found) for found in judgement.findings if found.finding.effect in BAD)
    return bad + (0.5 if judgement.outcome is not None else 0.75)


def _weight(found: Found) -> int:
    """How many things a finding speaks of: a working's is one, whatever goes into it."""
    bands = (band for working in found.tree.file.working.values() for band in working.band)
    return 1 if any(found.id in band.finding for band in bands) else len(found.causes) or 1


def _first_fault(node: _Node) -> tuple[object, set[str]]:
    """What tells the first thing that is wrong from others, and what caused it."""
    for found in node.session.walk.found:
        if found.finding.effect in BAD:
            return (found.tree.id, found.id, found.causes), set(found.causes)
    return None, set()


def _within(changes: Sequence[Change], node: _Node) -> bool:
    return _keys(changes) <= node.keys


def _keys(changes: Sequence[Change]) -> frozenset[tuple[str, Value]]:
    return frozenset((change.asked.key, change.after) for change in changes)


def _onwards(node: _Node) -> Iterator[_Node]:
    """The node with one more piece of work: on the question it opened, or on one that bears on what is wrong."""
    session = node.session
    try:
        opened = session.next
    except Refused:
        return
    done = {change.asked.key for change in node.changes}
    if opened is not None:
        ways = list(_works(opened, None)) or list(_conditions(opened))
        for change in ways:
            yield _Node(with_fact(session, opened.key, Fact(change.after)), (*node.changes, change))
        if not opened.question.must_answer:
            yield _Node(with_fact(session, opened.key, Fact(NOT_SURE)), node.changes)
        return
    for asked in _bearing(session):
        if asked.key in done:
            continue
        for change in _works(asked, session.walk.values[asked.key]):
            yield _Node(with_fact(session, asked.key, Fact(change.after)), (*node.changes, change))


def _bearing(session: Session) -> Sequence[Asked]:
    """Questions one of which must change for a bad finding to go: those asked before it was met."""
    order = list(session.walk.asked.values())
    bad = (found.after for found in session.walk.found if found.finding.effect in BAD)
    return order[: min(bad, default=len(order))]


def _conditions(opened: Asked) -> Iterator[Change]:
    """What has to be so for the work to count, where no work can bring it about: to be made sure of first."""
    question = opened.question
    for answer in question.answer if question.kind == "choice" else ():
        work = f"First make sure. {question.ask} It has to be: {answer.says}"
        yield Change(opened, None, answer.id, work, MAKING_SURE, to_make_sure=True)


def _works(asked: Asked, now: Value | None) -> Iterator[Change]:
    question = asked.question
    if question.kind == "choice":
        for answer in question.answer:
            if answer.put_right and answer.effort and answer.id != now:
                yield Change(asked, now, answer.id, answer.put_right, answer.effort)
    elif question.band and isinstance(now, Fraction):  # a number not known cannot be raised or cut by work
        for band, stretch in zip(question.band, question_stretches(question), strict=True):
            value = stretch.nearest(now)
            if band.put_right and band.effort and value is not None and value != now:
                yield Change(asked, now, value, band.put_right, band.effort)
