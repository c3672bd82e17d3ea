"""The plain face as a process of its own: `python -m tests.line.talk HOME [TREE]`."""

import sys
from pathlib import Path

from assistant.conversation import Conversation
from assistant.line import run
from assistant.session.store import Store
from assistant.tree.load import load

conversation = Conversation(Store(Path(sys.argv[1])), lambda: "2026-03-02T09:30:00+00:00")
if len(sys.argv) > 2:
    conversation.opening = conversation.begin(load(sys.argv[2]))
status = run(conversation)
if "textual" in sys.modules:
    print("textual was imported", file=sys.stderr)
if "prompt_toolkit" in sys.modules:
    print("prompt_toolkit was imported", file=sys.stderr)
raise SystemExit(status)
