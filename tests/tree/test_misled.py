"""Slips of people who never programmed: each told at its root, with what they should write in their own words."""

from __future__ import annotations

import pytest

from assistant.session.prove import work_out
from assistant.tree.load import load_text
from assistant.tree.mistakes import Mistake, Unreadable
from tests.tree.guard import GUARD

Edits = tuple[tuple[str, str], ...]


def spoilt(*edits: tuple[str, str]) -> str:
    text = GUARD
    for old, new in edits:
        assert old in text, old
        text = text.replace(old, new, 1)
    return text


def told(*edits: tuple[str, str]) -> list[Mistake]:
    """Everything that is told of the tree so spoilt, from writing to proofs."""
    try:
        tree = load_text(spoilt(*edits), "guard.toml")
    except Unreadable as error:
        return list(error.mistakes)
    proof = work_out(tree)
    return [*proof.complaints, *proof.remarks]


def line_of(at: str, *edits: tuple[str, str]) -> int:
    text = spoilt(*edits)
    return text[: text.index(at)].count("\n") + 1


def test_the_tree_itself_is_without_fault() -> None:
    assert told() == []


def change(old: str, new: str) -> Edits:
    return ((old, new),)


ANSWER_YES = 'also = ["guarded"]\nthen = "gap"'
UNDER_YES = 'Write `then = …` under the answer "Yes" (line 41): gap, firm or end.'
LESS = "below = 50 – it already means less than 50."
MEANT_STOP = 'Did you mean "verdict:not-settled"?'

