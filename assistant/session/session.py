"""One consultation as a value: a tree and the facts given so far.

Invariant: a `Session` never changes; answering, going back and changing an answer return a new one. An answer that
is set aside is parked, never dropped, and never counts until it is confirmed.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from types import MappingProxyType

from assistant.errors import Refused
from assistant.session.fact import UNSTATED, Fact
from assistant.session.walk import walk
from assistant.session.walked import Walk
from assistant.tree.model import NOT_SURE
from assistant.tree.tree import Asked, Tree

__all__ = ["Session"]


@dataclass(frozen=True)
class Session:
    """A tree, the facts that count, and those that are parked."""

    tree: Tree
    facts: Mapping[str, Fact] = field(default_factory=lambda: MappingProxyType({}))
    parked: Mapping[str, Fact] = field(default_factory=lambda: MappingProxyType({}))
    proven: bool = True
    """Whether the tree has passed its proofs; every verdict says so where it has not."""

    @cached_property
    def walk(self) -> Walk:
        """What the facts lead to. Raises `Refused` where they contradict each other."""
        return walk(self.tree, self.facts)

    @property
    def next(self) -> Asked | None:
        """The next question, or None where a verdict can be given."""
        return self.walk.next

    @property
    def unused(self) -> tuple[str, ...]:
        """Facts that were given and never asked."""
        return tuple(key for key in self.facts if key not in self.walk.asked)

    def answer(self, key: str, fact: Fact) -> Session:
        """The session with one more answer, or with an earlier one changed.

        Changing an answer parks those that were asked after it. Raises `Refused` where the question cannot be
        asked, its basis cannot settle it, or the answer contradicts another.
        """
        asked = self.tree.ask(key)
        admit(asked, fact)
        before = self.facts.get(key)
        if (
            before is not None
            and before.value == fact.value
            and before.settles(asked.question) == fact.settles(asked.question)
        ):
            return replace(self, facts=MappingProxyType({**self.facts, key: fact}))
        kept, parked = self._set_aside(key) if before is not None else (dict(self.facts), dict(self.parked))
        parked.pop(key, None)
        kept[key] = fact
        changed = replace(self, facts=MappingProxyType(kept), parked=MappingProxyType(parked))
        _ = changed.walk  # an answer that contradicts another is refused here, before it is taken
        return changed

    def back(self) -> Session:
        """The session before its latest answer, which is parked; itself where nothing was answered."""
        latest = next(reversed(list(self.walk.asked)), None)
        if latest is None:
            return self
        return self.reopen(latest)

    def reopen(self, key: str) -> Session:
        """The session as it was before the question was answered; that answer and the later ones are parked."""
        if key not in self.walk.asked:
            raise Refused(f'"{key}" has not been asked', "Choose an answer that was given.")
        kept, parked = self._set_aside(key)
        parked[key] = kept.pop(key)
        return replace(self, facts=MappingProxyType(kept), parked=MappingProxyType(parked))

    def offered(self) -> Fact | None:
        """The parked answer to the next question, to be confirmed or given anew."""
        return self.parked.get(self.next.key) if self.next is not None else None

    def _set_aside(self, key: str) -> tuple[dict[str, Fact], dict[str, Fact]]:
        """Facts up to and with `key`, and parked ones with all that were asked later."""
        order = list(self.walk.asked)
        later = set(order[order.index(key) + 1 :]) if key in order else set()
        kept = {k: fact for k, fact in self.facts.items() if k not in later}
        parked = {**self.parked, **{k: fact for k, fact in self.facts.items() if k in later}}
        return kept, parked


def admit(asked: Asked, fact: Fact) -> None:
    """Refuse an answer that a must-answer question cannot take."""
    question = asked.question
    if not question.must_answer:
        return
    if fact.value == NOT_SURE:
        raise Refused(f'"{asked.key}" must be answered', "Not sure is not enough here.")
    if fact.basis != UNSTATED and not fact.settles(question):
        accepted = ", ".join(question.accept or ())
        raise Refused(
            f'"{asked.key}" must be answered, and "{fact.basis}" does not settle it',
            f"What settles it: {accepted}.",
        )
