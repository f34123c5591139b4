"""Which lines and fillings does an item draw on the sheet, its words not counted?"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np

from tumblehome.drawing import palette
from tumblehome.drawing.marks import Shape, verdict_shapes
from tumblehome.drawing.model import Area, Dimension, Path, VerdictMark
from tumblehome.drawing.sheet import dimension_line

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tumblehome.drawing.model import Item
    from tumblehome.drawing.sheet import Sheet

__all__ = ["TICK", "shapes_of"]

# Millimeters of paper. A tick reaches this far to each side of its end.
TICK: Final = 1.2
_TICK_WEIGHT: Final = 0.5
# Extension lines begin clear of what they measure and end beyond the dimension line; shorter ones are left out.
_EXTENSION_GAP: Final = 1.0
_EXTENSION_WEIGHT: Final = 0.18
_EXTENSION_DASH: Final = (0.8, 0.8)


def shapes_of(item: Item, sheet: Sheet) -> tuple[Shape, ...]:
    """Return what `item` draws on `sheet`; raises InputError for a layer or a verdict that does not exist."""
    match item:
        case Area():
            rings = tuple(sheet.to_paper(ring) for ring in item.rings if len(ring))
            return (Shape(item.layer, rings, closed=True, style=palette.style_of(item.layer)),)
        case Path():
            style = palette.style_of(item.layer)
            line = replace(style, stroke=style.stroke or style.outside, fill=None, hatch=None)
            return (Shape(item.layer, (sheet.to_paper(item.points),), item.closed, line),)
        case Dimension():
            return _dimension(item, sheet)
        case VerdictMark():
            return tuple(verdict_shapes(_paper_point(item, sheet), item.verdict, "verdict"))
        case _:
            return ()


def _paper_point(item: VerdictMark, sheet: Sheet) -> tuple[float, float]:
    x, y = sheet.to_paper([item.at])[0]
    return float(x), float(y)


def _dimension(item: Dimension, sheet: Sheet) -> tuple[Shape, ...]:
    """Return the dimension line, its two slanted ticks, and extension lines where it stands off what it measures."""
    style = palette.style_of(item.layer)
    ends, measured = sheet.to_paper(dimension_line(item)), sheet.to_paper([item.a, item.b])
    along = (ends[1] - ends[0]) / np.hypot(*(ends[1] - ends[0]))
    slant = TICK * np.array([along[0] + along[1], along[1] - along[0]])
    ticks = tuple(np.array([end - slant, end + slant]) for end in ends)
    return (
        *_extensions(item.layer, replace(style, weight=_EXTENSION_WEIGHT, dash=_EXTENSION_DASH), measured, ends),
        Shape(item.layer, (ends,), closed=False, style=replace(style, dash=())),
        Shape(item.layer, ticks, closed=False, style=replace(style, weight=_TICK_WEIGHT)),
    )


def _extensions(
    layer: str, style: palette.Style, measured: NDArray[np.float64], ends: NDArray[np.float64]
) -> tuple[Shape, ...]:
    away = ends - measured
    length = float(np.hypot(*away[0]))
    if length < 2 * _EXTENSION_GAP:
        return ()
    step = away / length * _EXTENSION_GAP
    return tuple(
        Shape(layer, (line,), closed=False, style=style) for line in np.stack([measured + step, ends + step], axis=1)
    )
