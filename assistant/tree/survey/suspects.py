"""What a survey finds wrong with a tree: each with the answers that should show it.

Invariant: nothing that is wrong on some way is missing. Where a way passes a step that cannot be followed, real answers may
not take it: whether they do has to be tried.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from assistant.tree.answers import Value
from assistant.tree.bands import stretches
from assistant.tree.model import Each, Recall, Verdict, Visit
from assistant.tree.safety import breach
from assistant.tree.survey.graph import Graph, Survey
from assistant.tree.survey.moves import NONE
from assistant.tree.survey.outcomes import Outcome, outcomes
from assistant.tree.survey.shortest import Shortest, Taken
from assistant.tree.survey.witness import answers_of

__all__ = ["Suspect", "idle_rows", "says_none", "suspects"]

MOST_TRIED = 6
"""Ways to one fault for which answers are worked out."""

Path = tuple[str | int, ...]

NOTHING_HELPS = re.compile(
    r"\b(nothing|no \w+)( \w+){0,3} (puts?|sets?|makes?|mends?|repairs?|cures?|remedies)\b"
    r"|\b(cannot|can't|can not|could not|will not) be (put|set|made|mended|repaired|cured|remedied|fixed)\b"
    r"|\bno (way|means) \w+ (put|set|make|mend|repair|cure)|\bno (remedy|repair|cure|putting)\b"
    r"|\bbeyond (repair|mending|remedy)\b",
    re.IGNORECASE,
)
"""How a verdict says that there is no way to put it right."""


class Suspect(NamedTuple):
    """Something that is wrong on some way."""

    code: str
    path: Path
    """Where in the tree's file."""
    message: str
    hint: str
    verdict: str | None
    """The verdict given there ("": none matches); None where the fault is not what a way comes to."""
    ways: Sequence[dict[str, Value]]
    """Answers that should show it, the shortest first; empty where only a step on the way goes wrong."""
    sure: bool
    """Whether real answers show it for certain."""


def suspects(survey: Survey) -> Iterator[Suspect]:
    """Everything that goes wrong on some way. Raises `TooMany`."""
    shortest = Shortest(survey)
    yield from _on_the_way(survey, shortest)
    yield from _at_the_end(survey, shortest)


def _sure(survey: Survey, way: Sequence[Taken]) -> bool:
    """Whether real answers take a way for certain."""
    return not survey.wide and not any((one.frame.tree.id, one.node.step) in survey.loose for one in way)


# What goes wrong at a step


def _on_the_way(survey: Survey, shortest: Shortest) -> Iterator[Suspect]:
    tree, graph = survey.tree, survey.root
    for fault, node in graph.faults.items():
        kind = _kind(survey, fault.step)
        way = shortest.to_node(node)
        table = f"[{kind}.{fault.step}]"
        path: Path = (kind, fault.step)
        about = fault.about
        if fault.code == "recall-not-asked":
            path = (*path, "question")
            message = f'{table} looks back at "{about}", which was not asked on some way to it.'
            hint = f'Ask "{about}" on every way that leads here, or lead those ways past this recall.'
        elif fault.code == "recall-leaves-out":
            message = f'the answer "{about}" can come to {table}, which does not say what follows from it.'
            hint = f'Write a [[recall.{fault.step}.answer]] with id = "{about}", or give the recall a `then`.'
        elif fault.code == "not-sure-missing" and kind == "recall":
            message = f'"{about}" can be not sure here, and {table} does not say what follows then.'
            hint = f"Write a [recall.{fault.step}.not-sure] table with a `then`."
        elif fault.code == "not-sure-missing":
            message = f"{table} can come to be without something that {tree.file.working[fault.step].run} needs: not sure, or never asked."
            hint = f"Write a [working.{fault.step}.not-sure] table with `find-out` and a `then`."
        elif fault.code == "nothing-to-count":
            message = f'{table} runs by "{about}", which is not sure or was not asked on some way to it.'
            hint = f'Lead the not-sure of "{about}" past this each, and ask it on every way that leads here.'
        elif fault.code == "given-not-known":
            message = f'{table} hands on "{about}" when it is not sure or was not asked, but there it must be answered.'
            hint = (
                f"Ask for it on every way to here, or give [question.{about}] of that tree a not-sure table."
            )
        else:
            message = f'{table} can hand on an answer that "{about}" of that tree does not take.'
            hint = "Give that question the same answers and limits as the one it is given from."
        answers = answers_of(way)
        yield Suspect(fault.code, path, message, hint, None, [answers], _sure(survey, way))


