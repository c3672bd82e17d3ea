"""Proofs of safety: no way through a tree passes an unsafe flue unnoticed."""

from __future__ import annotations

import pytest

from assistant.session.prove import work_out
from assistant.tree.load import load_text

TREE = """
format = 1
[tree]
id = "small"
title = "Small"
edition = "1"
purpose = "To try the proofs."
applies-to = "Nothing."
place = "Nowhere."
first = "fixing"
defer = ["The engineer decides."]
[requirement.secure]
title = "Secure"
means = "Nothing comes apart."
[source.common]
title = "Common practice"
standing = "common-practice"
[question.fixing]
kind = "choice"
ask = "Is it fixed?"
why = "It could come apart."
look = "Pull it."
source = "common"
then = "end"
must-answer = true
[[question.fixing.answer]]
id = "yes"
says = "Fixed"
finding = "fixed"
put-right = "Fix it."
effort = 1
[[question.fixing.answer]]
id = "no"
says = "Loose"
finding = "loose"
[finding.fixed]
requirement = "secure"
effect = "meets"
reason = "It is fixed."
source = "common"
[finding.loose]
requirement = "secure"
effect = "EFFECT"
reason = "It is loose."
source = "common"
"""

PASS = """
[[verdict]]
id = "good"
title = "Good"
says = "It is good."
do = ["Go home."]
outcome = "acceptable"
when = { secure = WHEN }
"""

REST = """
[[verdict]]
id = "bad"
title = "Bad"
says = "It is bad."
do = ["Mend it."]
outcome = "not-acceptable"
"""


def codes(effect: str, verdicts: str) -> list[str]:
    tree = load_text(TREE.replace("EFFECT", effect) + verdicts, "small.toml")
    return [complaint.code for complaint in work_out(tree).complaints]


def test_a_safe_tree_passes() -> None:
    assert codes("fails", PASS.replace("WHEN", '"met"') + REST) == []


@pytest.mark.parametrize(
    ("effect", "when"), [("fails", '["met", "not-met"]'), ("unproven", '["met", "not-proven"]'), ("danger", '["met", "not-met"]')]
)  # fmt: skip
def test_an_unsafe_pass_is_told(effect: str, when: str) -> None:
    assert "unsafe-pass" in codes(effect, PASS.replace("WHEN", when) + REST)


def test_a_danger_that_does_not_stop_is_told() -> None:
    assert codes("danger", PASS.replace("WHEN", '"met"') + REST) == ["danger-goes-on"]


def test_nothing_found_is_no_pass_unless_the_verdict_says_so() -> None:
    advice = PASS.replace("WHEN", '["met", "not-met"]').replace("secure = ", "any = ")
    assert "not-judged-pass" in codes("advice", advice.replace('"not-met"', '"not-judged"') + REST)
    assert codes("advice", PASS.replace("WHEN", '["met", "not-judged"]')) == []


def test_a_state_that_no_verdict_covers_is_told() -> None:
    assert codes("fails", PASS.replace("WHEN", '"met"')) == ["no-verdict"]


def test_a_masked_verdict_is_told() -> None:
    assert "masked-verdict" in codes("fails", REST + PASS.replace("WHEN", '"met"'))


RECALL = """
[recall.again]
question = "fixing"
[[recall.again.answer]]
id = "yes"
then = "verdict:good"
[[recall.again.answer]]
id = "no"
then = "NO"
"""


def recalled(no: str) -> str:
    text = TREE.replace("EFFECT", "fails").replace('then = "end"\nmust', 'then = "again"\nmust')
    return text + RECALL.replace("NO", no) + PASS.replace("WHEN", '"met"') + REST


def test_a_way_that_no_answers_take_is_no_fault() -> None:
    proof = work_out(load_text(recalled("end"), "small.toml"))
    assert proof.complaints == []
    assert proof.proven


def test_a_fault_behind_a_recall_is_shown_by_answers() -> None:
    [complaint] = work_out(load_text(recalled("verdict:good"), "small.toml")).complaints
    assert complaint.code == "unsafe-pass"
    assert '"fixing" = "no"' in complaint.witness


def test_an_answer_that_finds_nothing_where_others_do_is_remarked_on() -> None:
    text = TREE.replace("EFFECT", "fails") + PASS.replace("WHEN", '["met", "not-judged"]') + REST
    silent = (
        text.replace('finding = "loose"\n', "").partition("[finding.loose]")[0]
        + text[text.index("[[verdict]]") :]
    )
    proof = work_out(load_text(silent, "small.toml"))
    assert "finds-nothing" in [remark.code for remark in proof.remarks]
    assert "finds-nothing" not in [remark.code for remark in work_out(load_text(text, "small.toml")).remarks]
