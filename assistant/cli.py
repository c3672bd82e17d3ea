"""The command `throughwall`: a thin door to the conversation, to `judge`, `facts` and `calc`.

Invariant: the result goes to stdout and everything else to stderr; nothing is imported that the command asked for
does not need.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from assistant import __version__
from assistant.errors import Exit, Refused

if TYPE_CHECKING:
    from assistant.session.facts import FactsFile
    from assistant.session.putright import Remedy
    from assistant.tree.mistakes import Mistake
    from assistant.tree.tree import Tree

__all__ = ["main"]

EPILOG = (
    "Carbon monoxide kills without smell. Work on gas appliances and flues is for a registered gas engineer. The law, "
    "the maker's instructions and the code in force where the building stands come first."
)


def main() -> None:
    """Run the command; whatever was refused is told on stderr, with exit status 2."""
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")  # looking for some costs a fifth of `judge`
    try:
        status = command.main(prog_name="throughwall", standalone_mode=False)
    except click.exceptions.Exit as done:
        status = done.exit_code
    except click.Abort:
        status = 130
    except click.ClickException as error:
        error.show()
        status = Exit.REFUSED
    except Refused as error:
        _tell(error)
        status = Exit.REFUSED
    except BrokenPipeError:
        sys.stderr.close()  # whoever read the output has had enough of it
        status = 141
    sys.exit(int(status or 0))


@click.group(
    invoke_without_command=True,
    epilog=EPILOG,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)
@click.version_option(__version__, prog_name="throughwall")
@click.option(
    "--plain", is_flag=True, help="Talk line by line: for dumb terminals, slow links, screen readers, logs."
)
@click.option("--home", type=click.Path(path_type=Path, file_okay=False), help="Keep records in this folder.")
@click.option(
    "--tree", "tree", metavar="TREE", help="Begin with this tree: the id of an installed one, or a path."
)
@click.option(
    "--open", "record", type=click.Path(path_type=Path), metavar="RECORD", help="Go on with this record."
)
@click.option(
    "--unproven", is_flag=True, help="Use a tree that has not passed its proofs; its verdicts say so."
)
@click.option("--place", default="", metavar="TEXT", help="What you call this job; it goes into the record.")
@click.pass_context
def command(
    context: click.Context,
    plain: bool,
    home: Path | None,
    tree: str | None,
    record: Path | None,
    unproven: bool,
    place: str,
) -> int | None:
    """Is this flue sound, weatherproof and secure? One question at a time, to a reasoned verdict.

    Without a command, the conversation opens.
    """
    if context.invoked_subcommand is not None:
        return None
    return _talk(plain, home, tree, record, unproven, place)


def _talk(
    plain: bool, home: Path | None, tree: str | None, record: Path | None, unproven: bool, place: str
) -> int:
    from datetime import datetime

    from assistant.conversation import Conversation
    from assistant.session.store import Store

    if tree is not None:
        _tree_named(tree)
    conversation = Conversation(
        Store(home or _home()), lambda: datetime.now().astimezone().isoformat(timespec="seconds")
    )
    conversation.place = place
    said = []
    if record is not None:
        said = conversation.open(record)
    elif tree is not None:
        said = conversation.begin(*_proven(tree, unproven))
    conversation.opening = said
    terminal = (
        sys.stdin.isatty() and sys.stdout.isatty() and os.environ.get("TERM", "dumb") not in ("dumb", "")
    )
    if plain or not terminal:
        from assistant import line

        return line.run(conversation)
    from assistant import screens

    return screens.run(conversation)


def _home() -> Path:
    import platformdirs

    return Path(platformdirs.user_data_dir("throughwall", appauthor=False))


def _tree_named(name: str) -> str:
    """The name of a tree as given. Raises `Refused` where nothing is given, which may be an unset variable."""
    if not name.strip():
        raise Refused(
            "the name of the tree is empty",
            "Write the id of an installed tree, such as through-wall, or the path of a file.",
        )
    return name


def _proven(name: str, unproven: bool) -> tuple[Tree, bool]:
    from assistant.tree.load import load

    return _checked(load(name), unproven)


def _checked(tree: Tree, unproven: bool) -> tuple[Tree, bool]:
    """The tree and whether it passed its proofs. Raises `Refused` where it breaks one and was not asked for so."""
    from assistant.session.prove import prove
    from assistant.tree.mistakes import Unreadable

    proof = prove(tree)
    if not proof.complaints or unproven:
        return tree, proof.proven
    error = Unreadable(proof.complaints)
    error.hint = f"{error.hint} With --unproven it is used all the same, and every verdict says so.".strip()
    raise error


@command.command()
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="FACTS.toml…")
@click.option(
    "--tree", "tree", metavar="TREE", help="The tree, where the files do not name it: an id or a path."
)
@click.option("--json", "as_json", is_flag=True, help="One line of JSON a file.")
@click.option(
    "--unproven", is_flag=True, help="Use a tree that has not passed its proofs; the verdict says so."
)
def judge(files: tuple[Path, ...], tree: str | None, as_json: bool, unproven: bool) -> int:
    """The verdict on each facts file, without any dialogue.

    Exit status: 2 if any file was refused, else 3 if any lacks answers, else 1 if any verdict is other than
    acceptable, else 0.
    """
    if tree is not None:
        _tree_named(tree)
    trees: dict[tuple[str, Path], Tree] = {}
    proofs: dict[str, bool] = {}
    told: set[tuple[Mistake, ...]] = set()
    statuses = []
    for path in files:
        try:
            outcome = _judge_one(path, tree, as_json, unproven, trees, proofs, heading=len(files) > 1)
        except Refused as error:
            statuses.append(Exit.REFUSED)
            if as_json:
                _print_json(_refused(str(path), error))
            else:
                _tell_once(error, path, told)
            continue
        statuses.append(_status(outcome))
    return next(
        (s for s in (Exit.REFUSED, Exit.UNFINISHED, Exit.OTHER_VERDICT) if s in statuses), Exit.ACCEPTABLE
    )


def _status(outcome: str | None) -> Exit:
    if outcome is None:
        return Exit.UNFINISHED
    return Exit.ACCEPTABLE if outcome == "acceptable" else Exit.OTHER_VERDICT


def _judge_one(
    path: Path, tree: str | None, as_json: bool, unproven: bool, trees: dict[tuple[str, Path], Tree],
    proofs: dict[str, bool], heading: bool,
) -> str | None:  # fmt: skip
    from assistant.session.facts import read_facts
    from assistant.session.judge import judge as judge_session
    from assistant.session.session import Session

    read: FactsFile = read_facts(path, tree, trees)
    if read.tree.digest not in proofs:
        proofs[read.tree.digest] = _checked(read.tree, unproven)[1]
    session = Session(read.tree, read.facts, proven=proofs[read.tree.digest])
    judgement = judge_session(session)
    remedies: Sequence[Remedy] = ()
    if judgement.outcome not in (None, "acceptable"):
        from assistant.session.putright import put_right

        remedies = put_right(session)
    if as_json:
        from assistant.render.data import judgement_data

        _print_json(judgement_data(judgement, str(path), remedies))
    else:
        from datetime import date

        from assistant.render.text import verdict_text

        click.echo(
            (f"== {path}\n\n" if heading else "")
            + verdict_text(judgement, remedies, date.today().isoformat())
        )
    return judgement.outcome


@command.group()
def facts() -> None:
    """Facts files: what `judge` reads."""


@facts.command("new")
@click.argument("tree", metavar="TREE")
def facts_new(tree: str) -> None:
    """A blank facts file for TREE, every key quoted and explained, on stdout."""
    from assistant.session.facts import blank
    from assistant.tree.load import load

    click.echo(blank(load(_tree_named(tree))), nl=False)


@command.command()
@click.argument("name", required=False)
@click.argument("values", nargs=-1, metavar="k=v…")
@click.option(
    "--from",
    "file",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="A file with the tables of a list, such as [[joints]].",
)
@click.option("--json", "as_json", is_flag=True, help="One line of JSON.")
def calc(name: str | None, values: tuple[str, ...], file: Path | None, as_json: bool) -> int:
    """One working of the trade: inputs with units (hole_mm=5in), the sum shown.

    Without a NAME, the workings there are; with a NAME alone, what it takes (with --json, an error that says so).
    """
    from assistant.workings import calc as typed
    from assistant.workings import registry

    if name is None:
        if as_json:
            _print_json({"workings": {each: registry.find(each).title for each in registry.names()}})
            return Exit.ACCEPTABLE
        for each in registry.names():
            click.echo(f"{each:<16} {registry.find(each).title}")
        return Exit.ACCEPTABLE
    try:
        working = registry.find(name)
        if not values and file is None and not as_json:
            click.echo(_usage(working))
            return Exit.ACCEPTABLE
        assignments = _assignments(values)
        items = _items(file, working) if file is not None else None
        given = typed.given_of(name, assignments, items)
        figures = working.work(given)
    except Refused as error:
        if as_json:
            _print_json({"error": {"message": error.message, "where": error.where, "hint": error.hint}})
            return Exit.REFUSED
        raise
    if as_json:
        from assistant.render.data import plain

        sources = [source.id for source in working.sources]
        _print_json(
            {
                "name": name,
                "inputs": plain(given),
                "results": plain(figures.results),
                "source": sources,
                "shown": figures.shown,
            }
        )
        return Exit.ACCEPTABLE
    click.echo(figures.shown)
    words = {"published": "", "common-practice": " (common practice)", "memory": " (from memory)"}
    for source in working.sources:
        click.echo(f"Source: {source.title}{words[source.standing]}")
    if working.leaves_out:
        click.echo(f"Leaves out: {working.leaves_out}")
    return Exit.ACCEPTABLE


def _assignments(values: tuple[str, ...]) -> dict[str, str]:
    assignments: dict[str, str] = {}
    for value in values:
        key, equals, text = value.partition("=")
        if not equals or not key.strip():
            raise Refused(
                f'"{value}" is not an input', 'Write name=value, such as hole_mm=127 or "hole_mm=5 in".'
            )
        if key.strip() in assignments:
            raise Refused(f'"{key.strip()}" is given twice', "Give it once.")
        assignments[key.strip()] = text
    return assignments


def _items(file: Path, working: Any) -> list[Mapping[str, object]]:
    from assistant.tree import toml

    document = toml.read(file, lists=())
    names = [each.name for each in working.inputs if each.kind == "items"]
    if not names:
        raise Refused(f"{working.name} takes no list of tables", "Leave --from out.")
    for key in document.data:
        if key not in names:
            place = document.place((key,), key=True)
            raise Refused(
                f"`{key}` does not belong in this file",
                f"It holds [[{names[0]}]] tables; give the rest as {key}=value.",
                f"{file}:{place}",
            )
    rows = document.data.get(names[0])
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise Refused(
            f"the file has no [[{names[0]}]] tables",
            f"Write one [[{names[0]}]] for each, from the appliance.",
            str(file),
        )
    return rows


def _usage(working: Any) -> str:
    lines = [f"{working.name}: {working.title}", ""]
    for each in working.inputs:
        need = "" if each.required else "  [unknown if left out]"
        kind = f" ({', '.join(each.choices)})" if each.choices else ""
        lines.append(f"  {each.name:<18} {each.means}{kind}{need}")
    lines.append("")
    lines += [f"  → {each.name:<16} {each.means}" for each in working.results]
    return "\n".join(lines)


def _refused(file: str, error: Refused) -> dict[str, Any]:
    from assistant.render.data import refused_data

    return refused_data(file, error)


def _print_json(data: Mapping[str, Any]) -> None:
    import json

    click.echo(json.dumps(data, ensure_ascii=False, allow_nan=False))


def _tell_once(error: Refused, path: Path, told: set[tuple[Mistake, ...]]) -> None:
    """A refusal of one file of several; the mistakes of a tree that many of them name are told for the first."""
    mistakes: tuple[Mistake, ...] = getattr(error, "mistakes", ())
    if mistakes and mistakes in told:
        click.echo(f"{path}: refused for the mistakes in {mistakes[0].file} told above", err=True)
        return
    told.add(mistakes)
    _tell(error, str(path))


def _tell(error: Refused, file: str = "") -> None:
    """A refusal on stderr: every mistake, each with its place and what to write instead."""
    mistakes = getattr(error, "mistakes", ())
    if mistakes:
        click.echo("\n\n".join(str(mistake) for mistake in mistakes), err=True)
        besides = error.hint.removeprefix(mistakes[0].hint).strip()
        if besides:
            click.echo(f"\n{besides}", err=True)
        return
    click.echo(f"{file}: {error}" if file else str(error), err=True)
