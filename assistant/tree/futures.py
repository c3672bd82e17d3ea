"""Ways through a tree to its ends, and what was found on them: over all answers, or those still to be given.

Invariant: no way that some answers take is missing. What a recall or a working looks at and is not known is taken every
way, so a way may be listed that no answers take.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from fractions import Fraction

from assistant.tree.answers import Value, read_answer
from assistant.tree.bands import band_of
from assistant.tree.model import (
    NOT_SURE,
    RANK,
    STATE,
    Answer,
    Band,
    Each,
    NotSure,
    Question,
    Recall,
    Visit,
    Working,
)
from assistant.tree.tree import Tree, each_items, ways_on

__all__ = ["Future", "TooManyWays", "futures", "states_of"]

MOST_WAYS = 5_000
"""Different ways on from one step."""
MOST_WORK = 2_000_000
"""Ways in all, over every step."""

Ranks = tuple[int, ...]
On = Callable[[str | None, Iterable[str]], "Future"]
"""Goes on to a step, having found these findings."""

Links = Mapping[str, str | tuple[Value]]
"""Where a visited tree's questions get their answers: a fact key, or the answer that the author set."""

Future = frozenset[tuple[Ranks, str]]
"""Ways things can go on from a step: the gravest effect for each requirement, and the end ("end" or "verdict:…")."""


class TooManyWays(Exception):
    """There are more different ways than can be looked at one by one."""


def futures(
    tree: Tree,
    values: Mapping[str, object] | None = None,
    results: Mapping[str, set[object]] | None = None,
) -> Future:
    """Every way through a tree, given the answers (by fact key) and working results (by step) that are known.

    Raises `TooManyWays` past the limits above.
    """
    return _Futures(tree, values or {}, results or {}).tree(tree, "", {})


def states_of(tree: Tree, ranks: Ranks) -> dict[str, str]:
    """The requirements' states that the gravest effects come to."""
    return {name: STATE[rank] for name, rank in zip(tree.file.requirement, ranks, strict=True)}


