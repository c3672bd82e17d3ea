"""The program on a real terminal: how it leaves one behind, and what it tells on the way out."""

import os
import pty
import re
import select
import signal
import subprocess
import sys
import textwrap
import time
from pathlib import Path

import pyte
import pytest

from assistant.conversation import Conversation
from assistant.screens.parting import FAULT, say_farewell
from assistant.tree.tree import Tree

PROGRAM = """
import sys
from pathlib import Path
from assistant.conversation import Conversation
from assistant.screens import run
from assistant.session.store import Store
from assistant.tree.load import load
conversation = Conversation(Store(Path(sys.argv[1])), lambda: "2026-03-02T09:30:00+00:00")
conversation.opening = conversation.begin(load(sys.argv[2]))
{more}
sys.exit(run(conversation))
"""
SMALL = str(Path(__file__).parents[1] / "trees" / "small.toml")
PATIENCE = 20.0


class Terminal:
    """A process on a pseudo-terminal, and the screen that it draws."""

    def __init__(self, home: Path, more: str = "") -> None:
        program = PROGRAM.format(more=textwrap.dedent(more))
        self.master, slave = pty.openpty()
        environment = {**os.environ, "TERM": "xterm-256color", "COLUMNS": "80", "LINES": "24"}
        environment.pop("NO_COLOR", None)
        self.process = subprocess.Popen(
            [sys.executable, "-c", program, str(home), SMALL], stdin=slave, stdout=subprocess.PIPE, stderr=slave,
            env=environment, start_new_session=True, cwd=Path(__file__).parents[2],
        )  # fmt: skip
        os.close(slave)
        self.screen = pyte.Screen(80, 24)
        self.stream = pyte.ByteStream(self.screen)
        self.raw = b""

    def read(self) -> bool:
        """Take in what has come; False at the end."""
        if not select.select([self.master], [], [], 0.05)[0]:
            return True
        try:
            data = os.read(self.master, 65536)
        except OSError:
            return False
        self.raw += data
        self.stream.feed(re.sub(rb"\x1b\[[<>=][^a-zA-Z]*[a-zA-Z]|\x1b\[\?[0-9;]*\$p", b"", data))
        return bool(data)

    def until(self, text: str) -> None:
        end = time.monotonic() + PATIENCE
        while text not in "\n".join(self.screen.display):
            assert time.monotonic() < end, "\n".join(self.screen.display)
            self.read()

    def press(self, keys: bytes) -> None:
        os.write(self.master, keys)

    def end(self) -> int:
        """Everything to the end, and the exit status."""
        end = time.monotonic() + PATIENCE
        while self.process.poll() is None and time.monotonic() < end:
            self.read()
        while self.read() and select.select([self.master], [], [], 0.1)[0]:
            pass
        os.close(self.master)
        assert self.process.stdout is not None
        with self.process.stdout as out:
            self.out = out.read()
        return self.process.wait(1)

    @property
    def restored(self) -> bool:
        """The other screen was left, the cursor shown, the mouse and bracketed paste let go."""
        return all(
            self.raw.rfind(off) > self.raw.rfind(on) >= 0
            for on, off in ((b"\x1b[?1049h", b"\x1b[?1049l"), (b"\x1b[?25l", b"\x1b[?25h"),
                            (b"\x1b[?1000h", b"\x1b[?1000l"), (b"\x1b[?2004h", b"\x1b[?2004l"))
        )  # fmt: skip


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP, signal.SIGINT])
def test_a_signal_leaves_the_terminal_as_it_was_and_the_record_safe(
    tmp_path: Path, number: signal.Signals
) -> None:
    terminal = Terminal(tmp_path)
    terminal.until("In use")
    time_to_rest(terminal)
    terminal.press(b"2")
    terminal.until("What is near")
    terminal.process.send_signal(number)
    assert terminal.end() == 128 + number
    assert terminal.restored
    told = terminal.raw.rpartition(b"\x1b[?1049l")[2].decode()
    [record] = (tmp_path / "records").glob("*.toml")
    assert record.name in told.replace("\r\n", "")
    assert terminal.out == b""


def test_leaving_is_status_0_and_says_where_the_record_is(tmp_path: Path) -> None:
    terminal = Terminal(tmp_path)
    terminal.until("In use")
    time_to_rest(terminal)
    terminal.press(b"2")
    terminal.until("What is near")
    terminal.press(b"\x11")
    assert terminal.end() == 0
    assert terminal.restored
    assert b"Kept in:" in terminal.raw
    assert terminal.out == b""


def test_a_fault_restores_the_terminal_and_prints_no_local_values(tmp_path: Path) -> None:
    terminal = Terminal(
        tmp_path,
        """
        def broken():
            secret = "14 Acacia Avenue"
            raise RuntimeError("the floor gave way")
        conversation.why = broken
        """,
    )
    terminal.until("In use")
    time_to_rest(terminal)
    terminal.press(b"2")
    terminal.until("What is near")
    terminal.press(b"\x1bOR")
    assert terminal.end() == FAULT
    assert terminal.restored
    told = terminal.raw.rpartition(b"\x1b[?1049l")[2]
    assert b"the floor gave way" in told
    assert b"Kept in:" in told
    assert b"Acacia" not in terminal.raw


def time_to_rest(terminal: Terminal) -> None:
    """Let the question stand for a moment: a key right after it is drawn would not count."""
    end = time.monotonic() + 0.4
    while time.monotonic() < end:
        terminal.read()


def test_nothing_is_imported_for_the_screen_until_it_is_run() -> None:
    program = "import sys, assistant.screens; sys.exit('textual' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", program], check=False).returncode == 0


def test_the_farewell_holds_no_control_codes(
    conversation: Conversation, small: Tree, capsys: pytest.CaptureFixture[str]
) -> None:
    conversation.begin(small)
    assert say_farewell(conversation, 0, RuntimeError("\x1b[31mred")) == FAULT
    assert "\x1b" not in capsys.readouterr().err
