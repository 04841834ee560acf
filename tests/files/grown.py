"""A small grown tree for the tests of meshes: unlike a random one its members are clear of each other."""

from __future__ import annotations

from functools import cache

from armature.commission import Commission, read
from armature.grow import grow
from armature.tree import Tree


@cache
def grown_tree(seed: int = 1, pipe: bool = False) -> tuple[Tree, Commission]:
    """Return a tree of 60 twigs and the commission of our own invention that it was grown from."""
    pipes = '\n[steel]\ntrunk = "pipe"\npipes = [{outside = "60.3 mm", wall = "3.9 mm"}]\n' if pipe else ""
    commission = read(
        f'title = "Sill alder"\nseed = {seed}\ncanopy.height = "2 m"\n'
        f"growth = {{limbs = 3, branches = 10, twigs = 60}}\n{pipes}"
    )
    return grow(commission), commission