class _Futures:
    def __init__(self, root: Tree, values: Mapping[str, object], results: Mapping[str, set[object]]) -> None:
        self.values = values
        self.results = results
        self.work = 0
        self.requirements = list(root.file.requirement)
        self.nothing: Ranks = (0,) * len(self.requirements)

    def tree(self, tree: Tree, prefix: str, links: Links) -> Future:
        """Every way through one tree, from its first step to an end of its own."""
        futures: dict[str, Future] = {}
        for name in _backwards(tree):
            futures[name] = self.step(tree, name, prefix, links, futures)
            self.work += len(futures[name])
            if len(futures[name]) > MOST_WAYS or self.work > MOST_WORK:
                raise TooManyWays
        return futures.get(tree.file.tree.first, frozenset())

    def step(
        self,
        tree: Tree,
        name: str,
        prefix: str,
        links: Links,
        futures: Mapping[str, Future],
    ) -> Future:
        step = tree.steps[name]

        def on(then: str | None, findings: Iterable[str]) -> Future:
            target = then or "end"
            ranks = self.ranks(tree, findings)
            if target == "end" or target.startswith("verdict:"):
                return frozenset({(ranks, target)})
            return frozenset((_worst(ranks, rest), end) for rest, end in futures.get(target, frozenset()))

        if isinstance(step, Question):
            return self.question(step, self.value(prefix, name, links), on)
        if isinstance(step, Recall):
            return self.recall(tree, step, self.value(prefix, step.question, links), on)
        if isinstance(step, Working):
            return self.working(step, self.results.get(prefix + name), on)
        return self.visit(tree, name, step, prefix, links, on(step.then, ()))

    def value(self, prefix: str, name: str, links: Links) -> object:
        """The answer that counts; None where it is still to be given."""
        link = links.get(name, prefix + name)
        return link[0] if isinstance(link, tuple) else self.values.get(link)

    def question(self, question: Question, value: object, on: On) -> Future:
        if question.kind in ("several", "note"):
            if isinstance(value, tuple):
                findings = [f for answer in question.answer if answer.id in value for f in answer.finding]
                return on(question.then, findings)
            not_sure = question.not_sure or NotSure()
            ways = on(question.then, ())
            for answer in question.answer:
                [(ranks, _)] = on("end", answer.finding)
                ways |= frozenset((_worst(ranks, rest), end) for rest, end in ways)
            return ways | (on(not_sure.then, not_sure.finding) if not question.must_answer else frozenset())
        rows = question.answer or question.band
        known: Answer | Band | None = None
        if question.kind == "choice" and value is not None and value != NOT_SURE:
            known = question.answer_of(str(value))
        elif isinstance(value, Fraction) and question.band:
            known = band_of(question.band, value)
        if known is not None:
            return on(known.then or question.then, known.finding)
        if isinstance(value, Fraction):
            return on(question.then, ())
        every = (
            _join(on(row.then or question.then, row.finding) for row in rows)
            if rows
            else on(question.then, ())
        )
        not_sure = question.not_sure or NotSure()
        decided = (
            on(not_sure.then, not_sure.finding) if not_sure.then else self.with_findings(every, not_sure, on)
        )
        if value == NOT_SURE:
            return decided
        return every if question.must_answer else every | decided

    def with_findings(self, every: Future, not_sure: NotSure, on: On) -> Future:
        [(ranks, _)] = on("end", not_sure.finding)
        return frozenset((_worst(ranks, rest), end) for rest, end in every)

    def recall(self, tree: Tree, recall: Recall, value: object, on: On) -> Future:
        question = tree.file.question[recall.question]
        if question.kind == "choice":
            named = {row.id: row for row in recall.answer}
            rows = [
                (a.id, named[a.id].then, named[a.id].finding) if a.id in named else (a.id, None, ())
                for a in question.answer
                if a.id in named or recall.then
            ]
            known = [row for row in rows if row[0] == value]
            every = _join(on(then or recall.then, finding) for _, then, finding in known or rows)
        elif isinstance(value, Fraction) and recall.band:
            band = band_of(recall.band, value)
            return on(band.then or recall.then, band.finding)
        else:
            known = []
            every = (
                _join(on(b.then or recall.then, b.finding) for b in recall.band)
                if recall.band
                else on(recall.then, ())
            )
        not_sure = recall.not_sure
        if known or not_sure is None:
            return every
        return every | (
            on(not_sure.then, not_sure.finding) if not_sure.then else self.with_findings(every, not_sure, on)
        )

    def working(self, working: Working, results: set[object] | None, on: On) -> Future:
        numbers = [r for r in results or () if isinstance(r, int | float | Fraction) or r == "unbounded"]
        bands: list[Band] = list(working.band)
        if results and len(numbers) == len(results):
            bands = [
                working.band[-1] if r == "unbounded" else band_of(working.band, Fraction(r)) for r in numbers
            ]
            return _join(on(b.then or working.then, b.finding) for b in bands)
        every = _join(on(b.then or working.then, b.finding) for b in bands)
        not_sure = working.not_sure
        if not_sure is None:
            return every
        return every | (
            on(not_sure.then, not_sure.finding) if not_sure.then else self.with_findings(every, not_sure, on)
        )

    def visit(
        self,
        tree: Tree,
        name: str,
        visit: Visit | Each,
        prefix: str,
        links: Links,
        after: Future,
    ) -> Future:
        part = tree.parts[visit.tree]
        inner: dict[str, str | tuple[Value]] = {
            q: links.get(key, prefix + key) for q, key in visit.given.items()
        }
        for q, constant in visit.set.items():
            given = list(constant) if isinstance(constant, tuple) else constant
            inner[q] = (read_answer(part.file.question[q], given),)
        if isinstance(visit, Visit):
            return _then(self.tree(part, f"{prefix}{name}/", inner), after)
        value = self.value(prefix, visit.count or visit.over or "", links)
        items = [item for item, _ in each_items(tree, visit)]
        ways: Future = frozenset({(self.nothing, "end")})
        least = int(tree.file.question[visit.count].least or 0) if visit.count else 0
        known = isinstance(value, Fraction | tuple)
        done: Future = frozenset() if known or least > 0 else _then(ways, after)
        for number, item in enumerate(items, 1):
            if isinstance(value, Fraction) and number > value:
                break
            run = self.tree(part, f"{prefix}{name}.{item}/", inner)
            if isinstance(value, tuple):
                ways = _then(ways, run) if item in value else ways
            elif isinstance(value, Fraction):
                ways = _then(ways, run)
            else:  # still open how many, or which
                ways = (ways | _then(ways, run)) if visit.over else _then(ways, run)
                done |= _then(ways, after) if number >= least else frozenset()
        return done | (_then(ways, after) if known else frozenset())

    def ranks(self, tree: Tree, findings: Iterable[str]) -> Ranks:
        ranks = list(self.nothing)
        for name in findings:
            finding = tree.file.finding[name]
            if finding.requirement is not None and finding.effect in RANK:
                place = self.requirements.index(finding.requirement)
                ranks[place] = max(ranks[place], RANK[finding.effect])
        return tuple(ranks)


def _worst(left: Ranks, right: Ranks) -> Ranks:
    return tuple(map(max, left, right))


def _then(first: Future, after: Future) -> Future:
    """One run followed by another; a verdict given in the first ends both."""
    ends = frozenset(way for way in first if way[1] != "end")
    return ends | frozenset(
        (_worst(ranks, more), end) for ranks, e in first if e == "end" for more, end in after
    )


def _join(futures: Iterable[Future]) -> Future:
    return frozenset().union(*futures)


def _backwards(tree: Tree) -> list[str]:
    """The steps reached from the first, each after all that follow it; a way that leads back is left out."""
    order: list[str] = []
    state: dict[str, int] = {}
    waiting = [tree.file.tree.first]
    while waiting:
        name = waiting[-1]
        if state.get(name) is None:
            state[name] = 1
            waiting.extend(w for w in ways_on(tree.steps[name]) if w in tree.steps and w not in state)
        else:
            waiting.pop()
            if state[name] == 1:
                state[name] = 2
                order.append(name)
    return order
