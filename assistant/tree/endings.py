"""Endings that editors add to a file's name unasked."""

from __future__ import annotations

from pathlib import Path

from assistant.tree.mistakes import safely

__all__ = ["added_ending", "with_ending"]

ENDINGS = (".txt", ".rtf", ".text", ".doc", ".docx", ".odt", ".md", ".html")


def added_ending(path: Path) -> str:
    """The ending after .toml that some editor has added; empty where there is none."""
    last = path.suffix.casefold()
    return path.suffix if last in ENDINGS and path.stem.casefold().endswith(".toml") else ""


def with_ending(path: Path) -> str:
    """What to do where a file is not there and one with an ending of an editor's is; empty where none is."""
    stems = [path.name, *([path.stem] if path.suffix == ".toml" else [])]
    for name in [f"{stem}{ending}" for stem in stems for ending in ENDINGS]:
        try:
            if path.with_name(name).is_file():
                return f"There is {safely(name, 200)}: your editor has added the ending. Rename it to {safely(path.name, 200)}."
        except (OSError, ValueError):
            return ""
    return ""
