"""Every text can be read: measured on what is drawn, in each of our themes, on each screen."""

import itertools

import pytest
from rich.color import ColorTriplet
from textual.app import App
from textual.command import CommandPalette

from assistant.conversation import Conversation
from assistant.screens.looks import DARK, LIGHT, TERMINAL, first_look, looks_for
from assistant.tree.tree import Tree
from tests.screens.stage import Stage, on_stage

LEAST = 4.5
DRAWN_ONLY = set("─│▁▂▃▄▅▆▇█▊▎▔▕╸━ ")
"""Rules, borders and scrollbars: they carry no words."""


def luminance(colour: ColorTriplet) -> float:
    parts = [c / 12.92 if (c := part / 255) <= 0.03928 else ((c + 0.055) / 1.055) ** 2.4 for part in colour]
    return 0.2126 * parts[0] + 0.7152 * parts[1] + 0.0722 * parts[2]


def contrast(one: ColorTriplet, other: ColorTriplet) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def poor(app: App[None]) -> list[tuple[str, float]]:
    """The texts on the screen that stand at less than the least contrast."""
    found = []
    strips = app.screen._compositor.render_strips(app.size)
    if isinstance(app.screen, CommandPalette):  # what lies behind it is dimmed on purpose
        part = app.screen.query_one("#--container").region
        strips = [strip.crop(part.x, part.right) for strip in strips[part.y : part.bottom]]
    for strip in strips:
        for segment in strip:
            style = segment.style
            if (
                set(segment.text) <= DRAWN_ONLY
                or style is None
                or style.color is None
                or style.bgcolor is None
            ):
                continue
            ink, ground = style.color.get_truecolor(), style.bgcolor.get_truecolor()
            ink, ground = (ground, ink) if style.reverse else (ink, ground)
            if contrast(ink, ground) < LEAST:
                found.append((segment.text, contrast(ink, ground)))
    return found


async def every_screen(stage: Stage) -> list[tuple[str, float]]:
    found = poor(stage.app)
    for keys in (
        ["2"],
        ["space"],
        ["f3", "f8"],
        ["enter"],
        ["x", "enter"],
        ["f6"],
        ["escape", "f1"],
        ["escape", "f9"],
    ):
        await stage.press(*keys)
        found += poor(stage.app)
    await stage.press("escape", "f2", "1", "enter", "0", "f2", "f6")
    await stage.press("escape", "ctrl+p")
    found += poor(stage.app)
    await stage.press("escape", "f2")
    found += poor(stage.app)
    stage.app.notify("A message", markup=False)
    await stage.pilot.pause()
    return found + poor(stage.app)


@pytest.mark.parametrize("look", [DARK, LIGHT])
async def test_every_text_stands_out_from_its_background(
    conversation: Conversation, small: Tree, look: str
) -> None:
    async with on_stage(conversation, small, size=(120, 36)) as stage:
        stage.app.theme = look
        await stage.pilot.pause()
        assert await every_screen(stage) == []
        assert stage.verdict


@pytest.mark.parametrize("look", [DARK, LIGHT])
async def test_every_headline_stands_out(conversation: Conversation, small: Tree, look: str) -> None:
    async with on_stage(conversation, small) as stage:
        stage.app.theme = look
        await stage.press("1", "0", "f2")
        await stage.type("1")
        await stage.press("1", "f2", "f2")
        headline = stage.verdict.query_one("#headline")
        for outcome in ("acceptable", "not-settled", "not-acceptable", "stop"):
            headline.set_classes(f"-{outcome}")
            await stage.pilot.pause()
            assert poor(stage.app) == [], outcome


async def test_without_colour_the_highlight_is_a_pointer_and_a_shade(
    conversation: Conversation, small: Tree, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    async with on_stage(conversation, small) as stage:
        assert "▸ 1  New work" in stage.seen
        assert poor(stage.app) == []
        for strip in stage.app.screen._compositor.render_strips(stage.app.size):
            for segment in strip:
                for colour in (segment.style.color, segment.style.bgcolor) if segment.style else ():
                    if colour is not None:
                        assert len(set(colour.get_truecolor())) == 1


async def test_in_the_terminals_own_colours_nothing_is_mixed(conversation: Conversation, small: Tree) -> None:
    async with on_stage(conversation, small) as stage:
        stage.app.theme = TERMINAL
        await stage.press("1")
        lines = stage.app.screen._compositor.render_strips(stage.app.size)
        chosen, plain, _ = (
            next(segment.style for segment in line if "[ ]" in segment.text)
            for line in lines
            if "[ ]" in line.text
        )
        assert plain is not None
        assert chosen is not None
        assert plain.bgcolor != chosen.bgcolor


def test_looks_go_round_and_leave_the_terminals_own_out_without_colour() -> None:
    assert looks_for({}) == (DARK, LIGHT, TERMINAL)
    assert looks_for({"NO_COLOR": "1"}) == (DARK, LIGHT)


@pytest.mark.parametrize(
    ("told", "look"), [("", DARK), ("15;0", DARK), ("0;15", LIGHT), ("0;default;15", LIGHT)]
)
def test_a_light_terminal_gets_the_light_look(told: str, look: str) -> None:
    assert first_look({"COLORFGBG": told} if told else {}) == look


async def test_the_look_key_goes_round(conversation: Conversation, small: Tree) -> None:
    async with on_stage(conversation, small) as stage:
        seen = [stage.app.theme]
        for _ in range(len(looks_for({}))):
            await stage.press("ctrl+t")
            seen.append(stage.app.theme)
        assert seen[0] == seen[-1]
        assert all(one != other for one, other in itertools.pairwise(seen))
