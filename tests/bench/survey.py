"""How long large trees take to load, to check and to survey, beside parsing the same text alone: run as a module.

All is timed in one process, in processor time, the floor and what is held against it in turn; the middle of several runs
counts. Sizes to be measured may be named: `python -m tests.bench.survey 60 300`.
"""

from __future__ import annotations

import sys
import time
import tomllib
from collections.abc import Callable
from math import log10
from statistics import median

from assistant.session.prove import work_out
from assistant.tree.compare import compare
from assistant.tree.load import load_text
from assistant.tree.survey.count import count
from assistant.tree.survey.cover import cover, sided
from assistant.tree.survey.graph import Survey
from assistant.tree.tree import Tree
from tests.large import OF_SEVENTY_DIGITS, SIZES, large

MOST_COMPARED = 1_000
"""Questions of the largest tree that is compared with itself."""
MOST_COVERED = 300
"""Questions of the largest tree that is covered."""


def milliseconds(work: Callable[[], object]) -> float:
    """The processor time that one run takes."""
    start = time.process_time()
    work()
    return (time.process_time() - start) * 1000


class Row:
    """What is measured on one tree, each measure several times."""

    def __init__(self, name: str, text: str, runs: int) -> None:
        self.name, self.text, self.runs = name, text, runs
        self.tree = self.load()
        self.survey = Survey(self.tree)
        self.root = self.survey.root

    def load(self) -> Tree:
        return load_text(self.text, "large.toml")

    def counted(self) -> None:
        self.survey.work = 0
        count(self.survey, self.root)

    def measure(self, size: int) -> None:
        """Print every measure of this tree beside the floor."""
        edition = self.text.replace('edition = "1"', 'edition = "2"')
        changed = load_text(edition, "large.toml") if size <= MOST_COMPARED else None
        works: dict[str, tuple[Callable[[], object], str]] = {
            "tomllib.loads alone": (lambda: tomllib.loads(self.text), ""),
            "load": (self.load, ""),
            "check, every proof": (lambda: work_out(self.tree), ""),
            "survey": (lambda: Survey(self.tree).root, ""),
            "count, of a survey": (self.counted, "under 50 ms" if size == 1_000 else ""),
        }
        if changed is not None:
            works["compare with itself"] = (
                lambda: compare(self.tree, changed),
                "under 50 ms" if size == 1_000 else "",
            )
        if size <= MOST_COVERED:
            works["cover, of a survey"] = (lambda: cover(sided(self.tree)), "")
        assert work_out(self.tree).proven
        times: dict[str, list[float]] = {name: [] for name in works}
        for _ in range(self.runs):
            for name, (work, _aim) in works.items():
                times[name].append(milliseconds(work))
        middle = {name: median(several) for name, several in times.items()}
        middle["load and check"] = middle["load"] + middle["check, every proof"]
        ways = sum(count(self.survey, self.root)[self.root.root].values())
        print(f"\n{self.name}: {len(self.text):,} characters, about 10^{int(log10(ways))} ways")
        floor = middle["tomllib.loads alone"]
        for name, taken in middle.items():
            aim = works[name][1] if name in works else "under 10 floors" if size == 300 else ""
            print(f"  {name:24}{taken:10.1f} ms {taken / floor:8.2f}" + f"   (aim: {aim})" * bool(aim))


def main() -> None:
    """Print all measures."""
    sizes = [int(size) for size in sys.argv[1:]] or SIZES
    print("Processor time, and how often the floor goes into it.")
    for size in sizes:
        runs = 1 if size > 1_000 else 3 if size == 1_000 else 7
        Row(f"{size:,} questions", large(size), runs).measure(size)
        if size == 1_000:
            text = large(size, OF_SEVENTY_DIGITS, narrow=True)
            Row(f"{size:,} questions, of which most that is wrong ends it", text, runs).measure(size)


if __name__ == "__main__":
    main()
