from __future__ import annotations

import hashlib
import os
import subprocess
import sys
import time
from decimal import Decimal
from pathlib import Path
from random import Random

import pytest

from assistant.errors import Refused
from assistant.render.complaints import complaint_text
from assistant.tree.mistakes import Mistake, Place, nearest, pointed, safely
from assistant.tree.toml import Unreadable, parse, read


def found(text: str) -> list[tuple[str, int, int]]:
    """Give code, line and column of all that is wrong with a text."""
    with pytest.raises(Unreadable) as caught:
        parse(text, "hole.toml")
    return [
        (mistake.code, mistake.place.line, mistake.place.column)
        for mistake in caught.value.mistakes
        if mistake.place
    ]


def one(text: str) -> Mistake:
    """Give the one thing that is wrong with a text."""
    with pytest.raises(Unreadable) as caught:
        parse(text, "hole.toml")
    assert len(caught.value.mistakes) == 1, [str(mistake) for mistake in caught.value.mistakes]
    return caught.value.mistakes[0]


# One mistake each: the text, its code, its place, and a piece of what is said.
MISTAKES = [
    ("ask = “Is it open?”", "curly-quotes", 1, 7, 'ask = "Is it open?"'),
    ("ask = “Is it\nopen or\nshut?”\nkind = 'count'", "curly-quotes", 1, 7, "straight"),
    ('ask = "Is it open?”', "curly-quotes", 1, 19, 'Straight ones at both ends: "Is it open?"'),
    ("“held-by” = 1", "curly-quotes", 1, 1, '"held-by" = 1'),
    ("accept = [“seen, told”, 'told']", "curly-quotes", 1, 11, '"seen, told"'),
    (
        "a = 1 # \u202e",
        "control-character",
        1,
        9,
        "(U+202E): it cannot be seen, but shows the text in another order",
    ),
    ("'\u2066' = 1", "control-character", 1, 2, "U+2066"),
    ("a = [\n'\u2069']", "control-character", 2, 2, "Delete it"),
    ('a = "\\u202A"', "control-character", 1, 6, "which shows it in another order"),
    ("edition = 2026-10-01", "unquoted-date", 1, 11, 'edition = "2026-10-01"'),
    ("edition = 2026-10-01 07:32:00Z # x", "unquoted-date", 1, 11, '"2026-10-01 07:32:00Z"'),
    ("review-by = 2027-06", "unquoted-date", 1, 13, 'review-by = "2027-06"'),
    ("edition = 1.10.2026", "unquoted-date", 1, 11, '"1.10.2026"'),
    ("at = 07:32", "unquoted-date", 1, 6, '"07:32"'),
    ("a = [1, 2020-01-01]", "unquoted-date", 1, 9, '"2020-01-01"'),
    ("kind = choice", "unquoted-text", 1, 8, 'kind = "choice"'),
    ("ask = Is it open? # why", "unquoted-text", 1, 7, 'ask = "Is it open?"'),
    ("must-answer = yes", "unquoted-text", 1, 15, "must-answer = true"),
    ("must-answer = True", "true-false", 1, 15, "must-answer = true"),
    ("least = 30 mm", "number-unit", 1, 9, "the `unit` of the question: least = 30"),
    ("length = 30 mm", "unquoted-text", 1, 10, 'length = "30 mm"'),
    ("least = 1/3", "unquoted-text", 1, 9, 'least = "1/3"'),
    ('then = hole"', "missing-quote", 1, 8, 'then = "hole"'),
    ("below = 1,5", "decimal-comma", 1, 9, "below = 1.5"),
    ("below = 1,500", "decimal-comma", 1, 9, "below = 1500"),
    ("set = { gap = 1,5, lid = 2 }", "decimal-comma", 1, 16, "1.5"),
    ("set = { gap = 1,5 }", "decimal-comma", 1, 16, "1.5"),
    ("below = .5", "number-shape", 1, 9, "below = 0.5"),
    ("below = 5.", "number-shape", 1, 9, "below = 5 "),
    ("below = 007", "number-shape", 1, 9, "below = 7"),
    ("below = nan", "not-a-number", 1, 9, "digits"),
    ("below = -inf", "not-a-number", 1, 9, "digits"),
    ("below = 1234567890123456789", "giant-number", 1, 9, "19 digits"),
    ("below = " + "9" * 5000, "giant-number", 1, 9, "5000 digits"),
    ("below = 0x" + "F" * 5000, "giant-number", 1, 9, "digits"),
    ("below = 0." + "1" * 30, "giant-number", 1, 9, "31 digits"),
    ("below = 1e31", "giant-number", 1, 9, "exponent 31"),
    ("below = 1e-99999999999", "giant-number", 1, 9, "exponent"),
    ("kind: 'choice'", "colon", 1, 5, "kind = 'choice'"),
    ("when = { roof: 'met' }", "colon", 1, 14, "roof ="),
    ("kind 'choice'", "missing-equals", 1, 6, "kind = 'choice'"),
    ("Is the flue open\nor is it shut?", "missing-equals", 1, 4, "no equals sign"),
    ("= 3", "missing-name", 1, 1, "Write: name = value"),
    ("question.hole\na = 1", "missing-bracket", 1, 1, "Write: [question.hole]"),
    ("question.hole.band]]", "missing-bracket", 1, 1, "Write: [[question.hole.band]]"),
    ('when = roof = "met"', "missing-brace", 1, 8, 'when = { roof = "met" }'),
    ("must-answer = yes", "unquoted-text", 1, 15, "Write: must-answer = true"),
    ("why =", "missing-value", 1, 6, 'why = "…"'),
    ("why = # later", "missing-value", 1, 7, "why ="),
    ("a = [1,, 2]", "missing-value", 1, 8, "comma too many"),
    ('joint.2/held-by = "x"', "unquoted-key", 1, 1, '"joint.2/held-by" = "x"'),
    ('held by = "x"', "unquoted-key", 1, 1, '"held by" = "x"'),
    ("größe = 3", "unquoted-key", 1, 1, '"größe" = 3'),
    ("[question.joint 2]\na = 1", "unquoted-key", 1, 17, "[question.joint-2]"),
    ("[question.hole\na = 1", "missing-bracket", 1, 1, "[question.hole]"),
    ("[[verdict]\na = 1", "missing-bracket", 1, 1, "[[verdict]]"),
    ("[verdict]]\na = 1", "missing-bracket", 1, 1, "[[verdict]]"),
    ("[tree]]\na = 1", "missing-bracket", 1, 1, "[tree]"),
    ("[]", "empty-header", 1, 1, "[name]"),
    ("[tree] id = 'x'", "after-header", 1, 8, "next line: id = 'x'"),
    ("[verdict]\nid = 'x'", "single-brackets", 1, 1, "[[verdict]]"),
    ("[moved]", "single-brackets", 1, 1, "[[moved]]"),
    ("[question.x.answer]", "single-brackets", 1, 1, "[[question.x.answer]]"),
    ("[question.x.band]", "single-brackets", 1, 1, "[[question.x.band]]"),
    ("[recall.x.answer]", "single-brackets", 1, 1, "[[recall.x.answer]]"),
    ("[working.x.band]", "single-brackets", 1, 1, "[[working.x.band]]"),
    ("[[verdict]]\n[verdict]", "single-brackets", 2, 1, "[[verdict]]"),
    ("[tree]\n[a]\n[tree]\nid = 1", "duplicate-table", 3, 1, "line 1"),
    ("[[tree]]\n[tree]", "duplicate-table", 2, 1, "double brackets"),
    ("[tree]\nid = 1\n\nid = 2", "duplicate-key", 4, 1, "first on line 2"),
    ("a = {b = 1, b = 2}", "duplicate-key", 1, 13, "first on line 1"),
    ("a = 1\na.b = 2", "duplicate-key", 2, 1, "line 1"),
    ("a = 1\n[a.b]", "duplicate-table", 2, 1, "line 1"),
    ('why = "It is\nopen"\nkind = "x"', "unclosed-text", 1, 7, '"""'),
    ("why = '''It is\nopen", "unclosed-text", 1, 7, "'''"),
    ('why = """It is\n\nlook = """\nopen"""', "unclosed-text", 1, 7, "before line 3"),
    ("why = 'What's it'", "quote-in-text", 1, 13, 'double ones: "What\'s it"'),
    ('accept = "seen", "told"', "extra-text", 1, 16, '["seen", "told"]'),
    ('when = { roof = "met" or "not-met" }', "extra-text", 1, 23, '["met", "not-met"]'),
    ('why = "He said "no" to it"', "quote-in-text", 1, 17, "backslash"),
    ('kind = "choice",', "extra-text", 1, 16, "Take the comma out"),
    ('kind = "choice";', "extra-text", 1, 16, "Take the semicolon out"),
    ('accept = "seen", "told"', "extra-text", 1, 16, "square brackets"),
    ('kind = "x" // note', "extra-text", 1, 12, "#"),
    ('accept = ["seen"\nkind = "x"', "unclosed-bracket", 1, 10, "before line 2"),
    ('accept = ["seen",\n\n[tree]\nid = "x"', "unclosed-bracket", 1, 10, "before line 3"),
    ("accept = [", "unclosed-bracket", 1, 10, "anywhere"),
    ('give = { a = "x"\n[tree]', "unclosed-bracket", 1, 8, "before line 2"),
    ('accept = ["seen" "told"]', "missing-comma", 1, 18, "comma"),
    ('accept = [\n"seen"\n"told"\n]', "missing-comma", 3, 1, "comma"),
    ("set = { a = 1,\n b = 2 }", "toml-1-1", 1, 15, "one line"),
    ("set = {\n # x\n a = 1,\n}", "toml-1-1", 3, 8, "one line"),
    ("set = { a = 1, }", "toml-1-1", 1, 14, "comma"),
    (r'why = "a\e"', "toml-1-1", 1, 9, "TOML 1.1"),
    (r'why = "a\x41"', "toml-1-1", 1, 9, "TOML 1.1"),
    (r'photo = "C:\photos"', "backslash", 1, 12, "'…'"),
    (r'why = "\uD800"', "backslash", 1, 8, "not the number of any character"),
    (r'why = "a\u001b[2J"', "control-character", 1, 9, "disturb"),
    (r'why = "a\u009b2J"', "control-character", 1, 9, "disturb"),
    (r'why = "a\r"', "control-character", 1, 9, "disturb"),
    (r'"a\u0007" = 1', "control-character", 1, 3, "disturb"),
    ("why = 'a\x1b[2J'", "control-character", 1, 9, "U+001B"),
    ("# a\x85", "control-character", 1, 4, "U+0085"),
    ("why = 'a\x7f'", "control-character", 1, 9, "U+007F"),
    ("why = 'a\ud800'", "control-character", 1, 9, "U+D800"),
    ("a = 1\rb = 2\rc = 3", "lone-return", 1, 6, "line ends"),
    ("a =\u00a01", "no-break-space", 1, 4, "U+00A0"),
    ("\u200ba = 1", "no-break-space", 1, 1, "U+200B"),
    ("a = [1,\u202f2]", "no-break-space", 1, 8, "U+202F"),
    ("a = " + "[" * 33 + "]" * 33, "too-deep", 1, 37, "32"),
    ("a" + ".a" * 32 + " = 1", "too-deep", 1, 1, "32"),
    ("a = " + "{a = " * 33, "too-deep", 1, 165, "32"),
]


