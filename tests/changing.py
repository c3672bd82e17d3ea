"""Random changes to random trees, as one edition of a tree comes after another."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from copy import deepcopy
from fractions import Fraction
from random import Random
from typing import Any

from tests.growing import EFFECTS, NOT_SURE, OUTCOMES, STATES, Family, Table

__all__ = ["changed"]

KINDS = ("question", "recall", "working", "visit", "each")


def changed(family: Family, seed: int, most: int = 3) -> Family | None:
    """The same trees, changed in one or several ways; None where nothing was changed, or a circle came."""
    random = Random(seed)
    after = Family(deepcopy(family.trees))
    wanted = random.choice([1] * 5 + list(range(1, most + 1)))
    made = 0
    for _ in range(12):
        tree_id = random.choice([family.root] * 3 + list(family.trees))
        made += _Change(random, after, tree_id).one()
        if made == wanted:
            break
    if not made or any(_goes_round(tree) for tree in after.trees.values()):
        return None
    return after


def _targets(step: Table) -> Iterator[Table]:
    """Every table of a step that may name what follows."""
    yield step
    yield from step.get("answer", [])
    yield from step.get("band", [])
    if "not-sure" in step:
        yield step["not-sure"]


def _steps(tree: Table) -> dict[str, Table]:
    return {name: step for kind in KINDS for name, step in tree[kind].items()}


def _goes_round(tree: Table) -> bool:
    steps = _steps(tree)
    done: dict[str, bool] = {}

    def round_(name: str) -> bool:
        if name not in steps:
            return False
        if name in done:
            return done[name]
        done[name] = True
        done[name] = any(round_(table["then"]) for table in _targets(steps[name]) if "then" in table)
        return done[name]

    return any(round_(name) for name in steps)


class _Change:
    """One change to one of the trees."""

    def __init__(self, random: Random, family: Family, tree_id: str) -> None:
        self.random = random
        self.family = family
        self.tree = family.trees[tree_id]
        self.is_root = tree_id == family.root

    def one(self) -> bool:
        """Change something; whether anything was changed."""
        ways: list[Callable[[], bool]] = [
            self.retarget, self.retarget, self.limit, self.turn, self.effect, self.requirement, self.find, self.find,
            self.add_answer, self.drop_answer, self.rename, self.put_in, self.take_out, self.unsure, self.unsure,
            self.recalled, self.handed, self.verdicts, self.verdicts, self.range_, self.move, self.bands,
        ]  # fmt: skip
        return self.random.choice(ways)()

    def any_of(self, kind: str) -> Table | None:
        tables = list(self.tree[kind].values())
        return self.random.choice(tables) if tables else None

    def later(self, name: str) -> str:
        """A step further on, an end or a verdict."""
        number = int(name[1:])
        further = [one for one in _steps(self.tree) if int(one[1:]) > number]
        verdicts = [f"verdict:{verdict['id']}" for verdict in self.tree["verdict"]]
        return self.random.choice([*further, *further, "end", self.random.choice(verdicts)])

    def a_row(self, *kinds: str) -> tuple[str, Table] | None:
        rows = [
            (name, table)
            for kind in kinds or KINDS
            for name, step in self.tree[kind].items()
            for table in _targets(step)
            if table is not step
        ]
        return self.random.choice(rows) if rows else None

    # Steps and rows

    def retarget(self) -> bool:
        name, step = self.random.choice(list(_steps(self.tree).items()))
        table = self.random.choice(list(_targets(step)))
        if table is step.get("not-sure") and "then" not in table:
            return False
        before = table.get("then")
        table["then"] = self.later(name)
        return bool(table["then"] != before)

    def banded(self) -> list[Table]:
        steps = [step for step in _steps(self.tree).values() if len(step.get("band", [])) > 1]
        return list(self.random.choice(steps)["band"]) if steps else []

    def limit(self) -> bool:
        bands = self.banded()
        if not bands:
            return False
        index = self.random.randrange(len(bands) - 1)
        key = "below" if "below" in bands[index] else "up-to"
        bands[index][key] = bands[index][key] + self.random.choice(
            (Fraction(-1), Fraction(-1, 2), Fraction(1, 2), Fraction(1))
        )
        return True

    def turn(self) -> bool:
        bands = self.banded()
        if not bands:
            return False
        band = bands[self.random.randrange(len(bands) - 1)]
        if "below" in band:
            band["up-to"] = band.pop("below")
        else:
            band["below"] = band.pop("up-to")
        return True

    def bands(self) -> bool:
        """A band added or taken away."""
        steps = [step for step in _steps(self.tree).values() if "band" in step]
        if not steps:
            return False
        step = self.random.choice(steps)
        if len(step["band"]) > 1 and self.random.random() < 0.5:
            del step["band"][0]
            return True
        first = step["band"][0]
        end = first.get("below", first.get("up-to", Fraction(step.get("most", 4))))
        least = Fraction(step.get("least", 0))
        middle = least + (end - least) / 2 if end > least else end - 1
        step["band"].insert(0, {"below": Fraction(int(middle * 2), 2), **self.finding()})
        return True

    def finding(self) -> Table:
        return (
            {"finding": self.random.choice(list(self.tree["finding"]))} if self.random.random() < 0.7 else {}
        )

    def effect(self) -> bool:
        finding = self.any_of("finding")
        assert finding is not None
        before = finding["effect"]
        finding["effect"] = self.random.choice(EFFECTS)
        if finding["effect"] != "advice":
            finding.setdefault("requirement", self.random.choice(list(self.tree["requirement"])))
        return bool(finding["effect"] != before)

    def requirement(self) -> bool:
        finding = self.any_of("finding")
        assert finding is not None
        before = finding.get("requirement")
        finding["requirement"] = self.random.choice(list(self.tree["requirement"]))
        return bool(finding["requirement"] != before)

    def find(self) -> bool:
        found = self.a_row()
        if found is None:
            return False
        _, row = found
        if "finding" in row and self.random.random() < 0.5:
            del row["finding"]
            return True
        before = row.get("finding")
        row["finding"] = self.random.choice(list(self.tree["finding"]))
        return bool(row["finding"] != before)

    # Answers

    def add_answer(self) -> bool:
        choices = [(n, q) for n, q in self.tree["question"].items() if "answer" in q]
        if not choices:
            return False
        name, question = self.random.choice(choices)
        answer: Table = {"id": "d", "says": "d", **self.finding()}
        if any(one["id"] == "d" for one in question["answer"]):
            return False
        if question["kind"] == "choice" and self.random.random() < 0.5:
            answer["then"] = self.later(name)
        question["answer"].insert(self.random.randrange(len(question["answer"]) + 1), answer)
        return True

    def drop_answer(self) -> bool:
        choices = [(n, q) for n, q in self.tree["question"].items() if len(q.get("answer", [])) > 1]
        if not choices:
            return False
        name, question = self.random.choice(choices)
        gone = question["answer"].pop(self.random.randrange(len(question["answer"])))["id"]
        for recall in self.tree["recall"].values():
            if recall["question"] == name:
                recall["answer"] = [row for row in recall["answer"] if row["id"] != gone]
        return True

    def rename(self) -> bool:
        choices = [(n, q) for n, q in self.tree["question"].items() if "answer" in q]
        if not choices:
            return False
        name, question = self.random.choice(choices)
        answer = self.random.choice(question["answer"])
        before, answer["id"] = answer["id"], "e"
        if [one["id"] for one in question["answer"]].count("e") > 1:
            answer["id"] = before
            return False
        for recall in self.tree["recall"].values():
            for row in recall.get("answer", []) if recall["question"] == name else ():
                row["id"] = "e" if row["id"] == before else row["id"]
        return True

    def unsure(self) -> bool:
        asked = [
            (n, q)
            for kind in ("question", "recall", "working")
            for n, q in self.tree[kind].items()
            if q.get("kind") not in ("note", "several", "count")
        ]
        if not asked:
            return False
        name, step = self.random.choice(asked)
        if "ask" in step and self.random.random() < 0.3 and "not-sure" in step:
            del step["not-sure"]
            step["must-answer"] = True
        elif "not-sure" not in step:
            if "ask" not in step:
                return False
            step.pop("must-answer", None)
            step["not-sure"] = self.finding()
            if self.random.random() < 0.5:
                step["not-sure"]["then"] = self.later(name)
        elif "then" in step["not-sure"]:
            del step["not-sure"]["then"]
        else:
            step["not-sure"]["then"] = self.later(name)
        return True

    def range_(self) -> bool:
        numbers = [q for q in self.tree["question"].values() if "least" in q]
        if not numbers:
            return False
        question = self.random.choice(numbers)
        key = self.random.choice(("least", "most"))
        question[key] += self.random.choice((-1, 1, 2) if question["kind"] == "measure" else (-1, 1))
        return bool(question["least"] >= 0 and question["most"] > question["least"])

    # Whole steps

    def new_name(self) -> str:
        numbers = [int(name[1:]) for name in _steps(self.tree)]
        return f"s{max(numbers) + 1}"

    def edges(self) -> list[Table]:
        return [table for step in _steps(self.tree).values() for table in _targets(step) if "then" in table]

    def lead(self, name: str) -> bool:
        """Put a step into one of the ways that there are."""
        step = self.tree["question"][name]
        about = self.tree["tree"]
        ways: list[tuple[Table, str]] = [
            (about, "first"),
            *((table, "then") for table in self.edges() if not any(table is mine for mine in _targets(step))),
        ]
        table, key = self.random.choice(ways)
        then = table[key]
        if then == name:
            return False
        table[key] = name
        for mine in _targets(step):
            if "then" in mine:
                mine["then"] = then
        step["then"] = then
        return True

    def put_in(self) -> bool:
        name = self.new_name()
        answers: list[Table] = [{"id": i, "says": i, **self.finding()} for i in "ab"]
        self.tree["question"][name] = {
            "kind": "choice", "ask": "What?", "why": "So.", "look": "There.", "source": "trade", "must-answer": True,
            "answer": answers, "then": "end",
        }  # fmt: skip
        return self.lead(name)

    def used(self, name: str) -> bool:
        """Whether anything looks back at a question."""
        if any(recall["question"] == name for recall in self.tree["recall"].values()):
            return True
        if any(name in working.get("give", {}).values() for working in self.tree["working"].values()):
            return True
        visits = [*self.tree["visit"].values(), *self.tree["each"].values()]
        if any(name in (*v.get("given", {}).values(), v.get("count"), v.get("over")) for v in visits):
            return True
        for tree in self.family.trees.values():
            for visit in (*tree["visit"].values(), *tree["each"].values()):
                if visit["tree"] == self.tree["tree"]["id"] and name in {
                    **visit.get("given", {}),
                    **visit.get("set", {}),
                }:
                    return True
        keys = [
            key
            for tree in self.family.trees.values()
            for w in tree["working"].values()
            for key in w.get("give", {}).values()
        ]
        keys += [
            key
            for tree in self.family.trees.values()
            for kind in ("visit", "each")
            for v in tree[kind].values()
            for key in v.get("given", {}).values()
        ]
        return any(key.endswith(f"/{name}") for key in keys)

    def cut(self, name: str) -> bool:
        """Take a question out of every way."""
        question = self.tree["question"][name]
        then = question.get("then")
        if then is None or then == name:
            return False
        for table in self.edges():
            if table["then"] == name and not any(table is mine for mine in _targets(question)):
                table["then"] = then
        if self.tree["tree"]["first"] == name:
            if then not in _steps(self.tree):
                return False
            self.tree["tree"]["first"] = then
        return True

    def take_out(self) -> bool:
        free = [name for name in self.tree["question"] if not self.used(name)]
        if len(self.tree["question"]) < 2 or not free:
            return False
        name = self.random.choice(free)
        if not self.cut(name):
            return False
        del self.tree["question"][name]
        return True

    def move(self) -> bool:
        if len(_steps(self.tree)) < 3:
            return False
        name = self.random.choice(list(self.tree["question"]))
        return self.cut(name) and self.lead(name)

    def recalled(self) -> bool:
        recall = self.any_of("recall")
        if recall is None or not recall.get("answer"):
            return False
        if self.random.random() < 0.5 and "then" in recall:
            recall["answer"].pop()
        else:
            recall["answer"][0] = {**recall["answer"][0], **self.finding()}
        return True

    def handed(self) -> bool:
        visits = [*self.tree["visit"].values(), *self.tree["each"].values()]
        visits = [visit for visit in visits if visit.get("given") or visit.get("set")]
        works = [one for one in self.tree["working"].values() if one.get("set")]
        if works and self.random.random() < 0.3:
            self.random.choice(works)["set"]["flue_mm"] += self.random.choice((-5, 5))
            return True
        if not visits:
            return False
        visit = self.random.choice(visits)
        key = self.random.choice([one for one in ("given", "set") if visit.get(one)])
        name = self.random.choice(list(visit[key]))
        question = self.family.trees[visit["tree"]]["question"].get(name)
        del visit[key][name]
        if question is not None and self.random.random() < 0.5:
            visit.setdefault("set", {})[name] = self.constant(question)
        return True

    def constant(self, question: Table) -> Any:
        if question["kind"] in ("choice", "several"):
            one = self.random.choice(question["answer"])["id"]
            return one if question["kind"] == "choice" else [one]
        if question["kind"] == "note":
            return "So."
        return NOT_SURE if "not-sure" in question and self.random.random() < 0.3 else question["least"]

    def verdicts(self) -> bool:
        verdicts = self.tree["verdict"]
        if not self.is_root:
            return False
        how = self.random.randrange(4)
        one = self.random.choice(verdicts)
        if how == 0 and len(verdicts) > 1:
            verdicts.remove(one)
            verdicts.insert(self.random.randrange(len(verdicts) + 1), one)
            return True
        if how == 1:
            before = one["outcome"]
            one["outcome"] = self.random.choice(OUTCOMES)
            return bool(one["outcome"] != before)
        names = [*self.tree["requirement"], "any", "all"]
        one["when"] = (
            {**one.get("when", {}), self.random.choice(names): self.random.choice(STATES)} if how == 2 else {}
        )
        return True
