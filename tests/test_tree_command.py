"""The command `tree`: a tree by its id or path, and the subcommands beside it."""

from __future__ import annotations

import json
import os
import re
from pathlib import Path
from typing import Any

import click
import pytest
from click.testing import CliRunner, Result

from assistant.cli import command
from assistant.commands import outline as showing
from assistant.commands import shared
from assistant.commands import tree as module
from assistant.errors import Refused
from assistant.session.facts import blank
from assistant.session.prove import work_out
from assistant.tree.installed import installed_folder, installed_ids
from assistant.tree.load import load, load_text


def run(*arguments: str) -> Result:
    return CliRunner().invoke(command, ["tree", *arguments])


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[tuple[str, str]]:
    """What was asked of the outline."""
    asked: list[tuple[str, str]] = []

    def shown(name: str, as_: str) -> list[str]:
        asked.append((name, as_))
        return ["an outline\n"]

    monkeypatch.setattr(module, "shown", shown)
    return asked


def test_alone_it_lists_the_installed_trees_with_their_titles() -> None:
    ended = run()
    assert ended.exit_code == 0
    lines = ended.stdout.splitlines()
    assert [line.split()[0] for line in lines] == installed_ids()
    assert any(re.fullmatch(r"depth +How far the spigot goes in", line) for line in lines)


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


