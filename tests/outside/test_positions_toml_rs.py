"""Places against those that toml-rs gives, which reads with the parser of Cargo."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings

from assistant.tree.toml import Document, parse
from tests.tree.documents import Written, documents

toml_rs = pytest.importorskip("toml_rs")

TREES = sorted((Path(__file__).parents[2] / "trees").rglob("*.toml"))


def start(node: dict[str, Any], part: str, lines: list[str]) -> tuple[int, int]:
    """Give the line and column at which toml-rs sees a key or value; its columns count bytes."""
    line, column = node[f"{part}_line"], node[f"{part}_col"]
    line = line[0] if isinstance(line, tuple) else line
    column = column[0] if isinstance(column, tuple) else column
    return line, len(lines[line - 1].encode()[: column - 1].decode()) + 1


def compare(document: Document, node: Any, path: tuple[str | int, ...], lines: list[str]) -> int:
    """Compare the places of all that stands under a node of toml-rs; give how many there were."""
    if isinstance(node, list):
        return sum(compare(document, inner, (*path, number), lines) for number, inner in enumerate(node))
    if "value" not in node:
        return sum(compare(document, inner, (*path, name), lines) for name, inner in node.items())
    count = 0
    for part in ("value", "key"):
        if f"{part}_line" in node:
            place = document.place(path, key=part == "key")
            assert place is not None
            assert (place.line, place.column) == start(node, part, lines), path
            count += 1
    value = node["value"]
    return count + (compare(document, value, path, lines) if isinstance(value, dict | list) else 0)


def compared(text: str) -> int:
    """Compare every place in a text."""
    nodes = toml_rs.load_with_metadata(text, toml_version="1.0.0").meta["nodes"]
    return compare(parse(text, "made.toml", lists=()), nodes, (), text.split("\n"))


@settings(max_examples=50, deadline=None, suppress_health_check=list(HealthCheck))
@given(documents())
def test_places_are_those_of_toml_rs(written: Written) -> None:
    compared(written.text.replace("\r\n", "\n"))


@pytest.mark.parametrize("tree", TREES, ids=lambda tree: tree.name)
def test_places_in_our_own_files_are_those_of_toml_rs(tree: Path) -> None:
    assert compared(tree.read_text(encoding="utf-8"))
