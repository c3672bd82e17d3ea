"""The question in view at every size, nothing wider than the window, and the reader's place kept."""

import pytest

from assistant.conversation import Conversation
from assistant.screens.asking import Asking
from assistant.screens.keybar import KeyBar
from assistant.screens.side import Side
from assistant.screens.words import asked, heard
from assistant.tree.load import load
from assistant.tree.tree import Tree
from tests.screens.stage import Stage, on_stage

SIZES = [(80, 24), (40, 12), (140, 40), (30, 10)]
SMALL = [(80, 24), (40, 12)]


def in_view(stage: Stage) -> None:
    """The question, at least one answer with its highlight, the line and the keys are on the screen."""
    width, height = stage.app.size
    talk = stage.talk
    parts = [talk.query_one(Asking), talk.asking.ask_box, talk.entry, talk.query_one(KeyBar)]
    if talk.asking.choices.rows:
        parts.append(talk.asking.choices)
        assert "▸" in "\n".join(stage.seen.splitlines()[talk.asking.choices.region.y :])
    for widget in parts:
        region = widget.region
        assert region.height >= 1, widget
        assert region.x >= 0, widget
        assert region.right <= width, widget
        assert region.bottom <= height, widget
        assert region.y >= 0, widget
    assert all(len(line) <= width for line in stage.seen.splitlines())
    assert talk.history.max_scroll_x == 0


@pytest.mark.parametrize("size", SIZES)
async def test_the_question_is_in_view_all_the_way(conversation: Conversation, size: tuple[int, int]) -> None:
    async with on_stage(conversation, load("through-wall"), size=size) as stage:
        for _ in range(7):
            await stage.press("1")
            in_view(stage)
        await stage.press("f3")
        in_view(stage)
        await stage.type("2")
        for _ in range(2):
            await stage.press("1")
            in_view(stage)


@pytest.mark.parametrize("size", SMALL)
async def test_every_answer_of_a_long_list_can_be_reached(
    conversation: Conversation, size: tuple[int, int]
) -> None:
    async with on_stage(conversation, load("sealant"), size=size) as stage:
        choices = stage.talk.asking.choices
        for row in choices.rows:
            assert " ".join(row.says.split()[:2]) in stage.words
            await stage.press("down")


async def test_the_question_stays_in_view_through_any_resize(conversation: Conversation) -> None:
    async with on_stage(conversation, load("through-wall")) as stage:
        await stage.press("1", "1", "1", "f3", "f4")
        for size in [(40, 12), (140, 40), (80, 24), (40, 30), (140, 10), (80, 24)]:
            await stage.resize(*size)
            await stage.pilot.pause()
            in_view(stage)
            history = stage.talk.history
            assert (
                history.scroll_y == history.max_scroll_y or history.live.region.height > history.size.height
            )


async def test_a_reader_who_looks_back_is_left_there(conversation: Conversation) -> None:
    async with on_stage(conversation, load("through-wall")) as stage:
        await stage.press(*["1"] * 7)
        history = stage.talk.history
        assert history.scroll_y == history.max_scroll_y > 0
        await stage.press("pageup")
        place = history.scroll_y
        assert place < history.max_scroll_y
        await stage.type("2")
        await stage.resize(80, 22)
        await stage.pilot.pause()
        assert history.scroll_y == place


async def test_the_side_pane_stands_beside_a_wide_talk_only(conversation: Conversation, small: Tree) -> None:
    async with on_stage(conversation, small, size=(140, 40)) as stage:
        await stage.press("2")
        side = stage.app.screen.query_one(Side)
        await stage.until(lambda: side.coming.paragraphs)
        await stage.pilot.pause()
        assert "Requirements" in stage.seen
        assert "· Secure  nothing yet" in stage.seen
        assert "• A joint can part" in stage.seen
        assert "1  Is it new, or in use? In use" in stage.seen
        await stage.resize(100, 40)
        await stage.pilot.pause()
        assert "Requirements" not in stage.seen


async def test_a_long_talk_is_drawn_by_few_widgets(conversation: Conversation, small: Tree) -> None:
    async with on_stage(conversation, small) as stage:
        history = stage.talk.history
        for number in range(200):
            history.add([asked(f"Question {number}?"), heard("Yes")])
        await stage.pilot.pause()
        assert len(history.children) <= 30
        assert "Question 0?" in stage.history
        assert "Question 199?" in stage.seen
        await stage.press("1")
        in_view(stage)


@pytest.mark.parametrize("size", SMALL)
async def test_the_verdict_can_be_read_to_its_end(
    conversation: Conversation, small: Tree, size: tuple[int, int]
) -> None:
    async with on_stage(conversation, small, size=size) as stage:
        await stage.press("1", "0", "f2")
        await stage.type("1")
        await stage.press("1", "f2", "f2")
        body = stage.verdict.body
        assert body.size.height >= 3
        assert body.max_scroll_x == 0
        await stage.press("end")
        body.scroll_end(animate=False)
        await stage.pilot.pause()
        assert "decides" in stage.words
        assert all(len(line) <= size[0] for line in stage.seen.splitlines())
