"""The checks as rows for a reader: clause, value, limit, ratio, member; and the verdict that they add up to."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from armature.strength.assess import Assessment
from armature.strength.check import Check
from armature.strength.cross_sections import member_worst
from armature.strength.fatigue import STREAMING, Fatigue
from armature.strength.foot import foot_checks
from armature.strength.galloping import Galloping, galloping
from armature.strength.people import lowest
from armature.strength.second_order import LIMIT
from armature.strength.worst import CHECKS

# What a member asks and can take, by check: title, unit, divisor from N and N mm.
_TITLES = {
    "combined": ("axial, bending, shear and torsion together", "", 1.0),
    "bending": ("bending", "N m", 1000.0),
    "axial": ("tension or compression", "N", 1.0),
    "shear": ("shear", "N", 1.0),
    "torsion": ("torsion", "N m", 1000.0),
}

_SWINGING = (
    "a bound only: a leaf on its loop swings out of every wind stronger than its own weight, so that none stays across"
    " it for all the gusts of a life; in one storm all may be jammed, and so the plates do count for strength"
)


@dataclass(frozen=True)
class Verdict:
    """What the checks add up to.

    word: fails, not proven, passes new, passes at renewal, or passes at N years: the furthest that holds. ratios: the
    worst ratio new, at_renewal where that is said, and at_years; infinite where a bar is wasted through.
    reasons: why it fails, worst first. gaps: what was not checked at all.
    """

    word: str
    ratios: dict[str, float]
    reasons: tuple[str, ...]
    gaps: tuple[str, ...]

    @property
    def passes(self) -> bool:
        """Whether new steel passes all checks, and nothing was left unchecked that could bring it down."""
        return self.word.startswith("passes")


def checks(assessment: Assessment) -> list[Check]:
    """Return all checks, the worst first."""
    rows = [_section_check(assessment, name) for name in CHECKS]
    rows += [
        _elastic_check(assessment),
        _weld_check(assessment),
        _base_metal_check(assessment),
        _order_check(assessment),
        *foot_checks(assessment),
        *_people_checks(assessment),
    ]
    prone = galloping(assessment)
    if prone is not None:
        rows.append(_gallop_check(assessment, prone))
    if assessment.fatigue is not None:
        rows += [_fatigue_check(assessment, bound) for bound in assessment.fatigue.gust_range]
        rows.append(_skin_check(assessment, assessment.fatigue))
    return sorted(rows, key=lambda row: -row.ratio)


def _section_check(assessment: Assessment, name: str) -> Check:
    title, unit, scale = _TITLES[name]
    ratio = assessment.worst.ratio[name]
    at = int(np.argmax(ratio))
    limit = 1.0 if name == "combined" else _limit(assessment, name, at) / scale
    return Check(
        clause=assessment.limit.clauses[name],
        title=title,
        value=float(ratio[at]) * limit,
        limit=limit,
        unit=unit,
        ratio=float(ratio[at]),
        member=str(assessment.tree.tags[assessment.cross_sections.members[at]]),
        case=assessment.worst.labels[int(assessment.worst.place[name][at])],
        over=_tags_over(assessment, member_worst(assessment.cross_sections, ratio)[0] > 1.0),
    )


def _limit(assessment: Assessment, name: str, at: int) -> float:
    if name != "axial":
        return float(getattr(assessment.limit, name)[at])
    pull = assessment.worst.most["pull"][at] / assessment.limit.tension[at]
    push = assessment.worst.most["push"][at] / assessment.limit.compression[at]
    return float(assessment.limit.tension[at] if pull > push else assessment.limit.compression[at])


def _tags_over(assessment: Assessment, is_over: NDArray[np.bool_]) -> tuple[str, ...]:
    return tuple(str(tag) for tag in assessment.tree.tags[np.flatnonzero(is_over)])


def _elastic_check(assessment: Assessment) -> Check:
    ratio = assessment.elastic.ratio
    at = int(np.argmax(ratio))
    limit = float(assessment.yields[at])
    return Check(
        clause="EN 1993-1-1 eq. 6.1, at the service combinations; AISC 360-16 L1",
        title="elastic limit: nothing stays bent after a storm",
        value=float(ratio[at]) * limit,
        limit=limit,
        unit="MPa",
        ratio=float(ratio[at]),
        member=str(assessment.tree.tags[assessment.cross_sections.members[at]]),
        case=str(assessment.elastic.names[at]),
        over=_tags_over(assessment, member_worst(assessment.cross_sections, ratio)[0] > 1.0),
    )


def _weld_check(assessment: Assessment) -> Check:
    weld = assessment.welds
    # A groove of full penetration is as strong as the bar, whose own checks then speak for it.
    ratio = np.where(weld.is_groove, 0.0, weld.ratio)
    at = int(np.argmax(ratio))
    return Check(
        clause=weld.clause,
        title="fillet welds all round, as thick as they need to be (a groove is as strong as its bar)",
        value=float(weld.line[at]),
        limit=float(weld.line[at] / max(ratio[at], 1e-12)),
        unit="N/mm",
        ratio=float(ratio[at]),
        member=str(assessment.tree.tags[at]),
        case=assessment.worst.labels[int(assessment.worst.weld_place[at])],
        over=_tags_over(assessment, ratio > 1.0),
    )


def _base_metal_check(assessment: Assessment) -> Check:
    """The parent's metal round the foot: the weld's force through the parent's skin, a leg deep."""
    weld, tree = assessment.welds, assessment.tree
    kids = np.flatnonzero(tree.parents >= 0)
    ratio = np.zeros(len(tree))
    ratio[kids] = np.where(weld.is_groove[kids], 0.0, weld.base_ratio[kids])
    at = int(np.argmax(ratio))
    return Check(
        clause="AISC 360-16 J4.2" if assessment.conditions.is_american else "EN 1993-1-8 4.5.3.3 (by AISC 360-16 J4.2)",
        title="base metal along the fillets",
        value=float(weld.line[at]),
        limit=float(weld.line[at] / max(ratio[at], 1e-12)),
        unit="N/mm",
        ratio=float(ratio[at]),
        member=str(tree.tags[at]),
        case=assessment.worst.labels[int(assessment.worst.weld_place[at])],
        over=_tags_over(assessment, ratio > 1.0),
    )


