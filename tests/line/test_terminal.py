"""The plain face on a terminal: prompt_toolkit edits the line, and the terminal is given back as it was."""

import fcntl
import io
import os
import pty
import select
import signal
import subprocess
import sys
import termios
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from prompt_toolkit.input import PipeInput, create_pipe_input
from prompt_toolkit.output import DummyOutput

from assistant.conversation import Conversation
from assistant.line.face import INTERRUPTED, LEAVING, Face
from assistant.line.reader import TerminalReader
from assistant.tree.tree import Tree
from tests.line.test_transcript import ROOT, SMALL

ENTER, CTRL_A, CTRL_C, CTRL_D = "\r", "\x01", "\x03", "\x04"


@pytest.fixture
def keys() -> Iterator[PipeInput]:
    with create_pipe_input() as source:
        yield source


def talk(conversation: Conversation, keys: PipeInput, typed: str) -> tuple[int, str]:
    out = io.StringIO()
    keys.send_text(typed)
    status = Face(conversation, TerminalReader(keys, DummyOutput()), out).run()
    return status, out.getvalue()


def test_a_line_can_be_edited(conversation: Conversation, small: Tree, keys: PipeInput) -> None:
    conversation.begin(small)
    status, text = talk(conversation, keys, f"itting{CTRL_A}f{ENTER}quit{ENTER}")
    assert status == 0
    assert "Taken as: New work" in text


def test_a_line_can_be_called_back(tmp_path: Path) -> None:
    with terminal(tmp_path, "xterm") as (_, ours, _):
        read_until(ours, '"help"):')
        os.write(ours, b"fitting\r")
        read_until(ours, "Question 2", '"help"):')
        os.write(ours, b"back\r")
        read_until(ours, "Question 1", '"help"):')
        os.write(ours, b"\x1b[A\x1b[A")
        read_until(ours, "fitting")
        os.write(ours, b"\r")
        read_until(ours, "Taken as: New work")


def test_ctrl_c_once_says_how_to_leave(conversation: Conversation, small: Tree, keys: PipeInput) -> None:
    conversation.begin(small)
    status, text = talk(conversation, keys, f"{CTRL_C}fitting{ENTER}{CTRL_C}{CTRL_D}")
    assert status == 0
    assert "".join(text.split()).count("".join(LEAVING.split())) == 2
    assert "Kept in:" in text


def test_ctrl_c_twice_leaves(conversation: Conversation, small: Tree, keys: PipeInput) -> None:
    conversation.begin(small)
    status, text = talk(conversation, keys, f"fitting{ENTER}half a{CTRL_C}{CTRL_C}")
    assert status == INTERRUPTED
    assert "Kept in:" in text


@contextmanager
def terminal(home: Path, term: str) -> Iterator[tuple[subprocess.Popen[bytes], int, int]]:
    """The plain face on a pseudo-terminal: the process, our end of it, its end."""
    ours, its = pty.openpty()
    process = subprocess.Popen(
        [sys.executable, "-m", "tests.line.talk", str(home), SMALL], cwd=ROOT, stdin=its, stdout=its,
        stderr=its, start_new_session=True, preexec_fn=lambda: fcntl.ioctl(0, termios.TIOCSCTTY, 0), env={**os.environ, "TERM": term, "COLUMNS": "80"},
    )  # fmt: skip
    try:
        yield process, ours, its
    finally:
        process.kill()
        process.wait()
        os.close(ours)
        os.close(its)


def read_until(ours: int, *wanted: str) -> str:
    """Read on until all of these came, in this order."""
    text, after = b"", 0
    for each in wanted:
        while each.encode() not in text[after:]:
            assert select.select([ours], [], [], 20)[0], f"{each!r} never came; this did: {text!r}"
            text += os.read(ours, 4096)
        after = text.index(each.encode(), after) + len(each)
    return text.decode()


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP])
def test_a_signal_gives_the_terminal_back(tmp_path: Path, number: signal.Signals) -> None:
    with terminal(tmp_path, "xterm") as (process, ours, its):
        before = termios.tcgetattr(its)
        read_until(ours, '"help"):')
        os.write(ours, b"fitting\r")
        read_until(ours, '"unsure"')
        process.send_signal(number)
        assert process.wait(timeout=20) == 128 + number
        assert "Kept in:" in read_until(ours, "To go on")
        assert termios.tcgetattr(its) == before


def test_a_terminal_is_asked_nothing_and_told_no_colour(tmp_path: Path) -> None:
    with terminal(tmp_path, "xterm") as (process, ours, _):
        text = read_until(ours, '"help"):')
        os.write(ours, b"fitting\r")
        text += read_until(ours, "Question 2", '"help"):')
        os.write(ours, b"\x04")
        text += read_until(ours, "prompt_toolkit was imported")
        assert process.wait(timeout=20) == 0
        assert "\x1b[6n" not in text  # no question to the terminal where its cursor is
        assert "\x1b[3" not in text  # no colour
        assert "textual" not in text


def test_a_dumb_terminal_gets_plain_lines_once(tmp_path: Path) -> None:
    with terminal(tmp_path, "dumb") as (process, ours, _):
        text = read_until(ours, '"help"):')
        os.write(ours, b"fitting\n")
        text += read_until(ours, "Question 2", '"help"): ')
        assert text.count("fitting") == 1  # as the terminal itself showed it
        assert "\x1b" not in text
        os.write(ours, b"\x03")
        read_until(ours, '"again"')
        os.write(ours, b"\x04")
        text = read_until(ours, "To go on")
        assert process.wait(timeout=20) == 0
        assert "prompt_toolkit" not in text
