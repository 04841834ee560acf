"""Drawings as DXF text that is the same on every run: no day, no random number, classes in one order."""

from __future__ import annotations

import io
from collections import OrderedDict
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from armature.files.plot import Plot

if TYPE_CHECKING:
    from ezdxf.document import Drawing

_MM = 4
_ENTITIES = "  0\nSECTION\n  2\nENTITIES\n"


def dxf_text(draw: Callable[[Plot], None], styles: Sequence[str] = ()) -> str:
    """Return what `draw` puts into a new drawing, millimetres, as DXF text of release 2010.

    styles: sets of line types and dimension styles that the drawing starts with, by the names of the library. What a
    plot draws itself stands before what its `document` was given by the library.
    """
    from ezdxf._options import options
    from ezdxf.filemanagement import new

    # Without this the file would tell the day and a random number.
    before, options.write_fixed_meta_data_for_testing = options.write_fixed_meta_data_for_testing, True
    try:
        drawing = new("R2010", setup=list(styles), units=_MM)
        plot = Plot(drawing)
        draw(plot)
        _order_classes(drawing)
        text = io.StringIO()
        drawing.write(text)
    finally:
        options.write_fixed_meta_data_for_testing = before
    head, begin, tail = text.getvalue().partition(_ENTITIES)
    return "".join([head, begin, *plot.told, tail])


def _order_classes(drawing: Drawing) -> None:
    """Put the CLASS records in order of name: the library takes them from a set, whose order changes by process."""
    section = drawing.classes
    section.add_required_classes(drawing.dxfversion)
    section.classes = OrderedDict(sorted(section.classes.items()))