@pytest.mark.parametrize(("text", "code", "line", "column", "said"), MISTAKES)
def test_each_mistake_is_named_and_placed_alone(
    text: str, code: str, line: int, column: int, said: str
) -> None:
    mistake = one(text)
    assert (mistake.code, mistake.place) == (code, Place(line, column))
    assert said in str(mistake)
    assert mistake.message[-1] not in ",;"
    assert mistake.message.isprintable()
    assert mistake.hint.isprintable()
    assert len(mistake.message) < 200
    assert len(mistake.hint) < 200


@pytest.mark.parametrize(("text", "code", "line", "column", "said"), MISTAKES)
def test_a_mistake_is_found_behind_a_byte_order_mark_and_with_crlf(
    text: str, code: str, line: int, column: int, said: str
) -> None:
    text = text.replace("\n", "\r\n")
    assert found("\ufeff" + text) == [(code, line, column)]


def test_everything_is_said_in_one_go() -> None:
    text = """\
[tree]
edition = 2026-10-01
kind = choice
why: "x"
joint.2/held-by = “clamp”
below = 1,5

[verdict]
id = "a"
[question.hole
ask = "Is it
open?"
then = "end"
then = "end"
"""
    assert found(text) == [
        ("unquoted-date", 2, 11),
        ("unquoted-text", 3, 8),
        ("colon", 4, 4),
        ("unquoted-key", 5, 1),
        ("curly-quotes", 5, 19),
        ("decimal-comma", 6, 9),
        ("single-brackets", 8, 1),
        ("missing-bracket", 10, 1),
        ("unclosed-text", 11, 7),
        ("duplicate-key", 14, 1),
    ]


