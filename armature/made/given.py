"""Steel first: members that exist before anything is planned, from points measured along each.

Size letters: G given members, P points of one. Lengths are mm, on the setting-out grid: x east, y north, z up, the foot
of the trunk at the origin.
"""

from __future__ import annotations

import re
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from armature.edge import CommissionError
from armature.made.fitting import shape_of
from armature.made.measures import Offsets
from armature.made.tables import Row, read_table
from armature.tree import (
    BRANCH,
    LIMB,
    TRUNK,
    TWIG,
    Chains,
    Floats,
    Tapers,
    Tree,
    bend_list,
    bent,
    chain,
    locate,
    no_leaves,
    row_norms,
)

if TYPE_CHECKING:
    from armature.commission import Anvil

_TAG = re.compile(r"T|[A-Z]{1,2}|(?:T|[A-Z]{1,2})\d{2,3}|(?:T|[A-Z]{1,2})\d{2,3}-\d{1,3}")
# A corner is drawn where the points leave the straight between two others by more than this, mm, or this share.
_STRAY, _STRAY_SHARE = 6.0, 0.006
_MOST_BENDS, _MOST_POINTS = 8, 400
_HEAD = 1000  # bytes
# The foot of the trunk lies at the origin, and a child begins on its parent, within so many mm.
_FOOT, _AWAY = 30.0, 60.0
_EAST, _CHALK = np.array([[1.0, 0.0, 0.0]]), np.array([[0.0, 1.0, 0.0]])
# How far a bar may be from the corners first drawn through its points: they are only where the fit begins.
_FREE = {"bend": 20.0, "turn": 40.0, "feed": 120.0, "drawn": 0.1}


def is_given(path: Path) -> bool:
    """Return whether a file is a table of given members, by its headings."""
    if not path.is_file() or path.suffix.lower() != ".csv":
        return False
    with path.open("rb") as stream:
        head = stream.readline(_HEAD).decode("utf-8-sig", "replace").lower()
    return "tag" in head and "diameter" in head


def given_steel(path: Path, bars: tuple[float, ...], anvil: Anvil) -> Tree:
    """Return the members that a table of points tells: `tag,x,y,z,diameter`, points from START to the tip.

    bars: diameters on hand, mm, for what the shop would have made each from. A tag says the member's rank and its
    parent. Raises FileError for a file that is no table, CommissionError naming the line for what cannot be a tree: a
    parent that is missing, a member that begins off its parent, a bar that gets thicker toward its tip.
    """
    kinds = {"tag": "text", "x": "length", "y": "length", "z": "length", "diameter": "length"}
    rows = read_table(path, kinds, ("tag", "x", "y", "z", "diameter"))  # type: ignore[arg-type]
    members: dict[str, list[Row]] = {}
    for row in rows:
        tag = row.texts["tag"]
        if not _TAG.fullmatch(tag):
            raise CommissionError(f"{row.where}: tag", "must be as stamped: T, A, A07 or A07-12", tag)
        members.setdefault(tag, []).append(row)
    if "T" not in members:
        raise CommissionError(str(path), "must hold the trunk, T")
    order = sorted(members, key=lambda tag: (_rank(tag), len(tag), tag))
    tree = None
    for tag in order:
        tree = _with(tree, tag, members[tag], bars, anvil)
    assert tree is not None
    return tree


def _rank(tag: str) -> int:
    if "-" in tag:
        return TWIG
    if tag == "T":
        return TRUNK
    return BRANCH if tag[-1].isdigit() else LIMB


def _parent(tag: str) -> str:
    return tag.rsplit("-", 1)[0] if "-" in tag else (tag.rstrip("0123456789") if tag[-1].isdigit() else "T")


