"""A tree that changes while it is tried on the screen: what is asked then, what is told, what is shown as wrong."""

from __future__ import annotations

from pathlib import Path

import pytest

from assistant.conversation.trying import Trying
from assistant.screens.earlier import EarlierScreen
from assistant.screens.faults import FaultPane
from assistant.screens.verdict import VerdictScreen
from assistant.screens.watching import Watching
from tests.screens.stage import Stage, on_stage
from tests.test_trying import BROKEN, LOOSE, Bench


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return Bench(tmp_path)


async def look(stage: Stage, bench: Bench) -> None:
    """Let the change on disk come to rest and be seen, and its proofs be gone through."""
    trying = stage.app.conversation
    assert isinstance(trying, Trying)
    watching = stage.talk.query_one(Watching)
    if trying.stirring:
        watching.look()
        bench.clock.now += 2
    watching.look()
    await stage.until(lambda: trying.unproved is None)


async def test_the_question_that_is_due_replaces_the_one_on_the_screen(bench: Bench) -> None:
    async with on_stage(bench.trying) as stage:
        await stage.press("1")
        assert "What is near the terminal?" in stage.seen
        bench.change(('id = "fitting"', 'id = "new"'))
        await look(stage, bench)
        assert "Is it new, or in use?" in stage.seen
        assert "↶ No longer fits  Is it new, or in use? New work." in stage.history
        assert "▸ New work" in stage.history
        await stage.press("1")
        assert "What is near the terminal?" in stage.seen


async def test_what_is_half_typed_stays_with_its_question(bench: Bench) -> None:
    async with on_stage(bench.trying) as stage:
        await stage.press("1", "1", "enter", "4")
        assert stage.talk.entry.value == "4"
        bench.change(("How wide is the gap?", "How wide is it?"))
        await look(stage, bench)
        assert "How wide is it?" in stage.seen
        assert stage.talk.entry.value == "4"
        bench.change(('id = "fitting"', 'id = "new"'))
        await look(stage, bench)
        assert stage.talk.entry.value == ""


async def test_a_key_meant_for_the_question_before_answers_nothing(bench: Bench) -> None:
    async with on_stage(bench.trying) as stage:
        await stage.press("1")
        stage.clock.step = 0.0
        stage.clock.now += 10
        bench.change(('id = "fitting"', 'id = "new"'))
        await look(stage, bench)
        await stage.press("1")
        assert bench.answers == []
        stage.clock.now += 10
        await stage.press("1")
        assert bench.answers == ["situation"]


async def test_that_nothing_changed_for_the_answers_is_said_once(bench: Bench) -> None:
    async with on_stage(bench.trying) as stage:
        for number in range(3):
            bench.change(("To try ", f"To try{number} "), (f"To try{number} ", "To try "))
            bench.change(('edition = "1"', 'edition = "1" '), ("[[verdict]]", "#\n[[verdict]]"))
            await look(stage, bench)
        assert stage.seen.count("The tree was read again: every answer still fits.") == 1


async def test_mistakes_are_shown_above_the_question_until_they_are_mended(bench: Bench) -> None:
    async with on_stage(bench.trying) as stage:
        bench.change(BROKEN)
        await look(stage, bench)
        lines = stage.seen.splitlines()
        at = next(n for n, line in enumerate(lines) if 'then = "gapp"' in line)
        assert lines[at + 1].index("^") == lines[at].index('"gapp"')
        assert 'Did you mean "gap"?' in lines[at + 2]
        assert "the one read before stays in use" in stage.words
        assert "Is it new, or in use?" in stage.seen
        await stage.press("1")
        assert "What is near the terminal?" in stage.seen
        bench.change(BROKEN[::-1])
        await look(stage, bench)
        assert "gapp" not in stage.seen
        assert not stage.talk.faults.display


@pytest.mark.parametrize("size", [(30, 10), (40, 12), (80, 24), (140, 40)])
async def test_with_mistakes_the_question_and_its_answers_stay_in_view(
    bench: Bench, size: tuple[int, int]
) -> None:
    async with on_stage(bench.trying, size=size) as stage:
        bench.change(BROKEN)
        await look(stage, bench)
        assert "✗ 1 fault in the tree" in stage.words
        for wanted in ("Is it new", "New work", "›"):
            assert wanted in stage.seen
        await stage.resize(80, 24)
        assert 'then = "gapp"' in stage.seen


async def test_the_mark_stays_under_its_column_where_the_line_is_cut(bench: Bench) -> None:
    async with on_stage(bench.trying, size=(44, 60)) as stage:
        bench.change(('says = "Every joint is held."', f'says = "{"Every joint is held. " * 3}" x = 1'))
        await look(stage, bench)
        lines = stage.seen.splitlines()
        at = next(n for n, line in enumerate(lines) if line.strip() == "^")
        assert lines[at - 1][lines[at].index("^")] == "x"


