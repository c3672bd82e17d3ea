"""From a way through both editions to the answers that take it in both.

Invariant: an answer that both are given is one number or word that suits either, as far as a few tries can tell where a
working has to come to something.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from assistant.tree.answers import Value
from assistant.tree.bands import Stretch
from assistant.tree.compare.answers import met
from assistant.tree.survey.known import Known
from assistant.tree.survey.shortest import Taken
from assistant.tree.survey.witness import Replay

__all__ = ["Narrowed", "Shown", "answers_for"]


class Narrowed(NamedTuple):
    """What an answer has to be, so that one edition does not take it."""

    key: str
    known: Known


Shown = tuple[bool, Taken | Narrowed]
"""A move, and whether it is the old edition's; or what an answer has to be."""


def answers_for(way: Iterable[Shown]) -> dict[str, Value]:
    """The answers that take a way in both editions, by fact key, in the order asked."""
    replays = Replay([]), Replay([])
    narrowed: list[Narrowed] = []
    keys: dict[str, None] = {}
    for old, taken in way:
        if isinstance(taken, Narrowed):
            narrowed.append(taken)
            continue
        replay = replays[0 if old else 1]
        replay.take(taken)
        keys.update(dict.fromkeys(replay.asked))
    whole = Replay([])
    for key in keys:
        told = [replay for replay in replays if key in replay.asked]
        known = told[0].known[key]
        whole.asked[key] = told[0].asked[key]
        for more in [
            *(one.known[key] for one in told[1:]),
            *(one.known for one in narrowed if one.key == key),
        ]:
            meeting = met(known, more)
            if meeting is not None and not (isinstance(meeting, Stretch) and meeting.empty):
                known = meeting
        whole.known[key] = known
    whole.tree_of = {**replays[0].tree_of, **replays[1].tree_of}
    whole.wanted = [*replays[0].wanted, *replays[1].wanted]
    values = {key: whole.value(key, question) for key, question in whole.asked.items()}
    return whole.suited(values)
