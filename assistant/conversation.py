"""What is said next, in what tone, with what choices: the one script that both front ends perform.

Invariant: every answer that was taken is in the record on disk before the next question is shown. Nothing typed is
taken silently: each reply says how it was understood, and `back` undoes it.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from pathlib import Path

from assistant.errors import Refused
from assistant.render.verdict import cited
from assistant.session.alike import like_before, take_over
from assistant.session.fact import UNSTATED, Fact
from assistant.session.judge import Judgement, judge
from assistant.session.record import Record, read_record, write_record
from assistant.session.session import Session
from assistant.session.store import Store
from assistant.session.understand import understand
from assistant.tree.answers import Value, say_answer
from assistant.tree.load import installed_ids, load
from assistant.tree.model import BASES, NOT_SURE, Question
from assistant.tree.tree import Asked, Tree
from assistant.workings.units import show

__all__ = ["ACTIONS", "Action", "Answered", "Choice", "Conversation", "Prompt", "Said", "Tone"]


class Tone(StrEnum):
    """How something is said; a front end gives each its own look, and its label in words."""

    HEARD = "heard"
    WHY = "why"
    HOW = "how"
    TOLD = "told"
    REFUSED = "refused"
    SET_ASIDE = "set-aside"
    DANGER = "danger"


@dataclass(frozen=True)
class Said:
    """One thing the assistant says: its tone, the text, and a word or two that name it."""

    tone: Tone
    text: str
    label: str = ""


@dataclass(frozen=True)
class Choice:
    """One answer that can be picked: by its number, by its words, or by pointing."""

    number: int
    id: str
    says: str
    offered: bool = False
    """Whether it is the answer given before, set aside by a change."""


@dataclass(frozen=True)
class Prompt:
    """What is being asked now."""

    key: str
    """The fact key; "job" for the first question, "confirm" for a yes or no of the assistant's own."""
    ask: str
    kind: str
    choices: tuple[Choice, ...] = ()
    about: tuple[str, ...] = ()
    """Which of several things it is about: `("Joint 2",)`."""
    number: int = 0
    """Which question of the consultation this is, from 1; 0 for the assistant's own."""
    unit: str = ""
    expects: str = ""
    """What may be typed, in words."""
    can_be_unsure: bool = False
    offered: str = ""
    """The answer given before, in words, where one was set aside."""
    same_as: str = ""
    """The thing before this one whose answers can be taken over ("Joint 1"), or nothing."""


@dataclass(frozen=True)
class Answered:
    """One answer given so far."""

    number: int
    key: str
    about: tuple[str, ...]
    ask: str
    said: str
    basis: str
    note: str
    parked: bool = False


@dataclass(frozen=True)
class Action:
    """Something a person can always do: the word to type, and what it does. Front ends add a key."""

    word: str
    title: str
    help: str


ACTIONS = (
    Action("unsure", "Not sure", "You looked and cannot tell: the flue is judged with that left open."),
    Action("why", "Why", "Why this is asked, and where that comes from."),
    Action("how", "How", "How to find out, standing at the flue."),
    Action("back", "Back", "Take the latest answer back; it is kept aside and offered again."),
    Action("answers", "Answers", "Everything answered so far, numbered; `change 3` opens number 3 again."),
    Action(
        "same",
        "Same as before",
        "Take over the answers of the thing before this one, once you have seen them.",
    ),
    Action("basis", "How I know", "Say how you know: `basis measured`. It holds until you change it."),
    Action("note", "Note", "Add a note to the latest answer: `note cover plate was off`."),
    Action("photo", "Photo", "Add a photo's path to the latest answer: `photo joint-2.jpg`."),
    Action("possible", "Still possible", "The verdicts that can still come out."),
    Action(
        "danger", "Products indoors", "Products are getting indoors: stop everything, and what to do now."
    ),
    Action("help", "Help", "This list."),
    Action("quit", "Leave", "Leave; everything is kept, and opens again where it was."),
)

ALIASES = {"?": "help", "exit": "quit", "leave": "quit", "bye": "quit", "q": "quit", "undo": "back"}
"""Other words that people type for an action."""

ALARMING = re.compile(
    r"\b(?:fumes?|smoke|smell\w*|alarms?|monoxide|co|headaches?|dizzy|ill|sick|leak\w*|danger\w*)\b", re.I
)
"""Words that may mean products indoors, whatever was asked."""

