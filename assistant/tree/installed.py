"""Where the installed trees lie, and what they are called: light, for the first question."""

from __future__ import annotations

import re
import tomllib
from itertools import islice
from pathlib import Path

__all__ = ["ID", "ids_in", "installed_folder", "installed_ids", "installed_titles"]

ID = re.compile(r"[a-z][a-z0-9-]*")
"""What an id looks like."""


def installed_folder() -> Path:
    """Where the installed trees lie: inside the package, or beside it in a checkout."""
    package = Path(__file__).resolve().parent.parent
    inside = package / "trees"
    return inside if inside.is_dir() else package.parent / "trees"


def installed_ids() -> list[str]:
    """The ids of the installed trees, sorted."""
    return ids_in(installed_folder())


def ids_in(folder: Path) -> list[str]:
    """The ids of the trees in a folder, as far as file names tell."""
    return sorted(path.stem for path in islice(folder.glob("*.toml"), 1000) if ID.fullmatch(path.stem))


def installed_titles() -> dict[str, str]:
    """What each installed tree calls itself, by its id; nothing but its own table [tree] is read."""
    return {name: _title(installed_folder() / f"{name}.toml") or name for name in installed_ids()}


def _title(path: Path) -> str | None:
    table = re.search(
        r"^\[tree\]$.*?(?=^\[|\Z)", path.read_text(encoding="utf-8"), flags=re.MULTILINE | re.DOTALL
    )
    try:
        title = tomllib.loads(table.group())["tree"]["title"] if table else None
    except (tomllib.TOMLDecodeError, KeyError):
        return None
    return title if isinstance(title, str) else None
