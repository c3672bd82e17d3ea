"""On which sheet of paper a drawing of our own can be read.

Invariant: what is said follows from the drawing as written: its size, and the smallest print in it.
"""

from __future__ import annotations

import re

__all__ = ["paper_for"]

SHEETS = {"A4": (210, 297), "A3": (297, 420), "A2": (420, 594), "A1": (594, 841), "A0": (841, 1189)}
"""Sheets by name, in millimetres, the smallest first."""
BARE = 5
"""Millimetres along each edge of a sheet that a printer leaves bare."""
POINTS = 72 / 25.4
"""Points to a millimetre."""
LEAST = 6
"""Points of the smallest print that can be read without trouble."""
SIZE = re.compile(r'<svg [^>]* width="([\d.]+)" height="([\d.]+)"')
PRINT = re.compile(r'<text [^>]*font-size="([\d.]+)"')


def paper_for(svg: str) -> str:
    """In a sentence or two, the smallest sheet on which a drawing reads well; the largest where none will do."""
    found = SIZE.search(svg)
    assert found
    width, height = sorted(map(float, found.groups()))
    smallest = min(map(float, PRINT.findall(svg)))
    points = {
        name: smallest * POINTS * min((short - 2 * BARE) / width, (long - 2 * BARE) / height)
        for name, (short, long) in SHEETS.items()
    }
    for name, size in points.items():
        if size >= LEAST:
            return f"The drawing reads well on {name} paper: its smallest print is {size:.0f} pt there."
    name, size = [*points.items()][-1]
    return (
        f"The drawing is too large to be read well on paper: even on {name} its smallest print is {size:.1f} pt. "
        "Look at it in a browser, where it can be made larger."
    )
