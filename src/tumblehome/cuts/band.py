"""What is free at every height of an interval, or at every station of one: exact, by projecting the trimmed wall."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from tumblehome.cuts.section import Section, cut_axis, section
from tumblehome.errors import InputError
from tumblehome.solids import Solid, outline_of
from tumblehome.sweep import across
from tumblehome.tolerances import EDGE

if TYPE_CHECKING:
    from manifold3d import CrossSection
    from numpy.typing import NDArray

    from tumblehome.body.shell import Shell

    Floats = NDArray[np.float64]

__all__ = ["band"]


def band(
    thing: Shell | Solid, *, heights: tuple[float, float] | None = None, stations: tuple[float, float] | None = None
) -> Section:
    """Return what is free at every height (a plan) or every station (a cross-section) of an open interval.

    A box with upright faces stands free exactly where its footprint lies in the band of its heights. The band is the cut
    at the interval's start less the shadow of all wall that the interval holds: no sampling.

    Parameters
    ----------
    thing : a shell, whose void is meant, or a solid
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
    low, high = (float(end) for end in (heights if stations is None else stations) or ())
    if not (np.isfinite([low, high]).all() and low <= high):
        raise InputError(f"the interval {low:g} to {high:g} mm is empty; give the lesser end first")
    solid = thing if isinstance(thing, Solid) else thing.void
    if low == high:
        return section(solid, height=low) if axis == 2 else section(solid, station=low)
    start = Section(axis, (low, high), solid.slice(axis, low))
    free: Section = start - _shadow(solid.surface.triangles, axis, low + EDGE, high - EDGE)
    return free


def _shadow(triangles: Floats, axis: int, low: float, high: float) -> CrossSection:
    """Return the union of what triangles cover, seen along an axis, between two coordinates of it."""
    local = triangles[:, :, (*across(axis), axis)]
    inside = (local[..., 2].max(axis=1) > low) & (local[..., 2].min(axis=1) < high)
    local = local[inside]
    whole = ((local[..., 2] >= low) & (local[..., 2] <= high)).all(axis=1)
    pieces = [*local[whole][..., :2], *(_trimmed(t, low, high) for t in local[~whole])]
    rings = [turned for ring in pieces if (turned := _counterclockwise(ring)) is not None]
    return outline_of(rings)


def _trimmed(triangle: Floats, low: float, high: float) -> Floats:
    """Return the polygon (k, 2) of a triangle (3, 3) between two levels of its last coordinate."""
    ring = triangle
    for level, sign in ((low, 1.0), (high, -1.0)):
        above = sign * (ring[:, 2] - level)
        after, above_after = np.roll(ring, -1, axis=0), np.roll(above, -1)
        points = []
        for p, q, a, b in zip(ring, after, above, above_after, strict=True):
            if a >= 0:
                points.append(p)
            if (a < 0) != (b < 0):
                points.append(p + (q - p) * (a / (a - b)))
        ring = np.array(points).reshape(-1, 3)
    return ring[:, :2]


def _counterclockwise(ring: Floats) -> Floats | None:
    """Return the ring turned counterclockwise, or None for one seen edge-on."""
    x, y = ring[:, 0], ring[:, 1]
    twice = float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)))
    if twice == 0.0:
        return None
    return ring if twice > 0 else ring[::-1]
