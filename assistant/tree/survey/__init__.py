"""Every way through a tree that some real answers take: proofs, counts, covering sets, differences.

Invariant: what a later recall, working, visit or each looks at is carried along a way, so that an impossible
combination of answers is neither walked nor counted. Where a working gives something that cannot be told from stretches
of numbers, every band of it is taken to be possible, and the survey says that it is not exact.
"""
