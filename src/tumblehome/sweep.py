"""How far an upright prism can travel along an axis before a triangle stops it, exactly.

A prism P that moves by t along axis u meets a triangle T for the t of one interval. In the plane across u the two overlap
in a convex polygon, and over it the distances ``u_T - front_P`` and ``u_T - back_P`` are linear wherever the prism's front
and back are flat. So the interval's ends are the least and the greatest of finitely many numbers: the distances at the
corners of the overlap. No sampling, no search; the corner that decides is the witness.

Windows are open: what only touches the edge of the prism's outline does not stop it.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
import shapely

from tumblehome.solids import Surface, following
from tumblehome.tolerances import CONTACT, EDGE

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import ArrayLike, NDArray

    Floats = NDArray[np.float64]
    Integers = NDArray[np.intp]

_MANY = 50_000
"""Triangles from which on a search tree pays for being built."""
_GRAZED = 1e-9
"""Share of a triangle's area below which a ray counts as running along its edge."""

__all__ = [
    "Facet",
    "Obstacles",
    "Prism",
    "Stops",
    "across",
    "plate_stops",
    "plates_stops",
    "rectangle",
    "stops",
    "stops_of_each",
]


def across(axis: int) -> tuple[int, int]:
    """Return the two axes across one, so that (axis, first, second) is right-handed."""
    return (axis + 1) % 3, (axis + 2) % 3


@dataclass(frozen=True, eq=False)
class Prism:
    """An upright prism over a convex outline.

    Attributes
    ----------
    outline : (k, 2) float, mm
        Corners (x, y), counter-clockwise seen from above, convex.
    bottom, top : float, mm above the finished floor; equal for a thin plate
    """

    outline: Floats
    bottom: float
    top: float

    @classmethod
    def box(cls, low: ArrayLike, high: ArrayLike) -> Prism:
        """Return the box between two corners, each (3,) in mm."""
        (x0, y0, z0), (x1, y1, z1) = (np.asarray(c, dtype=float) for c in (low, high))
        return cls(np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)]), float(z0), float(z1))

    @property
    def bounds(self) -> tuple[Floats, Floats]:
        """Least and greatest corner, each (3,) in mm."""
        low, high = self.outline.min(axis=0), self.outline.max(axis=0)
        return np.append(low, self.bottom), np.append(high, self.top)

    @cached_property
    def center(self) -> Floats:
        """A (3,) point inside."""
        return np.append(self.outline.mean(axis=0), (self.bottom + self.top) / 2)

    def moved(self, vector: ArrayLike) -> Prism:
        """Return the prism shifted by a (3,) vector in mm."""
        shift = np.asarray(vector, dtype=float)
        return Prism(self.outline + shift[:2], self.bottom + float(shift[2]), self.top + float(shift[2]))

    def piece_of(self, triangle: Floats) -> Floats:
        """Return the corners (k, 3) of what lies in it of a triangle (3, 3), none where the two are apart."""
        run = following(self.outline) - self.outline
        sides = np.column_stack([run[:, 1], -run[:, 0], np.zeros(len(run))])
        limits = np.einsum("kj,kj->k", sides[:, :2], self.outline)
        normals = np.vstack([sides, (0.0, 0.0, -1.0), (0.0, 0.0, 1.0)])
        ring = triangle
        for normal, limit in zip(normals, (*limits, -self.bottom, self.top), strict=True):
            ring = _cut(ring, ring @ normal - limit)
        return ring

    def facets(self, axis: int) -> tuple[list[Facet], list[Facet]]:
        """Return the facets that look along an axis and against it."""
        if axis == 2:
            corners = _inset(self.outline)
            return [Facet(corners, self.top, 0.0, 0.0)], [Facet(corners, self.bottom, 0.0, 0.0)]
        ends = following(self.outline)
        other = 1 - axis
        front: list[Facet] = []
        back: list[Facet] = []
        for a, b in zip(self.outline, ends, strict=True):
            outward = (b[1] - a[1]) if axis == 0 else (a[0] - b[0])
            if abs(b[other] - a[other]) <= 2 * EDGE:
                continue
            slope = (b[axis] - a[axis]) / (b[other] - a[other])
            span = (min(a[other], b[other]), max(a[other], b[other]))
            facet = self._upright(axis, span, float(a[axis] - slope * a[other]), float(slope))
            (front if outward > 0 else back).append(facet)
        return front, back

    def _upright(self, axis: int, span: tuple[float, float], offset: float, slope: float) -> Facet:
        heights = (self.bottom, self.top)
        if axis == 0:
            return Facet(rectangle(span, heights), offset, slope, 0.0)
        return Facet(rectangle(heights, span), offset, 0.0, slope)


