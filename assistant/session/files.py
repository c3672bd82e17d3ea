"""Writing a file so that a crash at any moment leaves the old one or the new one, never half of one."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from assistant.errors import Refused

__all__ = ["write_atomically", "write_new"]


def write_atomically(path: Path, content: bytes) -> None:
    """Put `content` at `path`: temporary file in the same folder, flush, fsync, replace, fsync the folder.

    The folder, and every one above it that is not there yet, is made for its owner alone. Raises `Refused` where it cannot be written.
    """
    try:
        _make(path.parent)
        handle, temporary = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
            os.replace(temporary, path)
        except BaseException:
            Path(temporary).unlink(missing_ok=True)
            raise
        _settle(path.parent)
    except OSError as error:
        raise Refused(
            f"{path} cannot be written: {error.strerror or error}", "Choose another folder with --home."
        ) from error


def write_new(path: Path, content: bytes) -> None:
    """Put `content` at `path`, which must not be there yet. Raises `Refused`; nothing is overwritten."""
    if path.exists():
        raise Refused(f"{path} is there already", "Name another file, or move that one away.")
    write_atomically(path, content)


def _make(folder: Path) -> None:
    """Make a folder and those above it; with `parents` alone, those above would be open to everyone."""
    missing = []
    for above in (folder, *folder.parents):
        if above.exists():
            break
        missing.append(above)
    for above in reversed(missing):
        above.mkdir(mode=0o700, exist_ok=True)


def _settle(folder: Path) -> None:
    """Make the folder's entry last: without it a power cut can undo the replace."""
    if not hasattr(os, "O_DIRECTORY"):
        return
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
