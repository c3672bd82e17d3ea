"""The picture of a tree: everything is there, in its box, and nothing lies over anything else."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from itertools import combinations, pairwise
from pathlib import Path
from typing import NamedTuple
from xml.etree import ElementTree

import pytest

from assistant.errors import Refused
from assistant.tree.load import installed_folder, load, load_text
from assistant.tree.picture import FORMS, drawn, paper_for
from assistant.tree.picture.arrange import apart
from assistant.tree.picture.graph import MOST_NODES, Chart, chart
from assistant.tree.picture.measure import columns, ems, wrapped
from assistant.tree.tree import Tree
from tests.outside.test_picture_dot import grown
from tests.writing import choice, head, tree, whole

TREES = Path(__file__).parents[1] / "trees"
FILES = [*sorted(installed_folder().glob("*.toml")), *sorted(TREES.glob("*.toml"))]
DRAWN: list[Path | int] = [*FILES, *range(8)]
"""Files, and seeds of grown trees."""
SVG = "{http://www.w3.org/2000/svg}"
Picture = tuple[Chart, ElementTree.Element]
SLACK = 0.2
"""Numbers are rounded to a tenth."""


class Box(NamedTuple):
    left: float
    top: float
    right: float
    foot: float

    def overlaps(self, other: Box) -> bool:
        return (
            self.left < other.right - SLACK
            and other.left < self.right - SLACK
            and self.top < other.foot - SLACK
            and other.top < self.foot - SLACK
        )

    def holds(self, other: Box) -> bool:
        return (
            self.left <= other.left + SLACK
            and self.top <= other.top + SLACK
            and other.right <= self.right + SLACK
            and other.foot <= self.foot + SLACK
        )

    def touches(self, x: float, y: float) -> bool:
        """Whether a point lies on the upper or lower edge."""
        return self.left <= x <= self.right and min(abs(y - self.top), abs(y - self.foot)) <= SLACK


class Group(NamedTuple):
    id: str
    box: Box | None
    texts: list[tuple[Box, str]]
    goes_on: str = ""


class Edge(NamedTuple):
    source: str
    target: str
    points: list[tuple[float, float]]


def shape_box(element: ElementTree.Element) -> Box:
    if element.tag == f"{SVG}polygon":
        points = [tuple(map(float, pair.split(","))) for pair in element.attrib["points"].split()]
        xs, ys = [x for x, _ in points], [y for _, y in points]
        return Box(min(xs), min(ys), max(xs), max(ys))
    x, y, width, height = (float(element.attrib[name]) for name in ("x", "y", "width", "height"))
    return Box(x, y, x + width, y + height)


def line(element: ElementTree.Element) -> tuple[Box, str]:
    x, y, size = (float(element.attrib[name]) for name in ("x", "y", "font-size"))
    runs = [(element.text or "", element), *((each.text or "", each) for each in element)]
    width = sum(ems(text, each.attrib["font-weight"] == "700") for text, each in runs) * size
    return Box(x, y - size, x + width, y + 0.25 * size), "".join(text for text, _ in runs)


def groups(root: ElementTree.Element) -> Iterator[Group]:
    for element in root:
        if element.tag in (f"{SVG}g", f"{SVG}a") and "transform" not in element.attrib:
            shapes = [each for each in element if each.tag in (f"{SVG}rect", f"{SVG}polygon")]
            box = shape_box(shapes[0]) if shapes else None
            texts = [line(each) for each in element if each.tag == f"{SVG}text"]
            yield Group(element.get("id", ""), box, texts, element.get("href", "").removeprefix("#"))


def edges(root: ElementTree.Element) -> Iterator[Edge]:
    for element in root.iter(f"{SVG}path"):
        if element.get("class") == "edge":
            yield Edge(element.attrib["data-from"], element.attrib["data-to"], points(element.attrib["d"]))


def points(path: str) -> list[tuple[float, float]]:
    """A path in many short steps."""
    found: list[tuple[float, float]] = []
    for kind, numbers in re.findall(r"([MVC])([^MVC]*)", path):
        at = [float(number) for number in numbers.split()]
        if kind == "M":
            found.append((at[0], at[1]))
        elif kind == "V":
            x, y = found[-1]
            found += [(x, y + (at[0] - y) * part / 8) for part in range(1, 9)]
        else:
            (x, y), (a, b, c, d, e, f) = found[-1], at
            for step in range(1, 17):
                t = step / 16
                weights = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3)
                found.append(
                    (
                        sum(w * v for w, v in zip(weights, (x, a, c, e), strict=True)),
                        sum(w * v for w, v in zip(weights, (y, b, d, f), strict=True)),
                    )
                )
    return found


def named(id_: str) -> str:
    return id_ if id_ == "end" else id_.replace(":", "-") if ":" in id_ else f"step-{id_}"


@pytest.fixture(params=DRAWN, ids=lambda which: which.stem if isinstance(which, Path) else f"grown-{which}")
def picture(request: pytest.FixtureRequest) -> Picture:
    return made(request.param)


@cache
def made(which: Path | int) -> Picture:
    whole = grown(which) if isinstance(which, int) else load(str(which))
    return chart(whole), ElementTree.fromstring(drawn(whole, "svg"))


def test_every_step_and_verdict_is_there_once(picture: Picture) -> None:
    drawing, root = picture
    ids = [group.id for group in groups(root) if group.id]
    assert sorted(ids) == sorted(map(named, drawing.nodes))


def test_nothing_overlaps_and_all_text_lies_in_its_box(picture: Picture) -> None:
    _, root = picture
    whole = Box(0, 0, *(float(root.attrib[name]) for name in ("width", "height")))
    found = list(groups(root))
    for group in found:
        for text, _ in group.texts:
            assert (group.box or whole).holds(text)
    boxes = [group.box or text for group in found for text, _ in group.texts[: 1 if group.box else None]]
    assert all(whole.holds(box) for box in boxes)
    labels = [text for group in found if not group.box for text, _ in group.texts]
    solid = [group.box for group in found if group.box]
    assert not [pair for pair in combinations(solid, 2) if pair[0].overlaps(pair[1])]
    assert not [(box, text) for box in solid for text in labels if box.overlaps(text)]
    texts = [text for element in root.iter(f"{SVG}text") for text, _ in [line(element)]]
    loose = [
        text._replace(foot=text.foot - 3) for text in texts
    ]  # lines are set closer than letters could reach
    assert not [pair for pair in combinations(loose, 2) if pair[0].overlaps(pair[1])]


def test_every_edge_runs_from_box_to_box_and_over_none(picture: Picture) -> None:
    drawing, root = picture
    found = list(groups(root))
    boxes = {group.id: group.box for group in found if group.box and group.id}
    signs = [group for group in found if group.goes_on]
    runs = list(edges(root))
    wanted = {(edge.source, edge.target) for edge in drawing.edges if edge.source != "end"}
    assert sorted((run.source, run.target) for run in runs) == sorted(wanted)
    ended = set()
    for run in runs:
        assert boxes[named(run.source)].touches(*run.points[0])
        if not boxes[named(run.target)].touches(*run.points[-1]):
            (sign,) = [one for one in signs if one.box and one.box.touches(*run.points[-1])]
            assert sign.goes_on == named(run.target)
            ended.add(id(sign))
        assert all(one[1] <= other[1] + SLACK for one, other in pairwise(run.points))
        others = [box for name, box in boxes.items()] + [one.box for one in signs if one.box]
        for x, y in run.points:
            dot = Box(x - 0.1, y - 0.1, x + 0.1, y + 0.1)
            assert not [box for box in others if box.overlaps(dot) and not box.touches(x, y)]
    assert len(ended) == len(signs)


def test_no_edge_runs_through_words(picture: Picture) -> None:
    _, root = picture
    words = [text for group in groups(root) for text, _ in group.texts]
    for run in edges(root):
        xs, ys = [x for x, _ in run.points], [y for _, y in run.points]
        round_ = Box(min(xs) - 1, min(ys) - 1, max(xs) + 1, max(ys) + 1)
        near = [text for text in words if text.overlaps(round_)]
        for x, y in run.points:
            dot = Box(x - 0.2, y - 0.2, x + 0.2, y + 0.2)
            assert not [text for text in near if text.overlaps(dot)]


def test_the_answers_what_they_find_and_the_cautions_are_told(picture: Picture) -> None:
    drawing, root = picture
    said = "".join(text for element in root.iter(f"{SVG}text") for _, text in [line(element)])
    said = re.sub(r"[\s-]", "", said)
    for caution in drawing.cautions:
        assert re.sub(r"[\s-]", "", caution) in said
    for edge in drawing.edges:
        for row in edge.rows:
            for words in (row.says, *(each.says for each in row.finds)):
                assert re.sub(r"[\s-]", "", words)[:60] in said


def test_ink_stands_out(picture: Picture) -> None:
    _, root = picture
    inks = {each.attrib["fill"] for kind in ("text", "tspan") for each in root.iter(SVG + kind)}
    fills = {each.attrib["fill"] for kind in ("rect", "polygon") for each in root.iter(SVG + kind)} - {"none"}
    for ink in inks:
        for fill in fills:
            dark, light = sorted((luminance(ink), luminance(fill)))
            assert (light + 0.05) / (dark + 0.05) >= 4.5


def luminance(colour: str) -> float:
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_the_same_tree_gives_the_same_picture(form: str, file: Path) -> None:
    assert drawn(load(str(file)), form) == drawn(load(str(file)), form)


@pytest.mark.parametrize("form", FORMS)
def test_another_process_draws_the_same(form: str) -> None:
    command = [
        sys.executable,
        "-c",
        "from assistant.cli import main; main()",
        "tree",
        "sealant",
        "--as",
        form,
    ]
    drawings = {
        subprocess.run(
            command, check=True, capture_output=True, env={**os.environ, "PYTHONHASHSEED": seed}
        ).stdout.decode("utf-8")
        for seed in ("1", "2")
    }
    assert drawings == {drawn(load("sealant"), form)}


@pytest.mark.parametrize("form", FORMS)
def test_text_stays_text(form: str, hostile: Tree) -> None:
    text = drawn(hostile, form)
    assert all(sign.isprintable() or sign == "\n" for sign in text)
    assert "<script" not in text
    assert "<b>" not in text


def test_svg_holds_nothing_live(hostile: Tree) -> None:
    root = ElementTree.fromstring(drawn(hostile, "svg"))
    tags = {element.tag.removeprefix(SVG) for element in root.iter()}
    assert tags <= {"svg", "title", "desc", "g", "a", "rect", "path", "circle", "polygon", "text", "tspan"}
    for element in root.iter():
        assert not [name for name in element.attrib if name.startswith("on")]
        assert element.get("href", "#").startswith("#")
    said = " ".join(text for element in root.iter(f"{SVG}text") for _, text in [line(element)])
    assert "[@click=app.quit]press[/] %s {0} \\033[31m" in said
    assert "<script>alert(1)</script>" in said


def test_mermaid_writes_every_sign_that_could_mean_something_by_its_number(hostile: Tree) -> None:
    for written in drawn(hostile, "mermaid").splitlines():
        if written.startswith("  classDef") or written == "flowchart TD":
            continue
        for label in re.findall(r'"([^"]*)"', written):
            rest = re.sub(r"#\d+;|<br/>", "", label)
            assert re.fullmatch(r"[\w ,?!'()/]*", rest), rest
        outside = re.sub(r'"[^"]*"', "", written)
        assert re.fullmatch(r"[a-z_0-9 \[\](){}/|>:-]+", outside), outside


def test_no_id_of_mermaid_is_a_word_of_its_language() -> None:
    words = ("graph", "subgraph", "click", "style", "class", "default", "direction")
    steps = "".join(map(chained, words, (*words[1:], "end")))
    written = drawn(tree(steps, words[0]), "mermaid")
    ids = re.findall(r"^  (\w+)", written, re.MULTILINE)
    assert not set(ids) & {*words, "end"}
    assert "step_subgraph" in ids
    assert "the_end" in ids


def chained(name: str, onward: str) -> str:
    return (
        f'[question.{name}]\nkind = "choice"\nask = "What?"\nmust-answer = true\nthen = "{onward}"\n'
        f'[[question.{name}.answer]]\nid = "yes"\nsays = "Yes"\n'
    )


def chain(count: int) -> str:
    names = [f"q{number}" for number in range(count)]
    return head("q0") + "".join(map(chained, names, [*names[1:], "end"]))


def test_a_thousand_questions_are_folded_into_a_sheet() -> None:
    root = ElementTree.fromstring(drawn(load_text(chain(1000), "small.toml"), "svg"))
    width, height = (float(root.attrib[name]) for name in ("width", "height"))
    assert 0.5 < width / height < 2


@pytest.mark.parametrize("form", FORMS)
def test_a_tree_too_large_to_be_drawn_is_refused(form: str) -> None:
    whole = load_text(chain(MOST_NODES + 1), "small.toml")
    with pytest.raises(Refused, match="drawn at most"):
        drawn(whole, form)


def test_a_circle_and_a_step_that_nothing_leads_to_are_drawn() -> None:
    text = chain(4).replace('then = "end"', 'then = "q1"') + chained("lost", "q2")
    root = ElementTree.fromstring(drawn(load_text(text, "small.toml"), "svg"))
    assert {"step-q0", "step-q3", "step-lost"} <= {group.id for group in groups(root)}
    assert [group.goes_on for group in groups(root) if group.goes_on] == ["step-q1"]


def test_neighbours_stand_as_near_as_can_be_to_where_they_want() -> None:
    assert apart([0, 0, 10], [1, 1, 1], [4, 4]) == [-2, 2, 10]
    assert apart([0, 0], [3, 1], [4]) == [-1, 3]
    assert apart([], [], []) == []


def test_a_long_word_is_broken_and_a_long_text_cut() -> None:
    assert wrapped("inside-mortar-wall", 14) == ["inside-mortar-", "wall"]
    assert wrapped("x" * 25, 10) == ["x" * 10, "x" * 10, "x" * 5]
    assert wrapped("one two three four", 8, most=2) == ["one two", "three…"]
    assert wrapped("", 8) == [""]
    assert max(map(columns, wrapped("面 " * 30, 9))) <= 9


# What the drawing says of itself


def written(width: float, height: float, size: float) -> str:
    return f'<svg xmlns="" width="{width}" height="{height}"><text x="1" font-size="{size}">a</text><text font-size="40">b</text></svg>'


@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize(
    ("sides", "says"),
    [
        # 200 × 287 mm are 566.9 × 813.5 pt
        ((566.9, 813.5), "on A4 paper: its smallest print is 12 pt"),
        ((1133.0, 1600.0), "on A4 paper: its smallest print is 6 pt"),
        ((1134.9, 1600.0), "on A3 paper: its smallest print is 9 pt"),
        ((100.0, 1630.0), "on A3 paper: its smallest print is 9 pt"),
        ((4000.0, 9000.0), "even on A0 its smallest print is 4.5 pt"),
    ],
)
def test_the_smallest_sheet_that_can_be_read_is_named(
    sides: tuple[float, float], says: str, turned: bool
) -> None:
    first, second = sides[::-1] if turned else sides
    assert says in paper_for(written(first, second, 12))


def test_the_legend_shows_only_what_is_drawn() -> None:
    def legend(body: str) -> str:
        return drawn(load_text(whole(body, "q"), "small.toml"), "svg")

    together, goes_on = "answers in a box all lead the same way", "the way goes on at the step named"
    one_way = legend(choice("q", "a > r", "b > end") + choice("r", "c > end", "d > end"))
    assert together in one_way
    split = legend(choice("q", "a > end", "b > verdict:open"))
    assert together not in split
    assert goes_on not in split
    assert goes_on in drawn(load("joint"), "svg")
