"""Every code that a mistake can carry: listed once, raised somewhere, and shown by a small broken tree."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import assistant
from assistant.session.prove import work_out
from assistant.tree import toml
from assistant.tree.codes import CODES, GROUPS
from assistant.tree.load import load_text
from assistant.tree.mistakes import Mistake, Unreadable
from assistant.tree.scan import Scan
from tests.tree.test_load import ONE_MISTAKE, edited, mistakes, place
from tests.tree.test_misled import ONE
from tests.tree.test_toml import MISTAKES
from tests.writing import FINDINGS, VERDICTS, banded, choice, number, whole

PACKAGE = Path(assistant.__file__).parent
CALLS = {"slip": 1, "Mistake": 2, "Finding": 1, "refused": 0, "Breach": 0, "fault": 0, "Fault": 0}
"""Calls that raise a code, and which of their arguments it is; in some modules `slip` has it first."""

ELSEWHERE = {"no-file", "folder", "not-a-file", "not-allowed", "unreadable", "too-big", "not-text", "not-utf-8",
             "file-name", "added-ending", "other-file", "visits-too-deep", "not-declared"}  # fmt: skip
"""Loading codes that tests with files of their own provoke: tests/tree/test_toml.py and test_load.py."""


def literals(node: ast.expr) -> Iterator[str]:
    """The texts that an expression can be, as patterns."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield re.escape(node.value)
    elif isinstance(node, ast.IfExp):
        yield from literals(node.body)
        yield from literals(node.orelse)
    elif isinstance(node, ast.JoinedStr):
        yield "".join(
            re.escape(str(part.value)) if isinstance(part, ast.Constant) else "[a-z-]+"
            for part in node.values
        )


def raised() -> Iterator[tuple[str, str]]:
    """Every code that some call raises, as a pattern, with where."""
    for path in PACKAGE.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.Call):
                continue
            name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
            for argument in node.args[CALLS.get(name, 99) :][:1] + (node.args[:1] if name == "slip" else []):
                for pattern in literals(argument):
                    if re.fullmatch(r"[a-z0-9\\-]+(\[a-z-\]\+)?", pattern):
                        yield pattern, f"{path.name}:{node.lineno}"


def test_every_code_that_is_raised_is_listed() -> None:
    lost = [(code, where) for code, where in raised() if not any(re.fullmatch(code, one) for one in CODES)]
    assert lost == []


def test_every_code_that_is_listed_is_raised() -> None:
    words = {
        pattern
        for path in PACKAGE.rglob("*.py")
        if path.name != "codes.py"
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Constant | ast.JoinedStr)
        for pattern in literals(node)
        if re.fullmatch(r"[a-z0-9\\-]+(\[a-z-\]\+)?", pattern)
    }
    unraised = {one for one in CODES if not any(re.fullmatch(word, one) for word in words)}
    assert not unraised


@pytest.mark.parametrize("code", CODES)
def test_a_code_is_explained_in_plain_sentences(code: str) -> None:
    entry = CODES[code]
    assert re.fullmatch(r"[a-z][a-z0-9]*(-[a-z0-9]+)*", code)
    assert 0 <= entry.group < len(GROUPS)
    for text in (entry.means, entry.mend):
        assert text[-1] in '."”*'
        assert "  " not in text
        assert len(text) < 200


def test_the_groups_stand_in_their_order() -> None:
    groups = [entry.group for entry in CODES.values()]
    assert groups == sorted(groups)


# Loading: what the tables of the other tests leave out


def bare(body: str, first: str = "age") -> str:
    return whole(body, first)


NOT_LOADING = {
    "no-header": (edited(("[[question.hole.band]]\nbelow", "[[question.hol.band]]\nbelow")), "question.◊hol.band]"),
    "missing-header": (
        edited(("[finding.good]\n", ""), ('finding = "good"\n', "")), '◊requirement = "sound"\neffect = "meets"'),
    "double-brackets": (edited(("[question.age.not-sure]", "[[question.age.not-sure]]")), "[[question.age.not-sure]]"),
    "no-answers": (bare('[question.age]\nkind = "choice"\nask = "Is it?"\nthen = "end"\nmust-answer = true\n'), "question.◊age"),
    "no-bands": (
        bare('[working.gap]\nrun = "annular-gap"\nset = { hole_mm = 9, flue_mm = 6 }\nbranch-on = "gap_mm"\nband = []\n'
             'then = "end"\n', "gap"), "working.◊gap"),
}  # fmt: skip


