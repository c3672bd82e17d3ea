"""`facts`: facts files, which `judge` reads."""

from __future__ import annotations

import click

from assistant.commands.shared import tree_named

__all__ = ["facts"]


@click.group()
def facts() -> None:
    """Facts files: what `judge` reads."""


@facts.command("new")
@click.argument("tree", metavar="TREE")
def facts_new(tree: str) -> None:
    """A blank facts file for TREE, every key quoted and explained, on stdout."""
    from assistant.session.facts import blank
    from assistant.tree.load import load

    click.echo(blank(load(tree_named(tree))), nl=False)
