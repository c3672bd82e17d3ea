"""The engine against scikit-learn: classifiers it trained, written as trees, give every row the class it gave."""

from __future__ import annotations

import functools
import json
import subprocess
import sys
from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import pytest
from sklearn import datasets
from sklearn.tree import DecisionTreeClassifier

from assistant.session.fact import Fact
from assistant.session.judge import judge
from assistant.session.session import Session
from assistant.tree.check import check
from assistant.tree.load import load_text
from assistant.tree.tree import Tree
from tests.writing import Table, dumped

Column = list[tuple[float, Fraction]]
"""Every value of a feature: as the classifier sees it (a 32-bit float), and as it is written in the data set."""

GROWN = [
    # data set, depth, seed, whether a limit is put on the greatest value it takes in
    ("iris", 2, 0, False),
    ("iris", None, 1, True),
    ("wine", 3, 2, True),
    ("wine", None, 3, False),
    ("breast_cancer", 4, 4, False),
    ("breast_cancer", None, 5, True),
    ("digits", 6, 6, True),
    ("digits", None, 7, False),
]


class Grown(NamedTuple):
    classifier: DecisionTreeClassifier
    rows: list[list[Fraction]]
    classes: list[int]
    tree: Tree
    text: str


@functools.cache
def grown(name: str, depth: int | None, seed: int, at_value: bool) -> Grown:
    data = getattr(datasets, f"load_{name}")()
    options: dict[str, Any] = {"max_depth": depth, "random_state": seed}
    classifier = DecisionTreeClassifier(**options, splitter="random" if seed % 2 else "best")
    classifier.fit(data.data, data.target)
    rows = [[Fraction(repr(float(value))) for value in row] for row in data.data]
    columns = [
        list(zip(np.float32(column).tolist(), (row[place] for row in rows), strict=True))
        for place, column in enumerate(data.data.T)
    ]
    text = Writer(classifier, columns, at_value).text(name)
    return Grown(
        classifier, rows, classifier.predict(data.data).tolist(), load_text(text, "grown.toml"), text
    )


class Writer:
    """A trained classifier as a tree: the first look at a feature is a question, a later one a recall."""

    def __init__(self, classifier: DecisionTreeClassifier, columns: list[Column], at_value: bool) -> None:
        self.fitted = classifier.tree_
        self.columns = columns
        self.at_value = at_value
        self.questions: dict[str, Table] = {}
        self.recalls: dict[str, Table] = {}
        self.classes: set[int] = set()

    def text(self, name: str) -> str:
        first = self.step(0, {})
        about = {
            "id": "grown", "title": f"Classes of {name}", "edition": "1", "purpose": "To tell classes apart.",
            "applies-to": "Tests.", "place": "Nowhere", "first": first, "defer": ["Whoever measured decides."],
        }  # fmt: skip
        verdicts = [
            {"id": f"class-{c}", "title": f"Class {c}", "says": "So says the classifier.", "do": [],
             "outcome": "not-settled"}
            for c in sorted(self.classes)
        ]  # fmt: skip
        return dumped(
            {
                "format": 1,
                "tree": about,
                "source": {"data": {"title": f"The data set {name}", "standing": "published"}},
                "question": self.questions,
                "recall": self.recalls,
                "verdict": verdicts,
            }
        )

    def step(self, node: int, asked: Mapping[int, str]) -> str:
        """Write the step of a node and all below it; give what leads to it. `asked`: features, by question."""
        if self.fitted.children_left[node] < 0:
            klass = int(self.fitted.value[node].argmax())
            self.classes.add(klass)
            return f"verdict:class-{klass}"
        feature = int(self.fitted.feature[node])
        question = asked.get(feature, f"feature-{feature}-at-{node}")
        below = {**asked, feature: question}
        bands = [
            {
                "up-to": self.limit(feature, float(self.fitted.threshold[node])),
                "then": self.step(int(self.fitted.children_left[node]), below),
            },
            {"then": self.step(int(self.fitted.children_right[node]), below)},
        ]
        if feature in asked:
            self.recalls[f"again-at-{node}"] = {"question": question, "band": bands}
            return f"again-at-{node}"
        values = [written for _, written in self.columns[feature]]
        self.questions[question] = {
            "kind": "measure",
            "ask": f"What is feature {feature}?",
            "why": "The classifier split here.",
            "look": "It stands in the row.",
            "source": "data",
            "must-answer": True,
            "least": min(values),
            "most": max(values),
            "band": bands,
        }
        return question

    def limit(self, feature: int, threshold: float) -> Decimal | Fraction:
        """A decimal that parts the written values exactly as the threshold parts the values as floats."""
        column = self.columns[feature]
        if self.at_value:
            limit: Decimal | Fraction = max(written for seen, written in column if seen <= threshold)
        else:
            exact = Decimal(threshold)
            limit = next(
                d for d in map(functools.partial(round, exact), range(1, 30)) if parts(column, threshold, d)
            )
        assert parts(column, threshold, limit)
        return limit


