"""One consultation: the question now, what a person says to it, and the record that keeps it.

Invariant: every answer that was taken is in the record on disk before the next question is shown. Nothing typed is
taken silently: each reply says how it was understood, and `back` undoes it.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from assistant.conversation.script import (
    ACTIONS,
    ALIASES,
    EMERGENCY,
    Answered,
    Choice,
    Prompt,
    Said,
    Tone,
    clean,
    numbers,
    quoted,
)
from assistant.errors import Refused
from assistant.render.verdict import cited
from assistant.session.alike import like_before, take_over
from assistant.session.fact import UNSTATED, Fact
from assistant.session.judge import Judgement, judge
from assistant.session.prove import prove
from assistant.session.provenance import remarks
from assistant.session.record import Record, read_record, write_record
from assistant.session.session import Session
from assistant.session.spoken import yes_or_no
from assistant.session.understand import understand
from assistant.tree.answers import Value, say_answer
from assistant.tree.mistakes import Unreadable
from assistant.tree.model import BASES, NOT_SURE, Question
from assistant.tree.tree import Asked, Tree
from assistant.workings.units import show

__all__ = ["Consultation", "passed"]

ALARMING = re.compile(
    r"\b(?:fumes?|smoke|smell\w*|alarms?|monoxide|co|headaches?|dizzy|ill|sick|leak\w*|danger\w*)\b", re.I
)
"""Words that may mean products indoors, whatever was asked."""


ALL_THE_SAME = "Started with --unproven, it is used all the same, and every verdict says so."

UNPROVEN = Said(Tone.REFUSED, "This tree has not passed its proofs. Do not rely on its verdict.", "Unproven")


def passed(tree: Tree, unproven: bool = False) -> bool:
    """Whether a tree has passed its proofs. Raises `Unreadable` where it breaks one and was not asked for so."""
    proof = prove(tree)
    if proof.complaints and not unproven:
        error = Unreadable(proof.complaints)
        error.hint = f"{error.hint} {ALL_THE_SAME}".strip()
        raise error
    return proof.proven


class Consultation:
    """The holder of one session, which is a value, and of the path where its record lies; None: it is not kept."""

    def __init__(self, record: Record, path: Path | None, now: Callable[[], str]) -> None:
        self.record = record
        self.path = path
        self.now = now
        self.basis = UNSTATED
        self._confirm: tuple[str, Callable[[], list[Said]]] | None = None
        self._meant: tuple[str, str] | None = None
        """The question and the one answer that was asked back about, "yes" takes it; no answer once that was denied."""

    @classmethod
    def begin(
        cls, tree: Tree, path: Path | None, now: Callable[[], str], proven: bool, place: str
    ) -> tuple[Consultation, list[Said]]:
        """A consultation with nothing answered yet, and what is said before its first question."""
        record = Record(Session(tree, proven=proven), now(), clean(place))
        about = tree.file.tree
        said = [Said(Tone.TOLD, about.purpose, about.title)]
        if not proven:
            said.append(UNPROVEN)
        said += _reviews(tree, now())
        if about.defer:
            said.append(Said(Tone.TOLD, about.defer[0], "Remember"))
        return cls(record, path, now), said

    @classmethod
    def open(
        cls, path: Path, now: Callable[[], str], unproven: bool = False
    ) -> tuple[Consultation, list[Said]]:
        """A consultation exactly where its record left it. Raises `Refused`.

        A tree that breaks its proofs is refused, unless it is asked for so or was when the record was begun.
        """
        record = read_record(path)
        session = record.session
        session = replace(session, proven=passed(session.tree, unproven or not session.proven))
        record = replace(record, session=session)
        _ = session.walk  # answers that contradict each other under today's tree are refused here
        begun = record.started[:16].replace("T", " ")
        said = [Said(Tone.TOLD, f"{session.tree.file.tree.title}, begun {begun}.", "Opened")]
        if not session.proven:
            said.append(UNPROVEN)
        said += _reviews(session.tree, now())
        if record.digest != session.tree.digest:
            changed = "The tree has changed since this record was written; the answers are put to it as it is today."
            said.append(Said(Tone.TOLD, changed, "Changed"))
        for lost in record.lost:
            said.append(
                Said(Tone.SET_ASIDE, f"{lost.key}: {lost.why.message}. It stays in the record.", "Set aside")
            )
        return cls(record, path, now), said

    @property
    def session(self) -> Session:
        """The consultation as a value."""
        return self.record.session

    @property
    def kept(self) -> bool:
        """Whether there is a record on disk."""
        return self.path is not None and self.path.exists()

    # What becomes of it from outside

    def adopt(self, record: Record) -> None:
        """Go on from another state of this consultation; a question of the assistant's own is dropped."""
        self._write(record)
        self.record, self._confirm, self._meant = record, None, None

    def adopt_proof(self, proven: bool) -> None:
        """Take it that the tree has passed its proofs, or has not."""
        record = replace(self.record, session=replace(self.session, proven=proven))
        self._write(record)
        self.record = record

    def keep_in(self, path: Path) -> None:
        """Keep the consultation in a record from here on. Raises `Refused` where it cannot be written."""
        write_record(path, self.record, _outcome(self.session))
        self.path = path

    # What is asked now

    @property
    def prompt(self) -> Prompt | None:
        """The question now; None where the verdict is due."""
        if self._confirm is not None:
            yes_or_no = (Choice(1, "yes", "Yes"), Choice(2, "no", "No"))
            return Prompt("confirm", self._confirm[0], "choice", yes_or_no)
        asked = self.session.next
        return self._question(asked) if asked is not None else None

    def _question(self, asked: Asked) -> Prompt:
        session = self.session
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

    def _asked(self) -> Asked:
        asked = self.session.next
        if asked is None:
            raise Refused("there is no question open", "Change an answer, or leave.")
        return asked

    # What the person says

    def say(self, text: str) -> list[Said]:
        """Take typed words: an action by its word, an answer in the person's own. Raises `Refused` where it can be
        neither, with what to write instead; nothing has changed then."""
        text = clean(text)
        prompt = self.prompt
        if prompt is None:
            return self._act(text) or self._lost(text)
        if prompt.key == "confirm":
            return self._act(text) or self._confirmed(prompt, text)
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
        meant, self._meant = self._meant, None
        said = yes_or_no(text)
        if meant is not None and meant[0] == prompt.key and said is not None:
            if said == "yes" and meant[1]:
                return self.pick(meant[1])
            self._meant = (prompt.key, "")  # neither word is an answer until something else has been said
            raise Refused("then which one?", "; ".join(f"{c.number} {c.says}" for c in prompt.choices))
        taken = understand(question, text)
        if taken.value is not None:
            return self.answer(taken.value, typed=text.strip())
        if taken.refused is not None:
            raise taken.refused
        if taken.among:
            listed = "; ".join(f"{c.number} {c.says}" for c in prompt.choices if c.id in taken.among)
            which = "Which of these do you mean?"
            if len(taken.among) == 1:
                which, self._meant = "Do you mean this?", (prompt.key, taken.among[0])
            raise Refused(f'"{quoted(text)}" leaves it open', f"{which} {listed}")
        if ALARMING.search(text):
            raise Refused(
                f'"{quoted(text)}" is no answer to this question',
                "If products are getting indoors, type `danger`: everything stops. Otherwise answer the question.",
            )
        unsure = "`unsure`, " if prompt.can_be_unsure else ""
        raise Refused(
            f'"{quoted(text)}" is not clear to me here',
            f"Pick a number, {numbers(prompt)}, or type {unsure}`why` or `how`.",
        )

    def heeds(self, text: str) -> bool:
        """Whether an action's word in this text is a wish: not where it may be the answer itself."""
        if self._confirm is not None or self.session.next is None:
            return True
        question = self.session.next.question
        return text.startswith("/") if question.kind == "note" else not _is_phrase(question, text)

    def pick(self, choice_id: str) -> list[Said]:
        """Take a choice by its id, as when it is pointed at."""
        prompt = self.prompt
        if prompt is None:
            raise Refused("there is no question open")
        if prompt.key == "confirm":
            return self._confirmed(prompt, choice_id)
        return self.answer((choice_id,) if prompt.kind == "several" else choice_id)

    def answer(self, value: Value, typed: str = "") -> list[Said]:
        """Take an answer to the question now, write the record, and say how it was understood."""
        asked = self._asked()
        if asked.question.kind == "note" and isinstance(value, str):
            value = clean(value)
        fact = Fact(value, self.basis if value != NOT_SURE else UNSTATED, typed=clean(typed))
        self._put(self.session.answer(asked.key, fact))
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
        fact = self.session.offered()
        if fact is None:
            raise Refused("there is no earlier answer to keep", "Answer the question.")
        self._put(self.session.answer(asked.key, fact))
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
        self._put(self.session.back())
        return [Said(Tone.SET_ASIDE, "The latest answer is set aside and offered again.", "Back")]

    def change(self, key: str) -> list[Said]:
        """Open an earlier answer again; it and the later ones are parked."""
        session = self.session
        count = len(session.walk.asked)
        self._put(session.reopen(key))
        later = count - len(self.session.walk.asked) - 1
        kept = (
            f" {later} later answer{'s are' if later != 1 else ' is'} set aside and offered again one by one."
            if later
            else ""
        )
        return [Said(Tone.SET_ASIDE, f"Open again.{kept}", "Change")]

    def answered(self) -> list[Answered]:
        """Every answer in force, in the order asked, then those set aside."""
        session = self.session
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
        text = clean(text)
        key, fact = self._latest("a note")
        self._put(self.session.answer(key, replace(fact, note="\n".join(filter(None, (fact.note, text))))))
        return [Said(Tone.HEARD, text, "Noted")]

    def photo(self, path: str) -> list[Said]:
        """Add the path of a photo to the latest answer; the file itself is neither read nor moved."""
        path = clean(path).strip()
        key, fact = self._latest("a photo")
        self._put(self.session.answer(key, replace(fact, photos=(*fact.photos, path))))
        return [Said(Tone.HEARD, path, "Photo noted")]

    def _latest(self, what: str) -> tuple[str, Fact]:
        session = self.session
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
        session = self.session
        verdicts = {verdict.id: verdict for verdict in session.tree.file.verdict}
        titles = [f"{verdicts[name].title} ({verdicts[name].outcome})" for name in judge(session).possible]
        return [Said(Tone.TOLD, "; ".join(titles) or "Nothing in this tree's list.", "Still possible")]

    def danger(self) -> list[Said]:
        """Products are getting indoors: say what to do now, and end the consultation with that where the tree can."""
        session = self.session
        said = [Said(Tone.DANGER, EMERGENCY, "Stop")]
        if "signs" in session.tree.file.question:
            coming = session.next.key if session.next is not None else ""
            if "signs" in (coming, *session.walk.asked):
                self._put(session.answer("signs", Fact("signs")))
        return said

    def same(self) -> list[Said]:
        """Show what would be taken over from the thing before this one, and ask."""
        asked = self._asked()
        before, facts = like_before(self.session)
        if not before:
            raise Refused("there is nothing before this to take over from", "Answer the question.")
        tree = self.session.tree
        said = []
        for key, fact in facts.items():
            question = tree.ask(key).question
            said.append(Said(Tone.TOLD, f"{question.ask} {say_answer(question, fact.value)}", before))

        def taken() -> list[Said]:
            session = self.session
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
        return judge(self.session)

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
                "possible": self.possible, "danger": self.danger,
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

    def _confirmed(self, prompt: Prompt, text: str) -> list[Said]:
        """A yes or no to the assistant's own question."""
        said = text.strip().casefold().rstrip(".")
        said = {"y": "yes", "n": "no"}.get(said, said)
        choice = next((c for c in prompt.choices if said in (str(c.number), c.id, c.says.casefold())), None)
        if choice is None:
            raise Refused(f'"{quoted(text)}" is not one of the choices', "Type yes or no.")
        confirm, self._confirm = self._confirm, None
        if choice.id == "yes" and confirm is not None:
            return confirm[1]()
        return [Said(Tone.TOLD, "Then question by question.", "No")]

    def _lost(self, text: str) -> list[Said]:
        raise Refused(
            f'"{quoted(text)}" is not something to do here' if text.strip() else "nothing was typed",
            "Type `answers`, `change 3`, `new`, `help` or `quit`.",
        )

    def _put(self, session: Session) -> None:
        """Hold the new session and write its record before anything more is said."""
        self._meant = None
        record = self.record.with_session(session, self.now())
        self._write(record)
        self.record = record

    def _write(self, record: Record) -> None:
        if self.path is not None:
            write_record(self.path, record, _outcome(record.session))

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


def _reviews(tree: Tree, now: str) -> list[Said]:
    """That the review of a tree is due, where it is."""
    return [Said(Tone.TOLD, one.text, "Review") for one in remarks(tree, now[:10]) if one.mark == "review"]


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