def _order_check(assessment: Assessment) -> Check:
    tree, order = assessment.tree, assessment.order
    shares = np.where(np.isin(np.arange(len(tree)), tree.parents), order.shares, 0.0)
    at = int(np.argmax(shares))
    return Check(
        clause=order.clause,
        title="second order: moment added by weight and wind that have moved, members that carry others",
        value=float(shares[at]),
        limit=LIMIT,
        unit="of the moment",
        ratio=float(shares[at] / LIMIT),
        member=str(tree.tags[at]),
        case="strength combinations",
        over=_tags_over(assessment, shares > LIMIT),
    )


def _fatigue_check(assessment: Assessment, bound: str) -> Check:
    assert assessment.fatigue is not None
    ratio = assessment.fatigue.ratio(bound)
    at = int(np.argmax(ratio))
    return Check(
        clause=assessment.fatigue.clause,
        title=f"fatigue of welds over {assessment.conditions.years} years, leaves as {bound}",
        value=float(ratio[at]),
        limit=1.0,
        unit="of the stress range allowed",
        ratio=float(ratio[at]),
        member=str(assessment.tree.tags[at]),
        case=f"gusts, leaves as {bound}, and vortex lock-in",
        over=_tags_over(assessment, ratio > 1.0),
        aside="" if bound == STREAMING else _SWINGING,
    )


def _skin_check(assessment: Assessment, tired: Fatigue) -> Check:
    at = int(np.argmax(tired.skin))
    member = int(assessment.cross_sections.members[at])
    station = float(assessment.frame.stations[assessment.cross_sections.nodes[at]])
    over = member_worst(assessment.cross_sections, tired.skin)[0] > 1.0
    american = assessment.conditions.is_american
    return Check(
        clause="AISC 360-16 appendix 3, table A-3.1, 7.2" if american else "EN 1993-1-9 table 8.4, detail 1",
        title=f"fatigue of the skin beside the welds of children, here {station:.0f} mm from the foot",
        value=float(tired.skin[at]),
        limit=1.0,
        unit="of the stress range allowed",
        ratio=float(tired.skin[at]),
        member=str(assessment.tree.tags[member]),
        case="gusts, leaves as streaming",
        over=_tags_over(assessment, over),
    )


def _people_checks(assessment: Assessment) -> list[Check]:
    rocking, conditions, made = assessment.rocked, assessment.conditions, []
    if len(rocking.rows):
        at = int(np.argmax(rocking.ratios))
        limit = float(assessment.limit.bending[rocking.rows[at]]) / 1e6
        made.append(
            Check(
                clause="ISO 10137 (rhythm), EN 1176-1 annex A (persons); push and stroke common practice, no source",
                title=f"rocked in its own rhythm, {rocking.frequencies[at]:.2f} Hz, by a hand that moves 150 mm",
                value=float(rocking.ratios[at]) * limit,
                limit=limit,
                unit="kN m",
                ratio=float(rocking.ratios[at]),
                member=str(assessment.tree.tags[rocking.rows[at]]),
                case="weight and a push at resonance, still air",
                over=_tags_over(assessment, assessment.parts["rocking"] > 1.0),
            )
        )
    if conditions.head_room is not None:
        height, tag = lowest(assessment.frame, assessment.foliage.areas)
        ratio = conditions.head_room / max(height, 1.0)
        over = (tag,) if ratio > 1.0 else ()
        made.append(
            Check("site.head_room", "clearance of heads and eyes, steel and leaf edges", conditions.head_room, height,
                  "mm", ratio, tag, "hanging still", over)
        )  # fmt: skip
    return made


