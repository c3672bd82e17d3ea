"""What a talk on a tree that is being written tells of its proofs."""

from __future__ import annotations

import pytest

from assistant.conversation import all_said
from assistant.conversation.proofs import PROVEN, Outcome, outcome, outcome_told
from assistant.session.prove import Proof
from assistant.tree.mistakes import Mistake, Place

GIVEN = '# why\nformat = 1\ntree = "t"\n\n[facts]\n' + "".join(f'"q{n}" = {n}\n' for n in range(6))


def fault(code: str, message: str, hint: str = "", witness: str = "") -> Mistake:
    return Mistake("t.toml", Place(3, 1), code, message, hint, witness=witness)


def told(proof: Proof, before: Outcome = PROVEN) -> str:
    return all_said(outcome_told("t.toml", proof, before))


def failed(*faults: Mistake) -> Proof:
    return Proof([*faults], False)


def test_a_fault_comes_with_its_help_and_with_answers_that_show_it() -> None:
    text = told(failed(fault("no-verdict", "It ends\nnowhere.", "Write a verdict,\nor two.", GIVEN)))
    assert (
        "Proofs: 1 fault, so its verdicts say that it is unproven. `throughwall check t.toml` tells" in text
    )
    assert "t.toml:3:1: It ends" in text
    assert "\nHelp: Write a verdict, or two.\n" in text
    assert text.endswith('Answers that show it: "q0" = 0; "q1" = 1; "q2" = 2; "q3" = 3; and 2 more')


def test_without_help_and_answers_there_is_none_and_most_faults_are_left_to_check() -> None:
    text = told(failed(*(fault(f"c{n}", f"Wrong {n}.") for n in range(5))))
    assert "5 faults" in text
    assert "Wrong 2." in text
    assert "Wrong 3." not in text
    assert "Help" not in text
    assert "Answers" not in text


def test_nothing_is_told_twice() -> None:
    proof = failed(fault("a", "A."))
    assert told(proof, outcome(proof)) == ""
    assert told(Proof([], True)) == ""


@pytest.mark.parametrize(
    ("after", "mended"),
    [
        ([], ["A.", "B.", "B too."]),
        ([fault("b", "B.")], ["A.", "B too."]),
        ([fault("b", "B, but otherwise.")], ["A."]),
        ([fault("a", "A."), fault("b", "B."), fault("b", "B too."), fault("c", "C.")], []),
    ],
)
def test_what_is_mended_is_named_unless_another_of_its_kind_has_come(
    after: list[Mistake], mended: list[str]
) -> None:
    before = outcome(failed(fault("a", "A."), fault("b", "B."), fault("b", "B too.")))
    said = outcome_told("t.toml", Proof(after, not after), before)
    assert [one.text for one in said if one.label == "Mended"] == [
        f"No longer a fault: {one}" for one in mended
    ]
    assert ("The tree has passed its proofs." in all_said(said)) == (not after)


def test_many_that_are_mended_are_counted() -> None:
    before = outcome(failed(*(fault(f"c{n}", f"Wrong {n}.") for n in range(9))))
    said = outcome_told("t.toml", Proof([], True), before)
    assert [one.text for one in said if one.label == "Mended"][-1] == "And 6 more."


def test_a_proof_in_doubt_says_that_no_fault_was_found() -> None:
    assert "No fault was found, but not every way could be tried" in told(Proof([], False))