def test_the_error_carries_the_first_mistake_and_counts_the_others() -> None:
    with pytest.raises(Refused) as caught:
        parse("a = b\nc = d\n", "some/hole.toml")
    assert caught.value.where == "some/hole.toml:1:5"
    assert caught.value.message == "b is a word without quotes. There is 1 more fault in this file."
    assert caught.value.hint == 'Put it in straight quotes: a = "b"'
    assert str(caught.value).startswith("some/hole.toml:1:5: b is")


def test_a_file_full_of_mistakes_is_given_up() -> None:
    with pytest.raises(Unreadable) as caught:
        parse("a = b\n" * 5000, "x")
    assert len(caught.value.mistakes) == 100
    assert "at least 99 more" in caught.value.message


def test_other_files_may_have_what_a_tree_has_several_of() -> None:
    assert parse("[verdict]\nid = 'x'", "record.toml", lists=()).data == {"verdict": {"id": "x"}}


def test_values_are_exact_and_the_digest_is_of_the_bytes() -> None:
    document = parse("a = 0.1\nb = 999999999999999999\nc = 1e30\nd = true\ne = 0.1e-3", "x")
    assert document.data == {
        "a": Decimal("0.1"), "b": 10**18 - 1, "c": Decimal("1e30"), "d": True, "e": Decimal("0.0001"),
    }  # fmt: skip
    assert isinstance(document.data["a"], Decimal)
    assert document.digest == hashlib.sha256(document.text.encode()).hexdigest()


