"""What the facts lead to: lines that fork and meet again, trees within trees, and what is passed on to them."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from assistant.errors import Refused
from assistant.session.fact import Fact
from assistant.session.session import Session
from assistant.session.walked import Walk
from assistant.tree.tree import Tree
from tests.writing import VERDICTS, banded, choice, judged, number, session, tree, whole

GONE = """
[[verdict]]
id = "gone"
title = "Gone"
says = "It is gone."
outcome = "stop"
do = []
when = { sound = "not-judged" }
"""


def several(name: str, then: str, *answers: str) -> str:
    rows = "".join(f'[[question.{name}.answer]]\nid = "{a}"\nsays = "The {a}"\n' for a in answers)
    return f'[question.{name}]\nkind = "several"\nask = "Which?"\nmust-answer = true\nthen = "{then}"\n{rows}'


def visiting(
    tmp_path: Path, body: str, first: str, verdicts: str = VERDICTS, **parts: tuple[str, str]
) -> Tree:
    """A tree with others beside it, each given by its steps and the first of them."""
    for name, (steps, start) in parts.items():
        (tmp_path / f"{name}.toml").write_text(whole(steps, start, tree_id=name, verdicts=verdicts))
    return tree(body, first, tmp_path, verdicts=verdicts)


def walked(tree: Tree, **facts: object) -> Walk:
    return session(tree, facts).walk


def causes(walk: Walk) -> dict[str, tuple[str, ...]]:
    return {found.id: found.causes for found in walk.found}


def next_key(walk: Walk) -> str | None:
    return walk.next.key if walk.next else None


# Lines


FORK = tree(
    choice("age", "new > fixing", "old > sealed", unsure='finding = "unclear"')
    + choice("fixing", "screws ! good > size", "none ! bad > size")
    + choice("sealed", "yes ! good > size", "no > size")
    + number("size", "below = 60 > end", " ! note > end"),
    "age",
)


def test_an_unknown_forks_the_line_and_each_question_after_it_is_asked_once_in_author_order() -> None:
    facts: dict[str, object] = {"age": "not-sure"}
    asked = []
    for answer in ("screws", 60, "yes"):
        asked.append(next_key(walked(FORK, **facts)))
        facts[str(asked[-1])] = answer
    walk = walked(FORK, **facts)
    assert asked == ["fixing", "size", "sealed"]
    assert next_key(walk) is None
    assert list(walk.asked) == ["age", "fixing", "size", "sealed"]


def test_the_finding_of_not_sure_joins_each_line_beside_the_answers_own() -> None:
    walk = walked(FORK, age="not-sure", fixing="screws", sealed="no", size=10)
    assert causes(walk) == {"unclear": ("age",), "good": ("fixing",)}
    assert [end.states for end in walk.ends] == [("not-proven",)]


def test_a_finding_met_twice_counts_once_with_both_causes() -> None:
    walk = walked(FORK, age="not-sure", fixing="screws", sealed="yes", size=10)
    assert causes(walk)["good"] == ("fixing", "sealed")


def test_lines_that_meet_again_with_the_same_outlook_are_walked_on_once() -> None:
    # Forty unknowns in a row would be 2**40 lines, were each walked to its end.
    steps = [choice(f"q{n}", f"a > q{n + 1}", f"b ! note > q{n + 1}", unsure="") for n in range(40)]
    long = tree("".join(steps) + choice("q40", "a > end"), "q0")
    walk = walked(long, **{f"q{n}": "not-sure" for n in range(40)}, q40="a")
    assert len(walk.ends) == 1
    assert causes(walk)["note"] == tuple(f"q{n}" for n in range(40))


def test_an_assumed_choice_is_remembered_on_its_line() -> None:
    steps = choice("age", "new > other", "old > other", unsure="") + choice("other", "a > again", "b > again")
    again = '[recall.again]\nquestion = "age"\nthen = "end"\n[[recall.again.answer]]\nid = "new"\nfinding = "good"\n'
    twice = again.replace("again", "twice").replace(
        'finding = "good"', 'finding = "bad"\nthen = "verdict:sound"'
    )
    remembers = tree(steps + again.replace('then = "end"', 'then = "twice"') + twice, "age")
    ends = walked(remembers, age="not-sure", other="a").ends
    assert {(end.verdict, end.states) for end in ends} == {("sound", ("not-met",)), ("open", ("not-judged",))}


def test_an_assumed_band_has_no_number_and_a_recall_of_it_is_not_sure() -> None:
    recall = '[recall.again]\nquestion = "gap"\n[recall.again.not-sure]\nfinding = "unclear"\nthen = "end"\n'
    recall += "".join(banded("recall.again", band) + "\n" for band in ("below = 5 ! good > end", " > end"))
    banded_tree = tree(number("gap", "below = 5 > again", " > again", unsure="") + recall, "gap")
    assert causes(walked(banded_tree, gap="not-sure")) == {"unclear": ("gap",)}
    assert causes(walked(banded_tree, gap="4 mm")) == {"good": ("gap",)}


def test_not_sure_with_a_way_on_goes_that_way_alone() -> None:
    decided = tree(choice("age", "new ! good > end", "old > end", unsure='then = "verdict:open"'), "age")
    walk = walked(decided, age="not-sure")
    assert [end.verdict for end in walk.ends] == ["open"]
    assert [unsure.decided for unsure in walk.unsure] == [True]


def test_what_is_left_unanswered_on_one_line_does_not_stop_the_others() -> None:
    walk = walked(FORK, age="not-sure", sealed="yes", size=10)
    assert (next_key(walk), list(walk.asked)) == ("fixing", ["age", "sealed", "size"])


# Bases


def test_an_answer_on_a_basis_that_does_not_settle_it_counts_as_not_sure_and_keeps_its_value() -> None:
    picky = tree(
        choice("age", "new ! good > end", "old > end", unsure='finding = "unclear"\nthen = "end"', more='accept = ["seen"]'),
        "age",
    )  # fmt: skip
    told = session(picky, {"age": "new"}, {"age": "told"})
    assert causes(told.walk) == {"unclear": ("age",)}
    assert told.walk.values["age"] == "not-sure"
    assert told.facts["age"].value == "new"
    assert causes(session(picky, {"age": "new"}, {"age": "seen"}).walk) == {"good": ("age",)}
    assert causes(session(picky, {"age": "new"}).walk) == {"good": ("age",)}


def test_a_question_that_must_be_answered_refuses_not_sure_and_what_does_not_settle_it() -> None:
    must = tree(choice("age", "new > end", more='must-answer = true\naccept = ["seen", "measured"]'), "age")
    with pytest.raises(Refused, match='"age" must be answered'):
        Session(must).answer("age", Fact("not-sure"))
    with pytest.raises(Refused, match='"age" must be answered, and "told" does not settle it') as refused:
        Session(must).answer("age", Fact("new", "told"))
    assert refused.value.hint == "What settles it: seen, measured."


# Trees within trees


ASKS = choice("age", "new ! good > size", "old ! bad > size", unsure='finding = "unclear"\nthen = "end"')
ASKS += number("size", "below = 60 > end", " ! note > end")


def test_a_visited_tree_asks_under_the_name_of_the_visit_and_hands_back(tmp_path: Path) -> None:
    body = '[visit.draught]\ntree = "part"\nthen = "after"\n' + choice("after", "yes > end")
    visit = visiting(tmp_path, body, "draught", part=(ASKS, "age"))
    walk = session(visit, {"draught/age": "new", "draught/size": 70, "after": "yes"}).walk
    assert list(walk.asked) == ["draught/age", "draught/size", "after"]
    assert causes(walk) == {"good": ("draught/age",), "note": ("draught/size",)}
    assert [end.verdict for end in walk.ends] == ["sound"]


def test_a_verdict_inside_a_visited_tree_ends_the_whole_consultation(tmp_path: Path) -> None:
    part = choice("age", "new ! good > end", "old > verdict:gone")
    body = '[visit.it]\ntree = "part"\nthen = "after"\n' + choice("after", "yes > end")
    visit = visiting(tmp_path, body, "it", VERDICTS + GONE, part=(part, "age"))
    walk = session(visit, {"it/age": "old"}).walk
    assert (next_key(walk), [end.verdict for end in walk.ends]) == (None, ["gone"])
    assert next_key(session(visit, {"it/age": "new"}).walk) == "after"


def test_what_is_given_is_not_asked_and_its_findings_name_the_answer_here(tmp_path: Path) -> None:
    body = choice("era", "new > it", "old > it", unsure='then = "it"')
    body += '[visit.it]\ntree = "part"\nthen = "end"\ngiven = { age = "era" }\n'
    visit = visiting(tmp_path, body, "era", part=(ASKS, "age"))
    walk = session(visit, {"era": "new", "it/size": 10}).walk
    assert list(walk.asked) == ["era", "it/size"]
    assert causes(walk) == {"good": ("era",)}
    assert causes(session(visit, {"era": "not-sure"}).walk) == {"unclear": ("era",)}
    with pytest.raises(Refused, match='"it/age" is never asked: it is answered from "era"') as refused:
        visit.ask("it/age")
    assert refused.value.hint == 'Take "it/age" out.'


def test_an_assumed_answer_is_handed_on_as_it_is_assumed_on_each_line(tmp_path: Path) -> None:
    body = choice("era", "new > it", "old ! worse > it", unsure="")
    body += '[visit.it]\ntree = "part"\nthen = "end"\ngiven = { age = "era" }\n'
    visit = visiting(tmp_path, body, "era", part=(ASKS, "age"))
    walk = session(visit, {"era": "not-sure", "it/size": 10}).walk
    assert {end.states for end in walk.ends} == {("met",), ("not-met",)}
    assert "unclear" not in causes(walk)


def test_what_is_set_is_the_authors_and_has_no_cause(tmp_path: Path) -> None:
    body = '[visit.it]\ntree = "part"\nthen = "end"\nset = { age = "old" }\n'
    visit = visiting(tmp_path, body, "it", part=(ASKS, "age"))
    walk = session(visit, {"it/size": 10}).walk
    assert causes(walk) == {"bad": ()}
    with pytest.raises(Refused, match='"it/age" is never asked: it is answered by the tree itself'):
        visit.ask("it/age")


def test_not_sure_that_the_author_set_is_assumed_alike_on_the_whole_of_a_line(tmp_path: Path) -> None:
    part = choice("age", "new > again", "old > again", unsure="")
    part += '[recall.again]\nquestion = "age"\nthen = "end"\n[[recall.again.answer]]\nid = "new"\nfinding = "good"\n'
    part = part.replace('"new"\nsays', '"new"\nfinding = "note"\nsays')
    body = '[visit.it]\ntree = "part"\nthen = "end"\nset = { age = "not-sure" }\n'
    visit = visiting(tmp_path, body, "it", part=(part, "age"))
    assert [end.states for end in session(visit, {}).walk.ends] == [("met",), ("not-judged",)]


def test_an_answer_that_the_visited_tree_does_not_have_is_refused(tmp_path: Path) -> None:
    body = choice("era", "new > it", "ancient > it")
    body += '[visit.it]\ntree = "part"\nthen = "end"\ngiven = { age = "era" }\n'
    visit = visiting(tmp_path, body, "era", part=(ASKS, "age"))
    with pytest.raises(
        Refused, match='"it/age" cannot take the answer it is given: "ancient" is not an answer here'
    ):
        walked(visit, era="ancient")


def test_a_number_beyond_the_limits_of_the_visited_tree_is_refused(tmp_path: Path) -> None:
    body = (
        number("width", " > it", most="2000")
        + '[visit.it]\ntree = "part"\nthen = "end"\ngiven = { size = "width" }\n'
    )
    visit = visiting(tmp_path, body, "width", part=(number("size", " > end", most="1000"), "size"))
    assert next_key(walked(visit, width=1000)) is None
    with pytest.raises(Refused, match="1001 mm is outside what this can be"):
        walked(visit, width=1001)


# Several things


def each(
    tmp_path: Path, more: str = "", count: str = "count", verdicts: str = VERDICTS, part: str = ASKS
) -> Tree:
    first = "pipes" if count == "count" else "sides"
    body = number("pipes", " > pipe", kind="count", unit="", most="4") + several(
        "sides", "pipe", "left", "right"
    )
    body += f'[each.pipe]\n{count} = "{first}"\ntree = "part"\nthen = "end"\n{more}'
    return visiting(tmp_path, body, first, verdicts, part=(part, "age"))


def test_an_each_over_a_count_runs_once_for_each_and_names_it(tmp_path: Path) -> None:
    pipes = each(tmp_path, 'label = "Pipe {n}"\n')
    walk = session(pipes, {"pipes": 2, "pipe.1/age": "new", "pipe.1/size": 1, "pipe.2/age": "old"}).walk
    assert list(walk.asked) == ["pipes", "pipe.1/age", "pipe.1/size", "pipe.2/age"]
    assert next_key(walk) == "pipe.2/size"
    assert walk.next is not None
    assert walk.next.labels == ("Pipe 2",)
    assert causes(walk) == {"good": ("pipe.1/age",), "bad": ("pipe.2/age",)}


def test_an_each_over_several_runs_for_what_was_answered_in_author_order(tmp_path: Path) -> None:
    sides = each(tmp_path, 'label = "{n}: {says}"\n', "over")
    walk = session(sides, {"sides": ["right", "left"]}).walk
    assert next_key(walk) == "pipe.left/age"
    walk = session(sides, {"sides": ["right"]}).walk
    assert next_key(walk) == "pipe.right/age"
    assert walk.next is not None
    assert walk.next.labels == ("1: The right",)


@pytest.mark.parametrize(("count", "none"), [("count", {"pipes": 0}), ("over", {"sides": []})])
def test_an_each_of_nothing_goes_on_at_once(tmp_path: Path, count: str, none: Mapping[str, Any]) -> None:
    walk = session(each(tmp_path, count=count), none).walk
    assert (next_key(walk), [end.verdict for end in walk.ends]) == (None, ["open"])


def test_a_verdict_inside_an_each_ends_it_all(tmp_path: Path) -> None:
    part = choice("age", "new > end", "old > verdict:gone")
    pipes = each(tmp_path, verdicts=VERDICTS + GONE, part=part)
    walk = session(pipes, {"pipes": 3, "pipe.1/age": "new", "pipe.2/age": "old"}).walk
    assert (next_key(walk), [end.verdict for end in walk.ends]) == (None, ["gone"])


def test_keys_nest_as_trees_do(tmp_path: Path) -> None:
    (tmp_path / "leaf.toml").write_text(whole(ASKS, "age", tree_id="leaf"))
    inner = number("n", " > b", kind="count", unit="", most="3")
    inner += '[each.b]\ncount = "n"\ntree = "leaf"\nthen = "end"\nlabel = "B {n}"\n'
    nested = visiting(tmp_path, '[visit.a]\ntree = "inner"\nthen = "end"\n', "a", inner=(inner, "n"))
    facts = {"a/n": 2, "a/b.1/age": "new", "a/b.1/size": 1, "a/b.2/age": "new", "a/b.2/size": 99}
    walk = session(nested, facts).walk
    assert (list(walk.asked), next_key(walk)) == (list(facts), None)
    assert causes(walk)["note"] == ("a/b.2/size",)
    assert list(nested.every_key())[-1] == "a/b.3/size"
    with pytest.raises(Refused, match=r'"a/b\.4/age" can never be asked: there is no "a/b\.4"') as refused:
        nested.ask("a/b.4/age")
    assert refused.value.hint == "There can be a/b.1 to a/b.3."


# Workings


GAP = """
[working.gap]
run = "annular-gap"
give = { hole_mm = "hole", flue_mm = "flue" }
branch-on = "gap_mm"
then = "end"
[working.gap.not-sure]
finding = "unclear"
then = "end"
"""
RING = (
    number("hole", "below = 200 > flue", " > gap", unsure='then = "flue"')
    + number("flue", " > gap", most="199", unsure="")
    + GAP
    + "".join(banded("working.gap", band) + "\n" for band in ("up-to = 5 ! bad", " ! good"))
)


def test_a_working_branches_on_its_result_and_its_finding_is_caused_by_its_inputs() -> None:
    walk = walked(tree(RING, "hole"), hole="11 cm", flue=100)
    assert causes(walk) == {"bad": ("hole", "flue")}
    [worked] = walk.workings
    assert (worked.step, worked.inputs) == ("gap", {"hole_mm": 110, "flue_mm": 100})
    assert worked.results == {"gap_mm": 5}
    assert causes(walked(tree(RING, "hole"), hole="11.0000001 cm", flue=100)) == {"good": ("hole", "flue")}


@pytest.mark.parametrize(
    ("facts", "known"),
    [
        ({"hole": "not-sure", "flue": 100}, ("hole", "flue")),
        ({"hole": 120, "flue": "not-sure"}, ("hole", "flue")),
        ({"hole": 250}, ("hole",)),
    ],
)
def test_a_working_without_a_number_it_needs_is_not_sure(
    facts: dict[str, Any], known: tuple[str, ...]
) -> None:
    walk = walked(tree(RING, "hole"), **facts)
    assert causes(walk) == {"unclear": known}
    assert walk.workings == ()


def test_a_working_that_is_not_sure_without_a_way_on_leaves_every_band_possible() -> None:
    ring = RING.replace('finding = "unclear"\nthen = "end"', 'finding = "unclear"')
    walk = walked(tree(ring, "hole"), hole="not-sure", flue=100)
    assert {end.states for end in walk.ends} == {("not-met",), ("not-proven",)}


def test_a_working_that_refuses_what_it_is_given_says_which_one() -> None:
    with pytest.raises(Refused, match="a flue of 100 mm does not go through a hole of 90 mm"):
        walked(tree(RING, "hole"), hole=90, flue=100)


JOINT = """
[question.held-by]
kind = "choice"
ask = "How is it held?"
then = "engagement"
[question.held-by.not-sure]
then = "engagement"
[[question.held-by.answer]]
id = "push-fit"
says = "Pushed in"
[[question.held-by.answer]]
id = "screws"
says = "By screws"
"""
JOINT = choice("axis", "up > held-by", "out > held-by", "along > held-by", unsure='then = "held-by"') + JOINT
JOINT += number("engagement", " > end", most="200", unsure='then = "end"')
RUN = number("joints", " > joint", kind="count", unit="", least="0", most="3")
RUN += """
[each.joint]
count = "joints"
tree = "joint"
then = "holds"

