"""The steel as meshes for files: tubes with rounded tips, rooted in their parents, that weigh what the bars weigh.

Size letters: M members, R rings, N vertices, F faces. Lengths are mm.

Three things are added to the plain tube of a member. Its root runs on into its parent beyond the heel of its
saddle, so that the joint shows no gap and the bodies unite. Its tip is rounded, inside its length. And rings on a
bend are drawn a trace wider, because the straight sides between them cut the corner: with the angle a between two
rings the piece holds sin(a) / a of the bent bar (its ends turn about one hinge, and its sides are chords).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from armature.tree import (
    Chains,
    Floats,
    Ints,
    Joints,
    Rings,
    Tree,
    Tubes,
    frames,
    heels,
    joints,
    rings,
    row_norms,
    swept,
)

# Farthest that a mesh leaves the bar, mm: less on a tree whose thinnest bars are under 6 mm, which is seen close by.
_COARSEST, _OF_THINNEST = 0.3, 0.05
# A tip's dome: share of its height, and share of the radius left there.
# Rounder tips would take more than 0.05 % of the steel.
_DOME_MM = 1.0
_LEAST_BORE = 0.05
_DOME = np.array([[0.0, 1.0], [0.5, 0.866], [0.866, 0.5], [1.0, 0.2]])


@dataclass(frozen=True, eq=False)
class Skin:
    """Tubes whose vertices and faces stand member by member.

    points: (M + 1,) first vertex of each member, then N. sides: (M + 1,) first face of each, then F.
    """

    tubes: Tubes
    points: Ints
    sides: Ints

    def member(self, row: int) -> tuple[Floats, Ints]:
        """Return one member's vertices (n, 3) mm and its faces (f, 3), rows of those vertices."""
        first = self.points[row]
        faces = self.tubes.faces[self.sides[row] : self.sides[row + 1]] - first
        return self.tubes.vertices[first : self.points[row + 1]], faces


def skin(tree: Tree, listed: Joints | None = None, rooted: bool = True) -> Skin:
    """Return the outside of every member as a closed mesh; a pipe is drawn without its bore and with flat ends.

    listed: the tree's joints, where they are known already. rooted: run each member on into its parent.
    """
    error = _error(tree)
    count = facets(np.maximum.reduceat(tree.tapers.diameters, tree.tapers.offsets[:-1]), error)
    circles = _rounded(tree, rings(tree, error))
    if rooted:
        circles = _with_roots(circles, _roots(tree, joints(tree) if listed is None else listed), tree.start_diameters)
    radii = circles.radii * _evened(count)[circles.members] * np.sqrt(_cut_corners(tree.chains, circles))
    return _sorted(swept(tree.chains, replace(circles, radii=radii), count), len(tree))


def bores(tree: Tree, pipes: Ints) -> Skin:
    """Return the bores of the members that are pipes, rows `pipes` ascending, as closed meshes in that order.

    A bore runs on beyond both ends of its pipe, so that it opens where nothing closes it.
    """
    place = np.full(len(tree), -1, dtype=np.int64)
    place[pipes] = np.arange(len(pipes))
    run = rings(tree, _error(tree))
    inner = run.radii - tree.walls[run.members]
    # A pipe drawn in below twice its wall is closed there.
    own = (place[run.members] >= 0) & (inner > _LEAST_BORE)
    within = Rings(place[run.members[own]], run.stations[own], inner[own])
    start, end = (tree.start_diameters / 2.0 - tree.walls)[pipes], (tree.end_diameters / 2.0 - tree.walls)[pipes]
    closes = tree.tapers.thinner(tree.lengths, pipes, 2.0 * (tree.walls[pipes] + _LEAST_BORE))
    last = np.where(end > _LEAST_BORE, tree.lengths[pipes] + tree.walls[pipes], closes)
    after = Rings(np.arange(len(pipes)), last, np.maximum(end, _LEAST_BORE))
    before = Rings(np.arange(len(pipes)), -tree.start_diameters[pipes], start)
    whole = _merged(_merged(before, within), after)
    chains, count = tree.chains.taken(pipes), facets(tree.start_diameters[pipes], _error(tree))
    radii = whole.radii * _evened(count)[whole.members] * np.sqrt(_cut_corners(chains, whole))
    return _sorted(swept(chains, replace(whole, radii=radii), count), len(pipes))


