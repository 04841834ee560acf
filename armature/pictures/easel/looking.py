"""What the easel answers about a tree: how it looks, what is said of it, what a picked member is."""

from __future__ import annotations

from armature.edge import CommissionError
from armature.pictures.easel.saying import said_of
from armature.pictures.easel.session import Session
from armature.pictures.easel.sketch import sketch
from armature.pictures.easel.studio import Studio
from armature.server import Answer, Asked, whole_number
from armature.tree import RANKS


def scene(_studio: Studio, session: Session, asked: Asked) -> Answer:
    """Return the packed scene of a tree, rough or fine."""
    number = whole_number(asked.query.get("tree"))
    tree, metal = session.seen(number), session.on_shelf(number).commission.leaves.metal
    drawn = session.crew.hands.work(sketch, tree, asked.query.get("fine") == "1", metal)
    return Answer(200, "application/octet-stream", drawn)


def panel(_studio: Studio, session: Session, asked: Asked) -> Answer:
    """Return what is said at once of a tree: as make will make it where that is known, else as first grown."""
    number = whole_number(asked.query.get("tree"))
    return Answer.of(said_of(session, number, session.settled.get(number)))


def settle(_studio: Studio, session: Session, asked: Asked) -> Answer:
    """Return what is said of a tree once it is settled as make will make it."""
    number = whole_number(asked.query.get("tree"))
    settled = session.settle(number)
    return Answer.of({"tree": number, "gone": True} if settled is None else said_of(session, number, settled))


def member(_studio: Studio, session: Session, asked: Asked) -> Answer:
    """Return what is known of a picked member or leaf."""
    tree = session.seen(whole_number(asked.query.get("tree")))
    row = whole_number(asked.query.get("row"))
    if asked.query.get("part") == "leaves":
        if not 0 <= row < len(tree.leaves):
            raise CommissionError("leaf", "no such row", row)
        leaves = tree.leaves
        name = f", {leaves.names[row]}" if leaves.names[row] else ""
        twig = int(leaves.twigs[row])
        return Answer.of({"row": twig, "says": f"leaf {leaves.tags[row]}{name}: design {leaves.designs[row]}"})
    if not 0 <= row < len(tree):
        raise CommissionError("member", "no such row", row)
    size = f"{tree.lengths[row]:.0f} mm long, {tree.start_diameters[row]:.1f} to {tree.end_diameters[row]:.1f} mm thick"
    return Answer.of({"row": row, "says": f"{RANKS[int(tree.ranks[row])]} {tree.tags[row]}: {size}"})
