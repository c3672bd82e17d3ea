"""The schema of the format: what loading takes it takes, and what the shape of a file rules out it rules out."""

from __future__ import annotations

import copy
import json
import tomllib
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from assistant.tree import toml
from assistant.tree.load import load_text
from assistant.tree.mistakes import Unreadable
from assistant.tree.schema import schema
from assistant.tree.shape import shaped
from tests.format import SCHEMA, schema_text
from tests.writing import dumped

ROOT = Path(__file__).resolve().parents[2]
TREES = [
    *sorted((ROOT / "trees").glob("*.toml")),
    *sorted((ROOT / "tests" / "trees").glob("*.toml")),
    ROOT / "assistant" / "tree" / "new.toml",
]
VALIDATOR = jsonschema.Draft202012Validator(schema())
Data = dict[str, Any]
Path_ = tuple[str | int, ...]


def plain(value: Any) -> Any:
    """The same values with numbers as JSON has them."""
    if isinstance(value, dict):
        return {key: plain(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [plain(inner) for inner in value]
    return float(value) if isinstance(value, Decimal) else value


def complaints(data: Data) -> list[str]:
    """What the schema finds wrong."""
    return [f"{list(e.absolute_path)}: {e.message}" for e in VALIDATOR.iter_errors(plain(data))]


def loads(data: Data) -> bool:
    """Whether the whole of loading takes the document."""
    try:
        load_text(dumped(data), "changed.toml", ROOT / "tests" / "trees")
    except Unreadable:
        return False
    return True


def misshapen(data: Data) -> bool:
    """Whether the shape half of loading refuses the document."""
    try:
        document = toml.parse(dumped(data), "changed.toml")
    except Unreadable:
        return True
    return bool(shaped(document)[1])


def test_the_schema_is_written_down_as_it_is_made() -> None:
    assert SCHEMA.read_text(encoding="utf-8") == schema_text(), "run python -m tests.format"


def test_it_is_a_schema() -> None:
    jsonschema.Draft202012Validator.check_schema(json.loads(schema_text()))


@pytest.mark.parametrize("path", TREES, ids=lambda path: path.stem)
def test_every_tree_there_is_agrees_with_it(path: Path) -> None:
    assert complaints(tomllib.loads(path.read_text(encoding="utf-8"))) == []


def test_every_key_is_explained() -> None:
    whole = schema()
    for name, table in [("TreeFile", whole), *whole["$defs"].items()]:
        assert table["description"], name
        for key, value in table["properties"].items():
            assert value["description"].endswith("."), f"{name}.{key}"


# A small tree that uses every table and, among them, every key

EVERY = """
format = 1

[tree]
id = "every"
title = "Every table"
edition = "2"
purpose = "To be changed."
applies-to = "Tests."
place = "Nowhere"
first = "fixing"
review-by = "2027-06"
defer = ["The engineer decides."]

[requirement.secure]
title = "Secure"
means = "It holds."

[source.common]
title = "Common practice"
part = "all of it"
edition = "none"
standing = "common-practice"

[question.fixing]
kind = "choice"
ask = "How is it held?"
why = "It matters."
look = "Look."
source = ["common"]
accept = ["seen", "measured"]
[question.fixing.not-sure]
find-out = "Look again."
finding = "unclear"
then = "near"
[[question.fixing.answer]]
id = "screws"
says = "Screws"
also = ["screw"]
seen = "Two heads."
finding = "held"
then = "near"
put-right = "Put screws in."
effort = 2
[[question.fixing.answer]]
id = "none"
says = "Nothing"
finding = ["loose", "note"]
then = "near"

[question.near]
kind = "several"
ask = "What is near?"
must-answer = true
then = "hole"
[[question.near.answer]]
id = "eaves"
says = "Eaves"

[question.hole]
kind = "measure"
unit = "mm"
least = 0.5
most = 500
ask = "How wide is the hole?"
then = "joints"
[question.hole.not-sure]
[[question.hole.band]]
below = 100
says = "Narrow"
[[question.hole.band]]
up-to = 200.5
put-right = "Drill it."
effort = 5
[[question.hole.band]]

[question.joints]
kind = "count"
least = 1
most = 3
ask = "How many?"
must-answer = true
then = "remark"

[question.remark]
kind = "note"
ask = "Anything else?"
must-answer = true
then = "again"

[recall.again]
question = "fixing"
then = "wide"
[recall.again.not-sure]
then = "wide"
[[recall.again.answer]]
id = "none"
finding = "note"

[recall.wide]
question = "hole"
[recall.wide.not-sure]
[[recall.wide.band]]
below = 100
then = "gap"
[[recall.wide.band]]
then = "gap"

[working.gap]
run = "annular-gap"
give = { hole_mm = "hole" }
set = { flue_mm = 100 }
branch-on = "gap_mm"
source = "common"
[working.gap.not-sure]
[[working.gap.band]]
up-to = 0.004
then = "one"
put-right = "Work alone, which a working never offers."
[[working.gap.band]]
then = "one"

[visit.one]
tree = "part"
then = "joint"

[each.joint]
count = "joints"
tree = "part"
label = "Joint {n}"
then = "thing"

[each.thing]
over = "near"
tree = "part"
then = "end"

[finding.held]
requirement = "secure"
effect = "meets"
reason = "It is held."
source = "common"

[finding.unclear]
requirement = "secure"
effect = "unproven"
reason = "Nobody looked."

[finding.loose]
requirement = "secure"
effect = "fails"
reason = "Nothing holds it."
source = ["common"]
unsafe = "at-risk"
householder = "Do not touch it."

[finding.note]
effect = "advice"
reason = "Worth knowing."

[[verdict]]
id = "holds"
title = "It holds"
outcome = "acceptable"
when = { secure = "met", all = ["met", "not-judged"] }
says = "It is held."
do = []

[[verdict]]
id = "open"
title = "Open"
outcome = "not-settled"
says = "Nobody knows."
do = ["Find out."]

[[moved]]
edition = "1"
questions = { fix = "fixing" }
answers = { "fixing.screw" = "screws" }
"""
WHOLE: Data = tomllib.loads(EVERY, parse_float=Decimal)


def test_the_tree_that_is_changed_below_loads_and_has_every_key() -> None:
    assert loads(WHOLE)
    assert complaints(WHOLE) == []
    used = {str(part) for path in places(WHOLE) for part in path}
    defined = {key for table in [schema(), *schema()["$defs"].values()] for key in table["properties"]}
    assert defined - used == {"given"}


def places(value: Any, path: Path_ = ()) -> Iterator[Path_]:
    """The path of every value within a value, itself included."""
    yield path
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from places(inner, (*path, key))
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            yield from places(inner, (*path, index))


def changed(path: Path_, value: Any = None, data: Data = WHOLE) -> Data:
    """The document with another value at `path`, or without what stands there."""
    new: Any = copy.deepcopy(data)
    at = new
    for part in path[:-1]:
        at = at[part] if isinstance(at, list) or part in at else at.setdefault(part, {})
    if value is None:
        del at[path[-1]]
    else:
        at[path[-1]] = value
    found: Data = new
    return found


REFUSED: list[tuple[str, Path_, Any]] = [
    ("a misspelt key", ("question", "fixing", "asks"), "How?"),
    ("a key of the top", ("tree", "format"), 1),
    ("a stray table", ("questions",), {}),
    ("another format", ("format",), 2),
    ("a format in quotes", ("format",), "1"),
    ("no format", ("format",), None),
    ("no [tree]", ("tree",), None),
    ("no first step", ("tree", "first"), None),
    ("nothing to defer to", ("tree", "defer"), []),
    ("an empty text", ("tree", "title"), " "),
    ("a number for a text", ("tree", "edition"), 2),
    ("a text for a list", ("tree", "defer"), "The engineer decides."),
    ("a month with a day", ("tree", "review-by"), "2027-06-01"),
    ("a thirteenth month", ("tree", "review-by"), "2027-13"),
    ("an id with a capital", ("tree", "id"), "Every"),
    ("a reserved id", ("tree", "id"), "all"),
    ("a requirement with a bad id", ("requirement", "Safe now"), {"title": "x", "means": "y"}),
    ("a requirement called any", ("requirement", "any"), {"title": "x", "means": "y"}),
    ("a step called end", ("visit", "end"), {"tree": "part", "then": "end"}),
    ("an answer called not-sure", ("question", "fixing", "answer", 0, "id"), "not-sure"),
    ("a verdict with a bad id", ("verdict", 0, "id"), "it_holds"),
    ("a standing that there is not", ("source", "common", "standing"), "publish"),
    ("a kind that there is not", ("question", "fixing", "kind"), "choise"),
    ("no kind", ("question", "fixing", "kind"), None),
    ("a basis that there is not", ("question", "fixing", "accept"), ["seen", "guessed"]),
    ("must-answer in quotes", ("question", "near", "must-answer"), "true"),
    ("must-answer as a number", ("question", "near", "must-answer"), 1),
    ("a number in quotes", ("question", "hole", "least"), "0"),
    ("a limit that is true", ("question", "hole", "least"), True),
    ("no least for a measure", ("question", "hole", "least"), None),
    ("no most for a count", ("question", "joints", "most"), None),
    ("half a thing as a count's least", ("question", "joints", "least"), Decimal("0.5")),
    ("a unit for a choice", ("question", "fixing", "unit"), "mm"),
    ("a limit for a note", ("question", "remark", "most"), 5),
    ("a choice without answers", ("question", "fixing", "answer"), []),
    ("a choice with bands", ("question", "fixing", "band"), [{}]),
    ("a measure with answers", ("question", "hole", "answer"), [{"id": "a", "says": "A"}]),
    ("a note with answers", ("question", "remark", "answer"), [{"id": "a", "says": "A"}]),
    ("a note with bands", ("question", "remark", "band"), [{}]),
    ("several without a way on", ("question", "near", "then"), None),
    ("a note without a way on", ("question", "remark", "then"), None),
    ("several whose answer leads on", ("question", "near", "answer", 0, "then"), "hole"),
    ("an answer that leads nowhere", ("question", "fixing", "answer", 0, "then"), None),
    ("a measure that leads nowhere", ("question", "hole", "then"), None),
    ("a count that leads nowhere", ("question", "joints", "then"), None),
    ("must-answer and not sure", ("question", "near", "not-sure"), {"then": "hole"}),
    ("not sure as a text", ("question", "fixing", "not-sure"), "near"),
    ("work without effort", ("question", "fixing", "answer", 0, "effort"), None),
    ("effort without work", ("question", "fixing", "answer", 0, "put-right"), None),
    ("a band's work without effort", ("question", "hole", "band", 1, "effort"), None),
    ("effort beyond five", ("question", "fixing", "answer", 0, "effort"), 6),
    ("no effort at all", ("question", "fixing", "answer", 0, "effort"), 0),
    ("effort in quotes", ("question", "fixing", "answer", 0, "effort"), "2"),
    ("effort that is true", ("question", "fixing", "answer", 0, "effort"), True),
    ("a band with two ends", ("question", "hole", "band", 0, "up-to"), 50),
    ("a band's end in quotes", ("question", "hole", "band", 0, "below"), "100 mm"),
    ("a finding twice", ("question", "fixing", "answer", 1, "finding"), ["note", "note"]),
    ("a finding that is no id", ("question", "fixing", "answer", 1, "finding"), "A note"),
    ("a finding as a number", ("question", "fixing", "answer", 1, "finding"), 3),
    ("a then that is no id", ("question", "near", "then"), "The hole"),
    ("a then that is a list", ("question", "near", "then"), ["hole"]),
    ("a then that is a number", ("question", "near", "then"), 4),
    ("a then that is empty", ("question", "near", "then"), ""),
    ("a then to not sure", ("question", "near", "then"), "not-sure"),
    ("a then to any", ("question", "near", "then"), "any"),
    ("a then to no verdict", ("question", "near", "then"), "verdict:"),
    ("a then with a blank in it", ("question", "near", "then"), "verdict: holds"),
    ("a then with another word before", ("question", "near", "then"), "step:hole"),
    ("a first that is a verdict", ("tree", "first"), "verdict:holds"),
    ("a first that is the end", ("tree", "first"), "end"),
    ("a recall of nothing", ("recall", "again", "question"), None),
    ("a recall that leads nowhere", ("recall", "wide", "band"), []),
    ("a recall's band that leads nowhere", ("recall", "wide", "band", 0, "then"), None),
    ("a recall with answers and bands", ("recall", "again", "band"), [{}]),
    ("a recall's answer with words", ("recall", "again", "answer", 0, "says"), "None"),
    ("a working without bands", ("working", "gap", "band"), []),
    ("a working's band that leads nowhere", ("working", "gap", "band", 0, "then"), None),
    ("a working given a number", ("working", "gap", "give", "hole_mm"), 127),
    ("a working given an empty list", ("working", "gap", "give", "hole_mm"), []),
    ("a working set to true", ("working", "gap", "set", "flue_mm"), True),
    ("a working set to a list of numbers", ("working", "gap", "set", "flue_mm"), [1, 2]),
    ("a visit without a tree", ("visit", "one", "tree"), None),
    ("a visit of a path", ("visit", "one", "tree"), "./part.toml"),
    ("a visit without a way on", ("visit", "one", "then"), None),
    ("a visit given a number", ("visit", "one", "given"), {"held-by": 3}),
    ("a visit that sets true", ("visit", "one", "set"), {"held-by": True}),
    ("an each of neither", ("each", "joint", "count"), None),
    ("an each of both", ("each", "joint", "over"), "near"),
    ("an effect that there is not", ("finding", "held", "effect"), "passes"),
    ("a finding on nothing", ("finding", "held", "requirement"), None),
    ("a class that there is not", ("finding", "loose", "unsafe"), "not-to-standard"),
    ("a verdict without steps", ("verdict", 0, "do"), None),
    ("an outcome that there is not", ("verdict", 0, "outcome"), "pass"),
    ("a state that there is not", ("verdict", 0, "when", "secure"), "not met"),
    ("no state at all", ("verdict", 0, "when", "secure"), []),
    ("a state of the end", ("verdict", 0, "when", "end"), "met"),
    ("when as a text", ("verdict", 0, "when"), "all"),
    ("one verdict instead of several", ("verdict",), {"id": "holds"}),
    ("nothing but renamings in what moved", ("moved", 0, "edition"), None),
    ("a verdict without an id", ("verdict", 0, "id"), None),
    ("a verdict with nothing in it", ("verdict", 1), {}),
    ("an answer with nothing in it", ("question", "fixing", "answer", 1), {}),
    ("an edition moved to a number", ("moved", 0, "questions", "fix"), 3),
]  # fmt: skip


@pytest.mark.parametrize(("path", "value"), [r[1:] for r in REFUSED], ids=[r[0] for r in REFUSED])
def test_what_loading_refuses_the_schema_refuses(path: Path_, value: Any) -> None:
    data = changed(path, value)
    assert not loads(data)
    assert complaints(data)


TAKEN: list[tuple[str, Path_, Any]] = [
    ("blanks round a then", ("question", "near", "then"), " hole "),
    ("blanks round an id", ("tree", "id"), " every "),
    ("blanks round a finding", ("question", "fixing", "answer", 0, "finding"), " held"),
    ("a then on a line of its own", ("question", "near", "then"), "\nhole\n"),
    ("a month with a blank", ("tree", "review-by"), "2027-06 "),
    ("no source", ("question", "fixing", "source"), []),
    ("no accepted basis", ("question", "fixing", "accept"), []),
    ("no findings", ("question", "fixing", "answer", 1, "finding"), []),
    ("the end", ("question", "near", "then"), "end"),
    ("a verdict", ("question", "near", "then"), "verdict:holds"),
    ("a whole number with a point", ("question", "joints", "most"), Decimal("3.0")),
    ("a large number", ("question", "hole", "most"), 10**17),
    ("a number below nothing", ("question", "hole", "least"), -5),
    ("no requirement for advice", ("finding", "note", "source"), "common"),
    ("a requirement for advice", ("finding", "note", "requirement"), "secure"),
    ("must-answer as false", ("question", "fixing", "must-answer"), False),
    ("no not-sure", ("question", "fixing", "not-sure"), None),
    ("empty not-sure", ("question", "fixing", "not-sure"), {}),
    ("no bands where there is a then", ("question", "hole", "band"), []),
    ("no verdicts", ("verdict",), []),
    ("no moved", ("moved",), None),
    ("a verdict that always fits", ("verdict", 0, "when"), {}),
    ("a verdict of any", ("verdict", 0, "when"), {"any": "met"}),
    ("nothing given", ("working", "gap", "set", "flue_mm"), "100"),
    ("a decimal set", ("working", "gap", "set", "flue_mm"), Decimal("100.5")),
    ("a list of keys given", ("working", "gap", "give", "hole_mm"), ["hole"]),
    ("a label left out", ("each", "joint", "label"), None),
    ("an effort alone in a working", ("working", "gap", "band", 0, "effort"), 3),
]  # fmt: skip


@pytest.mark.parametrize(("path", "value"), [t[1:] for t in TAKEN], ids=[t[0] for t in TAKEN])
def test_what_loading_takes_the_schema_takes(path: Path_, value: Any) -> None:
    data = changed(path, value)
    assert loads(data)
    assert complaints(data) == []


# The same of any change at all

VALUES = st.one_of(
    st.sampled_from(
        [
            "",
            " ",
            "end",
            "hole",
            "verdict:holds",
            "verdict:none",
            "any",
            "not-sure",
            "Bad Id",
            "held",
            "seen",
            "choice",
            "several",
            "measure",
            "count",
            "note",
            "met",
            "not-met",
            "2027-06",
            "meets",
            "advice",
            "part",
        ]
    ),
    st.sampled_from([0, 1, 2, 5, 6, -1, 100, Decimal("0.5"), Decimal("2.0"), True, False]),
    st.sampled_from(
        [[], ["held"], ["held", "held"], ["seen"], [1], {}, {"then": "end"}, [{}], [{"id": "a"}]]
    ),
)
KEYS = sorted({key for table in [schema(), *schema()["$defs"].values()] for key in table["properties"]})


@st.composite
def documents(draw: st.DrawFn) -> Data:
    """The tree with one to three values replaced, taken out or added."""
    data = WHOLE
    for _ in range(draw(st.integers(1, 3))):
        paths = list(places(data))
        path = draw(st.sampled_from([path for path in paths if path != ("format",)]))
        at: Any = data
        for part in path:
            at = at[part]
        how = draw(st.sampled_from(["replace", "take out", "add"]))
        if how == "add" and isinstance(at, dict):
            data = changed((*path, draw(st.sampled_from(KEYS))), draw(VALUES), data)
        elif path:
            data = changed(path, None if how == "take out" else draw(VALUES), data)
    return data


def sayable(data: Data) -> bool:
    """Whether nothing stands in the document that JSON cannot tell apart: 1.0 and 1 are one number there."""
    return not any(
        isinstance(at, Decimal) and at == int(at) for at in (_at(data, path) for path in places(data))
    )


def _at(data: Any, path: Path_) -> Any:
    for part in path:
        data = data[part]
    return data


@settings(
    max_examples=400, deadline=None, derandomize=True, database=None, suppress_health_check=list(HealthCheck)
)
@given(documents())
def test_no_change_that_loads_is_underlined_and_no_misshapen_one_is_not(data: Data) -> None:
    found = complaints(data)
    if found:
        assert not loads(data), found
    elif sayable(data):
        assert not misshapen(data)
