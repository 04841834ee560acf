"""tree.swc is read by others as the tree that it is."""

from __future__ import annotations

import warnings
from pathlib import Path
from typing import Any

import networkx
import numpy as np
import pytest

from armature.files.swc import KIND, swc_text
from armature.tree import Tree
from tests.trees import gallows, random_tree


def rows(tree: Tree) -> np.ndarray:
    return np.loadtxt(swc_text(tree).splitlines(), ndmin=2)


def measured(tree: Tree, folder: Path) -> Any:
    with warnings.catch_warnings():
        # The reader's own dependencies warn of their future.
        warnings.simplefilter("ignore")
        import neurom

        (folder / "tree.swc").write_text(swc_text(tree))
        return neurom, neurom.load_morphology(folder / "tree.swc")


def test_a_gallows_is_five_points() -> None:
    found = rows(gallows())
    # The post has a point at its foot, at the fork and at its top; the limb one where it begins and one at its tip.
    assert found[:, 2:5].tolist() == [[0, 0, 0], [0, 0, 800], [0, 0, 1000], [10, 0, 800], [510, 0, 800]]
    assert found[:, 6].tolist() == [-1, 1, 2, 2, 4]
    assert found[:, 5].tolist() == [10, 10, 10, 5, 5]
    assert (found[:, 1] - KIND).tolist() == [0, 0, 0, 1, 1]
    # Programs that read skeletons give the kinds up to 9 meanings of their own.
    assert found[:, 1].min() > 9


def test_every_point_follows_its_parent_and_all_hang_together() -> None:
    found = rows(random_tree(60, 2))
    assert found[:, 0].tolist() == list(range(1, len(found) + 1))
    assert (found[1:, 6] < found[1:, 0]).all()
    graph = networkx.DiGraph(list(zip(found[1:, 6].tolist(), found[1:, 0].tolist(), strict=True)))
    assert networkx.is_arborescence(graph)


def test_ends_of_the_skeleton_are_the_tips_of_the_tree() -> None:
    tree = random_tree(60, 2)
    found = rows(tree)
    ends = found[~np.isin(found[:, 0], found[:, 6])]
    assert len(ends) == len(tree)
    gap = np.linalg.norm(ends[:, None, 2:5] - tree.tips[None], axis=2).min(axis=1)
    assert gap.max() < 1e-5


def test_neurom_measures_the_lengths_forks_and_ends_of_the_tree(tmp_path: Path) -> None:
    tree = random_tree(40, 3)
    neurom, morphology = measured(tree, tmp_path)
    forks = sum(len(np.unique(tree.stations[tree.parents == row])) for row in range(len(tree)))
    sections = neurom.get("section_lengths", morphology)
    assert len(sections) == len(tree) + forks
    # Chords of 0.05 mm under their arcs, and the stretch from each parent's axis to its skin.
    assert sum(sections) == pytest.approx(float((tree.lengths + tree.setbacks).sum()), rel=2e-4)
    assert sum(sections) < float((tree.lengths + tree.setbacks).sum())
    assert neurom.get("number_of_bifurcations", morphology) == forks
    assert neurom.get("number_of_leaves", morphology) == len(tree)


def test_neurom_measures_the_path_from_foot_to_each_tip(tmp_path: Path) -> None:
    tree = random_tree(24, 5)
    neurom, morphology = measured(tree, tmp_path)
    paths = np.zeros(len(tree))
    for row in range(len(tree)):
        at, run = row, float(tree.lengths[row])
        while tree.parents[at] >= 0:
            run += float(tree.setbacks[at] + tree.stations[at])
            at = int(tree.parents[at])
        paths[row] = run
    found = neurom.get("terminal_path_lengths", morphology)
    np.testing.assert_allclose(np.sort(found), np.sort(paths), rtol=3e-4)
