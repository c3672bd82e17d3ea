"""The graph of a tree against one computed naively from its file, and the DOT text read back by another parser."""

from __future__ import annotations

import html
import re
import tomllib
from pathlib import Path
from random import Random
from typing import Any

import networkx as nx
import pydot
import pytest

from assistant.tree.load import installed_folder, load
from assistant.tree.picture import drawn
from assistant.tree.picture.graph import Chart, chart
from assistant.tree.picture.labels import box_lines, edge_lines
from assistant.tree.tree import Tree
from tests.growing import grow
from tests.outside.test_engine_oracle import loaded

TREES = Path(__file__).parents[1] / "trees"
FILES = [*sorted(installed_folder().glob("*.toml")), *sorted(TREES.glob("*.toml"))]


def naive(data: dict[str, Any]) -> nx.MultiDiGraph:
    """Every row of a tree's file as an edge of its own, read with nothing of ours."""
    graph = nx.MultiDiGraph()
    for kind in ("question", "recall", "working", "visit", "each"):
        for name, step in data.get(kind, {}).items():
            graph.add_node(name)
            ways = [
                row.get("then", step.get("then")) for row in (*step.get("answer", ()), *step.get("band", ()))
            ]
            unnamed = not ways
            if kind == "recall" and "then" in step and not step.get("band"):
                asked = data["question"][step["question"]]
                unnamed = {row["id"] for row in asked.get("answer", ())} != {
                    row["id"] for row in step.get("answer", ())
                }
                unnamed = unnamed or not asked.get("answer")
            if unnamed:
                ways.append(step.get("then"))
            ways.append(step.get("not-sure", {}).get("then"))
            graph.add_edges_from((name, way) for way in ways if way)
    graph.add_nodes_from(f"verdict:{verdict['id']}" for verdict in data.get("verdict", ()))
    if "end" in graph:
        graph.add_edges_from(("end", f"verdict:{verdict['id']}") for verdict in data.get("verdict", ()))
    return graph


def assert_same(drawing: Chart, wanted: nx.MultiDiGraph) -> None:
    assert set(drawing.nodes) == set(wanted.nodes)
    assert {(edge.source, edge.target) for edge in drawing.edges} == set(nx.DiGraph(wanted).edges)
    assert len(drawing.edges) == len(nx.DiGraph(wanted).edges)
    for edge in drawing.edges:
        decided = [row for row in edge.rows if row.then]
        assert len(decided) == (
            wanted.number_of_edges(edge.source, edge.target) if edge.source != "end" else 0
        )


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_the_graph_is_that_of_the_file(file: Path) -> None:
    assert_same(chart(load(str(file))), naive(tomllib.loads(file.read_text(encoding="utf-8"))))


@pytest.mark.parametrize("seed", range(60))
def test_the_graph_of_a_grown_tree_is_that_of_its_file(seed: int) -> None:
    for tree in grown(seed).family():
        assert_same(chart(tree), naive(tomllib.loads(tree.document.text)))


def grown(seed: int) -> Tree:
    return loaded(grow(Random(seed), 14, simple=False, work=False, answered=0).family)


@pytest.mark.filterwarnings("ignore::DeprecationWarning")  # of the parser's own parser
@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_another_parser_reads_the_same_graph_back(file: Path) -> None:
    tree = load(str(file))
    drawing = chart(tree)
    (read,) = pydot.graph_from_dot_data(drawn(tree, "dot"))
    nodes = {
        unquoted(node.get_name()): node
        for node in read.get_nodes()
        if node.get_name() not in ("graph", "node", "edge")
    }
    assert {name.replace("verdict/", "verdict:") for name in nodes} == set(drawing.nodes)
    for node in drawing.nodes.values():
        assert lines(nodes[node.id.replace(":", "/")].get_label()) == box_lines(node)
    edges = {
        (unquoted(edge.get_source()), unquoted(edge.get_destination())): edge for edge in read.get_edges()
    }
    assert len(edges) == len(read.get_edges()) == len(drawing.edges)
    for edge in drawing.edges:
        label = edges[edge.source, edge.target.replace(":", "/")].get_label()
        assert lines(label) == edge_lines(edge)


def unquoted(text: str) -> str:
    assert text[0] == text[-1] == '"'
    return text[1:-1]


def lines(label: str) -> list[str]:
    """A label as Graphviz shows it."""
    shown = re.sub(r"\\(.)", lambda found: "\n" if found[1] in "nl" else found[1], unquoted(label))
    return html.unescape(shown).removesuffix("\n").split("\n") if shown else []
