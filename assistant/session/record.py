"""The record of a consultation: a TOML file that can be read by a person, opened again, and replayed.

Invariant: what is written can be read back to the same session, answer for answer, in the order given. A record is
read strictly; nothing in it is dropped, and an answer that its tree no longer takes is kept aside and told.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from types import MappingProxyType
from typing import Any

from assistant.errors import Refused
from assistant.session.entry import read_entry, write_entry
from assistant.session.fact import UNSTATED, Fact
from assistant.session.files import write_atomically
from assistant.session.provenance import strangers
from assistant.session.session import Session
from assistant.tree import toml
from assistant.tree.load import load
from assistant.tree.mistakes import Unreadable, nearest
from assistant.tree.model import BASES
from assistant.tree.slips import Slips
from assistant.tree.tree import Tree

__all__ = ["Lost", "Record", "read_record", "write_record"]

MOST_BYTES = 10_000_000

KEYS = {
    "": ("format", "record", "started", "place", "tree", "answer", "parked", "outcome"),
    "tree": ("id", "title", "file", "edition", "digest", "installed", "proven", "outside"),
    "outside": ("id", "file", "digest"),
    "outcome": ("outcome", "verdict", "likely-class", "proven"),
    "answer": ("question", "answer", "asked", "said", "basis", "note", "photos", "typed", "at"),
}


@dataclass(frozen=True)
class Lost:
    """An answer in a record that today's tree does not take, kept as it was written."""

    key: str
    written: Mapping[str, Any]
    why: Refused


@dataclass(frozen=True)
class Record:
    """A consultation as it is kept: when it began, where, under which tree, and the session itself."""

    session: Session
    started: str
    """When it began, as ISO 8601 with an offset."""
    place: str = ""
    """Whatever the person calls the job: an address, a number."""
    times: Mapping[str, str] = field(default_factory=dict)
    """When each answer was given, by fact key."""
    lost: tuple[Lost, ...] = ()
    edition: str = ""
    digest: str = ""
    """Of the tree as it was when the record was last written; differs from the session's where the tree changed."""

    def with_session(self, session: Session, at: str) -> Record:
        """The record with the session as it is now; answers that are new or changed get the time `at`."""
        times = {
            key: self.times[key] if key in self.times and self.session.facts.get(key) == fact else at
            for key, fact in session.facts.items()
        }
        return replace(self, session=session, times=times)


def write_record(path: Path, record: Record, outcome: Mapping[str, Any] | None = None) -> None:
    """Write the record atomically. `outcome` is what the judgement came to, where there is one."""
    import tomli_w

    session = record.session
    tree = session.tree
    data: dict[str, Any] = {"format": 1, "record": "consultation", "started": record.started}
    if record.place:
        data["place"] = record.place
    data["tree"] = {
        "id": tree.id,
        "title": tree.file.tree.title,
        "edition": tree.file.tree.edition,
        "digest": tree.digest,
    }
    data["tree"] |= _provenance(tree)
    if not session.proven:
        data["tree"]["proven"] = False
    if outcome:
        data["outcome"] = dict(outcome)
    data["answer"] = [
        write_entry(tree, key, fact, record.times.get(key)) for key, fact in session.facts.items()
    ]
    parked = [write_entry(tree, key, fact, None) for key, fact in session.parked.items()]
    parked += [dict(lost.written) for lost in record.lost]
    if parked:
        data["parked"] = parked
    write_atomically(path, tomli_w.dumps({k: v for k, v in data.items() if v != []}).encode())


def _provenance(tree: Tree) -> dict[str, Any]:
    """Which of its trees are not installed ones, each with its file and the digest of that file alone."""
    outside = strangers(tree)
    if not outside:
        return {}
    told: dict[str, Any] = {"installed": False}
    if not tree.installed:
        told["file"] = _path(tree)
    told["outside"] = [{"id": one.id, "file": _path(one), "digest": one.document.digest} for one in outside]
    return told


def _path(tree: Tree) -> str:
    return str(Path(tree.document.name).resolve())


def read_record(path: Path, tree: Tree | None = None) -> Record:
    """Read a record and put its answers to its tree, or to `tree`, as it is today.

    Raises `Unreadable` with everything that is wrong with the file, or `Refused` where its tree cannot be had.
    """
    document = toml.read(path, most_bytes=MOST_BYTES, lists=())
    reader = _Reader(document)
    reader.check()
    data = document.data
    named = data["tree"]
    if tree is None:
        tree = load(named.get("file", named["id"]), path.parent)
    facts, times, lost = reader.facts(tree, data.get("answer", []), "answer")
    parked, _, lost_too = reader.facts(tree, data.get("parked", []), "parked")
    session = Session(
        tree, MappingProxyType(facts), MappingProxyType(parked), proven=named.get("proven", True)
    )
    return Record(
        session,
        data["started"],
        data.get("place", ""),
        times,
        (*lost, *lost_too),
        named["edition"],
        named["digest"],
    )