EMERGENCY = (
    "Turn the appliance off if you can do it safely. Open doors and windows. Get everyone out. Call the gas emergency "
    "number from outside (natural gas in Great Britain 0800 111 999; on LPG, the supplier). If anyone is ill call 999 "
    "and say carbon monoxide. Nobody goes back in until it has been cleared."
)


class Conversation:
    """One person's talk: which job, which question, what was said. The session in it is a value; this is its holder."""

    def __init__(self, store: Store, now: Callable[[], str]) -> None:
        self.store = store
        self.now = now
        self.record: Record | None = None
        self.path: Path | None = None
        self.basis = UNSTATED
        self.opening: list[Said] = []
        """What a front end says before its first question: set where a job was chosen on the command line."""
        self.left = False
        """Whether the person has asked to leave."""
        self._confirm: tuple[str, Callable[[], list[Said]]] | None = None
        self._jobs: list[tuple[str, str, Callable[[], list[Said]]]] = []

    # Beginning

    def begin(self, tree: Tree, proven: bool = True, place: str = "") -> list[Said]:
        """Start a consultation with a tree."""
        started = self.now()
        self.record = Record(Session(tree, proven=proven), started, _clean(place))
        self.path = self.store.new_path(started, tree.id)
        about = tree.file.tree
        said = [Said(Tone.TOLD, about.purpose, about.title)]
        if not proven:
            said.append(
                Said(
                    Tone.REFUSED,
                    "This tree has not passed its proofs. Do not rely on its verdict.",
                    "Unproven",
                )
            )
        said.append(Said(Tone.TOLD, about.defer[0] if about.defer else "", "Remember"))
        return [one for one in said if one.text]

    def open(self, path: Path) -> list[Said]:
        """Open a record again, exactly where it was. Raises `Refused`."""
        record = read_record(path)
        _ = record.session.walk
        self.record, self.path = record, path
        session = record.session
        said = [
            Said(
                Tone.TOLD,
                f"{session.tree.file.tree.title}, begun {record.started[:16].replace('T', ' ')}.",
                "Opened",
            )
        ]
        if record.digest != session.tree.digest:
            said.append(
                Said(
                    Tone.TOLD,
                    "The tree has changed since this record was written; the answers are put to it as it is today.",
                    "Changed",
                )
            )
        said += [
            Said(Tone.SET_ASIDE, f"{lost.key}: {lost.why.message}. It stays in the record.", "Set aside")
            for lost in record.lost
        ]
        return said

    @property
    def session(self) -> Session | None:
        """The consultation as a value, once a job is chosen."""
        return self.record.session if self.record else None

    # What is asked now

    @property
    def prompt(self) -> Prompt | None:
        """The question now; None where the verdict is due or the person has left."""
        if self.left:
            return None
        if self._confirm is not None:
            return Prompt(
                "confirm", self._confirm[0], "choice", (Choice(1, "yes", "Yes"), Choice(2, "no", "No"))
            )
        if self.record is None:
            return self._job()
        asked = self.record.session.next
        return self._question(asked) if asked is not None else None

    def _job(self) -> Prompt:
        if not self._jobs:
            for path, record in self.store.unfinished():
                count = len(record.session.walk.asked)
                when = record.started[:16].replace("T", " ")
                title = f"Go on with {record.session.tree.file.tree.title}, begun {when}, {count} answered"
                self._jobs.append((path.stem, title, lambda path=path: self.open(path)))  # type: ignore[misc]
            ids = sorted(installed_ids(), key=lambda name: (name != "through-wall", name))
            for name in ids:
                try:
                    tree = load(name)
                except Refused as error:
                    self._jobs.append((name, f"{name} (cannot be used)", lambda error=error: _refuse(error)))  # type: ignore[misc]
                    continue
                self._jobs.append((name, tree.file.tree.title, lambda tree=tree: self.begin(tree)))  # type: ignore[misc]
        choices = tuple(Choice(n, name, title) for n, (name, title, _) in enumerate(self._jobs, 1))
        return Prompt("job", "What is the job today?", "choice", choices, expects="a number")

    def _question(self, asked: Asked) -> Prompt:
        session = self._held().session
        question = asked.question
        fact = session.offered()
        offered = fact.value if fact is not None else None
        listed = offered if isinstance(offered, tuple) else (offered,)
        choices = tuple(
            Choice(n, answer.id, answer.says, answer.id in listed)
            for n, answer in enumerate(question.answer, 1)
        )
        return Prompt(
            asked.key, question.ask, question.kind, choices, asked.labels, len(session.walk.asked) + 1,
            question.unit or "", _expects(question), not question.must_answer,
            say_answer(question, offered) if offered is not None else "", like_before(session)[0],
        )  # fmt: skip

    def _held(self) -> Record:
        if self.record is None:
            raise Refused("no job is chosen yet", "Choose one first.")
        return self.record

    def _asked(self) -> Asked:
        asked = self._held().session.next
        if asked is None:
            raise Refused("there is no question open", "Change an answer, or leave.")
        return asked

    # What the person says

    def say(self, text: str) -> list[Said]:
        """Take typed words: an action by its word, an answer in the person's own. Raises `Refused` where it can be
        neither, with what to write instead; nothing has changed then."""
        text = _clean(text)
        prompt = self.prompt
        if prompt is None:
            if text.strip().casefold() == "new":
                return self.new()
            return self._act(text) or self._lost(text)
        if prompt.key in ("job", "confirm"):
            return self._act(text) or self._own(prompt, text)
        if not text.strip():
            if prompt.offered:
                return self.keep()
            raise Refused("nothing was typed", f"Type {prompt.expects}, or `help`.")
        question = self._asked().question
        if question.kind == "note" and not text.startswith("/"):
            _refuse_bare_word(text)
        elif not _is_phrase(question, text):
            done = self._act(text)
            if done:
                return done
        taken = understand(question, text)
        if taken.value is not None:
            return self.answer(taken.value, typed=text.strip())
        if taken.refused is not None:
            raise taken.refused
        if taken.among:
            listed = "; ".join(f"{c.number} {c.says}" for c in prompt.choices if c.id in taken.among)
            which = "Which of these do you mean?" if len(taken.among) > 1 else "Do you mean this?"
            raise Refused(f'"{_quoted(text)}" leaves it open', f"{which} {listed}")
        if ALARMING.search(text):
            raise Refused(
                f'"{_quoted(text)}" is no answer to this question',
                "If products are getting indoors, type `danger`: everything stops. Otherwise answer the question.",
            )
        unsure = "`unsure`, " if prompt.can_be_unsure else ""
        raise Refused(
            f'"{_quoted(text)}" is not clear to me here',
            f"Pick a number, {_range(prompt)}, or type {unsure}`why` or `how`.",
        )

    def pick(self, choice_id: str) -> list[Said]:
        """Take a choice by its id, as when it is pointed at."""
        prompt = self.prompt
        if prompt is None:
            raise Refused("there is no question open")
        if prompt.key in ("job", "confirm"):
            return self._own(prompt, choice_id)
        return self.answer((choice_id,) if prompt.kind == "several" else choice_id)

    def answer(self, value: Value, typed: str = "") -> list[Said]:
        """Take an answer to the question now, write the record, and say how it was understood."""
        asked = self._asked()
        if asked.question.kind == "note" and isinstance(value, str):
            value = _clean(value)
        fact = Fact(value, self.basis if value != NOT_SURE else UNSTATED, typed=_clean(typed))
        self._put(self._held().session.answer(asked.key, fact))
        said = [Said(Tone.HEARD, say_answer(asked.question, value) + self._basis_words(), "Taken as")]
        if not fact.settles(asked.question):
            accepted = " or ".join(asked.question.accept or ())
            said.append(
                Said(
                    Tone.SET_ASIDE,
                    f'"{self.basis}" does not settle this one ({accepted} does): it is kept as a hint, and counts as not sure.',
                    "Not settled",
                )
            )
        return said

    def unsure(self) -> list[Said]:
        """Answer "not sure"."""
        asked = self._asked()
        if asked.question.must_answer:
            raise Refused(
                "this one has to be answered before the next can be asked", "`how` tells how to find out."
            )
        said = self.answer(NOT_SURE)
        find_out = asked.question.not_sure.find_out if asked.question.not_sure else None
        return [*said, Said(Tone.HOW, find_out, "To settle it later")] if find_out else said

    def keep(self) -> list[Said]:
        """Keep the answer that was given before the change, now that it has been seen again."""
        asked = self._asked()
        fact = self._held().session.offered()
        if fact is None:
            raise Refused("there is no earlier answer to keep", "Answer the question.")
        self._put(self._held().session.answer(asked.key, fact))
        return [Said(Tone.HEARD, say_answer(asked.question, fact.value), "Kept")]

    # What can always be asked

    def why(self) -> list[Said]:
        """Why the question is asked, where that comes from, and what is at stake."""
        asked = self._asked()
        question, file = asked.question, asked.tree.file
        said = [Said(Tone.WHY, question.why or "The author gives no reason.", "Why")]
        sources = [file.source[name] for name in question.source]
        if sources:
            said.append(
                Said(
                    Tone.WHY,
                    "; ".join(cited(source) for source in sources),
                    "From",
                )
            )
        return said

    def how(self) -> list[Said]:
        """How to find out on site."""
        question = self._asked().question
        said = [
            Said(Tone.HOW, question.look or "The author says nothing on how to find out.", "How to find out")
        ]
        if question.accept:
            said.append(Said(Tone.HOW, f"Settled by: {', '.join(question.accept)}.", "What counts"))
        return said

    def back(self) -> list[Said]:
        """Take the latest answer back; it is parked and offered again."""
        if self._confirm is not None:
            self._confirm = None
            return [Said(Tone.TOLD, "Nothing was taken over.", "Back")]
        session = self._held().session
        before = session.back()
        if before is session:
            self.record, self.path, self._jobs = None, None, []
            return [Said(Tone.TOLD, "Back to the choice of job.", "Back")]
        self._put(before)
        return [Said(Tone.SET_ASIDE, "The latest answer is set aside and offered again.", "Back")]

    def change(self, key: str) -> list[Said]:
        """Open an earlier answer again; it and the later ones are parked."""
        session = self._held().session
        count = len(session.walk.asked)
        self._put(session.reopen(key))
        later = count - len(self._held().session.walk.asked) - 1
        kept = (
            f" {later} later answer{'s are' if later != 1 else ' is'} set aside and offered again one by one."
            if later
            else ""
        )
        return [Said(Tone.SET_ASIDE, f"Open again.{kept}", "Change")]

    def answered(self) -> list[Answered]:
        """Every answer in force, in the order asked, then those set aside."""
        if self.record is None:
            return []
        session = self.record.session
        rows = [
            Answered(n, key, asked.labels, asked.question.ask, say_answer(asked.question, session.facts[key].value),
                     session.facts[key].basis, session.facts[key].note)
            for n, (key, asked) in enumerate(session.walk.asked.items(), 1)
        ]  # fmt: skip
        for key, fact in session.parked.items():
            asked = session.tree.ask(key)
            said = say_answer(asked.question, fact.value)
            rows.append(
                Answered(0, key, asked.labels, asked.question.ask, said, fact.basis, fact.note, parked=True)
            )
        return rows

    def note(self, text: str) -> list[Said]:
        """Add a note to the latest answer."""
        text = _clean(text)
        key, fact = self._latest("a note")
        self._put(
            self._held().session.answer(key, replace(fact, note="\n".join(filter(None, (fact.note, text)))))
        )
        return [Said(Tone.HEARD, text, "Noted")]

    def photo(self, path: str) -> list[Said]:
        """Add the path of a photo to the latest answer; the file itself is neither read nor moved."""
        path = _clean(path).strip()
        key, fact = self._latest("a photo")
        self._put(self._held().session.answer(key, replace(fact, photos=(*fact.photos, path))))
        return [Said(Tone.HEARD, path, "Photo noted")]

    def _latest(self, what: str) -> tuple[str, Fact]:
        session = self._held().session
        key = next(reversed(list(session.walk.asked)), None)
        if key is None:
            raise Refused(f"there is no answer yet to add {what} to", "Answer the question first.")
        return key, session.facts[key]

    def known(self, basis: str) -> list[Said]:
        """Say how the answers from here on are known."""
        if basis not in (*BASES, UNSTATED):
            raise Refused(f'"{basis}" is not a way of knowing', f"Write one of: {', '.join(BASES)}.")
        self.basis = basis
        return [Said(Tone.HEARD, f"From here on, answers are recorded as {basis}.", "How you know")]

    def next_basis(self) -> list[Said]:
        """Go round the ways of knowing, for a single key."""
        ways = (UNSTATED, *BASES)
        return self.known(ways[(ways.index(self.basis) + 1) % len(ways)])

    def possible(self) -> list[Said]:
        """What can still come out."""
        session = self._held().session
        verdicts = {verdict.id: verdict for verdict in session.tree.file.verdict}
        titles = [f"{verdicts[name].title} ({verdicts[name].outcome})" for name in judge(session).possible]
        return [Said(Tone.TOLD, "; ".join(titles) or "Nothing in this tree's list.", "Still possible")]

    def danger(self) -> list[Said]:
        """Products are getting indoors: say what to do now, and end the consultation with that where the tree can."""
        session = self.session
        said = [Said(Tone.DANGER, EMERGENCY, "Stop")]
        if session is not None and "signs" in session.tree.file.question:
            coming = session.next.key if session.next is not None else ""
            if "signs" in (coming, *session.walk.asked):
                self._put(session.answer("signs", Fact("signs", "seen")))
        return said

    def same(self) -> list[Said]:
        """Show what would be taken over from the thing before this one, and ask."""
        asked = self._asked()
        before, facts = like_before(self._held().session)
        if not before:
            raise Refused("there is nothing before this to take over from", "Answer the question.")
        tree = self._held().session.tree
        said = []
        for key, fact in facts.items():
            question = tree.ask(key).question
            said.append(Said(Tone.TOLD, f"{question.ask} {say_answer(question, fact.value)}", before))

        def taken() -> list[Said]:
            session = self._held().session
            after = take_over(session)
            self._put(after)
            count = len(after.walk.asked) - len(session.walk.asked)
            return [
                Said(Tone.HEARD, f"{count} answers taken over from {before}. Each can be changed.", "Same")
            ]

        self._confirm = (f"Is {asked.labels[-1]} the same in all of this?", taken)
        return said

    def judgement(self) -> Judgement:
        """What the consultation comes to."""
        return judge(self._held().session)

    def new(self) -> list[Said]:
        """Leave this consultation as it is, in its record, and go to the choice of job."""
        kept = self.path
        self.record, self.path, self._jobs, self._confirm, self.basis = None, None, [], None, UNSTATED
        return [Said(Tone.TOLD, f"{kept}", "Kept in")] if kept is not None and kept.exists() else []

    def leave(self) -> list[Said]:
        """Leave; the record stays."""
        self.left = True
        if self.path is None or not self.path.exists():
            return [Said(Tone.TOLD, "Nothing was answered, so nothing was kept.", "Left")]
        finished = self.record is not None and self.record.session.next is None
        again = (
            "type throughwall --open and the file."
            if finished
            else "start throughwall again; it offers this record."
        )
        label = "To open it again" if finished else "To go on"
        return [Said(Tone.TOLD, f"{self.path}", "Kept in"), Said(Tone.TOLD, again, label)]

    def help(self) -> list[Said]:
        """What can always be said."""
        said = [Said(Tone.TOLD, action.help, action.word) for action in ACTIONS]
        if self.record is not None and self.prompt is None:
            said.insert(
                -1, Said(Tone.TOLD, "Another flue: back to the choice of job. This record stays.", "new")
            )
        return said

    # Workings of the above

    def _act(self, text: str) -> list[Said] | None:
        """Do what an action word says; None where the text is no action."""
        word, _, rest = text.strip().removeprefix("/").partition(" ")
        word, rest = word.casefold(), rest.strip()
        if not rest:
            word = ALIASES.get(word, word.rstrip("?.!"))
        if not rest:
            simple: dict[str, Callable[[], list[Said]]] = {
                "unsure": self.unsure, "why": self.why, "how": self.how, "back": self.back, "same": self.same,
                "possible": self.possible, "danger": self.danger, "help": self.help, "quit": self.leave,
                "keep": self.keep,
                "answers": self._list_answers, "basis": self.next_basis,
            }  # fmt: skip
            return simple[word]() if word in simple else None
        if word == "change":
            return self._change_number(rest)
        if word.rstrip(":") == "note":
            return self.note(rest)
        if word.rstrip(":") == "photo":
            return self.photo(rest)
        if word == "basis" and rest in (*BASES, UNSTATED):
            return self.known(rest)
        return None

    def _list_answers(self) -> list[Said]:
        rows = self.answered()
        if not rows:
            return [Said(Tone.TOLD, "Nothing yet.", "Answers")]
        return [
            Said(
                Tone.SET_ASIDE if row.parked else Tone.TOLD,
                " · ".join((*row.about, row.ask))
                + f" {row.said}"
                + (f" ({row.basis})" if row.basis != UNSTATED else ""),
                "Set aside" if row.parked else f"{row.number}",
            )
            for row in rows
        ]

    def _change_number(self, rest: str) -> list[Said]:
        rows = [row for row in self.answered() if not row.parked]
        for row in rows:
            if rest in (str(row.number), row.key):
                return self.change(row.key)
        raise Refused(f'there is no answer "{rest}" to change', f"`answers` lists them, 1 to {len(rows)}.")

    def _own(self, prompt: Prompt, text: str) -> list[Said]:
        """An answer to one of the assistant's own questions."""
        said = text.strip().casefold().rstrip(".")
        if prompt.key == "confirm":
            said = {"y": "yes", "n": "no"}.get(said, said)
        for choice in prompt.choices:
            if said in (str(choice.number), choice.id, choice.says.casefold()):
                break
        else:
            hint = "Type yes or no." if prompt.key == "confirm" else f"Pick a number, {_range(prompt)}."
            raise Refused(f'"{_quoted(text)}" is not one of the choices', hint)
        if prompt.key == "confirm":
            confirm, self._confirm = self._confirm, None
            if choice.id == "yes" and confirm is not None:
                return confirm[1]()
            return [Said(Tone.TOLD, "Then question by question.", "No")]
        start = self._jobs[choice.number - 1][2]
        said_now = start()
        self._jobs = []
        return said_now

    def _lost(self, text: str) -> list[Said]:
        raise Refused(
            f'"{_quoted(text)}" is not something to do here' if text.strip() else "nothing was typed",
            "Type `answers`, `change 3`, `new`, `help` or `quit`.",
        )

    def _put(self, session: Session) -> None:
        """Hold the new session and write its record before anything more is said."""
        record = self._held().with_session(session, self.now())
        if self.path is not None:
            write_record(self.path, record, _outcome(session))
        self.record = record

    def _basis_words(self) -> str:
        return f" ({self.basis})" if self.basis != UNSTATED else ""


