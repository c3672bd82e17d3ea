"""`check`: what it prints about a tree, what it writes, and how it ends."""

from __future__ import annotations

import io
import json
import re
import sys
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace
from typing import Any, NamedTuple

import pytest

from assistant.cli import main
from assistant.render.complaints import MOST_ALIKE, complaint_text, complaints_text
from assistant.session.prove import Proof
from assistant.tree.mistakes import Label, Mistake, Place
from tests.tree.test_codes import PROOFS, TWO, proof_tree

WORK = '\nput-right = "Put screws in."\neffort = 2'
GOOD = proof_tree(TWO, "fixing", "good", "bad").replace(
    'says = "It is screws"', f'says = "It is screws"{WORK}'
)
WITNESS = '# unsafe-pass\ntree = "small.toml"\n\n[facts]\n"fixing" = "none"\n'


class Ended(NamedTuple):
    status: int
    out: str
    err: str

    @property
    def trees(self) -> list[dict[str, Any]]:
        trees: list[dict[str, Any]] = json.loads(self.out)["trees"]
        return trees


Run = Callable[..., Ended]


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    monkeypatch.chdir(tmp_path)
    Path("small.toml").write_text(GOOD)

    def run(*arguments: str) -> Ended:
        monkeypatch.setattr(sys, "argv", ["throughwall", "check", *arguments])
        with pytest.raises(SystemExit) as end:
            main()
        assert isinstance(end.value.code, int)
        return Ended(end.value.code, *capsys.readouterr())

    return run


def broken(name: str, *edits: tuple[str, str]) -> str:
    text = GOOD.replace('"small"', f'"{name}"')
    for old, new in edits:
        assert old in text
        text = text.replace(old, new)
    Path(f"{name}.toml").write_text(text)
    return f"{name}.toml"


def unsafe(
    monkeypatch: pytest.MonkeyPatch, *complaints: Mistake, remarks: list[Mistake] | None = None
) -> None:
    """Let the proofs come to these complaints."""
    proof = Proof(list(complaints), not complaints, remarks or [])
    monkeypatch.setattr("assistant.session.prove.work_out", lambda tree: proof)


def fault(witness: str = WITNESS, line: int = 34, code: str = "unsafe-pass") -> Mistake:
    return Mistake("small.toml", Place(line, 1), code, "it passes.", "Mend it.", (), witness)


# What is printed


def test_a_tree_that_passes_is_told_in_one_line(run: Run) -> None:
    assert run("small.toml") == (0, "small.toml: passed\n", "")


def test_a_fault_has_its_line_a_caret_and_help(run: Run) -> None:
    ended = run(broken("typo", ("why =", "wyh =")))
    assert ended.status == 1
    assert ended.out == (
        "typo.toml:22:1: unknown-key: `wyh` is not a key of [question.fixing].\n"
        '  22 | wyh = "It matters."\n'
        "     | ^^^\n"
        "  help: Did you mean `why`?\n"
        "\n"
        "typo.toml: 1 fault. The rest is looked at once this is mended.\n"
    )
    assert ended.err == "What a code means: throughwall check --explain unknown-key\n"


def test_where_two_places_conflict_both_are_shown(run: Run) -> None:
    out = run(broken("twice", ('why = "It matters."', 'why = "It matters."\nwhy = "Again."'))).out
    assert '  23 | why = "Again."\n     | ^^^\n' in out
    assert '  22 | why = "It matters."\n     | ^^^ said first here\n' in out


def test_another_place_in_another_file_names_that_file(run: Run) -> None:
    Path("other.toml").write_text("a = 1\nb = 2\n")
    mistake = Mistake(
        "small.toml", Place(1, 1), "both", "Two.", "", (Label(Place(2, 1), "the other", "other.toml"),)
    )
    told = complaint_text(mistake, lambda file: Path(file).read_text())
    assert told.endswith("   in other.toml:2:1\n  2 | b = 2\n    | ^ the other")


