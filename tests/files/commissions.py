"""A commission of our own invention for the tests of records."""

from __future__ import annotations

from armature.commission import Commission, read


def gate_rowan() -> Commission:
    """Return a small commission; the tree that goes with it in a test is another matter."""
    return read('title = "Gate rowan"\ncanopy.height = "3 m"\ngrowth = {limbs = 3, branches = 12, twigs = 90}\n')
