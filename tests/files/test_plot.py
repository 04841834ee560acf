"""What a plot draws is what the library that reads drawings finds in them, entity by entity."""

from __future__ import annotations

import io
from typing import Any

import pytest
from ezdxf.filemanagement import read as read_drawing

from armature.files.dxf import dxf_text
from armature.files.plot import APP, Plot


def draw(plot: Plot) -> None:
    plot.document.appids.add(APP)
    plot.document.layers.add("CUT", color=1)
    plot.line((1.0, 2.0), (3.5, -4.0), "CUT")
    plot.line((1.0, 2.0, 3.0), (3.5, -4.0, 5.0), "CUT", "A07-12")
    plot.arc((1.0, 2.0, 3.0), 7.5, (10.0, 95.5), (0.0, 0.6, 0.8), "CUT", "A07")
    plot.polyline([[0.0, 0.0], [4.0, 0.0], [4.0, 3.0]], "CUT", closed=True, bulges=[0.0, 0.5, -1.0])
    plot.polyline([[0.0, 0.0], [4.0, 1.25]], "CUT")
    plot.point((8.0, 9.0), "CUT")
    plot.words("Größe 7\n", (5.0, 6.0), 2.5, "CUT", 30.0)


@pytest.fixture(scope="module")
def read() -> Any:
    return read_drawing(io.StringIO(dxf_text(draw)))


def test_a_plot_reads_back_without_a_fault(read: Any) -> None:
    assert not read.audit().errors
    assert not read.audit().fixes
    assert {each.dxf.layer for each in read.modelspace()} == {"CUT"}
    handles = [each.dxf.handle for each in read.modelspace()]
    assert len(set(handles)) == len(handles) == 7
    # What a program adds after must not take a handle that is in use.
    assert int(read.header["$HANDSEED"], 16) > max(int(each, 16) for each in handles)


def test_lines_arcs_and_points_stand_where_they_were_drawn(read: Any) -> None:
    flat, space = read.modelspace().query("LINE")
    assert (flat.dxf.start, flat.dxf.end) == ((1.0, 2.0, 0.0), (3.5, -4.0, 0.0))
    assert (space.dxf.start, space.dxf.end) == ((1.0, 2.0, 3.0), (3.5, -4.0, 5.0))
    assert space.get_xdata(APP)[-1].value == "A07-12"
    assert not flat.has_xdata(APP)
    arc = read.modelspace().query("ARC").first
    assert (arc.dxf.center, arc.dxf.radius, arc.dxf.extrusion) == ((1.0, 2.0, 3.0), 7.5, (0.0, 0.6, 0.8))
    assert (arc.dxf.start_angle, arc.dxf.end_angle) == (10.0, 95.5)
    assert arc.get_xdata(APP)[-1].value == "A07"
    assert read.modelspace().query("POINT").first.dxf.location == (8.0, 9.0, 0.0)


def test_polylines_keep_corners_bulges_and_whether_they_close(read: Any) -> None:
    ring, run = read.modelspace().query("LWPOLYLINE")
    assert ring.get_points("xyb") == [(0.0, 0.0, 0.0), (4.0, 0.0, 0.5), (4.0, 3.0, -1.0)]
    assert ring.closed
    assert run.get_points("xyb") == [(0.0, 0.0, 0.0), (4.0, 1.25, 0.0)]
    assert not run.closed


def test_words_are_one_line_at_their_place(read: Any) -> None:
    text = read.modelspace().query("TEXT").first
    assert (text.dxf.text, text.dxf.insert, text.dxf.height, text.dxf.rotation) == (
        "Größe 7",
        (5.0, 6.0, 0.0),
        2.5,
        30.0,
    )
