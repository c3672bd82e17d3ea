"""The one script both faces perform: what is asked, what is taken, what is kept."""

import shutil
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from assistant.conversation import Conversation, Said, Tone, all_said, mistakes
from assistant.errors import Refused
from assistant.session.record import read_record
from assistant.session.store import Store
from assistant.tree.load import load
from assistant.tree.tree import Tree
from tests.conftest import NOW

GOOD = ["fitting", "1, 3", "12", "2", "screws", "40 mm", "push fit", "35", "all well"]


@pytest.fixture
def talk(conversation: Conversation, small: Tree) -> Conversation:
    conversation.begin(small)
    return conversation


def say(talk: Conversation, *texts: str) -> list[Said]:
    said: list[Said] = []
    for text in texts:
        said = talk.say(text)
    return said


def key(talk: Conversation) -> str:
    assert talk.prompt is not None
    return talk.prompt.key


def kept(talk: Conversation) -> dict[str, object]:
    assert talk.path is not None
    return {k: fact.value for k, fact in read_record(talk.path).session.facts.items()}


# The way through


def test_the_first_question_is_the_job(conversation: Conversation) -> None:
    prompt = conversation.prompt
    assert prompt is not None
    assert (prompt.key, prompt.ask, prompt.choices[0].id) == ("job", "What is the job today?", "through-wall")
    said = conversation.say("1")
    assert said[0].label == "Flue through an outside wall"
    assert key(conversation) == "situation"


def test_a_tree_that_cannot_be_used_hinders_no_other(
    conversation: Conversation, monkeypatch: pytest.MonkeyPatch
) -> None:
    def load(name: str) -> Tree:
        raise Refused(f"{name} is broken")

    monkeypatch.setattr("assistant.tree.load.load", load)
    with pytest.raises(Refused, match="through-wall is broken"):
        conversation.say("1")
    assert key(conversation) == "job"


def test_every_answer_is_on_disk_before_the_next_question(talk: Conversation) -> None:
    for count, text in enumerate(GOOD, 1):
        talk.say(text)
        assert len(kept(talk)) == count
    assert talk.prompt is None
    assert talk.judgement().outcome == "not-acceptable"


def test_each_reply_says_how_it_was_understood(talk: Conversation) -> None:
    assert say(talk, "new work") == [Said(Tone.HEARD, "New work", "Taken as")]
    assert say(talk, "eaves and an opening window") == [
        Said(Tone.HEARD, "Eaves, A window that opens", "Taken as")
    ]
    assert say(talk, "1/2 in")[0].text == "12.7 mm"


def test_the_prompt_says_all_that_a_face_needs(talk: Conversation) -> None:
    say(talk, *GOOD[:6])
    prompt = talk.prompt
    assert prompt is not None
    assert (prompt.key, prompt.about, prompt.number, prompt.can_be_unsure) == (
        "joint.2/held-by",
        ("Joint 2",),
        7,
        True,
    )
    assert [(choice.number, choice.id) for choice in prompt.choices] == [(1, "screws"), (2, "push-fit")]


@pytest.mark.parametrize(
    "text",
    [
        "",
        "  ",
        "perhaps",
        "not fitting",
        "fitting?",
        "7",
        "\x1b",
        "unsure",
        "change 9",
        "same",
        "note x",
        "photo x",
    ],
)
def test_what_is_refused_changes_nothing(talk: Conversation, text: str) -> None:
    before = talk.prompt
    with pytest.raises(Refused):
        talk.say(text)
    assert talk.prompt == before
    assert talk.path is not None
    assert not talk.path.exists()


def test_an_answer_that_cannot_be_written_is_not_taken(
    talk: Conversation, monkeypatch: pytest.MonkeyPatch
) -> None:
    say(talk, "fitting")

    def full(*_: object) -> None:
        raise Refused("the disk is full")

    monkeypatch.setattr("assistant.conversation.consultation.write_record", full)
    with pytest.raises(Refused, match="disk is full"):
        talk.say("eaves")
    assert key(talk) == "near"


# Back, change, keep


def test_back_takes_the_latest_answer_aside_and_offers_it(talk: Conversation) -> None:
    say(talk, *GOOD[:3], "back")
    prompt = talk.prompt
    assert prompt is not None
    assert (prompt.key, prompt.offered) == ("gap", "12 mm")
    assert say(talk, "")[0] == Said(Tone.HEARD, "12 mm", "Kept")
    assert key(talk) == "joint-count"


def test_back_from_the_first_question_is_the_choice_of_job(talk: Conversation) -> None:
    say(talk, "back")
    assert key(talk) == "job"


