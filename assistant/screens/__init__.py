"""The conversation on a whole terminal screen.

Invariant: importing this package imports no terminal library; `run` does, when it is called.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from assistant.conversation import Conversation

__all__ = ["run"]


def run(conversation: Conversation) -> int:
    """Hold the conversation on the terminal until it is left; the exit status.

    128 + signal after SIGTERM, SIGHUP or SIGINT; 70 after a fault of our own. Where the record is kept goes to stderr.
    """
    from assistant.screens.app import ThroughwallApp
    from assistant.screens.parting import say_farewell

    app = ThroughwallApp(conversation)
    app.run()
    return say_farewell(conversation, app.return_code or 0, app.fault)
