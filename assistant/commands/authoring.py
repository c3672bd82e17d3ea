"""`tree new`, `tree schema` and `tree format`: what an author of trees needs, on stdout or in a new file."""

from __future__ import annotations

import click

from assistant.errors import Exit, Refused

__all__ = ["format_", "new", "schema"]


@click.command()
@click.argument("name", required=False)
def new(name: str | None) -> int:
    """Start a tree: a small one that passes `throughwall check`, every table explained.

    With a NAME such as my-flue it is written to my-flue.toml; without one it is printed.
    """
    raise Refused("there is no tree to start from yet")


@click.command()
def schema() -> int:
    """The JSON Schema of the tree format, by which an editor underlines slips and offers keys."""
    raise Refused("there is no schema yet")


@click.command("format")
def format_() -> int:
    """How a tree is written: a first tree in ten minutes, then every table and key."""
    from assistant.tree.installed import installed_folder

    click.echo((installed_folder() / "FORMAT.md").read_text(encoding="utf-8"), nl=False)
    return Exit.ACCEPTABLE
