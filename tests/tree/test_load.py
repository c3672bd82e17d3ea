"""Every mistake that hinders a tree from loading: where it is, what it is called, and what the author is told."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.errors import Refused
from assistant.tree.load import load, load_text
from assistant.tree.mistakes import Mistake, Unreadable
from assistant.tree.tree import Tree
from tests.writing import VERDICTS, choice, whole

STEPS = """
[question.age]
kind = "choice"
ask = "Is it new?"
source = "trade"
then = "hole"
[question.age.not-sure]
find-out = "Ask."
then = "hole"
[[question.age.answer]]
id = "new"
says = "New"
[[question.age.answer]]
id = "old"
says = "Old"
finding = "note"

[question.hole]
kind = "measure"
unit = "mm"
least = 0
most = 300
ask = "How wide is the hole?"
must-answer = true
[[question.hole.band]]
below = 100
then = "pipes"
[[question.hole.band]]
up-to = 200
then = "pipes"
[[question.hole.band]]
then = "pipes"

[question.pipes]
kind = "count"
least = 0
most = 4
ask = "How many?"
must-answer = true
then = "near"

[question.near]
kind = "several"
ask = "What is near?"
must-answer = true
then = "again"
[[question.near.answer]]
id = "door"
says = "A door"
[[question.near.answer]]
id = "window"
says = "A window"

[recall.again]
question = "age"
then = "gap"
[recall.again.not-sure]
then = "gap"
[[recall.again.answer]]
id = "new"
finding = "good"

[working.gap]
run = "annular-gap"
give = { hole_mm = "hole" }
set = { flue_mm = 60 }
branch-on = "gap_mm"
then = "once"
[[working.gap.band]]
below = 5
finding = "bad"
[[working.gap.band]]
[working.gap.not-sure]
then = "once"

[visit.once]
tree = "part"
then = "things"
given = { age = "age" }

