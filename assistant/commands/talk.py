"""The conversation, in the front end that the terminal can show."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from assistant.commands.shared import proven, tree_named

if TYPE_CHECKING:
    from assistant.conversation import Conversation

__all__ = ["clock", "hold", "home_folder", "talk"]


def talk(
    plain: bool, home: Path | None, tree: str | None, record: Path | None, unproven: bool, place: str
) -> int:
    """Open the conversation: full screen in a terminal, line by line where that is asked for or nothing else works."""
    from assistant.conversation import Conversation
    from assistant.session.store import Store

    if tree is not None:
        tree_named(tree)
    conversation = Conversation(Store(home or home_folder()), clock)
    conversation.place = place
    conversation.unproven = unproven
    said = []
    if record is not None:
        said = conversation.open(record)
    elif tree is not None:
        said = conversation.begin(*proven(tree, unproven))
    conversation.opening = said
    return hold(conversation, plain)


def clock() -> str:
    """The time now, as records keep it."""
    from datetime import datetime

    return datetime.now().astimezone().isoformat(timespec="seconds")


def hold(conversation: Conversation, plain: bool) -> int:
    """Hold a conversation in the front end that the terminal can show; the exit status."""
    terminal = (
        sys.stdin.isatty() and sys.stdout.isatty() and os.environ.get("TERM", "dumb") not in ("dumb", "")
    )
    if plain or not terminal:
        from assistant import line

        return line.run(conversation)
    from assistant import screens

    return screens.run(conversation)


def home_folder() -> Path:
    """Where records are kept unless another folder is named."""
    import platformdirs

    return Path(platformdirs.user_data_dir("throughwall", appauthor=False))