def test_a_change_parks_what_came_later_and_offers_it_one_by_one(talk: Conversation) -> None:
    say(talk, "basis seen", *GOOD[:4], "screws", "note both sides", "change 2")
    assert key(talk) == "near"
    assert [(row.key, row.parked) for row in talk.answered()] == [
        ("situation", False), ("gap", True), ("joint-count", True), ("joint.1/held-by", True), ("near", True),
    ]  # fmt: skip
    assert talk.path is not None
    assert len(read_record(talk.path).session.parked) == 4
    say(talk, "none")
    for expected in ("gap", "joint-count", "joint.1/held-by"):
        assert key(talk) == expected
        say(talk, "")
    fact = talk.session.facts["joint.1/held-by"] if talk.session else None
    assert fact is not None
    assert (fact.value, fact.basis, fact.note) == ("screws", "seen", "both sides")
    assert not talk.session.parked if talk.session else False


def test_a_parked_answer_counts_for_nothing_until_it_is_kept(talk: Conversation) -> None:
    say(talk, *GOOD, "change 4", "1")
    assert talk.judgement().outcome is None
    assert [row.key for row in talk.answered() if row.parked] != []


def test_nothing_typed_is_no_answer_where_none_is_offered(talk: Conversation) -> None:
    with pytest.raises(Refused, match="nothing was typed"):
        talk.say(" ")


def test_the_same_as_before_is_shown_and_confirmed(talk: Conversation) -> None:
    say(talk, *GOOD[:4], "basis seen", "screws", "note left one is new", "40 mm")
    assert talk.prompt is not None
    assert talk.prompt.same_as == "Joint 1"
    shown = say(talk, "same")
    assert (
        all_said(shown) == "Joint 1: How is it held together? Screws\nJoint 1: How far does it go in? 40 mm"
    )
    assert key(talk) == "confirm"
    say(talk, "yes")
    assert key(talk) == "remark"
    assert talk.session is not None
    fact = talk.session.facts["joint.2/held-by"]
    assert (fact.value, fact.basis, fact.note) == ("screws", "seen", "")
    assert kept(talk)["joint.2/depth"] == 40


@pytest.mark.parametrize("text", ["no", "2", "n", "back"])
def test_the_same_as_before_can_be_declined(talk: Conversation, text: str) -> None:
    say(talk, *GOOD[:6], "same", text)
    assert key(talk) == "joint.2/held-by"
    assert "joint.2/held-by" not in kept(talk)


# What can always be said


@pytest.mark.parametrize(
    "text", ["why", "how", "why?", "/why", "possible", "answers", "help", "?", "danger", "basis seen", "HELP"]
)
def test_asking_leaves_the_question_open(talk: Conversation, text: str) -> None:
    before = talk.prompt
    assert say(talk, text)
    assert talk.prompt == before


def test_a_basis_that_does_not_settle_a_question_is_said_and_counts_as_not_sure(talk: Conversation) -> None:
    said = say(talk, *GOOD[:2], "basis assumed", "12")
    assert said[-1].label == "Not settled"
    assert talk.session is not None
    assert talk.session.walk.values["gap"] == "not-sure"


def test_not_sure_says_how_to_settle_it_later(talk: Conversation) -> None:
    said = say(talk, *GOOD[:2], "unsure")
    assert said == [
        Said(Tone.HEARD, "Not sure", "Taken as"),
        Said(Tone.HOW, "Measure it.", "To settle it later"),
    ]


def test_words_of_alarm_point_to_what_to_do(talk: Conversation) -> None:
    say(talk, *GOOD[:4])
    with pytest.raises(Refused) as caught:
        talk.say("I can smell fumes")
    assert "danger" in caught.value.hint


def test_danger_stops_everything_where_the_tree_can(conversation: Conversation) -> None:
    say(conversation, "through-wall", "existing")
    said = conversation.say("danger")
    assert said[0].tone is Tone.DANGER
    assert conversation.prompt is None
    assert conversation.judgement().outcome == "stop"


@pytest.mark.parametrize("text", ["quit", "back", "Why", "help", "answers"])
def test_a_note_that_is_only_an_action_word_is_asked_back(talk: Conversation, text: str) -> None:
    say(talk, *GOOD[:8])
    with pytest.raises(Refused, match="alone could be your note"):
        talk.say(text)
    assert say(talk, f"/{text}")
    assert "remark" not in kept(talk)


# Notes and other typed text


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.text(st.characters(), min_size=1, max_size=80))
def test_any_note_can_be_written_and_read_back(tmp_path: Path, small: Tree, text: str) -> None:
    talk = Conversation(Store(tmp_path), lambda: NOW)
    talk.place = text
    talk.begin(small)
    say(talk, "fitting")
    talk.note(text)
    talk.answer(("window",), typed=text)
    assert list(kept(talk)) == ["situation", "near"]


