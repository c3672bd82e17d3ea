"""Prove the installed trees, and write down the digests under which they passed: `python -m tests.prove`."""

from __future__ import annotations

import tomli_w

from assistant.session.prove import SHIPPED, work_out
from assistant.tree.installed import installed_ids
from assistant.tree.load import load

HEAD = "# The installed trees that passed their proofs, by digest. Written by `python -m tests.prove`.\n"


def proven() -> str:
    """The file as it should be; a tree that does not pass is left out."""
    trees = [load(name) for name in installed_ids()]
    digests = {tree.id: tree.digest for tree in trees if work_out(tree).proven}
    return HEAD + tomli_w.dumps({"format": 1, "proven": digests})


if __name__ == "__main__":
    SHIPPED.write_text(proven(), encoding="utf-8")
