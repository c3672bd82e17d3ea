"""The README's picture, taken of the real program: `python -m tests.picture` writes transcripts_demo/conversation.svg."""

from __future__ import annotations

import asyncio
import re
import tempfile
from html import unescape
from pathlib import Path

from assistant.conversation import Conversation
from assistant.screens.app import ThroughwallApp
from assistant.session.store import Store
from tests.transcripts import DEMO, SCRIPTS

PICTURE = DEMO / "conversation.svg"
SIZE = (120, 34)
SAID = SCRIPTS["pulled-from-outside"].strip().split("\n")
UNTIL = SAID.index("no screws")


def conversation(home: Path) -> Conversation:
    """The first demo consultation, up to the question that the picture shows."""
    talk = Conversation(Store(home), lambda: "2026-03-02T09:30:00+00:00")
    for text in SAID[:UNTIL]:
        talk.say(text)
    return talk


async def _taken() -> str:
    with tempfile.TemporaryDirectory() as home:
        app = ThroughwallApp(conversation(Path(home)))
        async with app.run_test(size=SIZE) as pilot:
            await pilot.pause()
            await pilot.press("f3")
            await pilot.pause()
            return app.export_screenshot(title="throughwall")


def take() -> str:
    """The picture as SVG, with fonts that machines have in place of web fonts."""
    svg = re.sub(r"@font-face \{.*?\}\s*|<!--.*?-->\s*", "", asyncio.run(_taken()), flags=re.DOTALL)
    svg = svg.replace(
        "font-family: Fira Code, monospace", "font-family: DejaVu Sans Mono, Menlo, Consolas, monospace"
    )
    return re.sub(r"[ \t]+$", "", svg, flags=re.MULTILINE)


def words(svg: str) -> list[str]:
    """What the picture says, piece by piece."""
    return [unescape(piece).replace("\xa0", " ") for piece in re.findall(r"<text[^>]*>([^<]*)</text>", svg)]


if __name__ == "__main__":
    PICTURE.write_text(take(), encoding="utf-8")