def test_the_deepest_that_is_allowed_is_read() -> None:
    assert parse("a = " + "[" * 32 + "]" * 32, "x").data
    assert parse("a = " + "{a = " * 32 + "1" + "}" * 32, "x").data


# Files.


def refused(path: Path, most_bytes: int = 2_000_000) -> Mistake:
    with pytest.raises(Unreadable) as caught:
        read(path, most_bytes=most_bytes)
    (mistake,) = caught.value.mistakes
    return mistake


def test_a_file_is_read(tmp_path: Path) -> None:
    path = tmp_path / "hole.toml"
    path.write_bytes(b"\xef\xbb\xbfa = 1\r\nb = '\xc3\xa9'\r\n")
    document = read(path, "hole.toml")
    assert document.data == {"a": 1, "b": "é"}
    assert (document.name, document.text) == ("hole.toml", "a = 1\nb = 'é'\n")
    assert document.digest == hashlib.sha256(path.read_bytes()).hexdigest()
    assert document.place(("b",)) == Place(2, 5)
    assert read(path).name == str(path)


def test_a_missing_file_names_the_one_beside_it(tmp_path: Path) -> None:
    (tmp_path / "hole.toml").write_text("a = 1")
    mistake = refused(tmp_path / "hol.toml")
    assert (mistake.code, mistake.place) == ("no-file", None)
    assert str(tmp_path / "hole.toml") in mistake.hint
    assert "no folder" in refused(tmp_path / "nowhere" / "hole.toml").hint
    assert refused(tmp_path / "hole.toml" / "x.toml").code == "no-file"


