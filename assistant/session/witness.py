"""Facts files that show something: whole, ready to be judged."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from assistant.tree.answers import Value
from assistant.tree.mistakes import safely
from assistant.tree.tree import Tree

__all__ = ["facts_lines", "witness"]


def witness(tree: Tree, facts: Mapping[str, Value], says: str) -> str:
    """A facts file with these answers, and a first line that says what it shows."""
    lines = [
        f"# {safely(says, 400)}",
        f"tree = {_text(tree.id if tree.installed else tree.document.name)}",
        "",
        "[facts]",
    ]
    lines += facts_lines(facts)
    return "\n".join(lines) + "\n"


def facts_lines(facts: Mapping[str, Value]) -> list[str]:
    """Answers as a facts file has them, a line each."""
    return [f"{_text(key)} = {_value(value)}" for key, value in facts.items()]


def _value(value: Value) -> str:
    if isinstance(value, tuple):
        return "[" + ", ".join(_text(one) for one in value) + "]"
    if isinstance(value, str):
        return _text(value)
    return _number(value)


def _number(value: Fraction) -> str:
    """A number as TOML has it; a fraction that no decimal equals in words that are read back exactly."""
    if value.denominator == 1:
        return str(value.numerator)
    rest, digits = value.denominator, 0
    while rest % 10 == 0 or rest % 2 == 0 or rest % 5 == 0:
        rest //= 10 if rest % 10 == 0 else 2 if rest % 2 == 0 else 5
        digits += 1
    if rest != 1:
        return f'"{value.numerator}/{value.denominator}"'
    scaled = value * 10**digits
    whole = str(abs(scaled.numerator // scaled.denominator)).rjust(digits + 1, "0")
    number = f"{whole[:-digits]}.{whole[-digits:]}".rstrip("0")
    return f"-{number}" if value < 0 else number


def _text(text: str) -> str:
    """A TOML text."""
    import json

    return json.dumps(text, ensure_ascii=False)
