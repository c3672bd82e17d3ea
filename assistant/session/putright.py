"""The least work that makes a verdict acceptable: uniform-cost search over what work can change.

Invariant: only answers with `put-right` are ever changed (never what the flue is), and every set of work that comes
out was verified by judging the changed facts. A question that a change opens is answered by work too, or left not sure;
where neither will do, what has to be so is listed as something to make sure of first.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import count

from assistant.errors import Refused
from assistant.session.fact import Fact
from assistant.session.judge import judge, with_fact
from assistant.session.session import Session
from assistant.tree.answers import Value
from assistant.tree.bands import question_stretches
from assistant.tree.model import NOT_SURE
from assistant.tree.tree import Asked

__all__ = ["Change", "Remedy", "put_right"]

MOST_TRIES = 250
"""Sets of work judged before the search is given up."""

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
    of makes it so.
    """
    if session.next is not None or judge(session).outcome == "acceptable":
        return []
    order = count()
    waiting = [(0, 0, next(order), _Node(session, ()))]
    seen: set[object] = set()
    remedies: list[Remedy] = []
    tries = 0
    while waiting and len(remedies) < most and tries < MOST_TRIES:
        effort, _, _, node = heapq.heappop(waiting)
        if node.case in seen or any(_keys(remedy.changes) <= node.keys for remedy in remedies):
            continue
        seen.add(node.case)
        tries += 1
        try:
            judgement = judge(node.session)
        except Refused:
            continue
        if judgement.outcome == "acceptable":
            remedies.append(Remedy(node.changes, effort, judgement.outcome))
            continue
        for next_node in _onwards(node):
            heapq.heappush(waiting, (next_node.effort, len(next_node.changes), next(order), next_node))
    return remedies


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
        yield Change(opened, None, answer.id, work, MAKING_SURE)


def _works(asked: Asked, now: Value | None) -> Iterator[Change]:
    question = asked.question
    if question.kind == "choice":
        for answer in question.answer:
            if answer.put_right and answer.effort and answer.id != now:
                yield Change(asked, now, answer.id, answer.put_right, answer.effort)
    elif question.band:
        number = now if isinstance(now, Fraction) else None
        for band, stretch in zip(question.band, question_stretches(question), strict=True):
            value = stretch.nearest(number)
            if band.put_right and band.effort and value is not None and value != number:
                yield Change(asked, now, value, band.put_right, band.effort)
