"""The lists that a shop works from, as CSV text: members, bends, joints and hang points.

`joints.csv`, `bends.csv` and `tapers.csv` alone rebuild the tree. Each function returns the text of one
file; `folder` writes them. All lengths are mm, angles degrees, masses kg; the meaning of every column stands in
docs/job-folder.md.
"""

from __future__ import annotations

import numpy as np

from armature.files.csv_text import csv_text
from armature.tree import RANKS, BendList, Floats, Ints, Joints, Strings, Tree, bend_list, heels, joints

GROUND = "base"


def members_csv(tree: Tree, cut_lengths: Floats, masses: Floats, listed: Joints | None = None) -> str:
    """Return members.csv: a row per bar with its size, its ends, and the stock (M,) mm and steel (M,) kg in it."""
    joined = joints(tree) if listed is None else listed
    heel = heels(tree.start_diameters, joined.parent_diameters, joined.leans, tree.setbacks)
    bends = np.diff(tree.chains.offsets) - 2
    starts, tips = tree.starts, tree.tips
    return csv_text(
        {
            "tag": tree.tags,
            "rank": np.array(RANKS)[tree.ranks],
            "parent": parent_tags(tree.tags, tree.parents),
            "stock_mm": tree.stock_diameters,
            "start_mm": tree.start_diameters,
            "end_mm": tree.end_diameters,
            "finished_mm": tree.lengths,
            "cut_mm": cut_lengths,
            "setback_mm": tree.setbacks,
            "tail_mm": tree.chains.feeds[tree.chains.is_last],
            "bends": bends,
            "mass_kg": masses,
            **{f"{axis}0_mm": starts[:, column] for column, axis in enumerate("xyz")},
            **{f"{axis}1_mm": tips[:, column] for column, axis in enumerate("xyz")},
            "heel_mm": heel,
            "draw_mm": tree.lengths + heel,
        }
    )


def bends_csv(tree: Tree, listed: BendList | None = None) -> str:
    """Return bends.csv: a row per bend, in the order in which each bar is bent."""
    bends = bend_list(tree.chains) if listed is None else listed
    return csv_text(
        {
            "tag": tree.tags[bends.members],
            "bend": bends.numbers,
            "mark_mm": bends.marks,
            "feed_mm": bends.feeds,
            "turn_deg": bends.turns,
            "bend_deg": bends.bends,
            "radius_mm": bends.radii,
        }
    )


def joints_csv(tree: Tree, listed: Joints | None = None) -> str:
    """Return joints.csv: a row per bar: where and how it is welded on, one without a parent on `base`."""
    listing = joints(tree) if listed is None else listed
    return csv_text(
        {
            "child": tree.tags,
            "parent": parent_tags(tree.tags, tree.parents),
            "station_mm": listing.stations,
            "clock_deg": listing.clocks,
            "lean_deg": listing.leans,
            "roll_deg": listing.rolls,
            "setback_mm": listing.setbacks,
            "foot_mm": listing.feet,
            "tail_mm": tree.chains.feeds[tree.chains.is_last],
            "finished_mm": tree.lengths,
            "parent_d_mm": listing.parent_diameters,
            "child_d_mm": tree.start_diameters,
            **{f"base_{axis}_mm": tree.bases[:, column] for column, axis in enumerate("xyz")},
            "leaves_mm": tree.departures,
            "swell_mm": tree.tapers.swells,
        }
    )


def tapers_csv(tree: Tree) -> str:
    """Return tapers.csv: a row per place at which a bar's diameter is told, from start to tip; straight between
    them."""
    tapers = tree.tapers
    # Of two places at one station the later holds.
    kept = np.append(np.diff(tapers.stations) != 0.0, True) | np.append(np.diff(tapers.members) != 0, True)
    members = np.append(tapers.members[kept], np.arange(len(tree)))
    order = np.argsort(members, kind="stable")
    return csv_text(
        {
            "tag": tree.tags[members[order]],
            "station_mm": np.append(tapers.stations[kept], tree.lengths)[order],
            "d_mm": np.append(tapers.diameters[kept], tapers.tips)[order],
        }
    )


def hang_points_csv(tree: Tree) -> str:
    """Return hang_points.csv: a row per leaf with the twig, the place of its loop, its design and its name."""
    points = tree.hang_points
    return csv_text(
        {
            "leaf": tree.leaves.tags,
            "twig": tree.tags[tree.leaves.twigs],
            "station_mm": tree.leaves.stations,
            **{f"{axis}_mm": points[:, column] for column, axis in enumerate("xyz")},
            "design": tree.leaves.designs,
            "name": tree.leaves.names,
        }
    )


def parent_tags(tags: Strings, parents: Ints) -> Strings:
    """Return the tag of each member's parent: (M,), `base` for one on the base."""
    return np.where(parents >= 0, tags[np.maximum(parents, 0)], GROUND)