@dataclass(frozen=True, eq=False)
class Facet:
    """A flat face that looks along an axis u: ``u = offset + first * p + second * q`` over a convex window.

    ``corners`` (k, 2) are the window in the plane (p, q) across the axis, counter-clockwise, already drawn in by EDGE.
    """

    corners: Floats
    offset: float
    first: float
    second: float

    @property
    def plane(self) -> tuple[float, float, float]:
        """Its plane as three numbers: offset, first, second."""
        return self.offset, self.first, self.second

    @cached_property
    def half_planes(self) -> tuple[Floats, Floats]:
        """Unit outward normals (k, 2) and offsets (k,) of the window's edges."""
        run = following(self.corners) - self.corners
        normals = np.column_stack([run[:, 1], -run[:, 0]]) / np.hypot(run[:, 0], run[:, 1])[:, None]
        return normals, np.einsum("kj,kj->k", normals, self.corners)


def rectangle(first: tuple[float, float], second: tuple[float, float]) -> Floats:
    """Return an axis-parallel window, open where it has extent and a hair wide where it has none.

    The hair makes a line or a point see both one-sided limits at a ledge, so that the smaller one decides.
    """
    (p0, p1), (q0, q1) = (_opened(*span) for span in (first, second))
    return np.array([(p0, q0), (p1, q0), (p1, q1), (p0, q1)])


def _cut(ring: Floats, beyond: Floats) -> Floats:
    """Return what of a convex polygon (k, 3) is not beyond a plane, (k,) being how far each corner is."""
    kept = []
    for p, q, a, b in zip(ring, following(ring), beyond, following(beyond), strict=True):
        if a <= 0:
            kept.append(p)
        if (a < 0 < b) or (b < 0 < a):
            kept.append(p + (q - p) * (a / (a - b)))
    return np.array(kept).reshape(-1, 3)


def _opened(low: float, high: float) -> tuple[float, float]:
    draw = EDGE if high - low > 4 * EDGE else -EDGE
    return low + draw, high - draw


def _inset(outline: Floats) -> Floats:
    """Draw a convex polygon in by EDGE on every side."""
    run = following(outline) - outline
    normals = np.column_stack([run[:, 1], -run[:, 0]]) / np.hypot(run[:, 0], run[:, 1])[:, None]
    before = np.concatenate([normals[-1:], normals[:-1]])
    bisector = normals + before
    scale = EDGE / (1 + np.einsum("kj,kj->k", normals, before))
    moved: Floats = outline - bisector * scale[:, None]
    return moved


