"""`tree`: look at a tree, and write one of your own.

Invariant: nothing that a subcommand needs is imported before it is asked for, since every command passes here.
"""

from __future__ import annotations

from importlib import import_module
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

import click

from assistant.commands.outline import FORMS, cover, numbered, shown
from assistant.commands.shared import paged, print_json
from assistant.errors import Exit

if TYPE_CHECKING:
    from click.shell_completion import CompletionItem

__all__ = ["tree"]

OUTLINE = "ID"
"""The command that shows a tree; no tree can be called so, and in the help it stands for the id."""

LATER = {
    "new": ("assistant.commands.authoring", "new"),
    "schema": ("assistant.commands.authoring", "schema"),
    "format": ("assistant.commands.authoring", "format_"),
    "try": ("assistant.commands.trying", "try_"),
}
"""The other subcommands, each with the module it lives in and its name there."""


class TreeGroup(click.Group):
    """A group whose first word may also be a tree: whatever is no subcommand is shown."""

    def list_commands(self, context: click.Context) -> list[str]:
        """The outline, then the subcommands in the order an author meets them."""
        return [OUTLINE, *(name for name, (module, _) in LATER.items() if find_spec(module) is not None)]

    def get_command(self, context: click.Context, name: str) -> click.Command | None:
        """A subcommand by its name, imported now."""
        if name == OUTLINE:
            return outline
        if name not in self.list_commands(context):
            return None
        module, attribute = LATER[name]
        found: click.Command = getattr(import_module(module), attribute)
        return found

    def parse_args(self, context: click.Context, args: list[str]) -> list[str]:
        """As for any group, once a tree or an option of the outline in front has been given its command."""
        if args and args[0] not in (*context.help_option_names, *self.list_commands(context)):
            args = [OUTLINE, *args]
        return super().parse_args(context, args)

    def shell_complete(self, context: click.Context, incomplete: str) -> list[CompletionItem]:
        """The installed trees, then the subcommands; the outline has no name of its own to type."""
        from click.shell_completion import CompletionItem

        from assistant.tree.installed import installed_ids

        trees = [CompletionItem(name) for name in installed_ids() if name.startswith(incomplete)]
        return trees + [item for item in super().shell_complete(context, incomplete) if item.value != OUTLINE]


@click.group(cls=TreeGroup, invoke_without_command=True, subcommand_metavar="ID | COMMAND [ARGS]…")
@click.pass_context
def tree(context: click.Context) -> int | None:
    """Look at a tree, or write one of your own.

    With the ID of an installed tree, or the path of a file: its outline. Alone: the installed trees. A tree that is
    called like one of the commands below is shown by its path, such as ./new.toml.
    """
    if context.invoked_subcommand is not None:
        return None
    from assistant.tree.installed import installed_folder, installed_titles

    titles = installed_titles()
    width = max(map(len, titles), default=0)
    for name, title in titles.items():
        click.echo(f"{name:<{width}}  {title}")
    click.echo(
        f"Their files lie in {installed_folder()}; to change one, see: throughwall tree new --help", err=True
    )
    return Exit.ACCEPTABLE


@click.command(OUTLINE, options_metavar="[--as FORM | --json | --cover DIR]")
@click.argument("name", metavar="")
@click.option(
    "--as",
    "as_",
    type=click.Choice(FORMS),
    default=FORMS[0],
    show_default=True,
    help="Words, or a drawing for the program named. An svg opens in a browser: write it to a file, as in "
    "--as svg > joint.svg; then you are told which paper suits.",
)
@click.option("--json", "as_json", is_flag=True, help="The numbers alone, as one JSON document.")
@click.option(
    "--cover",
    "folder",
    type=click.Path(path_type=Path, file_okay=False),
    metavar="DIR",
    help="Write consultations that together give every answer into DIR, as facts files.",
)
def outline(name: str, as_: str, as_json: bool, folder: Path | None) -> int:
    """The outline of a tree: every step, where each answer leads, and what can be counted.

    The numbers: paths by verdict, the questions that every path asks, answers that change nothing, and the smallest
    set of consultations that covers every answer and both sides of every limit.
    """
    if folder is not None:
        for path in cover(name, folder):
            click.echo(path)
    elif as_json:
        print_json(numbered(name))
    else:
        show = paged if as_ == FORMS[0] else _plainly
        for piece in shown(name, as_):
            show(piece.rstrip("\n") + "\n")
            show = _plainly  # the numbers stay on the screen
    return Exit.ACCEPTABLE


def _plainly(text: str) -> None:
    click.echo(text, nl=False)
