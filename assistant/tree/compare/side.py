"""One of two editions, as it is walked beside the other."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from itertools import product

from assistant.errors import Refused
from assistant.tree.bands import Stretch, stretches
from assistant.tree.compare.answers import Option
from assistant.tree.compare.framed import Framed
from assistant.tree.model import NOT_SURE, Each, Question, Recall, Visit, Working
from assistant.tree.survey.bits import Bits
from assistant.tree.survey.frame import Frame
from assistant.tree.survey.graph import Explorer, Graph, Node, Survey, Way
from assistant.tree.survey.known import Known, Memory, Open, looked_up, pinned, settled
from assistant.tree.survey.memories import Change
from assistant.tree.survey.moves import MOST_CHOSEN, Move
from assistant.tree.survey.shortest import Shortest
from assistant.tree.tree import Tree, ways_on
from assistant.workings import registry

__all__ = ["Edition", "Side"]


class Edition:
    """One edition: its tree, and what was surveyed of it so far."""

    def __init__(self, tree: Tree, bits: Bits, stands_for: dict[object, Stretch]) -> None:
        self.tree = tree
        self.survey = Survey(tree, bits)
        self.stands_for = stands_for
        """Shared by both editions: the stretch that stands for all in which neither tells numbers apart."""
        self.sides: dict[object, Side] = {}
        self.shortest = Shortest(self.survey)
        self.stopping: dict[int, bool] = {}

    def stops(self, graph: Graph) -> bool:
        """Whether a run of a visited tree may come to where it cannot go on."""
        if id(graph) not in self.stopping:
            frame, steps = graph.frame, graph.frame.tree.file.working
            self.stopping[id(graph)] = (
                bool(graph.faults)
                or any(
                    node.step in steps and may_refuse(frame, node.step, graph.memories[node.known])
                    for node in graph.edges
                )
                or any(
                    self.stops(edge.inner)
                    for edges in graph.edges.values()
                    for edge in edges
                    if edge.inner is not None
                )
            )
        return self.stopping[id(graph)]

    @property
    def loose(self) -> bool:
        """Whether a step was passed that cannot be followed."""
        return bool(self.survey.loose) or any(side.explorer.loose for side in self.sides.values())

    def side(self, frame: Frame, beside: Tree) -> Side:
        """One run of a tree of this edition, beside one of the other's."""
        key = (frame.key, id(beside))
        if key not in self.sides:
            framed = Framed(
                frame.tree, frame.places, frame.entry, frame.report, beside=beside, stands_for=self.stands_for
            )
            self.sides[key] = Side(self, framed)
        return self.sides[key]