@dataclass(frozen=True, eq=False)
class Obstacles:
    """A surface that can be asked quickly which triangles lie in the way."""

    surface: Surface

    @cached_property
    def _extents(self) -> tuple[Floats, Floats]:
        """Least and greatest coordinate of each triangle along each axis, two (3, n)."""
        triangles = self.surface.triangles
        return np.ascontiguousarray(triangles.min(axis=1).T), np.ascontiguousarray(triangles.max(axis=1).T)

    @cached_property
    def _trees(self) -> dict[int, shapely.STRtree]:
        return {}

    def in_the_way(self, axis: int, corners: Floats) -> Integers:
        """Return the indices of the triangles whose shadow along an axis can overlap a window's bounding box."""
        first, second = across(axis)
        (p0, q0), (p1, q1) = corners.min(axis=0), corners.max(axis=0)
        if len(self.surface) > _MANY:
            found: Integers = self._tree(axis).query(shapely.box(p0, q0, p1, q1))
            return found
        low, high = self._extents
        return np.flatnonzero((low[first] <= p1) & (high[first] >= p0) & (low[second] <= q1) & (high[second] >= q0))

    def _tree(self, axis: int) -> shapely.STRtree:
        if axis not in self._trees:
            (first, second), (low, high) = across(axis), self._extents
            self._trees[axis] = shapely.STRtree(shapely.box(low[first], low[second], high[first], high[second]))
        return self._trees[axis]

    def winding(self, point: Floats, counted: NDArray[np.bool_]) -> int:
        """Return how often the surface winds around a (3,) point, counting only some of its names (n,).

        The crossings of a ray straight up, each with the sense in which it leaves; where the ray runs along an edge that
        count is uncertain and the sum of the solid angles decides.
        """
        found = self.in_the_way(2, np.array([point[:2] - EDGE, point[:2] + EDGE]))
        found = found[counted[self.surface.part[found]]]
        local = self.surface.triangles[found] - point
        areas = np.stack([_cross(local[:, i], local[:, (i + 1) % 3]) for i in range(3)], axis=1)
        total = areas.sum(axis=1)
        if (np.abs(areas) <= _GRAZED * np.abs(total)[:, None]).any() or (np.abs(total) <= EDGE).any():
            kept = counted[self.surface.part]
            chosen = Surface(self.surface.triangles[kept], self.surface.part[kept], self.surface.names)
            return round(chosen.winding(point))
        pierced = (areas > 0).all(axis=1) | (areas < 0).all(axis=1)
        above = np.einsum("ij,ij->i", areas[:, [1, 2, 0]], local[:, :, 2]) / total > 0
        return int(np.sign(total[pierced & above]).sum())


def _cross(a: Floats, b: Floats) -> Floats:
    return a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]


@dataclass(frozen=True, eq=False)
class Stops:
    """For each triangle in the way: the open interval of travel in which it is met, and the points that decide.

    Attributes
    ----------
    low, high : (n,) float, mm of travel along the axis; negative is against it
    at_low, at_high : (n, 3) float, mm, points on the triangle where contact begins and ends
    triangle : (n,) int
    """

    low: Floats
    high: Floats
    at_low: Floats
    at_high: Floats
    triangle: Integers

    @staticmethod
    def joined(parts: Sequence[Stops]) -> Stops:
        """Return all of them in one."""
        if not parts:
            none, points = np.empty(0), np.empty((0, 3))
            return Stops(none, none, points, points, np.empty(0, dtype=np.intp))
        return Stops(
            *(np.concatenate([getattr(p, n) for p in parts]) for n in ("low", "high", "at_low", "at_high", "triangle"))
        )

    def where(self, kept: NDArray[np.bool_]) -> Stops:
        """Return those that a mask keeps."""
        return Stops(self.low[kept], self.high[kept], self.at_low[kept], self.at_high[kept], self.triangle[kept])

    @property
    def blocking_now(self) -> NDArray[np.bool_]:
        """Which of them are met without any travel at all."""
        return (self.low < -CONTACT) & (self.high > CONTACT)


def stops(prisms: Iterable[Prism], obstacles: Obstacles, axis: int) -> Stops:
    """Return when a body of prisms that travels along an axis (0, 1 or 2) meets each triangle in its way.

    Parameters
    ----------
    prisms : the body
    obstacles : what is in the way
    axis : 0 along stations, 1 across, 2 up
    """
    return stops_of_each([tuple(prisms)], obstacles, axis)[0]


def stops_of_each(bodies: Sequence[Sequence[Prism]], obstacles: Obstacles, axis: int) -> list[Stops]:
    """Return the stops of several bodies, each for itself, as ``stops`` would; in one go, which is faster."""
    facets = [[prism.facets(axis) for prism in body] for body in bodies]
    plain = [(f[0], b[0]) for body in facets for f, b in body if _is_plain(f, b)]
    together = iter(_between_each(plain, obstacles, axis))
    met = [[next(together) if _is_plain(f, b) else _between(f, b, obstacles, axis) for f, b in body] for body in facets]
    return [Stops.joined(parts) for parts in met]


def plate_stops(corners: Floats, start: float, obstacles: Obstacles, axis: int) -> Stops:
    """Return when a plate across an axis, at ``start`` on it, meets each triangle in its way.

    ``corners`` (k, 2) are its window from ``rectangle``; a line or a point sees both one-sided limits at a ledge.
    """
    return plates_stops([corners], start, obstacles, axis)[0]


