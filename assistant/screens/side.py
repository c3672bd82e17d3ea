"""The pane beside the talk on a wide terminal: how each requirement stands so far, what can still come out, the answers.

Invariant: nothing here is a verdict; while answers are missing it says "so far". It is filled off the paint path.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from textual import on
from textual.containers import VerticalScroll
from textual.content import Content
from textual.message import Message

from assistant.conversation import Answered
from assistant.screens.aside import think
from assistant.screens.hung import Hung, Paragraph

if TYPE_CHECKING:
    from assistant.session.session import Session

__all__ = ["Side", "answer_lines", "titled"]

SO_FAR = {
    "danger": ("▲", "danger", "$error"),
    "fails": ("✗", "not met, so far", "$error"),
    "unproven": ("?", "in doubt, so far", "$warning"),
    "meets": ("✓", "nothing against it so far", "$success"),
    "": ("·", "nothing yet", "$text-muted"),
}
LATEST = 10
"""Answers shown: what one looks back at; the others are in the talk, and a key away."""
MOST_NAMED = 4
"""Verdicts still possible that are named one by one."""
GRAVEST = ("danger", "fails", "unproven", "meets")


class Side(VerticalScroll, can_focus=False):
    """The state of the consultation at a glance."""

    DEFAULT_CSS = """
    Side {
        padding: 0 2; background: $background; border-left: solid $secondary; scrollbar-size-vertical: 1;
        & > Hung { margin-bottom: 1; }
    }
    """

    @dataclass
    class Foreseen(Message):
        """The verdicts that can still come out were worked out."""

        session: Session
        told: tuple[str, ...]

    def __init__(self) -> None:
        self.stand = Hung(id="stand")
        self.coming = Hung(id="coming")
        self.answers = Hung(id="so-far")
        super().__init__(self.stand, self.coming, self.answers, id="side")
        self.session: Session | None = None

    def show(self, session: Session | None, rows: Sequence[Answered]) -> None:
        """Show where a consultation stands; what can still come out follows when it is known."""
        self.session = session
        for part in (self.stand, self.coming, self.answers):
            part.display = session is not None
        if session is None:
            return
        self.stand.update(titled("Requirements", _stands(session)))
        latest = [row for row in rows if not row.parked][-LATEST:]
        self.answers.update(titled("Latest answers", answer_lines(latest)))

        def foresee() -> Message:
            return self.Foreseen(session, tuple(_coming(session)))

        think(self, foresee)

    @on(Foreseen)
    def _show_foreseen(self, event: Foreseen) -> None:
        if event.session is self.session:
            lines = [Paragraph(Content(title), Content("• ")) for title in event.told]
            self.coming.update(titled("Can still come out", lines))


def _coming(session: Session) -> Iterator[str]:
    """The verdicts that can still come out; where they are many, how many of each outcome."""
    from assistant.session.judge import OUTCOMES, judge

    possible = set(judge(session).possible)
    verdicts = [verdict for verdict in session.tree.file.verdict if verdict.id in possible]
    if len(verdicts) <= MOST_NAMED:
        yield from (verdict.title for verdict in verdicts)
        return
    for outcome in OUTCOMES:
        alike = [verdict for verdict in verdicts if verdict.outcome == outcome]
        if len(alike) == 1:
            yield alike[0].title
        elif alike:
            yield f"{outcome.replace('-', ' ').capitalize()}: {len(alike)} ways"


def titled(title: str, told: Iterable[Paragraph]) -> list[Paragraph]:
    """Paragraphs under a title."""
    return [Paragraph(Content.styled(title, "$accent bold")), *told]


def _stands(session: Session) -> Iterator[Paragraph]:
    for name, requirement in session.tree.file.requirement.items():
        effects = {f.finding.effect for f in session.walk.found if f.finding.requirement == name}
        worst = next((effect for effect in GRAVEST if effect in effects), "")
        sign, words, colour = SO_FAR[worst]
        body = Content.assemble(requirement.title, (f"  {words}", "$text-muted"))
        yield Paragraph(body, Content.styled(f"{sign} ", colour))


def answer_lines(rows: Sequence[Answered]) -> Iterator[Paragraph]:
    """The latest first: they are what one looks back at."""
    about: tuple[str, ...] | None = None
    for row in reversed(rows):
        if row.parked:
            continue
        if row.about != about:
            about = row.about
            yield Paragraph(Content.styled(" · ".join(about) or "The whole flue", "$accent"))
        body = Content.assemble((f"{row.ask} ", "$text-muted"), row.said)
        yield Paragraph(body, Content.styled(f"{row.number:>2}  ", "$text-muted"))
