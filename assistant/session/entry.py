"""One answer as a record keeps it: exact, with what was asked and said, so that it stands without its tree.

Invariant: an answer that is read from an entry means under today's tree what it meant when it was given. One that
could mean something else by now, as a bare number in another unit, is refused.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from typing import Any

from assistant.errors import Refused
from assistant.session.fact import UNSTATED, Fact
from assistant.session.session import admit
from assistant.tree.answers import Value, read_answer, say_answer
from assistant.tree.model import NOT_SURE, Question
from assistant.tree.tree import Tree

__all__ = ["read_entry", "write_entry"]


def write_entry(tree: Tree, key: str, fact: Fact, at: str | None = None) -> dict[str, Any]:
    """An answer as a table of a record; `at` is when it was given."""
    question = tree.ask(key).question
    entry: dict[str, Any] = {"question": key, "answer": _written(fact.value, question.unit)}
    entry["asked"] = question.ask
    entry["said"] = say_answer(question, fact.value)
    if fact.basis != UNSTATED:
        entry["basis"] = fact.basis
    if fact.note:
        entry["note"] = fact.note
    if fact.photos:
        entry["photos"] = list(fact.photos)
    if fact.typed:
        entry["typed"] = fact.typed
    if at:
        entry["at"] = at
    return entry


def read_entry(tree: Tree, row: Mapping[str, Any]) -> Fact:
    """The answer in a table of a record. Raises `Refused` where the tree cannot ask for it, or no longer takes it."""
    asked = tree.ask(row["question"])
    value = read_answer(asked.question, row["answer"])
    _same_meaning(asked.question, row)
    fact = Fact(
        value,
        row.get("basis", UNSTATED),
        row.get("note", ""),
        tuple(row.get("photos", ())),
        row.get("typed", ""),
    )
    admit(asked, fact)
    return fact


def _same_meaning(question: Question, row: Mapping[str, Any]) -> None:
    """Refuse a bare number that was given in another unit, and a picked answer where a note is wanted."""
    answer, said = row["answer"], str(row.get("said", ""))
    given = re.fullmatch(r"−?[\d.]+ ?(.*)", said)
    if isinstance(answer, int | Decimal) and given and given[1] != (question.unit or ""):
        now = f"in {question.unit}" if question.unit else "without a unit"
        raise Refused(f"it was given as {said}, and the question is now {now}", "Answer it again.")
    if question.kind == "note" and said and answer not in (said, NOT_SURE):
        raise Refused("it was picked from a list, and the question now takes a note", "Answer it again.")


def _written(value: Value, unit: str | None) -> Any:
    """A value as TOML, exactly: a whole number, a decimal, or where neither is exact a fraction with its unit."""
    if isinstance(value, tuple):
        return list(value)
    if isinstance(value, str):
        return value
    if value.denominator == 1:
        return int(value)
    decimal = Decimal(value.numerator) / Decimal(value.denominator)
    if Fraction(decimal) == value:
        return decimal
    return f"{value.numerator}/{value.denominator}" + (f" {unit}" if unit else "")
