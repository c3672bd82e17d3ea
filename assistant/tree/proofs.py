"""Whether a tree has passed its proofs: looked up for the installed ones, worked out for any other.

Invariant: the installed trees ship the digests under which they passed; a tree that differs by one byte, or that
visits one that does, is proved anew.
"""

from __future__ import annotations

from typing import NamedTuple

from assistant.tree.installed import installed_folder
from assistant.tree.mistakes import Mistake
from assistant.tree.tree import Tree

__all__ = ["SHIPPED", "Proof", "prove"]

SHIPPED = installed_folder() / "tables" / "proven.toml"


class Proof(NamedTuple):
    """What the proofs came to: complaints, and whether nothing is left in doubt."""

    complaints: list[Mistake]
    proven: bool


def prove(tree: Tree) -> Proof:
    """Prove a tree, or look up that it was proved."""
    if tree.installed and _shipped().get(tree.id) == tree.digest:
        return Proof([], True)
    from assistant.tree.check import check
    from assistant.tree.safety import in_doubt

    complaints = check(tree)
    return Proof(complaints, not complaints and not in_doubt(tree))


def _shipped() -> dict[str, object]:
    import tomllib

    try:
        proven = tomllib.loads(SHIPPED.read_text(encoding="utf-8"))["proven"]
    except (OSError, ValueError, KeyError):
        return {}
    return proven if isinstance(proven, dict) else {}
