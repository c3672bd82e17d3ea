"""What is made from the code of the format: `python -m tests.format` writes the schema and the reference anew.

In the reference the lists of keys, limits and codes are made from the code, between markers; and what each command
prints is what it prints today. The rest of it is written by hand, and kept.
"""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
import tempfile
import textwrap
from collections.abc import Callable, Iterator
from pathlib import Path

from assistant.session import walk
from assistant.tree import answers, limits, load, model, refer
from assistant.tree import walk as toml_walk
from assistant.tree.codes import CODES, GROUPS
from assistant.tree.described import TABLES
from assistant.tree.schema import keys, schema
from assistant.tree.survey import graph
from assistant.workings import units

ROOT = Path(__file__).resolve().parent.parent
SCHEMA = ROOT / "assistant" / "tree" / "tree.schema.json"
REFERENCE = ROOT / "trees" / "FORMAT.md"

LIMITS: list[tuple[str, int]] = [
    ("{} bytes in a tree's file", load.MOST_BYTES),
    ("{} steps in a tree", refer.MOST_STEPS),
    ("{} trees deep, where one visits another", load.MOST_DEPTH),
    ("{} things that an each runs over", refer.MOST_EACH),
    ("{} steps taken in one talk, along all that is possible", walk.MOST_STEPS),
    ("{} places that the proofs look at, each a step with what is known there", graph.MOST_NODES),
    ("{} brackets or tables deep", toml_walk.MOST_DEPTH),
    ("{} digits in a whole number", limits.MOST_DIGITS),
    ("{} digits in a number with a point", limits.MOST_DECIMAL_DIGITS),
    ("{} signs in a note that somebody types", answers.MOST_NOTE),
    ("{} faults of writing told of one file", toml_walk.MOST_FINDINGS),
]
"""What the reference says of each limit, and the constant that holds it."""


def schema_text() -> str:
    """The schema as it is shipped."""
    return json.dumps(schema(), indent=2, ensure_ascii=False) + "\n"


def reference_text(text: str) -> str:
    """The reference with all that is made from the code made anew."""
    made: dict[str, Callable[[str], str]] = {
        "keys": _keys,
        "units": lambda _: _items(f"{kind}: {', '.join(units.spellings(kind))}" for kind in units._TABLE),
        "limits": lambda _: _items(f"At most {says.format(f'{most:,}')}." for says, most in LIMITS),
        "groups": lambda _: _items(f"{n}. {says}." for n, says in enumerate(GROUPS) if n).replace("- ", ""),
        "codes": lambda _: _codes(),
    }
    for name, make in made.items():
        text = re.sub(
            rf"(<!-- {name}(?:: (\w+))? -->\n).*?(<!-- end -->\n)",
            lambda match, make=make: f"{match[1]}{make(match[2])}\n{match[3]}",  # type: ignore[misc]
            text,
            flags=re.DOTALL,
        )
    return _run(text)


def _items(items: Iterator[str]) -> str:
    return "\n".join(_wrapped(f"- {item}") for item in items)


def _wrapped(text: str, indent: str = "  ") -> str:
    text = re.sub(r"(?<!`)\[{1,2}[a-z….<>-]+\]{1,2}(?!`)", r"`\g<0>`", text)
    return textwrap.fill(text, 100, subsequent_indent=indent, break_long_words=False, break_on_hyphens=False)


def _keys(table: str) -> str:
    lines = [_wrapped(TABLES[table].says, ""), ""]
    for key in keys(getattr(model, table)):
        needed = "needed" if key.required else key.needed or "not needed"
        lines.append(_wrapped(f"- `{key.name}` ({needed}; {key.takes}): {key.says}"))
    return "\n".join(lines)


def _codes() -> str:
    lines: list[str] = []
    for number in [*range(1, len(GROUPS)), 0]:
        lines += [f"### {number}. {GROUPS[number]}" if number else f"### {GROUPS[number]}", ""]
        lines += [
            _wrapped(f"- `{name}`: {c.means} {c.mend}") for name, c in CODES.items() if c.group == number
        ]
        lines.append("")
    return "\n".join(lines).rstrip()


def parts(text: str) -> Iterator[tuple[str, str, re.Match[str]]]:
    """The marked blocks of the example, in order: what is added to which file, and what is run."""
    marked = r"<!-- (file|run)(?:: ([\w.-]+))? -->\n```\w+\n(.*?)```\n"
    for match in re.finditer(marked, text, flags=re.DOTALL):
        yield match[1], match[2] or "", match


def _run(text: str) -> str:
    """The text with what each command of the example prints, run in a folder with the files as they are then."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "condensate.toml").touch()
        out, at = "", 0
        for kind, file, match in parts(text):
            if kind == "file":
                before = (folder / file).read_text(encoding="utf-8") if (folder / file).exists() else ""
                (folder / file).write_text(before + ("\n" if before else "") + match[3], encoding="utf-8")
                continue
            command = match[3].partition("\n")[0]
            out += text[at : match.start(3)] + f"{command}\n{printed(command, folder)}"
            at = match.end(3)
    return out + text[at:]


def printed(command: str, folder: Path) -> str:
    """What `$ throughwall …` prints in a folder, both streams as a terminal shows them."""
    words = command.removeprefix("$ ").split()
    assert words[0] == "throughwall"
    run = subprocess.run(
        [sys.executable, "-c", "from assistant.cli import main; main()", *words[1:]],
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        stdin=subprocess.DEVNULL,
        encoding="utf-8",
        cwd=folder,
        check=False,
        env={
            **os.environ,
            "PYTHONPATH": str(ROOT),
            "PYTHONUTF8": "1",
            "COLUMNS": "80",
            "NO_COLOR": "1",
            "TERM": "dumb",
        },
    )
    return run.stdout.rstrip() + "\n"


def main() -> None:
    """Write the schema and the reference anew."""
    SCHEMA.write_text(schema_text(), encoding="utf-8")
    REFERENCE.write_text(reference_text(REFERENCE.read_text(encoding="utf-8")), encoding="utf-8")


if __name__ == "__main__":
    main()
