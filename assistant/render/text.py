"""A judgement as plain text, 78 columns, for a terminal, a log or a pipe."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING

from assistant.render.verdict import Section, sections, tree_name
from assistant.session.judge import Judgement

if TYPE_CHECKING:
    from assistant.session.putright import Remedy

__all__ = ["as_text", "verdict_text"]

WIDTH = 78


def verdict_text(
    judgement: Judgement, remedies: Sequence[Remedy] = (), today: str = "", width: int = WIDTH
) -> str:
    """Everything a judgement tells, section by section, under the tree's name."""
    head = tree_name(judgement.session.tree)
    return f"{head}\n\n{as_text(sections(judgement, remedies, today), width)}"


def as_text(told: Sequence[Section], width: int = WIDTH) -> str:
    """Sections as plain text: a heading, then each item with its mark first and what is below it indented."""
    parts = []
    for section in told:
        lines = [section.title.upper() + (f": {section.mark}" if section.mark else "")]
        for item in section.items:
            mark = f"[{item.mark}] " if item.mark else ""
            lines += _wrapped(f"{mark}{item.text}", width, "  ", "  - " if not mark else "  ")
            for below in item.below:
                lines += _wrapped(below, width, "      ", "      ")
        parts.append("\n".join(lines))
    return "\n\n".join(parts) + "\n"


def _wrapped(text: str, width: int, indent: str, first: str) -> list[str]:
    lines: list[str] = []
    for paragraph in text.split("\n"):
        rest = indent if first.strip() == "" else " " * len(first)
        lines += textwrap.wrap(
            paragraph, width, initial_indent=first if not lines else rest, subsequent_indent=rest,
            break_long_words=False, break_on_hyphens=False,
        ) or [""]  # fmt: skip
    return lines
