"""The drawing holds every bar as true lines and arcs in space."""

from __future__ import annotations

import io
from typing import Any

import ezdxf
import numpy as np
import pytest

from armature.files.centrelines import arbitrary_axes, centrelines_dxf
from armature.files.plot import APP
from armature.tree import RANKS, Tree, chain
from tests.trees import gallows, post, random_tree

# Coordinates have eight decimals. An end of an arc has the roundings of its centre and its radius, half of 1e-8 mm in
# each axis and along it, and of its angles, 5e-11 deg on up to 200 mm.
ENDS = 0.5e-8 * 3.0**0.5 + 0.5e-8 + 200.0 * np.radians(5e-11)


def drawn(tree: Tree) -> Any:
    return ezdxf.read(io.StringIO(centrelines_dxf(tree)))  # type: ignore[attr-defined]


def ends(entity: Any) -> np.ndarray:
    """Return both ends of a line or arc in the world, as a reader of the drawing finds them."""
    if entity.dxftype() == "LINE":
        return np.array([entity.dxf.start, entity.dxf.end])
    return np.array([entity.start_point, entity.end_point])


def length(entity: Any) -> float:
    if entity.dxftype() == "LINE":
        return float(np.linalg.norm(np.diff(ends(entity), axis=0)))
    return float(np.radians((entity.dxf.end_angle - entity.dxf.start_angle) % 360.0) * entity.dxf.radius)


def by_tag(drawing: Any) -> dict[str, list[Any]]:
    found: dict[str, list[Any]] = {}
    for entity in drawing.modelspace():
        found.setdefault(entity.get_xdata(APP)[0][1], []).append(entity)
    return found


def test_the_drawing_is_clean_in_mm_with_a_layer_per_rank() -> None:
    tree = random_tree(16)
    drawing = drawn(tree)
    auditor = drawing.audit()
    assert not auditor.errors
    assert not auditor.fixes
    assert drawing.header["$INSUNITS"] == 4
    for tag, entities in by_tag(drawing).items():
        assert {entity.dxf.layer for entity in entities} == {RANKS[tree.ranks[tree.rows[tag]]]}
    assert {entity.dxftype() for entity in drawing.modelspace()} == {"LINE", "ARC"}


def test_each_bar_reads_back_from_its_start_to_its_tip_without_a_gap() -> None:
    tree = random_tree(16)
    bars = by_tag(drawn(tree))
    assert list(bars) == tree.tags.tolist()
    for row, entities in enumerate(bars.values()):
        along = np.array([ends(entity) for entity in entities])
        np.testing.assert_allclose(along[0, 0], tree.starts[row], atol=ENDS)
        np.testing.assert_allclose(along[1:, 0], along[:-1, 1], atol=2.0 * ENDS)
        np.testing.assert_allclose(along[-1, 1], tree.tips[row], atol=ENDS)
        assert sum(map(length, entities)) == pytest.approx(float(tree.lengths[row]), abs=2.0 * ENDS * len(entities))


def test_arcs_meet_their_lines_without_a_corner() -> None:
    for entities in by_tag(drawn(random_tree(16))).values():
        for before, arc, after in zip(entities[:-2:2], entities[1:-1:2], entities[2::2], strict=True):
            assert arc.dxftype() == "ARC"
            radii = ends(arc) - np.array(arc.ocs().to_wcs(arc.dxf.center))
            for line, radius in ((before, radii[0]), (after, radii[1])):
                along = np.diff(ends(line), axis=0)[0]
                assert abs(along @ radius) < 1e-9 * np.linalg.norm(along) * np.linalg.norm(radius) + 1e-6


def test_two_right_angles_in_space_are_drawn_as_computed_by_hand() -> None:
    from dataclasses import replace

    tree = replace(post(), chains=chain([[0, 0, 0], [300, 0, 0], [300, 200, 0], [300, 200, 150]], [0, 40, 40, 0]))
    entities = list(drawn(tree).modelspace())
    assert [entity.dxftype() for entity in entities] == ["LINE", "ARC", "LINE", "ARC", "LINE"]
    # Straights 260, 120, 110; two quarter circles of 40 mm: 615.66 mm in all.
    assert [round(length(entity), 3) for entity in entities] == [260.0, 62.832, 120.0, 62.832, 110.0]
    centres = [np.array(arc.ocs().to_wcs(arc.dxf.center)).round(6).tolist() for arc in entities[1::2]]
    assert centres == [[260.0, 40.0, 0.0], [300.0, 160.0, 40.0]]


def test_axes_of_a_plane_are_those_of_the_drawing_library() -> None:
    from ezdxf.math import OCS

    rng = np.random.default_rng(2)
    normals = rng.standard_normal((200, 3))
    normals[:60] *= [0.015, 0.015, 1.0]
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    for axis, name in zip(arbitrary_axes(normals), ("ux", "uy"), strict=True):
        wanted = [getattr(OCS(normal.tolist()), name) for normal in normals]
        np.testing.assert_allclose(axis, np.array([tuple(each) for each in wanted]), atol=1e-12)


def test_a_straight_bar_is_one_line() -> None:
    assert [entity.dxftype() for entity in drawn(gallows()).modelspace()] == ["LINE", "LINE"]


def test_drawing_leaves_the_librarys_own_settings_as_they_were() -> None:
    from ezdxf._options import options

    before = options.write_fixed_meta_data_for_testing
    centrelines_dxf(gallows())
    assert options.write_fixed_meta_data_for_testing == before
