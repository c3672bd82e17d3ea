"""Records: written, read back, resumed; never half written, never read loosely."""

import os
import re
from collections.abc import Mapping
from fractions import Fraction
from pathlib import Path
from types import MappingProxyType

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from assistant.errors import Refused
from assistant.session import files
from assistant.session.fact import UNSTATED, Fact
from assistant.session.files import write_atomically, write_new
from assistant.session.record import Record, read_record, write_record
from assistant.session.session import Session
from assistant.session.store import Store
from assistant.tree.load import load
from assistant.tree.mistakes import Unreadable
from assistant.tree.model import BASES, NOT_SURE
from assistant.tree.tree import Tree
from tests.conftest import NOW, TREES

SMALL = load(str(TREES / "small.toml"))
WHOLE = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])

# What can be typed: anything that is shown, and line breaks.
TYPED = st.text(st.characters(exclude_categories=("Cc", "Cs")) | st.sampled_from("\n\t"), max_size=60)


def figures(most: int) -> st.SearchStrategy[Fraction]:
    inches = st.fractions(0, most // 26, max_denominator=64).map(lambda x: x * Fraction("25.4"))
    return st.fractions(0, most, max_denominator=999) | st.integers(0, most).map(Fraction) | inches


def facts(
    value: st.SearchStrategy[object], bases: tuple[str, ...] = (*BASES, UNSTATED)
) -> st.SearchStrategy[Fact]:
    return st.builds(
        Fact, value, st.sampled_from(bases), TYPED, st.lists(TYPED.filter(bool), max_size=2).map(tuple), TYPED
    )


ANSWERS = {
    "situation": facts(st.sampled_from(["fitting", "existing"])),
    "near": facts(st.sampled_from([NOT_SURE, (), ("below-eaves",), ("below-gutter", "window")])),
    "gap": facts(figures(500) | st.just(NOT_SURE)),
    "joint-count": facts(st.sampled_from([Fraction(1), Fraction(2), Fraction(3)])),
    "joint.1/held-by": facts(st.sampled_from(["screws", "push-fit", NOT_SURE])),
    "joint.3/depth": facts(figures(200)),
    "remark": facts(TYPED.filter(str.strip) | st.just(NOT_SURE)),
}


@st.composite
def records(draw: st.DrawFn) -> Record:
    keys = draw(st.permutations(sorted(ANSWERS)))
    split = draw(st.integers(0, len(keys)))
    given_now = {key: draw(ANSWERS[key]) for key in keys[:split]}
    parked = {key: draw(ANSWERS[key]) for key in keys[split:] if draw(st.booleans())}
    session = Session(SMALL, MappingProxyType(given_now), MappingProxyType(parked))
    times = dict.fromkeys(given_now, NOW)
    return Record(session, NOW, draw(TYPED), times, (), SMALL.file.tree.edition, SMALL.digest)


def same_in_order(one: Mapping[str, Fact], other: Mapping[str, Fact]) -> bool:
    return list(one.items()) == list(other.items())


@WHOLE
@given(records())
def test_what_is_written_is_read_back_answer_for_answer(tmp_path: Path, record: Record) -> None:
    path = tmp_path / "record.toml"
    write_record(path, record)
    back = read_record(path)
    assert same_in_order(back.session.facts, record.session.facts)
    assert same_in_order(back.session.parked, record.session.parked)
    assert (back.started, back.place, back.times, back.lost) == (NOW, record.place, record.times, ())
    assert (back.edition, back.digest) == (record.edition, record.digest)
    written = path.read_bytes()
    write_record(path, back)
    assert path.read_bytes() == written


def one(tmp_path: Path, key: str, value: object) -> str:
    path = tmp_path / "one.toml"
    write_record(path, Record(Session(SMALL, MappingProxyType({key: Fact(value)})), NOW))  # type: ignore[arg-type]
    assert read_record(path).session.facts[key].value == value
    return path.read_text()


@pytest.mark.parametrize(
    ("value", "written"),
    [(Fraction(127), "127"), (Fraction("25.4") / 3, '"127/15 mm"'), (Fraction(1, 3), '"1/3 mm"'), (Fraction("12.7"), "12.7"),
     (Fraction(1, 8), "0.125"), (Fraction(0), "0"), (Fraction(7, 10**9), "7e-9")],
)  # fmt: skip
def test_figures_are_written_exactly(tmp_path: Path, value: Fraction, written: str) -> None:
    assert re.search(rf"\banswer = {re.escape(written)}[,\n]", one(tmp_path, "gap", value))


def test_an_answer_that_its_tree_no_longer_takes_is_kept_aside_and_stays(tmp_path: Path) -> None:
    path = tmp_path / "record.toml"
    one(tmp_path, "situation", "fitting")
    text = (tmp_path / "one.toml").read_text()
    path.write_text(text + '\n[[answer]]\nquestion = "colour"\nanswer = "red"\nnote = "kept"\n')
    record = read_record(path)
    assert list(record.session.facts) == ["situation"]
    assert [(lost.key, lost.written["note"]) for lost in record.lost] == [("colour", "kept")]
    write_record(path, record)
    assert [lost.key for lost in read_record(path).lost] == ["colour"]


GOOD = """format = 1
record = "consultation"
started = "2026-03-02T09:30:00+00:00"

[tree]
id = "small"
file = "{file}"
edition = "1"
digest = "x"

[[answer]]
question = "situation"
answer = "fitting"
""".format(file=TREES / "small.toml")


@pytest.mark.parametrize(
    ("change", "to", "line", "code"),
    [
        ('started = "2026-03-02T09:30:00+00:00"', "started = 5", 3, "wrong-value"),
        ('edition = "1"', "edition = 1", 5, "missing-key"),
        ('answer = "fitting"', 'anwser = "fitting"', 13, "unknown-key"),
        ('answer = "fitting"', 'answer = "fitting"\nbasis = "guessed"', 14, "wrong-basis"),
        ('answer = "fitting"', 'answer = "fitting"\nphotos = "one.jpg"', 14, "wrong-value"),
        ('answer = "fitting"', 'answer = "fitting"\nnote = 5', 14, "wrong-value"),
        (
            'answer = "fitting"',
            'answer = "fitting"\n\n[[answer]]\nquestion = "situation"\nanswer = "existing"',
            15,
            "twice",
        ),
        ("[[answer]]", "[answer]", 11, "wrong-value"),
        ('record = "consultation"', 'record = "sheet"', None, "no-record"),
        ("format = 1", "format = 2", None, "no-record"),
    ],
)
def test_a_slip_is_told_with_its_line(
    tmp_path: Path, change: str, to: str, line: int | None, code: str
) -> None:
    path = tmp_path / "record.toml"
    assert change in GOOD
    path.write_text(GOOD.replace(change, to))
    with pytest.raises(Unreadable) as caught:
        read_record(path)
    found = [
        (mistake.code, mistake.place.line if mistake.place else None) for mistake in caught.value.mistakes
    ]
    assert any(each == code and (line is None or at == line) for each, at in found), found


def test_a_record_that_is_cut_short_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "record.toml"
    path.write_text(GOOD[: GOOD.index("question") + 4])
    with pytest.raises(Refused):
        read_record(path)


# Writing


def test_a_crash_in_the_midst_of_writing_leaves_the_old_file_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "record.toml"
    write_atomically(path, b"old")

    def power_cut(source: str, target: Path) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(files.os, "replace", power_cut)
    with pytest.raises(KeyboardInterrupt):
        write_atomically(path, b"new, and longer")
    assert path.read_bytes() == b"old"
    assert os.listdir(tmp_path) == ["record.toml"]


def test_everything_is_on_disk_before_the_old_file_goes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    done: list[str] = []
    fsync, swap = os.fsync, os.replace
    monkeypatch.setattr(files.os, "fsync", lambda handle: (done.append("fsync"), fsync(handle))[1])
    monkeypatch.setattr(files.os, "replace", lambda a, b: (done.append("replace"), swap(a, b))[1])
    write_atomically(tmp_path / "record.toml", b"content")
    assert done == ["fsync", "replace", "fsync"]


def test_the_folder_is_made_for_its_owner_alone_and_only_when_needed(store: Store, small: Tree) -> None:
    assert not store.folder.exists()
    path = store.new_path(NOW, small.id)
    assert not store.folder.exists()
    write_record(path, Record(Session(small), NOW))
    assert store.folder.stat().st_mode & 0o777 == 0o700
    assert path.stat().st_mode & 0o077 == 0
    assert store.new_path(NOW, small.id).name == "2026-03-02-0930-small-2.toml"


def test_a_folder_that_cannot_be_written_is_refused(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(Refused, match="cannot be written"):
        write_atomically(tmp_path / "file" / "record.toml", b"")


def test_nothing_is_written_over(tmp_path: Path) -> None:
    write_new(tmp_path / "new", b"one")
    with pytest.raises(Refused, match="there already"):
        write_new(tmp_path / "new", b"two")
    assert (tmp_path / "new").read_bytes() == b"one"


# Offering to go on


def test_only_records_that_can_go_on_are_offered(store: Store, small: Tree, tmp_path: Path) -> None:
    write_record(
        store.folder / "a.toml", Record(Session(small, MappingProxyType({"situation": Fact("fitting")})), NOW)
    )
    write_record(store.folder / "b.toml", Record(Session(small), NOW))
    (store.folder / "c.toml").write_text("not a record")
    done = {"situation": Fact("fitting"), "near": Fact(()), "gap": Fact(Fraction(9)), "joint-count": Fact(Fraction(1)),
            "joint.1/held-by": Fact("screws"), "joint.1/depth": Fact(Fraction(9)), "remark": Fact("-")}  # fmt: skip
    finished = Record(Session(small, MappingProxyType(done)), NOW)
    write_record(store.folder / "d.toml", finished, {"outcome": "acceptable", "proven": True})
    assert sorted(one.path.name for one in store.unfinished()) == ["a.toml", "b.toml"]
