"""All measures of one tree, by name: which pure function gives which number."""

from __future__ import annotations

import numpy as np

from armature.look import angles, balance, clashes, forks, likeness, pipes, spacing, views
from armature.look.reading import Reading
from armature.look.skeleton import Skeleton
from armature.tree import Floats

SIDES: Floats = np.linspace(0.0, 150.0, 6)
_SIDES_FEW: Floats = np.linspace(0.0, 135.0, 4)


def first_readings(tree: Skeleton) -> dict[str, Reading]:
    """Return the measures that cost little: angles, runs, rhythm, likeness, order, balance, neighbours of tips."""
    leaving = angles.insertion_angles(tree)
    steps = angles.divergences(tree)
    around = likeness.crown_map(tree)
    maps = likeness.side_maps(tree, _SIDES_FEW)
    hull = spacing.crown_hull(tree.tips)
    read: dict[str, Reading] = {}
    for rank in (1, 2, 3):
        read[f"angle_mean_{rank}"] = angles.angle_mean(tree, leaving, rank)
        read[f"angle_spread_{rank}"] = angles.angle_spread(tree, leaving, rank)
    read["backward"] = angles.backward(leaving)
    read["divergence_median"] = angles.divergence_median(tree, steps)
    read["divergence_spread"] = angles.divergence_spread(steps)
    read["spacing_evenness"] = angles.spacing_evenness(tree)
    for rank in range(4):
        read[f"path_over_chord_{rank}"] = angles.path_over_chord(tree, rank)
    read["partition_asymmetry"] = forks.partition_asymmetry(tree)
    read["tip_neighbours"] = spacing.tip_neighbours(tree, hull)
    read["mirror_mean"] = likeness.mirror_mean(tree, maps, _SIDES_FEW)
    read["mirror_strongest"] = likeness.mirror_strongest(tree, around)
    read["turn_strongest"] = likeness.turn_strongest(tree, around)
    read["left_right_imbalance"] = balance.left_right_imbalance(tree, maps, _SIDES_FEW)
    read["crown_offset"] = balance.crown_offset(tree)
    read["bare_side"] = balance.bare_side(tree, around)
    read["level_top"] = balance.level_top(tree)
    return read


def full_readings(tree: Skeleton) -> dict[str, Reading]:
    """Return every measure of a tree."""
    read = first_readings(tree)
    hull = spacing.crown_hull(tree.tips)
    flows = forks.streams(tree)
    solved = pipes.pipe_exponents(tree)
    pictures = views.side_views(tree, SIDES)
    kinked = angles.kinks(tree)
    read["kink_share"] = angles.kink_share(tree, kinked)
    read["kink_count"] = angles.kink_count(tree, kinked)
    read["twins"] = likeness.twins(tree)
    read["thickening"] = pipes.thickening(tree)
    read["pipe_exponent"] = pipes.pipe_exponent(solved)
    read["pipe_misfits"] = pipes.pipe_misfits(tree, solved)
    read["bifurcation_ratio"] = forks.bifurcation_ratio(flows)
    read["length_ratio"] = forks.length_ratio(flows)
    read["diameter_ratio"] = forks.diameter_ratio(flows)
    read["crowding"] = spacing.crowding(tree, hull)
    read["thin_spot"] = spacing.thin_spot(tree)
    read["skin_hole"] = spacing.skin_hole(tree)
    read["empty_ball"] = spacing.empty_ball(tree, hull)
    read["sky_gap"] = views.sky_gap(pictures)
    read["sky_hole"] = views.sky_hole(tree, pictures)
    read["lacunarity"] = views.lacunarity(pictures)
    read["box_dimension"] = views.box_dimension_outline(pictures)
    read["box_dimension_lines"] = views.box_dimension_lines(pictures)
    read["outline_roughness"] = balance.outline_roughness(tree, SIDES)
    read["crossings"] = clashes.crossings(tree)
    read["leaf_neighbours"] = spacing.leaf_neighbours(tree)
    read["width_over_height"] = balance.width_over_height(tree)
    read["height_over_stem"] = balance.height_over_stem(tree)
    return read