ONE = [
    # a way on
    (change(ANSWER_YES, 'also = ["guarded"]'), "answer]]", "no-way-on", UNDER_YES),
    (change('finding = "no-guard"\nthen = "end"', 'finding = "no-guard"'), 'answer]]\nid = "missing"', "no-way-on", 'under the answer "No guard" (line 49): gap, firm or end.'),
    *[
        (change('finding = "not-seen"\nthen = "end"', f'finding = "not-seen"\nthen = "{written}"'), f'then = "{written}"', "unknown-step", hint)
        for written, hint in (
            ("verdict: not-settled", MEANT_STOP), ("not-settled", MEANT_STOP), ("verdict.not-settled", MEANT_STOP),
            ("verdict not-settled", MEANT_STOP), ("Verdict:not-settled", MEANT_STOP), ("verdict:  Not settled", MEANT_STOP),
            ("verdikt:not-setled", MEANT_STOP), ("not-setled", MEANT_STOP),
            ("question.gap", 'Did you mean "gap"?'), ("[question.gap]", 'Did you mean "gap"?'), ("question gap", 'Did you mean "gap"?'),
            ("Gap", 'Did you mean "gap"? Ids are written in lower case.'), ("gap.", 'Did you mean "gap"?'),
            ("End", 'Did you mean "end"?'), ("the end", 'Did you mean "end"?'), ("finish", 'Did you mean "end"?'),
            ("How far is the guard from the terminal?", 'That is its wording; write its id: "gap".'),
            ("how far is the guard from the terminal", 'That is its wording; write its id: "gap".'),
            ("Too little is known", 'That is its title; write its id: "verdict:not-settled".'),
        )
    ],
    (change('finding = "not-seen"\nthen = "end"', 'finding = "not-seen"\nthen = "verdict:not-setled"'), "then = \"verdict:not-setled", "unknown-verdict", 'Did you mean "not-settled"?'),
    # a title for an id, several in one, capitals
    (change('requirement = "free"', 'requirement = "Free to breathe"'), 'requirement = "Free to breathe"', "unknown-requirement", 'That is its title; write its id: "free".'),
    (change('requirement = "free"', 'requirement = "Free"'), 'requirement = "Free"', "unknown-requirement", 'Did you mean "free"? Ids are written in lower case.'),
    (change('requirement = "free"', 'requirement = "requirement.free"'), 'requirement = "requirement.free"', "unknown-requirement", 'Did you mean "free"?'),
    (change('source = "practice"', 'source = "Common practice of the trade"'), 'source = "Common practice of the trade"', "unknown-source", 'That is its title; write its id: "practice".'),
    (change('source = ["practice", "standard"]', 'source = "practice, standard"'), 'source = "practice, standard"', "unknown-source", 'Several are a list: source = ["practice", "standard"]'),
    (change('source = ["practice", "standard"]', 'source = "practice and standard"'), 'source = "practice and standard"', "unknown-source", 'Several are a list: source = ["practice", "standard"]'),
    (change('finding = "no-guard"', 'finding = "no-guard, near"'), 'finding = "no-guard, near"', "unknown-finding", 'Several are a list: finding = ["no-guard", "near"]'),
    (change('finding = "no-guard"', 'finding = "People can touch the hot terminal"'), 'finding = "People can touch the hot terminal"', "unknown-finding", 'That is its reason; write its id: "no-guard".'),
    (change('finding = "no-guard"', 'finding = "finding.no-guard"'), 'finding = "finding.no-guard"', "unknown-finding", 'Did you mean "no-guard"?'),
    (change('finding = "no-guard"', 'finding = "no guard"'), 'finding = "no guard"', "unknown-finding", 'Did you mean "no-guard"?'),
    (change('finding = "no-guard"', 'finding = "no_guard"'), 'finding = "no_guard"', "unknown-finding", 'Did you mean "no-guard"?'),
    (change("when = { all =", "when = { All ="), "when = { All =", "unknown-requirement", 'Did you mean "all"? Ids are written in lower case.'),
    (change("when = { all =", "when = { Free ="), "when = { Free =", "unknown-requirement", 'Did you mean "free"? Ids are written in lower case.'),
    # ids
    (change('id = "missing"', 'id = "not-sure"'), 'id = "not-sure"', "reserved-id", "write its lines below [question.fitted.not-sure]"),
    (change('id = "missing"', 'id = "Missing guard"'), 'id = "Missing guard"', "bad-id", "begins with a letter: missing-guard."),
    # bands
    (change('below = 50\nsays = "Less than 50 mm"\nfinding = "near"\n\n[[question.gap.band]]\nsays = "50 mm or more"',
            'says = "50 mm or more"\nfinding = "near"\n\n[[question.gap.band]]\nbelow = 50\nsays = "Less than 50 mm"'),
     '[[question.gap.band]]', "open-band", "Swap these two bands: the band (line 75) with an upper end comes first."),
    # headers
    (change("[tree]\n", ""), 'id = "guard"', "missing-header", "Write [tree] on a line of its own above line 3."),
    *[
        (change("[[question.firm.answer]]", header), header, code, "Write: [[question.firm.answer]]")
        for header, code in (
            ("[[answer.question.firm]]", "unknown-key"), ("[[firm.answer]]", "unknown-key"), ("[[answer.firm]]", "unknown-key"),
            ("[[question.answer]]", "no-header"), ("[[answer]]", "unknown-key"),
        )
    ],
    *[
        (change("[question.firm]", header), header, code, "[question.firm]")
        for header, code in (
            ("[firm]", "unknown-key"), ("[firm.question]", "unknown-key"), ("[question]", "no-header"),
            ("[question firm]", "unquoted-key"), ("[Question: firm]", "unquoted-key"),
        )
    ],
    (change("[[question.firm.answer]]", "[[question.firm.options]]"), "[[question.firm.opt", "unknown-key", "Each answer is a table of its own: [[question.firm.answer]]"),
    (change("[finding.no-guard]\n", ""), 'requirement = "guarded"\neffect = "fails"', "missing-header", "Write [finding.no-guard] on a line of its own above line 110."),
    (change("[question.firm]\n", ""), 'kind = "choice"\nask = "Is the guard firm?"', "missing-header", "above `kind`: [question.firm]"),
    (change('[[question.firm.answer]]\nid = "loose"', 'id = "loose"'), 'id = "loose"', "missing-header", "Write [[question.firm.answer]] on"),
    (change('[[verdict]]\nid = "passes"', 'id = "passes"'), 'id = "passes"', "missing-header", "Write [[verdict]] on a line"),
    # limits
    *[
        (change("below = 50", written), written, code, hint)
        for written, code, hint in (
            ("below = <50", "number-sign", LESS), ("below = < 50", "number-sign", LESS), ("below = less than 50", "number-sign", LESS),
            ("below = > 50", "number-sign", "A band has an upper end alone: below = 50 means less than 50."),
            ("below = ≤50", "number-sign", "up-to = 50 – it means 50 or less."), ("below = 50mm", "number-unit", LESS),
            ("below = 50 mm", "number-unit", LESS), ('below = "< 50"', "wrong-value", LESS), ('below = "50 mm"', "wrong-value", LESS),
            ("below = 20-50", "number-sign", "Write the upper end alone: below = 50."), ("below < 50", "missing-equals", LESS),
            ("below <= 50", "number-sign", "up-to = 50"), ("below = 50,", "extra-text", "Take the comma out: below = 50"),
            ("up to = 50", "unquoted-key", "Write: up-to = 50"), ("under = 50", "unknown-key", "Write `below` for it."),
            ("above = 50", "unknown-key", "A band has an upper end alone"), ("max = 50", "unknown-key", "Write `up-to` for it."),
        )
    ],
    # everyday words for values, and names of another kind
    *[
        (change(old, new), new, code, hint)
        for old, new, code, hint in (
            ('kind = "measure"', 'kind = "number"', "wrong-value", 'Did you mean "measure"?'),
            ('kind = "choice"', 'kind = "Yes/no"', "wrong-value", 'Did you mean "choice"?'),
            ('effect = "fails"', 'effect = "not-met"', "wrong-value", 'Did you mean "fails"?'),
            ('effect = "meets"', 'effect = "passes"', "wrong-value", 'Did you mean "meets"?'),
            ('outcome = "acceptable"', 'outcome = "pass"', "wrong-value", 'Did you mean "acceptable"?'),
            ('outcome = "not-acceptable"', 'outcome = "fail"', "wrong-value", 'Did you mean "not-acceptable"?'),
            ('when = { all = "met" }', 'when = { all = "passes" }', "wrong-value", 'Did you mean "met"?'),
            ('when = { all = "met" }', 'when = "all met"', "wrong-value", 'when = { all = "met" }'),
            ('when = { all = "met" }', 'when = { all is "met" }', "missing-equals", 'Write: all = "met"'),
            ('when = { all = "met" }', 'when = { free = "met" and guarded = "met" }', "extra-text", "A comma stands between"),
            ("effort = 2", "effort = 2 hours", "number-unit", "Write a number from 1 (minutes) to 5 alone"),
            ("must-answer = true", "must-answer", "missing-equals", "Write: must-answer = true"),
            ("do = []", 'do = ""', "wrong-value", "Write `do = []`"),
            ("format = 1", 'format = "1"', "wrong-value", "Write `format = 1`."),
            ('also = ["guarded"]', 'also = "guarded, shut in"', "wrong-value", 'Write `also = ["guarded", "shut in"]`.'),
            ('then = "firm"', "then -> firm", "missing-equals", 'Write: then = "firm"'),
            ('then = "firm"', 'then = ["firm", "end"]', "wrong-value", "Only one step can follow"),
            ('then = "gap"', 'then = "no-guard"', "unknown-step", '"no-guard" is a finding; `then` leads to a step.'),
            ('then = "gap"', 'then = "missing"', "unknown-step", '"missing" is an answer; `then` leads to a step.'),
            ('finding = "near"', 'finding = "free"', "unknown-finding", '"free" is a requirement; here stands the id of a finding.'),
            ('[[verdict]]\nid = "passes"', "[verdict.passes]", "unknown-key", 'Write the header [[verdict]], and below it: id = "passes"'),
            ("[finding.near]", "(finding.near)", "missing-bracket", "Write: [finding.near]"),
        )
    ],
    (change('id = "missing"\n', ""), '[[question.fitted.answer]]\nsays = "No guard"', "missing-key", 'Write `id = "no-guard"`'),
]  # fmt: skip