def _with(tree: Tree | None, tag: str, rows: list[Row], bars: tuple[float, ...], anvil: Anvil) -> Tree:
    """Return the tree with one more member."""
    points = np.array([[row.figures[axis] for axis in "xyz"] for row in rows], dtype=np.float64)
    sizes = np.array([row.figures["diameter"] for row in rows], dtype=np.float64)
    _check(tag, rows, points, sizes)
    parent, station, place = -1, 0.0, points[0]
    if tree is None:
        if float(np.linalg.norm(points[0])) > _FOOT:
            raise CommissionError(rows[0].where, "the trunk begins at the origin of the grid", rows[0].texts["x"])
    else:
        name = _parent(tag)
        if name not in tree.rows:
            raise CommissionError(f"{rows[0].where}: tag", f"needs its parent {name} in the table", tag)
        parent = tree.rows[name]
        station, place = _joint(tree, parent, points, rows[0])
    chains = bar_through(points, anvil)
    setback = 0.0
    if tree is not None:
        chains, setback = _on_skin(tree, parent, station, place, chains)
    return _joined(tree, tag, parent, station, setback, chains, _tapers(points, sizes), _stock(float(sizes[0]), bars))


def _check(tag: str, rows: list[Row], points: Floats, sizes: Floats) -> None:
    if not 2 <= len(rows) <= _MOST_POINTS:
        raise CommissionError(rows[0].where, f"{tag} needs 2 to {_MOST_POINTS} points from START to its tip", len(rows))
    if (row_norms(np.diff(points, axis=0)) < 1.0).any():
        raise CommissionError(rows[0].where, f"points of {tag} must be more than 1 mm apart")
    if sizes.min() < 1.0:
        raise CommissionError(
            f"{rows[int(sizes.argmin())].where}: diameter", "must be at least 1 mm", float(sizes.min())
        )
    rise = np.diff(sizes)
    if rise.max() > 0.02 * sizes.max() + 0.5:
        at = int(rise.argmax()) + 1
        rule = f"{tag} gets thicker toward its tip: points go from START to the tip"
        raise CommissionError(f"{rows[at].where}: diameter", rule, rows[at].texts["diameter"])


def _joint(tree: Tree, parent: int, points: Floats, row: Row) -> tuple[float, Floats]:
    """Return where on its parent a member leaves: the station and place nearest to the line of its beginning."""
    stations = np.linspace(0.0, float(tree.lengths[parent]), 801)
    line = locate(tree.chains, np.full(len(stations), parent), stations)[0]
    way = points[1] - points[0]
    way /= np.linalg.norm(way)
    back = points[0] - line
    along = np.clip(back @ way, 0.0, None)
    off = row_norms(back - along[:, None] * way)
    thick = tree.diameters_at(np.full(len(stations), parent), stations)
    near = row_norms(back) < thick + _AWAY
    if not near.any():
        rule = f"begins {row_norms(back).min():.0f} mm from the middle of its parent {tree.tags[parent]}"
        raise CommissionError(row.where, rule, row.texts["tag"])
    at = int(np.argmin(np.where(near, np.round(off, 6), np.inf)))
    return float(stations[at]), line[at]


def bar_through(points: Floats, anvil: Anvil) -> Chains:
    """Return points (P, 3) mm as a chain of straights and arcs, from the first to the last of them."""
    return _through(np.ascontiguousarray(points, dtype=np.float64).tobytes(), anvil)


@lru_cache(maxsize=4096)
def _through(content: bytes, anvil: Anvil) -> Chains:
    """Fitted once: those who look for the best seat ask for the same bar again and again."""
    points = np.frombuffer(content).reshape(-1, 3)
    chord = points[-1] - points[0]
    long = float(np.linalg.norm(chord))
    corners = _corners(points, max(_STRAY, _STRAY_SHARE * long))
    if len(corners) == 2:
        return chain(points[[0, -1]], [0.0, 0.0])
    first = chain(points[corners], np.zeros(len(corners)))
    half = np.tan(np.maximum(first.bends[:-1], 1e-6) / 2.0)
    radii = 0.4 * np.minimum(first.sides[:-1], first.sides[1:]) / half
    rounded = chain(points[corners], [0.0, *radii.tolist(), 0.0])
    base = chord / long
    side = np.eye(3)[int(np.argmin(np.abs(base)))]
    side = side - (side @ base) * base
    side /= np.linalg.norm(side)
    local = (points - points[0]) @ np.stack([base, side, np.cross(base, side)]).T
    inner = local[1:-1][np.concatenate([[True], np.diff(local[1:-1, 0]) > 1.0])] if len(local) > 2 else local[:0]
    read = np.concatenate([inner, [[long, 0.0, 0.0]]])
    own = Offsets("", read[:, 0], read[:, 1], read[:, 2], np.full(len(read), np.nan), "")
    shape = shape_of(bend_list(rounded), anvil.model_copy(update=_FREE), own, ())
    bar = bent(shape.bends, np.zeros((1, 3)), _EAST, _CHALK)
    return _laid(bar, points)


