"""The outline of a tree: every step once, in an order in which every way leads down, in plain text."""

from __future__ import annotations

import re
from decimal import Decimal
from itertools import pairwise
from pathlib import Path

import pytest
from click.testing import CliRunner

from assistant.cli import command
from assistant.render.outline import outline
from assistant.tree.load import installed_folder, load
from assistant.tree.model import Band
from assistant.tree.picture.measure import columns
from assistant.tree.picture.order import ordered
from assistant.tree.picture.words import rows
from assistant.tree.tree import Tree
from tests.outside.test_picture_dot import grown
from tests.writing import FINDINGS, choice, tree

TREES = Path(__file__).parents[1] / "trees"
FILES = [*sorted(installed_folder().glob("*.toml")), *sorted(TREES.glob("*.toml"))]
STEP = re.compile(r"^( *)(\d+)\. ([a-z][a-z0-9-]*)", re.MULTILINE)


def steps_of(text: str) -> list[tuple[int, str]]:
    """Every step's indent and name, in order."""
    body = text.partition("\nSTEPS\n")[2].partition("\nFINDINGS\n")[0]
    return [(len(found[1]), found[3]) for found in STEP.finditer(body)]


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
@pytest.mark.parametrize("width", [50, 80, 140])
def test_every_step_and_verdict_stands_there_once_and_no_line_runs_over(file: Path, width: int) -> None:
    whole = load(str(file))
    text = outline(whole, width)
    assert sorted(name for _, name in steps_of(text)) == sorted(whole.steps)
    verdicts = re.findall(r"^\d+\. ([a-z0-9-]+)", text.partition("\nVERDICTS\n")[2], re.MULTILINE)
    assert verdicts == [verdict.id for verdict in whole.file.verdict]
    assert max(map(columns, text.splitlines())) <= width
    assert all(line == line.rstrip() for line in text.splitlines())


@pytest.mark.parametrize("seed", range(20))
def test_every_way_leads_down_the_page(seed: int) -> None:
    for whole in grown(seed).family():
        numbers, _, ways, unreached = ordered(whole)
        assert sorted(numbers.values()) == list(range(1, len(whole.steps) + 1))
        for name in set(whole.steps) - unreached:
            assert all(numbers[name] < numbers[way] for way in ways[name] if way in numbers)
        assert unreached or ", above)" not in outline(whole)


def test_a_narrow_page_is_kept() -> None:
    assert max(map(columns, outline(load("through-wall"), 30).splitlines())) <= 30


def test_a_long_run_is_not_moved_in_further_and_further() -> None:
    text = outline(load("through-wall"))
    indents = [indent for indent, _ in steps_of(text)]
    assert len(indents) > 60
    assert max(indents) <= 20
    assert indents.count(0) > 25
    assert all(after - before <= 3 for before, after in pairwise(indents))


def test_joint_reads_as_a_trainer_would_tell_it() -> None:
    text = outline(load("joint"))
    assert text.startswith("One joint of the flue (joint, edition 1)\n")
    assert "Requirements".upper() in text
    assert "Sources: 5 (3 published, 1 common practice, 1 from memory)\n" in text
    assert (
        """
5. held-by (one answer)
   How is this joint held together?
   - Screws [Secure met] → screws-where
   - A clamp [Secure met] → goes on at maker-wants (9, below)
   - Pushed in, nothing more → goes on at maker-wants (9, below)
   - Not sure [Sound not proven] → goes on at maker-wants (9, below)

   6. screws-where
      Looks back at ducts: One pipe inside the other, or two pipes side by side?
"""
        in text
    )
    assert "\n9. maker-wants (one answer), from 5, 7 and 8\n" in text
    assert (
        """
4. joint-right: This joint is sound, and it is held
   Acceptable, when every requirement is met
"""
        in text
    )
    assert "   Not settled, when Sound is met and Secure is not judged\n" in text


def test_workings_visits_and_ends_are_told_in_plain_words() -> None:
    text = outline(load("through-wall"), 200)
    assert (
        "Works out annular-gap (the gap all round a centred flue) from core-diameter and flue-diameter."
        in text
    )
    assert "- Below 5 mm → thin-inside" in text
    assert "Runs the tree joint once for each of joint-count, with ducts as answered here." in text
    assert (
        "Runs the tree sealant once, with situation and inside-face as answered here, where set to inside."
        in text
    )
    assert "→ at once the verdict stop" in text
    assert "and at once from signs" in text
    assert "- Not sure: every answer stays possible" in text
    assert "from every joint, ducts, inside-face" in text


