"""What the commission's own files say of leaves, read and checked before a tree is grown."""

from __future__ import annotations

from dataclasses import dataclass

from armature.commission import Commission
from armature.edge import CommissionError
from armature.leaves.naming import NameList, read_bench, read_names, stamp_heights
from armature.leaves.nesting import Rules, check_sizes
from armature.leaves.outline import Design, as_kept, draw_designs


@dataclass(frozen=True, eq=False)
class Given:
    """The designs (D,) that leaves are cut to, and the names to stamp, None without."""

    designs: tuple[Design, ...]
    names: NameList | None


def read_given(commission: Commission, plates: bool = True) -> Given:
    """Return designs and names of a commission, everything that its files hold checked as far as it can be without
    the tree.

    plates: whether each design must fit a plate. Raises CommissionError in one line for an outline, name or grade that
    breaks a rule, FileError for a file that cannot be read.
    """
    leaves = commission.leaves
    names = read_names(commission.file(leaves.names), leaves.count) if leaves.names else None
    lettering = leaves.lettering
    if names and not len(stamp_heights(lettering.least, lettering.most, lettering.stamps)):
        rule = f"no letter stamp from {lettering.least:g} mm to {lettering.most:g} mm is sold"
        raise CommissionError("leaves.lettering.least", rule)
    read_bench(commission, names)
    designs = tuple(as_kept(design) for design in draw_designs(commission))
    if plates and leaves.count:
        sizes = [*leaves.plates.sizes, *leaves.plates.offcuts]
        check_sizes(designs, [1] * len(designs), sizes, plate_rules(commission))
    return Given(designs, names)


def plate_rules(commission: Commission) -> Rules:
    """Return the rules by which leaves are laid on plates."""
    plates = commission.leaves.plates
    return Rules(plates.web, plates.margin, plates.rotation, float(plates.seconds), commission.seed % 2**31)
