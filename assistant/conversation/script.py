"""The words of the script: what is said, what is asked, and what a person can always do.

Invariant: nothing here is heavy to import; a front end that knows these names can show everything there is.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from assistant.errors import Refused

__all__ = [
    "ACTIONS",
    "ALIASES",
    "EMERGENCY",
    "Action",
    "Answered",
    "Choice",
    "Prompt",
    "Said",
    "Tone",
    "all_said",
    "clean",
    "counted",
    "mistakes",
    "numbers",
    "quoted",
]


class Tone(StrEnum):
    """How something is said; a front end gives each its own look, and its label in words."""

    HEARD = "heard"
    WHY = "why"
    HOW = "how"
    TOLD = "told"
    REFUSED = "refused"
    SET_ASIDE = "set-aside"
    DANGER = "danger"


@dataclass(frozen=True)
class Said:
    """One thing the assistant says: its tone, the text, and a word or two that name it."""

    tone: Tone
    text: str
    label: str = ""


@dataclass(frozen=True)
class Choice:
    """One answer that can be picked: by its number, by its words, or by pointing."""

    number: int
    id: str
    says: str
    offered: bool = False
    """Whether it is the answer given before, set aside by a change."""


@dataclass(frozen=True)
class Prompt:
    """What is being asked now."""

    key: str
    """The fact key; "job" for the first question, "confirm" for a yes or no of the assistant's own."""
    ask: str
    kind: str
    choices: tuple[Choice, ...] = ()
    about: tuple[str, ...] = ()
    """Which of several things it is about: `("Joint 2",)`."""
    number: int = 0
    """Which question of the consultation this is, from 1; 0 for the assistant's own."""
    unit: str = ""
    expects: str = ""
    """What may be typed, in words."""
    can_be_unsure: bool = False
    offered: str = ""
    """The answer given before, in words, where one was set aside."""
    same_as: str = ""
    """The thing before this one whose answers can be taken over ("Joint 1"), or nothing."""


@dataclass(frozen=True)
class Answered:
    """One answer given so far."""

    number: int
    key: str
    about: tuple[str, ...]
    ask: str
    said: str
    basis: str
    note: str
    parked: bool = False


@dataclass(frozen=True)
class Action:
    """Something a person can always do: the word to type, and what it does. Front ends add a key."""

    word: str
    title: str
    help: str


ACTIONS = (
    Action("unsure", "Not sure", "You looked and cannot tell: the flue is judged with that left open."),
    Action("why", "Why", "Why this is asked, and where that comes from."),
    Action("how", "How", "How to find out, standing at the flue."),
    Action("back", "Back", "Take the latest answer back; it is kept aside and offered again."),
    Action("answers", "Answers", "Everything answered so far, numbered; `change 3` opens number 3 again."),
    Action(
        "same",
        "Same as before",
        "Take over the answers of the thing before this one, once you have seen them.",
    ),
    Action("basis", "How I know", "Say how you know: `basis measured`. It holds until you change it."),
    Action("note", "Note", "Add a note to the latest answer: `note cover plate was off`."),
    Action("photo", "Photo", "Add a photo's path to the latest answer: `photo joint-2.jpg`."),
    Action("possible", "Still possible", "The verdicts that can still come out."),
    Action(
        "danger", "Products indoors", "Products are getting indoors: stop everything, and what to do now."
    ),
    Action(
        "save", "Save", "Where this is kept. A trial of a tree is kept only once you ask for it with this."
    ),
    Action("help", "Help", "This list."),
    Action("quit", "Leave", "Leave; everything is kept, and opens again where it was."),
)

ALIASES = {"?": "help", "exit": "quit", "leave": "quit", "bye": "quit", "q": "quit", "undo": "back"}
"""Other words that people type for an action."""

EMERGENCY = (
    "Turn the appliance off if you can do it safely. Open doors and windows. Get everyone out. Call the gas emergency "
    "number from outside (natural gas in Great Britain 0800 111 999; on LPG, the supplier). If anyone is ill call 999 "
    "and say carbon monoxide. Nobody goes back in until it has been cleared."
)


def quoted(text: str) -> str:
    """Typed words, short enough to be said back."""
    words = " ".join(text.split())
    return words if len(words) <= 60 else f"{words[:59]}…"


def counted(number: int, thing: str) -> str:
    """So many things, in words: "1 answer", "3 answers"."""
    return f"{number} {thing}{'' if number == 1 else 's'}"


MOST_MISTAKES = 5
"""Mistakes of one file that are told one by one in the talk."""


def mistakes(error: Refused, most: int = MOST_MISTAKES) -> list[str]:
    """The mistakes behind a refusal, each with its place and what to write instead; none where it is not about a file."""
    found = getattr(error, "mistakes", ())
    if not found:
        return []
    told = [" ".join(filter(None, (f"{one.where}: {one.message}", one.hint))) for one in found[:most]]
    if len(found) > most:
        told.append(f"And {len(found) - most} more.")
    besides = error.hint.removeprefix(found[0].hint).strip()
    return [*told, besides] if besides else told


def numbers(prompt: Prompt) -> str:
    """The numbers of a prompt's choices, in words: "1 or 2", "1 to 5"."""
    count = len(prompt.choices)
    return "1 or 2" if count == 2 else f"1 to {count}"


def clean(text: str) -> str:
    """Typed text without control characters; a paste of any size is cut to what an answer can be."""
    kept = "".join(c for c in text[:20_000] if c.isprintable() or c in "\n\t")
    return kept.replace("\t", " ")


def all_said(said: Sequence[Said]) -> str:
    """What was said as plain text, a labelled line each: for logs and tests."""
    return "\n".join(f"{one.label}: {one.text}" if one.label else one.text for one in said)