def test_what_is_no_file_is_refused(tmp_path: Path) -> None:
    assert refused(tmp_path).code == "folder"
    os.mkfifo(tmp_path / "pipe.toml")
    assert refused(tmp_path / "pipe.toml").code == "not-a-file"
    assert refused(Path("/dev/zero")).code == "not-a-file"
    assert refused(tmp_path / ("x" * 5000)).code == "unreadable"
    assert refused(tmp_path / "a\0b").code in ("unreadable", "no-file")


def test_a_file_that_may_not_be_read_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "hole.toml"
    path.write_text("a = 1")

    def forbidden(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", forbidden)
    assert refused(path).code == "not-allowed"


def test_a_file_too_big_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "hole.toml"
    path.write_text("#" * 100)
    assert read(path, most_bytes=100).data == {}
    assert refused(path, most_bytes=99).code == "too-big"


@pytest.mark.parametrize(
    ("content", "place", "said"),
    [
        ("a = 1\nb = “é”\n".encode("cp1252"), Place(2, 5), "probably the sign “"),
        (b"a = 1\n\n\xff\xff", Place(3, 1), "line 3"),
        ("é = ".encode() + b"\x81", Place(1, 5), "81"),
        (b"\xef\xbb\xbfa\xff", Place(1, 2), "FF"),
        ("a = 1".encode("utf-16"), None, "UTF-16"),
        (("a = '“é𝒳”'\n" * 999).encode("utf-16"), None, "UTF-16"),
        ("a = 1".encode("utf-16-le"), None, "UTF-16"),
    ],
)
def test_what_is_not_utf_8_is_refused(tmp_path: Path, content: bytes, place: Place | None, said: str) -> None:
    path = tmp_path / "hole.toml"
    path.write_bytes(content)
    mistake = refused(path)
    assert (mistake.code, mistake.place) == ("not-utf-8", place)
    assert said in mistake.message
    assert "UTF-8" in mistake.hint


@pytest.mark.parametrize(
    "content",
    [
        bytes(range(256)),
        bytes(range(255, -1, -1)),
        b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR",
        b"\x7fELF\x02\x01\x01\0\0\xff",
        b"\0\0\0\x18ftyp",
        Random(1).randbytes(5000),
        b"\xff\xfe" + Random(2).randbytes(5000),
    ],
)
def test_what_is_not_text_is_called_that(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "photo.toml"
    path.write_bytes(content)
    mistake = refused(path)
    assert (mistake.code, mistake.place, mistake.message) == ("not-text", None, "This is not a text file.")
    assert mistake.hint == "Name a TOML file: one that a text editor can open."


# Nothing hangs.

SIZE = 1_000_000
HUGE = {
    "open brackets": "a = " + "[" * SIZE,
    "open brackets on lines": "a = [\n" * (SIZE // 6),
    "open braces": "a = " + "{" * SIZE,
    "headers never closed": "[" * SIZE,
    "quotes": '"' * SIZE,
    "quotes on lines": '"\n' * (SIZE // 2),
    "a text never closed": 'a = "' + "\\\\" * (SIZE // 2),
    "three quotes on lines": '"""\n' * (SIZE // 4),
    "a long text never closed": 'a = """' + '""\n' * (SIZE // 3),
    "dots": "a" + ".a" * (SIZE // 2) + " = 1",
    "dots in braces": "x = { a" + ".a" * (SIZE // 2) + " = 1 }",
    "dots in a header": "[a" + ".a" * (SIZE // 2) + "]",
    "one key again": "a = 1\n" * (SIZE // 6),
    "digits": "a = " + "9" * SIZE,
    "a long exponent": "a = 1e" + "9" * SIZE,
    "words": "a = " + "b " * (SIZE // 2),
    "prose": "word word\n" * (SIZE // 10),
    "commas": "a = [" + "," * SIZE,
    "dates": "a = [" + "2020-01-01," * (SIZE // 11),
    "control characters": "\x01" * SIZE,
    "returns": "\r" * SIZE,
    "no-break spaces": "\u00a0\n" * (SIZE // 2),
    "equals signs": "=\n" * (SIZE // 2),
    "spaces": " " * SIZE + "x",
}


@pytest.mark.parametrize("text", HUGE.values(), ids=HUGE)
def test_a_huge_bad_file_is_refused_at_once(text: str) -> None:
    started = time.perf_counter()
    with pytest.raises(Unreadable) as caught:
        parse(text, "x")
    assert all(len(shown(mistake, text)) < 1000 for mistake in caught.value.mistakes[:5])
    assert time.perf_counter() - started < 5


def test_time_grows_with_the_file_and_no_faster() -> None:
    def taken(count: int) -> float:
        text = "".join(f'[h.k{number}]\nx = ["a\\\\", 1.5, {{a.b = 1}}]\n' for number in range(count))
        started = time.perf_counter()
        parse(text, "x")
        return time.perf_counter() - started

    long, short = (min(taken(count) for _ in range(3)) for count in (6000, 750))
    assert long < 20 * max(short, 0.02)


# Showing a mistake.


def shown(mistake: Mistake, text: str) -> str:
    return complaint_text(mistake, lambda _: text)


def test_a_mistake_is_shown_with_its_line() -> None:
    text = "[tree]\n\tkind = choice\n"
    mistake = one(text)
    assert shown(mistake, text).split("\n") == [
        "hole.toml:2:9: unquoted-text: choice is a word without quotes.",
        "  2 |  kind = choice",
        "    |         ^^^^^^",
        '  help: Put it in straight quotes: kind = "choice"',
    ]


def test_a_long_line_is_cut_round_the_mistake() -> None:
    line, caret = pointed("x" * 500 + "!" + "y" * 500, Place(1, 501))
    assert len(line) < 90
    assert line[caret.index("^")] == "!"


def test_nothing_shown_disturbs_the_terminal() -> None:
    text = "a = \x1b]0;x\x07 \u202e\n"
    with pytest.raises(Unreadable) as caught:
        parse(text, "h\x1bole.toml")
    for mistake in caught.value.mistakes:
        assert shown(mistake, text).replace("\n", "").isprintable()
    assert safely("a\x1b\nb") == "a··b"


@pytest.mark.parametrize(
    ("word", "near"),
    [
        ("edtion", "edition"),
        ("Then", "then"),
        ("applies_to", "applies-to"),
        ("zzz", None),
        ("", None),
        ("unacceptable", "not-acceptable"),
        ("acceptably", "acceptable"),
        ("unmet", "not-met"),
        ("notmet", "not-met"),
        ("mett", "met"),
        ("unsure", None),
    ],
)
def test_the_nearest_name_is_found(word: str, near: str | None) -> None:
    names = [
        "edition",
        "then",
        "applies-to",
        "title",
        "acceptable",
        "not-acceptable",
        "met",
        "not-met",
        "sure",
    ]
    assert nearest(word, names) == near


def test_the_door_is_light() -> None:
    code = "import sys, assistant.tree.toml; print(*sorted(sys.modules))"
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert not {"difflib", "hashlib", "pydantic", "textual", "click"} & set(ran.stdout.split())
