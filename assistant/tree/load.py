"""From a name or a path to a tree ready to run, or every mistake that hinders it.

Invariant: a tree that is returned has passed the whole of loading, and so has every tree it visits. Nothing is
read but the file asked for, trees beside it, and the installed ones.
"""

from __future__ import annotations

from collections.abc import Collection
from itertools import pairwise
from pathlib import Path

from assistant.errors import Refused
from assistant.tree import toml
from assistant.tree.installed import ID, ids_in, installed_folder, installed_ids
from assistant.tree.mistakes import Label, Mistake, Unreadable, nearest, safely
from assistant.tree.model import TreeFile
from assistant.tree.refer import references
from assistant.tree.shape import shaped
from assistant.tree.slips import labelled
from assistant.tree.tree import Tree

__all__ = ["installed_folder", "installed_ids", "load", "load_bytes", "load_text", "text_of"]

MOST_BYTES = 16_000_000
"""The largest tree file that is read."""

MOST_DEPTH = 8
"""How deep visits may nest."""


def load(name: str, beside: Path | None = None) -> Tree:
    """Load a tree by the id of an installed one, or by the path of a file.

    `beside` is the folder that a path is taken from, and where an id that is not installed is looked for; without
    it, the current one. Raises `Unreadable` with every mistake, or `Refused` where there is no such tree.
    """
    return _Loader().load(_found(name, beside), name)


def load_text(text: str, name: str, beside: Path | None = None) -> Tree:
    """Load a tree from a text, as if it lay in the folder `beside` under the name `name`."""
    return _Loader().build(toml.parse(text, name), beside, installed=False, chain=())


def load_bytes(content: bytes, name: str, beside: Path | None = None) -> Tree:
    """Load a tree from the bytes of a file that need not lie anywhere, such as what is piped in."""
    if len(content) > MOST_BYTES:
        raise Refused(f"{name} is larger than {MOST_BYTES:,} bytes; no tree is")
    return _Loader().build(toml.parse_bytes(content, name), beside or Path(), installed=False, chain=())


def text_of(name: str) -> str | None:
    """The text of a file as a mistake names it, to show its lines; None where it cannot be had."""
    for path in (Path(name), installed_folder() / name):
        try:
            if path.is_file() and path.stat().st_size <= MOST_BYTES:
                content = path.read_bytes()
                return content.decode("utf-8", "replace").removeprefix("\ufeff").replace("\r\n", "\n")
        except (OSError, ValueError):
            continue
    return None


def _found(name: str, beside: Path | None) -> Path:
    folder = beside or Path()
    if ID.fullmatch(name):
        for place in (installed_folder(), folder):
            if _is_file(place / f"{name}.toml"):
                return place / f"{name}.toml"
        near = nearest(name, installed_ids())
        hint = f'Did you mean "{near}"? ' if near else ""
        from assistant.tree.endings import with_ending

        renamed = with_ending(folder / f"{name}.toml")
        if renamed:
            raise Refused(f'there is no tree "{safely(name, 60)}"', renamed)
        raise Refused(
            f'there is no tree "{safely(name, 60)}"',
            f"{hint}Installed trees: {', '.join(installed_ids())}. For a file of your own write its path, "
            f"such as ./{safely(name, 60)}.toml.",
        )
    return Path(name) if not _is_file(folder / name) and _is_file(Path(name)) else folder / name


def _is_file(path: Path) -> bool:
    """Whether a file is there; a name that no file can have is none."""
    try:
        return path.is_file()
    except OSError:
        return False