def test_a_drawing_is_kept_off_the_terminal_and_says_how_it_is_written(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(showing, "on_terminal", lambda: True)
    with pytest.raises(Refused) as refused:
        next(iter(showing.shown("./my flue.toml", "svg")))
    assert refused.value.hint == (
        "Write it to a file: throughwall tree './my flue.toml' --as svg > 'my flue.svg'"
    )
    assert "flowchart" in next(iter(showing.shown("joint", "mermaid")))


def test_a_drawing_says_beside_it_which_paper_suits() -> None:
    ended = run("sealant", "--as", "svg")
    assert ended.stdout.endswith("</svg>\n")
    assert ended.stderr == "The drawing reads well on A3 paper: its smallest print is 7 pt there.\n"
    assert run("sealant", "--as", "dot").stderr == ""


@pytest.mark.parametrize("terminal", [True, False])
def test_the_outline_is_there_before_the_paths_are_counted(
    terminal: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    def never(_: object) -> None:
        raise Refused("not counted")

    monkeypatch.setattr("assistant.session.numbers.numbers", never)
    monkeypatch.setattr(shared, "on_terminal", lambda err=False: terminal and err)
    ended = run("sealant")
    assert "\nVERDICTS\n" in ended.stdout
    assert ended.stderr.startswith("Counting the paths…\n") == terminal


@pytest.mark.parametrize(("lines", "pages"), [(24, 1), (5000, 0)])
def test_a_long_read_is_shown_page_by_page_and_the_numbers_stay(
    lines: int, pages: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    paged: list[str] = []
    monkeypatch.setattr(shared, "on_terminal", lambda err=False: not err)
    monkeypatch.setattr("shutil.get_terminal_size", lambda *_: os.terminal_size((60, lines)))
    monkeypatch.setattr(click, "echo_via_pager", paged.append)
    ended = run("sealant")
    assert len(paged) == pages
    assert ("\nVERDICTS\n" in ended.stdout) == (not pages)
    assert "\nPATHS\n" in ended.stdout
    run("format")
    assert len(paged) == 2 * pages


def test_the_help_tells_of_the_outline_and_of_every_subcommand() -> None:
    told = run("--help").stdout
    for word in ("ID", "new", "schema", "format", "try"):
        assert f"\n  {word} " in told


@pytest.mark.parametrize("name", ["ID", "new", "schema", "format", "try"])
def test_each_has_a_help_of_its_own(name: str) -> None:
    ended = run(name, "--help")
    assert ended.exit_code == 0
    assert f"tree {name}" in ended.stdout


def test_a_subcommand_is_imported_only_when_it_is_asked_for() -> None:
    context = click.Context(module.tree)
    assert set(module.LATER) >= {"new", "schema", "format", "try"}
    assert module.tree.get_command(context, "nothing") is None


def test_a_shell_completes_the_ids_of_trees_and_the_subcommands() -> None:
    context = click.Context(module.tree)
    assert [item.value for item in module.tree.shell_complete(context, "s")] == ["sealant", "schema"]
    assert "ID" not in [item.value for item in module.tree.shell_complete(context, "")]


def test_alone_it_says_where_the_files_lie() -> None:
    [said] = run().stderr.splitlines()
    assert str(installed_folder()) in said
    assert "throughwall tree new --help" in said


def test_the_trees_of_another_folder_are_not_listed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "mine.toml").touch()
    monkeypatch.chdir(tmp_path)
    assert "mine" not in run().stdout


# A tree to begin with

TEMPLATE = Path(module.__file__).parents[1] / "tree" / "new.toml"
WAYS = {
    "stop": {"signs": "signs"},
    "guarded": {"signs": "none", "height": 1500, "guard": "firm"},
    "not-guarded": {"signs": "none", "height": 1999, "guard": "none"},
    "not-settled": {"signs": "none", "height": "not-sure", "guard": "none"},
}


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_without_a_name_the_new_tree_is_printed() -> None:
    ended = run("new")
    assert (ended.exit_code, ended.stderr) == (0, "")
    assert ended.stdout == TEMPLATE.read_text(encoding="utf-8")


def test_no_line_of_the_new_tree_is_too_long_for_a_small_window() -> None:
    lines = TEMPLATE.read_text(encoding="utf-8").splitlines()
    assert [line for line in lines if len(line) >= 100] == []
    assert lines[0] == "#:schema ./tree.schema.json"


@pytest.mark.parametrize(
    ("name", "path"), [("my-flue", "my-flue.toml"), ("sub/guard.toml", "sub/guard.toml")]
)
def test_with_a_name_it_is_written_under_that_id_and_passes_every_proof(
    name: str, path: str, folder: Path
) -> None:
    (folder / "sub").mkdir()
    ended = run("new", name)
    assert (ended.exit_code, ended.stdout) == (0, "")
    assert f"throughwall check {path}" in ended.stderr
    assert f"throughwall tree try {path}" in ended.stderr
    tree = load(path)
    assert tree.id == Path(path).stem
    assert "my-tree" not in (folder / path).read_text(encoding="utf-8")
    proof = work_out(tree)
    assert [str(complaint) for complaint in proof.complaints] == []
    assert proof.proven


def test_the_file_can_be_read_by_others_as_far_as_the_system_lets_new_files_be(folder: Path) -> None:
    run("new", "my-flue")
    (folder / "like").touch()
    assert (folder / "my-flue.toml").stat().st_mode == (folder / "like").stat().st_mode


@pytest.mark.parametrize(("verdict", "answers"), WAYS.items())
def test_each_verdict_of_the_new_tree_can_be_given(
    verdict: str, answers: dict[str, object], folder: Path
) -> None:
    run("new", "my-flue")
    tree = load("my-flue.toml")
    lines = blank(tree)
    for key, value in answers.items():
        written = f'"{value}"' if isinstance(value, str) else value
        lines, found = re.subn(
            rf'^#? ?"{key}" = .*$', f'"{key}" = {written}', lines, count=1, flags=re.MULTILINE
        )
        assert found == 1
    (folder / "facts.toml").write_text(lines, encoding="utf-8")
    ended = CliRunner().invoke(command, ["judge", "--json", "facts.toml"], standalone_mode=False)
    told = json.loads(ended.stdout)
    assert told["verdict"]["id"] == verdict
    assert told["proven"] is True
    assert bool(told["put_right"]) == (verdict in ("not-guarded", "not-settled"))


def test_every_verdict_of_the_new_tree_is_tried() -> None:
    tree = load_text(TEMPLATE.read_text(encoding="utf-8"), "my-tree.toml")
    assert {verdict.id for verdict in tree.file.verdict} == set(WAYS)


def test_a_file_with_something_in_it_is_not_written_over(folder: Path) -> None:
    (folder / "my-flue.toml").write_text("mine", encoding="utf-8")
    ended = run("new", "my-flue")
    assert isinstance(ended.exception, Refused)
    assert ended.exception.message == "my-flue.toml is there already, and it is not empty"
    assert (folder / "my-flue.toml").read_text(encoding="utf-8") == "mine"


def test_an_empty_file_is_written_over(folder: Path) -> None:
    (folder / "my-flue.toml").touch()
    assert run("new", "my-flue").exit_code == 0
    assert load("my-flue.toml").id == "my-flue"


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("My Flue", "Write: throughwall tree new my-flue"),
        ("sub/My_Flue.toml", "Write: throughwall tree new sub/my-flue.toml"),
        ("3-joints", "Write: throughwall tree new joints"),
        ("ü", "Write: throughwall tree new my-flue"),
        ("", "Write: throughwall tree new my-flue"),
        (".toml", "Write: throughwall tree new my-flue"),
        ("my.flue", "Write: throughwall tree new my-flue"),
        ("end", "Choose another word."),
        ("joint", "Choose another name, such as my-joint."),
        ("nowhere/flue", "Make it first"),
        ("a" * 300, "Choose another name."),
    ],
)
def test_a_name_that_cannot_be_is_refused_with_what_to_write(name: str, says: str, folder: Path) -> None:
    ended = run("new", name)
    assert isinstance(ended.exception, Refused)
    assert says in ended.exception.hint
    assert list(folder.iterdir()) == []


