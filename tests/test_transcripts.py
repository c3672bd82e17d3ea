"""The demo consultations, held anew and replayed: what is shown in transcripts_demo/ is what the program says."""

from __future__ import annotations

from pathlib import Path

import pytest

from assistant.session.judge import judge
from assistant.session.record import read_record
from tests.transcripts import DEMO, SCRIPTS, talk


@pytest.mark.parametrize("name", SCRIPTS)
def test_the_demo_is_what_the_program_says_today(name: str, tmp_path: Path) -> None:
    text, record = talk(name, tmp_path)
    assert text == (DEMO / f"{name}.txt").read_text(encoding="utf-8")
    assert record == (DEMO / f"{name}.toml").read_text(encoding="utf-8")


@pytest.mark.parametrize("name", SCRIPTS)
def test_the_record_replays_to_the_outcome_it_tells(name: str) -> None:
    record = read_record(DEMO / f"{name}.toml")
    judgement = judge(record.session)
    told = (DEMO / f"{name}.toml").read_text(encoding="utf-8")
    assert record.lost == ()
    assert judgement.outcome is not None
    assert f'outcome = "{judgement.outcome}"' in told
    if judgement.verdict is not None:
        assert f'verdict = "{judgement.verdict.id}"' in told


def test_every_file_of_the_demo_has_its_script() -> None:
    assert {path.stem for path in DEMO.glob("*.t*")} == set(SCRIPTS)
