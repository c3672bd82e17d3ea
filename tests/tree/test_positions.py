from __future__ import annotations

import tomllib
from itertools import product
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from assistant.tree.mistakes import Place
from assistant.tree.positions import Lines
from assistant.tree.scan import Scan
from assistant.tree.toml import parse
from tests.tree.documents import Written, documents

EXAMPLE = """\
format = 1
[tree] # the tree
id = "x"
[question.hole]
ask = '''
two lines'''
accept = [
  "seen", # by eye
  { basis = "told", how.sure = 1 },
]
\t[[question.hole.answer]]
id = "a"
[[question.hole.answer]]
"says" = "b"
[question.hole.not-sure]
a.b . c = 3
"""

PLACES: list[tuple[tuple[str | int, ...], bool, tuple[int, int]]] = [
    ((), False, (1, 1)),
    (("format",), True, (1, 1)),
    (("format",), False, (1, 10)),
    (("tree",), False, (2, 1)),
    (("tree",), True, (2, 2)),
    (("tree", "id"), False, (3, 6)),
    (("question",), False, (4, 1)),
    (("question",), True, (4, 2)),
    (("question", "hole"), True, (4, 11)),
    (("question", "hole", "ask"), False, (5, 7)),
    (("question", "hole", "accept"), False, (7, 10)),
    (("question", "hole", "accept", 0), False, (8, 3)),
    (("question", "hole", "accept", 1), False, (9, 3)),
    (("question", "hole", "accept", 1, "basis"), True, (9, 5)),
    (("question", "hole", "accept", 1, "how"), True, (9, 21)),
    (("question", "hole", "accept", 1, "how", "sure"), True, (9, 25)),
    (("question", "hole", "accept", 1, "how", "sure"), False, (9, 32)),
    (("question", "hole", "answer"), False, (11, 2)),
    (("question", "hole", "answer", 0), False, (11, 2)),
    (("question", "hole", "answer", 0), True, (11, 18)),
    (("question", "hole", "answer", 1), False, (13, 1)),
    (("question", "hole", "answer", 1, "says"), True, (14, 1)),
    (("question", "hole", "answer", 1, "says"), False, (14, 10)),
    (("question", "hole", "not-sure", "a"), True, (16, 1)),
    (("question", "hole", "not-sure", "a", "b", "c"), True, (16, 7)),
    (("question", "hole", "not-sure", "a", "b", "c"), False, (16, 11)),
    (("question", "hole", "answer", 1, "then"), False, (13, 1)),
    (("question", "hole", "answer", 2, "then"), False, (11, 2)),
    (("question", "hole", "ask", "deeper", 3), False, (5, 7)),
    (("nothing",), False, (1, 1)),
]