def test_faults_stand_in_the_order_of_the_file_and_all_at_once(run: Run) -> None:
    ended = run(
        broken(
            "several",
            ("why =", "wyh ="),
            ('first = "fixing"', 'first = "fixng"'),
            ("[[verdict]]", "[[verdict]]\nx = 1"),
        )
    )
    heads = re.findall(r"^several\.toml:(\d+):\d+: ([a-z-]+):", ended.out, flags=re.MULTILINE)
    assert [int(line) for line, _ in heads] == sorted(int(line) for line, _ in heads)
    assert [code for _, code in heads] == [
        "unknown-step",
        "unknown-key",
        "unknown-key",
        "unknown-key",
        "unknown-key",
    ]


def test_many_alike_are_cut_short_in_words_and_never_in_data(run: Run) -> None:
    lines = "".join(f"x{number} = 1\n" for number in range(MOST_ALIKE + 37))
    name = broken("many", ('kind = "choice"\n', f'kind = "choice"\n{lines}'))
    ended = run(name)
    assert ended.out.count("unknown-key: `x") == MOST_ALIKE
    assert "many.toml: unknown-key: and 37 more like this, in lines 31, 32, 33" in ended.out
    assert len(run("--json", name).trees[0]["complaints"]) == MOST_ALIKE + 37


def test_one_bad_tree_does_not_stop_the_others(run: Run) -> None:
    ended = run(broken("typo", ("why =", "wyh =")), "gone.toml", "small.toml")
    assert ended.status == 2
    assert ended.out.endswith(
        "typo.toml: 1 fault. The rest is looked at once this is mended.\ngone.toml: could not be read\nsmall.toml: passed\n"
    )
    assert "There is no file gone.toml." in ended.err


def test_what_is_found_in_a_visited_tree_is_told_once(run: Run) -> None:
    Path("part.toml").write_text(GOOD.replace('"small"', '"part"').replace('why = "It matters."\n', ""))
    for name in ("one", "two"):
        steps = '[visit.it]\ntree = "part"\nthen = "end"\n'
        Path(f"{name}.toml").write_text(proof_tree(steps, "it", tree_id=name))
    ended = run("one.toml", "two.toml")
    assert ended.status == 1
    assert ended.out.count("no-why") == 1
    assert ended.out.count(" fault") == 2


