"""The survey and the proofs of structure against networkx, on trees in which every row is an edge of a plain graph."""

from __future__ import annotations

from collections.abc import Iterator
from random import Random

import networkx as nx
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.tree.check import check
from assistant.tree.mistakes import Mistake
from assistant.tree.survey.graph import Survey
from assistant.tree.survey.outcomes import by_verdict
from assistant.tree.survey.told import asked_by_every
from assistant.tree.tree import Tree
from tests.writing import choice, number, tree

QUIET = settings(deadline=None, derandomize=True, database=None)
SEEDS = st.integers(0, 2**32 - 1)
ENDS = ("end", "verdict:sound", "verdict:open")
END = "the end"


def drawn(random: Random, steps: int, back: bool) -> tuple[nx.MultiDiGraph, Tree]:
    """A graph of questions, each answer an edge, and the tree that says the same; with `back`, some lead back."""
    graph = nx.MultiDiGraph()
    graph.add_node("q0")
    parts = []
    for step in range(steps):
        here = f"q{step}"
        rows = [onward(random, step, steps, back) for _ in range(random.randint(1, 3))]
        unsure = onward(random, step, steps, back) if random.random() < 0.4 else None
        for then in [*rows, *([unsure] if unsure else [])]:
            graph.add_edge(here, then)
        told = f'then = "{unsure}"' if unsure else None
        if random.random() < 0.7:
            parts.append(choice(here, *(f"a{n} > {then}" for n, then in enumerate(rows)), unsure=told))
        else:
            cuts = [f"below = {n + 1}" for n in range(len(rows) - 1)]
            bands = [f"{cut} > {then}" for cut, then in zip([*cuts, ""], rows, strict=True)]
            parts.append(number(here, *bands, unsure=told))
    return graph, tree("\n".join(parts), "q0")


def onward(random: Random, step: int, steps: int, back: bool) -> str:
    """A step that follows, or an end."""
    if back and random.random() < 0.15:
        return f"q{random.randrange(steps)}"
    where = step + random.choice((1, 1, 1, 2, 2, 3, 5))
    return f"q{where}" if where < steps else random.choice(ENDS)


def joined(graph: nx.MultiDiGraph) -> nx.DiGraph:
    """What can be reached from the first step, all ends led to one."""
    reached = {"q0", *nx.descendants(graph, "q0")}
    found = nx.DiGraph(graph.subgraph(reached))
    found.add_edges_from((end, END) for end in ENDS if end in found)
    return found


@settings(QUIET, max_examples=60)
@given(SEEDS)
def test_ways_are_as_many_as_the_paths_of_the_graph(seed: int) -> None:
    random = Random(seed)
    graph, grown = drawn(random, random.randint(2, 40), back=False)
    paths: dict[str, dict[str, int]] = {end: {end: 1} for end in ENDS}
    for name in reversed(list(nx.topological_sort(graph))):
        if name not in ENDS:
            paths[name] = {end: sum(paths[to].get(end, 0) for _, to in graph.out_edges(name)) for end in ENDS}
    counts = by_verdict(Survey(grown))  # nothing is found: at "end" the first verdict that asks for nothing
    assert counts["sound"] == paths["q0"]["verdict:sound"]
    assert counts["open"] == paths["q0"]["verdict:open"] + paths["q0"]["end"]


@settings(QUIET, max_examples=40)
@given(SEEDS)
def test_ways_are_as_many_as_networkx_lists(seed: int) -> None:
    random = Random(seed)
    graph, grown = drawn(random, random.randint(2, 9), back=False)
    found = nx.MultiDiGraph(graph)
    found.add_edges_from((end, END) for end in ENDS if end in graph)
    listed = list(nx.all_simple_edge_paths(found, "q0", END))
    assert sum(by_verdict(Survey(grown)).values()) == len(listed)


@settings(QUIET, max_examples=60)
@given(SEEDS)
def test_what_every_way_asks_is_what_dominates_the_end(seed: int) -> None:
    random = Random(seed)
    graph, grown = drawn(random, random.randint(2, 25), back=False)
    above = nx.immediate_dominators(joined(graph), "q0")
    dominating, at = [], END
    while at != "q0":
        at = above[at]
        dominating.append(at)
    wanted = [name for name in reversed(dominating) if name.startswith("q")]
    assert asked_by_every(Survey(grown)) == wanted


@settings(QUIET, max_examples=80)
@given(SEEDS)
def test_the_circle_that_is_told_is_one(seed: int) -> None:
    random = Random(seed)
    graph, grown = drawn(random, random.randint(2, 14), back=True)
    told = list(circles(check(grown)))
    assert bool(told) == (not nx.is_directed_acyclic_graph(graph))
    for circle in told:
        assert len(set(circle)) == len(circle)
        assert all(graph.has_edge(a, b) for a, b in zip(circle, circle[1:] + circle[:1], strict=True))


def circles(complaints: list[Mistake]) -> Iterator[list[str]]:
    for complaint in complaints:
        if complaint.code == "goes-round":
            *circle, again = complaint.message.partition(": ")[2].rstrip(".").split(" → ")
            assert circle[0] == again
            yield circle


@settings(QUIET, max_examples=60)
@given(SEEDS, st.booleans())
def test_what_no_way_leads_to_is_what_the_first_step_does_not_reach(seed: int, back: bool) -> None:
    random = Random(seed)
    steps = random.randint(2, 20)
    graph, grown = drawn(random, steps, back)
    told = {complaint.message.split('"')[1] for complaint in check(grown) if complaint.code == "unreachable"}
    assert told == {f"q{n}" for n in range(steps)} - {"q0", *nx.descendants(graph, "q0")}


@settings(QUIET, max_examples=40)
@given(SEEDS)
def test_the_survey_reaches_what_the_graph_reaches_by_the_fewest_answers(seed: int) -> None:
    random = Random(seed)
    graph, grown = drawn(random, random.randint(2, 25), back=False)
    survey = Survey(grown).root
    lengths = nx.single_source_shortest_path_length(graph, "q0")
    found = {}
    for node in survey.edges:
        came, length = survey.comes_from[node], 0
        while came is not None:
            came, length = survey.comes_from[came[0]], length + 1
        found[node.step] = length
    assert found == {name: length for name, length in lengths.items() if name.startswith("q")}
