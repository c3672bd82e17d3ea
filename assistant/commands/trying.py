"""`tree try`: hold the conversation on a tree that is being written."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from assistant.commands.shared import tree_named
from assistant.commands.talk import clock, hold, home_folder

if TYPE_CHECKING:
    from assistant.conversation.watch import Watch

__all__ = ["try_"]


@click.command("try", short_help="Try a tree while you write it.")
@click.argument("file", metavar="FILE")
@click.option(
    "--watch", is_flag=True, help="Read the tree again whenever it is saved, and go on with the answers."
)
@click.option("--plain", is_flag=True, help="Talk line by line.")
@click.option("--home", type=click.Path(path_type=Path, file_okay=False), help="Where `save` keeps a record.")
def try_(file: str, watch: bool, plain: bool, home: Path | None) -> int:
    """Try a tree while you write it: FILE is its path, or the id of an installed one.

    A tree that fails its proofs opens all the same; its verdicts say that it is unproven. Nothing is kept, unless you
    type `save`. With --watch a tree that cannot be read yet is waited for, and what is wrong with it is shown until it
    is mended.
    """
    from assistant.conversation.trying import Trying
    from assistant.session.store import Store

    watched = _watch(tree_named(file)) if watch and not Path(file).is_dir() else None
    trying = Trying(Store(home or home_folder()), clock, tree_named(file), watched)
    trying.start()
    return hold(trying, plain)


def _watch(name: str) -> Watch:
    from time import monotonic

    from assistant.conversation.watch import Watch, marks
    from assistant.tree.installed import installed_folder

    path = _file(name)
    return Watch(path, lambda: marks(path, installed_folder()), monotonic)


def _file(name: str) -> Path:
    """Where the tree lies, or would lie."""
    from assistant.tree.installed import ID, installed_folder

    if not ID.fullmatch(name):
        return Path(name)
    installed = installed_folder() / f"{name}.toml"
    return installed if installed.is_file() else Path(f"{name}.toml")
