"""How much room is there above a place for somebody who sits there, at the best spot of it?"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np
import shapely

from tumblehome.carrying.freeplan import FreePlan, regions_of
from tumblehome.cuts import band
from tumblehome.sweep import Prism

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    from tumblehome.fitout import Layout
    from tumblehome.solids import Solid

    Floats = NDArray[np.float64]

__all__ = ["breadth_over", "headroom_over"]

_FINE: Final = 0.05
"""How finely the height is found, mm; what is told is free."""
_LEAST: Final = 1.0
"""The least room that is looked for, mm."""


def headroom_over(layout: Layout, plan: shapely.Geometry, top: float, size: tuple[float, float], most: float) -> float:
    """Return the greatest height, mm, to which a body that sits on a surface is free at the best spot of it; 0 where none is.

    Parameters
    ----------
    plan : the surface in plan, mm; the body's middle stays over it
    top : its height above the floor, mm
    size : breadth and depth of the body, mm; it faces along the van or across it, whichever gives more
    most : more than this is not asked about, mm

    Notes
    -----
    What is free above some spots of it is told exactly and at once, and most often it cannot be bettered. Where it can: room that
    is free throughout more heights is never more, so the height is halved down to 0.05 mm; at each the body's places are exact.
    """
    shapes = [_rectangle(size, np.array([1.0, 0.0])), _rectangle(size, np.array([0.0, 1.0]))]
    known = max(_free_above(layout, shape + spot, top) for spot in _spots(plan) for shape in shapes)
    if known >= most:
        return most
    near = _near(layout, plan, max(size))
    return _greatest(lambda height: _fits(near, plan, (top, top + height), shapes), most, known)


def _spots(plan: shapely.Geometry) -> list[Floats]:
    """Return some places (2,) of a surface at which to look first: its middle, and those halfway to its edges."""
    low_x, low_y, high_x, high_y = shapely.bounds(plan)
    middle, half = np.array([low_x + high_x, low_y + high_y]) / 2, np.array([high_x - low_x, high_y - low_y]) / 4
    spots = [middle + half * (x, y) for x, y in ((0, 0), (-1, 0), (1, 0), (0, -1), (0, 1))]
    return [spot for spot in spots if shapely.intersects(plan, shapely.Point(spot))] or [middle]


def _free_above(layout: Layout, outline: Floats, top: float) -> float:
    """Return how high a body of an outline (4, 2) that stands on a surface may be, mm; 0 where something is in its foot."""
    reached = layout.room.headroom((Prism(outline, top, top + _LEAST),))
    return reached.distance if reached else 0.0


def breadth_over(
    layout: Layout, plan: shapely.Geometry, heights: tuple[float, float], depth: float, right: Floats, most: float
) -> float:
    """Return the greatest breadth, mm, of a body that sits with its middle over a surface and is free throughout heights.

    Parameters
    ----------
    plan : the surface in plan, mm; heights : mm, of the part of the body that is meant
    depth : of the body, mm; right : (2,) unit vector along which its breadth is taken
    most : more than this is not asked about, mm
    """
    near = _near(layout, plan, max(most, depth))
    return _greatest(lambda wide: _fits(near, plan, heights, [_rectangle((wide, depth), right)]), most)


def _near(layout: Layout, plan: shapely.Geometry, reach: float) -> Solid:
    """Return what is free within reach of a surface, from wall to wall."""
    low, _, high, _ = shapely.bounds(plan)
    return layout.void.trimmed(0, low - reach, high + reach)


def _greatest(fits: Callable[[float], bool], most: float, known: float = 0.0) -> float:
    """Return the greatest size up to the most that fits, where a lesser size fits whenever a greater does; 0 where none.

    ``known`` fits, if it is not 0.
    """
    if most <= _LEAST or not fits(max(known + _FINE, _LEAST)):
        return known
    low, high = max(known + _FINE, _LEAST), most
    if fits(most):
        return most
    while high - low > _FINE:
        middle = (low + high) / 2
        low, high = (middle, high) if fits(middle) else (low, middle)
    return low


def _rectangle(size: tuple[float, float], right: Floats) -> Floats:
    """Return the corners (4, 2) of a rectangle about the origin, its first side along a unit vector."""
    away = np.array([-right[1], right[0]])
    u, v = right * size[0] / 2, away * size[1] / 2
    corners: Floats = np.array([-u - v, u - v, u + v, v - u])
    return corners


def _fits(near: Solid, plan: shapely.Geometry, heights: tuple[float, float], shapes: Sequence[Floats]) -> bool:
    """Whether one of some shapes has room throughout heights with its middle over a surface."""
    free = FreePlan(tuple(band(near, heights=heights).rings))
    return any(shapely.intersects(shapely.MultiPolygon(regions_of(free.places(shape))), plan) for shape in shapes)
