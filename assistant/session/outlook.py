"""What can still come out: the verdicts that some further answers may reach.

Invariant: no verdict that the answers left to be given can reach is missing; one may be listed that a closer look would
rule out.
"""

from __future__ import annotations

from assistant.session.session import Session
from assistant.tree.futures import TooManyWays, futures, states_of

__all__ = ["outlook"]


def outlook(session: Session) -> list[str]:
    """Ids of the verdicts that can still be reached, in author order."""
    root = session.tree
    results: dict[str, set[object]] = {}
    for worked in (
        () if session.walk.split else session.walk.workings
    ):  # split: some lines may not have come to it yet
        results.setdefault(worked.step, set()).add(worked.results.get(worked.working.branch_on))
    try:
        ways = futures(root, session.walk.values, results)
    except TooManyWays:
        return [verdict.id for verdict in root.file.verdict]
    reached = set()
    for ranks, end in ways:
        if end != "end":
            reached.add(end.removeprefix("verdict:"))
            continue
        states = states_of(root, ranks)
        reached.update(v.id for v in [next((v for v in root.file.verdict if v.matches(states)), None)] if v)
    return [verdict.id for verdict in root.file.verdict if verdict.id in reached]
