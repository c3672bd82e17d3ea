"""Random trees for proofs: small ones that look back a great deal, and ones that break a rule here and there."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from random import Random
from typing import Any

from tests.growing import NOT_SURE, OUTCOMES, STATES, Family, Grower, Table, candidates, told

__all__ = ["family_of", "of_every_sort"]

HOLES = (Fraction(125), Fraction(130))
FLUES = (Fraction(105),)
GAPS = (Fraction(5), Fraction("12.5"), Fraction(18))


class Looking(Grower):
    """Grows a tree whose steps look back at much, also into the trees that it visits.

    With `breaks`, what a step looks back at may not have been asked, or may be an answer that it does not speak to.
    """

    def __init__(self, random: Random, family: Family, tree_id: str, steps: int, breaks: bool) -> None:
        super().__init__(random, family, tree_id, steps)
        self.breaks = breaks

    def requirements(self) -> tuple[str, ...]:
        return super().requirements()[:2]

    def before(self, step: int, *kinds: str) -> list[str]:
        if self.breaks and self.chance(2):
            return [f"s{early}" for early, kind in self.kinds.items() if early < step and kind in kinds]
        return super().before(step, *kinds)

    def asked_inside(self, step: int) -> Iterator[tuple[str, Table]]:
        """Questions of visited trees that may have been asked, by fact key."""
        for early in sorted(self.always[step]):
            for kind in ("visit", "each"):
                visit = self.tree[kind].get(f"s{early}")
                if visit is None:
                    continue
                answered = {*visit.get("given", {}), *visit.get("set", {})}
                for item in self.family.items(self.tree, visit, kind)[:1]:
                    for name, question in self.family.trees[visit["tree"]]["question"].items():
                        if name not in answered:
                            yield f"s{early}{item}/{name}", question

    def step(self, step: int) -> None:
        looks = ("recall", "working", "working", "visit", "each")
        if not (
            step and self.chance(3) and self.kinds.get(step - 1) and getattr(self, self.pick(looks))(step)
        ):
            super().step(step)

    def visit(self, step: int) -> bool:
        return bool(self.parts) and super().visit(step)

    def each(self, step: int) -> bool:
        return bool(self.parts) and super().each(step)

    def question(self, step: int) -> bool:
        super().question(step)
        question = self.tree["question"][f"s{step}"]
        kind = self.kinds[step]
        if kind in ("hole", "flue") and self.chance(4):
            question["band"] = self.bands(step, HOLES if kind == "hole" else FLUES)
        if kind == "count":
            question["most"] = 2
        if kind == "choice":
            for answer in question["answer"]:
                if self.chance(2):
                    answer |= {"put-right": f"Make it {answer['id']}.", "effort": 1}
        return True

    def recall(self, step: int) -> bool:
        if not super().recall(step):
            return False
        recall = self.tree["recall"][f"s{step}"]
        kind = self.kinds[int(recall["question"][1:])]
        if kind in ("hole", "flue"):
            recall["band"] = self.bands(step, HOLES if kind == "hole" else FLUES)
        if self.breaks and self.chance(3):
            recall.pop("not-sure", None)
        if self.breaks and recall.get("answer") and self.chance(5):
            recall["answer"] = [
                {**row, "then": row.get("then") or recall["then"]} for row in recall["answer"]
            ]
            del recall["then"]
        return True

    def working(self, step: int) -> bool:
        if not super().working(step):
            return False
        working = self.tree["working"][f"s{step}"]
        inside = [key for key, question in self.asked_inside(step) if question.get("least") == 100]
        if inside and self.chance(7):
            working["give"]["flue_mm"] = self.pick(inside)
            working.pop("set", None)
        if self.breaks and self.chance(3):
            working.pop("not-sure", None)
        return True

    def hand_on(self, step: int, visit: Table) -> None:
        super().hand_on(step, visit)
        for name, question in self.family.trees[visit["tree"]]["question"].items():
            if name in visit.get("set", {}) or self.chance(5):
                continue
            fits = [key for key, here in self.asked_inside(step) if self.alike(here, question)]
            if fits:
                visit.setdefault("given", {})[name] = self.pick(fits)

    def fits(self, key: str, there: Table) -> bool:
        if super().fits(key, there):
            return True
        here = self.tree["question"][key]
        return self.breaks and here["kind"] == there["kind"] and here.get("unit") == there.get("unit")

    def alike(self, here: Table, there: Table) -> bool:
        if self.breaks:
            return all(here.get(k) == there.get(k) for k in ("kind", "unit"))
        like = all(here.get(k) == there.get(k) for k in ("kind", "unit", "least", "most"))
        ids = [{answer["id"] for answer in question.get("answer", [])} for question in (here, there)]
        return like and ids[0] <= ids[1] and "not-sure" in there

    def verdict_list(self) -> list[Table]:
        """Any verdicts, or ones that are nearly safe; at times without one for the rest."""
        if self.chance(4):
            return super().verdict_list()[: -1 if self.chance(4) else None]
        verdicts = [told("v0", self.pick(OUTCOMES), {"any": "not-met"})]
        if self.chance(5):
            verdicts.insert(0, told("v1", "stop", {self.pick(self.requirements()): "not-met"}))
        good: Table = dict.fromkeys(self.requirements(), "met")
        if self.chance(3):
            good[self.pick(self.requirements())] = self.pick(STATES)
        verdicts.append(told("v2", "acceptable", good if self.chance(6) else {"all": ["met", "not-judged"]}))
        verdicts.append(told("v3", "not-settled", {"any": "not-proven"} if self.chance(4) else {}))
        return verdicts


def family_of(seed: int, most: int, breaks: bool) -> Family:
    """Trees that visit each other, grown from a seed; the last one is the root."""
    random = Random(seed)
    family = Family()
    verdicts = Looking(random, family, "root", 0, breaks).verdict_list()
    for tree_id in ("inner", "part")[: random.choice((0, 1, 1, 2))]:
        Looking(random, family, tree_id, random.randint(1, 4), breaks).grow(verdicts)
    Looking(random, family, "root", random.randint(2, most), breaks).grow(verdicts)
    return family


def of_every_sort(key: str, question: Table) -> list[Any]:
    """Answers among which is one for every way in which bands, recalls and workings can fall out."""
    if question.get("least") in (100, 120):
        unsure = [NOT_SURE] if "not-sure" in question else []
        holes = (120, 121, 125, 127, 130, 135, 136, 138, 140)
        numbers = holes if question["least"] == 120 else (100, 102, 105, 107, 110)
        return [*map(Fraction, numbers), *unsure]
    return candidates(question)