def _laid(bar: Chains, points: Floats) -> Chains:
    """Return a bar turned about its START so that it lies along the points: Kabsch's rotation by share of length."""
    along = np.concatenate([[0.0], np.cumsum(row_norms(np.diff(points, axis=0)))])
    own = locate(bar, np.zeros(len(points), dtype=np.int64), along / along[-1] * bar.lengths[0])[0]
    u, _, vt = np.linalg.svd(own.T @ (points - points[0]))
    turn = vt.T @ np.diag([1.0, 1.0, np.sign(np.linalg.det(vt.T @ u.T)) or 1.0]) @ u.T
    return Chains(bar.offsets, bar.vertices @ turn.T + points[0], bar.radii)


def _corners(points: Floats, stray: float) -> list[int]:
    """Return the points at which a line is to bend, ends included: Douglas and Peucker, Cartographica 10, 1973, from
    memory; a larger stray where that gives more bends than a bar has."""
    while True:
        keep = [0, len(points) - 1]
        at = 0
        while at < len(keep) - 1:
            first, last = keep[at], keep[at + 1]
            base = points[last] - points[first]
            base = base / max(float(np.linalg.norm(base)), 1e-9)
            away = points[first : last + 1] - points[first]
            off = row_norms(away - (away @ base)[:, None] * base)
            far = int(np.argmax(np.round(off, 6)))
            if off[far] > stray:
                keep.insert(at + 1, first + far)
            else:
                at += 1
        if len(keep) - 2 <= _MOST_BENDS:
            return keep
        stray *= 1.4


def _on_skin(tree: Tree, parent: int, station: float, place: Floats, chains: Chains) -> tuple[Chains, float]:
    """Return a bar whose axis leaves its parent's middle at `place`, beginning at the skin, and its setback mm."""
    vertices = chains.vertices.copy()
    axis = vertices[1] - place
    reach = float(np.linalg.norm(axis))
    axis = axis / reach
    _, tangent, _ = locate(tree.chains, [parent], [station])
    sine = float(np.sqrt(max(1.0 - float(axis @ tangent[0]) ** 2, 0.05)))
    setback = min(float(tree.diameters_at([parent], [station])[0]) / 2.0 / sine, 0.8 * reach)
    vertices[0] = place + setback * axis
    return Chains(chains.offsets, vertices, chains.radii), setback


def _tapers(points: Floats, sizes: Floats) -> Tapers:
    """Return the diameters along a bar as they were read; nothing gets thicker toward the tip."""
    falling = np.minimum.accumulate(sizes)
    along = np.concatenate([[0.0], np.cumsum(row_norms(np.diff(points, axis=0)))])
    return Tapers(np.array([0, len(sizes) - 1]), along[:-1], falling[:-1], falling[-1:], np.zeros(1))


def _stock(size: float, bars: tuple[float, ...]) -> float:
    return min([bar for bar in bars if bar >= size - 0.1], default=size)


def _joined(
    tree: Tree | None, tag: str, parent: int, station: float, setback: float, chains: Chains, tapers: Tapers, bar: float
) -> Tree:
    one = Tree(
        tags=np.array([tag]),
        ranks=np.array([_rank(tag)]),
        parents=np.array([parent]),
        chains=chains,
        tapers=tapers,
        stations=np.array([station]),
        setbacks=np.array([setback]),
        stock_diameters=np.array([bar]),
        walls=np.zeros(1),
        departures=np.zeros(1),
        leaves=no_leaves(),
    )
    if tree is None:
        return one
    return tree.grafted(one)