@pytest.mark.parametrize(("edits", "at", "code", "hint"), ONE)
def test_a_slip_is_told_once_with_what_to_write(edits: Edits, at: str, code: str, hint: str) -> None:
    [mistake] = told(*edits)
    assert mistake.place is not None
    assert (mistake.place.line, mistake.code) == (line_of(at, *edits), code)
    assert hint in mistake.hint


@pytest.mark.parametrize(("edits", "at", "code", "hint"), ONE[:2])
def test_a_then_of_another_answer_is_not_moved_up_where_it_belongs_there(
    edits: Edits, at: str, code: str, hint: str
) -> None:
    [mistake] = told(*edits)
    assert mistake.hint.startswith("Write")
    assert "move it up" not in mistake.hint or "Only if" in mistake.hint


BAND = 'below = 50\nsays = "Less than 50 mm"'
LAST = 'says = "50 mm or more"'


@pytest.mark.parametrize(
    ("old", "new", "at"),
    [
        (BAND, 'below = 5\nsays = "Less than 50 mm"', "below = 5\n"), (BAND, 'below = 50\nsays = "Less than 50 cm"', "below = 50"),
        (BAND, 'below = 50\nsays = "Less than 5"', "below = 50"), (BAND, 'below = 50\nsays = "Less than 2 in"', ""),
        (BAND, 'below = 50\nsays = "Less than 5 cm"', ""), (BAND, 'below = 50\nsays = "Less than 0.05 m"', ""), (BAND, 'below = 50\nsays = "Less than 0,05 m"', ""),
        (BAND, 'below = 50\nsays = "Too near"', ""), (BAND, 'below = 50\nsays = "Less than 50"', ""), (BAND, 'below = 50\nsays = "0 to 50 mm"', ""),
        (BAND, 'below = 50\nsays = "0–49 mm"', ""), (BAND, 'below = 50\nsays = "Too near: 2 bars touch it"', ""), (BAND, 'below = 50\nsays = "Against BS 6798"', ""),
        (BAND, 'below = 50', ""), (LAST, 'says = "60 mm or more"', 'says = "60 mm'), (LAST, 'says = "From 50 to 300 mm"', ""), (LAST, 'says = "Over 5 cm"', ""),
    ],
)  # fmt: skip
def test_the_words_of_a_band_are_held_against_its_ends(old: str, new: str, at: str) -> None:
    edit = (old, new)
    found = [(one.code, one.place and one.place.line) for one in told(edit)]
    assert found == ([("words-and-numbers", line_of(at, edit))] if at else [])


