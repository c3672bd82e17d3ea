"""Whole consultations by keys, mouse and typed words: what is asked, what is shown, what is kept."""

from pathlib import Path

import pytest
from textual.widgets import OptionList

from assistant.conversation import Conversation
from assistant.screens.choices import ChoiceList
from assistant.screens.earlier import EarlierScreen
from assistant.screens.help import HelpScreen
from assistant.screens.talk import TalkScreen
from assistant.screens.verdict import VerdictScreen
from assistant.session.record import read_record
from assistant.session.store import Store
from assistant.tree.tree import Tree
from tests.screens.stage import Stage, on_stage
from tests.test_conversation import loosened


async def to_joint(stage: Stage) -> None:
    """Answer up to the first joint: in use, eaves and window, 12 mm, two joints."""
    await stage.press("2", "1", "3", "enter")
    await stage.type("12")
    await stage.type("two")


async def test_to_a_verdict_by_keys_alone(conversation: Conversation, small: Tree) -> None:
    async with on_stage(conversation, small) as stage:
        await to_joint(stage)
        assert "How is it held together?" in stage.seen
        assert "Joint 1 · question 5" in stage.seen
        await stage.press("1")
        await stage.type("45 mm")
        await stage.press("down", "enter")
        await stage.type("1/2 in")
        assert "Anything else?" in stage.seen
        await stage.type("cover plate was off")
        assert "✗ NOT ACCEPTABLE  A joint can part" in stage.seen
        assert "✗ Secure NOT met" in stage.seen
    assert conversation.session is not None
    values = {key: fact.value for key, fact in conversation.session.facts.items()}
    assert values["near"] == ("below-eaves", "window")
    assert values["remark"] == "cover plate was off"
    assert values["joint.1/depth"] == 45


async def test_the_ways_to_put_it_right_follow_the_verdict(conversation: Conversation, small: Tree) -> None:
    async with on_stage(conversation, small) as stage:
        await to_joint(stage)
        await stage.press("2")
        await stage.type("45")
        await stage.press("1")
        await stage.type("45")
        await stage.type("nothing")
        verdict = stage.verdict
        await stage.until(lambda: verdict.remedies is not None)
        told = str(verdict.put_right.render())
        assert "Drive the maker's screws." in told


async def test_answers_are_folded_into_the_talk_and_kept_on_disk(
    conversation: Conversation, small: Tree
) -> None:
    async with on_stage(conversation, small) as stage:
        await stage.press("2")
        assert "Is it new, or in use?\n▸ In use" in stage.history
        assert conversation.path is not None
        assert list(read_record(conversation.path).session.facts) == ["situation"]


async def test_typed_words_are_answers_and_what_was_typed_is_shown(
    conversation: Conversation, small: Tree
) -> None:
    async with on_stage(conversation, small) as stage:
        await stage.press("2")
        await stage.type("guttering and overhang")
        assert "▸ Eaves, A gutter  typed “guttering and overhang”" in stage.history


async def test_a_letter_begins_a_typed_answer_and_never_acts(conversation: Conversation, small: Tree) -> None:
    async with on_stage(conversation, small) as stage:
        await to_joint(stage)
        await stage.type("only pushed in")
        assert "▸ Pushed in, nothing more  typed “only pushed in”" in stage.history


async def test_words_that_are_no_answer_are_refused_with_a_hint_and_stay_to_be_mended(
    conversation: Conversation, small: Tree
) -> None:
    async with on_stage(conversation, small) as stage:
        await to_joint(stage)
        await stage.type("rubber duck")
        assert '✗ Not taken  "rubber duck" is not clear to me here.' in stage.seen
        assert stage.talk.entry.value == "rubber duck"
        await stage.type("screws")
        assert "▸ Screws" in stage.history
        assert "rubber duck" not in stage.history


async def test_a_number_out_of_bounds_is_refused_with_its_limits(
    conversation: Conversation, small: Tree
) -> None:
    async with on_stage(conversation, small) as stage:
        await stage.press("1", "enter")
        await stage.type("9000")
        assert "from 0 to 500 in mm" in stage.words


async def test_not_sure_by_its_number_its_key_and_its_words(conversation: Conversation, small: Tree) -> None:
    async with on_stage(conversation, small) as stage:
        await stage.press("2")
        assert "0  " in stage.seen
        await stage.press("0", "f2")
        assert "To settle it later  Measure it." in stage.history
        await stage.type("1")
        await stage.type("dunno")
        assert stage.history.count("▸ Not sure") == 3


