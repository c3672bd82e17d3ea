"""What is wrong with a file, as a front end shows it: the place, its line, a mark under the column, what to write.

Invariant: nothing here can make a terminal obey: lines of a file come through `pointed`, which makes them safe.
"""

from __future__ import annotations

from dataclasses import dataclass

from assistant.errors import Refused

__all__ = ["Fault", "faults_of"]


@dataclass(frozen=True)
class Fault:
    """One fault."""

    text: str
    """Where it is and what it is; the place first, as editors understand it."""
    line: str = ""
    """The line of the file, cut to fit; nothing where the fault has no place."""
    caret: str = ""
    """Blanks and a caret, to stand under the line."""
    hint: str = ""


def faults_of(error: Refused) -> tuple[Fault, ...]:
    """Everything behind a refusal; a refusal that is not about the inside of a file is one fault without a line."""
    from assistant.tree.load import text_of
    from assistant.tree.mistakes import Mistake, pointed

    mistakes: tuple[Mistake, ...] = getattr(error, "mistakes", ())
    texts: dict[str, str] = {}
    faults = []
    for mistake in mistakes:
        if mistake.file not in texts:
            texts[mistake.file] = text_of(mistake.file) or ""
        shown = pointed(texts[mistake.file], mistake.place) if mistake.place else []
        line, caret = (part[4:] for part in shown) if shown else ("", "")
        faults.append(Fault(f"{mistake.where}: {mistake.message}", line, caret, mistake.hint))
    if faults:
        return tuple(faults)
    text = f"{error.where}: {error.message}" if error.where else error.message
    return (Fault(f"{text[:1].upper()}{text[1:]}".rstrip(".") + ".", hint=error.hint),)