@pytest.mark.parametrize(
    ("edits", "unit"),
    [
        ((), "mm"),
        (change('look = "Measure where it is nearest."', 'look = "Measure it in inches."'), "in"),
        (change('look = "Measure where it is nearest."', 'look = "It may be 2 m."'), "m"),
    ],
)
def test_a_measure_without_its_unit_is_remarked_upon(edits: Edits, unit: str) -> None:
    plain = ((BAND, "below = 50"), (LAST, "")) if edits else ()
    [remark] = told(('unit = "mm"\n', ""), *edits, *plain)
    assert remark.code == "no-unit"
    assert "people will be asked for a bare number" in remark.message
    assert f'write `unit = "{unit}"`' in remark.hint


@pytest.mark.parametrize("look", ["Look in the book.", "Divide the one by the other.", "I am sure."])
def test_a_plain_ratio_needs_no_unit(look: str) -> None:
    words = ('look = "Measure where it is nearest."', f'look = "{look}"')
    assert told(('unit = "mm"\n', ""), words, (BAND, "below = 50"), (LAST, "")) == []


VERDICTS = ["[[verdict]]" + part.rstrip("\n") + "\n\n" for part in GUARD.split("[[verdict]]")[1:]]
REFUSING, PASSING, REST = VERDICTS
ALL = GUARD[GUARD.index("[[verdict]]") :]
AGAIN = REFUSING.replace('"unguarded"', '"again"')


