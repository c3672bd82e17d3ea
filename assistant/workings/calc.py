"""A working run on what a person typed: every value is text, with or without its unit.

"5 in" for `hole_mm` is 127 mm exactly; a bare number is in the unit of the input. Unlike a tree, a person
is told about every key that a working does not know.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from assistant.errors import Refused
from assistant.workings.registry import NOT_SURE, Figures, Input, find
from assistant.workings.units import to_unit
from assistant.workings.working import raise_all, unknown_names

__all__ = ["given_of", "run_text"]


def run_text(
    name: str, assignments: Mapping[str, str], items: Sequence[Mapping[str, object]] | None = None
) -> Figures:
    """Run the working `name` on typed values; `items` are the tables of its list, such as `[[joints]]`.

    Values in a table may be text with a unit or numbers already read. Raises `Refused`, every complaint at
    once.
    """
    return find(name).work(given_of(name, assignments, items))


def given_of(
    name: str, assignments: Mapping[str, str], items: Sequence[Mapping[str, object]] | None = None
) -> dict[str, object]:
    """The typed values as the working takes them: numbers exact, in the unit of their input."""
    working = find(name)
    complaints = list(unknown_names(assignments, working.inputs, name))
    given: dict[str, object] = {}
    lists = [each for each in working.inputs if each.kind == "items"]
    for wanted in working.inputs:
        value = assignments.get(wanted.name)
        if value is None:
            continue
        if wanted.kind == "items":
            hint = f"write them as [[{wanted.name}]] tables in a file"
            complaints.append(Refused("a list cannot be typed as one value", hint, wanted.name))
            continue
        _read_into(given, wanted, value, wanted.name, complaints)
    if items is not None and not lists:
        complaints.append(Refused("it takes no list of tables", "leave the tables out", name))
    elif items is not None:
        given[lists[0].name] = [
            _table(item, lists[0], f"{lists[0].name}.{n}", complaints) for n, item in enumerate(items, 1)
        ]
    raise_all(complaints)
    return given


def _table(
    item: Mapping[str, object], wanted: Input, where: str, complaints: list[Refused]
) -> dict[str, object]:
    """One table of a list with its values read; what cannot be read joins `complaints`."""
    complaints.extend(unknown_names(item, wanted.keys, where))
    table: dict[str, object] = {}
    for key in wanted.keys:
        if key.name in item:
            _read_into(table, key, item[key.name], f"{where}.{key.name}", complaints)
    return table


def _read_into(
    table: dict[str, object], wanted: Input, value: object, where: str, complaints: list[Refused]
) -> None:
    """Read one value into `table` under its name; text becomes a number where the input is one."""
    if isinstance(value, str) and wanted.kind in ("number", "count") and value.strip() != NOT_SURE:
        try:
            table[wanted.name] = to_unit(value, wanted.unit, bare=True)
        except Refused as refused:
            complaints.append(Refused(refused.message, refused.hint, where))
    else:
        table[wanted.name] = value.strip() if isinstance(value, str) else value
