"""`check`: is a tree rightly written, and does it hold what it must on every path?

Invariant: one tree that is wrong never keeps another from being looked at.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from assistant.commands.shared import look, print_json, seen_from, tell, texts_of, tree_named
from assistant.errors import Exit, Refused

if TYPE_CHECKING:
    from assistant.tree.mistakes import Mistake
    from assistant.tree.tree import Tree

__all__ = ["check"]

STDIN = "<stdin>"
UNREAD = frozenset({"no-file", "folder", "not-a-file", "not-allowed", "unreadable", "too-big", "not-text"})
"""Codes of a file that could not be had at all."""


@dataclass
class Checked:
    """What came of one tree."""

    name: str
    id: str | None = None
    digest: str | None = None
    proven: bool = False
    complaints: Sequence[Mistake] = ()
    remarks: Sequence[Mistake] = ()
    error: Refused | None = None
    """Why it could not be read at all."""
    texts: dict[str, str] = field(default_factory=dict)

    @property
    def status(self) -> Exit:
        """How the command would end if this were the only tree."""
        if self.error is not None:
            return Exit.REFUSED
        return Exit.OTHER_VERDICT if self.complaints else Exit.ACCEPTABLE


@click.command(short_help="Prove the trees: all that is wrong, with its line and what to write.")
@click.argument("trees", nargs=-1, metavar="[TREE]…")
@click.option("--json", "as_json", is_flag=True, help="One JSON document, with nothing left out.")
@click.option(
    "--witnesses", type=click.Path(path_type=Path, file_okay=False), metavar="DIR",
    help="Write the answers that show a fault into DIR, each as a facts file for `judge`.",
)  # fmt: skip
@click.option(
    "--explain", "code", metavar="CODE", help="What a code such as no-way-on means, and what to do."
)
def check(trees: tuple[str, ...], as_json: bool, witnesses: Path | None, code: str | None) -> int:
    """Everything that is wrong with each TREE, with its line, its code and what to write instead.

    TREE is the id of an installed tree, the path of a file, or - for what is piped in. Without one, every installed
    tree is looked at.

    Exit status: 0 if all passed, 1 if anything is wrong, 2 if a file could not be read at all.
    """
    if code is not None:
        from assistant.render.complaints import explained

        click.echo(explained(code, look()[0]))
        return Exit.ACCEPTABLE
    if not trees:
        from assistant.tree.installed import installed_ids

        trees = tuple(installed_ids())
    done = []
    told = set[object]()
    written = _Written(witnesses) if witnesses is not None else None
    for name in dict.fromkeys(trees):
        one = _checked(tree_named(name))
        done.append(one)
        if written is not None:
            written.add(one)
        if not as_json:
            _tell(one, told, written.shows if written is not None else {})
    if as_json:
        print_json({"format": 1, "trees": [_data(one) for one in done]})
    else:
        _sum_up(done)
    return max(one.status for one in done)


def _checked(name: str) -> Checked:
    """Load a tree and prove it; whatever is wrong is kept."""
    from assistant.session.prove import work_out
    from assistant.tree.mistakes import Unreadable

    one = Checked(_shown(name))
    try:
        tree = _load(name, one)
        one.name, one.id, one.digest = tree.document.name, tree.id, tree.digest
        one.texts |= {part.document.name: part.document.text for part in tree.family()}
        proof = work_out(tree)
        one.complaints, one.proven = _sorted(proof.complaints), proof.proven and not proof.complaints
        one.remarks = _sorted([*getattr(proof, "remarks", ()), *_past_review(tree)])
    except Unreadable as error:
        first = error.mistakes[0]
        if len(error.mistakes) == 1 and first.place is None and first.code in UNREAD:
            one.error = error
        one.complaints = _sorted(error.mistakes)
    except Refused as error:
        one.error = error
    return one


def _past_review(tree: Tree) -> Iterator[Mistake]:
    """A remark for the tree, and each that it visits, whose review is overdue today."""
    from datetime import date

    from assistant.tree.mistakes import Mistake

    month = date.today().isoformat()[:7]
    for part in tree.family():
        due = part.file.tree.review_by
        if due is not None and due < month:
            place = part.document.place(("tree", "review-by"))
            message = (
                f"this tree was to be looked through by {due}, and every verdict of it says that this is due."
            )
            hint = "Look it through against its sources, and write a later month here."
            yield Mistake(part.document.name, place, "past-review", message, hint)


def _shown(name: str) -> str:
    """The file of a tree as its mistakes name it."""
    from assistant.tree.installed import ID

    if name == "-":
        return STDIN
    return f"{name}.toml" if ID.fullmatch(name) else str(Path(name))


def _load(name: str, one: Checked) -> Tree:
    from assistant.tree.load import MOST_BYTES, load, load_bytes

    if name != "-":
        return load(name)
    content = sys.stdin.buffer.read(MOST_BYTES + 1)
    one.texts[STDIN] = content.decode("utf-8", "replace").removeprefix("\ufeff").replace("\r\n", "\n")
    return load_bytes(content, STDIN)


def _sorted(mistakes: Sequence[Mistake]) -> list[Mistake]:
    return sorted(mistakes, key=lambda one: (one.file, one.place or (0, 0), one.code))


def _tell(one: Checked, told: set[object], shows: dict[Mistake, str]) -> None:
    """The faults and remarks of one tree, save those of a visited tree that were told before."""
    from assistant.render.complaints import complaints_text

    if one.error is not None:
        tell(one.error)
        return
    width, paint = look()
    for mistakes, remark in ((one.complaints, False), (one.remarks, True)):
        new = [mistake for mistake in mistakes if mistake not in told]
        told.update(new)
        if new:
            click.echo(complaints_text(new, texts_of(one.texts), width, paint, shows, remark) + "\n")


def _sum_up(done: Sequence[Checked]) -> None:
    """One line a tree, and where the codes are explained."""
    from assistant.render.complaints import ended
    from assistant.tree.mistakes import safely

    for one in done:
        if one.error is not None:
            click.echo(f"{safely(one.name, 400)}: could not be read")
        else:
            click.echo(ended(one.name, one.complaints, one.remarks, one.id is not None, one.proven))
    codes = [mistake.code for one in done for mistake in one.complaints if one.error is None]
    if codes:
        click.echo(f"What a code means: throughwall check --explain {codes[0]}", err=True)


def _data(one: Checked) -> dict[str, Any]:
    from assistant.render.complaints import complaint_data

    error = one.error
    return {
        "id": one.id,
        "file": one.name,
        "digest": one.digest,
        "proven": one.proven,
        "complaints": [complaint_data(mistake) for mistake in one.complaints],
        "remarks": [complaint_data(mistake) for mistake in one.remarks],
        "error": None
        if error is None
        else {"message": error.message, "where": error.where, "hint": error.hint},
    }


class _Written:
    """Witnesses written into a folder, each under its code and a number, none over another."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.shows: dict[Mistake, str] = {}
        """For a complaint, the command that shows it."""

    def add(self, one: Checked) -> None:
        """Write the witnesses of one tree."""
        import shlex

        for mistake in one.complaints:
            if mistake.witness and mistake not in self.shows:
                path = self.write(mistake.code, seen_from(self.folder, mistake.witness).encode())
                unproven = " --unproven" if one.complaints else ""
                self.shows[mistake] = f"throughwall judge{unproven} {shlex.quote(str(path))}"

    def write(self, code: str, content: bytes) -> Path:
        """Write one witness under the first number that is free, or give the file that holds it already."""
        from itertools import count

        from assistant.session.files import write_new

        for number in count(1):
            path = self.folder / f"{code}-{number}.toml"
            if path.exists():
                if path.is_file() and path.stat().st_size == len(content) and path.read_bytes() == content:
                    return path
                continue
            try:
                write_new(path, content)
            except Refused as error:
                raise Refused(error.message, "Name another folder with --witnesses.") from error
            return path
        raise AssertionError
