"""Room to swing against other ways to find it: dense points, denser poses, and the flat outlines themselves."""

from dataclasses import replace

import numpy as np
import pytest
import shapely

from armature.leaves.hanging.hang import Loop
from armature.leaves.hanging.loops import Room
from armature.leaves.hanging.meeting import rods_met
from armature.leaves.hanging.swing import BODY, STALK, Rods, poses, steel_struck, strike_shares
from armature.leaves.outline.outlines import Design
from armature.tree import Tree, locate
from tests.leaves.designs import family
from tests.trees import random_tree

SWING = 30.0


def hung(tree: Tree, designs: tuple[Design, ...]) -> tuple[Room, Rods]:
    sizes = np.array([(d.length, BODY * d.blade[1]) for d in designs])
    room = Room(tree, Loop(2.0, 8.0), sizes, SWING)
    return room, room.rods(tree.leaves.twigs, tree.leaves.stations, tree.leaves.designs - 1)


def steel_points(tree: Tree, step: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Points along all centrelines, the radius there and the member."""
    counts = np.ceil(tree.lengths / step).astype(int) + 1
    members = np.repeat(np.arange(len(tree)), counts)
    stations = np.concatenate([np.linspace(0.0, n, k) for n, k in zip(tree.lengths, counts, strict=True)])
    points, _, _ = locate(tree.chains, members, stations)
    return points, tree.diameters_at(members, stations) / 2, members


def dense_shares(tree: Tree, rods: Rods, more: float) -> np.ndarray:
    """Shares of the poses from points up to 2 mm apart, gaps widened by `more` mm."""
    points, radii, members = steel_points(tree, 2.0)
    steps = np.linspace(0.0, 1.0, 51)
    plumb = rods.eyes[:, None] + (rods.lengths[:, None] * steps)[:, :, None] * [0.0, 0.0, -1.0]
    owners = np.repeat(np.arange(len(rods)), len(steps))
    found = []
    for k, (eye, length, radius) in enumerate(zip(rods.eyes, rods.lengths, rods.radii, strict=True)):
        others = plumb.reshape(-1, 3)[owners != k]
        things = np.concatenate([points, others]) - eye
        gaps = np.concatenate([radii, rods.radii[owners[owners != k]]]) + radius + more
        firsts = np.concatenate([np.where(members == rods.twigs[k], STALK, 0.0), np.zeros(len(others))])
        near = np.flatnonzero((things**2).sum(axis=1) < (length + gaps) ** 2)
        things, gaps, firsts = things[near], gaps[near], firsts[near]
        hits = []
        for way in poses(SWING):
            away = ((length * steps[:, None] * way)[:, None] - things[None]) ** 2
            hits.append(((away.sum(axis=2) < gaps**2) & (steps[:, None] >= firsts)).any())
        found.append(np.mean(hits))
    return np.array(found)


def test_shares_agree_with_dense_points() -> None:
    """Points up to 2 mm apart overstate a distance of over 5 mm by under 0.2 mm; a piece of 20 mm on the least bend
    radius here, 16 mm, strays from the centreline by up to 3 mm."""
    tree, designs = random_tree(10, leaves_a_twig=3), family()
    room, rods = hung(tree, designs)
    shares = strike_shares(rods, np.arange(len(rods)), rods, room.steel, SWING)
    assert (shares >= dense_shares(tree, rods, -3.0)).all()
    assert (shares <= dense_shares(tree, rods, 3.2)).all()
    assert np.abs(shares - dense_shares(tree, rods, 0.1)).mean() < 0.01
    assert shares.max() > 0.25


def test_few_leaves_pass_that_denser_poses_find() -> None:
    """Against steel, twelve rings of 48 directions: the share is right within 0.06, and one leaf in fifty passes."""
    tree, designs = random_tree(60, leaves_a_twig=3), family()
    room, rods = hung(tree, designs)
    lean = np.deg2rad(SWING) * np.repeat(np.arange(1, 13), 48) / 12
    turn = np.tile(2 * np.pi * np.arange(48) / 48, 12)
    ways = np.stack([np.sin(lean) * np.cos(turn), np.sin(lean) * np.sin(turn), -np.cos(lean)], axis=1)
    dense = np.array([steel_share(room, rods, k, ways) for k in range(len(rods))])
    shares = steel_struck(rods, room.steel, SWING).mean(axis=1)
    assert np.sqrt(((shares - dense) ** 2).mean()) < 0.06
    assert ((dense > 0.25) & (shares <= 0.25)).mean() <= 0.02
    assert (dense > 0.25).mean() > 0.1


def steel_share(room: Room, rods: Rods, row: int, ways: np.ndarray, own_only: bool = False) -> float:
    """Share of the ways in which one leaf meets steel, from all pieces of it."""
    steel = room.steel
    pieces = np.flatnonzero(steel.members == rods.twigs[row]) if own_only else np.arange(len(steel.members))
    pieces = pieces[((steel.middles[pieces] - rods.eyes[row]) ** 2).sum(axis=1) < 200.0**2]
    some = np.full(len(pieces), row)
    firsts = np.where(steel.members[pieces] == rods.twigs[row], STALK * rods.lengths[row], 0.0)
    gaps = rods.radii[some] + steel.radii[pieces]
    offsets = rods.eyes[row] - steel.starts[pieces]
    met = rods_met(offsets, rods.lengths[some], gaps, steel.axes[pieces], steel.runs[pieces], ways, firsts)
    return float(met.any(axis=0).mean())


def test_rods_meet_their_own_twig_as_often_as_flat_leaves_do() -> None:
    """The outlines themselves, turned to eight sides, against the twig that they hang from."""
    tree, designs = random_tree(60, seed=5, leaves_a_twig=1), family()
    tree = tree.hung(replace(tree.leaves, stations=0.4 * tree.leaves.stations))
    room, rods = hung(tree, designs)
    ways = poses(SWING)[::3]
    some = range(0, len(rods), 2)
    rod = [steel_share(room, rods, k, ways, own_only=True) for k in some]
    flat = [flat_share(designs[tree.leaves.designs[k] - 1], room, rods, k, ways) for k in some]
    assert np.mean(flat) > 0.03
    assert np.mean(rod) == pytest.approx(np.mean(flat), abs=0.04)
    assert np.corrcoef(rod, flat)[0, 1] > 0.85


def flat_share(design: Design, room: Room, rods: Rods, row: int, ways: np.ndarray) -> float:
    """Share of ways and sides in which the flat outline meets its own twig, from points 5 mm apart on it."""
    x, y = (v.ravel() for v in np.meshgrid(np.arange(-80.0, 80.0, 5.0), np.arange(-110.0, 10.0, 5.0)))
    inside = shapely.contains_xy(design.shape, x, y)
    rim = np.asarray(design.shape.exterior.segmentize(5.0).coords)
    flat = np.concatenate([np.stack([x[inside], y[inside]], axis=1), rim])
    steel, own = room.steel, room.steel.members == rods.twigs[row]
    starts, axes, runs, radii = (v[own] for v in (steel.starts, steel.axes, steel.runs, steel.radii))
    hits = []
    for way in ways:
        side = np.cross(way, [1.0, 0.0, 0.0])
        side /= np.sqrt((side**2).sum())
        for angle in np.pi * np.arange(8) / 8:
            across = np.cos(angle) * side + np.sin(angle) * np.cross(way, side)
            points = rods.eyes[row] + flat[:, :1] * across - flat[:, 1:] * way
            offsets = points[:, None] - starts
            along = np.clip((offsets * axes).sum(axis=2), 0.0, runs)
            away = ((offsets - along[:, :, None] * axes) ** 2).sum(axis=2)
            hits.append(bool((away < radii**2).any()))
    return float(np.mean(hits))
