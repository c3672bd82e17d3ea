"""Large trees load, pass their proofs and are counted rightly; what is larger than the limits is refused in plain words."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

import networkx as nx
import pytest

from assistant.errors import Refused
from assistant.session import walk as walking
from assistant.session.fact import Fact
from assistant.session.prove import work_out
from assistant.tree import load as loading
from assistant.tree import refer, rows, toml
from assistant.tree.load import load, load_bytes, load_text
from assistant.tree.mistakes import Mistake, Unreadable
from assistant.tree.survey import graph
from assistant.tree.survey.graph import Survey
from assistant.tree.survey.outcomes import by_verdict
from assistant.tree.tree import Tree
from tests.large import OF_SEVENTY_DIGITS, large
from tests.writing import choice, number, whole

Data = dict[str, Any]


def grown(questions: int, seed: int = 1, narrow: bool = False) -> Tree:
    return load_text(large(questions, seed, narrow), "large.toml")


@pytest.mark.parametrize("narrow", [False, True])
@pytest.mark.parametrize("seed", range(4))
def test_a_large_tree_passes_its_proofs(seed: int, narrow: bool) -> None:
    proof = work_out(grown(90, seed, narrow))
    assert (proof.complaints, proof.proven) == ([], True)


def test_a_tree_of_a_size_and_seed_is_always_the_same() -> None:
    assert large(60, 5) == large(60, 5) != large(60, 6)


def test_a_thousand_questions_have_as_many_ways_as_is_said() -> None:
    assert 10**70 <= sum(by_verdict(Survey(grown(1_000, OF_SEVENTY_DIGITS, narrow=True))).values()) < 10**71


# The same counts, from the plain values of the text


class Plain:
    """Counts the ways through a tree by going from step to step with the numbers and answers that are still possible."""

    def __init__(self, text: str) -> None:
        import tomllib

        self.data: Data = tomllib.loads(text)
        self.steps: Data = {**self.data["question"], **self.data.get("recall", {})}
        self.recalls: Data = self.data.get("recall", {})
        onward = nx.DiGraph()
        for name, step in self.steps.items():
            rows = [*self.rows(step), step.get("not-sure", {})]
            onward.add_edges_from((name, row.get("then", step["then"])) for row in rows)
        self.later = {name: nx.descendants(onward, name) | {name} for name in onward}

    @staticmethod
    def rows(step: Data) -> list[Data]:
        rows: list[Data] = step.get("answer") or step.get("band") or []
        return rows

    def inside(self, step: Data) -> list[tuple[Data, object]]:
        """The rows, each with its answer or with the whole numbers and halves that fall into it."""
        found: list[tuple[Data, object]] = []
        if "answer" in step:
            return [*found, *((row, row["id"]) for row in step["answer"])]
        low = 0
        most = self.data["question"][step.get("question", "")]["most"] if "question" in step else step["most"]
        for row in step["band"]:
            high = row.get("below", most + 1)
            found.append((row, frozenset(range(low, high))))
            low = high
        return found

    def ways(self) -> Counter[frozenset[str]]:
        """How many ways come to each set of findings, told apart by requirement and effect."""

        @cache
        def after(name: str, known: frozenset[tuple[str, object]]) -> dict[frozenset[str], int]:
            if name == "end":
                return {frozenset(): 1}
            step, counted = self.steps[name], Counter[frozenset[str]]()
            about = step.get("question", name)
            for row, answer in self.taken(step, dict(known).get(about)):
                then = row.get("then", step["then"])
                still = {
                    key: value
                    for key, value in {**dict(known), about: answer}.items()
                    if self.looked_at(key, then)
                }
                mine = {self.graveness(one) for one in row["found"]}
                for found, many in after(then, frozenset(still.items())).items():
                    counted[frozenset(found | mine)] += many
            return counted

        return Counter(after(self.data["tree"]["first"], frozenset()))

    def graveness(self, finding: str) -> str:
        found = self.data["finding"][finding]
        return f"{found['requirement']} {found['effect']}"

    def looked_at(self, question: str, then: str) -> bool:
        later = self.later.get(then, set())
        return any(recall["question"] == question and name in later for name, recall in self.recalls.items())

    def taken(self, step: Data, known: object) -> list[tuple[Data, object]]:
        """Every row that can be taken, with what is known after it."""
        found = []
        for row, inside in self.inside(step):
            answer: object = inside
            if "question" in step and known is not None:
                answer = (
                    known & inside
                    if isinstance(known, frozenset) and isinstance(inside, frozenset)
                    else inside
                )
                if not answer or (isinstance(known, str) and known != inside):
                    continue
            found.append(({**row, "found": [row["finding"]] if "finding" in row else []}, answer))
        unsure = step.get("not-sure")
        if "question" in step:
            if known == "not-sure":
                decided: Data = unsure or {}
                return [({**decided, "found": [decided["finding"]]}, known)]
            if not found:  # a recall may leave out an answer that goes on as the others do
                return [({"found": []}, known)]
            return found
        if unsure is not None and "then" in unsure:
            found.append(
                ({**unsure, "found": [unsure["finding"]] if "finding" in unsure else []}, "not-sure")
            )
        elif unsure is not None:
            found += [(row, answer if isinstance(answer, str) else "not-sure") for row, answer in found]
        return found


@pytest.mark.parametrize("narrow", [False, True])
@pytest.mark.parametrize(("questions", "seed"), [(15, 1), (15, 2), (40, 3), (60, 4)])
def test_ways_are_counted_as_they_are_one_after_the_other(questions: int, seed: int, narrow: bool) -> None:
    text = large(questions, seed, narrow)
    wanted = Counter[str]()
    for found, many in Plain(text).ways().items():
        effects = {one.split()[1] for one in found}
        met = {one.split()[0] for one in found if one.endswith("meets")}
        wrong = "stop" if "danger" in effects else "not-right" if "fails" in effects else ""
        good = "not-settled" if "unproven" in effects else "right" if len(met) == 3 else "not-judged"
        wanted[wrong or good] += many
    assert +Counter(by_verdict(Survey(load_text(text, "large.toml")))) == wanted


# Limits


def refused(text: str) -> Sequence[Mistake]:
    with pytest.raises(Unreadable) as caught:
        load_text(text, "small.toml")
    return caught.value.mistakes


def test_a_file_that_no_tree_can_be_as_large_as_is_not_read(tmp_path: Path) -> None:
    path = tmp_path / "small.toml"
    with path.open("wb") as file:
        file.truncate(loading.MOST_BYTES + 1)
    with pytest.raises(Unreadable) as caught:
        load(str(path))
    [mistake] = caught.value.mistakes
    assert (mistake.code, mistake.place) == ("too-big", None)
    assert mistake.message == f"{path} is larger than 16,000,000 bytes; no file of ours is."
    with pytest.raises(Refused, match=r"^big is larger than 16,000,000 bytes; no tree is"):
        load_bytes(b" " * (loading.MOST_BYTES + 1), "big")


def test_a_file_of_the_largest_size_is_read(tmp_path: Path) -> None:
    text = whole(choice("q", "a > end"), "q")
    (tmp_path / "small.toml").write_text(text + "#" * (loading.MOST_BYTES - len(text)))
    assert load(str(tmp_path / "small.toml")).id == "small"


def test_more_steps_than_a_tree_may_have_are_refused() -> None:
    steps = "".join(
        f'[question.q{n}]\nkind="note"\nask="?"\nthen="end"\n' for n in range(refer.MOST_STEPS + 1)
    )
    [mistake] = [one for one in refused(whole(steps, "q0")) if one.code == "too-many-steps"]
    assert mistake.message == "this tree has 20001 steps; the most is 20000."


def test_of_a_great_many_names_that_are_not_there_the_first_are_told_what_was_meant() -> None:
    text = large(300).replace('finding = "', 'finding = "x-').replace('then = "', 'then = "x-')
    told = [one for one in refused(text) if one.code in ("unknown-finding", "unknown-step")]
    meant = [one for one in told if one.hint.startswith("Did you mean")]
    assert 20 < len(meant) < len(told)
    assert all(one.hint for one in told)


def test_of_many_rows_that_lead_nowhere_the_first_are_pointed_at() -> None:
    [mistake] = refused(whole(choice("q", *(f"a{n}" for n in range(20))), "q"))
    assert (mistake.code, len(mistake.also)) == ("no-way-on", rows.MOST_LABELS)
    assert "nor do 19 more" in mistake.message


def test_a_consultation_that_comes_to_no_end_is_given_up() -> None:
    steps = choice("q", "a > one") + "".join(
        f'[recall.{one}]\nquestion = "q"\nthen = "{other}"\n'
        for one, other in (("one", "two"), ("two", "one"))
    )
    tree = load_text(whole(steps, "q"), "small.toml")
    assert "goes-round" in [complaint.code for complaint in work_out(tree).complaints]
    with pytest.raises(Refused, match=f'"small" comes to no end within {walking.MOST_STEPS} steps') as caught:
        walking.walk(tree, {"q": Fact("a")})
    assert "circle" in caught.value.hint


def looking_back(questions: int) -> Tree:
    """So many questions with two answers each, and then a look back at each: twice as many nodes with each more."""
    steps = [choice(f"q{n}", *(f"{a} > q{n + 1}" for a in "ab")) for n in range(questions)]
    steps.append(choice(f"q{questions}", "a > r0"))
    for n in range(questions):
        then = f"r{n + 1}" if n + 1 < questions else "end"
        rows = "".join(
            f'[[recall.r{n}.answer]]\nid = "{a}"\nfinding = "{f}"\n' for a, f in (("a", "good"), ("b", "bad"))
        )
        steps.append(f'[recall.r{n}]\nquestion = "q{n}"\nthen = "{then}"\n{rows}')
    return load_text(whole("".join(steps), "q0"), "small.toml")


@pytest.mark.parametrize(("limit", "most"), [("MOST_NODES", 1_000), ("MOST_WORK", 1_000)])
def test_more_ways_than_can_be_gone_through_are_told(
    limit: str, most: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(graph, limit, most)
    assert "too-many-ways" not in [one.code for one in work_out(looking_back(5)).complaints]
    told = [one for one in work_out(looking_back(10)).complaints if one.code == "too-many-ways"]
    assert len(told) == 1
    assert "can be gone through" in told[0].message
    assert told[0].hint


def test_of_very_many_requirements_no_combination_of_states_is_gone_through() -> None:
    requirements = ("sound", *(f"r{n}" for n in range(9)))
    named = ", ".join(f'{name} = "met"' for name in requirements)
    verdicts = "".join(
        f'[[verdict]]\nid = "{name}"\ntitle = "V"\nsays = "V."\ndo = ["Wait."]\noutcome = "not-settled"\nwhen = {{ {when} }}\n'
        for name, when in (("first", named), ("hidden", named), ("last", ""))
    )
    body = choice("q", "a ! good > end")
    for few, codes in ((requirements, set()), (requirements[:4], {"masked-verdict"})):
        cut = verdicts if few == requirements else verdicts.replace(named, ", ".join(named.split(", ")[:4]))
        tree = load_text(whole(body, "q", requirements=few, verdicts=cut), "small.toml")
        assert {one.code for one in work_out(tree).complaints} & {"masked-verdict"} == codes


def test_a_number_as_long_as_it_may_be_is_exact() -> None:
    most = "9" * 18
    tree = load_text(whole(number("q", "below = 3 > end", " > end", most=most), "q"), "small.toml")
    assert tree.file.question["q"].most == Fraction(most)
    assert "giant-number" in [one.code for one in refused(whole(number("q", " > end", most=most + "9"), "q"))]


def test_what_python_would_be_slow_to_read_is_walked_over_first() -> None:
    assert toml.LONG_KEY.search("a" + ".a" * 40 + " = 1")
    assert toml.LONG_NUMBER.search("a = 1" + "0" * 500)
    assert not toml.LONG_KEY.search(large(60))
    assert not toml.LONG_NUMBER.search(large(60))
