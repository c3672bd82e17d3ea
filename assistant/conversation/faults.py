"""What is wrong with a file, as a front end shows it: the place, its line, a mark under the column, what to write.

Invariant: nothing here can make a terminal obey: lines of a file come through `pointed`, which makes them safe.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from assistant.errors import Refused

__all__ = ["Fault", "faults_of"]

MOST_BYTES = 16_000_000


@dataclass(frozen=True)
class Fault:
    """One mistake."""

    text: str
    """Where it is and what it is; the place first, as editors understand it."""
    line: str = ""
    """The line of the file, cut to fit; nothing where the mistake has no place."""
    caret: str = ""
    """Blanks and a caret, to stand under the line."""
    hint: str = ""


def faults_of(error: Refused) -> tuple[Fault, ...]:
    """Everything behind a refusal; a refusal that is not about the inside of a file is one fault without a line."""
    from assistant.tree.mistakes import Mistake, pointed

    mistakes: tuple[Mistake, ...] = getattr(error, "mistakes", ())
    texts: dict[str, str] = {}
    faults = []
    for mistake in mistakes:
        if mistake.file not in texts:
            texts[mistake.file] = _text(mistake.file)
        shown = pointed(texts[mistake.file], mistake.place) if mistake.place else []
        line, caret = (part[4:] for part in shown) if shown else ("", "")
        faults.append(Fault(f"{mistake.where}: {mistake.message}", line, caret, mistake.hint))
    if faults:
        return tuple(faults)
    text = f"{error.where}: {error.message}" if error.where else error.message
    return (Fault(f"{text[:1].upper()}{text[1:]}".rstrip(".") + ".", hint=error.hint),)


def _text(name: str) -> str:
    """A file as it is now, to show a line of it; nothing where it cannot be read."""
    from assistant.tree.installed import installed_folder

    path = Path(name)
    if path.name == name and not path.exists():
        path = installed_folder() / name
    try:
        with path.open("rb") as file:
            return file.read(MOST_BYTES).decode("utf-8-sig", "replace").replace("\r\n", "\n")
    except (OSError, ValueError):
        return ""
