"""The lists describe the same graph as the tree."""

from __future__ import annotations

import csv
import io

import networkx

from armature.files.lists import joints_csv
from tests.trees import random_tree


def test_joints_are_the_edges_of_the_trees_graph() -> None:
    tree = random_tree(80, 2)
    rows = list(csv.DictReader(io.StringIO(joints_csv(tree))))
    graph = networkx.DiGraph([(row["parent"], row["child"]) for row in rows if row["parent"] != "base"])
    assert networkx.is_arborescence(graph)
    assert set(graph.edges) == set(tree.graph().edges)
    # Trunk, limb, branch, twig: no way is longer than three joints.
    assert networkx.dag_longest_path_length(graph) == 3
    assert [tag for tag, degree in graph.in_degree if degree == 0] == ["T"]
