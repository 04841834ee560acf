"""Leaves as soft bodies: points along each outline, the distance field around it, and the pushes where they meet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray

from armature.leaves.outline import Design, polygon

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Heap:
    """Where N leaves lie: centres x, y in mm and turns as cosine and sine, (N,) each."""

    x: Floats
    y: Floats
    cosine: Floats
    sine: Floats

    def taken(self, keep: NDArray[np.bool_]) -> Heap:
        """Return the leaves that are kept (N,)."""
        return Heap(self.x[keep], self.y[keep], self.cosine[keep], self.sine[keep])

    def moved(self, x: Floats, y: Floats, turn: Floats) -> Heap:
        """Return the leaves moved, and turned on by about `turn` radians (Cayley's rational rotation)."""
        half = turn / 2
        below = 1.0 + half * half
        c, s = (1.0 - half * half) / below, turn / below
        cosine, sine = self.cosine * c - self.sine * s, self.sine * c + self.cosine * s
        size = np.sqrt(cosine * cosine + sine * sine)
        return Heap(self.x + x, self.y + y, cosine / size, sine / size)


@dataclass(frozen=True, eq=False)
class Field:
    """One design as a soft body, from its centroid.

    centre: (2,) of the centroid from the eye. points: (K, 2) along the outline. reach: farthest point from the centre.
    girth: mm of arm by which a push turns it. grid: (A, B) signed distances to the outline, negative inside, its
    first at `corner`.
    """

    centre: Floats
    points: Floats
    reach: float
    girth: float
    grid: Floats
    corner: Floats


@lru_cache(256)
def field(design: Design, web: float, step: float, cell: float) -> Field:
    """Return a design as a soft body: points `step` mm apart and at its corners, a field that reaches past the web."""
    shape = polygon(design.outline, 0.05)
    centre = np.round(np.array(shape.centroid.coords[0]), 3)
    ring = shapely.transform(shape.exterior, lambda p: p - centre)
    count = int(np.ceil(ring.length / step))
    points = shapely.get_coordinates(shapely.line_interpolate_point(ring, np.arange(count) / count, normalized=True))
    vertices = shapely.get_coordinates(ring)
    points = np.round(np.concatenate([points, vertices[:-1][_sharp(vertices[:-1])]]), 3)
    low = vertices.min(axis=0) - web - cell
    sides = np.ceil((vertices.max(axis=0) + web + cell - low) / cell).astype(np.int64) + 1
    x, y = np.meshgrid(low[0] + cell * np.arange(sides[0]), low[1] + cell * np.arange(sides[1]), indexing="ij")
    spots = shapely.points(x.ravel(), y.ravel())
    body = shapely.Polygon(ring)
    shapely.prepare(body)
    far = shapely.distance(spots, ring)
    grid = np.round(np.where(shapely.contains(body, spots), -far, far), 4).reshape(x.shape)
    reach = float(np.sqrt((vertices**2).sum(axis=1).max()))
    return Field(centre, points, reach, float(np.sqrt(body.area) * 0.45), grid, low)


def _sharp(ring: Floats) -> NDArray[np.bool_]:
    """Where a ring turns by more than 20 degrees."""
    ahead = np.roll(ring, -1, axis=0) - ring
    ahead = ahead / np.sqrt((ahead**2).sum(axis=1))[:, None]
    behind = np.roll(ahead, 1, axis=0)
    return np.asarray((ahead * behind).sum(axis=1) < 0.94)


@dataclass(frozen=True, eq=False)
class Near:
    """Q points that may soon touch: rows of the points, of the leaves that carry them, of the leaves they meet.

    Of the fields they meet: corners (2, Q), starts, and the most cells along both sides (2, Q).
    """

    points: Ints
    carriers: Ints
    met: Ints
    corners: Floats
    starts: Ints
    sides: Ints


@dataclass(frozen=True, eq=False)
class Bodies:
    """N leaves as soft bodies. P points in all, G grid values of all designs in one row.

    kinds: (N,) row of each leaf's design. centres (N, 2), girths (N,). owners: (P,) leaf of each point, in order;
    places: (P, 2) from the leaf's centre. By design: starts in `grid`, sides (2, D), corners (2, D), reaches. cell: of
    all grids, mm. web: distance in mm that is kept.
    """

    kinds: Ints
    centres: Floats
    girths: Floats
    owners: Ints
    places: Floats
    grid: Floats
    starts: Ints
    sides: Ints
    corners: Floats
    reaches: Floats
    cell: float
    web: float

    def taken(self, keep: NDArray[np.bool_]) -> Bodies:
        """Return the leaves that are kept (N,)."""
        stay = keep[self.owners]
        owners = (np.cumsum(keep) - 1)[self.owners[stay]]
        kinds, centres, girths = self.kinds[keep], self.centres[keep], self.girths[keep]
        return replace(self, kinds=kinds, centres=centres, girths=girths, owners=owners, places=self.places[stay])

    def near(self, heap: Heap, skin: float) -> Near:
        """Return the points within web and skin of another leaf."""
        reach = self.reaches[self.kinds]
        gap = (heap.x[:, None] - heap.x) ** 2 + (heap.y[:, None] - heap.y) ** 2
        close = gap < (reach[:, None] + reach + self.web + skin) ** 2
        np.fill_diagonal(close, False)
        carriers, met = np.nonzero(close)
        counts = np.bincount(self.owners, minlength=len(self.kinds))
        many = counts[carriers]
        pairs = np.repeat(np.arange(len(carriers)), many)
        first = np.cumsum(counts) - counts
        points = first[carriers][pairs] + np.arange(len(pairs)) - np.repeat(np.cumsum(many) - many, many)
        # Most points lie outside the circle around the other leaf: they are spared the look into its field.
        world, other = self._world(heap), met[pairs]
        x, y = world[0][points] - heap.x[other], world[1][points] - heap.y[other]
        some = np.flatnonzero(x * x + y * y < ((reach + self.web + skin) ** 2)[other])
        near = self._near(points[some], carriers[pairs[some]], other[some])
        u, v = self._cells_of(heap, near, world)
        # Outside its grid a field is as far as at the grid's edge, and the way there.
        a, b = np.clip(u, 0, near.sides[0]), np.clip(v, 0, near.sides[1])
        at = near.starts + a.astype(np.int64) * (near.sides[1] + 1) + b.astype(np.int64)
        off = np.maximum(np.abs(u - a), np.abs(v - b)) * self.cell
        keep = self.grid[at] + off < self.web + skin + self.cell
        return self._near(near.points[keep], near.carriers[keep], near.met[keep])

    def _near(self, points: Ints, carriers: Ints, met: Ints) -> Near:
        kinds = self.kinds[met]
        return Near(points, carriers, met, self.corners[:, kinds], self.starts[kinds], self.sides[:, kinds] - 1)

    def pushes(self, heap: Heap, near: Near, room: tuple[float, float, float]) -> tuple[Floats, Floats, float]:
        """Return pushes (3, N) along x, y and around, the energy of each leaf (N,), and the deepest contact in mm.

        room: width and height of the plate and the margin to keep, mm.
        """
        world = self._world(heap)
        depth, gx, gy, hit = self._depths(heap, near, world)
        one, two, at = near.carriers[hit], near.met[hit], near.points[hit]
        fx, fy, around, energy = (np.zeros(len(self.kinds)) for _ in range(4))
        for leaf, sign in ((one, 1.0), (two, -1.0)):
            arm_x, arm_y = world[0][at] - heap.x[leaf], world[1][at] - heap.y[leaf]
            fx += self._sum(leaf, sign * gx)
            fy += self._sum(leaf, sign * gy)
            around += self._sum(leaf, sign * (arm_x * gy - arm_y * gx))
            energy += self._sum(leaf, depth * depth)
        deepest = float(depth.max()) if len(depth) else 0.0
        for axis, far in ((0, room[0] - room[2]), (1, room[1] - room[2])):
            over = np.maximum(room[2] - world[axis], 0.0) - np.maximum(world[axis] - far, 0.0)
            past = np.flatnonzero(over)
            leaf, back = self.owners[past], over[past]
            arm = world[1 - axis][past] - (heap.y, heap.x)[axis][leaf]
            (fx, fy)[axis][:] += self._sum(leaf, 2.0 * back)
            around += self._sum(leaf, (2.0 if axis else -2.0) * arm * back)
            energy += self._sum(leaf, 2.0 * back * back)
            deepest = max(deepest, float(np.abs(back).max()) if len(back) else 0.0)
        return np.stack([fx, fy, around / self.girths]), energy, deepest

    def _sum(self, leaf: Ints, values: Floats) -> Floats:
        return np.asarray(np.bincount(leaf, values, len(self.kinds)))

    def _world(self, heap: Heap) -> tuple[Floats, Floats]:
        own, (px, py) = self.owners, self.places.T
        c, s = heap.cosine[own], heap.sine[own]
        return px * c - py * s + heap.x[own], px * s + py * c + heap.y[own]

    def _cells_of(self, heap: Heap, near: Near, world: tuple[Floats, Floats]) -> tuple[Floats, Floats]:
        """Where the points lie in the grids of the leaves they meet, in cells."""
        dx, dy = world[0][near.points] - heap.x[near.met], world[1][near.points] - heap.y[near.met]
        c, s, (left, low) = heap.cosine[near.met], heap.sine[near.met], near.corners
        return (dx * c + dy * s - left) / self.cell, (dy * c - dx * s - low) / self.cell

    def _depths(self, heap: Heap, near: Near, world: tuple[Floats, Floats]) -> tuple[Floats, Floats, Floats, Ints]:
        """How deep points lie within webs, the push on each along x and y, and which points these are."""
        u, v = self._cells_of(heap, near, world)
        a, b = np.floor(u), np.floor(v)
        row = near.sides[1] + 1
        inside = (a >= 0) & (b >= 0) & (a < near.sides[0]) & (b < near.sides[1])
        at = np.where(inside, near.starts + a.astype(np.int64) * row + b.astype(np.int64), 0)
        # A first look at the nearest corner spares most points the rest: no cell is wider than it seems from there.
        hit = np.flatnonzero(inside & (self.grid[at] < self.web + 1.5 * self.cell))
        at, row, fu, fv = at[hit], row[hit], u[hit] - a[hit], v[hit] - b[hit]
        g00, g01, g10, g11 = self.grid[at], self.grid[at + 1], self.grid[at + row], self.grid[at + row + 1]
        far = (g00 * (1 - fv) + g01 * fv) * (1 - fu) + (g10 * (1 - fv) + g11 * fv) * fu
        du, dv = (g10 - g00) * (1 - fv) + (g11 - g01) * fv, (g01 - g00) * (1 - fu) + (g11 - g10) * fu
        met = near.met[hit]
        depth, c, s = np.maximum(self.web - far, 0.0), heap.cosine[met], heap.sine[met]
        push = depth / self.cell
        return depth, push * (du * c - dv * s), push * (du * s + dv * c), hit


def bodies(designs: Sequence[Design], numbers: Ints, web: float, step: float) -> Bodies:
    """Return leaves of these design numbers (N,) as soft bodies: `web` mm to keep, points `step` mm apart."""
    used, kinds = np.unique(numbers, return_inverse=True)
    by_number = {d.number: d for d in designs}
    chosen = [by_number[int(n)] for n in used]
    cell = max(min(web / 3, 1.0), max(d.length for d in chosen) / 300)
    fields = [field(d, web, step, cell) for d in chosen]
    counts = np.array([len(f.points) for f in fields])
    sizes = np.array([f.grid.size for f in fields])
    return Bodies(
        kinds=kinds,
        centres=np.array([f.centre for f in fields])[kinds],
        girths=np.array([f.girth for f in fields])[kinds],
        owners=np.repeat(np.arange(len(kinds)), counts[kinds]),
        places=np.concatenate([fields[k].points for k in kinds.tolist()]),
        grid=np.concatenate([f.grid.ravel() for f in fields]),
        starts=np.cumsum(sizes) - sizes,
        sides=np.array([f.grid.shape for f in fields], dtype=np.int64).T,
        corners=np.array([f.corner for f in fields]).T,
        reaches=np.array([f.reach for f in fields]),
        cell=cell,
        web=web,
    )
