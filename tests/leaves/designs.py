"""Designs for the leaves' tests: drawn ones, and a plain square whose answers are known."""

from functools import cache

import numpy as np

from armature.leaves.outline.arcs import Path
from armature.leaves.outline.forms import DEFAULT_FORMS, drawn_form
from armature.leaves.outline.outlines import Design, designed


def square(side: float = 50.0, number: int = 1, eye: float = 4.0) -> Design:
    """Return a square that hangs from an eye 10 mm under the middle of its upper side, no veins."""
    half = side / 2
    ring = np.array([[-half, 10.0 - side], [half, 10.0 - side], [half, 10.0], [-half, 10.0]])
    return Design(number, "square", Path(ring, np.zeros(4)), eye, (), (side, side))


def drawn_family(count: int = 9, length: float = 75.0, seed: int = 7) -> tuple[Design, ...]:
    """Return drawn designs of the usual forms."""
    names = [DEFAULT_FORMS[k % len(DEFAULT_FORMS)] for k in range(count)]
    return tuple(designed(drawn_form(n, length, seed, k), k, 3.0, 2.0) for k, n in enumerate(names, 1))


# Designs are frozen, and drawn once for all tests of a process.
family = cache(drawn_family)
