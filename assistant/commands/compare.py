"""`compare`: what a change to a tree does to its verdicts."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from assistant.commands.shared import busy, look, print_json, seen_from, tree_named
from assistant.errors import Exit

if TYPE_CHECKING:
    from assistant.session.compared import Compared
    from assistant.tree.tree import Tree

__all__ = ["compare"]


@click.command(short_help="Two editions of a tree: every kind of case whose verdict changed.")
@click.argument("old", metavar="OLD")
@click.argument("new", metavar="NEW")
@click.option("--json", "as_json", is_flag=True, help="One JSON document.")
@click.option(
    "--witnesses", type=click.Path(path_type=Path, file_okay=False), metavar="DIR",
    help="Write the answers that show each change into DIR, as facts files for `judge`: one for each edition.",
)  # fmt: skip
def compare(old: str, new: str, as_json: bool, witnesses: Path | None) -> int:
    """Every kind of case whose verdict differs between two editions of a tree, with answers that show it.

    OLD and NEW are ids of installed trees or paths of files. "No difference" is proved over every path.

    Exit status: 0 if there is no difference, 1 if there is one, 2 if a tree could not be used.
    """
    from assistant.render.compared import compared_data, compared_text
    from assistant.session.compared import compared
    from assistant.tree.load import load

    before, after = load(tree_named(old)), load(tree_named(new))
    busy("Comparing…")
    found = compared(before, after)
    if witnesses is not None:
        _write(witnesses, before, after, found)
    if as_json:
        print_json(compared_data(before, after, found))
    else:
        width, _ = look()
        click.echo(compared_text(before, after, found, min(width or 80, 100)), nl=False)
    return Exit.OTHER_VERDICT if found.shown or found.doubtful else Exit.ACCEPTABLE


def _write(folder: Path, old: Tree, new: Tree, found: Compared) -> None:
    """Two facts files for each change, numbered as they are told."""
    from assistant.render.compared import by_weight
    from assistant.session.files import write_new
    from assistant.session.witness import witness

    for number, one in enumerate(by_weight(old, new, found), 1):
        for word, tree, verdict in (("old", old, one.change.old), ("new", new, one.change.new)):
            known = {key: value for key, value in (one.answers or {}).items() if tree.has_key(key)}
            says = f"In the {word} edition these answers come to: {verdict or 'no verdict'}."
            write_new(
                folder / f"{number}-{word}.toml", seen_from(folder, witness(tree, known, says)).encode()
            )