# What ways come to


def _at_the_end(survey: Survey, shortest: Shortest) -> Iterator[Suspect]:
    tree, bits = survey.tree, survey.bits
    found: dict[tuple[str, str], list[tuple[Outcome, str, str, int]]] = {}
    for outcome in outcomes(survey):
        named = outcome.verdict.id if outcome.verdict else None
        wrong = breach(tree, named, bits.states(outcome.bits), bits.danger(outcome.bits))
        if wrong is not None:
            found.setdefault((wrong.code, wrong.verdict), []).append(
                (outcome, wrong.message + ".", wrong.hint, wrong.grave)
            )
        elif outcome.verdict is not None and _past_mending(survey, outcome):
            told = _no_work(outcome.verdict)
            found.setdefault(("nothing-puts-right", outcome.verdict.id), []).append((outcome, *told, 0))
    lengths = shortest.best(survey.root)[survey.root.root] if found else {}
    for (code, verdict), several in found.items():
        several.sort(key=lambda one: (-one[3], lengths[one[0].key].length))
        _, message, hint, _ = several[0]
        ways = [shortest.to_key(one.key) for one, *_ in several[:MOST_TRIED]]
        number = next((n for n, one in enumerate(tree.file.verdict) if one.id == verdict), None)
        path: Path = ("tree",) if number is None else ("verdict", number)
        if code == "nothing-puts-right":
            path, hint = _where_to_mend(survey, ways[0], path, hint)
        elif verdict and (straight := _straight(survey, ways[0], verdict)) is not None:
            path = straight
            hint = f'This leads straight to "{verdict}", past what its `when` asks. Write `then = "end"`: then the first verdict that fits is given.'
        answers = [answers_of(way) for way in ways]
        yield Suspect(code, path, message, hint, verdict, answers, any(_sure(survey, way) for way in ways))


def _straight(survey: Survey, way: Sequence[Taken], verdict: str) -> Path | None:
    """Where the last step of a way leads to a verdict without regard to its `when`; None where it is found by that."""
    last = way[-1] if way else None
    if last is None or last.move.then != f"verdict:{verdict}" or last.frame.tree is not survey.tree:
        return None
    step, name = last.frame.tree.steps[last.node.step], last.node.step
    path = (_kind(survey, name), name)
    rows = [] if isinstance(step, Visit | Each) else [*getattr(step, "answer", ()), *step.band]
    if 0 <= last.move.row < len(rows) and rows[last.move.row].then == last.move.then:
        return (*path, "answer" if getattr(step, "answer", ()) else "band", last.move.row, "then")
    if (
        not isinstance(step, Visit | Each)
        and step.not_sure is not None
        and step.not_sure.then == last.move.then
    ):
        return (*path, "not-sure", "then")
    return (*path, "then")


def _kind(survey: Survey, name: str) -> str:
    """The kind of table that a step is written in."""
    return next(
        k for k in ("question", "recall", "working", "visit", "each") if name in getattr(survey.tree.file, k)
    )


def _past_mending(survey: Survey, outcome: Outcome) -> bool:
    verdict = outcome.verdict
    return (
        verdict is not None
        and verdict.outcome == "not-acceptable"
        and not outcome.bits & survey.bits.help
        and not says_none(verdict)
    )


def says_none(verdict: Verdict) -> bool:
    """Whether a verdict says in words that there is no way to put it right, or none but one that it names."""
    return any(NOTHING_HELPS.search(text) for text in (verdict.title, verdict.says, *verdict.do))


