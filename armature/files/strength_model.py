"""The tree as a frame for any solver: points, bars with section values, forces by case, as CSV with units in the names.

Each bar is straight between two points and even along its length: its area holds the weight of the tapered piece, its
second moment bends as the piece does. A link joins a member's start to the centreline of its parent and does not give.
"""

from __future__ import annotations

import numpy as np

from armature.files.csv_text import csv_text
from armature.strength import Assessment, model_cases, rounds
from armature.tree import Floats


def model_csvs(assessment: Assessment) -> dict[str, str]:
    """Return points.csv, bars.csv, forces.csv and feet.csv by name.

    points: `point,member,station_mm,x_mm,y_mm,z_mm,held`, held 1 where the ground holds the point. bars: `bar,member,
    from_point,to_point,kind,length_mm,area_mm2,inertia_mm4,torsion_mm4,young_mpa,shear_mpa`; kind bar or link. forces:
    `case,point,fx_n,fy_n,fz_n`, unfactored, the wind with the gust factor of the whole tree. feet: what the sweeps find
    at the start of each member, `case,member,fx_n,fy_n,fz_n,mx_n_mm,my_n_mm,mz_n_mm`, about that start.
    """
    cases, feet = model_cases(assessment)
    return {
        "points.csv": _points(assessment),
        "bars.csv": _bars(assessment),
        "forces.csv": _forces(cases),
        "feet.csv": _feet(assessment, feet),
    }


def _points(assessment: Assessment) -> str:
    frame = assessment.frame
    ground = np.zeros(len(frame), dtype=np.int64)
    ground[frame.offsets[:-1][frame.parent_nodes < 0]] = 1
    return csv_text(
        {
            "point": np.arange(len(frame)),
            "member": assessment.tree.tags[frame.members],
            "station_mm": frame.stations,
            "x_mm": frame.points[:, 0],
            "y_mm": frame.points[:, 1],
            "z_mm": frame.points[:, 2],
            "held": ground,
        }
    )


def _bars(assessment: Assessment) -> str:
    frame, grade = assessment.frame, assessment.conditions.grade
    rows = np.flatnonzero(~frame.is_last)
    kids = np.flatnonzero(frame.parent_nodes >= 0)
    near, far = frame.parent_nodes[kids], frame.offsets[:-1][kids]
    gauss, weights = np.polynomial.legendre.leggauss(3)
    area, flex, twist = np.zeros(len(frame)), np.zeros(len(frame)), np.zeros(len(frame))
    for point, weight in zip(gauss, weights, strict=True):
        _, _, diameter, bore = frame.at(0.5 + 0.5 * float(point))
        across = rounds(diameter, bore)
        area += 0.5 * weight * across.area
        flex += 0.5 * weight / across.inertia
        twist += 0.5 * weight / across.polar
    chord = np.linalg.norm(frame.points[rows + 1] - frame.points[rows], axis=1)
    link = np.linalg.norm(frame.points[far] - frame.points[near], axis=1)
    # A thousand times the bar that it carries: stiff enough to be rigid, not so stiff that a solver loses digits.
    stout = 1e3 * rounds(frame.diameters[far], frame.bores[far]).inertia
    count = len(kids)
    return csv_text(
        {
            "bar": np.arange(len(rows) + count),
            "member": np.concatenate([assessment.tree.tags[frame.members[rows]], assessment.tree.tags[kids]]),
            "from_point": np.concatenate([rows, near]),
            "to_point": np.concatenate([rows + 1, far]),
            "kind": np.concatenate([np.full(len(rows), "bar"), np.full(count, "link")]),
            "length_mm": np.concatenate([chord, link]),
            "area_mm2": np.concatenate([area[rows] * frame.spans[rows] / chord, 1e3 * area[far]]),
            "inertia_mm4": np.concatenate([1.0 / flex[rows], stout]),
            "torsion_mm4": np.concatenate([1.0 / twist[rows], 2.0 * stout]),
            "young_mpa": np.full(len(rows) + count, grade.young_gpa * 1000.0),
            "shear_mpa": np.full(len(rows) + count, grade.shear_gpa * 1000.0),
        }
    )


def _forces(cases: dict[str, Floats]) -> str:
    names, points, pushes = [], [], []
    for name, push in cases.items():
        rows = np.flatnonzero(np.abs(push).max(axis=1) > 1e-9)
        names.append(np.full(len(rows), name))
        points.append(rows)
        pushes.append(push[rows])
    every = np.concatenate(pushes)
    return csv_text(
        {
            "case": np.concatenate(names),
            "point": np.concatenate(points),
            "fx_n": every[:, 0],
            "fy_n": every[:, 1],
            "fz_n": every[:, 2],
        }
    )


def _feet(assessment: Assessment, feet: dict[str, Floats]) -> str:
    count = len(assessment.tree)
    every = np.concatenate(list(feet.values()))
    columns = ("fx_n", "fy_n", "fz_n", "mx_n_mm", "my_n_mm", "mz_n_mm")
    return csv_text(
        {
            "case": np.repeat(list(feet), count),
            "member": np.tile(assessment.tree.tags, len(feet)),
            **{name: every[:, axis] for axis, name in enumerate(columns)},
        }
    )
