"""The screen face on a stage: an app whose clock a test holds, keys pressed one by one, and what is seen."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager

from textual import events
from textual.app import App
from textual.pilot import Pilot

from assistant.conversation import Conversation
from assistant.screens.app import ThroughwallApp
from assistant.screens.talk import TalkScreen
from assistant.screens.verdict import VerdictScreen
from assistant.tree.tree import Tree

MOST_TRIES = 2000


class Clock:
    """Time that passes only when asked for: enough each time that every key counts, unless it is held."""

    def __init__(self) -> None:
        self.now = 0.0
        self.step = 1.0

    def __call__(self) -> float:
        self.now += self.step
        return self.now


class Stage:
    def __init__(self, app: ThroughwallApp, pilot: Pilot[None], clock: Clock) -> None:
        self.app, self.pilot, self.clock = app, pilot, clock

    async def press(self, *keys: str) -> None:
        """Press the keys, each when what the one before it brought about is on the screen."""
        for key in keys:
            await self.pilot.press(key)
            await self.until(self._drawn)

    async def type(self, text: str) -> None:
        """Press the first character of the text, put the rest in at once, and press Enter."""
        await self.pilot.press(text[0])
        if text[1:]:
            self.app.post_message(events.Paste(text[1:]))
        await self.press("enter")

    async def resize(self, width: int, height: int) -> None:
        """Change the size of the window."""
        await self.pilot.resize_terminal(width, height)
        await self.until(lambda: self.app.screen.size == (width, height))

    async def until(self, condition: Callable[[], object]) -> None:
        """Let the app work until something is so."""
        for _ in range(MOST_TRIES):
            if condition():
                await self.pilot.pause()
                return
            await self.pilot.pause(0.002)
        raise AssertionError(f"it never came to that:\n{self.seen}")

    def _drawn(self) -> bool:
        return self.talk.prompt is None or self.talk.pace.ready or not self.app.is_running

    @property
    def talk(self) -> TalkScreen:
        return self.app.talk

    @property
    def verdict(self) -> VerdictScreen:
        assert isinstance(self.app.screen, VerdictScreen)
        return self.app.screen

    @property
    def history(self) -> str:
        """All that the talk holds, in view or not."""
        return "\n".join(str(child.render()) for child in self.talk.history.children if child.display)

    @property
    def seen(self) -> str:
        return seen(self.app)

    @property
    def words(self) -> str:
        """What is seen, as if it never wrapped."""
        return " ".join(self.seen.split())


def seen(app: App[None]) -> str:
    """The text on the screen, line by line."""
    strips = app.screen._compositor.render_strips(app.size)
    return "\n".join(strip.text.rstrip() for strip in strips)


@asynccontextmanager
async def on_stage(
    conversation: Conversation, tree: Tree | None = None, size: tuple[int, int] = (80, 24)
) -> AsyncIterator[Stage]:
    if tree is not None:
        conversation.opening = conversation.begin(tree)
    clock = Clock()
    app = ThroughwallApp(conversation, clock)
    async with app.run_test(size=size, notifications=True) as pilot:
        stage = Stage(app, pilot, clock)
        await stage.until(lambda: app.talk.prompt is not None and app.talk.pace.ready)
        yield stage
