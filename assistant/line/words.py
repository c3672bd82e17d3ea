"""How things read in lines: labels in words, answers by number, wrapped to a width.

Invariant: whatever goes in, what comes out holds no control codes: only printable characters and line breaks.
"""

from __future__ import annotations

import shutil
import textwrap
import unicodedata
from collections.abc import Sequence

from assistant.conversation import Fault, Prompt, Said, mistakes
from assistant.errors import Refused

__all__ = ["faults", "labelled", "message", "plain", "question", "refusal", "width"]

LEAST_WIDTH, MOST_WIDTH = 20, 100
"""Narrower than this cannot be read, wider than this is hard to."""

UNKNOWN_WIDTH = 80


def width() -> int:
    """Columns to wrap at: the terminal's, as it is now."""
    columns = shutil.get_terminal_size((UNKNOWN_WIDTH, 24)).columns
    return max(LEAST_WIDTH, min(columns, MOST_WIDTH))


def plain(text: str) -> str:
    """The text without what a terminal would obey or hide; any kind of space becomes a space."""
    kept = []
    for sign in text:
        if sign.isprintable():
            kept.append(sign)
        elif unicodedata.category(sign) == "Zs" or sign == "\t":
            kept.append(" ")
    return "".join(kept)


def wrapped(text: str, columns: int, first: str = "", rest: str = "") -> list[str]:
    """Lines of at most `columns`, long words left whole; paragraphs stay paragraphs, without blank lines."""
    lines: list[str] = []
    for paragraph in text.splitlines():
        words = plain(paragraph).strip()
        if words:
            lines += textwrap.wrap(
                words, columns, initial_indent=rest if lines else first, subsequent_indent=rest,
                break_long_words=False, break_on_hyphens=False,
            )  # fmt: skip
    return lines


def labelled(said: Sequence[Said], columns: int) -> list[str]:
    """Things said, each behind its label."""
    lines = []
    for one in said:
        label = plain(one.label)
        lines += wrapped(f"{label}: {one.text}" if label else one.text, columns, rest="  ")
    return lines


def refusal(error: Refused, columns: int) -> list[str]:
    """Why something was not taken, and what to write instead."""
    told = mistakes(error)
    if told:
        first = wrapped("Not taken: The file cannot be used as it is.", columns, rest="  ")
        return first + [line for one in told for line in wrapped(one, columns, rest="  ")]
    sentences = " ".join(sentence(part) for part in (error.message, error.hint) if part)
    return wrapped(f"Not taken: {sentences}", columns, rest="  ")


def faults(found: Sequence[Fault], columns: int) -> list[str]:
    """What is wrong with a tree, each fault with its line and a mark under the column."""
    lines = []
    for fault in found:
        lines += wrapped(f"Fault: {fault.text}", columns, rest="  ")
        if fault.caret:
            lines += [f"    {plain(fault.line)}", f"    {fault.caret}"]
        lines += wrapped(fault.hint, columns, "  ", "  ")
    return lines


def sentence(text: str) -> str:
    """The text with a capital and a full stop."""
    text = text.strip()
    return text[:1].upper() + text[1:] + ("" if text.endswith((".", "?", "!")) else ".")


def question(prompt: Prompt, columns: int) -> list[str]:
    """A question with its number, what it is about, and its answers by number."""
    lines = []
    head = " · ".join(filter(None, (f"Question {prompt.number}" if prompt.number else "", *prompt.about)))
    if head:
        lines += wrapped(head, columns)
    lines += wrapped(prompt.ask, columns)
    for choice in prompt.choices:
        mark = " (your answer before)" if choice.offered else ""
        lines += wrapped(f"{choice.says}{mark}", columns, f"{choice.number:>3}  ", "     ")
    if prompt.offered:
        lines += wrapped(f"Before, you said: {prompt.offered}. Enter alone keeps that.", columns)
    if prompt.same_as:
        lines += wrapped(f'Type "same" to take over what you said of {prompt.same_as}.', columns)
    return lines


def message(prompt: Prompt, asked_before: bool) -> str:
    """The line to type behind: what may be typed, or once that was said, how to hear the question again."""
    if asked_before:
        return 'Answer ("again" repeats the question): '
    if prompt.key == "confirm":
        return "Answer (yes or no): "
    slash = "/" if prompt.kind == "note" else ""
    words = ["unsure"] if prompt.can_be_unsure else []
    words += ["help", "quit"] if prompt.key == "job" else ["why", "how", "help"]
    others = ", ".join(f'"{slash}{word}"' for word in words)
    return f"Answer ({prompt.expects}; {others}): "
