"""The house: what may lie where, and what must not be imported to answer a question."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from assistant.session.prove import SHIPPED, work_out
from assistant.tree.installed import installed_folder, installed_ids
from assistant.tree.load import load
from tests.prove import proven

ROOT = Path(__file__).resolve().parent.parent
FACTS = ROOT / "tests" / "data" / "acceptable.toml"


def modules_after(*arguments: str) -> set[str]:
    """The top-level modules that the command has imported when it ends."""
    code = (
        "import sys\n"
        f"sys.argv = ['throughwall', *{list(arguments)!r}]\n"
        "from assistant.cli import main\n"
        "try:\n    main()\nexcept SystemExit:\n    pass\n"
        "print('MODULES', *sorted({name.partition('.')[0] for name in sys.modules}))\n"
    )
    run = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, stdin=subprocess.DEVNULL
    )
    return set(run.stdout.rpartition("MODULES ")[2].split())


@pytest.mark.parametrize(
    "arguments",
    [("--help",), ("judge", str(FACTS)), ("judge", "--json", str(FACTS)), ("calc", "annular-gap", "hole_mm=127", "flue_mm=100")],
)  # fmt: skip
def test_the_commands_do_not_import_a_terminal_library(arguments: tuple[str, ...]) -> None:
    assert not modules_after(*arguments) & {"textual", "prompt_toolkit", "rich"}


def test_line_mode_on_a_pipe_imports_neither_textual_nor_prompt_toolkit(tmp_path: Path) -> None:
    assert not modules_after("--plain", "--home", str(tmp_path)) & {"textual", "prompt_toolkit"}


@pytest.mark.parametrize("name", installed_ids())
def test_an_installed_tree_passes_its_proofs(name: str) -> None:
    proof = work_out(load(name))
    assert [str(complaint) for complaint in proof.complaints] == []
    assert proof.proven


def test_the_proofs_that_ship_are_those_of_the_trees_that_ship() -> None:
    assert SHIPPED.read_text(encoding="utf-8") == proven(), "run python -m tests.prove"


@pytest.mark.parametrize("name", installed_ids())
def test_an_installed_tree_always_says_what_it_defers_to(name: str) -> None:
    said = " ".join(load(name).file.tree.defer).casefold()
    for words in (
        "carbon monoxide",
        "registered gas engineer",
        "maker's instructions",
        "the law",
        "inspects nothing",
    ):
        assert words in said


def test_the_trees_lie_beside_the_package_in_a_checkout() -> None:
    assert installed_folder() == ROOT / "trees"
    assert {"through-wall", "joint", "depth", "sealant"} <= set(installed_ids())


def test_the_top_level_holds_what_it_should() -> None:
    names = {
        path.partition("/")[0]
        for path in subprocess.run(
            ["git", "ls-files"], capture_output=True, text=True, cwd=ROOT, check=False
        ).stdout.split("\n")
        if path and not path.startswith(".")
    }
    allowed = {
        "README.md",
        "DEVELOPERS.md",
        "pyproject.toml",
        "assistant",
        "trees",
        "tests",
        "transcripts_demo",
    }
    assert names <= allowed
