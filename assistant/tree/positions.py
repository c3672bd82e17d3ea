"""Where everything stands in a TOML file: tables, keys and values, as offsets into its text.

The outline grows as the file is scanned and keeps TOML's rule that nothing is said twice: whatever would
overwrite or reopen something already there is refused with `Taken`, which knows where the first one stands.
"""

from __future__ import annotations

from bisect import bisect_right
from enum import Enum, auto

from assistant.tree.mistakes import Place

__all__ = ["Key", "Lines", "Made", "Node", "Taken", "add_list_table", "add_table", "add_value"]

Key = list[tuple[str, int]]
"""A dotted key: its parts, each with the offset at which it stands."""


class Made(Enum):
    """How a node came to be, which decides what may be added to it."""

    HEADER = auto()
    IMPLIED = auto()
    """A table named only on the way to a deeper one, by a header."""
    DOTTED = auto()
    """The same, by a dotted key."""
    LIST = auto()
    """A list of tables, each opened with double brackets."""
    VALUE = auto()


class Node:
    """One table, list or value: the offset of its key, the offset of itself, and what it holds."""

    __slots__ = ("at", "inside", "items", "key", "made")

    def __init__(self, made: Made, key: int, at: int) -> None:
        self.made = made
        self.key = key
        self.at = at
        self.inside: dict[str, Node] | None = None
        self.items: list[Node] | None = None

    def step(self, part: str | int) -> Node | None:
        """Give what stands under a key or at an index; None where there is nothing."""
        if isinstance(part, str):
            return self.inside.get(part) if self.inside is not None else None
        if self.items is None or not 0 <= part < len(self.items):
            return None
        return self.items[part]

    @classmethod
    def table(cls, made: Made, key: int, at: int) -> Node:
        """Make an empty table."""
        node = cls(made, key, at)
        node.inside = {}
        return node


class Taken(Exception):
    """Something of this name is there already."""

    def __init__(self, part: int, earlier: Node) -> None:
        super().__init__()
        self.part = part
        """Which part of the new key names it, counted from 0."""
        self.earlier = earlier


def _open(table: Node, name: str) -> dict[str, Node]:
    """Give what a table holds; only tables are ever asked."""
    assert table.inside is not None, name
    return table.inside


def _descend(root: Node, key: Key, at: int) -> Node:
    """Follow all parts of a header's key but the last, making tables where there are none."""
    table = root
    for number, (name, offset) in enumerate(key[:-1]):
        inside = _open(table, name)
        found = inside.get(name)
        if found is None:
            found = inside[name] = Node.table(Made.IMPLIED, offset, at)
        elif found.made is Made.VALUE:
            raise Taken(number, found)
        elif found.made is Made.LIST and found.items:
            found = found.items[-1]
        table = found
    return table


def add_table(root: Node, key: Key, at: int) -> Node:
    """Add the table that a `[header]` opens."""
    table = _descend(root, key, at)
    name, offset = key[-1]
    inside = _open(table, name)
    found = inside.get(name)
    if found is None:
        found = inside[name] = Node.table(Made.HEADER, offset, at)
    elif found.made is Made.IMPLIED:
        found.made, found.key, found.at = Made.HEADER, offset, at
    else:
        raise Taken(len(key) - 1, found)
    return found


def add_list_table(root: Node, key: Key, at: int) -> Node:
    """Add the table that a `[[header]]` opens at the end of its list."""
    table = _descend(root, key, at)
    name, offset = key[-1]
    inside = _open(table, name)
    found = inside.get(name)
    if found is None:
        found = inside[name] = Node(Made.LIST, offset, at)
        found.items = []
    if found.made is not Made.LIST or found.items is None:
        raise Taken(len(key) - 1, found)
    element = Node.table(Made.HEADER, offset, at)
    found.items.append(element)
    return element


def add_value(table: Node, key: Key, value: Node) -> None:
    """Put a value into a table, under a key whose dots open tables on the way."""
    for number, (name, offset) in enumerate(key[:-1]):
        inside = _open(table, name)
        found = inside.get(name)
        if found is None:
            found = inside[name] = Node.table(Made.DOTTED, offset, offset)
        elif found.made is Made.IMPLIED:
            found.made = Made.DOTTED
        elif found.made is not Made.DOTTED:
            raise Taken(number, found)
        table = found
    name, _ = key[-1]
    inside = _open(table, name)
    if name in inside:
        raise Taken(len(key) - 1, inside[name])
    inside[name] = value


class Lines:
    """The line starts of a text, to turn an offset into a place."""

    def __init__(self, text: str) -> None:
        self._starts = [0]
        end = text.find("\n")
        while end >= 0:
            self._starts.append(end + 1)
            end = text.find("\n", end + 1)

    def place(self, offset: int) -> Place:
        """Give the line and column of an offset."""
        line = bisect_right(self._starts, offset)
        return Place(line, offset - self._starts[line - 1] + 1)
