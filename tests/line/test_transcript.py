"""The plain face as a process on a pipe: its output is a transcript."""

import os
import re
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from tests.conftest import TREES

ROOT = Path(__file__).parents[2]
SMALL = str(TREES / "small.toml")
GOOD = ["fitting", "none", "12", "1", "screws", "40 mm", "all well"]


def start(home: Path, *arguments: str, **variables: str) -> subprocess.Popen[str]:
    environment = {**os.environ, "TERM": "dumb", "COLUMNS": "80", "PYTHONIOENCODING": "utf-8", **variables}
    return subprocess.Popen(
        [sys.executable, "-m", "tests.line.talk", str(home), *arguments],
        cwd=ROOT, env=environment, text=True, encoding="utf-8",
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
    )  # fmt: skip


def finish(process: subprocess.Popen[str], *lines: str) -> tuple[str, str]:
    return process.communicate("".join(f"{line}\n" for line in lines), timeout=20)


def read_until(process: subprocess.Popen[str], wanted: str) -> str:
    assert process.stdout is not None
    text = ""
    while wanted not in text:
        sign = process.stdout.read(1)
        assert sign, f"{wanted!r} never came; this did: {text!r}"
        text += sign
    return text


def send(process: subprocess.Popen[str], *lines: str) -> None:
    assert process.stdin is not None
    process.stdin.write("".join(f"{line}\n" for line in lines))
    process.stdin.flush()


@pytest.mark.parametrize(
    "variables", [{}, {"NO_COLOR": "1"}, {"TERM": "xterm-256color"}, {"PYTHONUTF8": "0", "LC_ALL": "C"}]
)
def test_a_pipe_gives_a_transcript_without_codes(tmp_path: Path, variables: dict[str, str]) -> None:
    process = start(tmp_path, SMALL, **variables)
    out, err = finish(process, *GOOD)
    assert process.returncode == 0
    assert err == ""
    assert "): 40 mm\nTaken as: 40 mm\n" in out
    assert "It holds" in out
    assert out.endswith("To open it again: type throughwall --open and the file.\n")
    assert all(line.isprintable() for line in out.splitlines())


def test_signs_that_the_output_cannot_hold_end_nothing(tmp_path: Path) -> None:
    process = start(tmp_path, SMALL, PYTHONIOENCODING="ascii")
    out, err = finish(process, *GOOD)
    assert (process.returncode, err) == (0, "")
    assert "Question 5 ? Joint 1" in out


def test_a_killed_process_loses_nothing(tmp_path: Path) -> None:
    process = start(tmp_path, SMALL)
    send(process, *GOOD[:5])
    read_until(process, "Question 6")
    process.kill()
    process.communicate()
    (record,) = (tmp_path / "records").glob("*.toml")
    assert record.read_text().count("[[answer]]") == 5

    process = start(tmp_path)
    out, _ = finish(process, "1", *GOOD[5:])
    assert re.search(r"1  Go on with A small run, begun 2026-03-02 09:30, 5 answered", out)
    assert "Question 6 · Joint 1\nHow far does it go in?" in out
    assert "It holds" in out


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP])
def test_a_signal_is_leaving(tmp_path: Path, number: signal.Signals) -> None:
    process = start(tmp_path, SMALL)
    send(process, *GOOD[:2])
    read_until(process, '"help"): none\n')
    read_until(process, '"help"): ')
    process.send_signal(number)
    out, err = process.communicate(timeout=20)
    assert process.returncode == 128 + number
    assert "Kept in:" in out
    assert err == ""


def test_a_reader_that_has_had_enough_ends_it_quietly(tmp_path: Path) -> None:
    process = start(tmp_path, SMALL)
    read_until(process, "Question 1")
    assert process.stdout is not None
    process.stdout.close()
    send(process, *GOOD)
    assert process.wait(timeout=20) == 141
    assert process.stderr is not None
    assert process.stderr.read() == ""
    assert process.stdin is not None
    process.stdin.close()
    process.stderr.close()