def plates_stops(windows: Sequence[Floats], start: float, obstacles: Obstacles, axis: int) -> list[Stops]:
    """Return the stops of several plates, each for itself, as ``plate_stops`` would; in one go, which is faster."""
    plates = [Facet(corners, start, 0.0, 0.0) for corners in windows]
    return _between_each([(plate, plate) for plate in plates], obstacles, axis)


def _is_plain(front: list[Facet], back: list[Facet]) -> bool:
    """Whether a prism looks along the axis with one facet of four corners on either side, as a box does."""
    return len(front) == len(back) == 1 and len(front[0].corners) == len(back[0].corners) == 4


def _between_each(pairs: list[tuple[Facet, Facet]], obstacles: Obstacles, axis: int) -> list[Stops]:
    """Return the stops of things that each look along the axis with one window, front and back."""
    if not pairs:
        return []
    found = [obstacles.in_the_way(axis, front.corners) for front, _ in pairs]
    counts = [len(triangles) for triangles in found]
    owner, triangle = np.repeat(np.arange(len(pairs)), counts), np.concatenate(found)
    local = obstacles.surface.triangles[triangle][:, :, (*across(axis), axis)]
    overlap = _overlap(local, _Windows.of([front for front, _ in pairs]), owner)
    planes = [np.array([facet.plane for facet in side])[owner] for side in zip(*pairs, strict=True)]
    ends = (_least(overlap, planes[0], 1.0), _least(overlap, planes[1], -1.0))
    split = [np.split(array, np.cumsum(counts)[:-1]) for array in (*ends[0], *ends[1], triangle)]
    return [
        _stops(low, at_low, high, at_high, which, axis)
        for low, at_low, high, at_high, which in zip(*split, strict=True)
    ]


def _between(front: list[Facet], back: list[Facet], obstacles: Obstacles, axis: int) -> Stops:
    """Return the stops of a prism that looks along the axis with any facets."""
    if not front or not back:
        return Stops.joined([])
    found = obstacles.in_the_way(axis, np.concatenate([facet.corners for facet in front]))
    local = obstacles.surface.triangles[found][:, :, (*across(axis), axis)]
    (low, at_low), (high, at_high) = _nearest(local, front, 1.0), _nearest(local, back, -1.0)
    return _stops(low, at_low, high, at_high, found, axis)


def _stops(low: Floats, at_low: Floats, high: Floats, at_high: Floats, triangle: Integers, axis: int) -> Stops:
    """Return what was met, its points turned back from (p, q, u)."""
    met = np.isfinite(low) & np.isfinite(high)
    unturned = np.argsort((*across(axis), axis))
    return Stops(low[met], -high[met], at_low[met][:, unturned], at_high[met][:, unturned], triangle[met])


@dataclass(frozen=True, eq=False)
class _Windows:
    """Windows of some facets: ``corners`` (n, k, 2), and ``normals`` (n, k, 2) and ``offsets`` (n, k) of their edges."""

    corners: Floats
    normals: Floats
    offsets: Floats

    @classmethod
    def of(cls, facets: Sequence[Facet]) -> _Windows:
        lines = [facet.half_planes for facet in facets]
        return cls(
            np.stack([facet.corners for facet in facets]),
            np.stack([normals for normals, _ in lines]),
            np.stack([offsets for _, offsets in lines]),
        )

    def beyond(self, points: Floats, owner: Integers) -> Floats:
        """Return how far (m, 3, 2) points are beyond each line of the windows (m,) that they belong to, (m, 3, k)."""
        normals = self.normals[owner][:, None]
        beyond: Floats = points[:, :, None, 0] * normals[..., 0] + points[:, :, None, 1] * normals[..., 1]
        beyond -= self.offsets[owner][:, None]
        return beyond


_Overlap = list[tuple["Integers", "Floats", "NDArray[np.bool_]"]]
"""Corners of the overlaps: for some triangles (m,) the points (m, j, 3) of (p, q, u), and which are real (m, j)."""


def _nearest(local: Floats, facets: list[Facet], sense: float) -> tuple[Floats, Floats]:
    """Return the least of ``sense * (u_T - facet)`` over any facet for each of (n, 3, 3) triangles, and where."""
    value, point = np.full(len(local), np.inf), np.zeros((len(local), 3))
    owner = np.zeros(len(local), dtype=np.intp)
    for facet in facets:
        distance, at = _least(_overlap(local, _Windows.of([facet]), owner), np.array([facet.plane])[owner], sense)
        better = distance < value
        value[better], point[better] = distance[better], at[better]
    return value, point


