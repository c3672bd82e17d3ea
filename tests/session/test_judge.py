"""What a session comes to: outcome, verdicts still possible, states, what to find out, and what puts it right."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from assistant.session.judge import Judgement, judge
from assistant.session.putright import Remedy, put_right
from assistant.session.session import Session
from assistant.tree.tree import Tree
from tests.writing import FINDINGS, banded, choice, judged, number, session, tree, whole

DRY = """
[finding.dry]
requirement = "dry"
effect = "meets"
reason = "No water comes in."
source = "trade"
unsafe = "at-risk"
"""


def verdict(name: str, outcome: str, when: str = "") -> str:
    return f'[[verdict]]\nid = "{name}"\ntitle = "{name}"\nsays = "x"\noutcome = "{outcome}"\ndo = []\nwhen = {{{when}}}\n'


def open_keys(judgement: Judgement) -> list[str]:
    return [unsure.asked.key for unsure in judgement.open]


# Requirement states and verdicts


@pytest.mark.parametrize(
    ("findings", "state"),
    [
        ([], "not-judged"), (["note"], "not-judged"), (["good"], "met"), (["good", "note"], "met"),
        (["good", "unclear"], "not-proven"), (["unclear"], "not-proven"), (["unclear", "bad"], "not-met"),
        (["good", "bad"], "not-met"), (["worse"], "not-met"), (["worse", "good", "unclear"], "not-met"),
    ],
)  # fmt: skip
def test_the_gravest_finding_on_the_path_makes_the_state(findings: list[str], state: str) -> None:
    listed = choice("q", "a > end").replace('says = "It is a"', f'says = "It is a"\nfinding = {findings}')
    assert judged(tree(listed.replace("'", '"'), "q"), {"q": "a"}).requirements == {"sound": state}


def test_the_first_verdict_that_matches_is_given_and_all_its_entries_must_hold() -> None:
    verdicts = (
        verdict("both", "acceptable", 'sound = "met", dry = "met"')
        + verdict("either", "not-settled", 'any = ["met", "not-proven"], dry = ["not-judged", "not-met"]')
        + verdict("every", "stop", 'all = ["not-met", "not-judged"]')
        + verdict("rest", "not-acceptable")
    )
    steps = choice("q", "good ! good > r", "bad ! bad > r", "none > r") + choice(
        "r", "dry ! dry > end", "none > end"
    )
    two = tree(steps, "q", requirements=("sound", "dry"), findings=FINDINGS + DRY, verdicts=verdicts)
    given = {
        (q, r): judged(two, {"q": q, "r": r}).verdict
        for q in ("good", "bad", "none")
        for r in ("dry", "none")
    }
    assert {answers: verdict.id for answers, verdict in given.items() if verdict} == {
        ("good", "dry"): "both", ("good", "none"): "either", ("bad", "dry"): "rest",
        ("bad", "none"): "every", ("none", "dry"): "rest", ("none", "none"): "every",
    }  # fmt: skip


# The unknown


TWICE = (
    choice("age", "new > fixing", "old > fixing", unsure="")
    + choice("fixing", "screws ! good > end", "none ! bad > end", unsure='find-out = "Look at the collar."')
    + choice("spare", "x > end")
)


def test_an_unknown_that_leads_to_one_verdict_did_not_matter() -> None:
    judgement = judged(tree(TWICE, "age"), {"age": "not-sure", "fixing": "screws"})
    assert (judgement.outcome, judgement.possible, open_keys(judgement)) == ("acceptable", ["sound"], [])
    assert judgement.verdict is not None
    assert judgement.verdict.id == "sound"
    assert [unsure.asked.key for unsure in judgement.did_not_matter] == ["age"]


def test_several_verdicts_of_one_outcome_give_that_outcome_and_no_verdict() -> None:
    verdicts = verdict("fine", "acceptable", 'sound = "met"') + verdict(
        "well", "acceptable", 'sound = "not-judged"'
    )
    judgement = judged(
        tree(
            choice("q", "a ! good > end", "b > end", unsure=""),
            "q",
            verdicts=verdicts + verdict("no", "stop"),
        ),
        {"q": "not-sure"},
    )
    assert (judgement.outcome, judgement.verdict) == ("acceptable", None)
    assert judgement.possible == ["fine", "well"]
    assert judgement.requirements == {"sound": "not-proven"}
    assert open_keys(judgement) == []


def test_several_outcomes_are_not_settled_with_the_interim_action_of_the_worst() -> None:
    judgement = judged(tree(TWICE, "age"), {"age": "not-sure", "fixing": "not-sure"})
    assert (judgement.outcome, judgement.verdict) == ("not-settled", None)
    assert judgement.possible == ["sound", "unsound"]
    assert judgement.requirements == {"sound": "not-proven"}
    assert judgement.interim is not None
    assert judgement.interim.id == "unsound"
    assert [(u.asked.key, u.find_out) for u in judgement.open] == [("fixing", "Look at the collar.")]


def test_a_number_is_open_where_only_a_later_look_at_it_parts_the_outcomes() -> None:
    # Below 5 the other answer is not looked at; the width itself has no bands of its own.
    steps = number("width", " > fixing", most="8", unsure="").replace("[[question.width.band]]", "")
    steps = steps.replace("\n\nthen", "\nthen").replace("least = 0", 'least = 0\nthen = "fixing"', 1)
    steps = steps.rsplit("then", 1)[0]
    steps += choice("fixing", "a > narrow", "b > narrow", unsure="")
    narrow = '[recall.narrow]\nquestion = "width"\n[recall.narrow.not-sure]\n'
    narrow += (
        banded("recall.narrow", "below = 5 ! good > end") + "\n" + banded("recall.narrow", " > again") + "\n"
    )
    again = '[recall.again]\nquestion = "fixing"\nthen = "end"\n[[recall.again.answer]]\nid = "a"\nfinding = "good"\n'
    again += '[[recall.again.answer]]\nid = "b"\nfinding = "bad"\n'
    judgement = judged(tree(steps + narrow + again, "width"), {"width": "not-sure", "fixing": "not-sure"})
    assert judgement.outcome == "not-settled"
    assert open_keys(judgement) == ["width", "fixing"]


def test_what_the_author_decided_on_not_sure_is_listed_where_it_can_be_found_out() -> None:
    decided = choice("q", "a ! good > end", unsure='find-out = "Look."\nfinding = "unclear"\nthen = "end"')
    judgement = judged(tree(decided, "q"), {"q": "not-sure"})
    assert (judgement.outcome, open_keys(judgement), judgement.did_not_matter) == ("not-settled", ["q"], [])


def test_what_was_handed_on_unsettled_is_to_be_found_out(tmp_path: Path) -> None:
    part = choice("age", "new ! good > end", "old ! bad > end", unsure="")
    (tmp_path / "part.toml").write_text(whole(part, "age", tree_id="part"))
    body = choice("era", "new > it", "old > it", unsure='then = "it"')
    body += '[visit.it]\ntree = "part"\nthen = "end"\ngiven = { age = "era" }\n'
    judgement = judged(tree(body, "era", tmp_path), {"era": "not-sure"})
    assert (judgement.outcome, open_keys(judgement)) == ("not-settled", ["era"])


def test_a_finding_is_certain_only_where_every_line_meets_it() -> None:
    judgement = judged(tree(TWICE, "age"), {"age": "not-sure", "fixing": "not-sure"})
    assert {found.id: judgement.certain(found) for found in judgement.findings} == {
        "good": False,
        "bad": False,
    }
    joined = tree(choice("q", "a > end", "b ! good > end", unsure='finding = "unclear"'), "q")
    judgement = judged(joined, {"q": "not-sure"})
    assert {found.id: judgement.certain(found) for found in judgement.findings} == {
        "unclear": True,
        "good": False,
    }


# Answers missing


def test_while_an_answer_is_missing_there_is_no_outcome() -> None:
    judgement = judged(tree(TWICE, "age"), {"age": "not-sure"})
    assert (judgement.outcome, judgement.verdict, judgement.requirements) == (None, None, {})
    assert judgement.session.next is not None
    assert judgement.session.next.key == "fixing"


def test_judging_never_finishes_early() -> None:
    same = tree(choice("q", "a ! good > r") + choice("r", "x > end", "y > end"), "q")
    judgement = judged(same, {"q": "a"})
    assert (judgement.outcome, judgement.possible) == (None, ["sound"])


def test_the_outlook_narrows_as_answers_come() -> None:
    steps = choice("q", "a ! good > r", "b ! bad > r", "c > r", unsure='then = "verdict:open"')
    narrowing = tree(steps + choice("r", "x > end", "y ! worse > end"), "q")
    assert judged(narrowing, {}).possible == ["sound", "unsound", "open"]
    assert judged(narrowing, {"q": "a"}).possible == ["sound", "unsound"]
    assert judged(narrowing, {"q": "b"}).possible == ["unsound"]


def test_the_outlook_knows_the_not_sure_of_a_number_without_bands() -> None:
    steps = number("width", unsure='then = "verdict:open"').replace("least = 0", 'least = 0\nthen = "q"', 1)
    assert judged(tree(steps + choice("q", "a ! good > end"), "width"), {}).possible == ["sound", "open"]


def test_the_outlook_holds_any_choice_among_several() -> None:
    names = [f"r{n}" for n in range(4)]
    findings = "".join(DRY.replace("dry", name) for name in names)
    rows = "".join(
        f'[[question.near.answer]]\nid = "{n}"\nsays = "{n}"\nfinding = ["{n}", "{n}x"]\n' for n in names
    )
    steps = f'[question.near]\nkind = "several"\nask = "?"\nmust-answer = true\nthen = "end"\n{rows}'
    findings += "".join(DRY.replace(".dry]", f".{n}x]").replace('"dry"', f'"{n}"') for n in names)
    two = verdict("two", "acceptable", 'r0 = "met", r1 = "met", r2 = "not-judged", r3 = "not-judged"')
    many = tree(
        steps, "near", requirements=tuple(names), findings=findings, verdicts=two + verdict("rest", "stop")
    )
    assert judged(many, {}).possible == ["two", "rest"]


# The likely class


@pytest.mark.parametrize(("situation", "likely"), [("existing", "immediately-dangerous"), ("new", None)])
def test_a_likely_class_is_for_a_flue_in_use(situation: str, likely: str | None) -> None:
    steps = choice("situation", "new > q", "existing > q")
    both = tree(steps + choice("q", "a ! worse > end"), "situation")
    assert judged(both, {"situation": situation, "q": "a"}).likely_class == likely


# Putting it right


def worked(name: str, *answers: str, unsure: str | None = None) -> str:
    """A choice question; an answer may end in " * effort" of the work that brings it about."""
    text = choice(name, *(answer.partition(" * ")[0] for answer in answers), unsure=unsure)
    for answer in answers:
        answer, _, effort = answer.partition(" * ")
        answer_id = answer.split()[0]
        work = f'\nput-right = "Make {name} {answer_id}."\neffort = {effort}'
        text = text.replace(
            f'says = "It is {answer_id}"', f'says = "It is {answer_id}"{work if effort else ""}'
        )
    return text


def remedies(tree: Tree, **facts: object) -> list[Remedy]:
    return put_right(session(tree, facts))


def work(remedy: Remedy) -> tuple[int, dict[str, object]]:
    return remedy.effort, {change.asked.key: change.after for change in remedy.changes}


def test_the_least_work_comes_first_and_no_remedy_holds_another() -> None:
    steps = worked("fixing", "screws ! good > seal * 2", "clamp ! good > seal * 1", "none ! bad > seal")
    steps += worked("seal", "whole ! good > end * 3", "split ! bad > end")
    found = remedies(tree(steps, "fixing"), fixing="none", seal="split")
    assert [work(remedy) for remedy in found] == [
        (4, {"fixing": "clamp", "seal": "whole"}),
        (5, {"fixing": "screws", "seal": "whole"}),
    ]
    assert [change.work for change in found[0].changes] == ["Make fixing clamp.", "Make seal whole."]


def test_work_that_lies_between_a_cause_and_its_finding_is_found() -> None:
    steps = worked("pipe", "steel > cover", "plastic > cover") + worked(
        "cover", "whole ! good > end * 1", "none > back"
    )
    steps += '[recall.back]\nquestion = "pipe"\nthen = "end"\n[[recall.back.answer]]\nid = "plastic"\nfinding = "bad"\n'
    assert [work(r) for r in remedies(tree(steps, "pipe"), pipe="plastic", cover="none")] == [
        (1, {"cover": "whole"})
    ]


def test_a_question_that_work_opens_is_worked_on_too_or_left_not_sure() -> None:
    steps = worked("fixing", "screws > seal * 1", "none ! bad > end")
    seal = ("whole ! good > end * 2", "split ! bad > end")
    both = tree(steps + worked("seal", *seal), "fixing")
    assert [work(r) for r in remedies(both, fixing="none")] == [(3, {"fixing": "screws", "seal": "whole"})]
    unsure = tree(steps + worked("seal", *seal, unsure='finding = "good"\nthen = "end"'), "fixing")
    assert [work(r) for r in remedies(unsure, fixing="none")] == [(1, {"fixing": "screws"})]
    assert work(remedies(unsure, fixing="none", seal="split")[0]) == (
        3,
        {"fixing": "screws", "seal": "whole"},
    )


def test_work_on_a_measure_brings_the_nearest_number_of_its_band() -> None:
    depth = number("depth", "below = 50 ! bad > end", " ! good > end", most="100")
    depth = depth.replace('finding = "good"', 'finding = "good"\nput-right = "Push it home."\neffort = 1')
    found = remedies(tree(depth, "depth"), depth="3 cm")
    assert [(work(r), r.changes[0].before) for r in found] == [((1, {"depth": Fraction(50)}), Fraction(30))]


@pytest.mark.parametrize("facts", [{"fixing": "screws"}, {}])
def test_there_is_nothing_to_put_right_where_it_is_acceptable_or_unfinished(facts: dict[str, object]) -> None:
    assert (
        remedies(tree(worked("fixing", "screws ! good > end * 1", "none ! bad > end"), "fixing"), **facts)
        == []
    )


def test_what_no_work_can_change_stays() -> None:
    assert (
        remedies(tree(worked("wall", "brick ! good > end", "paper ! bad > end"), "wall"), wall="paper") == []
    )


def test_each_remedy_was_judged_acceptable() -> None:
    steps = worked("fixing", "screws ! good > seal * 2", "none ! bad > seal")
    both = tree(steps + worked("seal", "whole > end * 3", "split ! bad > end"), "fixing")
    begun = session(both, {"fixing": "none", "seal": "split"})
    for remedy in put_right(begun):
        facts = {
            **begun.facts,
            **{c.asked.key: session(both, {c.asked.key: c.after}).facts[c.asked.key] for c in remedy.changes},
        }
        assert judge(Session(both, facts)).outcome == remedy.outcome == "acceptable"