def _gallop_check(assessment: Assessment, prone: Galloping) -> Check:
    share = prone.winds / np.maximum(prone.speeds, 1e-9)
    at = int(np.argmax(share))
    return Check(
        clause="EN 1991-1-4 E.2, table E.7, a_G 1.0 for iced rounds",
        title="galloping of iced bars: 1.25 mean wind against onset",
        value=float(prone.winds[at]),
        limit=float(prone.speeds[at]),
        unit="m/s",
        ratio=float(share[at]),
        member=str(assessment.tree.tags[at]),
        case="wind with ice, damping of the steel alone",
        over=_tags_over(assessment, prone.is_prone),
        aside="a warning: thin bars swing in iced wind, which is rare and short; their swing is not computed",
    )


def gaps(assessment: Assessment) -> tuple[str, ...]:
    """Return what was not checked because the commission does not say it."""
    conditions = assessment.conditions
    said = []
    if conditions.wind_speed is None:
        said.append("not checked for wind: site.wind_speed is missing, and a guessed wind could hurt someone")
    if conditions.exposure is None:
        said.append("not checked for wind: site.exposure is missing")
    if conditions.ice is None:
        said.append("not checked for ice: site.ice is missing (0 where none forms)")
    elif conditions.ice > 0.0 and conditions.ice_wind is None:
        said.append("not checked for ice: site.ice_wind, the wind that comes with it, is missing")
    if conditions.snow is None:
        said.append("not checked for snow: site.snow is missing (0 where none falls)")
    if conditions.quake is None:
        said.append("not checked for earthquake: site.quake is missing")
    if conditions.frost_depth is None and conditions.ground == "soil":
        said.append("not checked for frost under the footing: site.frost_depth is missing")
    if (assessment.tree.parents < 0).sum() > 1:
        said.append("not checked for further stems: plate, anchors and footing are worked out for the foot of T alone")
    if conditions.foot_width == 0.0:
        said.append("not checked at the foot: shop.transport.foot_width is 0, so that there is no plate to hold it")
    return tuple(said)


def wasting(assessment: Assessment) -> str:
    """Return what the years do to a tree that passes new, if they fail it before the asked life; else an empty line."""
    life, conditions = assessment.lifetime, assessment.conditions
    at = int(np.argmax(life.at_end))
    if life.at_end[at] <= 1.0 or life.spare.min() <= 0.0:
        return ""
    gone = f"{life.end_depth:.2f} mm a side"
    tag, ratio = assessment.tree.tags[at], life.at_end[at]
    state = "is wasted through" if np.isinf(ratio) else f"asks {ratio:.2f} of what is left of it"
    renewed = f"renewed every {conditions.renew_every} years" if conditions.renew_every else "never renewed"
    how = "left bare" if conditions.coat == "bare" else f"{conditions.coat} and {renewed}"
    cure = "coat it, or take thicker bars" if conditions.coat == "bare" else "renew the coat before it wears through"
    first = int(np.argmin(life.years[conditions.coat]))
    years = life.years[conditions.coat][first]
    once = "" if conditions.renew_every else f"; the first, {assessment.tree.tags[first]}, fails in {years:.0f} years"
    return (
        f"{how}, in air of class {conditions.corrosivity}, {gone} are gone after {conditions.years} years: {tag}"
        f" {state}{once}: {cure}"
    )


def verdict(assessment: Assessment, rows: list[Check]) -> Verdict:
    """Return what the checks add up to: it passes only where wind, ice and snow were checked and nothing is over."""
    reasons = tuple(
        f"{row.title}: ratio {row.ratio:.2f} at {row.member} ({row.clause}); {len(row.over)} members over"
        for row in rows
        if row.ratio > 1.0 and row.over and not row.aside
    )
    missing, life = gaps(assessment), assessment.lifetime
    new = worst_ratio(rows)
    ratios = {"new": new}
    if life.at_renewal is not None:
        ratios["at_renewal"] = max(float(life.at_renewal.max()), new)
    ratios["at_years"] = max(float(life.at_end.max()), new)
    if reasons:
        return Verdict("fails", ratios, reasons, missing)
    if any(gap.split(":")[0].rsplit(" ", 1)[-1] in ("wind", "ice", "snow", "stems") for gap in missing):
        return Verdict("not proven", ratios, (), missing)
    word = "passes new"
    if ratios.get("at_renewal", np.inf) <= 1.0:
        word = "passes at renewal"
    if ratios["at_years"] <= 1.0:
        word = f"passes at {assessment.conditions.years} years"
    return Verdict(word, ratios, (), missing)


def governing(assessment: Assessment) -> dict[str, float]:
    """Return the worst ratio of any member by set of cases, the worst first."""
    worst = dict(assessment.worst.sets)
    return dict(sorted(worst.items(), key=lambda item: -item[1]))


def worst_ratio(rows: list[Check]) -> float:
    """Return the worst ratio that counts for the verdict."""
    return max(row.ratio for row in rows if not row.aside)


def leaf_bounds(assessment: Assessment) -> dict[str, float]:
    """Return the worst strength ratio of any member with the leaves at each bound; {} without wind."""
    if not assessment.conditions.has_wind:
        return {}
    sets = assessment.worst.sets.items()
    return {
        bound: max(worst for name, worst in sets if not name.endswith(other))
        for bound, other in (("plates", "streaming"), ("streaming", "plates"))
    }