NUMBERS = """
[question.wide]
kind = "measure"
ask = "How wide?"
unit = "mm"
least = 0
most = 100
must-answer = true
[[question.wide.band]]
up-to = 4.5
then = "many"
[[question.wide.band]]
below = 10
says = "Middling"
then = "many"
[[question.wide.band]]
up-to = 20
then = "many"
[[question.wide.band]]
then = "end"
[question.many]
kind = "count"
ask = "How many?"
least = 1
most = 9
must-answer = true
then = "end"
[[question.many.band]]
below = 2
[[question.many.band]]
up-to = 5
[[question.many.band]]
"""


def test_bands_say_where_they_begin_and_end() -> None:
    text = outline(tree(NUMBERS, "wide"))
    assert "- Up to 4.5 mm → many" in text
    assert "- More than 4.5 mm, below 10 mm: Middling → many" in text
    assert "- 10 mm up to 20 mm → many" in text
    assert "- More than 20 mm → end: the first verdict that fits" in text
    assert "      - 1\n      - 2 to 5\n      - 6 to 9\n      → end" in text


def test_a_circle_leads_above_and_a_step_that_nothing_leads_to_says_so() -> None:
    asks = 'kind = "choice"\nask = "What?"\nmust-answer = true\n'
    rows = "".join(
        f'[question.{name}]\n{asks}[[question.{name}.answer]]\nid = "yes"\nsays = "Yes"\nthen = "{then}"\n'
        for name, then in (("one", "two"), ("two", "one"), ("lost", "two"))
    )
    text = outline(tree(rows, "one"))
    assert "goes on at one (1, above)" in text
    assert "lost (one answer, must be answered), which no way leads to" in text


def test_text_stays_text(hostile: Tree) -> None:
    text = outline(hostile)
    assert all(sign.isprintable() or sign == "\n" for sign in text)
    assert "[@click=app.quit]press[/] %s {0} \\033[31m" in text
    assert "[/ What? [red] is this" in text


def test_every_finding_is_told_once_with_its_steps_and_its_reason() -> None:
    text = outline(load("joint"), 200)
    told = text.partition("\nFINDINGS\n")[2].partition("\nVERDICTS\n")[0]
    assert re.findall(r"^- ([a-z0-9-]+) \[", told, re.MULTILINE) == [*load("joint").file.finding]
    assert (
        "- seal-spoiled [Sound not met], likely class At Risk, from 4\n"
        "  The seal is damaged. Products can leak past it.\n"
    ) in told
    assert "- fixing-not-asked-for [advice], from 15\n" in told


def test_a_long_reason_is_told_in_short() -> None:
    short, tail = "It is so. " * 3, "And so on, for a very long while indeed. " * 4
    findings = FINDINGS.replace("It is as it should be.", short + tail.strip())
    text = outline(tree(choice("q", "a ! good > end"), "q", findings=findings), 200)
    assert "  It is so. It is so. It is so. And so on, for a very long while indeed. And" in text
    assert text.partition("- bad ")[0].rstrip().endswith(" …")


def test_a_danger_does_not_read_as_if_all_were_well() -> None:
    assert "[danger: Safe now not met]" in outline(load("through-wall"), 200)


def test_a_code_of_a_working_is_told_in_words() -> None:
    whole = load("through-wall")
    bands = (Band(below=Decimal(1), says="all is held", then="end"), Band(then="end"))
    step = whole.file.working["hold"].model_copy(update={"band": bands})
    assert [row.says for row in rows(whole, step)][:2] == [
        "All is held", "It is not proven for some joint or some joint can part",
    ]  # fmt: skip


def test_the_command_shows_it() -> None:
    ended = CliRunner().invoke(command, ["tree", "joint"])
    assert ended.exit_code == 0
    assert ended.stdout.startswith(outline(load("joint"), 80))


@pytest.mark.parametrize(
    ("form", "begins"), [("svg", "<svg "), ("dot", 'digraph "joint" {'), ("mermaid", "flowchart TD")]
)
def test_the_command_draws_it(form: str, begins: str) -> None:
    ended = CliRunner().invoke(command, ["tree", "joint", "--as", form])
    assert ended.exit_code == 0
    assert ended.stdout.startswith(begins)
