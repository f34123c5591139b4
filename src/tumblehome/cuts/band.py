"""What is free at every height of an interval, or at every station of one: exact, by projecting the trimmed wall."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from tumblehome.cuts.section import Section, Voided, cut_axis, section
from tumblehome.cuts.silhouette import borders
from tumblehome.errors import InputError
from tumblehome.lengths import millimeters
from tumblehome.solids import Solid, outline_of
from tumblehome.sweep import across
from tumblehome.tolerances import EDGE

if TYPE_CHECKING:
    from manifold3d import CrossSection
    from numpy.typing import NDArray

    from tumblehome.solids import Surface

    Floats = NDArray[np.float64]

__all__ = ["band"]


def band(
    thing: Voided | Solid, *, heights: tuple[float, float] | None = None, stations: tuple[float, float] | None = None
) -> Section:
    """Return what is free at every height (a plan) or every station (a cross-section) of an open interval.

    A box with upright faces stands free exactly where its footprint lies in the band of its heights. The band is the cut
    at the interval's start less the shadow of all wall that the interval holds: no sampling.

    Parameters
    ----------
    thing : a shell or a layout, whose void is meant, or a solid
    heights, stations : (low, high) float, mm, one of the two; equal ends mean the cut there, both sides of a ledge

    Returns
    -------
    Section
        In the plane (x, y) for heights, (y, z) for stations; empty where nothing is free throughout.

    Raises
    ------
    InputError
        Unless exactly one interval is given, finite, its low end not above its high end.
    """
    axis = cut_axis(heights, stations)
    name, ends = ("height", heights) if stations is None else ("station", stations)
    low, high = (millimeters(name, end) for end in ends or ())
    if not (np.isfinite([low, high]).all() and low <= high):
        raise InputError(f"the interval {low:g} to {high:g} mm is empty; give the lesser end first")
    solid = thing if isinstance(thing, Solid) else thing.void
    if low == high:
        return section(solid, height=low) if axis == 2 else section(solid, station=low)
    start = Section(axis, (low, high), solid.slice(axis, low + EDGE))
    free: Section = start - _shadow(solid.surface, axis, low + EDGE, high - EDGE)
    return free


def _shadow(surface: Surface, axis: int, low: float, high: float) -> CrossSection:
    """Return the union of what a surface covers, seen along an axis, between two coordinates of it."""
    local = surface.triangles[:, :, (*across(axis), axis)]
    facing = surface.normals[:, axis]
    inside = (local[..., 2].max(axis=1) > low) & (local[..., 2].min(axis=1) < high) & (facing != 0)
    local = np.where(facing[inside, None, None] > 0, local[inside], local[inside][:, ::-1])
    whole = ((local[..., 2] >= low) & (local[..., 2] <= high)).all(axis=1)
    pieces = [_trimmed(triangle, low, high) for triangle in local[~whole].tolist()]
    return outline_of(borders(local[whole][..., :2], [np.array(piece) for piece in pieces if len(piece) > 2]))


def _trimmed(triangle: list[list[float]], low: float, high: float) -> list[list[float]]:
    """Return the polygon, as points of two coordinates, of a triangle between two levels of its third."""
    ring = triangle
    for level, sign in ((low, 1.0), (high, -1.0)):
        kept: list[list[float]] = []
        for p, q in zip(ring, ring[1:] + ring[:1], strict=True):
            a, b = sign * (p[2] - level), sign * (q[2] - level)
            if a >= 0:
                kept.append(p)
            if (a < 0) != (b < 0):
                share = a / (a - b)
                kept.append([u + share * (v - u) for u, v in zip(p, q, strict=True)])
        ring = kept
    return [point[:2] for point in ring]