async def test_not_sure_is_not_offered_where_it_will_not_do(conversation: Conversation, small: Tree) -> None:
    async with on_stage(conversation, small) as stage:
        assert "Not sure" not in stage.seen
        await stage.press("f2", "0")
        assert stage.talk.prompt is not None
        assert stage.talk.prompt.key == "situation"


async def test_why_and_how_are_said_and_fold_into_the_turn(conversation: Conversation, small: Tree) -> None:
    async with on_stage(conversation, small) as stage:
        await stage.press("f3", "f4")
        assert "Why  It decides what follows." in stage.seen
        assert "How to find out  Ask." in stage.seen
        await stage.press("1")
        why, answer = stage.history.index("It decides"), stage.history.index("▸ New work")
        assert stage.history.index("Is it new") < why < answer


async def test_still_possible(conversation: Conversation, small: Tree) -> None:
    async with on_stage(conversation, small) as stage:
        await stage.press("f8")
        assert "Still possible  A joint can part" in stage.seen


async def test_back_offers_the_answer_again_and_enter_keeps_it(
    conversation: Conversation, small: Tree
) -> None:
    async with on_stage(conversation, small) as stage:
        await to_joint(stage)
        await stage.press("2", "f5")
        assert "▸ 2  Pushed in, nothing more  (as before)" in stage.seen
        await stage.press("enter")
        assert "▸ Pushed in, nothing more  kept" in stage.history


async def test_an_earlier_answer_is_changed_and_the_later_ones_kept_one_by_one(
    conversation: Conversation, small: Tree
) -> None:
    async with on_stage(conversation, small) as stage:
        await to_joint(stage)
        await stage.press("f6")
        assert isinstance(stage.app.screen, EarlierScreen)
        await stage.press("home")
        assert "The 3 after it are set aside and offered again one by one" in stage.words
        await stage.press("enter")
        assert "3 later answers are set aside" in stage.history
        await stage.press("1")
        assert "[x] Eaves  (as before)" in stage.seen
        await stage.press("enter")
        assert "Keep 12 mm  (as before)" in stage.seen
        await stage.press("enter", "enter")
        assert "Joint 1 · question 5" in stage.seen
    assert conversation.session is not None
    assert conversation.session.facts["situation"].value == "fitting"
    assert conversation.session.parked == {}


