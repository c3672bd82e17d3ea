"""Walking a tree with the facts at hand: every line of reasoning that they leave open, to its end.

Invariant: a walk depends on the tree and the facts alone, asks each fact key at most once, and never takes a branch
that the facts do not allow. An answer that is not sure, and that the author did not decide, splits the line into one
for each answer it could be. Lines that meet again with the same outlook are walked on once.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from typing import Any

from assistant.errors import Refused
from assistant.session.fact import Fact
from assistant.session.line import ASSUMED, Frame, Line, Link, Option
from assistant.session.walked import End, Found, Unsure, Walk, Worked
from assistant.tree.answers import Value, read_answer
from assistant.tree.bands import band_of
from assistant.tree.model import (
    NOT_SURE,
    RANK,
    STATE,
    Band,
    Each,
    Finding,
    NotSure,
    Question,
    Recall,
    Visit,
    Working,
)
from assistant.tree.tree import Asked, Tree, each_items
from assistant.workings import registry
from assistant.workings.registry import Input

__all__ = ["walk"]

MOST_STEPS = 100_000
"""Steps that one walk may take before the tree is taken to be too large, or to go round in a circle."""


def walk(tree: Tree, facts: Mapping[str, Fact], without: tuple[str, str] | None = None) -> Walk:
    """Walk every line of reasoning that the facts leave open.

    `without` (a tree id and a finding id) drops the lines that meet that finding: where no end is left, every line
    meets it. Raises `Refused` where a working refuses what the answers give it, or a walk finds no end.
    """
    return _Walker(tree, facts, without).run()


class _Walker:
    def __init__(self, tree: Tree, facts: Mapping[str, Fact], without: tuple[str, str] | None) -> None:
        self.root = tree
        self.facts = facts
        self.without = without
        self.asked: dict[str, Asked] = {}
        self.values: dict[str, Value] = {}
        self.next: Asked | None = None
        self.ends: dict[End, None] = {}
        self.endangered: set[End] = set()
        self.lost: set[tuple[str, str]] = set()
        self.found: dict[tuple[str, str], dict[str, None]] = {}
        self.findings: dict[tuple[str, str], tuple[Tree, Finding]] = {}
        self.met: dict[tuple[str, str], int] = {}
        self.sure: set[tuple[str, str]] = set()
        self.worked: list[Worked] = []
        self.unsure: dict[str, Unsure] = {}
        self.waiting: list[Line] = []
        self.split = False
        self.passed: set[object] = set()
        self.looked_at: dict[str, bool] = {}

    def run(self) -> Walk:
        self.waiting = [Line(Frame(self.root), self.root.file.tree.first, {}, {})]
        taken = 0
        while self.waiting:
            line = self.waiting.pop()
            going = True
            while going:
                if self.split and self.met_before(line):
                    break
                taken += 1
                if taken > MOST_STEPS:
                    raise Refused(
                        f'"{self.root.id}" comes to no end within {MOST_STEPS} steps',
                        "It goes round in a circle, or too much is not sure: settle some answers first.",
                    )
                going = self.take(line)
        found = (
            Found(key[1], *self.findings[key], tuple(causes), key in self.sure, self.met[key])
            for key, causes in self.found.items()
        )
        return Walk(
            self.asked, self.next, tuple(self.ends), tuple(found), tuple(self.worked),
            tuple(self.unsure.values()), self.values, self.split, taken, frozenset(self.endangered),
            frozenset(self.lost),
        )  # fmt: skip

    # Lines

    def met_before(self, line: Line) -> bool:
        """Whether a line with the same outlook was here already: same place, same states, same answers to look at."""
        here = (line.frame.prefix, line.step, frozenset(line.ranks.items()), line.mark)
        if here in self.passed:
            return True
        self.passed.add(here)
        return False

    def know(self, line: Line, key: str, value: Any) -> None:
        """Note an answer on a line, and mark it where something may look back at it."""
        if key not in self.looked_at:
            self.looked_at[key] = key.endswith(".*") or _watched(self.root, key.split("/"))
        if self.looked_at[key]:
            before = line.known.get(key)
            line.mark ^= hash((key, value)) ^ (hash((key, before)) if before is not None else 0)
        line.known[key] = value

    def go(self, line: Line, options: Sequence[Option], key: str | None, causes: Sequence[str]) -> bool:
        """Send the line on along one option, or split it along several; true where this line itself goes on."""
        if len(options) > 1:
            self.split = line.split = True
        others = [(line.copy(), option) for option in options[1:]]
        going = self.set_out(line, options[0], key, causes)
        living = [other for other, option in others if self.set_out(other, option, key, causes)]
        self.waiting.extend(reversed(living))
        return going

    def set_out(self, line: Line, option: Option, key: str | None, causes: Sequence[str]) -> bool:
        if option.assume is not None and key is not None:
            self.know(line, key, option.assume)
        for finding in option.findings:
            self.find(line, finding, causes)
        return self.arrive(line, option.then)

    def find(self, line: Line, name: str, causes: Sequence[str]) -> None:
        tree = line.frame.tree
        finding = tree.file.finding[name]
        key = (tree.id, name)
        line.dropped = line.dropped or key == self.without
        self.findings[key], self.met[key] = (tree, finding), len(self.asked)
        if not line.split:
            self.sure.add(key)
        self.found.setdefault(key, {}).update(dict.fromkeys(causes))
        if finding.requirement is not None and finding.effect in RANK:
            rank = RANK[finding.effect]
            line.ranks[finding.requirement] = max(rank, line.ranks.get(finding.requirement, 0))

    def arrive(self, line: Line, then: str) -> bool:
        """Put the line at what follows; an end hands back to the visiting tree, or ends the line."""
        if line.dropped:
            return False
        while then == "end" and (parent := line.frame.parent) is not None:
            if line.frame.rest:
                line.frame = replace(line.frame.rest[0], rest=line.frame.rest[1:])
                line.step = line.frame.tree.file.tree.first
                return True
            then, line.frame = line.frame.back, parent
        if then == "end" or then.startswith("verdict:"):
            states = {name: STATE[line.ranks.get(name, 0)] for name in self.root.file.requirement}
            verdict = then.removeprefix("verdict:") if then != "end" else None
            if verdict is None:
                verdict = next((v.id for v in self.root.file.verdict if v.matches(states)), None)
            end = End(verdict, tuple(states.values()))
            self.ends[end] = None
            if RANK["danger"] in line.ranks.values():
                self.endangered.add(end)
            return False
        line.step = then
        return True

    # Steps

    def take(self, line: Line) -> bool:
        step = line.frame.tree.steps[line.step]
        if isinstance(step, Question):
            return self.question(line, step)
        if isinstance(step, Recall):
            return self.recall(line, step)
        if isinstance(step, Working):
            return self.working(line, step)
        if isinstance(step, Visit):
            frame = self.inner(line.frame, step, f"{line.step}/", line.frame.labels)
            line.frame, line.step = frame, frame.tree.file.tree.first
            return True
        return self.each(line, step)

    def question(self, line: Line, question: Question) -> bool:
        frame, name = line.frame, line.step
        link = frame.links.get(name)
        if link is not None:
            value = self.look(line, link)
            key, causes = link.place, [link.key] if link.key else []
        else:
            key = frame.prefix + name
            causes = [key]
            asked = self.asked.get(key) or Asked(key, name, question, frame.tree, frame.labels)
            fact = self.facts.get(key)
            if fact is None:
                self.next = self.next or asked
                return False
            value = fact.value if fact.settles(question) else NOT_SURE
            self.asked[key], self.values[key] = asked, value
            self.know(line, key, value)
        if value is None or value is ASSUMED or value == NOT_SURE:
            if link is not None and question.must_answer:
                self.lost.add(("given-not-known", name))
            return self.question_unsure(line, question, key, causes)
        if link is not None:
            self.admitted(f"{frame.prefix}{name}", question, value)
        if question.kind == "choice":
            options = [
                Option(answer.finding, answer.then or question.then or "end")
                for answer in question.answer
                if answer.id == value
            ]
        elif question.kind == "several":
            chosen = [answer for answer in question.answer if answer.id in value]
            options = [Option([f for answer in chosen for f in answer.finding], question.then or "end")]
        elif question.kind == "note" or not question.band:
            options = [Option((), question.then or "end")]
        else:
            options = [_band_option(band_of(question.band, value), question.then)]
        return self.go(line, options, None, causes)

    @staticmethod
    def admitted(key: str, question: Question, value: Value) -> None:
        """Refuse an answer handed on to a question that does not take it."""
        try:
            read_answer(question, list(value) if isinstance(value, tuple) else value)
        except Refused as error:
            raise Refused(
                f'"{key}" cannot take the answer it is given: {error.message}',
                "The tree hands on an answer that this question does not have; whoever keeps the tree has to mend it.",
            ) from error

    def question_unsure(self, line: Line, question: Question, key: str, causes: list[str]) -> bool:
        not_sure = question.not_sure or NotSure()
        self.left_open(line, [key], decided=not_sure.then is not None)
        for finding in not_sure.finding:
            self.find(line, finding, causes)
        if not_sure.then is not None:
            return self.arrive(line, not_sure.then)
        if question.kind == "choice":
            options = [Option(a.finding, a.then or question.then or "end", a.id) for a in question.answer]
        elif question.band:
            options = [_band_option(band, question.then, ASSUMED) for band in question.band]
        else:
            options = [Option((), question.then or "end")]
        return self.go(line, options, key, causes)

    def left_open(self, line: Line, keys: Iterable[str], decided: bool, later: str | None = None) -> None:
        """Keep in mind what was not sure; it is decided only where no line is split over it."""
        for key in keys:
            if key in self.asked and line.known.get(key) in (NOT_SURE, ASSUMED):
                before = self.unsure.get(key)
                decided_too = decided and (before is None or before.decided)
                self.unsure[key] = Unsure(self.asked[key], decided_too, (before and before.later) or later)

    def recall(self, line: Line, recall: Recall) -> bool:
        question = line.frame.tree.file.question[recall.question]
        link = line.frame.link(recall.question)
        value = self.look(line, link)
        causes = [link.key] if link.key else []
        rows = {row.id: row for row in recall.answer}

        def option(answer: str) -> Option:
            row = rows.get(answer)
            return Option(row.finding if row else (), (row and row.then) or recall.then or "end", answer)

        if value is None or value is ASSUMED or value == NOT_SURE:
            if value is None or recall.not_sure is None:
                self.lost.add(("recall-not-asked" if value is None else "not-sure-missing", line.step))
            not_sure = recall.not_sure or NotSure()
            for finding in not_sure.finding:
                self.find(line, finding, causes)
            if not_sure.then is not None:
                return self.arrive(line, not_sure.then)
            self.left_open(line, causes, False, not_sure.find_out)
            if question.kind == "choice":
                told = [answer.id for answer in question.answer if answer.id in rows or recall.then]
                return self.go(line, [option(answer) for answer in told], link.place, causes)
            options = [_band_option(band, recall.then) for band in recall.band]
            return self.go(line, options or [Option((), recall.then or "end")], None, causes)
        if question.kind == "choice":
            if value not in rows and not recall.then:
                raise Refused(
                    f'"{line.frame.prefix}{line.step}" does not say what follows from "{value}"',
                    "The tree must name that answer there, or give the recall a `then`.",
                )
            return self.go(line, [option(value)], None, causes)
        one = (
            _band_option(band_of(recall.band, value), recall.then)
            if recall.band
            else Option((), recall.then or "end")
        )
        return self.go(line, [one], None, causes)

    def working(self, line: Line, working: Working) -> bool:
        calculation = registry.find(working.run)
        inputs, causes = self.inputs(line, working)
        step = line.frame.prefix + line.step
        result: object = None
        if all(_known(one, inputs) for one in calculation.inputs):
            try:
                figures = calculation.work(inputs)
            except Refused as error:
                raise Refused(error.message, error.hint, self.given_as(line, working, error.where)) from error
            result = figures.results.get(working.branch_on)
            done = Worked(step, working, inputs, figures.results, figures.shown, line.frame.tree)
            if done not in self.worked:
                self.worked.append(done)
        if result == "unbounded":
            return self.go(line, [_band_option(working.band[-1], working.then)], None, causes)
        if isinstance(result, int | float | Fraction):
            return self.go(
                line, [_band_option(band_of(working.band, Fraction(result)), working.then)], None, causes
            )
        if result is None and working.not_sure is None:
            self.lost.add(("not-sure-missing", line.step))
        not_sure = working.not_sure or NotSure()
        for finding in not_sure.finding:
            self.find(line, finding, causes)
        if not_sure.then is not None:
            self.left_open(line, causes, True, not_sure.find_out)
            return self.arrive(line, not_sure.then)
        self.left_open(line, causes, False, not_sure.find_out)
        return self.go(line, [_band_option(band, working.then) for band in working.band], None, causes)

    @staticmethod
    def given_as(line: Line, working: Working, name: str) -> str:
        """The fact key behind an input of a working, for a refusal; the working's own place without one."""
        keys = working.give.get(name.partition(".")[0])
        link = line.frame.link(keys[0]) if keys and not keys[0].endswith(".*") else None
        return (link.key if link else None) or f"{line.frame.prefix}{line.step}"

    def inputs(self, line: Line, working: Working) -> tuple[dict[str, Any], list[str]]:
        """What the working is given (unknown inputs left out), and the fact keys it comes from."""
        inputs: dict[str, Any] = dict(working.set)
        causes: dict[str, None] = {}
        for name, keys in working.give.items():
            if keys[0].endswith(".*"):
                things = self.things(line, keys, causes)
                if things is not None:
                    inputs[name] = things
                continue
            link = line.frame.link(keys[0])
            value = self.look(line, link)
            if value is not None and link.key:
                causes[link.key] = None
            if value is not None and value is not ASSUMED and value != NOT_SURE:
                inputs[name] = (
                    list(value) if isinstance(value, tuple) else line.frame.tree.handed(working, name, value)
                )
        return inputs, list(causes)

    def things(self, line: Line, keys: Sequence[str], causes: dict[str, None]) -> list[dict[str, Any]] | None:
        """The facts of each of several things, one table a thing; None where they were never asked here."""
        tables: dict[str, dict[str, Any]] = {}
        for key in keys:
            frame = line.frame
            items = line.known.get(frame.prefix + key)
            if items is None:
                continue
            each = frame.tree.file.each[key.removesuffix(".*")]
            questions = frame.tree.parts[each.tree].file.question
            for item in items:
                table = tables.setdefault(item, {})
                inner = f"{frame.prefix}{key[:-1]}{item}/"
                for name, question in questions.items():
                    value = line.known.get(inner + name)
                    if value is None:
                        continue
                    causes[inner + name] = None
                    if value is ASSUMED or value == NOT_SURE:
                        continue
                    unit = f"_{_word(question.unit)}" if question.kind == "measure" and question.unit else ""
                    table[name.replace("-", "_") + unit] = list(value) if isinstance(value, tuple) else value
        return (
            list(tables.values())
            if any(frame_key in line.known for frame_key in self.full(line, keys))
            else None
        )

    @staticmethod
    def full(line: Line, keys: Sequence[str]) -> Iterator[str]:
        return (line.frame.prefix + key for key in keys)

    def each(self, line: Line, each: Each) -> bool:
        frame, name = line.frame, line.step
        counted = each.count or each.over or ""
        link = frame.link(counted)
        value = self.look(line, link)
        if value is None or value is ASSUMED or value == NOT_SURE:
            raise Refused(
                f'"{frame.prefix}{name}" has nothing to count: "{link.key}" is not known here',
                "The tree must not lead here without that answer.",
            )
        self.admitted(f"{frame.prefix}{counted}", frame.tree.file.question[counted], value)
        possible = each_items(frame.tree, each)
        if each.count:
            chosen = possible[: int(value)]
        else:  # {n} counts the things chosen, not those that could be
            says = {answer.id: answer.says for answer in frame.tree.file.question[counted].answer}
            picked = [item for item, _ in possible if item in value]
            label = each.label or "{says}"
            chosen = [
                (item, label.replace("{n}", str(n)).replace("{says}", says[item]))
                for n, item in enumerate(picked, 1)
            ]
        self.know(line, f"{frame.prefix}{name}.*", tuple(item for item, _ in chosen))
        frames = tuple(
            self.inner(frame, each, f"{name}.{item}/", (*frame.labels, label)) for item, label in chosen
        )
        if not frames:
            return self.arrive(line, each.then)
        line.frame = replace(frames[0], rest=frames[1:])
        line.step = line.frame.tree.file.tree.first
        return True

    def inner(self, frame: Frame, visit: Visit | Each, name: str, labels: tuple[str, ...]) -> Frame:
        part = frame.tree.parts[visit.tree]
        links = {question: frame.link(key) for question, key in visit.given.items()}
        for question, constant in visit.set.items():
            given = list(constant) if isinstance(constant, tuple) else constant
            answer = read_answer(part.file.question[question], given)
            links[question] = Link(None, f"{frame.prefix}{name}{question}", answer)
        return Frame(part, frame.prefix + name, links, frame, visit.then, labels)

    @staticmethod
    def look(line: Line, link: Link) -> Any:
        """The answer behind a link on this line; None where it was never asked here."""
        return line.known.get(link.place, link.value)


def _known(wanted: Input, values: Mapping[str, Any]) -> bool:
    """Whether an input has its value, and each table of a list the values that it cannot do without."""
    if wanted.name not in values:
        return not wanted.required
    return not wanted.keys or all(_known(key, item) for item in values[wanted.name] for key in wanted.keys)


def _band_option(band: Band, default: str | None, assume: object = None) -> Option:
    return Option(band.finding, band.then or default or "end", assume)


def _word(unit: str) -> str:
    """A unit as part of a name: "mm per m" is `mm_per_m`, "%" is `percent`."""
    spelt = (
        unit.replace("%", "percent")
        .replace("/", " per ")
        .replace("²", "2")
        .replace("³", "3")
        .replace("°", "")
    )
    return "_".join(spelt.casefold().split())


def _watched(tree: Tree, parts: list[str]) -> bool:
    """Whether anything may look back at the answer under a fact key, from its own tree or one that visits it."""
    if "/".join(parts) in tree.watched:
        return True
    if len(parts) == 1:
        return False
    name, _, item = parts[0].partition(".")
    if item and name in tree.gathered:
        return True
    step = tree.file.each.get(name) if item else tree.file.visit.get(name)
    return step is not None and _watched(tree.parts[step.tree], parts[1:])
