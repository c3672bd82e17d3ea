"""How soon the first question is painted, beside a bare Textual app of the same size, and an answer's way to the next.

`python -m tests.bench.screens [RUNS]`. Start: fresh processes on a pseudo-terminal of 120×36, from exec to the first
bytes that show the marker on the screen; the fastest of several runs counts. Answer to paint: inside one process.
"""

from __future__ import annotations

import asyncio
import contextlib
import os
import pty
import select
import signal
import statistics
import struct
import subprocess
import sys
import tempfile
import time
from fcntl import ioctl
from pathlib import Path
from termios import TIOCSWINSZ

from textual.app import App, ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import Footer, Input, OptionList, Static

from assistant.conversation import Conversation
from assistant.screens.app import ThroughwallApp
from assistant.session.store import Store
from tests.transcripts import SCRIPTS

BARE = """
from textual.app import App
from textual.widgets import Footer, Input, OptionList, Static
class Bare(App[None]):
    def compose(self):
        yield Static("a bare app")
        yield OptionList("first", "second", "third", "fourth")
        yield Input()
        yield Footer()
Bare().run()
"""
OURS = "from assistant.cli import main; main()"


def first_paint(marker: str, *command: str) -> float:
    """Milliseconds from starting the command on a terminal until the marker is written to it."""
    parent, child = pty.openpty()
    ioctl(child, TIOCSWINSZ, struct.pack("HHHH", 36, 120, 0, 0))
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    start = time.perf_counter()
    process = subprocess.Popen(command, stdin=child, stdout=child, stderr=child, start_new_session=True,
                               env={**environment, "TERM": "xterm-256color"})  # fmt: skip
    os.close(child)
    seen = b""
    while marker.encode() not in seen and time.perf_counter() - start < 20:
        if select.select([parent], [], [], 1)[0]:
            seen += os.read(parent, 65536)
    took = (time.perf_counter() - start) * 1000
    os.killpg(process.pid, signal.SIGKILL)
    process.wait()
    os.close(parent)
    return took


async def answers_to_paint() -> list[float]:
    """Milliseconds from each answer of a demo consultation to the next question being laid out and painted."""
    times = []
    said = SCRIPTS["new-mortar-and-collar"].strip().split("\n")[:-1]
    with tempfile.TemporaryDirectory() as home:
        app = ThroughwallApp(Conversation(Store(Path(home)), lambda: "2026-03-02T09:30:00+00:00"))
        async with app.run_test(size=(120, 36)) as pilot:
            await pilot.pause()
            painted = asyncio.Event()
            app.talk.pace.drawn = painted.set  # told once the new question was refreshed
            for text in said:
                painted.clear()
                start = time.perf_counter()
                with contextlib.suppress(Exception):
                    app.talk.take(lambda text=text: app.conversation.say(text))
                if app.talk.prompt is None:
                    break  # the verdict is another screen
                await painted.wait()
                times.append((time.perf_counter() - start) * 1000)
                await pilot.pause()
    return times


class Bare(App[None]):
    """As many lines and answers as ours, and nothing else."""

    def compose(self) -> ComposeResult:
        with VerticalScroll():
            for number in range(30):
                yield Static(f"line {number}")
        yield OptionList("first", "second", "third", "fourth")
        yield Input()
        yield Footer()


async def bare_to_paint(turns: int = 20) -> list[float]:
    """Milliseconds that a bare app takes to add two lines, show other options, and paint that."""
    times = []
    app = Bare()
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.pause()
        painted = asyncio.Event()
        for turn in range(turns):
            painted.clear()
            start = time.perf_counter()
            log = app.query_one(VerticalScroll)
            log.mount(Static(f"a question {turn}"), Static("an answer"))
            log.scroll_end(animate=False)
            app.query_one(OptionList).clear_options().add_options([f"option {turn}", "another", "a third"])
            app.call_after_refresh(painted.set)
            await painted.wait()
            times.append((time.perf_counter() - start) * 1000)
            await pilot.pause()
    return times


def main() -> None:
    """Print the times and their ratio."""
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 8
    bare, ours = [], []
    with tempfile.TemporaryDirectory() as home:
        for _ in range(runs):
            bare.append(first_paint("a bare app", sys.executable, "-c", BARE))
            ours.append(first_paint("What is the job today", sys.executable, "-c", OURS, "--home", home))
    print(f"a bare Textual app painted           {min(bare):6.0f} ms")
    print(f"the first question painted           {min(ours):6.0f} ms")
    print(f"ratio                                {min(ours) / min(bare):6.2f}   (aim: at most 1.5)")
    bare_times = statistics.median(asyncio.run(bare_to_paint()))
    times = asyncio.run(answers_to_paint())
    print(f"a bare app's next lines painted      {bare_times:6.1f} ms in the middle")
    print(
        f"answer to the next question painted  {statistics.median(times):6.1f} ms in the middle, {max(times):.0f} ms at most   (aim: 16)"
    )


if __name__ == "__main__":
    main()