@pytest.mark.parametrize(("path", "key", "place"), PLACES)
@pytest.mark.parametrize("ending", ["\n", "\r\n"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_everything_has_its_place(
    path: tuple[str | int, ...], key: bool, place: tuple[int, int], ending: str, mark: str
) -> None:
    document = parse(mark + EXAMPLE.replace("\n", ending), "hole.toml")
    assert document.place(path, key) == Place(*place)


def test_columns_count_characters() -> None:
    assert parse('a = ["ü𝒳", 1]', "x").place(("a", 1)) == Place(1, 12)


def test_a_line_of_a_list_may_look_like_a_header() -> None:
    assert parse("a = [\n[true],\n[[false]]\n]", "x").data == {"a": [[True], [[False]]]}


def test_lines_know_their_ends() -> None:
    lines = Lines("ab\n\nc")
    assert [lines.place(offset) for offset in range(6)] == [
        Place(1, 1), Place(1, 2), Place(1, 3), Place(2, 1), Place(3, 1), Place(3, 2),
    ]  # fmt: skip


def matches(found: Any, wanted: Any) -> bool:
    """Compare data that leaves numbers open."""
    if wanted is ...:
        return not isinstance(found, str | dict | list)
    if isinstance(wanted, dict):
        return found.keys() == wanted.keys() and all(matches(found[key], wanted[key]) for key in wanted)
    if isinstance(wanted, list):
        return len(found) == len(wanted) and all(map(matches, found, wanted))
    return bool(found == wanted)


@settings(max_examples=50, deadline=None, suppress_health_check=list(HealthCheck))
@given(documents())
def test_the_text_at_a_place_is_what_was_written_there(written: Written) -> None:
    document = parse(written.text, "made.toml")
    plain = written.text.replace("\r\n", "\n")
    lines = Lines(plain)
    assert matches(document.data, written.data)
    unix = "\r\n" not in written.text
    for path, (offset, raw) in written.values.items():
        place = document.place(path)
        assert place is not None
        at = sum(len(line) + 1 for line in plain.split("\n")[: place.line - 1]) + place.column - 1
        assert plain.startswith(raw.replace("\r\n", "\n"), at)
        assert not unix or place == lines.place(offset)
    for path, (offset, word) in written.keys.items():
        place = document.place(path, key=True)
        assert place is not None
        at = sum(len(line) + 1 for line in plain.split("\n")[: place.line - 1]) + place.column - 1
        assert plain[at] in "\"'" or plain.startswith(word, at)
        assert not unix or place == lines.place(offset)


HEADERS = [f"{a}{name}{b}" for a, b in (("[", "]"), ("[[", "]]")) for name in ("a", "a.b", "a.b.c", "b")]
PAIRS = ["a = 1", "b = 1", "a.b = 1", "a.b.c = 1", "b.c = 1", "a = {}", "a = {b = 1}", "a = [{}]"]
PAIRS += [
    "a = {b.c = 1, b.d = 2}",
    "a = {b = 1, b = 2}",
    "a = {b = {}, b.c = 1}",
    "a = {b.c = 1, b = 2}",
    "b = [[]]",
]


def agrees(text: str) -> None:
    """What tomllib takes we take, and the other way round, leaving aside what only we refuse."""
    scan = Scan(text.replace("\r\n", "\n"), lists=())
    scan.run()
    codes = {finding.code for finding in scan.findings}
    try:
        tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        assert codes, text
    else:
        ours = {"unquoted-date", "not-a-number", "giant-number", "control-character", "too-deep"}
        assert not codes - ours, (text, scan.findings)


@pytest.mark.parametrize("first", HEADERS + PAIRS)
def test_nothing_is_said_twice(first: str) -> None:
    for second, third in product(HEADERS + PAIRS, repeat=2):
        agrees(f"{first}\n{second}\n{third}\n")


@settings(max_examples=300, deadline=None)
@given(st.lists(st.sampled_from(HEADERS + PAIRS), max_size=7))
def test_nothing_is_said_twice_in_longer_files(lines: list[str]) -> None:
    agrees("\n".join(lines))


SIGNS = [
    "a",
    "b",
    "1",
    "0",
    "-",
    ".",
    "_",
    "e",
    "=",
    " = ",
    '"',
    "'",
    '"""',
    "'''",
    "\\",
    "\n",
    "\r\n",
    "\t",
    " ",
]
SIGNS += [
    "[",
    "]",
    "[[",
    "]]",
    "{",
    "}",
    ",",
    "#",
    "u0041",
    "true",
    "inf",
    "07:00:00",
    "2020-01-01",
    "é",
    "\u00a0",
]


@settings(max_examples=500, deadline=None)
@given(st.lists(st.sampled_from(SIGNS), max_size=14).map("".join))
def test_any_text_is_judged_as_tomllib_judges_it(text: str) -> None:
    agrees(text)
    agrees("a = " + text)


@settings(max_examples=50, deadline=None, suppress_health_check=list(HealthCheck))
@given(documents(), st.data())
def test_a_spoilt_document_is_judged_as_tomllib_judges_it(written: Written, data: st.DataObject) -> None:
    text = written.text
    at = data.draw(st.integers(0, len(text)))
    upto = data.draw(st.integers(at, min(at + 2, len(text))))
    agrees(text[:at] + data.draw(st.sampled_from(["", *SIGNS])) + text[upto:])