def _overlap(local: Floats, windows: _Windows, owner: Integers) -> _Overlap:
    """Return the corners of each triangle's overlap with its window.

    They are the ends of what the window leaves of the triangle's edges and, where the triangle is not wholly inside, the
    window's corners inside the triangle. A triangle seen edge-on has no inside.
    """
    side = windows.beyond(local[:, :, :2], owner)
    inside = np.all(side < 0, axis=2)
    partly = np.flatnonzero(~np.all(inside, axis=1) & ~np.any(np.all(side >= 0, axis=1), axis=1))
    clipped, left = _clipped_edges(local[partly], side[partly])
    covered, within = _covered_corners(local[partly], windows.corners[owner[partly]])
    edge = (partly, np.concatenate([clipped, covered], axis=1), np.concatenate([left, within], axis=1))
    return [(np.arange(len(local)), local, inside), edge]


def _least(overlap: _Overlap, planes: Floats, sense: float) -> tuple[Floats, Floats]:
    """Return the least of ``sense * (u - plane)`` over each triangle's overlap, infinite where there is none, and where.

    ``planes`` (n, 3) are each triangle's, as in Facet.
    """
    n = len(planes)
    value, point = np.full(n, np.inf), np.zeros((n, 3))
    for index, corners, real in overlap:
        if not len(index):
            continue
        plane = planes[index][:, None]
        with np.errstate(invalid="ignore"):
            depth = plane[..., 0] + plane[..., 1] * corners[..., 0] + plane[..., 2] * corners[..., 1]
            distance = np.where(real, sense * (corners[..., 2] - depth), np.inf)
        best = distance.argmin(axis=1)
        rows = np.arange(len(index))
        least = distance[rows, best]
        better = least < value[index]
        value[index[better]], point[index[better]] = least[better], corners[rows, best][better]
    return value, point


def _clipped_edges(local: Floats, side: Floats) -> tuple[Floats, NDArray[np.bool_]]:
    """Return the ends of what a convex window leaves of the edges of (n, 3, 3) triangles, (n, 6, 3), and if it leaves any.

    ``side`` (n, 3, k) says how far each corner is beyond each of the window's lines. The clipping is that of Cyrus and
    Beck (IEEE Transactions on Computers C-27, 1978).
    """
    after, side_after = local[:, [1, 2, 0]], side[:, [1, 2, 0]]
    out, out_after = side >= 0, side_after >= 0
    crossed = out != out_after
    share = side / np.where(crossed, side - side_after, 1.0)
    enter = np.where(crossed & out, share, 0.0).max(axis=2)
    leave = np.where(crossed & out_after, share, 1.0).min(axis=2)
    left = (enter <= leave) & ~(out & out_after).any(axis=2)
    run = after - local
    ends = np.concatenate([local + enter[..., None] * run, local + leave[..., None] * run], axis=1)
    return ends, np.concatenate([left, left], axis=1)


def _covered_corners(local: Floats, corners: Floats) -> tuple[Floats, NDArray[np.bool_]]:
    """Return each window's corners (n, k, 2) on its triangle's plane (n, k, 3), and which lie inside the triangle."""
    origin = local[:, None, 0, :2]
    first, second = local[:, None, 1, :2] - origin, local[:, None, 2, :2] - origin
    area = first[..., 0] * second[..., 1] - first[..., 1] * second[..., 0]
    offset = corners - origin
    with np.errstate(all="ignore"):
        s = (offset[..., 0] * second[..., 1] - offset[..., 1] * second[..., 0]) / area
        t = (first[..., 0] * offset[..., 1] - first[..., 1] * offset[..., 0]) / area
        rise = local[..., 2] - local[:, :1, 2]
        u = local[:, None, 0, 2] + s * rise[:, None, 1] + t * rise[:, None, 2]
    points = np.concatenate([corners, u[..., None]], axis=2)
    with np.errstate(invalid="ignore"):
        return points, (s >= 0) & (t >= 0) & (s + t <= 1)
