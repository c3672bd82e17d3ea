"""What several commands need: a tree by name with its proofs, and how a refusal is told.

Invariant: the result goes to stdout and everything else to stderr.
"""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from assistant.errors import Refused

if TYPE_CHECKING:
    from assistant.render.complaints import Paint, Texts
    from assistant.tree.mistakes import Mistake
    from assistant.tree.tree import Tree

__all__ = [
    "busy",
    "checked",
    "look",
    "on_terminal",
    "paged",
    "print_json",
    "proven",
    "seen_from",
    "tell",
    "tell_once",
    "texts_of",
    "tree_named",
]  # fmt: skip

MOST_COLUMNS = 100
"""Columns that a message fills at most: longer lines are hard to read."""
COLOURS: dict[str, dict[str, Any]] = {
    "place": {"bold": True}, "code": {"fg": "red", "bold": True}, "caret": {"fg": "red", "bold": True},
    "help": {"bold": True},
}  # fmt: skip


def tree_named(name: str) -> str:
    """The name of a tree as given. Raises `Refused` where nothing is given, which may be an unset variable."""
    if not name.strip():
        raise Refused(
            "the name of the tree is empty",
            "Write the id of an installed tree, such as through-wall, or the path of a file.",
        )
    return name


def proven(name: str, unproven: bool) -> tuple[Tree, bool]:
    """A tree by id or path, and whether it passed its proofs. Raises `Refused` as `checked` does."""
    from assistant.tree.load import load

    return checked(load(name), unproven)


def checked(tree: Tree, unproven: bool) -> tuple[Tree, bool]:
    """The tree and whether it passed its proofs. Raises `Refused` where it breaks one and was not asked for so."""
    from assistant.session.prove import prove
    from assistant.tree.mistakes import Unreadable

    proof = prove(tree)
    if not proof.complaints or unproven:
        return tree, proof.proven
    error = Unreadable(proof.complaints)
    error.hint = f"{error.hint} With --unproven it is used all the same, and every verdict says so.".strip()
    raise error


def print_json(data: Mapping[str, Any]) -> None:
    """One line of JSON on stdout."""
    import json

    click.echo(json.dumps(data, ensure_ascii=False, allow_nan=False))


def on_terminal(err: bool = False) -> bool:
    """Whether the result, or what is said beside it, is read on a terminal."""
    return (sys.stderr if err else sys.stdout).isatty()


def paged(text: str) -> None:
    """A result that is a long read: page by page where it is taller than the terminal, as `PAGER` says."""
    import shutil

    if on_terminal() and text.count("\n") >= shutil.get_terminal_size().lines:
        click.echo_via_pager(text)
    else:
        click.echo(text, nl=False)


def busy(words: str) -> None:
    """Say on a terminal what takes a while; in a pipe or a file nothing."""
    if on_terminal(err=True):
        click.echo(words, err=True)


def look(err: bool = False) -> tuple[int | None, Paint]:
    """How wide the stream is, None where it is no terminal, and how it is coloured, if at all."""
    import shutil

    from assistant.render.complaints import plainly

    stream = sys.stderr if err else sys.stdout
    if not stream.isatty():
        return None, plainly
    width = min(shutil.get_terminal_size().columns, MOST_COLUMNS)
    if os.environ.get("NO_COLOR") or os.environ.get("TERM") == "dumb":
        return width, plainly
    return width, lambda role, text: click.style(text, **COLOURS[role])


def texts_of(known: Mapping[str, str]) -> Texts:
    """The texts of files by the name that a mistake gives them: those `known`, then those on the disk."""
    from functools import cache

    from assistant.tree.load import text_of

    return cache(lambda file: known[file] if file in known else text_of(file))


def tell_once(error: Refused, path: Path, told: set[tuple[Mistake, ...]]) -> None:
    """A refusal of one file of several; the mistakes of a tree that many of them name are told for the first."""
    mistakes: tuple[Mistake, ...] = getattr(error, "mistakes", ())
    if mistakes and mistakes in told:
        click.echo(f"{path}: refused for the faults in {mistakes[0].file} told above", err=True)
        return
    told.add(mistakes)
    tell(error, str(path))


def tell(error: Refused, file: str = "") -> None:
    """A refusal on stderr: every mistake, each with its place and what to write instead."""
    mistakes: tuple[Mistake, ...] = getattr(error, "mistakes", ())
    if mistakes:
        from assistant.render.complaints import complaint_text

        width, paint = look(err=True)
        told = (complaint_text(mistake, texts_of({}), width, paint, coded=False) for mistake in mistakes)
        click.echo("\n\n".join(told), err=True)
        besides = error.hint.removeprefix(mistakes[0].hint).strip()
        if besides:
            click.echo(f"\n{besides}", err=True)
        return
    click.echo(f"{file}: {error}" if file else str(error), err=True)


def seen_from(folder: Path, witness: str) -> str:
    """A witness whose tree, where it is named by a path, is named as seen from `folder`."""

    def seen(match: re.Match[str]) -> str:
        path = Path(match[1])
        if path.is_absolute() or not path.is_file():
            return match[0]
        return f'tree = "{Path(os.path.relpath(path.resolve(), folder.resolve())).as_posix()}"'

    return re.sub(r'^tree = "([^"\\]*\.toml)"', seen, witness, count=1, flags=re.MULTILINE)