def parts(column: Column, threshold: float, limit: Decimal | Fraction) -> bool:
    return all((seen <= threshold) == (written <= Fraction(limit)) for seen, written in column)


def session(tree: Tree, row: list[Fraction]) -> Session:
    given = [Fact(value) for value in row]
    return Session(tree, {key: given[place] for key, place in looked_up(tree)})


@functools.cache
def looked_up(tree: Tree) -> list[tuple[str, int]]:
    """Every question, and the place in a row that answers it."""
    return [(key, int(key.split("-")[1])) for key in tree.file.question]


@pytest.mark.parametrize("which", GROWN, ids=lambda which: "-".join(map(str, which)))
def test_every_row_gets_the_class_that_the_classifier_gives(which: tuple[str, int | None, int, bool]) -> None:
    _, rows, classes, tree, _ = grown(*which)
    given = []
    for row in rows:
        judgement = judge(session(tree, row))
        assert judgement.verdict is not None
        given.append(int(judgement.verdict.id.removeprefix("class-")))
    assert given == classes


@pytest.mark.parametrize("which", GROWN, ids=lambda which: "-".join(map(str, which)))
def test_a_row_is_asked_what_the_classifier_looked_at(which: tuple[str, int | None, int, bool]) -> None:
    classifier, rows, _, tree, _ = grown(*which)
    fitted = classifier.tree_
    for row in rows[::40]:
        walk = session(tree, row).walk
        [nodes] = classifier.decision_path([[float(value) for value in row]]).tolil().rows
        looked_at = dict.fromkeys(int(fitted.feature[node]) for node in nodes[:-1])
        assert [int(key.split("-")[1]) for key in walk.asked] == list(looked_at)


@pytest.mark.parametrize("which", GROWN[:6], ids=lambda which: "-".join(map(str, which)))
def test_the_written_trees_pass_their_proofs(which: tuple[str, int | None, int, bool]) -> None:
    assert check(grown(*which).tree) == []


def test_the_command_gives_the_same_classes(tmp_path: Path) -> None:
    _, rows, classes, tree, text = grown("wine", 3, 2, True)
    (tmp_path / "grown.toml").write_text(text)
    chosen = range(0, len(rows), 17)
    for number in chosen:
        lines = {key: rows[number][place] for key, place in looked_up(tree)}
        (tmp_path / f"row-{number}.toml").write_text(dumped({"tree": "grown.toml", "facts": lines}))
    done = subprocess.run(
        [Path(sys.executable).with_name("throughwall"), "judge", "--json", *(f"row-{n}.toml" for n in chosen)],
        cwd=tmp_path, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert (done.returncode, len(done.stderr.splitlines())) == (1, 1), done.stderr
    given = [json.loads(line)["verdict"]["id"] for line in done.stdout.splitlines()]
    assert given == [f"class-{classes[n]}" for n in chosen]