[working.holds]
run = "restraint"
give = { joints = "joint.*" }
set = { ducts = "concentric" }
branch-on = "opening_mm"
then = "end"
[working.holds.not-sure]
finding = "note"
then = "end"
"""
RUN += "".join(
    banded("working.holds", band) + "\n" for band in ("up-to = 0 ! good", "below = 1000 ! unclear", " ! bad")
)


def restraint(tmp_path: Path, **facts: object) -> Walk:
    """A run of joints, looked at by the working of the trade that takes a list."""
    run = visiting(tmp_path, RUN, "joints", joint=(JOINT, "axis"))
    return session(run, {key.replace("_", "/"): value for key, value in facts.items()}).walk


def joint(number: int, axis: str, held_by: str, engagement: object) -> dict[str, object]:
    return {
        f"joint.{number}_axis": axis,
        f"joint.{number}_held-by": held_by,
        f"joint.{number}_engagement": engagement,
    }


def test_a_working_gets_the_facts_of_each_thing_with_their_units_and_without_what_is_not_sure(
    tmp_path: Path,
) -> None:
    first, second = joint(1, "up", "screws", "3 cm"), joint(2, "out", "not-sure", "not-sure")
    [worked] = restraint(tmp_path, joints=2, **first, **second).workings
    assert worked.inputs["joints"] == [
        {"axis": "up", "held_by": "screws", "engagement_mm": Fraction(30)}, {"axis": "out"},
    ]  # fmt: skip


def test_an_optional_input_is_passed_on_as_unknown_and_unbounded_is_in_the_last_band(tmp_path: Path) -> None:
    walk = restraint(tmp_path, joints=1, **joint(1, "out", "push-fit", 30))
    [worked] = walk.workings
    assert worked.results["opening_mm"] == "unbounded"
    assert causes(walk) == {"bad": ("joint.1/axis", "joint.1/held-by", "joint.1/engagement")}


def test_a_list_without_what_a_thing_cannot_do_without_is_not_sure(tmp_path: Path) -> None:
    walk = restraint(tmp_path, joints=1, **joint(1, "not-sure", "push-fit", 30))
    assert (walk.workings, list(causes(walk))) == ((), ["note"])


# Sessions


def test_a_walk_that_goes_round_is_stopped() -> None:
    circle = tree(
        '[recall.a]\nquestion = "q"\nthen = "b"\n[recall.b]\nquestion = "q"\nthen = "a"\n'
        + choice("q", "x > a"),
        "q",
    )
    with pytest.raises(Refused, match='"small" comes to no end within'):
        walked(circle, q="x")


def test_changing_an_answer_parks_the_later_ones_and_offers_them_again() -> None:
    before = session(FORK, {"age": "new", "fixing": "screws", "size": 10})
    changed = before.answer("age", Fact("old"))
    assert (set(changed.facts), set(changed.parked)) == ({"age"}, {"fixing", "size"})
    assert next_key(changed.walk) == "sealed"
    assert changed.offered() is None
    on = changed.answer("sealed", Fact("yes"))
    assert on.offered() == before.facts["size"]
    assert judged(FORK, {"age": "old", "sealed": "yes", "size": 10}).outcome == "acceptable"


def test_a_number_goes_into_a_working_in_the_unit_that_it_is_wanted_in() -> None:
    body = (
        number("hole", unit="cm", most="40", more='must-answer = true\nthen = "flue"')
        + number("flue", unit="in", most="10", more='must-answer = true\nthen = "gap"')
        + '[working.gap]\nrun = "annular-gap"\nbranch-on = "gap_mm"\nthen = "end"\n'
        + 'give = { hole_mm = "hole", flue_mm = "flue" }\n'
        + banded("working.gap", "up-to = 10 ! good")
        + "\n"
        + banded("working.gap", " ! bad")
        + "\n"
    )
    judgement = judged(tree(body, "hole"), {"hole": "15 cm", "flue": "100 mm"})
    assert judgement.workings[0].inputs == {"hole_mm": 150, "flue_mm": 100}
    assert judgement.workings[0].results["gap_mm"] == 25
    assert judgement.outcome == "not-acceptable"
