"""What the easel's panel says of a tree: its look, whether it stands, its totals."""

from __future__ import annotations

import math
from typing import Any

from armature.look import Finding
from armature.pictures.easel.session import Session
from armature.pictures.easel.works import Settled


def said_of(session: Session, number: int, settled: Settled | None) -> dict[str, Any]:
    """Return what is said of a tree, for the page: as settled, or else as first grown, and then nothing of standing."""
    grown = session.on_shelf(number)
    tree = grown.tree if settled is None else settled.tree
    verdict = session.crew.hands.work(session.works.judge, tree) if settled is None else settled.verdict
    standing = None if settled is None else settled.standing
    return {
        "tree": number,
        "settled": settled is not None,
        "changes": list(settled.changes) if settled else [],
        "look": _finite(verdict.overall),
        "families": {name: _finite(score) for name, score in verdict.families.items()},
        "faults": [_fault(fault) for fault in verdict.faults],
        "standing": standing
        and {
            "stands": standing.stands,
            "says": standing.says,
            "reasons": list(standing.reasons),
            "rows": list(standing.rows),
        },
        "totals": [list(row) for row in session.crew.hands.work(session.works.totals, grown.commission, tree)],
    }


def _fault(fault: Finding) -> dict[str, Any]:
    return {
        "name": fault.range.title,
        "score": _finite(fault.score),
        "wrong": fault.wrong,
        "helps": fault.helps,
        "azimuth": _finite(fault.azimuth),
        "rows": [int(row) for row in fault.rows[:60]],
        "places": [[round(float(x), 1) for x in place] for place in fault.places[:12]],
    }


def _finite(value: float) -> float | None:
    return round(float(value), 2) if math.isfinite(value) else None
