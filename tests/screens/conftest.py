"""What the screens' tests share."""

import pytest


@pytest.fixture(autouse=True)
def watchful(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the pilot look more often whether the app is idle: most of a test would be waiting otherwise."""
    monkeypatch.setattr("textual._wait.SLEEP_GRANULARITY", 0.004)
