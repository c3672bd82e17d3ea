"""Random trees as plain data, with every kind of step and branch, and random facts for them.

The trees are acyclic, and what a step looks back at was asked on every way to it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from random import Random
from typing import Any, TypeVar

from hypothesis import strategies as st

Table = dict[str, Any]
T = TypeVar("T")

NOT_SURE = "not-sure"
BASES = ("seen", "measured", "instructions", "told", "assumed")
EFFECTS = ("meets", "unproven", "fails", "danger", "advice")
OUTCOMES = ("acceptable", "not-settled", "not-acceptable", "stop")
STATES = ("met", "not-met", "not-proven", "not-judged")
REQUIREMENTS = ("sound", "secure", "weatherproof")
ENDS = (Fraction(2), Fraction(5), Fraction("7.5"))
VALUES = (
    Fraction(0),
    Fraction(1),
    Fraction(2),
    Fraction(3),
    Fraction(5),
    Fraction(6),
    Fraction("7.5"),
    Fraction(10),
)
LIMITS = {"measure": (0, 10), "count": (0, 3), "hole": (120, 140), "flue": (100, 110)}


@dataclass
class Family:
    """Trees by id; the last one made is the root."""

    trees: dict[str, Table] = field(default_factory=dict)

    @property
    def root(self) -> str:
        return list(self.trees)[-1]

    def questions(self, tree: Table | None = None, prefix: str = "") -> Iterator[tuple[str, Table]]:
        """Every fact key that could be asked, with its question."""
        tree = tree or self.trees[self.root]
        for name, question in tree["question"].items():
            yield prefix + name, question
        for kind in ("visit", "each"):
            for name, visit in tree[kind].items():
                for item in self.items(tree, visit, kind):
                    inner = f"{prefix}{name}{item}/"
                    answered = {inner + q for q in (*visit.get("given", {}), *visit.get("set", {}))}
                    part = self.trees[visit["tree"]]
                    yield from (pair for pair in self.questions(part, inner) if pair[0] not in answered)

    @staticmethod
    def items(tree: Table, visit: Table, kind: str) -> list[str]:
        if kind == "visit":
            return [""]
        if "count" in visit:
            return [f".{number}" for number in range(1, tree["question"][visit["count"]]["most"] + 1)]
        return [f".{answer['id']}" for answer in tree["question"][visit["over"]]["answer"]]


class Grower:
    """Grows one tree; `simple` leaves out whatever makes trees large."""

    def __init__(
        self,
        random: Random,
        family: Family,
        tree_id: str,
        steps: int,
        simple: bool = False,
        work: bool = False,
    ) -> None:
        self.random = random
        self.family = family
        self.simple = simple
        self.work = work
        self.id = tree_id
        self.most = steps
        self.parts = list(family.trees)
        self.tree: Table = {
            kind: {} for kind in ("question", "recall", "working", "visit", "each", "finding")
        }
        self.targets: dict[int, list[int]] = {}
        self.always: list[set[int]] = []
        """For each step, those that every way to it passes."""
        self.kinds: dict[int, str] = {}

    def number(self, most: int) -> int:
        return self.random.randint(0, most)

    def pick(self, among: Sequence[T]) -> T:
        return among[self.number(len(among) - 1)]

    def chance(self, in_ten: int) -> bool:
        return self.number(9) >= 10 - in_ten

    def subset(self, among: Sequence[T]) -> list[T]:
        return [one for one in among if self.chance(5)]

    # The whole

    def grow(self, verdicts: list[Table]) -> Table:
        self.verdicts = [verdict["id"] for verdict in verdicts]
        for number in range(5):
            effect = (
                ("meets", "meets", "fails", "unproven", "danger")[number] if self.work else self.pick(EFFECTS)
            )
            finding: Table = {"effect": effect, "reason": "So it is.", "source": "trade"}
            if finding["effect"] != "advice" or self.chance(3):
                finding["requirement"] = self.pick(self.requirements())
            if self.chance(3):
                finding["unsafe"] = self.pick(("at-risk", "immediately-dangerous"))
            self.tree["finding"][f"f{number}"] = finding
        for step in range(self.most):
            comes_from = [early for early, onward in self.targets.items() if step in onward]
            if step and not comes_from:
                continue
            ways = [self.always[early] | {early} for early in comes_from]
            while len(self.always) <= step:
                self.always.append(set())
            self.always[step] = set.intersection(*ways) if ways else set()
            self.targets[step] = []
            self.step(step)
        about = {
            "id": self.id, "title": "Grown", "edition": "1", "purpose": "Any.", "applies-to": "Tests.",
            "place": "Nowhere", "first": "s0", "defer": ["Nobody."],
        }  # fmt: skip
        self.tree = {
            "format": 1, "tree": about,
            "requirement": {name: {"title": name, "means": name} for name in self.requirements()},
            "source": {"trade": {"title": "The trade", "standing": "common-practice"}},
            **self.tree, "verdict": verdicts,
        }  # fmt: skip
        self.family.trees[self.id] = self.tree
        return self.tree

    def requirements(self) -> tuple[str, ...]:
        return REQUIREMENTS[: 1 if self.work else 2 if self.simple else 3]

    def then(self, step: int) -> str:
        """A way on: to a later step, mostly the next ones, or to an end."""
        where = step + self.pick((1, 1, 1, 2, 2, 3))
        if where >= self.most or self.number(24) == 0:
            return f"verdict:{self.pick(self.verdicts)}" if not self.work and self.chance(1) else "end"
        self.targets[step].append(where)
        return f"s{where}"

    def row(self, step: int, row: Table, then: bool = True) -> Table:
        if self.chance(5):
            found = list(
                dict.fromkeys(self.pick(list(self.tree["finding"])) for _ in range(1 + self.number(1)))
            )
            row["finding"] = found[0] if len(found) == 1 else found
        if then and self.chance(6):
            row["then"] = self.then(step)
        return row

    def bands(self, step: int, ends: Sequence[Fraction]) -> list[Table]:
        kept = self.subset(ends)
        bands = [self.row(step, {self.pick(("below", "up-to")): end}) for end in kept]
        return [*bands, self.row(step, {})]

    def unsure(self, step: int, decided: bool) -> Table:
        table = self.row(step, {}, then=False)
        return {**table, "then": self.then(step)} if decided else table

    # Steps

    def step(self, step: int) -> None:
        ways = ["question"] * 4 + ["recall"] * 2 + ["working"] * 2
        ways += ["visit", "visit", "each", "each", "each"] * bool(self.parts)
        if not (step and getattr(self, self.pick(ways))(step)):
            self.question(step)

    def before(self, step: int, *kinds: str) -> list[str]:
        """Questions that every way to a step has asked."""
        return [f"s{early}" for early in sorted(self.always[step]) if self.kinds.get(early) in kinds]

    def question(self, step: int) -> bool:
        kinds = ["choice", "choice", "choice", "measure", "measure", "count", "several", "note"]
        kind = self.pick(kinds if not self.simple else kinds[:4])
        if not self.simple and self.chance(4):
            kind = self.pick(("hole", "flue", "count", "several") if self.parts else ("hole", "flue"))
        self.kinds[step] = kind
        question: Table = {"kind": kind, "ask": "What?", "why": "So.", "look": "There.", "source": "trade"}
        if kind in LIMITS:
            question |= {"least": LIMITS[kind][0], "most": LIMITS[kind][1]}
            question["kind"] = "count" if kind == "count" else "measure"
            if kind != "count":
                question["unit"] = "mm"
        question["then"] = self.then(step)
        if self.chance(2):
            question["accept"] = self.subset(BASES) or ["seen"]
        how = self.pick(("must", "decided", "undecided", "undecided"))
        if kind in ("several", "count"):
            how = self.pick(("must", "must", "decided"))
        if how == "must" or kind == "note":
            question["must-answer"] = True
        elif kind in ("several", "count"):
            question["not-sure"] = {**self.unsure(step, decided=False), "then": "end"}  # an each may count it
        else:
            question["not-sure"] = self.unsure(step, decided=how == "decided")
        if kind in ("choice", "several"):
            ids = "abc"[: 2 + self.number(1)]
            answers = [self.row(step, {"id": i, "says": i}, then=kind == "choice") for i in ids]
            for answer in answers if self.work and kind == "choice" else ():
                if self.chance(5):
                    answer |= {"put-right": f"Make it {answer['id']}.", "effort": 1 + self.number(4)}
            question["answer"] = answers
        elif kind in ("measure", "count") and self.chance(7):
            question["band"] = self.bands(step, ENDS if kind == "measure" else (Fraction(1), Fraction(2)))
        self.tree["question"][f"s{step}"] = question
        return True

    def recall(self, step: int) -> bool:
        known = self.before(step, "choice", "measure", "count")
        if not known:
            return False
        name = self.pick(known)
        question = self.tree["question"][name]
        recall: Table = {"question": name, "then": self.then(step)}
        if question["kind"] == "choice":
            rows = self.subset([answer["id"] for answer in question["answer"]])
            recall["answer"] = [self.row(step, {"id": i}) for i in rows]
        else:
            recall["band"] = self.bands(step, ENDS if question["kind"] == "measure" else (Fraction(1),))
        if "not-sure" in question:
            recall["not-sure"] = self.unsure(step, decided=self.chance(6))
        self.tree["recall"][f"s{step}"] = recall
        return True

    def working(self, step: int) -> bool:
        holes, flues = self.before(step, "hole"), self.before(step, "flue")
        if not holes:
            return False
        working: Table = {"run": "annular-gap", "branch-on": "gap_mm", "give": {"hole_mm": self.pick(holes)}}
        if flues and self.chance(8):
            working["give"]["flue_mm"] = self.pick(flues)
        else:
            working["set"] = {"flue_mm": 100}
        working["then"] = self.then(step)
        working["band"] = self.bands(step, (Fraction(5), Fraction("12.5"), Fraction(18)))
        working["not-sure"] = self.unsure(step, decided=self.chance(5))
        self.tree["working"][f"s{step}"] = working
        return True

    def visit(self, step: int) -> bool:
        visit: Table = {"tree": self.pick(self.parts), "then": self.then(step)}
        self.hand_on(step, visit)
        self.tree["visit"][f"s{step}"] = visit
        return True

    def each(self, step: int) -> bool:
        counted = self.before(step, "count", "several")
        if not counted:
            return False
        name = self.pick(counted)
        key = "count" if self.tree["question"][name]["kind"] == "count" else "over"
        each: Table = {
            key: name,
            "tree": self.pick(self.parts),
            "then": self.then(step),
            "label": "Thing {n}",
        }
        self.hand_on(step, each)
        self.tree["each"][f"s{step}"] = each
        return True

    def hand_on(self, step: int, visit: Table) -> None:
        """Answer some questions of the visited tree from here, or for good."""
        for name, question in self.family.trees[visit["tree"]]["question"].items():
            fits = [
                key for key in self.before(step, *LIMITS, "choice", "several") if self.fits(key, question)
            ]
            if fits and self.chance(5):
                visit.setdefault("given", {})[name] = self.pick(fits)
            elif self.chance(2):
                visit.setdefault("set", {})[name] = self.answer(question)

    def fits(self, key: str, there: Table) -> bool:
        here = self.tree["question"][key]
        like = all(here.get(k) == there.get(k) for k in ("kind", "unit", "least", "most"))
        ids = [{answer["id"] for answer in question.get("answer", [])} for question in (here, there)]
        return like and ids[0] <= ids[1] and ("not-sure" in there or "not-sure" not in here)

    def answer(self, question: Table) -> Any:
        """An answer to a question, not sure among them where it may be."""
        if "not-sure" in question and self.chance(4 if "then" not in question["not-sure"] else 2):
            return NOT_SURE
        if question["kind"] == "note":
            return "So."
        if question["kind"] == "choice":
            return self.pick([answer["id"] for answer in question["answer"]])
        if question["kind"] == "several":
            return self.subset([answer["id"] for answer in question["answer"]])
        if question["kind"] == "count":
            return Fraction(self.number(question["most"]))
        if question["least"]:
            return Fraction(question["least"] + self.number(question["most"] - question["least"]))
        return self.pick(VALUES)

    def verdict_list(self) -> list[Table]:
        """Any verdicts at all; where there is work to find, only what is met is acceptable."""
        if self.work:
            wrong = told("wrong", "not-acceptable", {"any": "not-met"})
            return [told("right", "acceptable", {"all": "met"}), wrong, told("last", "not-settled", {})]
        verdicts = []
        for number, outcome in enumerate(OUTCOMES[: 2 + self.number(2)]):
            when: Table = {}
            for name in (*self.requirements(), "any", "all"):
                if self.chance(3):
                    states = self.subset(STATES) or ["met"]
                    when[name] = states[0] if len(states) == 1 else states
            verdicts.append(told(f"v{number}", outcome, when))
        return [*verdicts, told("last", self.pick(OUTCOMES), {})]


def told(name: str, outcome: str, when: Table) -> Table:
    return {"id": name, "title": name, "says": name, "do": [], "outcome": outcome, "when": when}


def candidates(question: Table) -> list[Any]:
    """Answers among which is one of every sort that a random tree can tell apart."""
    ids = [answer["id"] for answer in question.get("answer", [])]
    unsure = [NOT_SURE] if "not-sure" in question else []
    if question["kind"] == "choice":
        return ids + unsure
    if question["kind"] == "several":
        return [[i for n, i in enumerate(ids) if chosen >> n & 1] for chosen in range(2 ** len(ids))] + unsure
    if question["kind"] == "note":
        return ["So."]
    if question["kind"] == "count":
        return [Fraction(number) for number in range(question["most"] + 1)] + unsure
    if question["least"]:
        middle = Fraction(question["least"] + question["most"], 2)
        return [Fraction(question["least"]), middle, Fraction(question["most"]), *unsure]
    return [*VALUES, *unsure]


@dataclass(frozen=True)
class Case:
    """A family of trees, and facts for its root."""

    family: Family
    facts: dict[str, Any]
    basis: dict[str, str]


def cases(
    least: int = 4, most: int = 12, simple: bool = False, work: bool = False, answered: float = 0.97
) -> st.SearchStrategy[Case]:
    """Trees of so many steps; `answered` is the share of questions that have a fact.

    Everything comes from one seed, since evenly spread choices reach much more than those that Hypothesis makes.
    """

    def grown(seed: int) -> Case:
        random = Random(seed)
        return grow(random, random.randint(least, most), simple, work, answered)

    return st.builds(grown, st.integers(0, 2**32 - 1))


def grow(random: Random, steps: int, simple: bool, work: bool, answered: float) -> Case:
    family = Family()
    verdicts = Grower(random, family, "root", 0, simple, work).verdict_list()
    for tree_id in () if simple else ("inner", "part")[: random.choice((0, 1, 2, 2))]:
        Grower(random, family, tree_id, random.randint(1, 5)).grow(verdicts)
    root = Grower(random, family, "root", steps, simple, work)
    root.grow(verdicts)
    facts: dict[str, Any] = {}
    basis: dict[str, str] = {}
    for key, question in family.questions():
        if random.random() > answered:
            continue
        facts[key] = root.answer(question)
        if root.chance(2):
            accepted = question.get("accept", BASES) if "must-answer" in question else BASES
            basis[key] = root.pick(list(accepted))
    return Case(family, facts, basis)