async def test_a_tree_that_breaks_its_proofs_is_refused_with_its_complaints(
    conversation: Conversation, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    tree = loosened(tmp_path)
    monkeypatch.setattr("assistant.tree.load.load", lambda name: tree)
    async with on_stage(conversation) as stage:
        await stage.press("1")
        assert "✗ Not taken  The file cannot be used as it is." in stage.seen
        assert "loose.toml:23:11:" in "".join(stage.seen.split())  # a long path folds
        assert "[question.situation]hasnowhy." in "".join(stage.seen.split())
        assert "What is the job today?" in stage.seen


async def test_nothing_changes_when_the_list_of_answers_is_left(
    conversation: Conversation, small: Tree
) -> None:
    async with on_stage(conversation, small) as stage:
        await stage.press("1", "f6", "escape")
        assert isinstance(stage.app.screen, TalkScreen)
        assert "What is near the terminal?" in stage.seen


async def test_the_same_as_the_joint_before_is_shown_and_confirmed(
    conversation: Conversation, small: Tree
) -> None:
    async with on_stage(conversation, small) as stage:
        await to_joint(stage)
        await stage.press("1")
        await stage.type("45")
        assert "=  The same as Joint 1" in stage.seen
        await stage.press("equals_sign")
        assert "How is it held together? Screws" in stage.seen
        assert "▸ 1  Yes" in stage.seen
        await stage.press("1")
        assert "▸ 2 answers taken over from Joint 1." in stage.history
        assert "Anything else?" in stage.seen


async def test_several_are_marked_by_space_and_number_and_taken_together(
    conversation: Conversation, small: Tree
) -> None:
    async with on_stage(conversation, small) as stage:
        await stage.press("1", "down", "space", "3")
        assert "[x] A gutter" in stage.seen
        assert "[x] A window that opens" in stage.seen
        assert "[ ] Eaves" in stage.seen
        await stage.press("3", "enter")
        assert "▸ A gutter" in stage.history


async def test_how_i_know_is_one_key_shown_and_sticky(conversation: Conversation, small: Tree) -> None:
    async with on_stage(conversation, small) as stage:
        await stage.press("f7", "f7")
        assert "known: measured" in stage.seen
        await stage.press("1", "enter")
        assert "▸ New work (measured)" in stage.history
        assert "known: measured" in stage.seen


async def test_a_note_goes_to_the_latest_answer(conversation: Conversation, small: Tree) -> None:
    async with on_stage(conversation, small) as stage:
        await stage.press("1", "ctrl+n")
        await stage.type("seen from a ladder")
        assert "Noted  seen from a ladder" in stage.seen
    assert conversation.session is not None
    assert conversation.session.facts["situation"].note == "seen from a ladder"


async def test_products_indoors_from_any_screen(conversation: Conversation, small: Tree) -> None:
    async with on_stage(conversation, small) as stage:
        await stage.press("1", "f6", "f9")
        assert stage.app.screen is stage.talk
        assert "0800 111 999" in stage.seen
        await stage.press("1", "enter")
        await stage.press("exclamation_mark")
        assert stage.history.count("0800 111 999") == 2


async def test_a_double_tap_does_not_answer_the_next_question(
    conversation: Conversation, small: Tree
) -> None:
    async with on_stage(conversation, small) as stage:
        stage.clock.step = 0.0
        stage.clock.now += 10
        await stage.press("1", "enter", "enter")
        assert stage.talk.prompt is not None
        assert stage.talk.prompt.key == "near"
        stage.clock.now += 0.1
        await stage.press("enter")
        assert stage.talk.prompt.key == "near"
        stage.clock.now += 10
        await stage.press("enter")
        assert stage.talk.prompt.key == "gap"


async def test_the_answer_to_be_changed_is_pointed_at(conversation: Conversation, small: Tree) -> None:
    async with on_stage(conversation, small) as stage:
        await stage.press("1", "1", "enter", "f6")
        pointed = [line for line in stage.seen.splitlines() if "▸" in line]
        assert len(pointed) == 1
        assert pointed[0].lstrip(" ▸").startswith("2")
        await stage.press("up")
        assert [line.lstrip(" ▸")[0] for line in stage.seen.splitlines() if "▸" in line] == ["1"]


async def test_a_digit_that_is_no_answer_is_told_and_swallows_nothing(
    conversation: Conversation, small: Tree
) -> None:
    async with on_stage(conversation, small) as stage:
        await stage.press("7")
        assert "There is no answer 7" in stage.seen
        assert stage.talk.entry.value == ""
        await stage.press("1")
        assert "▸ New work" in stage.history


async def test_a_pick_counts_once_however_fast_the_clock_is_read(
    conversation: Conversation, small: Tree
) -> None:
    async with on_stage(conversation, small) as stage:
        stage.clock.step = 0.001
        for keys in (["2"], ["0"], ["f2"]):
            stage.clock.now += 10
            await stage.press(*keys)
        assert stage.talk.prompt is not None
        assert stage.talk.prompt.key == "joint-count"


async def test_several_kept_as_before_keep_what_was_added_to_them(
    conversation: Conversation, small: Tree
) -> None:
    async with on_stage(conversation, small) as stage:
        await stage.press("2", "1", "enter", "ctrl+n")
        await stage.type("seen from below")
        await stage.press("f5", "enter")
        assert "▸ Eaves  kept" in stage.history
    assert conversation.session is not None
    assert conversation.session.facts["near"].note == "seen from below"


async def test_a_key_before_the_question_is_drawn_is_not_taken(
    conversation: Conversation, small: Tree
) -> None:
    async with on_stage(conversation, small) as stage:
        stage.talk.pace.asked()
        await stage.pilot.press("1")
        assert stage.talk.prompt is not None
        assert stage.talk.prompt.key == "situation"


async def test_a_click_takes_an_answer_and_a_key_at_the_foot(conversation: Conversation, small: Tree) -> None:
    async with on_stage(conversation, small) as stage:
        await stage.pilot.click(ChoiceList, offset=(6, 1))
        await stage.pilot.pause()
        assert "▸ In use" in stage.history
        bar = stage.app.screen.query_one("KeyBar")
        at = str(bar.render()).index("Why")
        await stage.pilot.click(bar, offset=(at + 1, 0))
        await stage.pilot.pause()
        assert "Each has its own distance." in stage.seen


async def test_quit_and_resume_exactly_there(store: Store, conversation: Conversation, small: Tree) -> None:
    async with on_stage(conversation, small) as stage:
        await to_joint(stage)
        await stage.press("ctrl+q")
    assert conversation.left
    again = Conversation(store, conversation.now)
    async with on_stage(again) as stage:
        assert "1  Go on with A small run" in stage.seen
        await stage.press("1")
        assert "Joint 1 · question 5" in stage.seen
        assert "How wide is the gap?\n▸ 12 mm" in stage.history


async def test_typing_quit_leaves(conversation: Conversation, small: Tree) -> None:
    async with on_stage(conversation, small) as stage:
        await stage.type("quit")
        assert not stage.app.is_running
    assert conversation.left


async def test_after_the_verdict_change_back_new(conversation: Conversation, small: Tree) -> None:
    async with on_stage(conversation, small) as stage:
        await to_joint(stage)
        await stage.press("1")
        await stage.type("45")
        await stage.press("equals_sign", "1", "f2")
        assert "✓ ACCEPTABLE  It holds" in stage.seen
        await stage.press("b")
        assert "Anything else?" in stage.seen
        await stage.press("f2")
        assert isinstance(stage.app.screen, VerdictScreen)
        await stage.press("a")
        stage.app.screen.query_one(OptionList).highlighted = 4
        await stage.press("enter")
        assert "Joint 1 · question 5" in stage.seen
        await stage.press("enter", "enter", "enter", "enter", "enter")
        assert isinstance(stage.app.screen, VerdictScreen)
        await stage.press("c")
        assert "It holds" in stage.app.clipboard
        await stage.press("n")
        assert "What is the job today?" in stage.seen
        assert conversation.session is None


async def test_help_names_every_key_that_acts(conversation: Conversation, small: Tree) -> None:
    async with on_stage(conversation, small, size=(100, 70)) as stage:
        await stage.press("1", "f1")
        assert isinstance(stage.app.screen, HelpScreen)
        for word in ("Not sure", "Why", "How", "Back", "Answers", "How I know", "Note", "Still possible",
                     "Products indoors", "Leave", "1 to 3", "F9, Ctrl+G", "Mark or unmark"):  # fmt: skip
            assert word in stage.seen, word
        await stage.press("escape")
        assert stage.app.screen is stage.talk


async def test_the_palette_offers_every_action(conversation: Conversation, small: Tree) -> None:
    async with on_stage(conversation, small) as stage:
        await stage.press("1")
        titles = {command.title for command in stage.app.get_system_commands(stage.app.screen)}
        assert titles >= {"Not sure", "Why", "How", "Back", "Answers", "How I know", "Note", "Still possible",
                          "Products indoors", "Leave", "Colours", "Help", "Copy"}  # fmt: skip
        await stage.press("ctrl+p")
        await stage.press(*"why")
        await stage.until(lambda: "where that comes from" in stage.seen and "Dark, light" not in stage.seen)
        await stage.press("enter")
        await stage.until(lambda: "Each has its own distance." in stage.seen)


async def test_a_record_that_cannot_be_written_is_told(small: Tree) -> None:
    nowhere = Conversation(Store(Path("/proc/nowhere")), lambda: "2026-03-02T09:30:00+00:00")
    async with on_stage(nowhere, small) as stage:
        await stage.press("1")
        assert "cannot be written" in stage.words
        assert stage.talk.prompt is not None
        assert stage.talk.prompt.key == "situation"


async def test_text_selected_with_the_mouse_is_copied(conversation: Conversation, small: Tree) -> None:
    async with on_stage(conversation, small) as stage:
        await stage.press("2")
        row = next(n for n, line in enumerate(stage.seen.splitlines()) if "▸ In use" in line)
        await stage.pilot.mouse_down(offset=(4, row))
        await stage.pilot.hover(offset=(9, row))
        await stage.pilot.mouse_up(offset=(9, row))
        await stage.press("ctrl+c")
        assert stage.app.clipboard == "In use"


async def test_copying_nothing_says_how_to_select(conversation: Conversation, small: Tree) -> None:
    async with on_stage(conversation, small) as stage:
        await stage.press("ctrl+c")
        await stage.until(lambda: "Drag over text" in stage.seen)
        assert stage.app.clipboard == ""
