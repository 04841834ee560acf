"""What forging may have done to the steel, and the coupons that show it."""

from __future__ import annotations

import numpy as np

from armature.strength.assess import Assessment

# Ordinary carbon steel, forged and cooled in air: what is left where a grade owed more to alloying and rolling.
# Common practice, no source: S235 and A36 keep 235 to 250 MPa when normalised.
NORMALISED_MPA = 235.0


def normalised_ratio(assessment: Assessment) -> float:
    """Return the worst strength ratio if forging brought the yield down to that of normalised carbon steel."""
    strength = np.maximum.reduce(list(assessment.worst.ratio.values()))
    return float(np.max(strength * np.maximum(assessment.yields / NORMALISED_MPA, 1.0)))


def coupons(assessment: Assessment) -> list[str]:
    """Return which property was taken and why, and the coupons to be cut from forged pieces, a line each.

    By thickness: tension as ASTM A370 or EN ISO 6892-1, impact as EN ISO 148-1, 27 J at the coldest day of the site
    from 40 mm on, at 20 K below it from 60 mm on (after EN 1993-1-10 table 2.1, from memory: read the table).
    """
    grade, conditions = assessment.conditions.grade, assessment.conditions
    low, high = assessment.yields.min(), assessment.yields.max()
    taken = f"Taken: the least yield of {grade.standard}, {low:.0f} to {high:.0f} MPa by thickness, and its tensile"
    said = [f"{taken} strength of {grade.tensile_mpa:.0f} MPa, as rolled."]
    if float(assessment.yields.max()) > NORMALISED_MPA + 20.0:
        said.append(
            f"{conditions.grade.name} owes part of that to alloying and rolling, which forging heat and slow cooling"
            f" can undo. Normalised carbon steel keeps about {NORMALISED_MPA:.0f} MPa: with that the worst ratio here"
            f" would be {normalised_ratio(assessment):.2f}. Until coupons prove the yield, the tree is not proven."
        )
    sizes = np.unique(assessment.tree.stock_diameters)
    groups = ((0.0, 16.0), (16.0, 40.0), (40.0, 60.0), (60.0, np.inf))
    for over, to in groups:
        inside = sizes[(sizes > over) & (sizes <= to)]
        if not len(inside):
            continue
        span = f"{inside[0]:.3g} mm" if len(inside) == 1 else f"{inside[0]:.3g} to {inside[-1]:.3g} mm"
        impact = "" if to <= 40.0 else ", and three Charpy V, 27 J at the coldest day"
        impact += " less 20 K" if over >= 60.0 else ""
        said.append(f"Stock of {span}: two tension coupons from a piece forged and cooled as the work is{impact}.")
    said.append("Cut them where the piece was hottest and drawn down most; weld one as the joints are, and bend it.")
    return said


def spares(assessment: Assessment) -> list[tuple[str, float]]:
    """Return how much diameter each member may lose before its first check fails, mm, by tag, the least first."""
    order = np.argsort(assessment.lifetime.spare, kind="stable")
    return [(str(assessment.tree.tags[row]), 2.0 * float(assessment.lifetime.spare[row])) for row in order.tolist()]
