"""tree.graphml: what hangs on what, for programs that read graphs (GraphML 1.0, graphml.graphdrawing.org)."""

from __future__ import annotations

from armature.tree import Tree

# Lengths are told to a millionth of a mm, as in the lists.
_PLACES = 6


def graphml_text(tree: Tree) -> str:
    """Return the tree as GraphML: a node per tag, an edge from parent to child with the station where it is welded.

    Nodes tell rank, length_mm, start_mm, end_mm and carries, the members from it on without itself; edges station_mm.
    Parents stand before their children.
    """
    import networkx

    view = tree.graph()
    for tag in reversed(list(networkx.topological_sort(view))):
        view.nodes[tag]["carries"] = sum(1 + view.nodes[child]["carries"] for child in view.successors(tag))
    for _, row in view.nodes(data=True):
        row |= {key: _rounded(value) for key, value in row.items()}
    for _, _, row in view.edges(data=True):
        row |= {key: _rounded(value) for key, value in row.items()}
    view.graph["unit"] = "mm"
    return "\n".join(networkx.generate_graphml(view, named_key_ids=True)) + "\n"


def _rounded(value: object) -> object:
    return round(value, _PLACES) + 0.0 if isinstance(value, float) else value
