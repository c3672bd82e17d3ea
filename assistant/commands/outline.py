"""`tree ID`: the outline of a tree, as text or as a drawing."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import click

from assistant.commands.shared import busy, on_terminal, seen_from, tree_named
from assistant.errors import Refused

__all__ = ["FORMS", "cover", "numbered", "shown"]

FORMS = ("text", "mermaid", "dot", "svg")
"""What an outline can be written as; the first is meant where nothing is said."""
COLUMNS = 80
"""Columns of an outline that goes to a file or a pipe."""
MOST_COLUMNS = 100
"""Columns that an outline fills at most: longer lines are hard to read."""


def shown(name: str, as_: str) -> Iterator[str]:
    """The outline of the tree called `name` (an id or a path) in one of `FORMS`, piece by piece, ready to print.

    In words the numbers follow the steps; they can take some seconds.
    """
    from assistant.tree.load import load

    if as_ == "svg" and on_terminal():
        import shlex

        file = shlex.quote(f"{Path(name).stem or 'tree'}.svg")
        raise Refused(
            "a drawing is for a browser or a printer, not for the terminal",
            f"Write it to a file: throughwall tree {shlex.quote(name)} --as svg > {file}",
        )
    tree = load(tree_named(name))
    if as_ != FORMS[0]:
        from assistant.tree.picture import drawn, paper_for

        picture = drawn(tree, as_)
        yield picture
        if as_ == "svg":
            click.echo(paper_for(picture), err=True)
        return
    from assistant.render.outline import outline

    yield outline(tree, _columns())
    busy("Counting the paths…")
    from assistant.render.numbers import numbers_text
    from assistant.session.numbers import numbers

    yield "\n" + numbers_text(tree, numbers(tree), _columns())


def numbered(name: str) -> dict[str, object]:
    """The numbers of a tree as data."""
    from assistant.render.numbers import numbers_data
    from assistant.session.numbers import numbers
    from assistant.tree.load import load

    tree = load(tree_named(name))
    busy("Counting the paths…")
    return numbers_data(tree, numbers(tree))


def cover(name: str, folder: Path) -> list[Path]:
    """Write the consultations that cover a tree into a folder, each as a facts file."""
    from assistant.session.files import write_new
    from assistant.session.numbers import numbers
    from assistant.session.witness import witness
    from assistant.tree.load import load

    tree = load(tree_named(name))
    written = []
    busy("Looking for the fewest consultations…")
    consultations = numbers(tree).cover.consultations
    for number, answers in enumerate(consultations, 1):
        path = folder / f"{tree.id}-{number:0{len(str(len(consultations)))}}.toml"
        says = f"Consultation {number} of {len(consultations)} that cover {tree.id}."
        write_new(path, seen_from(folder, witness(tree, answers, says)).encode())
        written.append(path)
    return written


def _columns() -> int:
    if not on_terminal():
        return COLUMNS
    return min(shutil.get_terminal_size((COLUMNS, 24)).columns, MOST_COLUMNS)
