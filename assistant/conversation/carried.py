"""What became of the answers when a tree was read again, in words.

Invariant: every answer that did not stay as it was is told by its question and its words.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from assistant.conversation.script import Said, Tone, counted

if TYPE_CHECKING:
    from assistant.session.reload import CarriedOver
    from assistant.session.session import Session

__all__ = ["UNCHANGED", "told"]

UNCHANGED = "The tree was read again: every answer still fits."


def told(before: Session, carried: CarriedOver) -> list[Said]:
    """What became of the answers when the tree was read again, each by its name."""
    after = carried.record.session
    counts = [
        (len(carried.unfit), "no longer fits", "no longer fit"),
        (len(carried.aside), "is set aside", "are set aside"),
        (len(carried.again), "fits again", "fit again"),
    ]
    changes = [f"{counted(n, 'answer')} {one if n == 1 else many}" for n, one, many in counts if n]
    summary = f"The tree was read again: {'; '.join(changes)}." if changes else UNCHANGED
    said = [Said(Tone.TOLD, summary, "Read again")]
    for lost in carried.unfit:
        about = before.tree.ask(lost.key).labels
        name = _named(about, lost.written["asked"], lost.written["said"])
        said.append(Said(Tone.SET_ASIDE, f"{name}. Now {lost.why.message}.", "No longer fits"))
    for keys, label in ((carried.aside, "Set aside"), (carried.again, "Fits again")):
        if keys:
            said.append(
                Said(Tone.SET_ASIDE, f"{_listed(after, keys)}. Offered again where it is asked.", label)
            )
    return said


def _listed(session: Session, keys: Sequence[str]) -> str:
    from assistant.tree.answers import say_answer

    asked = {key: session.tree.ask(key) for key in keys}
    return "; ".join(
        _named(one.labels, one.question.ask, say_answer(one.question, session.parked[key].value))
        for key, one in asked.items()
    )


def _named(about: Sequence[str], ask: str, said: str) -> str:
    return f"{' · '.join((*about, ask))} {said}"