def _no_work(verdict: Verdict) -> tuple[str, str]:
    message = f'some answers end in "{verdict.id}", and nothing says what work would put it right.'
    hint = (
        "Write `put-right` and `effort` at an answer that the work brings about, or let the verdict say in its `says` "
        "or `do` that it cannot be put right."
    )
    return message, hint


def _where_to_mend(survey: Survey, way: Sequence[Taken], path: Path, hint: str) -> tuple[Path, str]:
    """The last step of the surveyed tree itself on a way that found something wrong."""
    for taken in reversed(way):
        step, frame = taken.node.step, taken.frame
        if frame.tree is survey.tree and not taken.part and survey.bits.grave(taken.bits):
            question = frame.tree.file.question.get(step)
            if question is not None:
                here = ("question", step, "answer" if question.answer else "band", taken.move.row)
                if taken.move.row != NONE and question.kind != "several":
                    lines = _work_written(survey, here)
                    if lines:
                        moved = (
                            f"This answer is what is wrong, and the work stands here. Move {lines} from here to the answer "
                            f"of [question.{step}] that the work brings about."
                        )
                        return here, moved
                    return (
                        here,
                        f"This answer is what is wrong. {hint.replace('an answer', f'another answer of [question.{step}]', 1)}",
                    )
                return ("question", step), hint
    return path, hint


def _work_written(survey: Survey, row: Path) -> str:
    """The lines of a row that say what work brings it about; nothing where it has none."""
    document = survey.tree.document
    written: object = document.data
    for part in row:
        written = written[part]  # type: ignore[index]
    keys = [key for key in ("put-right", "effort") if isinstance(written, dict) and key in written]
    places = [place.line for key in keys if (place := document.place((*row, key), key=True)) is not None]
    if "put-right" not in keys or len(places) < 2:
        return f"line {places[0]}" if places else ""
    first, last = sorted(places)
    return f"lines {first}–{last}" if last == first + 1 else f"lines {first} and {last}"


# Rows that nothing comes to


def idle_rows(survey: Survey) -> Iterator[tuple[str, Path, str]]:
    """Steps that no real answers lead to, and rows that none come to: code, place, and what it is."""
    tree, graph = survey.tree, survey.root
    taken: dict[str, set[int]] = {}
    for node, edges in graph.edges.items():
        taken.setdefault(node.step, set()).update(edge.move.row for edge in edges)
    for name in graph.frame.order:
        if name not in taken:
            kind = _kind(survey, name)
            yield "unreachable", (kind, name), name
            continue
        recall, working = tree.file.recall.get(name), tree.file.working.get(name)
        for index, band in enumerate(recall.band if recall else working.band if working else ()):
            if index not in taken[name] and not (recall and _outside(survey, recall, index)):
                kind = "recall" if recall else "working"
                yield "unreachable-band", (kind, name, "band", index), band.says or ""
        for index, answer in enumerate(recall.answer if recall else ()):
            if index not in taken[name] and _stands_for(graph, name, index) not in taken[name]:
                yield "never-taken", (("recall", name, "answer", index)), answer.id


def _stands_for(graph: Graph, name: str, index: int) -> int:
    """The row of a recall that stands for another, which is taken alike from there on."""
    frame, recall = graph.frame, graph.frame.tree.file.recall[name]
    place = frame.place(recall.question)
    one = frame.alike(place, frame.lookers.get(place, 0) & frame.ahead[name]).get(recall.answer[index].id)
    return next((number for number, row in enumerate(recall.answer) if row.id == one), NONE)


def _outside(survey: Survey, recall: Recall, index: int) -> bool:
    """Whether a band lies outside the numbers that its question takes, which is told as an empty band."""
    question = survey.tree.file.question[recall.question]
    whole = question.kind == "count"
    return list(stretches(recall.band, question.least, question.most, whole))[index].empty
