"""Where the result of a working lies, when what it is given is known no closer than by stretches of numbers.

Invariant: every result that some numbers of these stretches give lies there, and every number there is such a result.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from assistant.errors import Refused
from assistant.tree.bands import Stretch
from assistant.tree.model import NOT_SURE
from assistant.workings.registry import Input
from assistant.workings.registry import Working as Calculation
from assistant.workings.units import converted

__all__ = ["in_unit", "result_of"]


def result_of(
    calculation: Calculation, branch_on: str, given: Mapping[str, object], loose: Mapping[str, Stretch]
) -> Stretch | str | None:
    """The stretch that a result lies in; "unbounded", "refused" or "not-sure"; None where it cannot be told.

    `given` are the inputs that have one value, `loose` those known by a stretch.
    """
    if not loose:
        return _run(calculation, given, branch_on)
    told = next(result for result in calculation.results if result.name == branch_on)
    if not set(loose) <= {*told.rises, *told.falls}:
        return None
    ends: list[tuple[Fraction | None, bool]] = []
    limits = {one.name: _limits(one) for one in calculation.inputs}
    for rising in (False, True):
        corner, reached = dict(given), True
        for wanted, stretch in loose.items():
            cut = stretch.meet(limits[wanted])
            if cut.empty:
                return "refused"
            top = (wanted in told.rises) is rising
            end, end_in = (cut.high, cut.high_in) if top else (cut.low, cut.low_in)
            reached = reached and end_in
            corner[wanted] = end
        if any(end is None for end in corner.values()):
            ends.append((None, False))
            continue
        found = _run(calculation, corner, branch_on)
        if isinstance(found, Stretch):
            ends.append((found.low, reached))
        elif found == "refused" and rising and reached:
            return "refused"
        else:
            ends.append((None, False))
    (low, low_in), (high, high_in) = ends
    above = None if told.above is None else Fraction(told.above)
    if low is None or (above is not None and low < above):
        low, low_in = above, False
    return Stretch(low, low_in, high, high_in)


def in_unit(known: Stretch, unit: str, into: str) -> Stretch:
    """A stretch of numbers of one unit in another, in which the larger may be the smaller."""
    ends = [None if end is None else converted(end, unit, into) for end in (known.low, known.high)]
    low, high = Stretch(ends[0], known.low_in, None, False), Stretch(None, False, ends[1], known.high_in)
    if ends[0] is not None and ends[1] is not None and ends[0] > ends[1]:
        low, high = Stretch(ends[1], known.high_in, None, False), Stretch(None, False, ends[0], known.low_in)
    return low.meet(high)


def _limits(wanted: Input) -> Stretch:
    """The numbers that an input takes."""
    low = wanted.above if wanted.above is not None else wanted.least
    high = wanted.most
    return Stretch(
        None if low is None else Fraction(low),
        wanted.above is None,
        None if high is None else Fraction(high),
        True,
    )


def _run(calculation: Calculation, given: Mapping[str, object], branch_on: str) -> Stretch | str | None:
    """What a working gives for these values: a number, a word, or nothing that is known."""
    try:
        result = calculation.work(given).results.get(branch_on)
    except Refused:
        return "refused"
    if result == "unbounded":
        return "unbounded"
    if isinstance(result, int | float | Fraction):
        return Stretch(Fraction(result), True, Fraction(result), True)
    return NOT_SURE
