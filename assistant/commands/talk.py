"""The conversation, in the front end that the terminal can show."""

from __future__ import annotations

import os
import sys
from pathlib import Path

from assistant.commands.shared import proven, tree_named

__all__ = ["talk"]


def talk(
    plain: bool, home: Path | None, tree: str | None, record: Path | None, unproven: bool, place: str
) -> int:
    """Open the conversation: full screen in a terminal, line by line where that is asked for or nothing else works."""
    from datetime import datetime

    from assistant.conversation import Conversation
    from assistant.session.store import Store

    if tree is not None:
        tree_named(tree)
    conversation = Conversation(
        Store(home or _home()), lambda: datetime.now().astimezone().isoformat(timespec="seconds")
    )
    conversation.place = place
    conversation.unproven = unproven
    said = []
    if record is not None:
        said = conversation.open(record)
    elif tree is not None:
        said = conversation.begin(*proven(tree, unproven))
    conversation.opening = said
    terminal = (
        sys.stdin.isatty() and sys.stdout.isatty() and os.environ.get("TERM", "dumb") not in ("dumb", "")
    )
    if plain or not terminal:
        from assistant import line

        return line.run(conversation)
    from assistant import screens

    return screens.run(conversation)


def _home() -> Path:
    import platformdirs

    return Path(platformdirs.user_data_dir("throughwall", appauthor=False))
