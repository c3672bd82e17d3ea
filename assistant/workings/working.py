"""What a working is: named inputs with their units, named results, sources, and one pure function.

Trees, `calc`, the help and the reference are all made from these declarations, so what is said about an input
is said once. A working's `run` is handed values that passed this door: exact numbers within their range,
answers that exist, None for what is not known. Nothing later checks them again.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Literal, NamedTuple

from assistant.errors import Refused
from assistant.workings.numerals import exact, show

__all__ = ["NOT_SURE", "Figures", "Input", "Result", "Source", "Working", "nearest"]

NOT_SURE = "not-sure"
"""The answer that leaves a value unknown."""

MOST_NAMED = 8
"""Complaints that are named in one message beside its first."""


class Input(NamedTuple):
    """One value that a working takes; a name ends in its unit (`hole_mm`).

    `least` and `most` are inclusive; `above` is a lower limit that is itself refused. For kind `items`, a
    list of tables, `keys` declares what each table may hold and the limits count the tables.
    """

    name: str
    means: str
    unit: str | None = None
    kind: Literal["number", "count", "text", "choice", "items"] = "number"
    required: bool = True
    least: Fraction | int | None = None
    most: Fraction | int | None = None
    above: Fraction | int | None = None
    choices: tuple[str, ...] = ()
    keys: tuple[Input, ...] = ()


class Result(NamedTuple):
    """One value that a working gives; a name ends in its unit (`gap_mm`).

    A number that depends smoothly on its inputs may say so, for proofs over every answer: `rises` names the inputs
    with which it goes up all the way, `falls` those with which it goes down, `above` what it is always more than.
    What the working refuses then lies beyond its lower end. A whole number that stands for something says in `codes`
    what 0, 1, 2 and so on mean.
    """

    name: str
    means: str
    unit: str | None = None
    rises: tuple[str, ...] = ()
    falls: tuple[str, ...] = ()
    above: Fraction | int | None = None
    codes: tuple[str, ...] = ()

    @property
    def explained(self) -> str:
        """What it means, with what each of its whole numbers stands for."""
        codes = ", ".join(f"{number} {says}" for number, says in enumerate(self.codes))
        return f"{self.means}: {codes}" if codes else self.means


class Source(NamedTuple):
    """Where a formula or a figure comes from, and how far to trust it."""

    id: str
    title: str
    standing: Literal["published", "common-practice", "memory"]


class Figures(NamedTuple):
    """What a working found: every declared result by name, and the sum as a fitter would check it by hand.

    Results are int, Fraction, str, None, or lists and tables of them; "unbounded" and "unknown" are words.
    """

    results: Mapping[str, object]
    shown: str


@dataclass(frozen=True, slots=True)
class Working:
    """One named calculation of the trade. `leaves_out` says in plain words what it does not look at."""

    name: str
    title: str
    inputs: tuple[Input, ...]
    results: tuple[Result, ...]
    sources: tuple[Source, ...]
    leaves_out: str
    run: Callable[[Mapping[str, object]], Figures] = field(repr=False)

    def work(self, given: Mapping[str, object]) -> Figures:
        """Check `given` against the declared inputs and run.

        Numbers may be int, Fraction, Decimal or float. An optional input that is left out, None or "not-
        sure" is unknown. Keys that the tables of an `items` input do not declare are passed over, as a tree
        hands on all it was told. Raises `Refused` with every complaint at once.
        """
        complaints: list[Refused] = list(unknown_names(given, self.inputs, self.name))
        checked: dict[str, object] = {}
        for wanted in self.inputs:
            try:
                checked[wanted.name] = _checked(wanted, given.get(wanted.name), wanted.name)
            except Refused as refused:
                complaints.append(refused)
        raise_all(complaints)
        return self.run(checked)


def unknown_names(given: Collection[str], inputs: Sequence[Input], where: str) -> Iterator[Refused]:
    """A complaint for every name in `given` that no input has, with the name that was likely meant."""
    known = [each.name for each in inputs]
    for name in given:
        if name not in known:
            meant = nearest(name, known)
            hint = f'did you mean "{meant}"?' if meant else f"it takes {', '.join(known)}"
            yield Refused(f'there is no input "{name}"', hint, where)


def raise_all(complaints: Sequence[Refused]) -> None:
    """Raise one `Refused` that carries every complaint; nothing where there is none."""
    if len(complaints) > 1:
        raise _Several(complaints)
    if complaints:
        raise complaints[0]


class _Several(Refused):
    """Several complaints: the hint and the place are those of the first, whose message names the others."""

    def __init__(self, complaints: Sequence[Refused]) -> None:
        self.complaints = [one for each in complaints for one in getattr(each, "complaints", [each])]
        first, *others = self.complaints
        told = [f"{each.where}: {each.message}" if each.where else each.message for each in others]
        if len(told) > MOST_NAMED:
            told[MOST_NAMED:] = [f"and {len(told) - MOST_NAMED} more"]
        super().__init__(f"{first.message}. Also {'; '.join(told)}", first.hint, first.where)

    def __str__(self) -> str:
        return "\n".join(str(each) for each in self.complaints)


def nearest(name: str, known: Collection[str]) -> str | None:
    """The known name that was most likely meant, or None."""
    from difflib import get_close_matches  # only ever needed for a refusal

    return next(iter(get_close_matches(name, sorted(known), n=1)), None)


def _checked(wanted: Input, value: object, where: str) -> object:
    """One value as its input wants it, None where it is not known. Raises `Refused`."""
    if value is None or value == NOT_SURE:
        if wanted.required:
            example = "it as text" if wanted.kind == "text" else _example(wanted)
            raise Refused(f"nothing is given for {wanted.means}", f"give {example}", where)
        return None
    if wanted.kind == "items":
        return _items(wanted, value, where)
    if wanted.kind in ("text", "choice"):
        if not isinstance(value, str):
            raise Refused(f"{value!r} is not text", f"give {_example(wanted)}", where)
        if wanted.choices and value not in wanted.choices:
            meant = nearest(value, wanted.choices)
            hint = f'did you mean "{meant}"? ' if meant else ""
            raise Refused(f'"{value}" is not an answer here', f"{hint}give {_example(wanted)}", where)
        return value
    try:
        number = exact(value)
    except Refused as refused:
        raise Refused(refused.message, f"give {_example(wanted)}", where) from None
    _in_range(wanted, number, where)
    if wanted.kind == "count":
        if number.denominator != 1:
            raise Refused(f"{show(number)} is not a whole number", f"give {_example(wanted)}", where)
        return int(number)
    return number


def _items(wanted: Input, value: object, where: str) -> tuple[dict[str, object], ...]:
    """A list of tables, each checked key by key. Raises `Refused` with every complaint."""
    if not isinstance(value, list | tuple) or not all(isinstance(item, Mapping) for item in value):
        raise Refused("this is not a list of tables", f"give {_example(wanted)}", where)
    _in_range(wanted, Fraction(len(value)), where)
    complaints: list[Refused] = []
    items: list[dict[str, object]] = []
    for n, item in enumerate(value, start=1):
        checked: dict[str, object] = {}
        for key in wanted.keys:
            try:
                checked[key.name] = _checked(key, item.get(key.name), f"{where}.{n}.{key.name}")
            except Refused as refused:
                complaints.append(refused)
        items.append(checked)
    raise_all(complaints)
    return tuple(items)


def _in_range(wanted: Input, number: Fraction, where: str) -> None:
    """Refuse a number, or a count of tables, outside the limits of its input."""
    low = wanted.above is not None and number <= wanted.above
    if low or (wanted.least is not None and number < wanted.least):
        limit = f"more than {show(wanted.above)}" if low else f"{show(wanted.least)} or more"
    elif wanted.most is not None and number > wanted.most:
        limit = f"{show(wanted.most)} or less"
    else:
        return
    raise Refused(f"{show(number, wanted.unit)} is out of range", f"it has to be {limit}", where)


def _example(wanted: Input) -> str:
    """What to write for an input, for a hint."""
    if wanted.choices:
        *most, last = wanted.choices
        return f"{', '.join(most)} or {last}" if most else last
    if wanted.kind == "items":
        return f"a list of tables with {', '.join(key.name for key in wanted.keys)}"
    if wanted.kind == "text":
        return wanted.means
    return f"a whole number of {wanted.means}" if wanted.kind == "count" else f"a number{_in(wanted.unit)}"


def _in(unit: str | None) -> str:
    """The unit as a phrase."""
    return f" in {unit}" if unit else ""