async def test_a_mistake_is_text_and_nothing_more(bench: Bench) -> None:
    async with on_stage(bench.trying, size=(100, 50)) as stage:
        bench.change(
            ("[requirement.secure]", '[red]\n[requirement.secure]\n"[/] [@click=app.quit]x" = 1 # `')
        )
        await look(stage, bench)
        assert '"[/] [@click=app.quit]x" = 1' in stage.seen
        assert "red" in stage.words


async def test_a_verdict_that_changes_is_shown_anew(bench: Bench) -> None:
    async with on_stage(bench.trying) as stage:
        await to_the_verdict(stage)
        assert "ACCEPTABLE  It holds" in stage.seen
        bench.change(('title = "It holds"', 'title = "It holds well"'))
        await look(stage, bench)
        assert "ACCEPTABLE  It holds well" in stage.seen
        assert "not passed its proofs" not in stage.seen
        verdict = stage.verdict
        bench.change(BROKEN)
        await look(stage, bench)
        assert stage.app.screen is verdict
        assert verdict.query_one(FaultPane).display
        bench.change(BROKEN[::-1])
        await look(stage, bench)
        assert stage.app.screen is verdict
        assert not verdict.query_one(FaultPane).display
        bench.change(('then = "remark"', 'then = "end"'), LOOSE)
        await look(stage, bench)
        await stage.until(lambda: isinstance(stage.app.screen, VerdictScreen))
        assert "This tree has not passed its proofs" in stage.words
        assert "UNPROVEN TREE · ✓ ACCEPTABLE  It holds well" in stage.seen
        assert stage.verdict.query_one("#headline").has_class("-not-settled")


async def test_from_a_verdict_back_to_a_question_that_is_new(bench: Bench) -> None:
    async with on_stage(bench.trying) as stage:
        await to_the_verdict(stage)
        bench.change(('id = "fitting"', 'id = "new"'))
        await look(stage, bench)
        assert stage.app.screen is stage.talk
        assert "Is it new, or in use?" in stage.seen


async def test_under_an_open_list_the_tree_stays_as_it_is(bench: Bench) -> None:
    async with on_stage(bench.trying) as stage:
        await stage.press("1", "f6")
        assert isinstance(stage.app.screen, EarlierScreen)
        bench.change(('id = "fitting"', 'id = "new"'))
        watching = stage.talk.query_one(Watching)
        watching.look()
        bench.clock.now += 2
        watching.look()
        assert bench.answers == ["situation"]
        await stage.press("escape")
        await look(stage, bench)
        assert bench.answers == []


async def test_a_tree_that_is_not_there_is_waited_for(tmp_path: Path) -> None:
    bench = Bench(tmp_path, "mine")
    async with on_stage(bench.trying) as stage:
        assert "There is no file" in stage.words
        assert "The tree cannot be read yet." in stage.seen
        text = (tmp_path / "small.toml").read_text(encoding="utf-8")
        bench.write(text.replace('id = "small"', 'id = "mine"', 1))
        await look(stage, bench)
        assert "Is it new, or in use?" in stage.seen
        assert "Trial  This is a trial." in stage.history


async def test_one_who_does_not_want_to_wait_reads_it_now(tmp_path: Path) -> None:
    bench = Bench(tmp_path, "mine")
    async with on_stage(bench.trying) as stage:
        text = (tmp_path / "small.toml").read_text(encoding="utf-8")
        bench.write(text.replace('id = "small"', 'id = "mine"', 1))
        bench.watch.take()
        await stage.press("1")
        stage.talk.query_one(Watching).look()
        assert "Is it new, or in use?" in stage.seen
        await stage.until(lambda: not stage.talk.faults.display)


async def test_a_trial_is_saved_by_a_key(bench: Bench) -> None:
    async with on_stage(bench.trying) as stage:
        await stage.press("1", "ctrl+s")
        assert bench.trying.path is not None
        assert bench.trying.path.exists()
        assert "Saved  From here on every answer is kept there as well." in stage.history


async def test_a_trial_is_saved_from_its_verdict(bench: Bench) -> None:
    async with on_stage(bench.trying) as stage:
        await to_the_verdict(stage)
        assert "S Save" in stage.seen
        await stage.press("s")
        assert bench.trying.path is not None
        assert bench.trying.path.exists()


async def to_the_verdict(stage: Stage) -> None:
    await stage.press("1", "1", "enter")
    await stage.type("12")
    await stage.press("1", "enter", "1")
    await stage.type("40")
    await stage.type("all well")
    await stage.until(lambda: isinstance(stage.app.screen, VerdictScreen))