def _expects(question: Question) -> str:
    if question.kind in ("measure", "count"):
        what = "a whole number" if question.kind == "count" else "a number"
        unit = f" in {question.unit}" if question.unit else ""
        limits = (
            f", {show(question.least)} to {show(question.most)}"
            if question.least is not None and question.most is not None
            else ""
        )
        return f"{what}{unit}{limits}"
    if question.kind == "note":
        return "a note in your own words"
    return "numbers, your own words, or none" if question.kind == "several" else "a number, or your own words"


def _quoted(text: str) -> str:
    """Typed words, short enough to be said back."""
    words = " ".join(text.split())
    return words if len(words) <= 60 else f"{words[:59]}…"


def _range(prompt: Prompt) -> str:
    """The numbers of a prompt's choices, in words: "1 or 2", "1 to 5"."""
    count = len(prompt.choices)
    return "1 or 2" if count == 2 else f"1 to {count}"


def _is_phrase(question: Question, text: str) -> bool:
    """Whether the text is, letter for letter, one of an answer's phrases, and so no action word."""
    said = text.strip().casefold()
    return any(
        said == phrase.casefold() for one in question.answer for phrase in (one.id, one.says, *one.also)
    )


def _refuse_bare_word(text: str) -> None:
    """Ask back where a note is nothing but an action's word: it could be meant as either."""
    word = text.strip().casefold()
    if word in {action.word for action in ACTIONS} - {"unsure"}:
        raise Refused(
            f'"{word}" alone could be your note or a wish',
            f"Type `/{word}` for the wish, or the note in a few more words.",
        )


def _refuse(error: Refused) -> list[Said]:
    raise error


def _clean(text: str) -> str:
    """Typed text without control characters; a paste of any size is cut to what an answer can be."""
    kept = "".join(c for c in text[:20_000] if c.isprintable() or c in "\n\t")
    return kept.replace("\t", " ")


def _outcome(session: Session) -> dict[str, object] | None:
    judgement = judge(session)
    if judgement.outcome is None:
        return None
    outcome: dict[str, object] = {"outcome": judgement.outcome}
    if judgement.verdict is not None:
        outcome["verdict"] = judgement.verdict.id
    if judgement.likely_class is not None:
        outcome["likely-class"] = judgement.likely_class
    outcome["proven"] = session.proven
    return outcome


def all_said(said: Sequence[Said]) -> str:
    """What was said as plain text, a labelled line each: for logs and tests."""
    return "\n".join(f"{one.label}: {one.text}" if one.label else one.text for one in said)