class _Loader:
    """One load: a tree visited from several places is read once."""

    def __init__(self) -> None:
        self.done: dict[Path, Tree] = {}
        self.visits: dict[tuple[str, str], tuple[toml.Document, tuple[str, str, str]]] = {}
        """Where one tree names another that is being loaded."""

    def load(self, path: Path, shown: str | None = None, chain: tuple[str, ...] = ()) -> Tree:
        real = path.resolve()
        if real not in self.done:
            installed = real.parent == installed_folder().resolve()
            name = real.name if installed and shown == real.stem else str(path)
            document = toml.read(path, name, most_bytes=MOST_BYTES)
            self.done[real] = self.build(
                document, path.parent, installed, (*chain, real.stem), stem=real.stem
            )
        return self.done[real]

    def build(
        self,
        document: toml.Document,
        beside: Path | None,
        installed: bool,
        chain: tuple[str, ...],
        stem: str | None = None,
    ) -> Tree:
        file, mistakes, broken = shaped(document)
        if mistakes:
            from assistant.tree.otherwise import other_file

            other = other_file(document.data, document.name, "tree")
            if other is not None:
                raise _all([other])
        if file is None:
            raise _all(mistakes)
        if stem is not None and file.tree.id != stem:
            mistakes += _misnamed(file.tree.id, stem, document)
        parts, missing = self._parts(file, document, beside, chain or (file.tree.id,), broken)
        mistakes += missing
        mistakes += references(file, document, parts, broken)
        if mistakes:
            raise _all(mistakes)
        return Tree(
            file, document, installed, {name: part for name, part in parts.items() if part is not None}
        )

    def _parts(
        self,
        file: TreeFile,
        document: toml.Document,
        beside: Path | None,
        chain: tuple[str, ...],
        broken: Collection[tuple[str | int, ...]],
    ) -> tuple[dict[str, Tree | None], list[Mistake]]:
        """The trees visited from here by id (None: it cannot be had, said among the mistakes)."""
        parts: dict[str, Tree | None] = {}
        mistakes: list[Mistake] = []
        visits = [("visit", name, visit.tree) for name, visit in file.visit.items()]
        visits += [("each", name, each.tree) for name, each in file.each.items()]
        for kind, name, wanted in visits:
            if wanted in parts or (kind, name) in broken:
                continue
            parts[wanted] = None
            self.visits[chain[-1], wanted] = document, (kind, name, "tree")

            def slip(
                code: str,
                message: str,
                hint: str,
                also: tuple[Label, ...] = (),
                at: tuple[str, str] = (kind, name),
            ) -> None:
                place = document.place((*at, "tree"))
                mistakes.append(Mistake(document.name, place, code, message, hint, also))

            if not ID.fullmatch(wanted):
                slip(
                    "bad-id",
                    f'"{wanted}" is not the id of a tree.',
                    "Write the id alone, without a path or ending.",
                )
            elif wanted in chain:
                round_ = " → ".join((*chain[chain.index(wanted) :], wanted))
                slip(
                    "visits-itself",
                    f"trees visit each other in a circle: {round_}.",
                    "Take one of these visits out.",
                    self._circle((*chain[chain.index(wanted) :], wanted), document),
                )
            elif len(chain) >= MOST_DEPTH:
                slip(
                    "visits-too-deep",
                    f"visits nest more than {MOST_DEPTH} deep here.",
                    "Join some of these trees into one.",
                )
            else:
                path = self._beside(wanted, beside)
                if path is None:
                    others = [*(ids_in(beside) if beside else ()), *installed_ids()]
                    near = nearest(wanted, [one for one in others if one != wanted])
                    hint = f'Did you mean "{near}"?' if near else f"Put {wanted}.toml beside this file."
                    from assistant.tree.endings import with_ending

                    hint = (beside and with_ending(beside / f"{wanted}.toml")) or hint
                    slip(
                        "unknown-tree",
                        f'there is no tree "{wanted}", neither beside this one nor installed.',
                        hint,
                    )
                    continue
                try:
                    parts[wanted] = self.load(path, wanted, chain)
                except Unreadable as error:
                    mistakes.extend(m for m in error.mistakes if m not in mistakes)
        return parts, mistakes

    def _circle(self, members: tuple[str, ...], document: toml.Document) -> tuple[Label, ...]:
        """The visits that close a circle, but for the last, at which it is told."""
        known = [(pair, self.visits[pair]) for pair in pairwise(members[:-1]) if pair in self.visits]
        return tuple(
            labelled(where, path, f"{one} visits {other} here", key=False, other=where is not document)
            for (one, other), (where, path) in known
        )

    @staticmethod
    def _beside(name: str, beside: Path | None) -> Path | None:
        folders = [beside] if beside is not None else []
        return next(
            (
                folder / f"{name}.toml"
                for folder in [*folders, installed_folder()]
                if _is_file(folder / f"{name}.toml") and _lies_in(folder / f"{name}.toml", folder)
            ),
            None,
        )


def _lies_in(path: Path, folder: Path) -> bool:
    """Whether a file really lies in a folder, or among the installed trees, and is no link to somewhere else."""
    return path.resolve().parent in (folder.resolve(), installed_folder().resolve())


def _misnamed(wanted: str, stem: str, document: toml.Document) -> list[Mistake]:
    """What is wrong with a file's name, which differs from the id of its tree."""
    from assistant.tree.endings import added_ending

    ending = added_ending(Path(document.name))
    if ending:
        message = f"Your editor has added {ending} to the file's name."
        hint = f"Rename it to {safely(Path(document.name).name.removesuffix(ending), 200)}."
        return [Mistake(document.name, None, "added-ending", message, hint)]
    if not ID.fullmatch(wanted):
        return []
    message = f'this tree calls itself "{wanted}", but its file is called "{stem}.toml".'
    hint = f'Name the file "{wanted}.toml"' + (f', or write `id = "{stem}"`.' if ID.fullmatch(stem) else ".")
    return [Mistake(document.name, document.place(("tree", "id")), "file-name", message, hint)]


def _all(mistakes: list[Mistake]) -> Unreadable:
    return Unreadable(sorted(mistakes, key=lambda m: (m.file, m.place or toml.Place(0, 0), m.code)))
