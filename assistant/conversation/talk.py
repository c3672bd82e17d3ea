"""One person's talk: the choice of job, then the consultation, until they leave.

Invariant: before a job is chosen nothing is imported that reasons about trees, so that the first question is there at
once; `get_ready` does that while the person reads.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from assistant.conversation.script import (
    ACTIONS,
    ALIASES,
    EMERGENCY,
    Answered,
    Choice,
    Prompt,
    Said,
    Tone,
    numbers,
    quoted,
)
from assistant.errors import Refused
from assistant.session.store import Store

if TYPE_CHECKING:
    from assistant.conversation.consultation import Consultation
    from assistant.conversation.faults import Fault
    from assistant.session.judge import Judgement
    from assistant.session.session import Session
    from assistant.tree.answers import Value
    from assistant.tree.tree import Tree

__all__ = ["Conversation"]


FIRST_JOB = "through-wall"
"""The tree that is offered first."""


@dataclass(frozen=True)
class _Job:
    id: str
    title: str
    begin: Callable[[], list[Said]]


class Conversation:
    """The talk as the front ends know it: what is asked, what may be said to it, and when it is over."""

    def __init__(self, store: Store, now: Callable[[], str]) -> None:
        self.store = store
        self.now = now
        self.consultation: Consultation | None = None
        self.opening: list[Said] = []
        """What a front end says before its first question: set where a job was chosen on the command line."""
        self.place = ""
        """What the person calls the job: it goes into the record."""
        self.unproven = False
        """Whether a tree that breaks its proofs is used all the same; its verdicts say so."""
        self.trial = False
        """Whether this tries a tree, so that nothing is kept unless that is asked for."""
        self.watching = False
        """Whether `look` can ever find that the tree has changed."""
        self.faults: tuple[Fault, ...] = ()
        """What is wrong with the tree on disk, while one that was read before stays in use."""
        self.left = False
        """Whether the person has asked to leave."""
        self._jobs: list[_Job] = []
        self._loaded: dict[str, Tree] = {}
        """Trees that were made ready; a tree is loaded anew for each further consultation, as it may have changed."""

    # The job

    def begin(self, tree: Tree, proven: bool = True) -> list[Said]:
        """Start a consultation with a tree."""
        from assistant.conversation.consultation import Consultation

        path = self.store.new_path(self.now(), tree.id)
        self.consultation, said = Consultation.begin(tree, path, self.now, proven, self.place)
        return said

    def open(self, path: Path) -> list[Said]:
        """Open a record again, exactly where it was. Raises `Refused`."""
        from assistant.conversation.consultation import Consultation

        self.consultation, said = Consultation.open(path, self.now, self.unproven)
        return said

    def get_ready(self) -> None:
        """Import and load what the first answer will most likely need; for a thread, once the first question is there."""
        import assistant.conversation.consultation as consultation
        from assistant.tree.load import load

        _ = consultation
        if self.consultation is None:
            with suppress(Refused):
                self._loaded[FIRST_JOB] = load(FIRST_JOB)

    def new(self) -> list[Said]:
        """Leave this consultation as it is, in its record, and go to the choice of job."""
        kept = self.path if self.consultation is not None and self.consultation.kept else None
        self.consultation, self._jobs = None, []
        return [Said(Tone.TOLD, f"{kept}", "Kept in")] if kept is not None else []

    def leave(self) -> list[Said]:
        """Leave; the record stays."""
        self.left = True
        if self.consultation is None or not self.consultation.kept:
            return [Said(Tone.TOLD, "Nothing was answered, so nothing was kept.", "Left")]
        kept = Said(Tone.TOLD, f"{self.path}", "Kept in")
        if self.consultation.session.next is None:
            return [kept, Said(Tone.TOLD, "type throughwall --open and the file.", "To open it again")]
        return [kept, Said(Tone.TOLD, "start throughwall again; it offers this record.", "To go on")]

    def save(self) -> list[Said]:
        """Say where this is kept; a consultation always is, from its first answer on."""
        if self.consultation is None or not self.consultation.kept:
            return [Said(Tone.TOLD, "Nothing is answered yet; every answer is kept as it is given.", "Saved")]
        return [Said(Tone.TOLD, f"{self.path}", "Kept in")]

    # A tree that changes while it is in use

    @property
    def stirring(self) -> bool:
        """Whether the tree on disk has changed and is not read yet; it may still be being written."""
        return False

    @property
    def due(self) -> bool:
        """Whether `look` would read the tree again."""
        return False

    def look(self) -> list[Said] | None:
        """Read the tree again if it has changed and come to rest; None where there is nothing to say of it."""
        return None

    def prove(self) -> list[Said]:
        """Go through the proofs of a tree that was read again, and say what they came to."""
        return []

    @property
    def today(self) -> str:
        """The date, as ISO 8601."""
        return self.now()[:10]

    @property
    def path(self) -> Path | None:
        """Where the record lies, once a job is chosen."""
        return self.consultation.path if self.consultation else None

    @property
    def session(self) -> Session | None:
        """The consultation as a value, once a job is chosen."""
        return self.consultation.session if self.consultation else None

    @property
    def basis(self) -> str:
        """How the answers from here on are known; empty before a job is chosen."""
        return self.consultation.basis if self.consultation else ""

    @property
    def prompt(self) -> Prompt | None:
        """The question now; None where the verdict is due or the person has left."""
        if self.left:
            return None
        return self.consultation.prompt if self.consultation else self._job()

    def _job(self) -> Prompt:
        if not self._jobs:
            self._jobs = [*self._unfinished(), *self._installed()]
        choices = tuple(Choice(n, job.id, job.title) for n, job in enumerate(self._jobs, 1))
        return Prompt("job", "What is the job today?", "choice", choices, expects="a number")

    def _unfinished(self) -> list[_Job]:
        jobs = []
        for one in self.store.unfinished():
            title = (
                f"Go on with {one.title}, begun {one.started[:16].replace('T', ' ')}, {one.answers} answered"
            )
            jobs.append(_Job(one.path.stem, title, lambda path=one.path: self.open(path)))  # type: ignore[misc]
        return jobs

    def _installed(self) -> list[_Job]:
        from assistant.tree.installed import installed_titles

        titles = sorted(installed_titles().items(), key=lambda title: (title[0] != FIRST_JOB, title))
        return [_Job(name, title, lambda name=name: self._begin_installed(name)) for name, title in titles]  # type: ignore[misc]

    def _begin_installed(self, name: str) -> list[Said]:
        from assistant.conversation.consultation import passed
        from assistant.tree.load import load

        tree = self._loaded.pop(name) if name in self._loaded else load(name)
        return self.begin(tree, passed(tree, self.unproven))

    def _choose_job(self, text: str) -> list[Said]:
        prompt = self._job()
        said = text.strip().casefold().rstrip(".")
        for choice, job in zip(prompt.choices, self._jobs, strict=True):
            if said in (str(choice.number), choice.id, choice.says.casefold()):
                told = job.begin()
                self._jobs = []
                return told
        raise Refused(f'"{quoted(text)}" is not one of the choices', f"Pick a number, {numbers(prompt)}.")

    # What the person says

    def say(self, text: str) -> list[Said]:
        """Take typed words: an action by its word, an answer in the person's own. Raises `Refused` where it can be
        neither, with what to write instead; nothing has changed then."""
        if self.consultation is not None and not self.consultation.heeds(text):
            return self.consultation.say(text)
        word = text.strip().removeprefix("/").casefold()
        word = ALIASES.get(word, word.rstrip("?.!"))
        if word == "quit":
            return self.leave()
        if word == "help":
            return self.help()
        if word == "danger":
            return self.danger()
        if word == "save":
            return self.save()
        if self.consultation is None:
            return self._choose_job(text)
        if word == "new" and self.prompt is None:
            return self.new()
        if word == "back":
            return self.back()
        return self.consultation.say(text)

    def pick(self, choice_id: str) -> list[Said]:
        """Take a choice by its id, as when it is pointed at."""
        return self._choose_job(choice_id) if self.consultation is None else self.consultation.pick(choice_id)

    def answer(self, value: Value, typed: str = "") -> list[Said]:
        """Take an answer to the question now, write the record, and say how it was understood."""
        return self._held().answer(value, typed)

    def unsure(self) -> list[Said]:
        """Answer "not sure"."""
        return self._held().unsure()

    def keep(self) -> list[Said]:
        """Keep the answer that was given before the change, now that it has been seen again."""
        return self._held().keep()

    def same(self) -> list[Said]:
        """Show what would be taken over from the thing before this one, and ask."""
        return self._held().same()

    def back(self) -> list[Said]:
        """Take the latest answer back; before the first one, go back to the choice of job."""
        held = self._held()
        if held.session.walk.asked or (held.prompt is not None and held.prompt.key == "confirm"):
            return held.back()
        self.consultation, self._jobs = None, []
        return [Said(Tone.TOLD, "Back to the choice of job.", "Back")]

    def change(self, key: str) -> list[Said]:
        """Open an earlier answer again; it and the later ones are parked."""
        return self._held().change(key)

    def note(self, text: str) -> list[Said]:
        """Add a note to the latest answer."""
        return self._held().note(text)

    def photo(self, path: str) -> list[Said]:
        """Add the path of a photo to the latest answer."""
        return self._held().photo(path)

    def known(self, basis: str) -> list[Said]:
        """Say how the answers from here on are known."""
        return self._held().known(basis)

    def next_basis(self) -> list[Said]:
        """Go round the ways of knowing, for a single key."""
        return self._held().next_basis()

    # What the person asks

    def why(self) -> list[Said]:
        """Why the question is asked, and where that comes from."""
        return self._held().why()

    def how(self) -> list[Said]:
        """How to find out on site."""
        return self._held().how()

    def possible(self) -> list[Said]:
        """What can still come out."""
        return self._held().possible()

    def answered(self) -> list[Answered]:
        """Every answer in force, in the order asked, then those set aside."""
        return self.consultation.answered() if self.consultation else []

    def judgement(self) -> Judgement:
        """What the consultation comes to."""
        return self._held().judgement()

    def danger(self) -> list[Said]:
        """Products are getting indoors: say what to do now, and end the consultation with that where the tree can."""
        return self.consultation.danger() if self.consultation else [Said(Tone.DANGER, EMERGENCY, "Stop")]

    def help(self) -> list[Said]:
        """What can always be said."""
        said = [Said(Tone.TOLD, action.help, action.word) for action in ACTIONS]
        if self.consultation is not None and self.prompt is None:
            new = Said(Tone.TOLD, "Another flue: back to the choice of job. This record stays.", "new")
            said.insert(-1, new)
        return said

    def _held(self) -> Consultation:
        if self.consultation is None:
            raise Refused("no job is chosen yet", "Choose one first.")
        return self.consultation
