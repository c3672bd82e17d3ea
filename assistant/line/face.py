"""The talk itself, line by line: a question, what was typed, what came of it, and in the end the verdict.

Invariant: every question, and every verdict, is written once; a question that is still open is written again only
when that is asked for.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from time import sleep
from typing import TextIO

from assistant.conversation import Conversation, Prompt
from assistant.errors import Refused
from assistant.line.reader import Reader, Woken
from assistant.line.signals import Stopped
from assistant.line.words import faults, labelled, message, plain, question, refusal, width, wrapped
from assistant.render.verdict import tree_name
from assistant.session.session import Session

__all__ = ["Face"]

AFTER = 'What now ("answers", "change 3", "new", "help", "quit"): '
LEAVING = 'To leave, type "quit" or press ctrl-d; or press ctrl-c once more. Everything is kept.'
LEAVING_TRIAL = 'To leave, type "quit" or press ctrl-d; or press ctrl-c once more. A trial is kept only once you type "save".'
INTERRUPTED = 130

PAUSE, MOST_PAUSES = 0.05, 40
"""Seconds of a look at a tree that is being written, and how many looks until it is left for the next question."""

ROOM = 4
"""Columns left free behind a message, to type in."""


class Face:
    """One talk from its first question to its end, read from `reader` and written to `out`."""

    def __init__(
        self,
        conversation: Conversation,
        reader: Reader,
        out: TextIO,
        pause: Callable[[float], None] = sleep,
    ) -> None:
        self.conversation = conversation
        self.reader = reader
        self.out = out
        self.pause = pause
        """Waits for so many seconds, while a tree is being written."""
        if conversation.watching:
            reader.wake = lambda: conversation.due
        self._asked: Prompt | None = None
        self._judged: Session | None = None

    def run(self) -> int:
        """Talk until the person leaves; the exit status."""
        status, interrupted = 0, False
        try:
            self.write(labelled(self.conversation.opening, width()))
            self.write(faults(self.conversation.faults, width()))
            self.write(labelled(self.conversation.prove(), width()))
            while not self.conversation.left:
                self.look()
                try:
                    text = self.reader.read(self.come_to_the_point())
                except KeyboardInterrupt:
                    if interrupted:
                        status = INTERRUPTED
                        break
                    interrupted = True
                    self.write(wrapped(LEAVING_TRIAL if self.conversation.trial else LEAVING, width()))
                    continue
                except Woken:
                    continue
                except EOFError:
                    break
                interrupted = False
                self.take(text)
        except Stopped as stopped:
            status = stopped.status
            self.end_line()
        self.leave(quietly=status != 0)
        return status

    def look(self) -> None:
        """Have the tree read again, where it is being tried and has changed; say what came of it."""
        for _ in range(MOST_PAUSES):
            if not self.conversation.stirring or self.conversation.due:
                break
            self.pause(PAUSE)
        begun = self.conversation.session is not None
        said = self.conversation.look()
        if said is not None:
            self.write(["", *labelled(said, width()), *faults(self.conversation.faults, width())])
        if not begun:
            self.write(labelled(self.conversation.prove(), width()))

    def come_to_the_point(self) -> str:
        """Write the question that is now open, or the verdict, where it is not yet written; the line to type behind."""
        prompt = self.conversation.prompt
        if prompt is None:
            self.judge()
            return self.last_line(AFTER)
        before = prompt == self._asked
        if not before:
            self.write(["", *question(prompt, width())])
            self._asked = prompt
        return self.last_line(message(prompt, before))

    def take(self, text: str) -> None:
        """Do what was typed, and say what came of it."""
        if plain(text).strip().casefold() in ("again", "/again"):
            self._asked = self._judged = None
            return
        try:
            said = self.conversation.say(text)
        except Refused as error:
            self.write(refusal(error, width()))
            return
        if not self.conversation.left:
            self.write(labelled(said, width()))

    def judge(self) -> None:
        """Write the verdict; in a line, where it is the one that was written last and a question came between."""
        self.write(labelled(self.conversation.prove(), width()))
        session = self.conversation.session
        if session is None:
            return
        came_back, self._asked = self._asked is not None, None
        if self._judged is not None and same(session, self._judged):
            if came_back:
                self.write(["", *wrapped('The verdict is the same as before; "again" repeats it.', width())])
            return
        from assistant.render.text import as_text
        from assistant.render.verdict import sections
        from assistant.session.putright import put_right

        judgement = self.conversation.judgement()
        told = as_text(sections(judgement, put_right(session), self.conversation.today), width())
        self.write(["", *wrapped(f"Judged by: {tree_name(session.tree)}", width()), ""])
        self.write([plain(line) for line in told.splitlines()])
        self.write([""])
        self._judged = session

    def leave(self, quietly: bool) -> None:
        """Say where everything is kept; a terminal that is gone need not hear it."""
        try:
            self.write(["", *labelled(self.conversation.leave(), width())])
        except OSError:
            if not quietly:
                raise

    def write(self, lines: Sequence[str]) -> None:
        """Write lines, each with its end."""
        for line in lines:
            self.out.write(f"{line}\n")
        self.out.flush()

    def end_line(self) -> None:
        """End the line that was being typed on."""
        try:
            self.out.write("\n")
        except OSError:
            return

    def last_line(self, text: str) -> str:
        """Write all of a long message but its last line, which is returned to be typed behind."""
        *lines, last = wrapped(text, width() - ROOM)
        self.write(lines)
        return f"{last} "


def same(one: Session, other: Session) -> bool:
    """Whether two sessions hold the same answers, known in the same way."""
    if one.tree is not other.tree or one.facts.keys() != other.facts.keys():
        return False
    pairs = ((fact, other.facts[key]) for key, fact in one.facts.items())
    return all(a.value == b.value and a.basis == b.basis for a, b in pairs)
