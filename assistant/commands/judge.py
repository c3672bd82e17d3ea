"""`judge`: the verdict on facts files, without any dialogue."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from assistant.commands.shared import checked, print_json, tell_once, tree_named
from assistant.errors import Exit, Refused

if TYPE_CHECKING:
    from assistant.session.facts import FactsFile
    from assistant.session.putright import Remedy
    from assistant.tree.mistakes import Mistake
    from assistant.tree.tree import Tree

__all__ = ["judge"]


@click.command()
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
        tree_named(tree)
    trees: dict[tuple[str, Path], Tree] = {}
    proofs: dict[str, bool] = {}
    told: set[tuple[Mistake, ...]] = set()
    remarked: set[str] = set()
    statuses = []
    for path in files:
        try:
            outcome = _judge_one(
                path, tree, as_json, unproven, trees, proofs, remarked, heading=len(files) > 1
            )
        except Refused as error:
            statuses.append(Exit.REFUSED)
            if as_json:
                from assistant.render.data import refused_data

                print_json(refused_data(str(path), error))
            else:
                tell_once(error, path, told)
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
    proofs: dict[str, bool], remarked: set[str], heading: bool,
) -> str | None:  # fmt: skip
    from datetime import date

    from assistant.session.facts import read_facts
    from assistant.session.judge import judge as judge_session
    from assistant.session.session import Session

    read: FactsFile = read_facts(path, tree, trees)
    if read.tree.digest not in proofs:
        proofs[read.tree.digest] = checked(read.tree, unproven)[1]
    session = Session(read.tree, read.facts, proven=proofs[read.tree.digest])
    judgement = judge_session(session)
    remedies: Sequence[Remedy] = ()
    if judgement.outcome not in (None, "acceptable"):
        from assistant.session.putright import put_right

        remedies = put_right(session)
    today = date.today().isoformat()
    if as_json:
        from assistant.render.data import judgement_data
        from assistant.session.provenance import remarks

        fresh = [one.text for one in remarks(read.tree, today) if one.text not in remarked]
        remarked.update(fresh)
        for text in fresh:
            click.echo(text, err=True)
        print_json(judgement_data(judgement, str(path), remedies))
    else:
        from assistant.render.text import verdict_text

        click.echo((f"== {path}\n\n" if heading else "") + verdict_text(judgement, remedies, today))
    return judgement.outcome