@pytest.mark.parametrize(
    ("name", "status"),
    [
        ("small.toml", 0),
        ("typo.toml", 1),
        ("gone.toml", 2),
        (".", 2),
        ("no-such-tree", 2),
        ("photo.toml", 2),
        ("old.toml", 1),
    ],
)
def test_how_it_ends(run: Run, name: str, status: int) -> None:
    broken("typo", ("why =", "wyh ="))
    Path("photo.toml").write_bytes(b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR")
    Path("old.toml").write_bytes("a = 'é'".encode("latin-1"))
    assert run(name).status == run("--json", name).status == status


def test_without_a_name_every_installed_tree_is_checked(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    unsafe(monkeypatch)
    ended = run()
    assert ended.status == 0
    assert [line.partition(":")[0] for line in ended.out.splitlines()] == [
        "depth.toml", "joint.toml", "sealant.toml", "through-wall.toml",
    ]  # fmt: skip


@pytest.mark.parametrize(
    "content",
    [GOOD.encode(), b"a = \n", b"a = 'x\x1b[2J'\n", b"\xff\xfe", GOOD.replace("why", "wyh").encode()],
)
def test_a_tree_may_be_piped_in(run: Run, monkeypatch: pytest.MonkeyPatch, content: bytes) -> None:
    monkeypatch.setattr(sys, "stdin", SimpleNamespace(buffer=io.BytesIO(content)))
    ended = run("-")
    assert ended.status == (0 if content == GOOD.encode() else 1)
    assert "<stdin>" in ended.out
    assert ended.out.replace("\n", "").isprintable()
    if b"wyh" in content:
        assert '  22 | wyh = "It matters."' in ended.out


def test_a_review_that_is_due_is_remarked_upon(run: Run) -> None:
    ended = run(broken("old", ("defer =", 'review-by = "2020-01"\ndefer =')))
    assert ended.status == 0
    assert "old.toml:10:13: remark: past-review: this tree was to be looked through by 2020-01" in ended.out
    assert ended.out.endswith("old.toml: passed, 1 remark\n")


def test_remarks_never_make_it_fail(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    unsafe(monkeypatch, remarks=[fault(code="not-proven")])
    ended = run("small.toml")
    assert ended.status == 0
    assert "small.toml:34:1: remark: not-proven: it passes." in ended.out


# A terminal


def wide(text: str) -> int:
    return max(len(line) for line in text.splitlines())


def test_messages_fold_at_the_width_of_the_terminal() -> None:
    mistake = Mistake(
        "small.toml", Place(1, 60), "code", "word " * 60, "help " * 60, (Label(Place(1, 3), "said " * 20),)
    )
    told = complaint_text(mistake, lambda _: "x" * 300, 80)
    assert wide(told) <= 80
    caret = next(line for line in told.splitlines() if line.strip(" |") and set(line.strip(" |")) == {"^"})
    assert len(caret) <= 80


@pytest.mark.parametrize("column", [1, 40, 75, 76, 150, 299, 300])
def test_a_long_line_is_cut_round_the_caret(column: int) -> None:
    line = "." * (column - 1) + "!" + "." * (300 - column)
    shown, caret = complaint_text(
        Mistake("x", Place(1, column), "c", "Wrong."), lambda _: line, 80
    ).splitlines()[1:]
    assert len(shown) <= 80
    assert shown[caret.index("^")] == "!"


def test_wide_and_combining_signs_do_not_move_the_caret() -> None:
    text = "a = 'é\u0301漢字' b"
    caret = complaint_text(
        Mistake("x", Place(1, text.index(" b") + 2), "c", "Wrong."), lambda _: text
    ).splitlines()[-1]
    assert caret == "    | " + " " * 12 + "^"


def test_colour_only_repeats_what_is_said() -> None:
    mistake = Mistake(
        "small.toml", Place(1, 5), "code", "Wrong.", "Write it.", (Label(Place(1, 1), "first"),)
    )
    plain = complaint_text(mistake, lambda _: "a = b")
    painted = complaint_text(mistake, lambda _: "a = b", paint=lambda role, text: f"<{role}>{text}</>")
    assert re.sub(r"<[a-z]*>|</>", "", painted) == plain
    assert {"place", "code", "caret", "help"} == set(re.findall(r"<([a-z]+)>", painted))


@pytest.mark.parametrize("text", ["a = \x1b]0;x\x07 \u202e", "\x9b2J\ttab", "\r\n\r\n"])
def test_nothing_from_a_file_disturbs_the_terminal(text: str) -> None:
    mistake = Mistake(
        f"{text}.toml", Place(1, 3), "code", text, text, (Label(Place(1, 1), text, text),), text
    )
    for width in (None, 80):
        told = complaints_text([mistake] * (MOST_ALIKE + 2), lambda _: text, width)
        assert told.replace("\n", "").isprintable()


def test_a_place_that_is_not_there_is_told_without_a_line() -> None:
    assert complaint_text(Mistake("x", Place(9, 1), "c", "Wrong."), lambda _: "a") == "x:9:1: c: Wrong."
    assert complaint_text(Mistake("x", None, "c", "Wrong."), lambda _: None) == "x: c: Wrong."


# Witnesses


def test_the_answers_that_show_a_fault_are_printed_to_be_copied(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    unsafe(monkeypatch, fault())
    assert (
        "  help: Mend it.\n"
        "  these answers show it, as a facts file:\n"
        '    tree = "small.toml"\n'
        "    [facts]\n"
        '    "fixing" = "none"\n'
        "  see it: save them as facts.toml, then type: throughwall judge --unproven facts.toml\n"
    ) in run("small.toml").out


def test_many_answers_are_only_counted(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    unsafe(monkeypatch, fault(WITNESS + "".join(f'"a{number}" = 1\n' for number in range(40))))
    assert "  41 answers show it: --witnesses DIR writes them down, for `judge`.\n" in run("small.toml").out


def test_witnesses_are_written_once_each_and_over_nothing(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    other = WITNESS.replace('"none"', '"screws"')
    unsafe(monkeypatch, fault(), fault(other, 35), fault("", 36))
    Path("w").mkdir()
    Path("w/unsafe-pass-1.toml").write_text("mine")
    for _ in range(2):
        ended = run("--witnesses", "w", "small.toml")
        assert "  see it: throughwall judge --unproven w/unsafe-pass-2.toml\n" in ended.out
        assert "  see it: throughwall judge --unproven w/unsafe-pass-3.toml\n" in ended.out
        assert "facts file" not in ended.out
    assert sorted(path.name for path in Path("w").iterdir()) == [
        f"unsafe-pass-{number}.toml" for number in (1, 2, 3)
    ]
    assert Path("w/unsafe-pass-1.toml").read_text() == "mine"
    assert 'tree = "../small.toml"' in Path("w/unsafe-pass-2.toml").read_text()


def test_the_command_line_that_is_told_shows_the_fault(
    run: Run, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    Path("small.toml").write_text(PROOFS["unsafe-pass"][0])
    out = run("--witnesses", "deep/er", "small.toml").out
    said = re.search(r"unsafe-pass: .*?see it: (throughwall judge .*?)\n", out, flags=re.DOTALL)
    assert said is not None
    monkeypatch.setattr(sys, "argv", said[1].split())
    with pytest.raises(SystemExit) as end:
        main()
    judged = capsys.readouterr()
    assert end.value.code == 0, judged.err
    assert "not met" in judged.out.casefold()


def test_a_folder_that_cannot_be_written_is_refused(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    unsafe(monkeypatch, fault())
    ended = run("--witnesses", "small.toml/w", "small.toml")
    assert ended.status == 2
    assert "Name another folder with --witnesses." in ended.err


# --json


def test_the_data_has_its_keys_in_order(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    label = Label(Place(3, 1), "the other")
    unsafe(monkeypatch, fault()._replace(also=(label,)), remarks=[fault("", 1, "never-given")])
    ended = run("--json", "small.toml")
    assert (ended.status, ended.err) == (1, "")
    [tree] = ended.trees
    assert list(json.loads(ended.out)) == ["format", "trees"]
    assert list(tree) == ["id", "file", "digest", "proven", "complaints", "remarks", "error"]
    assert (tree["id"], tree["file"], tree["proven"], tree["error"]) == ("small", "small.toml", False, None)
    assert re.fullmatch("[0-9a-f]{64}", tree["digest"])
    assert tree["complaints"] == [
        {"file": "small.toml", "line": 34, "column": 1, "code": "unsafe-pass", "message": "it passes.", "hint": "Mend it.",
         "also": [{"file": "small.toml", "line": 3, "column": 1, "says": "the other"}], "witness": WITNESS}
    ]  # fmt: skip
    assert [remark["witness"] for remark in tree["remarks"]] == [None]


def test_a_tree_that_does_not_load_or_is_not_there_is_data_too(run: Run) -> None:
    [bad, gone] = run("--json", broken("typo", ("why =", "wyh =")), "gone.toml").trees
    assert (bad["id"], bad["file"], bad["digest"], bad["proven"]) == (None, "typo.toml", None, False)
    assert [complaint["code"] for complaint in bad["complaints"]] == ["unknown-key"]
    assert gone["error"]["message"] == "There is no file gone.toml."


# --explain


def test_a_code_is_explained(run: Run) -> None:
    ended = run("--explain", "no-way-on")
    assert ended.status == 0
    assert ended.out.startswith("no-way-on\n\nGroup: 1. Loading")
    assert "What it means: Nothing says where to go" in ended.out
    assert "What to do: Write `then`" in ended.out


@pytest.mark.parametrize(
    ("code", "hint"),
    [("no-way", 'Did you mean "no-why"?'), ("zzzz", "There are: added-ending, after-header, ")],
)
def test_a_code_that_is_none_is_refused(run: Run, code: str, hint: str) -> None:
    ended = run("--explain", code)
    assert (ended.status, ended.out) == (2, "")
    assert hint in ended.err
