"""A tree that changes while it is tried line by line."""

from __future__ import annotations

import io
from collections.abc import Callable
from pathlib import Path

import pytest
from prompt_toolkit.input import create_pipe_input
from prompt_toolkit.output import DummyOutput

from assistant.line.face import Face
from assistant.line.reader import Reader, TerminalReader, Woken
from tests.test_trying import BROKEN, LOOSE, Bench

Line = str | Callable[[], str]


class Script(Reader):
    """Lines one after the other; a function is called in its turn, and may change the tree."""

    def __init__(self, out: io.StringIO, *lines: Line) -> None:
        super().__init__()
        self.out, self.lines = out, list(lines)

    def wait(self, message: str) -> str:
        """The next line."""
        self.out.write(message)
        if not self.lines:
            raise EOFError
        line = self.lines.pop(0)
        typed = line if isinstance(line, str) else line()
        self.out.write(f"{typed}\n")
        return typed

    def break_off(self) -> None:
        """Never asked for."""


@pytest.fixture(autouse=True)
def _eighty_columns(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return Bench(tmp_path)


def talk(bench: Bench, *lines: Line) -> str:
    out = io.StringIO()

    def pause(seconds: float) -> None:
        bench.clock.now += seconds

    assert Face(bench.trying, Script(out, *lines), out, pause).run() == 0
    return out.getvalue()


def test_a_change_is_told_before_the_next_question(bench: Bench) -> None:
    def change() -> str:
        bench.change(('id = "fitting"', 'id = "new"'))
        return "none"

    text = talk(bench, "fitting", change, "new")
    taken, again = text.index("Taken as: None of these"), text.index("Read again: The tree was read again:")
    assert taken < again < text.rindex("Question 1\n") < text.rindex("Taken as: New work")
    assert "No longer fits: Is it new, or in use? New work." in text


def test_a_reply_is_taken_by_the_tree_that_asked_for_it(bench: Bench) -> None:
    def change() -> str:
        bench.change(('id = "existing"\nsays = "In use"', 'id = "existing"\nsays = "New work, no use"'))
        return "2"

    text = talk(bench, change)
    assert text.index("Taken as: In use") < text.index("Read again:")


def test_mistakes_are_told_with_their_line_and_a_mark_and_that_they_are_mended(bench: Bench) -> None:
    def spoil() -> str:
        bench.change(BROKEN)
        return "fitting"

    def mend() -> str:
        bench.change(BROKEN[::-1])
        return "none"

    text = talk(bench, spoil, mend)
    assert "Not read: The tree has 1 fault. The one that was read before stays in use.\n" in text
    lines = text.splitlines()
    at = lines.index('    then = "gapp"')
    assert lines[at + 1] == "           ^"
    assert lines[at + 2] == '  Did you mean "gap"?'
    assert text.index("Taken as: None of these") < text.index("Mended: ")


def test_the_proofs_are_gone_through_before_a_verdict_is_told(bench: Bench) -> None:
    def loosen() -> str:
        bench.change(LOOSE)
        return "all well"

    text = talk(bench, "fitting", "none", "12", "1", "screws", "40", loosen)
    assert text.index("Proofs: 1 fault") < text.index("VERDICT")
    assert "This tree has not passed its proofs" in text


def test_one_that_waits_for_a_line_is_woken_and_asks_again(bench: Bench) -> None:
    def wake() -> str:
        bench.change(("Is it new,", "Is this new,"))
        raise Woken

    text = talk(bench, wake, "fitting")
    assert (
        text.index("Is it new, or in use?")
        < text.index("Read again:")
        < text.index("Is this new, or in use?")
    )


def test_ctrl_c_promises_no_more_than_a_trial_keeps(bench: Bench) -> None:
    def interrupt() -> str:
        raise KeyboardInterrupt

    text = " ".join(talk(bench, interrupt, "quit").split())
    assert 'A trial is kept only once you type "save".' in text
    assert "Everything is kept" not in text


def test_a_tree_that_is_written_without_end_holds_nothing_up(bench: Bench) -> None:
    out = io.StringIO()

    def pause(seconds: float) -> None:
        bench.change(('edition = "1', 'edition = "11'))
        bench.clock.now += seconds - 1

    bench.change(('edition = "1', 'edition = "11'))
    bench.clock.now -= 1
    assert Face(bench.trying, Script(out, "fitting"), out, pause).run() == 0
    assert "Taken as: New work" in out.getvalue()


def test_a_terminal_that_waits_is_woken() -> None:
    with create_pipe_input() as keys:
        reader = TerminalReader(keys, DummyOutput())
        asked = iter((False, True))
        reader.wake = lambda: next(asked)
        with pytest.raises(Woken):
            reader.read("Answer: ")
        reader.wake = lambda: False
        keys.send_text("fitting\r")
        assert reader.read("Answer: ") == "fitting"
