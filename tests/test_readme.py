"""What the README shows is what the program does today."""

from __future__ import annotations

import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.picture import PICTURE, take, words
from tests.transcripts import DEMO

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")


def test_the_picture_says_what_the_program_says() -> None:
    assert words(PICTURE.read_text(encoding="utf-8")) == words(take())


def test_the_transcript_is_a_piece_of_the_demo() -> None:
    name, shown = re.findall(r"<!-- transcript: ([a-z-]+) -->\n```text\n(.*?)```", README, flags=re.DOTALL)[0]
    assert len(shown.splitlines()) == 20
    assert shown in (DEMO / f"{name}.txt").read_text(encoding="utf-8")


def test_every_file_that_the_readme_links_is_there() -> None:
    for target in re.findall(r"\]\(([^)#]+)\)", README):
        assert (ROOT / target).exists(), target


def commands() -> list[list[str]]:
    """The commands of the README that need nothing set up, one line each."""
    blocks = re.findall(r"```sh\n(.*?)```", README, flags=re.DOTALL)
    lines = [line for block in blocks for line in block.splitlines() if line.startswith("throughwall ")]
    return [shlex.split(line, comments=True) for line in lines]


def test_the_readme_shows_commands() -> None:
    assert len(commands()) >= 3


def test_the_commands_of_the_readme_run(tmp_path: Path) -> None:
    for command in commands():
        if "old/my-flue.toml" in command:  # the edition before the one being written
            (tmp_path / "old").mkdir()
            shutil.copy(tmp_path / "my-flue.toml", tmp_path / "old")
        words_, _, file = " ".join(shlex.quote(word) for word in command).partition(" '>' ")
        run = subprocess.run(
            [sys.executable, "-c", "from assistant.cli import main; main()", *shlex.split(words_)[1:]],
            capture_output=True, text=True, cwd=tmp_path, check=False,
        )  # fmt: skip
        assert run.returncode in (0, 3), run.stderr
        if file:
            (tmp_path / file).write_text(run.stdout, encoding="utf-8")


@pytest.mark.parametrize("word", ["judge", "facts", "calc", "check", "tree", "compare"])
def test_help_and_readme_tell_of_the_same_commands(word: str) -> None:
    run = subprocess.run(
        [sys.executable, "-c", "from assistant.cli import main; main()", "--help"],
        capture_output=True,
        text=True,
        check=True,
    )
    assert word in run.stdout
    assert f"`throughwall {word}" in README