@pytest.mark.parametrize(
    ("verdicts", "at", "message", "hint", "also"),
    [
        ([REST, REFUSING, PASSING], 'id = "unguarded"', ', nor can 1 more below it: line 140 "not-settled" has no `when` and takes everything.',
         'Move line 140 "not-settled" to the end', ['id = "not-settled"', 'id = "passes"']),
        ([REFUSING, REST, PASSING], 'id = "passes"', 'line 148 "not-settled" has no `when` and takes everything.',
         'Move line 148 "not-settled" to the end', ['id = "not-settled"']),
        ([*VERDICTS, REST.replace('"not-settled"', '"again"', 1)], 'id = "again"', 'line 156 "not-settled" has no `when`', "Only one verdict can do without",
         ['id = "not-settled"']),
        ([REFUSING, AGAIN, PASSING, REST], 'id = "again"', 'wherever it matches, "unguarded" (line 140) before it does.',
         'It asks for the same as "unguarded"', ['id = "unguarded"']),
        ([REFUSING, PASSING, AGAIN.replace("any", "free"), REST], 'id = "again"', '"unguarded" (line 140) before it does.',
         "Move it up, above line 140", ['id = "unguarded"']),
        ([REFUSING, PASSING, AGAIN.replace("any =", 'all = "met", any ='), REST], 'id = "again"', "nothing that is found brings its `when` about.",
         "Mend its `when`", []),
    ],
)  # fmt: skip
def test_a_masked_verdict_names_those_that_take_its_place(
    verdicts: list[str], at: str, message: str, hint: str, also: list[str]
) -> None:
    edit = (ALL, "".join(verdicts))
    [mistake] = told(edit)
    assert mistake.code == "masked-verdict"
    assert mistake.place is not None
    assert mistake.place.line == line_of(at, edit) - 1
    assert message in mistake.message
    assert hint in mistake.hint
    assert [label.place.line for label in mistake.also] == [line_of(one, edit) - 1 for one in also]


@pytest.mark.parametrize(
    ("edits", "hint"),
    [
        (change('finding = "near"\n', ""),
         'This finding refuses a flue. Most likely an answer has lost it, or names another. Answers that find nothing, or the same as another: '
         'band "Less than 50 mm" of [question.gap] (line 71)'),
        (change('finding = "near"\n', 'finding = "room"\n'), 'band "Less than 50 mm" of [question.gap] (line 71, which finds "room" as another does)'),
        (change('finding = "not-measured"\n', ""), "This finding keeps a flue from being passed."),
        (change('finding = "not-measured"\n', ""), "the same as another: [question.gap.not-sure] (line 67)"),
    ],
)  # fmt: skip
def test_a_finding_that_refuses_is_not_lightly_taken_out(edits: Edits, hint: str) -> None:
    [unused] = [mistake for mistake in told(*edits) if mistake.code == "unused"]
    assert hint in unused.hint
    assert unused.hint.endswith("Take it out only if nothing should be refused for it.")


WORK = 'put-right = "Screw it on."\neffort = 1\n'


@pytest.mark.parametrize(
    ("written", "lines"),
    [(WORK, "lines 99–100"), ('effort = 1\nput-right = "Screw it on."\n', "lines 99–100"), (WORK.replace("\n", "\n\n"), "lines 99 and 101")],
)  # fmt: skip
def test_work_that_is_written_at_the_bad_answer_is_to_be_moved(written: str, lines: str) -> None:
    bad = 'says = "It moves"\nfinding = "no-guard"\n'
    missing = 'finding = "no-guard"\nthen = "end"\n'
    edits = ((WORK, ""), ('put-right = "Fit a guard."\neffort = 2\n', ""), (missing, missing.replace("no-guard", "not-seen")),
             (bad, bad + written))  # fmt: skip
    [fault] = [mistake for mistake in told(*edits) if mistake.code == "nothing-puts-right"]
    assert fault.place is not None
    assert fault.place.line == line_of('id = "loose"', *edits) - 1
    offset = line_of("put-right" if written.startswith("put") else "effort = 1", *edits)
    assert (
        f"Move {lines} from here to the answer of [question.firm] that the work brings about." in fault.hint
    ), offset


def test_lines_of_a_lost_not_sure_are_told_its_header() -> None:
    out, finding = told(("[question.gap.not-sure]\n", ""))
    assert "Write [question.gap.not-sure] on a line of its own above it" in out.hint
    assert "below [question.gap.not-sure] or [[question.gap.answer]]" in finding.hint