def facets(diameters: Floats, error: float) -> Ints:
    """Return the corners of each circle (M,): even, 8 to 48, so that its sides leave the round by `error` mm or less.

    >>> facets(np.array([6.35, 50.0]), 0.3).tolist()
    [8, 22]
    """
    share = np.clip(1.0 - error / np.maximum(diameters / 2.0, 1e-9), -1.0, 1.0)
    wanted = np.pi / np.maximum(np.arccos(share), 1e-3)
    return np.asarray(np.clip(2 * np.ceil(wanted / 2.0), 8, 48), dtype=np.int64)


def _error(tree: Tree) -> float:
    return min(_COARSEST, _OF_THINNEST * float(tree.start_diameters.min()))


def _roots(tree: Tree, listed: Joints) -> Floats:
    """Return how far each member runs on behind its start: (M,) mm, just beyond its saddle's heel, 0 for the trunk."""
    big = listed.parent_diameters / 2.0
    heel = heels(tree.start_diameters, listed.parent_diameters, listed.leans, listed.setbacks)
    return np.where(tree.parents >= 0, np.minimum(heel + 0.1 * big, np.maximum(listed.setbacks, big)), 0.0)


def _with_roots(circles: Rings, roots: Floats, diameters: Floats) -> Rings:
    rows = np.flatnonzero(roots > 0.0)
    return _merged(circles, Rings(rows, -roots[rows], diameters[rows] / 2.0))


def _rounded(tree: Tree, circles: Rings) -> Rings:
    """Return the rings with each solid member's last ones replaced by a dome inside its length."""
    height = np.where(
        tree.walls > 0.0, 0.0, np.minimum(np.minimum(0.15 * tree.end_diameters, _DOME_MM), tree.lengths / 4.0)
    )
    foot = tree.lengths - height
    kept = (height == 0.0)[circles.members] | (circles.stations < foot[circles.members] - 1e-6)
    rows = np.repeat(np.flatnonzero(height > 0.0), len(_DOME))
    rise, left = np.tile(_DOME, (len(rows) // len(_DOME), 1)).T
    stations = foot[rows] + rise * height[rows]
    domes = Rings(rows, stations, tree.diameters_at(rows, stations) / 2.0 * left)
    return _merged(Rings(circles.members[kept], circles.stations[kept], circles.radii[kept]), domes)


def _merged(one: Rings, other: Rings) -> Rings:
    members, stations = np.append(one.members, other.members), np.append(one.stations, other.stations)
    order = np.lexsort([stations, members])
    return Rings(members[order], stations[order], np.append(one.radii, other.radii)[order])


def _evened(count: Ints) -> Floats:
    """Return how much wider a circle of so many corners is drawn to have the area of its round."""
    return np.asarray(np.sqrt(2.0 * np.pi / count / np.sin(2.0 * np.pi / count)))


def _cut_corners(chains: Chains, circles: Rings) -> Floats:
    """Return by how much each ring's area must grow (R,) so that pieces of bends hold what their arcs hold."""
    _, tangents, _ = frames(chains, circles.members, circles.stations)
    same = np.diff(circles.members) == 0
    run = np.where(same, np.diff(circles.stations), 0.0)
    angle = 2.0 * np.arcsin(np.minimum(row_norms(np.diff(tangents, axis=0)) / 2.0, 1.0))
    angle = np.where(same, np.maximum(angle, 1e-6), 1e-6)
    arcs = run * angle / np.sin(angle)
    total, wanted = _both_sides(run), _both_sides(arcs)
    return np.where(total > 0.0, wanted / np.where(total > 0.0, total, 1.0), 1.0)


def _both_sides(pieces: Floats) -> Floats:
    return np.asarray(np.append(pieces, 0.0) + np.append(0.0, pieces))


def _sorted(mesh: Tubes, count: int) -> Skin:
    order = np.argsort(mesh.members, kind="stable")
    new = np.empty(len(order), dtype=np.int64)
    new[order] = np.arange(len(order))
    by_face = np.argsort(mesh.owners, kind="stable")
    tubes = Tubes(
        vertices=mesh.vertices[order],
        normals=mesh.normals[order],
        faces=new[mesh.faces[by_face]],
        members=mesh.members[order],
        owners=mesh.owners[by_face],
        stations=mesh.stations[order],
    )
    steps = np.arange(count + 1)
    return Skin(tubes, np.searchsorted(tubes.members, steps), np.searchsorted(tubes.owners, steps))
