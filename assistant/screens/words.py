"""What is said, as styled paragraphs.

Invariant: nothing that came from a tree, a record or a person is ever read as markup; a tone has a word as well as a
colour.
"""

from __future__ import annotations

from collections.abc import Sequence

from textual.content import Content

from assistant.conversation import Prompt, Said, Tone, mistakes
from assistant.errors import Refused
from assistant.screens.hung import Paragraph

__all__ = ["OUTCOME", "STATE", "asked", "heading", "heard", "refusal", "said_lines", "ticked", "turn"]

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


def ticked(text: str, style: str = "$foreground") -> Content:
    """Text in which words between backticks, which can be typed, stand out."""
    parts = text.split("`")
    if len(parts) % 2 == 0:
        return Content.styled(text, style)
    return Content.assemble(*((part, "bold $accent" if n % 2 else style) for n, part in enumerate(parts)))


def refusal(error: Refused) -> list[Said]:
    """A refusal as something said: what was wrong, and what to do instead."""
    told = mistakes(error)
    if told:
        return [
            Said(Tone.REFUSED, "The file cannot be used as it is.", "Not taken"),
            *(Said(Tone.TOLD, one) for one in told),
        ]
    text = f"{error.message[:1].upper()}{error.message[1:]}".rstrip(".")
    return [Said(Tone.REFUSED, f"{text}. {error.hint}".strip(), "Not taken")]


def heading(about: Sequence[str]) -> Paragraph:
    """The rule that parts one thing asked about from the next."""
    title = " · ".join(about) or "The whole flue"
    return Paragraph(Content.styled(title, "$accent"), Content.styled("── ", "$secondary"))


def asked(ask: str) -> Paragraph:
    """A question that was answered."""
    return Paragraph(Content.styled(ask, "$text-muted"))


def heard(text: str, typed: str = "", label: str = "") -> Paragraph:
    """An answer as it was taken, with the words that were typed for it."""
    differs = typed and not text.casefold().startswith(typed.casefold())
    words = f"  typed “{typed}”" if differs else ""
    kept = "  kept" if label == "Kept" else ""
    body = Content.assemble((text, STYLE[Tone.HEARD]), (words + kept, "$text-muted"))
    return Paragraph(body, Content.styled("▸ ", STYLE[Tone.HEARD]))


def said_lines(said: Sequence[Said]) -> list[Paragraph]:
    """One paragraph for each thing said: its label, then its text."""
    paragraphs = []
    for one in said:
        label = f"{SIGN.get(one.tone, '')}{one.label}"
        parts = [(f"{label}  ", STYLE[one.tone])] if label else []
        paragraphs.append(Paragraph(Content.assemble(*parts, ticked(one.text)), Content("  ")))
    return paragraphs


def turn(prompt: Prompt, asides: Sequence[Said], said: Sequence[Said], typed: str = "") -> list[Paragraph]:
    """An answered question, folded: what was asked, what was said on the way, the answer, what followed from it."""
    answers = [one for one in said if one.tone is Tone.HEARD]
    rest = [one for one in said if one.tone is not Tone.HEARD]
    kept = [one for one in asides if one.tone is not Tone.REFUSED]
    told = [asked(prompt.ask), *said_lines(kept)]
    return [*told, *(heard(one.text, typed, one.label) for one in answers), *said_lines(rest)]
