"""What the proofs of a tree that is tried came to, in words: what is mended, and the faults that there are.

Invariant: a fault is called mended only where none of its kind has come in its stead.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, NamedTuple

from assistant.conversation.script import Said, Tone, counted

if TYPE_CHECKING:
    from assistant.session.prove import Proof
    from assistant.tree.mistakes import Mistake

__all__ = ["PROVEN", "Outcome", "outcome", "outcome_told"]

MOST_FAULTS = 3
"""Faults that are told one by one; `check` tells them all."""
MOST_ANSWERS = 4
"""Answers that show a fault, told where it is told."""

PASSED = "The tree has passed its proofs."
IN_DOUBT = "No fault was found, but not every way could be tried, so its verdicts say that it is unproven."


class Outcome(NamedTuple):
    """What is held on to of one proof, to tell what the next one changes."""

    proven: bool
    faults: tuple[tuple[str, str], ...]
    """The code and the message of each."""


PROVEN = Outcome(True, ())
"""What needs no words at the start."""


def outcome(proof: Proof) -> Outcome:
    """What a proof came to."""
    return Outcome(proof.proven, tuple((one.code, one.message) for one in proof.complaints))


def outcome_told(name: str, proof: Proof, before: Outcome) -> list[Said]:
    """What the proofs of the tree called `name` came to, where that is not what was told before."""
    now = outcome(proof)
    if now == before:
        return []
    said = [*_mended(before, now)]
    if proof.complaints:
        first = (
            f"{counted(len(proof.complaints), 'fault')}, so its verdicts say that it is unproven. "
            f"`throughwall check {name}` tells everything."
        )
        said.append(Said(Tone.TOLD, first, "Proofs"))
        for one in proof.complaints[:MOST_FAULTS]:
            said += _fault(one)
    elif not (proof.proven and before.proven):
        said.append(Said(Tone.TOLD, PASSED if proof.proven else IN_DOUBT, "Proofs"))
    return said


def _mended(before: Outcome, now: Outcome) -> Iterator[Said]:
    """What was told as a fault and is none any more."""
    came = {code for code, message in now.faults if (code, message) not in before.faults}
    gone = [
        message for code, message in before.faults if (code, message) not in now.faults and code not in came
    ]
    for message in gone[:MOST_FAULTS]:
        yield Said(Tone.TOLD, f"No longer a fault: {message}", "Mended")
    if len(gone) > MOST_FAULTS:
        yield Said(Tone.TOLD, f"And {len(gone) - MOST_FAULTS} more.", "Mended")


def _fault(one: Mistake) -> Iterator[Said]:
    """A fault, what to do about it, and answers that show it."""
    yield Said(Tone.TOLD, f"{one.where}: {one.message}")
    if one.hint:
        yield Said(Tone.TOLD, " ".join(one.hint.split()), "Help")
    given = [line for line in (one.witness or "").partition("[facts]")[2].splitlines() if line.strip()]
    if given:
        more = f"; and {len(given) - MOST_ANSWERS} more" if len(given) > MOST_ANSWERS else ""
        yield Said(Tone.TOLD, "; ".join(given[:MOST_ANSWERS]) + more, "Answers that show it")
