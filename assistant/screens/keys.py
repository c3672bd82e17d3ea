"""The keys: which one does what, everywhere the same.

A word typed is an answer before it is anything else, so no letter acts while an answer can be typed; function keys and
signs do. Footer, help and command palette are made from these bindings.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from textual.binding import ActiveBinding, Binding

from assistant.conversation import ACTIONS, Prompt

if TYPE_CHECKING:
    from textual.app import App

    from assistant.session.session import Session

__all__ = ["DANGER", "FOOT", "TALK", "applies", "grouped", "key_of"]

KEYS = {
    "unsure": "f2",
    "why": "f3",
    "how": "f4",
    "back": "f5,ctrl+b",
    "answers": "f6",
    "same": "equals_sign,f10",
    "basis": "f7",
    "note": "ctrl+n",
    "possible": "f8",
    "danger": "f9,ctrl+g",
    "save": "ctrl+s",
    "help": "f1,question_mark",
    "quit": "ctrl+q",
}
"""The keys of each action, by the word that can be typed for it."""

SHOWN = ("help", "unsure", "why", "how", "back", "answers", "possible", "note", "quit")
"""What the footer shows, most wanted first."""

FOOT = (*SHOWN[:-1], "choose", "close", "new", "save", "copy-all", "next-part", "quit")
"""The order of the keys at the foot of every screen."""

ACTION = {"help": "app.help", "quit": "app.quit", "danger": "app.danger"}


def key_of(word: str) -> str:
    """The first key of an action, as it is printed on a keyboard."""
    return KEYS[word].partition(",")[0].upper()


def _binding(word: str, keys: str, priority: bool = False) -> Binding:
    [action] = [action for action in ACTIONS if action.word == word]
    return Binding(
        keys, ACTION.get(word, f"do('{word}')"), action.title, show=word in SHOWN or word == "danger", tooltip=action.help, id=word,
        priority=priority,
    )  # fmt: skip


TALK = [_binding(word, KEYS[word]) for word in (*SHOWN[:-1], "same", "basis", "save")]
"""The bindings of the screen that asks."""

DANGER = [
    _binding("danger", KEYS["danger"], priority=True),
    Binding("exclamation_mark", "app.danger", "Products indoors", show=False, id="danger-sign"),
]
"""Products are getting indoors: from any screen, whatever has the focus."""


def applies(word: str, prompt: Prompt | None, session: Session | None) -> bool:
    """Whether an action means anything for what is asked now."""
    if prompt is None or session is None:
        return False
    asking, begun = prompt.key != "confirm", bool(session.walk.asked)
    only_where = {
        "unsure": asking and prompt.can_be_unsure, "same": asking and bool(prompt.same_as), "why": asking, "how": asking,
        "answers": begun, "note": asking and begun,
    }  # fmt: skip
    return only_where.get(word, True)


def grouped(app: App[None], active: Iterable[ActiveBinding]) -> list[tuple[str, str, str]]:
    """Bindings as (keys, title, what it does), one row a title, the actions first and the moves last.

    The keys of a range of numbers are drawn together.
    """
    rows: dict[str, tuple[list[str], Binding]] = {}
    for one in active:
        if one.enabled and one.binding.id:
            keys, _ = rows.setdefault(one.binding.description, ([], one.binding))
            keys.append(app.get_key_display(one.binding))
    told = [
        (
            f"{keys[0]} to {keys[-1]}"
            if len(keys) > 2 and all(key.isdigit() for key in keys)
            else ", ".join(keys),
            title,
            binding,
        )
        for title, (keys, binding) in rows.items()
    ]
    order = [*KEYS]
    told.sort(key=lambda row: order.index(row[2].id) if row[2].id in order else len(order))
    return [(keys, title, binding.tooltip) for keys, title, binding in told]
