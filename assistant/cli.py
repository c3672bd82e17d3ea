"""The command `throughwall`: a thin door to the conversation and to the commands beside it.

Invariant: the result goes to stdout and everything else to stderr; nothing is imported that the command asked for
does not need.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path

import click

from assistant import __version__
from assistant.commands.calc import calc
from assistant.commands.check import check
from assistant.commands.compare import compare
from assistant.commands.facts import facts
from assistant.commands.judge import judge
from assistant.commands.shared import tell
from assistant.commands.talk import talk
from assistant.commands.tree import tree
from assistant.errors import Exit, Refused

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
        tell(error)
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
    return talk(plain, home, tree, record, unproven, place)


for each in (judge, facts, calc, check, tree, compare):
    command.add_command(each)
