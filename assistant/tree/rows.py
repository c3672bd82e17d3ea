"""What a step branches on: its answers and bands, their ends, and where each leads.

Invariant: after these rules every row of a step names findings that are there and a way on that leads somewhere.
"""

from __future__ import annotations

from collections.abc import Sequence

from assistant.tree.keys import table_name
from assistant.tree.mistakes import Label
from assistant.tree.model import Band, NotSure, Question, Recall, Row, Working
from assistant.tree.names import Names
from assistant.tree.slips import Path

__all__ = ["Rows"]

MOST_LABELS = 5
"""Places that are pointed at beside the first, where there are many alike."""


class Rows(Names):
    """The rules for rows, whatever step they belong to."""

    @staticmethod
    def rows_hint(table: Path, kind: str) -> str:
        """Which rows a question of this kind has."""
        if kind == "note":
            return "Write `then` alone, below its header."
        rows = "answer" if kind in ("choice", "several") else "band"
        return f"Write [[{'.'.join(map(str, table))}.{rows}]], or change its `kind`."

    def rows(self, table: Path, key: str, rows: Sequence[Row], step: Question | Recall | Working) -> None:
        """Every row's finding and way on; a row without a way on tells of a stray `then` below it."""
        several = isinstance(step, Question) and step.kind == "several"
        open_rows: list[int] = []
        for index, row in enumerate(rows):
            self.findings((*table, key, index), row.finding)
            if row.then is not None and not several:
                self.way((*table, key, index, "then"), row.then)
            elif step.then is None and not several:
                open_rows.append(index)
        last = len(rows) - 1
        stray: Path | None = None
        if rows and rows[last].then is not None:
            stray = (*table, key, last)
        elif step.not_sure is not None and step.not_sure.then:
            stray = (*table, "not-sure")
        if not open_rows:
            return
        first, *others = open_rows
        path = (*table, key, first)
        hint = f"Write `then` below {table_name(path)}, or once for all right below {table_name(table)}."
        also = [self.label((*table, key, index), "this one too") for index in others[:MOST_LABELS]]
        if stray is not None:
            hint = (
                f"The `then` in {table_name(stray)} may be meant for all of them: move it up, above the first "
                f"header that follows {table_name(table)}."
            )
            also.append(self.label((*stray, "then"), "this `then` may be meant for all"))
        more = f", nor {'does' if len(others) == 1 else 'do'} {len(others)} more" if others else ""
        message = f"{table_name(path)} leads nowhere{more}, and {table_name(table)} has no `then`."
        self.slip(path, "no-way-on", message, hint, key=True, also=also)

    def bands(self, table: Path, bands: tuple[Band, ...]) -> None:
        """Every band but the last has one upper end, the last has none."""
        for index, band in enumerate(bands):
            path = (*table, "band", index)
            ends = (band.below is not None) + (band.up_to is not None)
            if ends == 2:
                self.slip(
                    path,
                    "two-ends",
                    f"{table_name(path)} has both `below` and `up-to`.",
                    "`below` leaves its number out, `up-to` takes it in: keep one.",
                    key=True,
                    also=[self.label((*path, end), "an upper end") for end in ("below", "up-to")],
                )
            elif ends == 0 and index < len(bands) - 1:
                self.slip(
                    path,
                    "open-band",
                    f"{table_name(path)} has no upper end, so the bands after it are never reached.",
                    "Write `below` or `up-to`, or make it the last.",
                    key=True,
                    also=[self.label((*table, "band", index + 1), "the next one, never reached")],
                )
            elif ends == 1 and index == len(bands) - 1:
                self.slip(
                    (*path, "below" if band.below is not None else "up-to"),
                    "last-band",
                    f"{table_name(path)} is the last band and has an upper end.",
                    "The last band takes all that is left: take this line out, or write one more band below it.",
                    key=True,
                )

    def not_sure(self, table: Path, not_sure: NotSure | None) -> None:
        """What follows from not sure: a finding that is there, and a way that leads on."""
        if not_sure is not None:
            self.findings((*table, "not-sure"), not_sure.finding)
            if not_sure.then is not None:
                self.way((*table, "not-sure", "then"), not_sure.then)

    def kind_of(self, question: str) -> Label:
        """Where a question of this tree says what kind it is."""
        return self.label(("question", question, "kind"), f'the kind of "{question}"')
