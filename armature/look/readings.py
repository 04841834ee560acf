"""All measures of one tree, by name: which pure function gives which number."""

from __future__ import annotations

import numpy as np

from armature.look import angles, balance, clashes, forks, likeness, pipes, side_pictures, spacing
from armature.look.figures import Reading
from armature.look.skeleton import Skeleton
from armature.tree import Floats

SIDES: Floats = np.linspace(0.0, 150.0, 6)
_SIDES_FEW: Floats = np.linspace(0.0, 135.0, 4)


def first_readings(skeleton: Skeleton) -> dict[str, Reading]:
    """Return the measures that cost little: angles, runs, rhythm, likeness, order, balance, neighbours of tips."""
    leaving = angles.insertion_angles(skeleton)
    steps = angles.divergences(skeleton)
    around = likeness.crown_map(skeleton)
    maps = likeness.side_maps(skeleton, _SIDES_FEW)
    hull = spacing.crown_hull(skeleton.tips)
    read: dict[str, Reading] = {}
    for rank in (1, 2, 3):
        read[f"angle_mean_{rank}"] = angles.angle_mean(skeleton, leaving, rank)
        read[f"angle_spread_{rank}"] = angles.angle_spread(skeleton, leaving, rank)
    read["backward"] = angles.backward(leaving)
    read["divergence_median"] = angles.divergence_median(skeleton, steps)
    read["divergence_spread"] = angles.divergence_spread(steps)
    read["spacing_evenness"] = angles.spacing_evenness(skeleton)
    for rank in range(4):
        read[f"path_over_chord_{rank}"] = angles.path_over_chord(skeleton, rank)
    read["partition_asymmetry"] = forks.partition_asymmetry(skeleton)
    read["tip_neighbours"] = spacing.tip_neighbours(skeleton, hull)
    read["mirror_mean"] = likeness.mirror_mean(skeleton, maps, _SIDES_FEW)
    read["mirror_strongest"] = likeness.mirror_strongest(skeleton, around)
    read["turn_strongest"] = likeness.turn_strongest(skeleton, around)
    read["left_right_imbalance"] = balance.left_right_imbalance(skeleton, maps, _SIDES_FEW)
    read["crown_offset"] = balance.crown_offset(skeleton)
    read["bare_side"] = balance.bare_side(skeleton, around)
    read["level_top"] = balance.level_top(skeleton)
    return read


def full_readings(skeleton: Skeleton) -> dict[str, Reading]:
    """Return every measure of a tree."""
    read = first_readings(skeleton)
    hull = spacing.crown_hull(skeleton.tips)
    flows = forks.streams(skeleton)
    solved = pipes.pipe_exponents(skeleton)
    pictures = side_pictures.side_views(skeleton, SIDES)
    kinked = angles.kinks(skeleton)
    read["kink_share"] = angles.kink_share(skeleton, kinked)
    read["kink_count"] = angles.kink_count(skeleton, kinked)
    read["twins"] = likeness.twins(skeleton)
    read["thickening"] = pipes.thickening(skeleton)
    read["pipe_exponent"] = pipes.pipe_exponent(solved)
    read["pipe_misfits"] = pipes.pipe_misfits(skeleton, solved)
    read["bifurcation_ratio"] = forks.bifurcation_ratio(flows)
    read["length_ratio"] = forks.length_ratio(flows)
    read["diameter_ratio"] = forks.diameter_ratio(flows)
    read["crowding"] = spacing.crowding(skeleton, hull)
    read["thin_spot"] = spacing.thin_spot(skeleton)
    read["skin_hole"] = spacing.skin_hole(skeleton)
    read["empty_ball"] = spacing.empty_ball(skeleton, hull)
    read["sky_gap"] = side_pictures.sky_gap(pictures)
    read["sky_hole"] = side_pictures.sky_hole(skeleton, pictures)
    read["lacunarity"] = side_pictures.lacunarity(pictures)
    read["box_dimension"] = side_pictures.box_dimension_outline(pictures)
    read["box_dimension_lines"] = side_pictures.box_dimension_lines(pictures)
    read["outline_roughness"] = balance.outline_roughness(skeleton, SIDES)
    read["crossings"] = clashes.crossings(skeleton)
    read["leaf_neighbours"] = spacing.leaf_neighbours(skeleton)
    read["width_over_height"] = balance.width_over_height(skeleton)
    read["height_over_stem"] = balance.height_over_stem(skeleton)
    return read
