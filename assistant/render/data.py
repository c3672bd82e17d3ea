"""A judgement as data: the one line of JSON that `judge --json` prints for a file."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from assistant.errors import Refused
from assistant.session.judge import Judgement
from assistant.tree.answers import Value
from assistant.workings import registry
from assistant.workings.units import as_json

if TYPE_CHECKING:
    from assistant.session.putright import Remedy

__all__ = ["judgement_data", "refused_data"]


def judgement_data(judgement: Judgement, file: str, remedies: Sequence[Remedy] = ()) -> dict[str, Any]:
    """The judgement with the keys, and in the order, that scripts rely on."""
    session, walk = judgement.session, judgement.walk
    tree = session.tree
    verdict = judgement.verdict
    return {
        "format": 1,
        "file": file,
        "tree": {"id": tree.id, "edition": tree.file.tree.edition, "digest": tree.digest},
        "outcome": judgement.outcome,
        "verdict": {"id": verdict.id, "title": verdict.title} if verdict else None,
        "possible": judgement.possible,
        "requirements": judgement.requirements,
        "findings": [
            {
                "id": found.id,
                "requirement": found.finding.requirement,
                "effect": found.finding.effect,
                "causes": list(found.causes),
                "reason": found.finding.reason,
                "source": list(found.finding.source),
            }
            for found in walk.found
        ],
        "path": list(walk.asked),
        "unused": list(session.unused),
        "next": session.next.key if session.next else None,
        "open": [{"question": unsure.asked.key, "find_out": unsure.find_out} for unsure in judgement.open],
        "workings": [
            {
                "step": worked.step,
                "run": worked.working.run,
                "inputs": plain(worked.inputs),
                "results": plain(worked.results),
                "source": list(worked.working.source)
                or [source.id for source in registry.find(worked.working.run).sources],
            }
            for worked in walk.workings
        ],
        "put_right": [
            {
                "effort": remedy.effort,
                "changes": [
                    {
                        "question": change.asked.key,
                        "from": _value(change.before),
                        "to": _value(change.after),
                        "work": change.work,
                    }
                    for change in remedy.changes
                ],
                "outcome": remedy.outcome,
            }
            for remedy in remedies
        ],
        "likely_class": judgement.likely_class,
        "proven": session.proven,
    }


def refused_data(file: str, error: Refused) -> dict[str, Any]:
    """What is printed for a file that could not be judged."""
    return {
        "format": 1,
        "file": file,
        "error": {"message": error.message, "where": error.where, "hint": error.hint},
    }


def plain(value: Any) -> Any:
    """A value of inputs or results as JSON takes it: exact numbers become JSON numbers."""
    if isinstance(value, dict):
        return {key: plain(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [plain(one) for one in value]
    return as_json(value)


def _value(value: Value | None) -> Any:
    return None if value is None else plain(value)
