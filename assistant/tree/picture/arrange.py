"""The order of what stands side by side, with few crossings, and where exactly each stands.

Invariant: two neighbours in a layer never touch; the work is bounded, and every tie is broken by the order given.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right, insort
from collections.abc import Callable, Sequence
from itertools import pairwise

from assistant.tree.picture.layers import Slot

__all__ = ["GAP", "apart", "crossings", "placed", "uncrossed"]

ROUNDS = 12
MOST_SLOTS = 6_000
"""Slots of a column beyond which fewer rounds are made."""
MOST_SWAPPED = 60
"""Slots of a layer beyond which neighbours are not tried the other way round."""
GAP = 16.0
"""Least distance between neighbours."""

Layers = list[list[Slot]]


def crossings(upper: Sequence[Slot], lower: Sequence[Slot]) -> int:
    """How many pairs of edges cross between two layers."""
    place = {id(slot): at for at, slot in enumerate(lower)}
    count, seen = 0, list[int]()
    for slot in upper:
        ends = sorted(place[id(one)] for one in slot.below)
        count += sum(len(seen) - bisect_right(seen, end) for end in ends)
        for end in ends:
            insort(seen, end)
    return count


def uncrossed(layers: Layers) -> Layers:
    """The layers, each in an order that makes few crossings with those beside it."""
    best, least = layers, _all(layers)
    rounds = ROUNDS if sum(map(len, layers)) <= MOST_SLOTS else 2
    for round_ in range(rounds):
        if not least:
            break
        down = round_ % 2 == 0
        layers = [list(layer) for layer in layers]
        pairs = range(1, len(layers)) if down else range(len(layers) - 2, -1, -1)
        for at in pairs:
            beside = layers[at - 1 if down else at + 1]
            layers[at] = _by_middle(layers[at], beside, down)
        _swapped(layers)
        count = _all(layers)
        if count < least:
            best, least = layers, count
    return best


def _all(layers: Layers) -> int:
    return sum(map(crossings, layers, layers[1:]))


def _by_middle(layer: list[Slot], beside: list[Slot], down: bool) -> list[Slot]:
    """A layer by the mean place of what each is joined to; what is joined to nothing keeps its place."""
    place = {id(slot): at for at, slot in enumerate(beside)}
    keys: dict[int, float] = {}
    for at, slot in enumerate(layer):
        joined = [place[id(one)] for one in (slot.above if down else slot.below)]
        keys[id(slot)] = sum(joined) / len(joined) if joined else at * len(beside) / len(layer)
    return sorted(layer, key=lambda slot: keys[id(slot)])


def _swapped(layers: Layers) -> None:
    """Turn neighbours round wherever that saves a crossing."""
    for at, layer in enumerate(layers):
        if len(layer) > MOST_SWAPPED:
            continue
        beside = [layers[at - 1]] if at else []
        beside += layers[at + 1 : at + 2]
        place = {id(slot): n for other in beside for n, slot in enumerate(other)}
        for _ in range(2):
            for n in range(len(layer) - 1):
                one, other = layer[n], layer[n + 1]
                if _between(one, other, place) > _between(other, one, place):
                    layer[n], layer[n + 1] = other, one


def _between(left: Slot, right: Slot, place: dict[int, int]) -> int:
    """How many edges of two neighbours cross each other."""
    count = 0
    for ones, others in ((left.above, right.above), (left.below, right.below)):
        ends = sorted(place[id(slot)] for slot in others)
        count += sum(bisect_left(ends, place[id(slot)]) for slot in ones)
    return count


def apart(wanted: Sequence[float], weights: Sequence[float], least: Sequence[float]) -> list[float]:
    """Places as near as can be (in weighted squares) to those wanted, neighbours at least so far apart."""
    offsets = [0.0] if wanted else []
    for distance in least:
        offsets.append(offsets[-1] + distance)
    blocks: list[list[float]] = []  # mean, weight, how many
    for want, weight, offset in zip(wanted, weights, offsets, strict=True):
        blocks.append([want - offset, weight, 1])
        while len(blocks) > 1 and blocks[-2][0] > blocks[-1][0]:
            mean, heavy, count = blocks.pop()
            before = blocks[-1]
            total = before[1] + heavy
            before[0] = (before[0] * before[1] + mean * heavy) / total
            before[1], before[2] = total, before[2] + count
    means = [mean for mean, _, count in blocks for _ in range(int(count))]
    return [mean + offset for mean, offset in zip(means, offsets, strict=True)]


def placed(layers: Layers) -> None:
    """Give every slot its `x`: straight edges first, then short ones."""
    for layer in layers:
        x = 0.0
        for slot in layer:
            slot.x = x + slot.left
            x += slot.left + slot.right + GAP
        for slot in layer:
            slot.x -= x / 2
    rounds = ROUNDS if sum(map(len, layers)) <= MOST_SLOTS else 4
    for round_ in range(rounds):
        for layer in layers if round_ % 2 == 0 else reversed(layers):
            _settled(layer, _above if round_ % 2 == 0 else _below)
    for layer in (*layers, *reversed(layers)):
        _settled(layer, _both)


def _above(slot: Slot) -> list[Slot]:
    return slot.above


def _below(slot: Slot) -> list[Slot]:
    return slot.below


def _both(slot: Slot) -> list[Slot]:
    return [*slot.above, *slot.below]


def _settled(layer: Sequence[Slot], joined: Callable[[Slot], list[Slot]]) -> None:
    wanted, weights = [], []
    for slot in layer:
        pulls = [(_pull(slot, one), one.x) for one in joined(slot)]
        total = sum(pull for pull, _ in pulls)
        wanted.append(sum(pull * x for pull, x in pulls) / total if total else slot.x)
        weights.append(total or 0.1)
    least = [one.right + other.left + GAP for one, other in pairwise(layer)]
    for slot, x in zip(layer, apart(wanted, weights, least), strict=True):
        slot.x = x


def _pull(one: Slot, other: Slot) -> float:
    """How much two joined slots want to stand below each other: edges that pass, the most."""
    return (1, 3, 8)[(not one.node) + (not other.node)]