class _Reader(Slips):
    """A record being read."""

    def check(self) -> None:
        data = self.document.data
        if "record" not in data:
            from assistant.tree.otherwise import other_file

            other = other_file(data, self.document.name, "record")
            if other is not None:
                raise Unreadable([other])
        self.closed((), data, "")
        if data.get("format") != 1 or data.get("record") != "consultation":
            self.slip(
                (),
                "no-record",
                "this is not a record of a consultation.",
                'A record begins with `format = 1` and `record = "consultation"`.',
            )
            self.stop()
        for key in ("started", "place"):
            if not isinstance(data.get(key, "" if key == "place" else None), str):
                self.slip((key,), "wrong-value", f"`{key}` needs a text in quotes.")
        named = data.get("tree")
        if not isinstance(named, dict):
            self.slip(
                (), "missing-key", "the record does not say which tree it is for.", "It needs a table [tree]."
            )
        else:
            self.closed(("tree",), named, "tree")
            for key in ("id", "edition", "digest"):
                if not isinstance(named.get(key), str):
                    self.slip(("tree",), "missing-key", f"[tree] needs `{key}`, a text in quotes.", key=True)
            for key in ("title", "file"):
                if not isinstance(named.get(key, ""), str):
                    self.slip(("tree", key), "wrong-value", f"`{key}` needs a text in quotes.")
            for key in ("installed", "proven"):
                if not isinstance(named.get(key, True), bool):
                    self.slip(("tree", key), "wrong-value", f"`{key}` needs true or false, without quotes.")
            self.outside(named.get("outside", []))
        for name in ("answer", "parked"):
            rows = data.get(name, [])
            if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
                self.slip((name,), "wrong-value", f"`{name}` needs to be [[{name}]] tables.")
                continue
            for index, row in enumerate(rows):
                self.row((name, index), row)
        self.stop()

    def outside(self, listed: object) -> None:
        if not isinstance(listed, list) or not all(isinstance(one, dict) for one in listed):
            self.slip(("tree", "outside"), "wrong-value", "`outside` needs to be [[tree.outside]] tables.")
            return
        for index, one in enumerate(listed):
            path = ("tree", "outside", index)
            self.closed(path, one, "outside")
            for key in KEYS["outside"]:
                if not isinstance(one.get(key), str):
                    self.slip(
                        path, "missing-key", f"[[tree.outside]] needs `{key}`, a text in quotes.", key=True
                    )

    def row(self, path: tuple[str | int, ...], row: dict[str, Any]) -> None:
        self.closed(path, row, "answer")
        for key in ("question", "answer"):
            if key not in row:
                self.slip(path, "missing-key", f"[[{path[0]}]] needs `{key}`.", key=True)
        for key in ("question", "asked", "said", "basis", "note", "typed", "at"):
            if key in row and not isinstance(row[key], str):
                self.slip((*path, key), "wrong-value", f"`{key}` needs a text in quotes.")
        photos = row.get("photos", [])
        if not isinstance(photos, list) or not all(isinstance(photo, str) for photo in photos):
            self.slip((*path, "photos"), "wrong-value", "`photos` needs a list of texts.")
        if isinstance(row.get("basis"), str) and row["basis"] not in (*BASES, UNSTATED):
            self.slip(
                (*path, "basis"),
                "wrong-basis",
                f'"{row["basis"]}" is not a basis.',
                f"Write one of: {', '.join(BASES)}.",
            )

    def closed(self, path: tuple[str | int, ...], table: Mapping[str, Any], kind: str) -> None:
        for key in table:
            if key not in KEYS[kind]:
                near = nearest(key, KEYS[kind])
                self.slip(
                    (*path, key),
                    "unknown-key",
                    f"`{key}` is not a key of a record.",
                    f"Did you mean `{near}`?" if near else "",
                    key=True,
                )

    def facts(
        self, tree: Tree, rows: Sequence[Mapping[str, Any]], name: str
    ) -> tuple[dict[str, Fact], dict[str, str], list[Lost]]:
        facts: dict[str, Fact] = {}
        times: dict[str, str] = {}
        lost: list[Lost] = []
        for index, row in enumerate(rows):
            key = row["question"]
            if key in facts:
                self.slip(
                    (name, index),
                    "twice",
                    f'"{key}" is answered twice.',
                    "Keep the one that holds.",
                    key=True,
                )
                self.stop()
            try:
                facts[key] = read_entry(tree, row)
            except Refused as error:
                lost.append(Lost(key, row, error))
                continue
            if "at" in row:
                times[key] = row["at"]
        return facts, times, lost
