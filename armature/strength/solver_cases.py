"""The load cases of the frame that is handed to another solver, gathered at its points, and what the sweeps find."""

from __future__ import annotations

import numpy as np

from armature.strength.actions import basic_loads
from armature.strength.assess import Assessment
from armature.strength.combinations import leaf_drags
from armature.strength.dynamics import lumped
from armature.strength.forces import Loads, forces
from armature.tree import Floats


def model_cases(assessment: Assessment) -> tuple[dict[str, Floats], dict[str, Floats]]:
    """Return forces at the points, (N, 3) N by case, and forces about each member's start, (M, 6) N and N mm.

    Cases: weight; wind toward +x and +y with the leaves as plates and the gust factor of the whole tree; ice; snow;
    none of them factored. Ties are not in it.
    """
    frame = assessment.frame
    loads, _ = basic_loads(frame, assessment.conditions, assessment.foliage, 4)
    at = {name: lumped(frame, each) for name, each in loads.items()}
    cases = {"weight": at["dead"][..., 0]}
    if assessment.gusts:
        factor, drag = assessment.gusts["plates"].factors[0], leaf_drags()["plates"]
        for axis, name in enumerate(("wind toward +x", "wind toward +y")):
            cases[name] = factor * (at["bars"][..., axis] + drag * at["leaves"][..., axis])
    cases |= {name: at[name][..., 0] for name in ("ice", "snow") if name in at}
    feet = forces(frame, Loads(np.stack(list(cases.values()), axis=-1))).beyond[frame.offsets[:-1]]
    # What hangs at a start itself comes through its weld too.
    for number, push in enumerate(cases.values()):
        feet[:, :3, number] += push[frame.offsets[:-1]]
    return cases, {name: feet[..., number] for number, name in enumerate(cases)}