def test_a_photo_is_kept_by_its_path(talk: Conversation) -> None:
    say(talk, "fitting", "photo ~/flue/joint 2.jpg", "photo: b.jpg")
    assert talk.path is not None
    assert read_record(talk.path).session.facts["situation"].photos == ("~/flue/joint 2.jpg", "b.jpg")


# Leaving and going on


def test_a_record_opens_where_it_was_left(talk: Conversation, store: Store) -> None:
    say(talk, *GOOD[:6], "change 3")
    answers, prompt = talk.answered(), talk.prompt
    again = Conversation(store, lambda: NOW)
    assert again.prompt is not None
    assert again.prompt.choices[0].says == "Go on with A small run, begun 2026-03-02 09:30, 2 answered"
    again.say("1")
    assert again.answered() == answers
    assert again.prompt == prompt
    assert again.path == talk.path


def test_leaving_says_where_it_is_kept(talk: Conversation) -> None:
    assert say(talk, "fitting", "quit")[0] == Said(Tone.TOLD, str(talk.path), "Kept in")
    assert talk.left
    assert talk.prompt is None


@pytest.mark.parametrize("text", ["exit", "q", "quit.", "leave"])
def test_other_words_for_leaving(talk: Conversation, text: str) -> None:
    say(talk, text)
    assert talk.left


def test_a_new_consultation_keeps_the_one_before(talk: Conversation, small: Tree) -> None:
    say(talk, *GOOD)
    first = talk.path
    assert say(talk, "new") == [Said(Tone.TOLD, str(first), "Kept in")]
    assert key(talk) == "job"
    talk.begin(small)
    say(talk, "existing")
    assert talk.path != first


def test_new_is_no_way_out_of_a_consultation_that_goes_on(talk: Conversation) -> None:
    say(talk, *GOOD[:4])
    with pytest.raises(Refused):
        talk.say("new")


def test_after_the_verdict_what_cannot_be_done_says_what_can(talk: Conversation) -> None:
    say(talk, *GOOD)
    with pytest.raises(Refused) as caught:
        talk.say("screws")
    assert "`new`" in caught.value.hint
    assert say(talk, "change 5")
    assert key(talk) == "joint.1/held-by"


def test_a_tree_that_is_not_proven_says_so(conversation: Conversation, small: Tree) -> None:
    said = conversation.begin(small, proven=False)
    assert any(one.tone is Tone.REFUSED and "Do not rely" in one.text for one in said)


def loosened(folder: Path, name: str = "loose") -> Tree:
    """The small tree with its first reason taken out, which its proofs complain of."""
    text = (Path(__file__).parent / "trees" / "small.toml").read_text(encoding="utf-8")
    loose = folder / f"{name}.toml"
    loose.write_text(
        text.replace('id = "small"', f'id = "{name}"', 1).replace("why = ", "# why = ", 1), encoding="utf-8"
    )
    shutil.copy(Path(__file__).parent / "trees" / "part.toml", folder)
    return load(str(loose))


def test_a_record_of_a_tree_that_has_not_passed_its_proofs_says_so_again(
    conversation: Conversation, store: Store, tmp_path: Path
) -> None:
    conversation.begin(loosened(tmp_path), proven=False)
    say(conversation, "fitting")
    assert conversation.path is not None
    again = Conversation(store, lambda: NOW)
    assert "Unproven" in [one.label for one in again.open(conversation.path)]
    assert again.session is not None
    assert not again.session.proven


@pytest.mark.parametrize("unproven", [False, True])
def test_a_record_whose_tree_breaks_its_proofs_by_now_is_refused_unless_it_is_asked_for(
    conversation: Conversation, store: Store, tmp_path: Path, unproven: bool
) -> None:
    shutil.copy(Path(__file__).parent / "trees" / "part.toml", tmp_path)
    shutil.copy(Path(__file__).parent / "trees" / "small.toml", tmp_path)
    conversation.begin(load(str(tmp_path / "small.toml")))
    say(conversation, "fitting")
    assert conversation.path is not None
    loosened(tmp_path, "small")
    again = Conversation(store, lambda: NOW)
    again.unproven = unproven
    if unproven:
        assert "Unproven" in [one.label for one in again.open(conversation.path)]
        return
    with pytest.raises(Refused) as caught:
        again.open(conversation.path)
    told = mistakes(caught.value)
    assert told[0].startswith(f"{tmp_path / 'small.toml'}:")
    assert told[-1].startswith("Started with --unproven")


def test_a_tree_chosen_that_breaks_its_proofs_is_refused_with_its_complaints(
    conversation: Conversation, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    tree = loosened(tmp_path)
    monkeypatch.setattr("assistant.tree.load.load", lambda name: tree)
    with pytest.raises(Refused) as caught:
        conversation.say("1")
    assert mistakes(caught.value)
    assert key(conversation) == "job"
    conversation.unproven = True
    assert "Unproven" in [one.label for one in conversation.say("1")]