@pytest.mark.parametrize("code", NOT_LOADING)
def test_a_tree_that_does_not_load_says_why_at_the_place(code: str, tmp_path: Path) -> None:
    (tmp_path / "part.toml").write_text(
        whole(choice("age", "new > end", "old > end", unsure='then = "end"'), "age", tree_id="part")
    )
    text, sign = NOT_LOADING[code]
    [mistake] = mistakes(lambda text: load_text(text, "small.toml", tmp_path), text)
    assert (mistake.code, mistake.place) == (code, place(text, sign))


def test_a_tree_of_too_many_steps_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("assistant.tree.refer.MOST_STEPS", 1)
    text = whole(choice("age", "new > kin", "old > end") + choice("kin", "a > end"), "age")
    [mistake] = mistakes(lambda text: load_text(text, "small.toml"), text)
    assert (mistake.code, mistake.place) == ("too-many-steps", place(text, "tree]"))


def test_what_only_the_toml_reader_finds_is_passed_on(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Scan, "run", lambda scan: None)
    with pytest.raises(Unreadable) as refused:
        toml.parse("a = 1\nb = = 2\n", "small.toml")
    [mistake] = refused.value.mistakes
    assert (mistake.code, mistake.place) == ("toml-syntax", (2, 5))


# Proofs


def findings(*names: str) -> str:
    """The findings of these names alone, so that none is unused."""
    tables = re.split(r"\n(?=\[finding)", FINDINGS)
    return "\n".join(table for table in tables if any(f"[finding.{name}]" in table for name in names))


def proof_tree(body: str, first: str, *names: str, **rest: str) -> str:
    return whole(body, first, findings="\n" + findings(*names) + "\n", **rest)


STOP = '[[verdict]]\nid = "stop"\ntitle = "Stop"\nsays = "Stop."\noutcome = "stop"\ndo = []\n'
TWO = choice("fixing", "screws ! good > end", "none ! bad > end")
LOOKS = '[recall.again]\nquestion = "fixing"\n[[recall.again.answer]]\nid = "screws"\nthen = "end"\n'
PART = whole(
    choice("age", "new ! good > end", "old ! bad > end"),
    "age",
    tree_id="part",
    findings="\n" + findings("good", "bad"),
)

