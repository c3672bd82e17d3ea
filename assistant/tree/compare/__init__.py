"""The exact difference in meaning between two editions of a tree.

Invariant: every pair of verdicts that the same answers reach in both is found. Where a way passes a step that cannot be
followed, or a visit that only one edition makes there, a pair may be found that no real answers reach: it is tried out.
"""

from assistant.tree.compare.difference import Difference, compare

__all__ = ["Difference", "compare"]
