"""The lists describe the same graph as the tree."""

from __future__ import annotations

import csv
import io
import xml.etree.ElementTree as ET

import networkx

from armature.files.graph import graphml_text
from armature.files.lists import joints_csv
from tests.trees import post, random_tree


def test_joints_are_the_edges_of_the_trees_graph() -> None:
    tree = random_tree(80, 2)
    rows = list(csv.DictReader(io.StringIO(joints_csv(tree))))
    graph = networkx.DiGraph([(row["parent"], row["child"]) for row in rows if row["parent"] != "base"])
    assert networkx.is_arborescence(graph)
    assert set(graph.edges) == set(tree.graph().edges)
    # Trunk, limb, branch, twig: no way is longer than three joints.
    assert networkx.dag_longest_path_length(graph) == 3
    assert [tag for tag, degree in graph.in_degree if degree == 0] == ["T"]


def test_the_graph_file_reads_back_as_the_tree() -> None:
    tree = random_tree(80, 2)
    graph = networkx.parse_graphml(graphml_text(tree))
    assert list(graph) == tree.tags.tolist()
    assert set(graph.edges) == set(tree.graph().edges)
    for row, tag in enumerate(tree.tags.tolist()):
        told = graph.nodes[tag]
        assert told["length_mm"] == round(float(tree.lengths[row]), 6)
        assert told["start_mm"] == round(float(tree.start_diameters[row]), 6)
        assert told["end_mm"] == round(float(tree.end_diameters[row]), 6)
        assert told["carries"] == len(networkx.descendants(graph, tag)) == len(tree.subtree(row)) - 1
        assert told["rank"] == tree.graph().nodes[tag]["rank"]
        if tree.parents[row] >= 0:
            station = graph.edges[str(tree.tags[tree.parents[row]]), tag]["station_mm"]
            assert station == round(float(tree.stations[row]), 6)


def test_the_graph_file_of_a_bare_trunk_is_one_node() -> None:
    graph = networkx.parse_graphml(graphml_text(post()))
    assert len(graph) == 1
    assert not graph.edges


def test_the_graph_file_is_graphml_of_its_publishers_namespace() -> None:
    # http://graphml.graphdrawing.org/specification.html, 2.1 and 2.2: nodes and directed edges in one graph.
    space = "{http://graphml.graphdrawing.org/xmlns}"
    root = ET.fromstring(graphml_text(random_tree(12, 1)))
    assert root.tag == f"{space}graphml"
    (graph,) = root.findall(f"{space}graph")
    assert graph.attrib["edgedefault"] == "directed"
    named = {node.attrib["id"] for node in graph.findall(f"{space}node")}
    ends = [(edge.attrib["source"], edge.attrib["target"]) for edge in graph.findall(f"{space}edge")]
    assert len(ends) == len(named) - 1
    assert {end for pair in ends for end in pair} <= named
