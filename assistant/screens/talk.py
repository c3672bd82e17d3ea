"""The screen that asks: the talk so far, the open question, the line to type on.

Invariant: this screen alone speaks to the conversation. Nothing is answered by a key pressed before the question was
drawn, and whatever was taken is shown in the talk.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, ClassVar

from textual import events, on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.widgets import Input, Static

from assistant.conversation import Conversation, Prompt, Said, Tone
from assistant.errors import Refused
from assistant.screens.asking import Asking
from assistant.screens.choices import ChoiceList
from assistant.screens.entry import Entry
from assistant.screens.history import History
from assistant.screens.keybar import KeyBar
from assistant.screens.keys import TALK, key_of
from assistant.screens.pace import Pace
from assistant.screens.sheet import WIDE, Sheet
from assistant.screens.side import Side
from assistant.screens.words import asked, heard, refusal, said_lines, turn

if TYPE_CHECKING:
    from assistant.screens.verdict import Wish

__all__ = ["TalkScreen"]

TYPED_KINDS = ("measure", "count", "note")


class TalkScreen(Sheet[None]):
    """One question at a time, to a verdict."""

    CSS_PATH = "talk.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        *TALK,
        Binding("pageup,shift+up", "page(-1)", "Look back", show=False, id="page-up", tooltip="Scroll the talk back."),
        Binding("pagedown,shift+down", "page(1)", "Look on", show=False, id="page-down", tooltip="Scroll the talk on."),
        Binding("tab,shift+tab", "other", "Answers or line", show=False, id="other",
                tooltip="From the answers to the line for typing, and back."),
    ]  # fmt: skip

    def __init__(self, conversation: Conversation, pace: Pace) -> None:
        super().__init__()
        self.conversation = conversation
        self.pace = pace
        self.prompt: Prompt | None = None
        self.about: tuple[str, ...] = ()
        self.asides: list[Said] = []
        self.history = History()
        self.asking = Asking()
        self.entry = Entry()
        self.side = Side()
        self.title_line = Static(id="title-line", markup=False)
        self.basis_line = Static(id="basis-line", markup=False)

    def compose(self) -> ComposeResult:
        """The title; the talk with its question and line; the pane beside it; the keys."""
        yield self.title_line
        with Horizontal(id="middle"):
            with Vertical(id="talk"):
                yield self.history
                yield self.asking
                with Horizontal(id="line"):
                    yield Static("›", id="caret", markup=False)
                    yield self.entry
                    yield self.basis_line
            yield self.side
        yield KeyBar()

    def on_mount(self) -> None:
        """Paint first; the trees for the first question are read after that."""
        self.asking.display = False
        self._show_titles()
        self.set_timer(0.05, self._begin)  # the first frame is on its way by then

    def _begin(self) -> None:
        self._retell(self.conversation.opening)
        self.show()

    # Showing

    def show(self) -> None:
        """Show what the conversation asks now; the verdict, where it is due."""
        prompt = self.prompt = self.conversation.prompt
        self.asides = self.asides if prompt is not None and prompt.key == "confirm" else []
        self.history.say_live(self.asides)
        self.entry.value = ""
        self._show_titles()
        self.refresh_bindings()
        if prompt is None:
            self.asking.display = False
            self._conclude()
            return
        self.about = prompt.about if prompt.key != "confirm" else self.about
        self.pace.asked()
        self.asking.display = True
        self.asking.show(prompt)
        self.entry.placeholder = f"type {prompt.expects}" if prompt.expects else "type yes or no"
        self._focus_first(prompt)
        self._fit()
        self.call_after_refresh(self._drawn)

    def _drawn(self) -> None:
        self._fit()
        self.pace.drawn()

    def _show_titles(self) -> None:
        conversation = self.conversation
        session = conversation.session
        title = session.tree.file.tree.title if session is not None else "flues through outside walls"
        self.title_line.update(
            Content.assemble(("Throughwall", "bold $accent"), (f"  {title}", "$text-muted"))
        )
        self._show_basis()
        if self.app.size.width >= WIDE:
            self.side.show(session, conversation.answered())

    def _show_basis(self) -> None:
        basis = self.conversation.basis
        self.basis_line.display = self.conversation.session is not None
        words = f"known: {basis}" if basis != "unstated" else "how known?"
        self.basis_line.update(
            Content.assemble((key_of("basis"), "bold $footer-key-foreground"), f" {words}")
        )

    def _focus_first(self, prompt: Prompt) -> None:
        typed = prompt.kind in TYPED_KINDS or not self.asking.choices.rows
        (self.entry if typed else self.asking.choices).focus()

    def _fit(self) -> None:
        """Share the height: title and keys, at least a few lines of talk, the question, the rest."""
        if self.prompt is None or not self.is_mounted:
            return
        height = self.app.size.height
        keys = self.query_one(KeyBar).outer_size.height or 1
        title = 1 if self.title_line.display and height >= 16 else 0
        talk = max(2, min(5, height // 5))
        self.asking.fit(max(5, height - keys - title - 1 - talk), self.query_one("#talk").size.width or 80)

    def on_resize(self, event: events.Resize) -> None:
        """Keep the question in view at any size."""
        wide = event.size.width >= WIDE
        self.side.display = wide
        if wide and self.prompt is not None:
            self.side.show(self.conversation.session, self.conversation.answered())
        self.call_after_refresh(self._fit)

    # What the person does

    @on(ChoiceList.Picked)
    def _picked(self, event: ChoiceList.Picked) -> None:
        row, conversation = event.row, self.conversation
        if not self.pace.takes():
            return
        if row.does == "keep" or (row.remark and self.prompt is not None and self.prompt.kind != "several"):
            self.take(conversation.keep)
        elif row.does == "answer":
            self.take(lambda: conversation.pick(row.id))
        else:
            self.action_do(row.does)

    @on(ChoiceList.Confirmed)
    def _confirmed(self, event: ChoiceList.Confirmed) -> None:
        if self.pace.takes():
            self.take(lambda: self.conversation.answer(event.ids))

    @on(ChoiceList.Typed)
    def _typed(self, event: ChoiceList.Typed) -> None:
        self.entry.type_in(event.character)

    def on_paste(self, event: events.Paste) -> None:
        """What is pasted goes to the line."""
        self.entry.type_in(event.text)

    @on(Input.Submitted)
    def _submitted(self, event: Input.Submitted) -> None:
        if self.prompt is None or not self.pace.takes():
            return
        words = self.entry.value
        word = words.strip().casefold().removeprefix("/")
        if word in ("answers", "help", "?"):
            self.entry.value = ""
            if word == "answers":
                self._choose_earlier()
            else:
                self.app.call_later(self.app.run_action, "app.help")
            return
        if self.take(lambda: self.conversation.say(words), words.strip()):
            self.entry.value = ""
        else:
            self.entry.select_all()  # the next character typed replaces what was not taken

    def take(self, act: Callable[[], list[Said]], typed: str = "") -> bool:
        """Do something to the conversation and show what came of it; False where it was refused."""
        before = self.prompt
        self.asides = [one for one in self.asides if one.tone is not Tone.REFUSED]
        try:
            said = act()
        except Refused as error:
            self._say_aside(refusal(error))
            return False
        if self.conversation.left:
            self.app.exit()
            return True
        after = self.conversation.prompt
        danger = [one for one in said if one.tone is Tone.DANGER]
        for one in danger:
            self.history.add_danger(f"{one.label}. {one.text}")
        said = [one for one in said if one.tone is not Tone.DANGER]
        if after == before:
            self._show_basis()
            self._say_aside(said)
            self.refresh_bindings()
            return True
        if after is not None and after.key == "confirm":
            self.asides = said
        elif before is not None and before.key == "job":
            self.history.add([asked(before.ask)])
            self._retell(said)
        elif before is not None and (before.key == "confirm" or any(one.tone is Tone.HEARD for one in said)):
            self.history.add(turn(before, self.asides, said, typed), self.about)
        elif said:
            self.history.add(said_lines(said), self.about)
        self.show()
        return True

    def _say_aside(self, said: list[Said]) -> None:
        self.asides = [one for one in self.asides if one not in said] + said
        self.history.say_live(self.asides)

    def _retell(self, said: list[Said]) -> None:
        """Say how a consultation opens, and tell again what was answered before it was left."""
        if said:
            self.history.add(said_lines(said))
        for row in self.conversation.answered():
            if not row.parked:
                self.history.add([asked(row.ask), heard(row.said)], row.about)

    # Keys

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Which actions apply to what is asked now."""
        if action != "do":
            return True
        prompt, session = self.prompt, self.conversation.session
        if prompt is None or session is None:
            return False
        asking = prompt.key != "confirm"
        applies = {
            "unsure": asking and prompt.can_be_unsure,
            "same": asking and bool(prompt.same_as),
            "why": asking,
            "how": asking,
            "answers": bool(session.walk.asked),
            "note": asking and bool(session.walk.asked),
        }
        return applies.get(str(parameters[0]), True)

    def action_do(self, word: str) -> None:
        """Do what one of the conversation's own words does."""
        conversation = self.conversation
        if word == "note":
            self.entry.value = ""
            self.entry.type_in("/note ")
        elif word == "answers":
            self._choose_earlier()
        elif word == "unsure":
            if self.pace.takes():
                self.take(conversation.unsure)
        elif word == "basis":
            self._next_basis()
        else:
            acts = {
                "why": conversation.why, "how": conversation.how, "back": conversation.back,
                "possible": conversation.possible, "same": conversation.same, "danger": conversation.danger,
            }  # fmt: skip
            self.take(acts[word])

    def action_page(self, direction: int) -> None:
        """Scroll the talk."""
        self.history.page(direction)

    def action_other(self) -> None:
        """From the answers to the line, and back."""
        if self.entry.has_focus:
            self.action_to_choices()
        else:
            self.entry.focus()

    def action_to_choices(self) -> None:
        """To the list of answers, where there is one."""
        if self.asking.choices.rows:
            self.asking.choices.focus()

    def _next_basis(self) -> None:
        self.conversation.next_basis()
        self._show_basis()

    def stop_everything(self) -> None:
        """Products are getting indoors."""
        if self.prompt is not None and self.prompt.key == "confirm":
            self.conversation.back()
        self.take(self.conversation.danger)

    def _choose_earlier(self) -> None:
        from assistant.screens.earlier import EarlierScreen

        self.app.push_screen(EarlierScreen(self.conversation.answered()), self.change)

    def change(self, key: str | None) -> None:
        """Open an earlier answer again."""
        if key is None:
            return
        if self.prompt is not None and self.prompt.key == "confirm":
            self.conversation.back()
        self.take(lambda: self.conversation.change(key))

    # The verdict

    def _conclude(self) -> None:
        from assistant.screens.verdict import VerdictScreen

        self.app.push_screen(VerdictScreen(self.conversation), self._after_verdict)

    def _after_verdict(self, wish: Wish | None) -> None:
        if wish is None:
            return
        if wish.does == "new":
            self.history.clear()
            self.take(self.conversation.new)
        elif wish.does == "back":
            self.take(self.conversation.back)
        elif wish.does == "change":
            self.change(wish.key)
