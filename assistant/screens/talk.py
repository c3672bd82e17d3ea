"""The screen that asks: the talk so far, the open question, the line to type on.

Invariant: this screen alone speaks to the conversation. Nothing is answered by a key pressed before the question was
drawn, and whatever was taken is shown in the talk.
"""

from __future__ import annotations

from collections.abc import Callable
from threading import Thread
from typing import TYPE_CHECKING, ClassVar

from textual import events, on
from textual.binding import Binding, BindingType
from textual.widgets import Input

from assistant.conversation import Said, Tone
from assistant.errors import Refused
from assistant.screens.choices import ChoiceList
from assistant.screens.keys import TALK, applies
from assistant.screens.layout import TalkLayout
from assistant.screens.words import asked, heard, refusal, said_lines, turn

if TYPE_CHECKING:
    from assistant.screens.verdict import Wish

__all__ = ["TalkScreen"]


class TalkScreen(TalkLayout):
    """One question at a time, to a verdict."""

    BINDINGS: ClassVar[list[BindingType]] = [
        *TALK,
        Binding("pageup,shift+up", "page(-1)", "Look back", show=False, id="page-up", tooltip="Scroll the talk back."),
        Binding("pagedown,shift+down", "page(1)", "Look on", show=False, id="page-down", tooltip="Scroll the talk on."),
        Binding("tab,shift+tab", "other", "Answers or line", show=False, id="other",
                tooltip="From the answers to the line for typing, and back."),
    ]  # fmt: skip

    def on_mount(self) -> None:
        """Ask the first question; what the answers will need is made ready while it is read."""
        self._retell(self.conversation.opening)
        self.show()
        self._watch()
        self.call_after_refresh(self._get_ready)

    def _watch(self) -> None:
        if not self.conversation.trial:
            return
        from assistant.conversation.trying import Trying

        if isinstance(self.conversation, Trying):
            from assistant.screens.watching import Watching

            self.mount(Watching(self, self.conversation))

    def _get_ready(self) -> None:
        Thread(target=self.conversation.get_ready, daemon=True).start()

    # Showing

    def show(self) -> None:
        """Show what the conversation asks now; the verdict, where it is due."""
        prompt = self.prompt = self.conversation.prompt
        self.asides = self.asides if prompt is not None and prompt.key == "confirm" else []
        self.history.say_live(self.asides)
        self.entry.value = ""
        self.show_titles()
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
        self.focus_first(prompt)
        self.fit()
        self.call_after_refresh(self._drawn)

    def _drawn(self) -> None:
        self.fit()
        self.pace.drawn()

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
            self.take(conversation.unsure if row.does == "unsure" else conversation.same)

    @on(ChoiceList.Confirmed)
    def _confirmed(self, event: ChoiceList.Confirmed) -> None:
        if self.prompt is None or not self.pace.takes():
            return
        before = tuple(choice.id for choice in self.prompt.choices if choice.offered)
        if self.prompt.offered and event.ids == before:
            self.take(self.conversation.keep)
        else:
            self.take(lambda: self.conversation.answer(event.ids))

    @on(ChoiceList.Typed)
    def _typed(self, event: ChoiceList.Typed) -> None:
        """A character begins a line; a digit that is no answer's is told so, or it would swallow the next one."""
        character = event.character
        if not (character.isdecimal() and self.asking.choices.by_number):
            self.entry.type_in(character)
        elif self.pace.takes():
            self.take(lambda: self.conversation.say(character))

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
            self.say_aside(refusal(error))
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
            self.show_basis()
            self.say_aside(said)
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

    def say_aside(self, said: list[Said]) -> None:
        """Say something beside the question that is open; it folds into the turn."""
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
        return action != "do" or applies(str(parameters[0]), self.prompt, self.conversation.session)

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
                "save": conversation.save,
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
        self.show_basis()

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
