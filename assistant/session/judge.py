"""From a walked session to a reasoned judgement: outcome, requirements, findings, what is open, what to do.

Invariant: a judgement follows from the session alone, and never says more than every line of reasoning bears out:
where the lines differ on a requirement it is not proven, where they differ on the outcome it is not settled.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import combinations, islice, product
from types import MappingProxyType

from assistant.errors import Refused
from assistant.session.fact import Fact
from assistant.session.session import Session
from assistant.session.walk import walk
from assistant.session.walked import Found, Unsure, Walk, Worked
from assistant.tree.bands import one_in_each
from assistant.tree.model import STATES, Verdict
from assistant.tree.survey.sides import held_against

__all__ = ["OUTCOMES", "Judgement", "judge"]

OUTCOMES = ("acceptable", "not-settled", "not-acceptable", "stop")
"""From best to worst."""

UNSAFE = ("at-risk", "immediately-dangerous")
MOST_TRIES = 400
"""Walks spent on finding the shortest list of things to find out."""
MOST_SETTLINGS = 20
"""Ways tried in which one unsettled answer could turn out."""


@dataclass(frozen=True)
class Judgement:
    """What a session comes to. While answers are missing there is no outcome, and `next` names the question."""

    session: Session
    outcome: str | None
    verdict: Verdict | None
    """The verdict that every line agrees on."""
    interim: Verdict | None
    """The verdict whose `do` is to be followed now: the worst of those still possible."""
    requirements: dict[str, str]
    likely_class: str | None

    @property
    def walk(self) -> Walk:
        """The walk behind the judgement."""
        return self.session.walk

    @property
    def findings(self) -> Sequence[Found]:
        """Every finding on any line, in the order met."""
        return self.walk.found

    @property
    def workings(self) -> Sequence[Worked]:
        """Every working that was run."""
        return self.walk.workings

    @cached_property
    def possible(self) -> list[str]:
        """Ids of the verdicts still possible, in author order."""
        if self.outcome is None:
            from assistant.session.outlook import outlook

            return outlook(self.session)
        reached = {end.verdict for end in self.walk.ends}
        return [verdict.id for verdict in self.session.tree.file.verdict if verdict.id in reached]

    @cached_property
    def open(self) -> list[Unsure]:
        """What is still to be found out: the fewest unsettled answers that decide the outcome, those that
        could turn it by themselves, and those that the author's own "not sure" left standing."""
        if self.outcome is None:
            return [unsure for unsure in self.walk.unsure if unsure.find_out]
        matter = set(_deciding(self.session))
        if not matter:
            split = [unsure.asked.key for unsure in self.walk.unsure if not unsure.decided]
            matter = {key for key in split if self._could_turn(key)}
        return [u for u in self.walk.unsure if (u.decided and u.find_out) or u.asked.key in matter]

    def _could_turn(self, key: str) -> bool:
        """Whether some answer to an unsettled question leads to another outcome, or to more questions."""
        settled = islice(_settlings(self.session, [key]), MOST_SETTLINGS)
        return any(
            result.next is not None or _reached(self.session, result) != {self.outcome} for result in settled
        )

    def certain(self, found: Found) -> bool:
        """Whether every line of reasoning meets the finding, however the unsettled answers turn out."""
        return (found.tree.id, found.id) not in self._uncertain

    @cached_property
    def _uncertain(self) -> frozenset[tuple[str, str]]:
        """The findings that some line of reasoning does without, by tree and id."""
        if not self.walk.split:
            return frozenset()
        tree, facts = self.session.tree, self.session.facts
        keys = [(found.tree.id, found.id) for found in self.findings if not found.sure]
        return frozenset(key for key in keys if walk(tree, facts, without=key).ends)

    @property
    def did_not_matter(self) -> list[Unsure]:
        """Unsettled answers that make no difference to the outcome, whatever they turn out to be."""
        still = {unsure.asked.key for unsure in self.open}
        return [u for u in self.walk.unsure if not u.decided and u.asked.key not in still]


def judge(session: Session) -> Judgement:
    """Judge a session as it stands. Raises `Refused` where its facts contradict each other."""
    result, tree = session.walk, session.tree
    if result.next is not None:
        return Judgement(session, None, None, None, {}, None)
    by_id = {verdict.id: verdict for verdict in tree.file.verdict}
    verdicts = [by_id[end.verdict] if end.verdict is not None else None for end in result.ends]
    outcome = _outcome(verdicts)
    single = verdicts[0] if len({v.id if v else None for v in verdicts}) == 1 else None
    named = [verdict for verdict in verdicts if verdict is not None]
    interim = max(named, key=lambda v: OUTCOMES.index(v.outcome), default=None)
    return Judgement(session, outcome, single, interim, _states(session), _likely_class(session))


def _outcome(verdicts: Iterable[Verdict | None]) -> str:
    """The outcome that all lines share; `not-settled` where they differ, or none of the verdicts matched."""
    outcomes = {verdict.outcome if verdict else "not-settled" for verdict in verdicts}
    return outcomes.pop() if len(outcomes) == 1 else "not-settled"


def _states(session: Session) -> dict[str, str]:
    states: dict[str, str] = {}
    for index, name in enumerate(session.tree.file.requirement):
        reached = {end.states[index] for end in session.walk.ends}
        states[name] = reached.pop() if len(reached) == 1 else STATES[2]
    return states


def _likely_class(session: Session) -> str | None:
    """The gravest class among the findings; a flue being fitted has none, since it is not left in use."""
    situation = session.walk.values.get("situation")
    if situation is not None and situation != "existing":
        return None
    classes = [found.finding.unsafe for found in session.walk.found if found.finding.unsafe]
    return max(classes, key=UNSAFE.index, default=None)


def _deciding(session: Session) -> Sequence[str]:
    """The fewest split answers which, once known, leave one outcome whatever they turn out to be."""
    split = [unsure.asked.key for unsure in session.walk.unsure if not unsure.decided]
    if not split or _agrees(session.walk, session):
        return []
    tries = 0
    for size in range(1, len(split)):
        for keys in combinations(split, size):
            settled = True
            for facts in _settlings(session, keys):
                tries += 1
                if tries > MOST_TRIES:
                    return split
                if not _agrees(facts, session):
                    settled = False
                    break
            if settled:
                return keys
    return split


def _settlings(session: Session, keys: Sequence[str]) -> Iterable[Walk]:
    """The walks in which these questions are answered, in every way; contradictions are passed over."""
    options = []
    for key in keys:
        asked = session.walk.asked[key]
        question = asked.question
        if question.kind == "choice":
            options.append([Fact(answer.id) for answer in question.answer])
        else:
            bands = held_against(asked.tree, asked.question_id)
            options.append([Fact(value) for value in one_in_each(question, bands)])
    for values in product(*options):
        try:
            yield walk(
                session.tree, MappingProxyType({**session.facts, **dict(zip(keys, values, strict=True))})
            )
        except Refused:
            continue


def _agrees(result: Walk, session: Session) -> bool:
    return result.next is not None or len(_reached(session, result)) == 1


def _reached(session: Session, result: Walk) -> set[str]:
    """The outcomes that the lines of a walk reach."""
    by_id = {verdict.id: verdict for verdict in session.tree.file.verdict}
    return {_outcome([by_id[end.verdict] if end.verdict else None]) for end in result.ends}


def with_fact(session: Session, key: str, fact: Fact) -> Session:
    """The same session with one fact put in, nothing parked: for trying what would follow."""
    return replace(session, facts=MappingProxyType({**session.facts, key: fact}))
