"""How long `judge` takes on one file, beside importing pydantic and parsing the same TOML: run as a module.

Each is a fresh process; the fastest of several runs counts, since whatever else the machine does only adds.
"""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
FACTS = ROOT / "tests" / "data" / "acceptable.toml"
TREES = [ROOT / "trees" / f"{name}.toml" for name in ("through-wall", "joint", "depth", "sealant")]

FLOOR = f"""
import tomllib
from pydantic import BaseModel
class Model(BaseModel):
    name: str
for path in {[str(path) for path in (*TREES, FACTS)]!r}:
    with open(path, "rb") as file:
        tomllib.load(file)
"""
JUDGE = "from assistant.cli import main; main()"


def fastest(runs: int, *command: str) -> float:
    """The fastest of `runs` runs of a command, in milliseconds."""
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    subprocess.run(
        command, stdout=subprocess.DEVNULL, check=True, env=environment
    )  # compiles what is not compiled
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        subprocess.run(command, stdout=subprocess.DEVNULL, check=True, env=environment)
        times.append((time.perf_counter() - start) * 1000)
    return min(times)


def main() -> None:
    """Print both times and their ratio."""
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 20
    floor = fastest(runs, sys.executable, "-c", FLOOR)
    judged = fastest(runs, sys.executable, "-c", JUDGE, "judge", str(FACTS))
    print(f"importing pydantic and parsing the trees and the facts  {floor:6.0f} ms")
    print(f"throughwall judge on one file                           {judged:6.0f} ms")
    print(
        f"ratio                                                   {judged / floor:6.2f}   (aim: at most 1.5)"
    )


if __name__ == "__main__":
    main()