[each.things]
count = "pipes"
tree = "part"
then = "end"
set = { age = "old" }
"""
PART = whole(choice("age", "new > end", "old > end", unsure='then = "end"'), "age", tree_id="part")
GOOD = whole(STEPS, "age")

Edit = tuple[str, str]


@pytest.fixture
def loads(tmp_path: Path) -> Callable[..., Tree]:
    (tmp_path / "part.toml").write_text(PART)
    return lambda text: load_text(text, "small.toml", tmp_path)


def edited(*edits: Edit) -> str:
    text = GOOD
    for old, new in edits:
        assert old in text
        text = text.replace(old, new, 1)
    return text


def mistakes(loads: Callable[..., Tree], text: str) -> tuple[Mistake, ...]:
    with pytest.raises(Unreadable) as refused:
        loads(text)
    return refused.value.mistakes


def place(text: str, sign: str) -> tuple[int, int]:
    """Line and column of the only place, or the place marked by ◊, where `sign` stands."""
    at = text.index(sign.replace("◊", "")) + max(sign.find("◊"), 0)
    return text.count("\n", 0, at) + 1, at - text.rfind("\n", 0, at)


def test_the_tree_that_is_spoilt_below_loads(loads: Callable[..., Tree]) -> None:
    assert loads(GOOD).id == "small"


def test_a_recall_need_not_name_the_answers_that_never_reach_it(loads: Callable[..., Tree]) -> None:
    recall = ('question = "age"\nthen = "gap"\n', 'question = "age"\n')
    assert loads(edited(recall, ('finding = "good"', 'finding = "good"\nthen = "gap"'))).id == "small"


ONE_MISTAKE = [
    # what is edited in, where it is told, its code, its message and its hint
    # keys
    ((('ask = "Is it new?"', 'aks = "Is it new?"'),), "aks", "unknown-key",
     "`aks` is not a key of [question.age].", "Did you mean `ask`?"),
    ((('ask = "Is it new?"', 'ask = "Is it new?"\nzzz = 3'),), "zzz", "unknown-key",
     "`zzz` is not a key of [question.age].", "Keys that may stand here: kind, ask, why, look"),
    ((("says = \"Old\"", 'says = "Old"\nmust-answer = true'),), "◊must-answer = true\nfinding", "stray-key",
     "`must-answer` fell into [[question.age.answer]] number 2", "It likely belongs to [question.age]: move it up"),
    ((("says = \"Old\"", 'says = "Old"\nsource = "trade"'),), '◊source = "trade"\nfinding', "stray-key",
     "`source` fell into [[question.age.answer]] number 2", "It likely belongs to [question.age]: move it up"),
    ((('find-out = "Ask."', 'find-out = "Ask."\naccept = ["seen"]'),), "accept", "stray-key",
     "`accept` fell into [question.age.not-sure]", "above the first header that follows [question.age]."),
    ((('id = "new"\nfinding', 'id = "new"\nquestion = "age"\nfinding'),), '◊question = "age"\nfinding', "stray-key",
     "`question` fell into [[recall.again.answer]] number 1", "It likely belongs to [recall.again]"),
    (((VERDICTS, VERDICTS + "format = 1\n"), ), "]\n◊format", "stray-key",
     "`format` fell into [[verdict]] number 3", "It likely belongs to the top of the file: move it up, above the first"),
    (((VERDICTS, VERDICTS + '[recal.other]\nquestion = "age"\nthen = "end"\n'),), "recal.", "unknown-key",
     "a tree has no tables named `recal`.", "Did you mean `recall`?"),
    (((VERDICTS, VERDICTS.replace("[[verdict]]", "[verdict]", 1)),), "[verdict]", "single-brackets",
     "[verdict] needs double brackets", "Write: [[verdict]]"),
    ((('ask = "How many?"\n', ""),), "question.◊pipes", "missing-key",
     "[question.pipes] needs `ask`.", 'Write `ask = "…"` below [question.pipes].'),
    ((("format = 1\n", ""),), "[tree]", "missing-key",
     "the top of the file needs `format`.", "Write `format = 1` as the first line."),
    ((('first = "age"\n', ""),), "tree]", "missing-key", "[tree] needs `first`.", 'Write `first = "…"` below [tree].'),
    ((("most = 300\n", ""),), "question.◊hole", "missing-key",
     "[question.hole] needs `most`.", "What lies outside least and most is refused."),
    ((('requirement = "sound"\neffect = "meets"', 'effect = "meets"'),), "finding.◊good", "missing-key",
     '[finding.good] needs `requirement`: its effect is "meets".', 'Only a finding with effect = "advice"'),
    ((('says = "Old"', 'says = "Old"\nput-right = "Change it."'),), "put-right", "missing-key",
     "[[question.age.answer]] number 2 has `put-right` and no `effort`.", "1 (minutes) to 5"),
    ((('kind = "choice"', 'kind = "choice"\nput-right = "x"'),), "put-right", "unknown-key",
     "`put-right` is not a key of [question.age].", "move it down, below [[question.age.answer]] or"),
    ((('kind = "choice"', 'kind = "choice"\neffect = "fails"'),), 'effect = "fails"\nask', "unknown-key",
     "`effect` is not a key of [question.age].", "Only a finding has it: move it below the header [finding.…]"),
    # types and values
    ((('ask = "How many?"', "ask = true"),), "◊true\nmust", "wrong-value",
     "`ask` in [question.pipes] needs a text in quotes. Found true.", 'Write `ask = "…"`.'),
    ((('edition = "1"', "edition = 1"),), "edition = ◊1", "wrong-value",
     "`edition` in [tree] needs a text in quotes. Found 1.", 'Write `edition = "1"`.'),
    ((('edition = "1"', "edition = 2026-01-01"),), "2026", "unquoted-date",
     "2026-01-01 is a date or time without quotes", 'edition = "2026-01-01"'),
    ((("least = 0\nmost = 4", "least = true\nmost = 4"),), "◊true\nmost", "wrong-value",
     "`least` in [question.pipes] needs a number, without quotes and without a unit. Found true.", ""),
    ((("least = 0\nmost = 4", 'least = "0 mm"\nmost = 4'),), '"0 mm"', "wrong-value",
     "`least` in [question.pipes] needs a number, without quotes and without a unit. Found \"0 mm\".", ""),
    ((("least = 0\nmost = 4", "least = nan\nmost = 4"),), "nan", "not-a-number", "nan is not a number", "digits"),
    ((("most = 4", "most = 4.5"),), "4.5", "wrong-value", "`most` of a count needs a whole number.", "Write `most = 4`."),
    ((("most = 4", "most = -1"),), "least = ◊0\nmost = -1", "least-over-most", "`least` is more than `most`.", "Turn them"),
    ((('ask = "How many?"\nmust-answer = true', 'ask = "How many?"\nmust-answer = "yes"'),), '"yes"', "wrong-value",
     "`must-answer` in [question.pipes] needs true or false, without quotes.", ""),
    ((('ask = "How many?"', 'ask = " "'),), '" "', "wrong-value", "`ask` in [question.pipes] is empty", ""),
    ((("most = 4", 'most = 4\naccept = ["seen", "guessed"]'),), '"guessed"', "wrong-value",
     "number 2 of `accept` in [question.pipes] has to be \"seen\", \"measured\"", ""),
    ((("most = 4", 'most = 4\naccept = "seen"'),), "accept = ◊", "wrong-value",
     "`accept` in [question.pipes] needs a list in square brackets.", 'Write `accept = ["seen"]`.'),
    ((('effect = "meets"', 'effect = "meet"'),), '"meet"', "wrong-value",
     "`effect` in [finding.good] has to be \"meets\", \"unproven\"", 'Did you mean "meets"?'),
    ((('kind = "several"', 'kind = "severl"'),), '"severl"', "wrong-value",
     '`kind` in [question.near] has to be "choice", "several"', 'Did you mean "several"?'),
    ((("format = 1", "format = 2"),), "2", "wrong-value", "`format` at the top of the file has to be 1. Found 2.", ""),
    ((('when = { any = "not-met" }', 'when = { any = "unmet" }'),), '"unmet"', "wrong-value",
     "`any` in `when` of [[verdict]] number 2 needs one of met, not-met, not-proven, not-judged", ""),
    ((('says = "Old"', 'says = "Old"\nput-right = "Change it."\neffort = 9'),), "9", "wrong-value",
     "needs a whole number from 1 (minutes) to 5. Found 9.", "1 is minutes"),
    ((('defer = ["The engineer decides."]', 'defer = []'),), "defer = ◊[]", "no-defer",
     "`defer` in [tree] needs at least one sentence.", "It stands with every verdict"),
    ((('defer = [', 'review-by = "June 2027"\ndefer = ['),), '"June', "bad-month",
     "`review-by` needs a year and a month.", 'Write "2027-06".'),
    ((('source = "trade"\nthen', 'source = ["trade", "trade"]\nthen'),), '["trade', "wrong-value",
     "`source` in [question.age] names the same id twice.", "Take one"),
    ((('outcome = "not-acceptable"', 'outcome = "unacceptable"'),), '"unacceptable"', "wrong-value",
     'Found "unacceptable".', 'Did you mean "not-acceptable"?'),
    ((("most = 300", 'most = "300 mm"'),), '"300 mm"', "wrong-value", "without a unit.", "Write the number alone, counted in the `unit` of the question: most = 300"),
    ((('defer = ["The engineer decides."]', "defer = [3]"),), "◊3]", "wrong-value",
     "number 1 of `defer` in [tree] needs a text in quotes. Found 3.", 'Write `"3"`.'),
    # ways on
    ((('then = "hole"', 'then = "hol"'),), '"hol"', "unknown-step",
     'there is no step "hol" to go on to.', 'Did you mean "hole"?'),
    ((('then = "hole"', 'then = "kitchen"'),), '"kitchen"', "unknown-step",
     'there is no step "kitchen" to go on to.', 'Name a step of this tree: age, hole, pipes, near, again, gap, once, things, or write "end".'),
    ((('then = "hole"', 'then = ""'),), '""', "wrong-value", "`then` in [question.age] is empty", ""),
    ((('find-out = "Ask."\nthen = "hole"', 'find-out = "Ask."\nthen = ""'),), '""', "wrong-value",
     "`then` in [question.age.not-sure] is empty", ""),
    ((('first = "age"', 'first = "end"'),), '"end"', "unknown-step",
     'there is no step "end"', "Name a step of this tree: age, hole, pipes, near, again, gap, once, things."),
    ((('then = "end"\nset', 'then = "verdict:sond"\nset'),), '"verdict:sond"', "unknown-verdict",
     'there is no verdict "sond".', 'Did you mean "sound"?'),
    ((("must-answer = true\nthen = \"again\"", "must-answer = true"),), "question.◊near]", "no-way-on",
     "[question.near] needs `then`: a several question has one way on.", "above the first header that follows"),
    ((('says = "A door"', 'says = "A door"\nthen = "end"'),), '◊then = "end"\n[[', "wrong-key",
     "an answer of a several question cannot name `then`", "Write one `then` for the whole question"),
    ((('must-answer = true\nthen = "again"', 'then = "again"\n[question.near.not-sure]\nfind-out = "Look."'),),
     "question.near.◊not-sure", "not-sure-way", "not sure of a several question needs `then`.", "Not every answer"),
    ((('must-answer = true\nthen = "near"', 'then = "near"\n[question.pipes.not-sure]\nfind-out = "Count."'),),
     'count = ◊"pipes"', "not-sure-way", '"pipes" can be not sure, and then there is nothing to count.', "must-answer = true"),
    ((('must-answer = true\nthen = "near"', 'must-answer = true\nthen = "near"\n[question.pipes.not-sure]\nthen = "near"'),),
     "question.pipes.◊not-sure", "answer-or-not-sure", "[question.pipes] must be answered and yet has a not-sure.", "Take one of the two out"),
    # names of things
    ((('source = "trade"\nthen', 'source = "trad"\nthen'),), '"trad"', "unknown-source",
     'there is no source "trad".', 'Did you mean "trade"?'),
    ((('finding = "note"', 'finding = ["note", "missing-one"]'),), '["note"', "unknown-finding",
     'there is no finding "missing-one".', "Write a [finding.missing-one] table, or name another."),
    ((('requirement = "sound"\neffect = "meets"', 'requirement = "sond"\neffect = "meets"'),), '"sond"', "unknown-requirement",
     'there is no requirement "sond".', 'Did you mean "sound"?'),
    ((('when = { any = "not-met" }', 'when = { sond = "not-met" }'),), "sond", "unknown-requirement",
     'there is no requirement "sond".', 'Did you mean "sound"?'),
    ((('question = "age"', 'question = "aged"'),), '"aged"', "unknown-question",
     'there is no question "aged".', 'Did you mean "age"?'),
    ((('tree = "part"\nthen = "things"', 'tree = "parts"\nthen = "things"'),), '"parts"', "unknown-tree",
     'there is no tree "parts", neither beside this one nor installed.', 'Did you mean "part"?'),
    ((('tree = "part"\nthen = "things"', 'tree = "../part"\nthen = "things"'),), '"../part"', "bad-id",
     '"../part" is not the id of a tree.', "without a path or ending"),
    ((('tree = "part"\nthen = "things"', 'tree = "small"\nthen = "things"'),), '◊"small"\nthen', "visits-itself",
     "trees visit each other in a circle: small → small.", "Take one of these visits out."),
    ((('run = "annular-gap"', 'run = "anular-gap"'),), '"anular-gap"', "unknown-working",
     'there is no working "anular-gap".', 'Did you mean "annular-gap"?'),
    ((("set = { flue_mm = 60 }", "set = { flue_mm = 60, flu_mm = 3 }"),), "flu_mm", "unknown-input",
     'annular-gap has no input "flu_mm".', 'Did you mean "flue_mm"?'),
    ((("set = { flue_mm = 60 }\n", ""),), "working.◊gap]", "missing-input",
     '[working.gap] does not give "flue_mm", which annular-gap needs.', 'Write `give = { flue_mm = "<fact key>" }`.'),
    ((('branch-on = "gap_mm"', 'branch-on = "gap"'),), '"gap"\nthen = "once"', "unknown-result",
     'annular-gap has no result "gap".', 'Did you mean "gap_mm"?'),
    ((('hole_mm = "hole"', 'hole_mm = "hle"'),), '"hle"', "unknown-fact", 'there is no fact "hle"', 'Did you mean "hole"?'),
    ((('hole_mm = "hole"', 'hole_mm = "thing.*"'),), '"thing.*"', "unknown-each", 'there is no each "thing"', '"things"'),
    ((("given = { age = \"age\" }", 'given = { agee = "age" }'),), "agee", "unknown-question",
     'the tree "part" has no question "agee".', 'Did you mean "age"?'),
    ((("given = { age = \"age\" }", 'given = { age = "agee" }'),), '"agee"', "unknown-fact",
     'there is no fact "agee" in this tree.', 'Did you mean "age"?'),
    ((("given = { age = \"age\" }", 'given = { age = "hole" }'),), "◊\"hole\" }\n\n[each", "wrong-kind",
     '"hole" is a measure in mm, but "age" there is a choice.', "Only like can be handed on to like."),
    ((('set = { age = "old" }', 'set = { age = "odl" }'),), '"odl"', "wrong-answer",
     '"odl" is not an answer here.', 'Did you mean "old"?'),
    ((('set = { age = "old" }', 'set = { age = "old" }\ngiven = { age = "age" }'),), "set = { ◊age = \"old\"", "given-and-set",
     '"age" is given and set.', "Keep one: take it out of `set`"),
    ((('id = "new"\nfinding', 'id = "nw"\nfinding'),), '"nw"', "unknown-answer",
     '"age" has no answer "nw".', 'Did you mean "new"?'),
    # ids
    ((("[finding.note]", "[finding.Note]"), ('finding = "note"', 'finding = "Note"')), "finding.◊Note", "bad-id",
     '"Note" cannot be an id.', "An id is lower-case letters, digits and dashes"),
    ((('id = "door"', 'id = "not-sure"'),), '"not-sure"', "reserved-id",
     '"not-sure" means something to the engine and cannot be an id.', "write its lines below [question.near.not-sure]"),
    (((VERDICTS, VERDICTS + '[requirement.any]\ntitle = "x"\nmeans = "x"\n'),), "requirement.◊any", "reserved-id",
     '"any" means something to the engine and cannot be an id.', "Choose another word: in a verdict's `when`"),
    (((VERDICTS, VERDICTS + '[recall.hole]\nquestion = "hole"\nthen = "end"\n'),), "recall.◊hole", "same-id",
     '"hole" names a question already.', "Steps share one set of ids"),
    ((('id = "window"', 'id = "door"'),), '◊"door"\nsays = "A window"', "same-id",
     'there are two answers "door" here.', "Give one of them another id."),
    ((('id = "unsound"', 'id = "sound"'),), '◊"sound"\ntitle = "Unsound"', "same-id",
     'there are two verdicts "sound" here.', "Give one of them another id."),
    # what a kind of step can have
    ((('source = "trade"\nthen', 'source = "trade"\nleast = 3\nthen'),), "least = 3", "wrong-key",
     "a choice question has no `least`.", "Take it out."),
    ((("[question.near]", '[[question.pipes.answer]]\nid = "x"\nsays = "x"\n\n[question.near]'),), "question.pipes.◊answer",
     "wrong-rows", "a count question has no answers.", "Write [[question.pipes.band]], or change its `kind`."),
    ((('question = "age"\nthen = "gap"', 'question = "near"\nthen = "gap"'),), '◊"near"\nthen = "gap"', "wrong-kind",
     '"near" is a several question and cannot be recalled.', "A recall looks at a choice, a measure or a count."),
    ((('[[recall.again.answer]]\nid = "new"', "[[recall.again.band]]"),), "recall.again.◊band", "wrong-rows",
     '"age" is a choice question: its recall has answers.', "Write [[recall.again.answer]] tables."),
    ((('count = "pipes"', 'count = "age"'),), 'count = ◊"age"', "wrong-kind",
     '"age" is a choice question; `count` needs a count question.', ""),
    ((('count = "pipes"', 'count = "pipes"\nover = "near"'),), "each.◊things", "count-or-over",
     "[each.things] needs either `count` or `over`, and not both.", "`over` a several question."),
    ((('count = "pipes"\n', ""),), "each.◊things", "count-or-over", "needs either `count` or `over`", ""),
    ((("most = 4", "most = 400"),), 'count = ◊"pipes"', "too-many-things",
     '"pipes" may be as much as 400; an each runs at most 100 times.', "Lower its `most` to 100 or less."),
    ((("least = 0\nmost = 4", "least = -1\nmost = 4"),), 'count = ◊"pipes"', "less-than-none",
     '"pipes" may be less than nothing.', "Raise its `least` to 0 or more."),
    # bands
    ((("up-to = 200", "up-to = 200\nbelow = 200"),), "question.hole.◊band]]\nup-to", "two-ends",
     "[[question.hole.band]] number 2 has both `below` and `up-to`.", "`below` leaves its number out, `up-to` takes it in"),
    ((("up-to = 200\n", ""),), 'question.hole.◊band]]\nthen = "pipes"\n[[', "open-band",
     "[[question.hole.band]] number 2 has no upper end", "Write `below` or `up-to`, or make it the last."),
    ((('up-to = 200\nthen = "pipes"\n[[question.hole.band]]\n', "up-to = 200\n"),), "up-to = 200",
     "last-band", "is the last band and has an upper end.", "take this line out, or write one more band"),
]  # fmt: skip


@pytest.mark.parametrize(("edits", "sign", "code", "message", "hint"), ONE_MISTAKE)
def test_a_mistake_is_told_once_where_it_stands(
    loads: Callable[..., Tree], edits: tuple[Edit, ...], sign: str, code: str, message: str, hint: str
) -> None:
    text = edited(*edits)
    [mistake] = mistakes(loads, text)
    assert (mistake.file, mistake.code) == ("small.toml", code)
    assert mistake.place is not None
    assert (mistake.place.line, mistake.place.column) == place(text, sign)
    assert message in mistake.message
    assert hint in mistake.hint


@pytest.mark.parametrize(
    ("edits", "stray"),
    [
        ([('"trade"\nthen = "hole"', '"trade"'), ('finding = "note"', 'finding = "note"\nthen = "hole"')],
         "[[question.age.answer]] number 2"),
        ([('"trade"\nthen = "hole"', '"trade"')], "[question.age.not-sure]"),
    ],
)  # fmt: skip
def test_an_answer_without_a_way_on_names_the_table_that_holds_a_stray_one(
    loads: Callable[..., Tree], edits: list[Edit], stray: str
) -> None:
    first = mistakes(loads, edited(*edits))[0]
    assert first.code == "no-way-on"
    assert (
        first.message.replace(", nor does 1 more", "")
        == "[[question.age.answer]] number 1 leads nowhere, and [question.age] has no `then`."
    )
    assert first.hint.startswith('Write `then = …` under the answer "New" (line 27): hole, pipes,')
    assert f"Only if the `then` in {stray}" in first.hint


def test_all_mistakes_of_a_file_are_told_in_one_go_in_their_order(loads: Callable[..., Tree]) -> None:
    text = edited(
        ('ask = "Is it new?"', 'aks = "Is it new?"'),
        ("most = 300", "most = true"),
        (
            'most = 4\nask = "How many?"\nmust-answer = true\nthen = "near"',
            'most = 4\nask = "How many?"\nthen = "neer"',
        ),
        ('branch-on = "gap_mm"', 'branch-on = "gap"'),
        ('effect = "fails"', 'effect = "fail"'),
        ('id = "unsound"', 'id = "sound"'),
    )
    told = mistakes(loads, text)
    assert [m.code for m in told] == [
        "unknown-key", "wrong-value", "unknown-step", "unknown-result", "wrong-value", "same-id",
    ]  # fmt: skip
    assert [m.place for m in told] == sorted(m.place for m in told if m.place)


def test_a_slip_of_shape_raises_no_false_alarm_about_what_leans_on_it(loads: Callable[..., Tree]) -> None:
    told = mistakes(loads, edited(('kind = "choice"\nask = "Is it new?"', 'ask = "Is it new?"')))
    assert [m.message for m in told] == ["[question.age] needs `kind`."]
    told = mistakes(loads, edited(("[requirement.sound]", "[requirements.sound]")))
    assert [m.code for m in told] == ["unknown-key"]


def test_a_tree_says_so_where_its_file_has_another_name(tmp_path: Path) -> None:
    (tmp_path / "other.toml").write_text(PART)
    with pytest.raises(Unreadable) as refused:
        load(str(tmp_path / "other.toml"))
    [mistake] = refused.value.mistakes
    assert (mistake.code, mistake.where) == ("file-name", f"{tmp_path}/other.toml:3:6")
    assert mistake.message == 'this tree calls itself "part", but its file is called "other.toml".'
    assert mistake.hint == 'Name the file "part.toml", or write `id = "other"`.'


def test_mistakes_of_a_visited_tree_are_told_with_its_own_file_beside_those_of_the_visitor(
    tmp_path: Path,
) -> None:
    (tmp_path / "part.toml").write_text(PART.replace('then = "end"', 'then = "ende"', 1))
    with pytest.raises(Unreadable) as refused:
        load_text(edited(('then = "hole"', 'then = "hol"')), "small.toml", tmp_path)
    told = [(m.file, m.code) for m in refused.value.mistakes]
    assert told == [(str(tmp_path / "part.toml"), "unknown-step"), ("small.toml", "unknown-step")]


def test_what_a_visited_tree_speaks_of_must_be_declared_here_too(tmp_path: Path) -> None:
    body = choice("age", "new ! good > verdict:gone", "old > end")
    gone = VERDICTS + VERDICTS.split("[[verdict]]")[0] + '[[verdict]]\nid = "gone"\ntitle = "x"\nsays = "x"\n'
    gone += 'outcome = "stop"\ndo = []\n'
    (tmp_path / "part.toml").write_text(
        whole(body, "age", tree_id="part", requirements=("sound", "dry"), verdicts=gone).replace(
            'requirement = "sound"\neffect = "meets"', 'requirement = "dry"\neffect = "meets"'
        )
    )
    with pytest.raises(Unreadable) as refused:
        load_text(whole('[visit.it]\ntree = "part"\nthen = "end"\n', "it"), "small.toml", tmp_path)
    told = [(m.code, m.message) for m in refused.value.mistakes]
    assert told == [
        ("not-declared", '"part" has findings on the requirement "dry", which this tree does not declare.'),
        ("not-declared", '"part" can end with the verdict "gone", which this tree does not declare.'),
    ]


def test_trees_that_visit_each_other_in_a_circle_are_named(tmp_path: Path) -> None:
    for here, there in (("one", "two"), ("two", "one")):
        body = f'[visit.it]\ntree = "{there}"\nthen = "end"\n'
        (tmp_path / f"{here}.toml").write_text(whole(body, "it", tree_id=here))
    with pytest.raises(Unreadable) as refused:
        load(str(tmp_path / "one.toml"))
    [mistake] = refused.value.mistakes
    assert (mistake.file, mistake.code) == (str(tmp_path / "two.toml"), "visits-itself")
    assert mistake.message == "trees visit each other in a circle: one → two → one."


def test_visits_may_nest_only_so_deep(tmp_path: Path) -> None:
    for depth in range(12):
        body = f'[visit.it]\ntree = "t{depth + 1}"\nthen = "end"\n' if depth < 11 else choice("q", "a > end")
        first = "it" if depth < 11 else "q"
        (tmp_path / f"t{depth}.toml").write_text(whole(body, first, tree_id=f"t{depth}"))
    with pytest.raises(Unreadable) as refused:
        load(str(tmp_path / "t0.toml"))
    assert [m.code for m in refused.value.mistakes] == ["visits-too-deep"]


def test_a_tree_beside_the_visitor_comes_before_an_installed_one(tmp_path: Path) -> None:
    (tmp_path / "joint.toml").write_text(whole(choice("q", "a > end"), "q", tree_id="joint"))
    tree = load_text(whole('[visit.it]\ntree = "joint"\nthen = "end"\n', "it"), "small.toml", tmp_path)
    assert not tree.parts["joint"].installed
    assert list(tree.every_key()) == ["it/q"]


@pytest.mark.parametrize(
    ("name", "message", "hint"),
    [
        ("throgh-wall", 'there is no tree "throgh-wall"', 'Did you mean "through-wall"?'),
        ("kitchen", 'there is no tree "kitchen"', "Installed trees: "),
        ("./kitchen.toml", "There is no file", ""),
        (".", "is a folder", ""),
        ("a" * 3000, "", ""),
        ("a" * 3000 + "/b.toml", "", ""),
        ("/dev/zero", "is not an ordinary file", ""),
    ],
)
def test_a_tree_that_is_not_there_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str, message: str, hint: str
) -> None:
    monkeypatch.chdir(tmp_path)
    with pytest.raises(Refused) as refused:
        load(name, tmp_path)
    assert message in refused.value.message
    assert hint in refused.value.hint


LINES = GOOD.split("\n")


@settings(max_examples=150, deadline=None, derandomize=True, database=None)
@given(st.integers(0, 2**32 - 1))
def test_no_spoilt_tree_does_worse_than_being_refused(seed: int) -> None:
    random = Random(seed)
    lines = list(LINES)
    for _ in range(random.randint(1, 3)):
        at = random.randrange(len(lines))
        spoil = random.choice(("drop", "move", "number", "text", "list", "table", "key"))
        key, equals, _value = lines[at].partition(" = ")
        if spoil == "drop":
            del lines[at]
        elif spoil == "move":
            lines.insert(random.randrange(len(lines)), lines.pop(at))
        elif equals and spoil == "key":
            lines[at] = lines[at][1:]
        elif equals:
            value = {"number": "7", "text": '"x y"', "list": '["x", 1]', "table": "{ x = 1 }"}.get(
                spoil, "true"
            )
            lines[at] = f"{key} = {value}"
    told: tuple[Mistake, ...] = ()
    try:
        load_text("\n".join(lines), "small.toml", None)
    except Unreadable as refused:
        told = refused.mistakes
    assert all(mistake.place is not None and mistake.message for mistake in told)