PROOFS = {
    # the code, the tree, and where it is told
    "goes-round": (proof_tree(choice("a", "x ! good > b") + choice("b", "y ! bad > a", "z > end"), "a", "good", "bad"), '◊then = "b"'),
    "unreachable": (proof_tree(TWO + choice("kin", "a > end"), "fixing", "good", "bad"), "question.◊kin]"),
    "unused": (proof_tree(TWO, "fixing", "good", "bad", "note"), "finding.◊note]"),
    "unused-requirement": (proof_tree(TWO, "fixing", "good", "bad", requirements=("sound", "dry")), "requirement.◊dry]"),
    "finds-nothing": (proof_tree(choice("fixing", "screws ! good > end", "none > end"), "fixing", "good"), '[[question.fixing.◊answer]]\nid = "none"'),
    "never-given": (proof_tree(choice("fixing", "screws ! good > end"), "fixing", "good"), '[[◊verdict]]\nid = "unsound"'),
    "unreachable-band": (
        proof_tree(
            number("deep", "below = 10 ! bad > end", " ! good > again")
            + '[recall.again]\nquestion = "deep"\nthen = "end"\n' + banded("recall.again", "below = 5") + "\n"
            + banded("recall.again", "") + "\n", "deep", "good", "bad"),
        "recall.again.◊band]]\nbelow"),
    "never-taken": (
        proof_tree(choice("fixing", "screws ! good > again", "none ! bad > end") + LOOKS + '[[recall.again.answer]]\nid = "none"\n'
                   'finding = "note"\nthen = "end"\n', "fixing", "good", "bad", "note"),
        'recall.again.◊answer]]\nid = "none"'),
    "not-ascending": (proof_tree(number("deep", "below = 9 ! bad > end", "below = 5 > end", " ! good > end"), "deep", "good", "bad"),
                      "question.deep.◊band]]\nbelow = 5"),
    "empty-band": (proof_tree(number("deep", "below = 0 ! bad > end", " ! good > end"), "deep", "good", "bad"),
                   "question.deep.◊band]]\nbelow = 0"),
    "recall-not-asked": (
        proof_tree(choice("kin", "a > fixing", "b > again") + choice("fixing", "screws ! good > again") + LOOKS, "kin", "good"),
        '◊question = "fixing"'),
    "recall-leaves-out": (proof_tree(choice("fixing", "screws ! good > again", "none ! bad > again") + LOOKS, "fixing", "good", "bad"),
                          "recall.◊again]"),
    "not-sure-missing": (proof_tree(choice("fixing", "screws ! good > again", unsure='then = "again"') + LOOKS, "fixing", "good"),
                         "recall.◊again]"),
    "nothing-to-count": (
        proof_tree(choice("kin", "a > pipes", "b > things") + number("pipes", " > things", kind="count", unit="", most="3")
                   + '[each.things]\ncount = "pipes"\ntree = "part"\nthen = "end"\n', "kin"),
        "each.◊things]"),
    "given-not-known": (
        proof_tree(choice("age", "new > once", "old > once", unsure='then = "once"')
                   + '[visit.once]\ntree = "part"\nthen = "end"\ngiven = { age = "age" }\n', "age"),
        "visit.◊once]"),
    "given-not-taken": (
        proof_tree(choice("age", "new > once", "worn > once") + '[visit.once]\ntree = "part"\nthen = "end"\ngiven = { age = "age" }\n',
                   "age"),
        "visit.◊once]"),
    "no-why": (proof_tree(TWO.replace('why = "It matters."\n', ""), "fixing", "good", "bad"), "question.◊fixing]\nkind"),
    "no-look": (proof_tree(TWO.replace('look = "Look."\n', ""), "fixing", "good", "bad"), "question.◊fixing]\nkind"),
    "no-source": (proof_tree(TWO.replace('source = "trade"\n', ""), "fixing", "good", "bad"), "question.◊fixing]\nkind"),
    "no-not-sure": (proof_tree(TWO.replace("must-answer = true\n", ""), "fixing", "good", "bad"), "question.◊fixing]\nkind"),
    "no-verdict": (proof_tree(TWO, "fixing", "good", "bad", verdicts=VERDICTS.split("[[verdict]]\nid = \"unsound\"")[0]), "[◊tree]"),
    "masked-verdict": (proof_tree(TWO, "fixing", "good", "bad", verdicts=VERDICTS + STOP), '[[◊verdict]]\nid = "stop"'),
    "unsafe-pass": (proof_tree(TWO, "fixing", "good", "bad", verdicts=VERDICTS.replace('all = "met"', 'any = ["met", "not-met"]')),
                    '[[◊verdict]]\nid = "sound"'),
    "not-judged-pass": (proof_tree(TWO.replace("screws ! good", "screws"), "fixing", "good", "bad", verdicts=VERDICTS.replace('"met"', '["met", "not-judged"]'))
                        .replace('finding = "good"\n', ""), '[[◊verdict]]\nid = "sound"'),
    "danger-goes-on": (proof_tree(TWO.replace('"bad"', '"worse"'), "fixing", "good", "worse"), '[[◊verdict]]\nid = "unsound"'),
    "nothing-puts-right": (proof_tree(TWO, "fixing", "good", "bad"), 'question.fixing.◊answer]]\nid = "none"'),
}  # fmt: skip


def proved(text: str, beside: Path) -> list[Mistake]:
    (beside / "part.toml").write_text(PART)
    proof = work_out(load_text(text, "small.toml", beside))
    return [*proof.complaints, *proof.remarks]


@pytest.mark.parametrize("code", PROOFS)
def test_a_tree_that_fails_a_proof_says_so_at_the_place(code: str, tmp_path: Path) -> None:
    text, sign = PROOFS[code]
    found = [mistake for mistake in proved(text, tmp_path) if mistake.file == "small.toml"]
    assert (code, place(text, sign)) in [(mistake.code, mistake.place) for mistake in found]
    assert {mistake.code for mistake in found} <= set(CODES)


def test_every_code_of_a_tree_is_provoked_by_a_broken_one() -> None:
    shown = (
        {row[2] for row in ONE_MISTAKE}
        | {row[1] for row in MISTAKES}
        | {row[2] for row in ONE}
        | set(NOT_LOADING)
        | set(PROOFS)
        | ELSEWHERE
    )
    shown |= {
        "too-many-steps",
        "too-many-ways",
        "toml-syntax",
        "past-review",
        "not-proven",
        "words-and-numbers",
        "no-unit",
    }
    assert {code for code, entry in CODES.items() if entry.group} - shown == set()
    assert shown - set(CODES) == set()


def test_a_tree_of_too_many_ways_says_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for limit in ("MOST_EXACT", "MOST_NODES"):
        monkeypatch.setattr(f"assistant.tree.survey.graph.{limit}", 0)
    text = proof_tree(TWO, "fixing", "good", "bad")
    [found] = [mistake for mistake in proved(text, tmp_path) if mistake.code == "too-many-ways"]
    assert found.place == place(text, "[◊tree]")
