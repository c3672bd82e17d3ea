"""The plain face: the conversation in labelled lines, for dumb terminals, slow links, screen readers and logs.

Invariant: stdout holds the talk and nothing else; nothing of it is drawn twice, placed by cursor, or told by colour.
"""

from __future__ import annotations

import os
import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from assistant.conversation import Conversation

__all__ = ["run"]

OUTPUT_CLOSED = 141
"""Exit status where whoever read the output has had enough of it: 128 + SIGPIPE."""


def run(conversation: Conversation) -> int:
    """Hold the conversation on stdin and stdout until the person leaves or the input ends.

    Returns the exit status: 0, or 128 + the signal that ended it; the record is safe either way.
    """
    from assistant.line.face import Face
    from assistant.line.reader import reader_of
    from assistant.line.signals import stoppable

    for stream in (sys.stdin, sys.stdout):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")  # a sign that the terminal cannot show or send ends no talk
    reader = reader_of(sys.stdin, sys.stdout)
    try:
        with stoppable(reader.stop):
            return Face(conversation, reader, sys.stdout).run()
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return OUTPUT_CLOSED
