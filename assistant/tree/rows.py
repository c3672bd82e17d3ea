"""What a step branches on: its answers and bands, their ends, and where each leads.

Invariant: after these rules every row of a step names findings that are there and a way on that leads somewhere.
"""

from __future__ import annotations

from collections.abc import Sequence

from assistant.tree.keys import table_name
from assistant.tree.mistakes import Label, safely
from assistant.tree.model import Band, NotSure, Question, Recall, RecallAnswer, Row, Working
from assistant.tree.names import MOST_LISTED, Names
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
        if not open_rows:
            return
        first, *others = open_rows
        path = (*table, key, first)
        hint = (
            f"Write `then = …` under {self.row_named(path, rows[first])}: {self.ways_named(str(table[1]))}."
        )
        also = [self.label((*table, key, index), "this one too") for index in others[:MOST_LABELS]]
        stray = self.stray_then(table, key, rows, step)
        if others and stray is None:
            hint += f" Or once for all, right below {table_name(table)}."
        if stray is not None and stray[-1] == "not-sure":
            hint += f" Only if the `then` in {table_name(stray)} counts for every {key} too: write it also right below {table_name(table)}."
            also.append(self.label((*stray, "then"), "this `then` counts for not sure alone"))
        elif stray is not None:
            hint += (
                f" Only if the `then` in {table_name(stray)} is meant for every {key}: move it up, above the first "
                f"header that follows {table_name(table)}."
            )
            also.append(self.label((*stray, "then"), "only if this `then` is meant for all: move it up"))
        more = f", nor {'does' if len(others) == 1 else 'do'} {len(others)} more" if others else ""
        message = f"{table_name(path)} leads nowhere{more}, and {table_name(table)} has no `then`."
        self.slip(path, "no-way-on", message, hint, key=True, also=also)

    def stray_then(
        self, table: Path, key: str, rows: Sequence[Row], step: Question | Recall | Working
    ) -> Path | None:
        """The table of the one `then` among all of a step's, if it stands last: it may be meant for all of them."""
        tables = [((*table, key, index), row.then) for index, row in enumerate(rows)]
        if step.not_sure is not None:
            tables.append(((*table, "not-sure"), step.not_sure.then))
        tables.sort(key=lambda one: self.document.place(one[0], key=True) or (0, 0))
        if all(row.then is None for row in rows):
            tables = [one for one in tables if one[0][-1] == "not-sure"]
        alone = all(then is None for path, then in tables[:-1] if path[-1] != "not-sure")
        return tables[-1][0] if tables and tables[-1][1] is not None and alone else None

    def row_named(self, path: Path, row: Row) -> str:
        """An answer or band by its words, and its line."""
        place = self.document.place(path, key=True)
        words = row.id if isinstance(row, RecallAnswer) else row.says
        named = f' "{safely(words)}"' if words else ""
        return f"the {path[-2]}{named} (line {place.line})" if place else table_name(path)

    def ways_named(self, step: str) -> str:
        """The steps that a `then` of this one may name, where they are few, and the end."""
        ways = [name for name in self.steps if name != step]
        return f"{', '.join(ways)} or end" if 0 < len(ways) <= MOST_LISTED else "the id of a step, or end"

    def bands(self, table: Path, bands: tuple[Band, ...]) -> None:
        """Every band but the last has one upper end, the last has none."""
        endless = [index for index, band in enumerate(bands) if band.below is None and band.up_to is None]
        if len(endless) == 1 and endless[0] < len(bands) - 1:
            self.endless_first(table, endless[0], len(bands) - 1)
            return
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

    def endless_first(self, table: Path, index: int, last: int) -> None:
        """The band that takes all that is left stands before another."""
        path = (*table, "band", index)
        place = self.document.place((*table, "band", last), key=True)
        where = f" (line {place.line})" if place else ""
        swap = f"Swap these two bands: the band{where} with an upper end comes first."
        self.slip(
            path,
            "open-band",
            f"{table_name(path)} has no upper end, so it takes all that is left and the bands after it get nothing.",
            swap
            if last - index == 1
            else f"The band without an end comes last: move it down, below the last one{where}.",
            key=True,
            also=[self.label((*table, "band", last), "this one has an end: it comes before")],
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
