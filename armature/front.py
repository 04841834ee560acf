"""The front door: what `import armature as am` shows, one verb for each step of the work.

Each takes and returns records of the house, and raises ArmatureError in one line for what it cannot use.
"""

from __future__ import annotations

import os
from collections.abc import Collection
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from armature import commission as commissions
from armature.commission import Commission
from armature.edge import ArmatureError as ArmatureError
from armature.edge import CommissionError
from armature.files import design_json
from armature.files import load as loaded
from armature.tree import Tree

if TYPE_CHECKING:
    from armature.look import Verdict
    from armature.make import Made, Plans
    from armature.strength import Assessment

T = TypeVar("T")
Place = str | os.PathLike[str]
_MOST_ROUNDS = 500


def read(source: Place, folder: Place | None = None) -> Commission:
    """Return the commission in a TOML file, or in TOML text of more than one line.

    Names of other files in it are relative to the file's folder, to `folder` for text.

    >>> read('title = "Alder"\\ncanopy.height = "3 m"\\ngrowth = {limbs = 3, branches = 9, twigs = 60}')
    Commission 'Alder': rounded, 3 m high; 3 limbs, 9 branches, 60 twigs, 180 leaves; seed 1
    """
    text = source if isinstance(source, str) else _path("read", source)
    return commissions.read(text, None if folder is None else _path("read", folder))


def grow(commission: Commission) -> Tree:
    """Return the tree of a commission as first grown: neither mended nor made thicker where it would not stand."""
    from armature.grow import grow as grown

    wanted = _is("grow", commission, Commission, "a Commission, as read() gives it")
    with commissions.telling_of(wanted):
        return grown(wanted)


def judge(tree: Tree | Place) -> Verdict:
    """Return what the eye says of a tree, or of a measured one in a file: SWC, or CSV id,parent,x,y,z,radius."""
    from armature.look import judged, read_nodes, skeleton_of_nodes

    if isinstance(tree, Tree):
        return judged(tree)
    return judged(skeleton_of_nodes(read_nodes(_path("judge", tree, "a Tree, or a file of a measured one"))))


def refine(tree: Tree, commission: Commission, made: Collection[str] = (), rounds: int = 40) -> Tree:
    """Return the tree with what spoils its look moved; members whose tags are in `made`, and what carries them, stay.

    rounds: at most so many handfuls of moves are tried.
    """
    from armature.look import refined

    _is("refine", tree, Tree, "a Tree, as grow() gives it")
    _is("refine", commission, Commission, "a Commission, as read() gives it")
    if not isinstance(rounds, int) or isinstance(rounds, bool) or not 1 <= rounds <= _MOST_ROUNDS:
        raise CommissionError("rounds", f"must be a whole number from 1 to {_MOST_ROUNDS}", _short(rounds))
    if isinstance(made, str) or not isinstance(made, Collection) or not all(isinstance(tag, str) for tag in made):
        raise CommissionError("made", "must be tags, as in ['A01', 'A01-3']", _short(made))
    return refined(tree, commission, made, rounds)[0]


def assess(tree: Tree, commission: Commission) -> Assessment:
    """Return whether a tree stands: all checks by member, with nominal leaves of the commission.

    A design aid: local codes rule, and a licensed engineer has to check and sign.
    """
    from armature.strength import assessed

    _is("assess", tree, Tree, "a Tree, as grow() gives it")
    _is("assess", commission, Commission, "a Commission, as read() gives it")
    with commissions.telling_of(commission):
        return assessed(tree, commission)


def plan(commission: Commission, tree: Tree | None = None, plates: bool = False) -> Plans:
    """Return all that `make` decides, with nothing written: tree, look, leaves, strength, shop.

    tree: one of this commission, taken as it stands; grown, mended and made thicker where it must be if there is none.
    plates: whether leaves are laid on plates too, which takes the longest.
    """
    from armature.make import planned

    _is("plan", commission, Commission, "a Commission, as read() gives it")
    if tree is not None:
        _is("plan", tree, Tree, "a Tree, as grow() gives it")
    with commissions.telling_of(commission):
        # No earlier run is looked at: a folder of this name cannot be one.
        return planned(commission, Path(os.devnull) / "none", () if plates else ("plates",), tree=tree)


def make(
    commission: Commission,
    out: Place,
    skip: Collection[str] = (),
    strengthen: bool | None = None,
    tree: Tree | None = None,
) -> Made:
    """Write the whole job folder of a commission, or of a tree of it as it stands, and return what was made.

    skip: parts left out: mending, plates, strength, shop, papers, mesh, pictures. strengthen: whether members that
    fail a check are made thicker; unless said, those of a tree grown here, and a tree that is given stays as it is.
    """
    from armature.make import make as made

    _is("make", commission, Commission, "a Commission, as read() gives it")
    if tree is not None:
        _is("make", tree, Tree, "a Tree, as grow() gives it")
    if isinstance(skip, str) or not isinstance(skip, Collection):
        raise CommissionError("skip", "must be a list of parts, as in ['plates', 'pictures']", _short(skip))
    if not (strengthen is None or isinstance(strengthen, bool)):
        raise CommissionError("strengthen", "must be True, False or None", _short(strengthen))
    return made(commission, _path("make", out, "the path of a job folder"), skip, strengthen=strengthen, tree=tree)


def load(path: Place) -> tuple[Tree, Commission]:
    """Return the Tree and the Commission that a job folder, or its design.json, holds."""
    return loaded(_path("load", path, "a job folder or a design.json"))


def save(tree: Tree, commission: Commission, path: Place) -> Path:
    """Return the file that a design was written to, whole or not at all; it loads back to the same tree.

    A job folder is written by `make` alone: its other files would no longer fit.
    """
    from armature.edge import write_whole

    _is("save", tree, Tree, "a Tree, as grow() gives it")
    _is("save", commission, Commission, "a Commission, as read() gives it")
    file = _path("save", path, "a file such as tree.json")
    if file.suffix.lower() != ".json":
        raise CommissionError("save", "must be given a file that ends in .json", _short(str(path)))
    if file.name == "design.json" and (file.parent / "joints.csv").exists():
        raise CommissionError("save", "does not write into a job folder: use make", _short(str(path)))
    return write_whole(file, design_json(tree, commission).encode())


def _is(verb: str, value: object, kind: type[T], wanted: str) -> T:
    if not isinstance(value, kind):
        raise CommissionError(verb, f"must be given {wanted}", _short(value))
    return value


def _path(verb: str, value: Any, wanted: str = "a path") -> Path:
    try:
        return Path(value)
    except TypeError:
        raise CommissionError(verb, f"must be given {wanted}", _short(value)) from None


def _short(value: object) -> object:
    text = repr(value)
    return value if len(text) <= 60 else f"{text[:60]}…"
