"""What is said next, in what tone, with what choices: the one script that both front ends perform.

Importing this package is light: what reasons about trees is imported when a job is chosen.
"""

from assistant.conversation.faults import Fault
from assistant.conversation.script import (
    ACTIONS,
    Action,
    Answered,
    Choice,
    Prompt,
    Said,
    Tone,
    all_said,
    mistakes,
)
from assistant.conversation.talk import Conversation

__all__ = [
    "ACTIONS",
    "Action",
    "Answered",
    "Choice",
    "Conversation",
    "Fault",
    "Prompt",
    "Said",
    "Tone",
    "all_said",
    "mistakes",
]
