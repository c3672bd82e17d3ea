"""The verdict: its outcome in one line, each requirement's state, then every section, to be read and acted on.

Invariant: it is on the screen at once; the ways to put it right are worked out beside it and follow.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, VerticalScroll
from textual.content import Content
from textual.message import Message
from textual.widgets import Static

from assistant.conversation import Conversation
from assistant.errors import Refused
from assistant.render.verdict import Item, Section, headed, sections
from assistant.screens.aside import think
from assistant.screens.faults import FaultPane
from assistant.screens.hung import Hung, Paragraph
from assistant.screens.keybar import KeyBar
from assistant.screens.sheet import Sheet
from assistant.screens.side import answer_lines, titled
from assistant.screens.words import OUTCOME, STATE, refusal
from assistant.session.judge import Judgement
from assistant.session.putright import Remedy, put_right

__all__ = ["VerdictScreen", "Wish"]

AFTER_REMEDIES = ("open", "basis", "householder", "cautions")
MARK = {"meets": "$success", "met": "$success", "fails": "$error", "danger": "$error", "NOT met": "$error",
        "unproven": "$warning", "not proven": "$warning"}  # fmt: skip

SHAPE = {words: f"{shape} " for shape, words, _ in STATE.values()}


@dataclass(frozen=True)
class Wish:
    """What the person wants after the verdict: "change" (an answer, by its key), "back" or "new"."""

    does: str
    key: str = ""


class VerdictScreen(Sheet[Wish]):
    """Dismissed with what is wanted next."""

    CSS_PATH = "verdict.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f1,question_mark", "app.help", "Help", id="help", tooltip="Every key of this screen."),
        Binding("a,f6", "answers", "Change an answer", id="answers", tooltip="Choose an earlier answer and change it."),
        Binding("b,f5,ctrl+b", "wish('back')", "Back", id="back", tooltip="Open the latest answer again."),
        Binding("n", "wish('new')", "New", id="new", tooltip="Another flue: back to the choice of job. This record stays."),
        Binding("c", "copy_all", "Copy all", id="copy-all", tooltip="Copy the whole verdict as text."),
        Binding("s,ctrl+s", "save", "Save", id="save", tooltip="Keep this trial in a record."),
        Binding("tab", "section(1)", "Next part", id="next-part", tooltip="Go to the next heading."),
        Binding("shift+tab", "section(-1)", "Part before", show=False, id="part-before", tooltip="Go to the heading before."),
        Binding("q,ctrl+q", "app.quit", "Leave", id="quit", tooltip="Leave; a record opens again where it was."),
    ]  # fmt: skip

    @dataclass
    class WorkedOut(Message):
        """The ways to put it right were found."""

        remedies: tuple[Remedy, ...]

    def __init__(self, conversation: Conversation) -> None:
        super().__init__()
        self.conversation = conversation
        self.judgement: Judgement = conversation.judgement()
        self.remedies: tuple[Remedy, ...] | None = None
        self.body = VerticalScroll(id="verdict-body")
        self.put_right = Hung(id="put-right", classes="section")

    def compose(self) -> ComposeResult:
        """The outcome above, the sections below it, the keys."""
        outcome = self.judgement.outcome or "not-settled"
        doubtful = outcome == "acceptable" and not self.judgement.session.proven
        colours = "-not-settled" if doubtful else f"-{outcome}"
        yield Static(self._headline(outcome), id="headline", classes=colours, markup=False)
        yield Static(self._states(), id="states", markup=False)
        yield FaultPane()
        told = [
            one for one in sections(self.judgement, today=self.conversation.today) if one.id != "put-right"
        ]
        place = next((n for n, one in enumerate(told) if one.id in AFTER_REMEDIES), len(told))
        with Horizontal(id="verdict-middle"):
            with self.body:
                yield from (Hung(drawn(section), classes="section") for section in told[:place])
                yield self.put_right
                yield from (Hung(drawn(section), classes="section") for section in told[place:])
            with VerticalScroll(id="verdict-side", can_focus=False):
                yield Hung(titled("Answers, the latest first", answer_lines(self.conversation.answered())))
        yield KeyBar()

    def on_mount(self) -> None:
        """Let the arrows scroll, and start on the ways to put it right."""
        self.body.focus()
        self.query_one(FaultPane).show(self.conversation.faults, True)
        session = self.conversation.session
        needed = self.judgement.outcome != "acceptable" and session is not None
        self.put_right.display = needed
        if session is None or not needed:
            self.remedies = ()
            return
        self.put_right.update(
            drawn(Section("put-right", "Ways to put it right", (Item("Working them out…"),)))
        )
        think(self, lambda: self.WorkedOut(tuple(put_right(session))))

    @on(WorkedOut)
    def _show_remedies(self, event: WorkedOut) -> None:
        self.remedies = event.remedies
        [*found] = [s for s in sections(self.judgement, event.remedies) if s.id == "put-right"]
        self.put_right.display = bool(found)
        if found:
            above = self.put_right.virtual_region.bottom <= self.body.scroll_y
            before = self.put_right.size.height
            self.put_right.update(drawn(found[0]))
            if above:
                self.call_after_refresh(lambda: self._keep_place(before))

    def _keep_place(self, before: int) -> None:
        self.body.scroll_relative(y=self.put_right.size.height - before, animate=False)

    def action_answers(self) -> None:
        """Choose an answer to change."""
        from assistant.screens.earlier import EarlierScreen

        self.app.push_screen(EarlierScreen(self.conversation.answered()), self._change)

    def _change(self, key: str | None) -> None:
        if key is not None:
            self.dismiss(Wish("change", key))

    def action_wish(self, does: str) -> None:
        """Go on with something else."""
        self.dismiss(Wish(does))

    def action_copy_all(self) -> None:
        """Copy the verdict as text."""
        from assistant.render.text import verdict_text

        self.app.copy_to_clipboard(verdict_text(self.judgement, self.remedies or (), self.conversation.today))
        self.notify("The verdict is copied.", markup=False)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Only a trial has to be saved."""
        return action != "save" or self.conversation.trial

    def action_save(self) -> None:
        """Keep the trial, and say where."""
        try:
            said = self.conversation.save()
        except Refused as error:
            said = refusal(error)
        self.notify("\n".join(one.text for one in said), markup=False)

    def action_section(self, step: int) -> None:
        """Go to the next heading, or the one before."""
        tops = [part.virtual_region.y for part in self.body.query(".section") if part.display]
        here = round(self.body.scroll_y)
        onward = [y for y in tops if y > here] if step > 0 else [y for y in reversed(tops) if y < here]
        if onward:
            self.body.scroll_to(y=onward[0], animate=False)

    def _headline(self, outcome: str) -> Content:
        shape, word = OUTCOME[outcome]
        first = sections(self.judgement)[0].items[0]
        return Content.assemble(
            (headed(self.judgement, f"{shape} {word.upper()}"), "bold"), f"  {first.text}"
        )

    def _states(self) -> Content:
        parts = []
        file = self.judgement.session.tree.file
        for name, state in self.judgement.requirements.items():
            shape, words, colour = STATE[state]
            parts.append(
                Content.assemble((f"{shape} ", colour), file.requirement[name].title, (f" {words}", colour))
            )
        return Content("   ").join(parts)


def drawn(section: Section) -> list[Paragraph]:
    """A section: its heading with its mark, then each item, what is below it set in."""
    colour = MARK.get(section.mark, "$foreground")
    mark = (f"  {SHAPE.get(section.mark, '')}{section.mark}", colour) if section.mark else ""
    told = [Paragraph(Content.assemble((section.title, "bold $accent"), mark))]
    items = section.items
    if section.id == "outcome":  # the headline says its first line already
        told += [Paragraph(Content(line)) for line in items[0].below]
        items = items[1:]
    for item in items:
        told += _item(item)
    return told


def _item(item: Item) -> list[Paragraph]:
    colour = MARK.get(item.mark.partition(",")[0], "$foreground")
    mark = (f"[{item.mark}] ", colour) if item.mark else ""
    first = Paragraph(Content.assemble(mark, item.text), Content.styled("• ", "$text-muted"))
    return [first, *(Paragraph(Content.styled(line, "$text-muted"), indent=4) for line in item.below)]