# A copy to begin with


@pytest.mark.parametrize("name", ["depth", "joint", "sealant"])
def test_a_copy_of_an_installed_tree_differs_in_its_id_alone_and_passes(name: str, folder: Path) -> None:
    ended = run("new", "mine", "--from", name)
    assert (ended.exit_code, ended.stdout) == (0, "")
    assert "throughwall tree try mine.toml --watch " in ended.stderr
    assert f"throughwall compare {name} mine.toml " in ended.stderr
    text = (installed_folder() / f"{name}.toml").read_text(encoding="utf-8")
    copy = (folder / "mine.toml").read_text(encoding="utf-8")
    assert copy == "#:schema ./tree.schema.json\n" + text.replace(f'id = "{name}"', 'id = "mine"', 1)
    assert work_out(load("mine.toml")).proven


@pytest.mark.parametrize(
    ("head", "renamed"),
    [
        ("[tree]\nid = 'first' # 'first'\n", "[tree]\nid = \"mine\" # 'first'\n"),
        ('[tree]\n"id"="""first"""\n', '[tree]\n"id"="mine"\n'),
        ('#:schema x.json\n[tree]\nid = "first"\n', '#:schema x.json\n[tree]\nid = "mine"\n'),
    ],
)
def test_a_copy_of_a_file_keeps_all_else_as_it_is_written(head: str, renamed: str, folder: Path) -> None:
    rest = TEMPLATE.read_text(encoding="utf-8").partition('id = "my-tree"\n')[2]
    head, renamed = (part.replace("[tree]", "format = 1\n[tree]") for part in (head, renamed))
    (folder / "first.toml").write_text(head + rest, encoding="utf-8")
    assert run("new", "mine", "--from", "first.toml").exit_code == 0
    copy = (folder / "mine.toml").read_text(encoding="utf-8")
    assert copy.startswith("#:schema ")
    assert copy.endswith(renamed + rest)
    assert load("mine.toml").id == "mine"


def test_a_copy_without_a_name_is_printed_as_it_is(folder: Path) -> None:
    assert run("new", "--from", "joint").stdout == (installed_folder() / "joint.toml").read_text(
        encoding="utf-8"
    )
    assert list(folder.iterdir()) == []


def test_a_copy_is_refused_where_the_tree_is_not_there_or_what_it_visits_is_not(folder: Path) -> None:
    (folder / "there").mkdir()
    run("new", "there/my-joint.toml", "--from", "joint")
    text = (installed_folder() / "through-wall.toml").read_text(encoding="utf-8")
    (folder / "there" / "through-wall.toml").write_text(
        text.replace('tree = "joint"', 'tree = "my-joint"'), encoding="utf-8"
    )
    for arguments, says in (
        (["mine", "--from", "jiont"], 'there is no tree "jiont"'),
        (["joint", "--from", "joint"], 'there is an installed tree called "joint"'),
        (["mine", "--from", "there/through-wall.toml"], 'there is no tree "my-joint"'),
    ):
        ended = run("new", *arguments)
        assert isinstance(ended.exception, Refused)
        assert says in str(ended.exception)
    assert [path.name for path in folder.iterdir()] == ["there"]


# What an author reads


def test_the_schema_is_printed_as_it_is_shipped() -> None:
    ended = run("schema")
    assert (ended.exit_code, ended.stderr) == (0, "")
    assert ended.stdout == (TEMPLATE.parent / "tree.schema.json").read_text(encoding="utf-8")
    assert json.loads(ended.stdout)["$schema"] == "https://json-schema.org/draft/2020-12/schema"


def test_the_reference_is_printed_without_its_markers() -> None:
    ended = run("format")
    assert (ended.exit_code, ended.stderr) == (0, "")
    lines = ended.stdout.splitlines()
    assert lines[0] == "# How a tree is written"
    assert [line for line in lines if line.startswith("<!--")] == []
    assert "$ throughwall check condensate.toml" in lines
