"""The command `tree`: a tree by its id or path, and the subcommands beside it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click
import pytest
from click.testing import CliRunner, Result

from assistant.cli import command
from assistant.commands import tree as module


def run(*arguments: str) -> Result:
    return CliRunner().invoke(command, ["tree", *arguments])


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[tuple[str, str]]:
    """What was asked of the outline."""
    asked: list[tuple[str, str]] = []

    def shown(name: str, as_: str) -> str:
        asked.append((name, as_))
        return "an outline\n"

    monkeypatch.setattr(module, "shown", shown)
    return asked


def test_alone_it_lists_the_installed_trees_with_their_titles() -> None:
    ended = run()
    assert ended.exit_code == 0
    lines = ended.stdout.splitlines()
    assert [line.split()[0] for line in lines] == ["depth", "joint", "sealant", "through-wall"]
    assert "How far the spigot goes in" in lines[0]


@pytest.mark.parametrize(
    ("arguments", "meant"),
    [
        (["joint"], ("joint", "text")),
        (["joint", "--as", "svg"], ("joint", "svg")),
        (["--as", "dot", "joint"], ("joint", "dot")),
        (["./new.toml"], ("./new.toml", "text")),
        (["./new"], ("./new", "text")),
    ],
)
def test_what_is_no_subcommand_is_shown(
    arguments: list[str], meant: tuple[str, str], asked: list[Any]
) -> None:
    ended = run(*arguments)
    assert ended.exception is None
    assert ended.stdout == "an outline\n"
    assert asked == [meant]


def test_a_form_that_there_is_not_is_refused_with_those_there_are() -> None:
    ended = run("joint", "--as", "png")
    assert ended.exit_code == 2
    assert "'text', 'mermaid', 'dot', 'svg'" in ended.stderr


def test_the_help_tells_of_the_outline_and_of_every_subcommand() -> None:
    told = run("--help").stdout
    for word in ("ID", "new", "schema", "format"):
        assert f"\n  {word} " in told


@pytest.mark.parametrize("name", ["ID", "new", "schema", "format"])
def test_each_has_a_help_of_its_own(name: str) -> None:
    ended = run(name, "--help")
    assert ended.exit_code == 0
    assert f"tree {name}" in ended.stdout


def test_a_subcommand_is_imported_only_when_it_is_asked_for() -> None:
    context = click.Context(module.tree)
    assert set(module.LATER) >= {"new", "schema", "format", "try"}
    assert module.tree.get_command(context, "nothing") is None


def test_the_trees_of_another_folder_are_not_listed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "mine.toml").touch()
    monkeypatch.chdir(tmp_path)
    assert "mine" not in run().stdout