class Side:
    """One run of a tree, walked beside one of the other edition."""

    def __init__(self, edition: Edition, frame: Frame) -> None:
        self.edition = edition
        self.frame = frame
        self.tree = frame.tree
        self.explorer = Explorer(edition.survey, frame)
        self.kept: dict[tuple[str, int, int], list[tuple[Way, Change]]] = {}
        self.index = {name: number for number, name in enumerate(frame.order)}
        self.looked: dict[str, frozenset[str]] = {}
        self.given_options: dict[tuple[str, bool], list[Option]] = {}
        self.onward: dict[str, int] = {}
        for name in reversed(frame.order):
            mask = 1 << self.index[name]
            for way in ways_on(self.tree.steps[name]):
                mask |= self.onward.get(way, 0)
            self.onward[name] = mask
        self.claims = self.claimed()
        self.worked = frozenset(self.worked_on())
        """Places given to workings that cannot be followed, beside those that are kept in memory."""

    def looks(self, step: str) -> frozenset[str]:
        """The places that a step looks back at."""
        looks = self.looked.get(step)
        if looks is None:
            looks = self.looked[step] = frozenset(self.frame.looks(step))
        return looks

    def asks(self, step: str) -> bool:
        """Whether a step is a question that is asked in this run."""
        found = self.tree.steps.get(step)
        return isinstance(found, Question) and step not in self.frame.linked

    def visits(self, step: str) -> bool:
        """Whether a step runs another tree."""
        return isinstance(self.tree.steps.get(step), Visit | Each)

    def ends(self, step: str) -> bool:
        """Whether this is no step any more."""
        return step not in self.tree.steps

    def ahead(self, step: str, other: str) -> bool:
        """Whether a step can still come, at this one or after it."""
        number = self.index.get(other)
        return number is not None and bool(self.onward.get(step, 0) >> number & 1)

    def memory(self, number: int) -> Memory:
        """What is known, by its number."""
        return self.explorer.memories.all[number]

    def number(self, step: str, memory: Memory) -> int:
        """The number of what is left of a memory at a step."""
        return self.explorer.number(self.frame.remember(step, memory))

    def after(self, step: str, number: int, change: Change) -> int:
        """The number of what is known at a step, after a move that changed this."""
        return self.explorer.memories.after(step, number, change)

    def taken(self, step: str, at: int, number: int) -> Sequence[tuple[Way, Change]]:
        """The ways on from a step, with what is known anew after each."""
        if not self.visits(step):
            taken = self.explorer.taken(Node(step, at, number))
            return taken if isinstance(taken, list) else list(taken)
        key = (step, at, number)
        if key not in self.kept:
            self.kept[key] = list(self.explorer.taken(Node(step, at, number)))
        return self.kept[key]

    def ways(self, step: str, at: int, number: int) -> list[Way]:
        """The ways on from a step."""
        return [way for way, _ in self.taken(step, at, number)]

    # Answers to questions

    def options(self, name: str, told_apart: bool) -> list[Option]:
        """Every way to answer a question; with `told_apart`, every choice among several answers by itself."""
        key = (name, told_apart)
        if key not in self.given_options:
            self.given_options[key] = list(self.every_option(name, told_apart))
        return self.given_options[key]

    def every_option(self, name: str, told_apart: bool) -> Iterator[Option]:
        """Every way to answer a question, worked out."""
        question = self.tree.file.question[name]
        apart = told_apart and question.kind == "several" and len(question.answer) <= MOST_CHOSEN
        if apart:
            yield from self.choices(name, question)
        for way in self.ways(name, 0, self.explorer.number(())):
            move = way[0]
            known = dict(move.changes).get(name, Open.ANY)
            if move.unsure:
                yield Option(move, NOT_SURE, self.assumed(name, move, known))
            elif known == NOT_SURE or not apart:
                yield Option(move, known)

    def choices(self, name: str, question: Question) -> Iterator[Option]:
        """Every choice among several answers."""
        found = [self.explorer.moves.row(answer, name, index) for index, answer in enumerate(question.answer)]
        for chosen in range(1 << len(found)):
            ids, bits = [], 0
            for index, answer in enumerate(question.answer):
                if chosen >> index & 1:
                    ids.append(answer.id)
                    bits |= found[index]
            known = tuple(ids)
            yield Option(Move(chosen, False, question.then or "end", bits, ((name, known),)), known)

    def assumed(self, name: str, move: Move, known: Known) -> Known:
        """What a move along one of the answers that "not sure" leaves possible assumes."""
        question = self.tree.file.question[name]
        if question.kind == "choice":
            return known
        return next(
            (stretch for index, _, stretch in self.explorer.moves.rows(question) if index == move.row),
            Open.ANY,
        )

    # What may be claimed at a step

    def claimed(self) -> dict[str, list[str]]:
        """For each thing that can be assumed or worked out, the steps that do it."""
        claims: dict[str, list[str]] = {}
        for name in self.frame.order:
            step = self.tree.steps[name]
            open_ = isinstance(step, Question | Recall) and (
                step.not_sure is None or step.not_sure.then is None
            )
            if isinstance(step, Question):
                if open_ and not step.must_answer:
                    claims.setdefault(self.frame.place(name) + "?", []).append(name)
            elif isinstance(step, Recall):
                if open_:
                    claims.setdefault(self.recalled(name, step), []).append(name)
            elif isinstance(step, Working):
                claims.setdefault(self.frame.signature(step), []).append(name)
                if step.not_sure is None or step.not_sure.then is None:
                    claims.setdefault(name + "?", []).append(name)
        return claims

    def recalled(self, name: str, recall: Recall) -> str:
        """What a recall that decides nothing assumes: the answer of a choice; of a number a band of its own."""
        choice = self.tree.file.question[recall.question].kind == "choice"
        return (self.frame.place(recall.question) if choice else name) + "?"

    def may_claim(self, step: str, key: str) -> bool:
        """Whether something can still be told, assumed or worked out here or further on."""
        if key.startswith("=") or key.endswith("?"):
            return any(self.ahead(step, one) for one in self.claims.get(key.partition("|")[0], ()))
        return self.asks(key) and self.ahead(step, key)

    # Workings

    def worked_on(self) -> Iterator[str]:
        """The places given to workings that cannot be followed."""
        for name in self.frame.order:
            step = self.tree.steps[name]
            if isinstance(step, Working) and not self.frame.followed(step):
                for keys in step.give.values():
                    yield from (key if key.endswith(".*") else self.frame.place(key) for key in keys)

    def inputs(self, name: str, memory: Memory) -> dict[str, Known | None]:
        """What a working is given, as far as its survey looks at it."""
        step = self.tree.steps[name]
        assert isinstance(step, Working)
        return {wanted: looked_up(memory, place) for wanted, place in self.frame.inputs(step)}

    def may_refuse(self, name: str, memory: Memory) -> bool:
        """Whether a working may refuse what it is given; never said of one that does not."""
        return may_refuse(self.frame, name, memory)

    def may_stop_inside(self, step: str, at: int, number: int) -> bool:
        """Whether a visited tree may be handed something with which it cannot go on."""
        return any(
            self.edition.stops(graph)
            for _, _, graph, _, _ in self.ways(step, at, number)
            if graph is not None
        )

    def band(self, name: str, row: int) -> Stretch:
        """The numbers that a band of a recall or working holds."""
        step = self.tree.steps[name]
        assert isinstance(step, Recall | Working)
        if not 0 <= row < len(step.band):
            return Stretch(None, False, None, False)
        return list(stretches(step.band))[row]

    def looked_at(self, places: Collection[str], besides: str, step: str) -> bool:
        """Whether anything looks at these places, save workings of this signature that can still come."""
        for place in places:
            for name in self.frame.named(self.frame.lookers.get(place, 0)):
                one = self.tree.steps[name]
                alike = isinstance(one, Working) and self.frame.signature(one) == besides
                if not (alike and self.ahead(step, name)):
                    return True
            if place in self.frame.report:
                return True
        return False


def may_refuse(frame: Frame, name: str, memory: Memory) -> bool:
    """Whether a working may refuse what it is given; never said of one that does not."""
    working = frame.tree.steps[name]
    assert isinstance(working, Working)
    calculation = registry.find(working.run)
    inputs = {wanted: looked_up(memory, place) for wanted, place in frame.inputs(working)}
    required = [one.name for one in calculation.inputs if one.required and one.name not in working.set]
    if not all(settled(inputs.get(one)) for one in required):
        return False
    if not frame.followed(working):
        return True
    given: dict[str, object] = dict(working.set)
    corners: list[list[tuple[str, object]]] = []
    for one, known in inputs.items():
        if known is None or not settled(known):
            continue
        if isinstance(known, Stretch):
            low, high = known.ends()
            if low is None or high is None:
                return True
            corners.append(
                [(one, frame.tree.handed(working, one, end)) for end in dict.fromkeys((low, high))]
            )
        elif pinned(known) is not None:
            given[one] = pinned(known)
        else:
            return True
    for corner in product(*corners):
        try:
            calculation.work({**given, **dict(corner)})
        except Refused:
            return True
    return False
