"""`tree new`, `tree schema` and `tree format`: what an author of trees needs, on stdout or in a new file."""

from __future__ import annotations

import os
import re
from pathlib import Path

import click

from assistant.commands.shared import look, paged, tree_named
from assistant.errors import Exit, Refused

__all__ = ["format_", "new", "schema"]

PACKAGE = Path(__file__).resolve().parent.parent
TEMPLATE_ID = 'id = "my-tree"'


@click.command(short_help="Start a tree that passes `throughwall check`.")
@click.argument("name", required=False)
@click.option(
    "--from",
    "source",
    metavar="TREE",
    help="Start as a copy of a tree: the id of an installed one, or a path.",
)
def new(name: str | None, source: str | None) -> int:
    """Start a tree: a small one that passes `throughwall check`, every table explained.

    NAME is its id, such as my-flue, or the path of its file. With NAME it is written to my-flue.toml; without, it is
    printed. With --from it is a copy of that tree, under the new id.
    """
    if source is not None:
        tree_named(source)
    template = (PACKAGE / "tree" / "new.toml").read_text(encoding="utf-8")
    if name is None:
        click.echo(template if source is None else _text_of(source), nl=False)
        return Exit.ACCEPTABLE
    path = _path(name)
    if source is None:
        text = template.replace("my-tree", path.stem)
    else:
        from assistant.tree.copied import copied

        text = copied(source, path)
    _write(path, text.encode())
    here = _quoted(path)
    steps = {
        f"throughwall check {here}": "says what is wrong with it",
        f"throughwall tree try {here} --watch": "tries it in a talk while you write",
        "throughwall tree format": "explains every table and key",
    }
    if source is not None:
        steps[f"throughwall compare {_quoted(Path(source))} {here}"] = "says which verdicts have changed"
    width = max(map(len, steps))
    click.echo(f"{path} is written. Open it in an editor and make it your own. Then:", err=True)
    for typed, does in steps.items():
        click.echo(f"  {typed:<{width}}  {does}", err=True)
    return Exit.ACCEPTABLE


def _text_of(source: str) -> str:
    """The text of a tree as it stands."""
    from assistant.tree.load import load

    return load(source).document.text


def _path(name: str) -> Path:
    """Where the tree is to be written. Raises `Refused` where its name cannot be an id."""
    from assistant.tree.installed import ID, installed_ids
    from assistant.tree.mistakes import safely
    from assistant.tree.model import RESERVED

    path = Path(name if name.endswith(".toml") else f"{name}.toml")
    if not ID.fullmatch(path.stem):
        words = re.sub(r"[^a-z0-9]+", "-", path.stem.removesuffix(".toml").casefold()).strip("-0123456789")
        better = words if ID.fullmatch(words) and words not in RESERVED else "my-flue"
        raise Refused(
            f'"{safely(path.stem, 60)}" cannot be the id of a tree',
            "An id is lower-case letters, digits and dashes, and begins with a letter. "
            f"Write: throughwall tree new {_quoted(path.with_name(better)) if path.parent != Path() else better}"
            + (".toml" if path.parent != Path() else ""),
        )
    if path.stem in RESERVED:
        raise Refused(
            f'"{path.stem}" means something in every tree and cannot be the id of one',
            "Choose another word.",
        )
    if path.stem in installed_ids():
        raise Refused(
            f'there is an installed tree called "{path.stem}", and the two would be taken for each other',
            f"Choose another name, such as my-{path.stem}.",
        )
    return path


def _write(path: Path, content: bytes) -> None:
    """Put the tree at `path`, where nothing stands yet. Raises `Refused`; nothing is overwritten."""
    from assistant.session.files import write_atomically

    try:
        if path.is_dir() or (path.exists() and path.stat().st_size):
            raise Refused(
                f"{path} is there already, and it is not empty",
                "Name another file, or move that one away. Without a name the tree is printed.",
            )
        if not path.parent.is_dir():
            raise Refused(
                f"there is no folder {path.parent}", "Make it first, or write the path of one that is there."
            )
        mode = path.stat().st_mode & 0o777 if path.exists() else 0o666 & ~_umask()
    except OSError as error:
        raise Refused(f"{path} cannot be written: {error.strerror}", "Choose another name.") from error
    try:
        write_atomically(path, content)
    except Refused as error:
        raise Refused(error.message, "Write the path of a file in another folder.") from error
    path.chmod(mode)  # a record is its owner's alone, a tree is for others to read too


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def _quoted(path: Path) -> str:
    """A path as it is typed in a shell."""
    import shlex

    return shlex.quote(str(path))


@click.command(short_help="The schema by which an editor helps with a tree.")
def schema() -> int:
    """The JSON Schema of the tree format: by it an editor underlines slips, offers keys and explains them.

    Write it beside your trees with: throughwall tree schema > tree.schema.json
    """
    click.echo((PACKAGE / "tree" / "tree.schema.json").read_text(encoding="utf-8"), nl=False)
    return Exit.ACCEPTABLE


@click.command("format", short_help="How a tree is written: a first one in ten minutes, then every key.")
def format_() -> int:
    """How a tree is written: a first one in ten minutes, then every table and key.

    On a terminal it is shown page by page, by the program that PAGER names: with less, the space bar turns the page, a
    slash and a word look for the word, and q leaves.
    """
    from assistant.tree.installed import installed_folder

    text = (installed_folder() / "FORMAT.md").read_text(encoding="utf-8")
    text = re.sub(r"^<!-- .*? -->\n", "", text, flags=re.MULTILINE)
    width, _ = look()
    if width is not None:
        from assistant.render.page import fitted

        text = fitted(text, width)
    paged(text)
    return Exit.ACCEPTABLE
