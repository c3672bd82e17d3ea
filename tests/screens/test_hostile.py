"""Text that tries to be more than text is shown as text, on every screen."""

from assistant.conversation import Conversation
from assistant.session.store import Store
from assistant.tree.tree import Tree
from tests.screens.stage import on_stage

HIDDEN = [chr(n) for n in (0x202E, 0x202C, 0x2066, 0x2069, 0x200B, 0x2028, 0x2029, 0x1B)]


async def test_a_hostile_tree_is_text_and_nothing_more(conversation: Conversation, hostile: Tree) -> None:
    async with on_stage(conversation, hostile, size=(140, 60)) as stage:
        screens = [stage.seen]
        for keys in (
            ["f3", "f4"],
            ["f8"],
            ["left_square_bracket", "slash", "enter"],
            ["escape", "escape", "1"],
        ):
            await stage.press(*keys)
            screens.append(stage.seen)
        assert "[/] held" in screens[-1]
        await stage.press("b", "2")
        await stage.until(lambda: stage.verdict.remedies is not None)
        await stage.pilot.pause()
        screens.append(stage.seen)
        await stage.press("a")
        screens.append(stage.seen)
        await stage.press("escape", "c", "question_mark")
        screens.append(stage.seen)
        everything = "\n".join(screens)
    for text in ("[red]Title[/red] [@click=app.quit]press[/] %s {0}", "[green]Yes[/green]", "[blink]why[/blink]", "[/look",
                 "*stars* _lines_", "<b>html</b>", "[link=https://example.invalid]source[/link]", "[/secure]",
                 "[@click=app.bell]means[/]", "[/] fails", "[/] tell", "<script>"):  # fmt: skip
        assert text in everything, text
    assert not [sign for sign in HIDDEN if sign in everything]


async def test_a_hostile_click_does_nothing(conversation: Conversation, hostile: Tree) -> None:
    async with on_stage(conversation, hostile, size=(140, 40)) as stage:
        line = next(n for n, text in enumerate(stage.seen.splitlines()) if "[@click=app.quit]press" in text)
        column = stage.seen.splitlines()[line].index("press")
        await stage.pilot.click(offset=(column, line))
        await stage.pilot.pause()
        assert stage.app.is_running


async def test_a_hostile_record_is_offered_as_text(
    store: Store, conversation: Conversation, hostile: Tree
) -> None:
    async with on_stage(conversation, hostile) as stage:
        await stage.press("1", "b", "ctrl+q")
    async with on_stage(Conversation(store, conversation.now), size=(140, 40)) as stage:
        assert "Go on with [red]Title[/red] [@click=app.quit]press[/]" in stage.seen


async def test_typed_and_pasted_controls_are_dropped(conversation: Conversation, small: Tree) -> None:
    from textual import events

    async with on_stage(conversation, small) as stage:
        stage.app.post_message(events.Paste("\x1b]52;c;aGk=\x07in use\x00\nand [/red] more"))
        await stage.pilot.pause()
        assert stage.talk.entry.value == "]52;c;aGk=in use and [/red] more"
        await stage.press("enter")
        assert "[/red]" in stage.seen
