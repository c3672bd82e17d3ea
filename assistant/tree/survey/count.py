"""How many ways lead from each node to each end, by what is found on them: dynamic programming over exact whole numbers.

Invariant: what is counted is ways, never answers: a way is the row taken at every step it passes, and an answer "not sure"
that the author did not decide is one way for each answer it leaves possible.
"""

from __future__ import annotations

from collections.abc import Mapping

from assistant.tree.survey.graph import Exit, Graph, Node, Survey, TooMany

__all__ = ["Same", "count", "counts_at", "fill"]

COMPARING = 100
"""What it costs to see what a combination of findings comes to, in additions."""
MOST_DIGITS = 200_000
"""Binary digits of a count: eaches within eaches make numbers that take longer to multiply than all else together."""


def fill(survey: Survey, graph: Graph) -> dict[int, int]:
    """Count the ways from the root of a graph, once."""
    if graph.counted is None:
        graph.counted = count(survey, graph)[graph.root]
    return graph.counted


def count(survey: Survey, graph: Graph, keep: bool = False) -> dict[Node | Exit, dict[int, int]]:
    """Count the ways from each node of a graph.

    A key is the packed findings, with the number of the exit above them. What was counted from a node is let go as soon
    as nothing more leads to it, since the numbers are long, unless it is to be kept.
    """
    width = survey.bits.width
    same = Same(survey, graph)
    counted: dict[Node | Exit, dict[int, int]] = {
        exit_: {same[(index + 1) << width]: 1} for index, exit_ in enumerate(graph.exits)
    }
    for node, edges in reversed(graph.edges.items()):
        whole: dict[int, int] = {}
        work = 1
        for edge in edges:
            onward, move = counted[edge.to], edge.move
            if move.spread is not None:
                work += len(onward) * len(move.spread)
                for bits, ways in move.spread.items():
                    for key, many in onward.items():
                        joined = same[key | bits]
                        whole[joined] = whole.get(joined, 0) + many * ways
                if max(whole.values(), default=0).bit_length() > MOST_DIGITS:
                    raise TooMany
            elif not move.bits and not whole:
                work += 1
                whole = onward if len(edges) == 1 else onward.copy()
            else:
                work += len(onward)
                bits = move.bits
                for key, many in onward.items():  # most of all the time is spent here
                    joined = same[key | bits]
                    whole[joined] = whole[joined] + many if joined in whole else many
        survey.spend(work)
        counted[node] = whole
        for onto in graph.first_from.get(node, ()) if not keep else ():
            del counted[onto]
    return counted


class Same(dict[int, int]):
    """For each key the one that stands for it: in the whole tree those that come to the same verdict are made one."""

    def __init__(self, survey: Survey, graph: Graph) -> None:
        super().__init__()
        self.survey = survey
        self.width = survey.bits.width
        self.bits = survey.bits
        self.exact = not survey.loose and not survey.wide
        whole = graph.frame.tree is survey.tree
        self.merged = {n for n, exit_ in enumerate(graph.exits, 1) if whole and exit_.end == "end"}

    def __missing__(self, key: int) -> int:
        number = key >> self.width
        found = key
        if number in self.merged:
            self.survey.spend(COMPARING)
            found = number << self.width | self.bits.alike(key & ((1 << self.width) - 1), self.exact)
        self[key] = found
        return found


def counts_at(survey: Survey, graph: Graph) -> Mapping[Exit, Mapping[int, int]]:
    """What is found on the ways to each exit of a graph, in how many ways."""
    if graph.at_exits is None:
        width = survey.bits.width
        mask = (1 << width) - 1
        exits = list(graph.exits)
        found: dict[Exit, dict[int, int]] = {exit_: {} for exit_ in exits}
        for key, ways in fill(survey, graph).items():
            found[exits[(key >> width) - 1]][key & mask] = ways
        graph.at_exits = {exit_: spread for exit_, spread in found.items() if spread}
    return graph.at_exits
