"""What a shaping hand would try against each finding: a short list of moves, drawn afresh at each attempt.

A move is a member's row, a rotation about its joint, and where wanted a new station or new bends.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from armature.grow import swung, turn_about, turn_toward
from armature.look.hand_moves import rebent
from armature.look.verdict import Finding
from armature.seeds import keys, normal, uniform
from armature.tree import Floats, Ints, Tree, locate, row_norms

FILLS = ("skin_hole", "thin_spot", "empty_ball", "sky_hole", "bare_side")
SHAPES = ("twins", "kink_count", "path_over_chord_0", "path_over_chord_1", "path_over_chord_2", "path_over_chord_3")
HALVES = ("mirror_mean", "mirror_strongest", "turn_strongest", "left_right_imbalance", "crown_offset")
CLOUDS = ("lacunarity", "outline_roughness", "tip_neighbours", "sky_gap", "box_dimension", "box_dimension_lines")
FIXED = ("thickening", "pipe_exponent", "pipe_misfits", "length_ratio", "diameter_ratio", "partition_asymmetry")


@dataclass(frozen=True, eq=False)
class Luck:
    """Draws of one attempt, keyed by seed, member and attempt, so that a mended tree comes out the same each time."""

    seed: int
    tree: Tree
    purpose: str

    def uniform(self, rows: Ints, count: int = 4) -> Floats:
        """Return draws in [0, 1), (R, count), for the members of the rows."""
        return uniform(keys(self.seed, self.tree.tags[rows], f"mend {self.purpose}"), count)

    def normal(self, rows: Ints, count: int = 4) -> Floats:
        """Return standard normal draws, (R, count), for the members of the rows."""
        return normal(keys(self.seed, self.tree.tags[rows], f"mend {self.purpose} bell"), count)


def tried(tree: Tree, finding: Finding, row: int, luck: Luck, least_bend: float) -> Tree | None:
    """Return the tree with one member moved against a finding, or None where that move cannot be made.

    least_bend: deg, the faintest bend that the shop makes.
    """
    if finding.name in SHAPES:
        return _bent_anew(tree, finding, row, luck, least_bend)
    if finding.name == "spacing_evenness":
        return _slid(tree, row, luck)
    return swung(tree, row, _turn(tree, finding, row, luck))


def candidates(tree: Tree, finding: Finding, free: Ints, luck: Luck, count: int) -> Ints:
    """Return the rows to try against a finding, of those that are free to move: the best first, at most `count`."""
    childless = free[np.bincount(tree.parents[tree.parents >= 0], minlength=len(tree))[free] == 0]
    if finding.name in FILLS and len(finding.places):
        return _near(tree, childless, finding.places[0], count)
    if finding.name in CLOUDS:
        draw = luck.uniform(childless, 1)[:, 0]
        return np.asarray(childless[np.argsort(draw, kind="stable")][: 3 * count])
    rows = finding.rows[np.isin(finding.rows, free)]
    if finding.name in HALVES:
        rows = free[np.isin(tree.ranks[free], (1, 2))] if len(free) else rows
    if finding.name in SHAPES:
        rows = rows[np.isin(rows, childless)]
    few = rows[: max(3 * count, 12)]
    return few[np.argsort(luck.uniform(few, 1)[:, 0], kind="stable")][:count]


def _near(tree: Tree, rows: Ints, place: Floats, count: int) -> Ints:
    """Return the members that could reach a place: by how far short of it their tip may be brought."""
    away = row_norms(tree.starts[rows] - place)
    chords = row_norms(tree.tips[rows] - tree.starts[rows])
    already = row_norms(tree.tips[rows] - place) < 0.5 * chords
    order = np.argsort(np.abs(away - chords) + 1e9 * already, kind="stable")
    return np.asarray(rows[order][:count])


def _turn(tree: Tree, finding: Finding, row: int, luck: Luck) -> Floats:
    at = np.array([row])
    share, bell = luck.uniform(at)[0], luck.normal(at)[0]
    chord = tree.tips[row] - tree.starts[row]
    tangent = locate(tree.chains, [int(tree.parents[row])], [float(tree.stations[row])])[1][0]
    if finding.name in FILLS and len(finding.places):
        return turn_toward(chord, finding.places[0] - tree.starts[row], 0.45 + 0.5 * share[0])
    if finding.name == "crowding" and len(finding.places):
        return turn_toward(chord, tree.starts[row] - finding.places[0] + bell[:3] * 40.0, 0.2 + 0.3 * share[0])
    if finding.name.startswith("angle_"):
        return turn_about(np.cross(tangent, tree.axes[row]), _lean_step(tree, finding, row, tangent, bell[0]))
    if finding.name in HALVES or finding.name.startswith("divergence"):
        turn = turn_about(tangent, float((12.0 + 30.0 * share[0]) * np.sign(bell[1])))
        return np.asarray(turn @ turn_about(np.cross(tangent, tree.axes[row]), 8.0 * float(bell[2])))
    if finding.name in CLOUDS:
        return _into_cloud(tree, finding, row, chord, share, bell)
    return np.asarray(turn_about(bell[:3], 10.0 + 25.0 * float(share[1])))


def _lean_step(tree: Tree, finding: Finding, row: int, tangent: Floats, bell: float) -> float:
    """Return by how much to open, deg, a member's lean: outward where its rank is too narrow, both ways where too
    alike."""
    lean = float(np.degrees(np.arccos(np.clip(float(tree.axes[row] @ tangent), -1.0, 1.0))))
    if "spread" in finding.name and finding.value < finding.low:
        return float(np.sign(bell) * (8.0 + 9.0 * abs(bell)))
    middle = (finding.low + finding.high) / 2.0 if "mean" in finding.name else 55.0
    return float(np.clip((middle - lean) * 0.5, -25.0, 25.0) + 3.0 * bell)


def _into_cloud(tree: Tree, finding: Finding, row: int, chord: Floats, share: Floats, bell: Floats) -> Floats:
    """Return the turn that takes a twig toward its siblings' middle where wood is spread too evenly, away where it
    lumps."""
    siblings = np.flatnonzero((tree.parents == tree.parents[row]) & (np.arange(len(tree)) != row))
    if len(siblings) < 2:
        return turn_about(bell[:3], 10.0 + 20.0 * float(share[1]))
    middle = tree.tips[siblings].mean(axis=0) - tree.starts[row]
    even = finding.value > finding.high if finding.name == "tip_neighbours" else finding.value < finding.low
    return turn_toward(chord, middle if even else -middle, (0.25 if even else 0.12) * (0.5 + float(share[0])))


def _slid(tree: Tree, row: int, luck: Luck) -> Tree | None:
    """Return the tree with a member slid along its parent by up to a third of the parent's mean gap, either way."""
    parent = int(tree.parents[row])
    gap = float(tree.lengths[parent]) / max(int((tree.parents == parent).sum()), 1)
    draw = float(luck.normal(np.array([row]))[0, 0])
    station = float(tree.stations[row]) + float(np.clip(draw, -1.5, 1.5)) * 0.3 * gap
    if not 0.0 < station < float(tree.lengths[parent]):
        return None
    before = locate(tree.chains, [parent], [float(tree.stations[row])])[1][0]
    after = locate(tree.chains, [parent], [station])[1][0]
    return swung(tree, row, turn_toward(before, after, 1.0), station)


def _bent_anew(tree: Tree, finding: Finding, row: int, luck: Luck, least_bend: float) -> Tree | None:
    draw = luck.uniform(np.array([row]), 16)[0]
    turns, share = 360.0 * (draw[1:] - 0.5), 0.75 + 0.5 * float(draw[0])
    if finding.name == "kink_count" or ("path" in finding.name and finding.value > finding.high):
        turns, share = 40.0 * (draw[1:] - 0.5), 0.6 + 0.25 * float(draw[0])
    elif "path" in finding.name:
        turns, share = 60.0 * (draw[1:] - 0.5), 1.15 + 0.3 * float(draw[0])
    return rebent(tree, row, turns, share, least_bend)
