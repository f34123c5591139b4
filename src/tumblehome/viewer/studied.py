"""What does the page tell of the place that a module has: what it gains and pays there, in a client's words and as curves?"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final, Literal

import numpy as np

from tumblehome.drawing.compose import compose
from tumblehome.drawing.sheet import sheet_for
from tumblehome.drawing.study_drawing import draw_depth_by_height, draw_slide
from tumblehome.drawing.svg import svg_of
from tumblehome.drawing.text import Box
from tumblehome.errors import InputError
from tumblehome.studies import sentences, study

if TYPE_CHECKING:
    from tumblehome.drawing.model import Drawing
    from tumblehome.fitout import Layout

__all__ = ["curves", "studied"]

Units = Literal["mm", "in"]

_EDGE: Final = 4.0
"""How much empty border a curve has on the page, mm of paper."""


def studied(layout: Layout, name: str, units: Units) -> dict[str, object]:
    """Return what a module's place against the wall gives it and costs it; nothing where it stands free or inside another one."""
    try:
        return {"sentences": sentences(study(layout, name), units), "curves": True}
    except InputError:
        return {"sentences": [], "curves": False}


def curves(layout: Layout, name: str, units: Units) -> list[dict[str, str]]:
    """Return how far a module stands out by the height of its top, and along its wall, as titled SVG; raises as `study` does."""
    found = study(layout, name)
    drawings = (draw_depth_by_height(found, units), draw_slide(found, units))
    return [{"title": drawing.title, "words": drawing.subtitle, "svg": _svg(drawing)} for drawing in drawings]


def _svg(drawing: Drawing) -> str:
    """Return a drawing without the sheet around it, cut to what is drawn."""
    sheet = sheet_for(drawing)
    placed = compose(drawing, sheet).placed
    boxes = [each.place.box for each in placed if each.place]
    rings = [ring for each in placed for shape in each.shapes for ring in shape.rings]
    corners = np.vstack([*rings, *([(b.left, b.top), (b.right, b.bottom)] for b in boxes)])
    low, high = corners.min(axis=0) - _EDGE, corners.max(axis=0) + _EDGE
    wide, tall = (high - low).tolist()
    x, y = (np.array(sheet.origin) - low).tolist()
    cropped = replace(sheet, width=wide, height=tall, origin=(x, y), frame=_moved(sheet.frame, *low.tolist()))
    return svg_of(compose(drawing, cropped), drawing.title, drawing.subtitle)


def _moved(box: Box, x: float, y: float) -> Box:
    return Box(box.left - x, box.top - y, box.right - x, box.bottom - y)
