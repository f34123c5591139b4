"""Regions of a plane as polygons: put together, taken apart, and searched for room to write in."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np
import shapely

if TYPE_CHECKING:
    from collections.abc import Iterable

    from tumblehome.drawing.model import Point

__all__ = ["joined", "less", "pieces", "room_in", "shared"]

_GRID: Final = 1e-3
"""The grid that overlays are snapped to, mm; finer noise is no shape."""
_SPECK: Final = 1.0
"""A piece smaller than this, mm2, is no shape but a touch."""
_TRIES: Final = 15
"""In so many places across, and as many up, a piece is searched for room."""


def joined(shapes: Iterable[shapely.Geometry]) -> shapely.Geometry:
    """Return the union of any number of shapes, none included."""
    some = [shape for shape in shapes if not shape.is_empty]
    return some[0] if len(some) == 1 else shapely.union_all(some, grid_size=_GRID)


def less(shape: shapely.Geometry, others: Iterable[shapely.Geometry]) -> shapely.MultiPolygon:
    """Return a shape without others."""
    return shapely.MultiPolygon(pieces(shapely.difference(shape, joined(others), grid_size=_GRID)))


def shared(one: shapely.Geometry, other: shapely.Geometry) -> shapely.MultiPolygon:
    """Return what two shapes have in common; what they only touch in is nothing."""
    return shapely.MultiPolygon(pieces(shapely.intersection(one, other, grid_size=_GRID)))


def pieces(shape: shapely.Geometry) -> list[shapely.Polygon]:
    """Return the polygons that a shape consists of, the largest first, specks left out."""
    parts = (part for part in shapely.get_parts(shape).tolist() if part.geom_type == "Polygon" and part.area > _SPECK)
    return sorted(parts, key=lambda part: -part.area)


def room_in(piece: shapely.Polygon, wide: float, high: float) -> Point | None:
    """Return the center of an upright rectangle that lies in a piece, as near to the piece's middle as may be, or None."""
    low_x, low_y, high_x, high_y = piece.bounds
    x, y = np.meshgrid(np.linspace(low_x, high_x, _TRIES), np.linspace(low_y, high_y, _TRIES))
    middle = piece.centroid
    places = np.vstack([[(middle.x, middle.y)], np.column_stack([x.ravel(), y.ravel()])])
    half = np.array([wide, high]) / 2
    places = places[((places - half >= (low_x, low_y)) & (places + half <= (high_x, high_y))).all(axis=1)]
    shapely.prepare(piece)
    places = places[shapely.contains(piece, shapely.box(*(places - half).T, *(places + half).T))]
    if not len(places):
        return None
    best = places[np.argmin(np.hypot(*(places - (middle.x, middle.y)).T))]
    return float(best[0]), float(best[1])
