"""Stream orders and asymmetry, held against NeuroM 4 (an independent library of neuron morphometrics)."""

from pathlib import Path

import neurom
import numpy as np
import pytest
from neurom.features import section as neurom_section

from armature.look import forks
from armature.look.axes import Nodes, skeleton_of_nodes

from .naturals import natural
from .sticks import ladder


def swc(nodes: Nodes, path: Path) -> neurom.core.Morphology:
    """Return the nodes as NeuroM reads them; the root stands twice, as a soma and as the first point of the trunk."""
    lines = ["1 1 0 0 0 1 -1"]
    for row, (point, radius, parent) in enumerate(zip(nodes.points, nodes.radii, nodes.parents, strict=True)):
        x, y, z = point / 1000.0
        lines.append(f"{row + 2} 3 {x:.9f} {y:.9f} {z:.9f} {radius / 1000.0:.9f} {max(parent + 2, 1)}")
    path.write_text("\n".join(lines))
    return neurom.load_morphology(path)


def binary(seed: int) -> Nodes:
    """A stand-in whose forks all have two children, for NeuroM leaves wider forks out."""
    nodes = natural(seed, "lone")
    kept, seen = np.ones(len(nodes), dtype=bool), np.zeros(len(nodes), dtype=int)
    for row, parent in enumerate(nodes.parents.tolist()):
        if parent >= 0:
            seen[parent] += 1
            kept[row] = kept[parent] and seen[parent] <= (1 if parent == 0 else 2)
    new = np.cumsum(kept) - 1
    parents = np.where(nodes.parents[kept] >= 0, new[nodes.parents[kept]], -1)
    return Nodes(nodes.names[kept], parents, nodes.points[kept], nodes.radii[kept])


@pytest.mark.parametrize("seed", [0, 1, 2])
def test_strahler_orders_tips_and_lengths_agree_with_neurom(seed: int, tmp_path: Path) -> None:
    nodes = binary(seed)
    tree, cells = skeleton_of_nodes(nodes), swc(nodes, tmp_path / "tree.swc")
    sections = list(neurom.iter_sections(cells))
    orders = [neurom_section.strahler_order(section) for section in sections]
    found = forks.streams(tree)
    assert found.member_orders[0] == max(orders)
    # Streams of an order begin where two of the order below meet: count those sections in NeuroM's tree.
    for order in range(1, max(orders) + 1):
        starts = [
            s
            for s, own in zip(sections, orders, strict=True)
            if own == order and not any(neurom_section.strahler_order(child) == order for child in s.children)
        ]
        assert int((found.orders == order).sum()) == len(starts)
    assert len(tree) == int(neurom.get("number_of_leaves", cells))
    assert float(found.lengths.sum()) / 1000.0 == pytest.approx(
        float(sum(neurom.get("section_lengths", cells))), rel=1e-5
    )


@pytest.mark.parametrize("seed", [0, 1, 2])
def test_tips_at_forks_agree_with_neurom(seed: int, tmp_path: Path) -> None:
    nodes = binary(seed)
    cells = swc(nodes, tmp_path / "tree.swc")
    uneven = []
    for section in neurom.iter_sections(cells):
        if len(section.children) == 2:
            # NeuroM's own partition asymmetry counts sections; its leaf counts give ours, by tips.
            a, b = (sum(1 for s in child.ipreorder() if not s.children) for child in section.children)
            if a + b > 2:
                uneven.append(abs(a - b) / (a + b - 2))
    assert forks.partition_asymmetry(skeleton_of_nodes(nodes)).value == pytest.approx(np.mean(uneven))


def test_an_even_tree_has_ratio_two_and_no_asymmetry() -> None:
    from .made import forked

    tree = skeleton_of_nodes(forked(7))
    assert forks.bifurcation_ratio(forks.streams(tree)).value == pytest.approx(2.0)
    assert forks.partition_asymmetry(tree).value == pytest.approx(0.0)


def test_a_herringbone_sheds_one_tip_at_each_fork() -> None:
    tree = ladder([300, 500, 700, 900, 1100, 1300], [0] * 6, [60] * 6)
    assert forks.partition_asymmetry(tree).value == pytest.approx(1.0)
    assert forks.streams(tree).member_orders[0] == 2
    assert forks.streams(tree).orders.tolist().count(2) == 1


def test_streams_share_out_all_the_length() -> None:
    tree = skeleton_of_nodes(natural(5, "forest"))
    assert forks.streams(tree).lengths.sum() == pytest.approx(tree.lengths.sum())
