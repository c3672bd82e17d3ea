"""Taking over the answers of the thing before: the second joint is often like the first.

Invariant: only answers in force are taken over, each under its own key, and only by questions that are asked for this
thing too. A question that must be answered tells the things apart, and is never taken over.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from assistant.session.fact import Fact
from assistant.session.session import Session

__all__ = ["like_before", "take_over"]


def like_before(session: Session) -> tuple[str, Mapping[str, Fact]]:
    """The label of the thing before the one now asked about, and those of its answers that could be taken over.

    Nothing ("", {}) where nothing is counted here, this is the first, or its own answers have begun.
    """
    nothing: tuple[str, Mapping[str, Fact]] = ("", {})
    if session.next is None or session.next.question.must_answer:
        return nothing
    head = _head(session.next.key)
    before = _thing_before(head)
    begun = [a for key, a in session.walk.asked.items() if _head(key) == head and not a.question.must_answer]
    alike = [
        key
        for key, a in session.walk.asked.items()
        if before and _head(key) == before and not a.question.must_answer
    ]
    if begun or not alike:
        return nothing
    return session.walk.asked[alike[0]].labels[-1], {key: session.facts[key] for key in alike}


def take_over(session: Session) -> Session:
    """The session with the answers of the thing before, as far as the questions are the same."""
    if session.next is None:
        return session
    head = _head(session.next.key)
    _, facts = like_before(session)
    while session.next is not None and _head(session.next.key) == head:
        fact = facts.get(f"{_thing_before(head)}/{session.next.question_id}")
        if fact is None:
            break
        session = session.answer(session.next.key, replace(fact, note="", photos=()))
    return session


def _head(key: str) -> str:
    return key.rpartition("/")[0]


def _thing_before(head: str) -> str:
    """The fact key's head for the thing counted before this one: "joint.2" has "joint.1"; nothing has none."""
    name, _, number = head.rpartition(".")
    return f"{name}.{int(number) - 1}" if number.isdecimal() and int(number) > 1 else ""
