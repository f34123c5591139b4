"""What does a thing that turns cover in plan, surely at some angle and surely at every angle?"""

from __future__ import annotations

from functools import cached_property
from math import cos, pi
from typing import TYPE_CHECKING, Final

import numpy as np
import shapely

from tumblehome.errors import InputError
from tumblehome.records import dataclass
from tumblehome.solids import following

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike, NDArray

    from tumblehome.sweep import Prism

    Floats = NDArray[np.float64]

__all__ = ["Body", "Footprint"]

_SAME: Final = 1e-6
"""Corners nearer than this, mm, are one and the same: a thing that turns onto itself up to this turns onto itself."""

_SIDES: Final = 16
"""So many sides has the outline that stands for a disc within it."""


@dataclass(frozen=True, eq=False)
class Footprint:
    """A convex outline that turns about the origin, which need not lie in it.

    Attributes
    ----------
    normals : (k, 2) float
        Outward unit normals of its sides, counterclockwise.
    depths : (k,) float, mm
        How far each side's line is from the origin, along its normal.
    """

    normals: Floats
    depths: Floats

    @classmethod
    def of_points(cls, points: ArrayLike) -> Footprint:
        """Return the convex hull of points (n, 2) in mm; raises InputError when they enclose no area."""
        hull = shapely.convex_hull(shapely.MultiPoint(np.asarray(points, dtype=float)))
        if hull.geom_type != "Polygon":
            raise InputError("a footprint without area cannot be carried; give points that enclose one")
        ring = _ring_of(hull)
        run = following(ring) - ring
        normals = np.column_stack([run[:, 1], -run[:, 0]]) / np.hypot(run[:, 0], run[:, 1])[:, None]
        return cls(normals, np.einsum("kj,kj->k", normals, ring))

    @cached_property
    def outline(self) -> Floats:
        """Its corners (k, 2), counterclockwise."""
        sides, after = self.normals, following(self.normals)
        cross = sides[:, 0] * after[:, 1] - sides[:, 1] * after[:, 0]
        d, e = self.depths, following(self.depths)
        corners: Floats = np.column_stack([d * after[:, 1] - e * sides[:, 1], e * sides[:, 0] - d * after[:, 0]])
        return corners / cross[:, None]

    @cached_property
    def middle(self) -> Floats:
        """A point (2,) in it."""
        middle: Floats = self.outline.mean(axis=0)
        return middle

    @cached_property
    def radius(self) -> float:
        """How far its farthest corner is from the origin, mm."""
        return float(np.hypot(*self.outline.T).max())

    @cached_property
    def narrowest(self) -> float:
        """Half of its least breadth across a side, mm."""
        return float((self.depths - (self.outline @ self.normals.T).min(axis=0)).min()) / 2

    @property
    def disc(self) -> Floats | None:
        """A regular outline (16, 2) about the origin that it holds at every angle; None where the origin is not in it."""
        least = float(self.depths.min())
        angles = np.arange(_SIDES) * 2 * pi / _SIDES
        return least * np.column_stack([np.cos(angles), np.sin(angles)]) if least > _SAME else None

    def grown(self, by: float) -> Footprint:
        """Return it with every side moved outward by so many mm, or inward when negative, as long as all of them are left.

        Raises ValueError when nothing is left.
        """
        normals, depths = self.normals, self.depths + by
        if by < 0:
            ring = _corners(normals, depths, self.middle)
            if ring is None:
                raise ValueError(f"nothing is left of a footprint drawn in by {-by:g} mm")
            return Footprint.of_points(ring)
        return Footprint(normals, depths)

    def at(self, angle: float) -> Floats:
        """Return its corners (k, 2) once turned by an angle, radians counterclockwise seen from above."""
        return self.outline @ _turn(angle).T

    def over(self, low: float, high: float) -> Floats:
        """Return a convex outline (n, 2) that holds it at every angle of an interval of less than half a turn.

        Each corner runs along an arc; the arc lies in the triangle of its ends and the point where the tangents there meet.
        """
        half = (high - low) / 2
        ends = np.concatenate([self.at(low), self.at(high), self.at(low + half) / cos(half)])
        return _ring_of(shapely.convex_hull(shapely.MultiPoint(ends)))

    def within(self, low: float, high: float) -> Floats | None:
        """Return a convex outline (n, 2) that it holds at every angle of an interval of less than half a turn, if any.

        Each side's line rolls along an arc; the chord of that arc cuts off what any line between its ends could. On the far
        side of a line that lies beyond the origin its ends alone decide.
        """
        half = (high - low) / 2
        normals = np.concatenate([self.normals @ _turn(angle).T for angle in (low, high, low + half)])
        depths = np.concatenate([self.depths, self.depths, self.depths * cos(half)])
        return _corners(normals, depths, _turn(low + half) @ self.middle)


