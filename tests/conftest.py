"""What tests of the conversation share: small trees, a store in a folder of their own, a clock that stands."""

from pathlib import Path

import pytest

from assistant.conversation import Conversation
from assistant.session.store import Store
from assistant.tree.load import load
from assistant.tree.tree import Tree

TREES = Path(__file__).parent / "trees"
NOW = "2026-03-02T09:30:00+00:00"


@pytest.fixture
def small() -> Tree:
    return load(str(TREES / "small.toml"))


@pytest.fixture
def hostile() -> Tree:
    return load(str(TREES / "hostile.toml"))


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return Store(tmp_path)


@pytest.fixture
def conversation(store: Store) -> Conversation:
    return Conversation(store, lambda: NOW)
