"""What a checker's eye adds to the figures: what is not covered, where steel dies first, what to inspect and when."""

from __future__ import annotations

from armature.strength.conditions import Conditions
from armature.strength.lifetime import coat_years

CAUTION = "A design aid, not a certificate: local codes rule, and a licensed engineer has to check and sign this tree."

NOT_COVERED = (
    "ice, snow and earthquake that the commission does not state",
    "impact by vehicles",
    "flutter of leaves beyond their drag; the swing of iced bars that gallop (their onset is told)",
    "vortex lock-in in a member's second and higher modes",
    "shelter of one member by another (left out on the safe side)",
    "the wall of a pipe where a member is welded to it (AISC 360-16 chapter K)",
    "reinforcement of the footing, settlement, a pedestal",
    "brittle fracture in hard cold: choose the steel's toughness for the site (EN 1993-1-10)",
    "welding stresses, faults in welds and in forged steel",
    "truck and crane: only own weight, hung up and lying, with 1.3 for the hook's jerk",
)

DETAILS = (
    "Crotches and saddles hold water and leaves: shape each to drain, or bore a weep hole of 8 mm at its low point.",
    "Seal welds: run every weld all the way round, so that no crevice is left between two bars.",
    "Base line: keep plate, nuts and trunk foot above the ground on drained grout; no soil or mulch against the steel.",
    "Pipe: seal it airtight, or vent and drain it at both ends; in the zinc bath a sealed pipe bursts: vent it first.",
    "Loops: leave them loose enough to swing; check the twig under them for a worn groove.",
)

SAFETY = (
    "Lightning: a tall steel tree can be struck: bond the base plate to earth by the local code (NFPA 780, IEC 62305).",
    "Reach: no sharp tip or leaf edge under 2.1 m above ground: blunt, curl or guard those below.",
    "Climbing: limbs within reach invite it; guard the trunk or plan for it.",
    "Zinc and copper fume are poisonous: weld and forge bare steel, in moving air, never galvanised stock.",
)


def loop_renewal(worn_years: float, years: int) -> int | None:
    """Return the years between renewals of loops and bushes, of which half the wire is gone after `worn_years`.

    Four fifths of that, in whole years, since the wear is a guess; None where they outlast the tree.

    >>> loop_renewal(31.4, 200), loop_renewal(800.0, 200), loop_renewal(0.5, 200)
    (25, None, 1)
    """
    each = 0.8 * worn_years
    return None if each >= years else max(int(each), 1)


def inspection_plan(conditions: Conditions, worn_years: float = float("inf")) -> list[dict[str, str]]:
    """Return when to look at what, and when to renew coat, loops and bushes, for the class of the air and the coat.

    worn_years: until half the wire of the most worn loop is gone.
    """
    every = {"C1": 10, "C2": 5, "C3": 3, "C4": 2, "C5": 1, "CX": 1}[conditions.corrosivity]
    plan = [
        {
            "when": "after the first winter, and after every storm near the design wind",
            "what": "all joints from a lift",
        },
        {"when": "every year, from the ground", "what": "loose or lost leaves, rust stains, anything cracked or bent"},
        {
            "when": f"every {every} years",
            "what": "crotches, saddles, base line and anchors, by hand; twig welds by sample",
        },
        {"when": f"every {2 * every} years", "what": "loops and sleeves for wear; bars gauged where pitted"},
    ]
    loops = loop_renewal(worn_years, conditions.years)
    if loops is not None:
        what = "renew loops worn by a third of their wire, and every bush with its loop or sooner where metal shows"
        plan.append({"when": f"about every {loops} years", "what": what})
    if conditions.coat == "bare":
        plan.append(
            {"when": "every 10 years", "what": "bar diameters gauged against the loss that this report assumes"}
        )
    else:
        years = coat_years(conditions.coat, conditions.corrosivity)
        plan.append(
            {"when": f"about every {max(int(years * 0.8), 1)} years", "what": f"renew the coat ({conditions.coat})"}
        )
    return plan