@dataclass(frozen=True, eq=False)
class Body:
    """A rigid thing that is turned about the upright axis only: convex parts in plan, each with its own heights.

    Attributes
    ----------
    parts : tuple of Footprint, about one common point, at the angle at which it stands
    heights : for each part its (bottom, top), mm above the finished floor
    center : (2,) float, mm, where that point stands
    """

    parts: tuple[Footprint, ...]
    heights: tuple[tuple[float, float], ...]
    center: Floats

    @classmethod
    def of_prisms(cls, prisms: Sequence[Prism]) -> Body:
        """Return the body that upright prisms make, turned about the middle of their hull in plan."""
        points = np.concatenate([prism.outline for prism in prisms])
        center = np.array(shapely.convex_hull(shapely.MultiPoint(points)).centroid.coords[0])
        parts = tuple(Footprint.of_points(prism.outline - center) for prism in prisms)
        return cls(parts, tuple((prism.bottom, prism.top) for prism in prisms), center)

    @property
    def foot(self) -> float:
        """The height of its foot, mm."""
        return min(low for low, _ in self.heights)

    @property
    def top(self) -> float:
        """The height of its top, mm."""
        return max(high for _, high in self.heights)

    @cached_property
    def radius(self) -> float:
        """How far its farthest corner is from the point that it turns about, mm."""
        return max(part.radius for part in self.parts)

    @cached_property
    def narrowest(self) -> float:
        """Half of the least breadth of any of its parts, mm."""
        return min(part.narrowest for part in self.parts)

    @cached_property
    def period(self) -> float:
        """The least turn, radians, after which it looks the same: a half one for an oblong, a quarter one for a square."""
        for count in (4, 2):
            if all(_turns_onto_itself(part, 2 * pi / count) for part in self.parts):
                return 2 * pi / count
        return 2 * pi

    def joined(self, *others: Body) -> Body:
        """Return a body with the parts of others beside its own, all about its own point."""
        bodies = (self, *others)
        parts = tuple(part for body in bodies for part in body.parts)
        return Body(parts, tuple(span for body in bodies for span in body.heights), self.center)

    def grown(self, by: float) -> Body:
        """Return it with every side moved outward by so many mm; raises ValueError when nothing is left of a part."""
        return Body(tuple(part.grown(by) for part in self.parts), self.heights, self.center)


def _turns_onto_itself(part: Footprint, angle: float) -> bool:
    apart = np.hypot(*(part.at(angle)[:, None] - part.outline[None]).transpose(2, 0, 1))
    return bool((apart.min(axis=1) < _SAME).all())


def _turn(angle: float) -> Floats:
    c, s = np.cos(angle), np.sin(angle)
    return np.array([[c, -s], [s, c]])


def _ring_of(polygon: shapely.Polygon) -> Floats:
    """Return the corners of a polygon without holes, counterclockwise."""
    ring: Floats = shapely.get_coordinates(polygon)[:-1]
    return ring if shapely.is_ccw(polygon.exterior) else ring[::-1]


def _corners(normals: Floats, depths: Floats, inside: Floats) -> Floats | None:
    """Return the corners of what lies behind some lines, counterclockwise; None unless a point lies behind all of them.

    By duality about that point: the lines that bound it are the corners of the convex hull of the points ``normal / depth``.
    """
    near = depths - normals @ inside
    if near.min() <= _SAME:
        return None
    hull = _ring_of(shapely.convex_hull(shapely.MultiPoint(normals / near[:, None])))
    after = following(hull)
    area = hull[:, 0] * after[:, 1] - hull[:, 1] * after[:, 0]
    corners: Floats = np.column_stack([after[:, 1] - hull[:, 1], hull[:, 0] - after[:, 0]]) / area[:, None]
    return corners + inside
