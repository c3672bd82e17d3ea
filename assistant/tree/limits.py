"""What a TOML file of ours may hold, kept apart from the walk that explains a breach, so that reading stays light."""

from __future__ import annotations

__all__ = ["MOST_DECIMAL_DIGITS", "MOST_DIGITS", "MOST_EXPONENT", "TREE_LISTS"]

MOST_DIGITS = 18
"""Digits of a whole number."""
MOST_DECIMAL_DIGITS = 30
"""Digits of a decimal, before and after its point."""
MOST_EXPONENT = 30

TREE_LISTS: frozenset[tuple[str, ...]] = frozenset(
    {
        ("verdict",),
        ("moved",),
        ("question", "*", "answer"),
        ("question", "*", "band"),
        ("recall", "*", "answer"),
        ("recall", "*", "band"),
        ("working", "*", "band"),
    }
)
"""The tables of a tree that come several at a time, each opened with double brackets; `*` is any id."""
