"""What is said, as styled text.

Invariant: nothing that came from a tree, a record or a person is ever read as markup; a tone has a word as well as a
colour.
"""

from __future__ import annotations

from collections.abc import Sequence

from textual.content import Content

from assistant.conversation import Prompt, Said, Tone
from assistant.errors import Refused

__all__ = ["OUTCOME", "STATE", "heading", "heard", "refusal", "said_lines", "turn"]

ANSWER = "▸ "

STYLE = {
    Tone.HEARD: "$foreground bold",
    Tone.WHY: "$accent",
    Tone.HOW: "$accent",
    Tone.TOLD: "$accent",
    Tone.REFUSED: "$warning bold",
    Tone.SET_ASIDE: "$text-muted",
    Tone.DANGER: "$error bold",
}
SIGN = {Tone.REFUSED: "✗ ", Tone.SET_ASIDE: "↶ ", Tone.DANGER: "▲ "}

STATE = {
    "met": ("✓", "met", "$success"),
    "not-met": ("✗", "NOT met", "$error"),
    "not-proven": ("?", "not proven", "$warning"),
    "not-judged": ("·", "not judged", "$text-muted"),
}
"""A requirement's state: its shape, its words, its colour."""

OUTCOME = {
    "acceptable": ("✓", "Acceptable"),
    "not-settled": ("?", "Not settled"),
    "not-acceptable": ("✗", "Not acceptable"),
    "stop": ("▲", "STOP"),
}
"""An outcome: its shape and its words."""


def refusal(error: Refused) -> list[Said]:
    """A refusal as something said: what was wrong, and what to do instead."""
    text = f"{error.message[:1].upper()}{error.message[1:]}".rstrip(".")
    return [Said(Tone.REFUSED, f"{text}. {error.hint}".strip(), "Not taken")]


def heading(about: Sequence[str]) -> Content:
    """The rule that parts one thing asked about from the next."""
    title = " · ".join(about) or "The whole flue"
    return Content.assemble(("── ", "$secondary"), (title, "$accent"), (" " + "─" * 12, "$secondary"))


def said_lines(said: Sequence[Said]) -> list[Content]:
    """One paragraph for each thing said: its label, then its text."""
    lines = []
    for one in said:
        label = f"{SIGN.get(one.tone, '')}{one.label}"
        parts = [(f"{label}  ", STYLE[one.tone])] if label else []
        lines.append(Content.assemble(*parts, (one.text, "$foreground")))
    return lines


def heard(text: str, typed: str = "", label: str = "") -> Content:
    """An answer as it was taken, with the words that were typed for it."""
    words = f"  typed “{typed}”" if typed and typed.casefold() != text.casefold() else ""
    kept = f"  {label.lower()}" if label in ("Kept",) else ""
    return Content.assemble((ANSWER + text, STYLE[Tone.HEARD]), (words + kept, "$text-muted"))


def turn(prompt: Prompt, asides: Sequence[Said], said: Sequence[Said], typed: str = "") -> Content:
    """An answered question, folded: what was asked, what was said on the way, the answer, what followed from it."""
    answers = [one for one in said if one.tone is Tone.HEARD]
    rest = [one for one in said if one.tone is not Tone.HEARD]
    kept = [one for one in asides if one.tone is not Tone.REFUSED]
    lines = [Content.styled(prompt.ask, "$text-muted"), *said_lines(kept)]
    lines += [heard(one.text, typed, one.label) for one in answers]
    return Content("\n").join([*lines, *said_lines(rest)])
