"""How far an upright prism can travel along an axis before a triangle stops it, exactly.

A prism P that moves by t along axis u meets a triangle T for the t of one interval. In the plane across u the two overlap
in a convex polygon, and over it the distances ``u_T - front_P`` and ``u_T - back_P`` are linear wherever the prism's front
and back are flat. So the interval's ends are the least and the greatest of finitely many numbers: the distances at the
corners of the overlap. No sampling, no search; the corner that decides is the witness.

Windows are open: what only touches the edge of the prism's outline does not stop it.
"""

from __future__ import annotations

from functools import cached_property
from itertools import groupby, pairwise
from typing import TYPE_CHECKING
from weakref import WeakKeyDictionary

import numpy as np

from tumblehome.records import dataclass
from tumblehome.solids import Surface, following
from tumblehome.tolerances import CONTACT, EDGE

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    import shapely
    from numpy.typing import ArrayLike, NDArray

    Floats = NDArray[np.float64]
    Integers = NDArray[np.intp]
    Booleans = NDArray[np.bool_]

_MANY = 50_000
"""Triangles from which on a search tree pays for being built."""
_AT_ONCE = 64
"""Things whose stops are worked out together: more save no more time, and take memory."""
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

    @cached_property
    def bounds(self) -> tuple[Floats, Floats]:
        """Least and greatest corner, each (3,) in mm; read only."""
        low, high = self.outline.min(axis=0), self.outline.max(axis=0)
        ends = np.array([(*low, self.bottom), (*high, self.top)])
        ends.flags.writeable = False
        return ends[0], ends[1]

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
        low, high = self.bounds
        if (triangle.max(axis=0) < low).any() or (triangle.min(axis=0) > high).any():
            return np.empty((0, 3))
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
        if axis not in self._facets:
            self._facets[axis] = self._flat_facets() if axis == 2 else self._upright_facets(axis)
        return self._facets[axis]

    @cached_property
    def _facets(self) -> dict[int, tuple[list[Facet], list[Facet]]]:
        return {}

    def _flat_facets(self) -> tuple[list[Facet], list[Facet]]:
        corners = _inset(self.outline)
        return [Facet(2, corners, self.top, 0.0, 0.0)], [Facet(2, corners, self.bottom, 0.0, 0.0)]

    def _upright_facets(self, axis: int) -> tuple[list[Facet], list[Facet]]:
        other = 1 - axis
        front: list[Facet] = []
        back: list[Facet] = []
        ring = self.outline.tolist()
        for a, b in zip(ring, [*ring[1:], ring[0]], strict=True):
            outward = (b[1] - a[1]) if axis == 0 else (a[0] - b[0])
            if abs(b[other] - a[other]) <= 2 * EDGE:
                continue
            slope = (b[axis] - a[axis]) / (b[other] - a[other])
            span = (min(a[other], b[other]), max(a[other], b[other]))
            facet = self._upright(axis, span, a[axis] - slope * a[other], slope)
            (front if outward > 0 else back).append(facet)
        return front, back

    def _upright(self, axis: int, span: tuple[float, float], offset: float, slope: float) -> Facet:
        heights = (self.bottom, self.top)
        if axis == 0:
            return Facet(axis, rectangle(span, heights), offset, slope, 0.0)
        return Facet(axis, rectangle(heights, span), offset, 0.0, slope)


@dataclass(frozen=True, eq=False)
class Facet:
    """A flat face that looks along an axis u: ``u = offset + first * p + second * q`` over a convex window.

    ``corners`` (k, 2) are the window in the plane (p, q) across the axis, counter-clockwise, already drawn in by EDGE.
    """

    axis: int
    corners: Floats
    offset: float
    first: float
    second: float

    @property
    def plane(self) -> tuple[float, float, float]:
        """Its plane as three numbers: offset, first, second."""
        return self.offset, self.first, self.second

    @cached_property
    def kind(self) -> tuple[int, bool]:
        """How many corners its window has, and whether that is a rectangle along p and q."""
        if len(self.corners) != 4:
            return len(self.corners), False
        ring = self.corners.tolist()
        sides = zip(ring, [*ring[1:], ring[0]], strict=True)
        turns = [(a[0] == b[0]) - (a[1] == b[1]) for a, b in sides]
        return 4, turns in ([1, -1, 1, -1], [-1, 1, -1, 1])


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
    def _corners(self) -> Floats:
        """The triangles' corners, (3, 3, n): by axis, then by corner."""
        return np.ascontiguousarray(self.surface.triangles.T)

    @cached_property
    def _extents(self) -> tuple[Floats, Floats]:
        """Least and greatest coordinate of each triangle along each axis, two (3, n)."""
        return self._corners.min(axis=1), self._corners.max(axis=1)

    @cached_property
    def _turned(self) -> tuple[Floats, ...]:
        return tuple(self._corners[[*across(axis), axis]] for axis in range(3))

    def turned(self, axis: int, triangles: Integers) -> Floats:
        """Return some triangles' corners across and along an axis, (3, 3, m): by (p, q, u), then by corner."""
        return self._turned[axis].take(triangles, axis=2)

    @cached_property
    def _trees(self) -> dict[int, shapely.STRtree]:
        return {}

    def in_the_way(self, axis: int, least: Floats, most: Floats) -> tuple[Integers, Integers]:
        """Return which triangles' shadows along an axis can overlap windows: pairs of a window's number and a triangle's.

        ``least`` and ``most`` (w, 2) are the ends of the boxes about the windows. The pairs are in rising order.
        """
        if len(self.surface) > _MANY:
            import shapely  # noqa: PLC0415  (takes a while to load, and few shells are so large)

            windows, triangles = self._tree(axis).query(shapely.box(*least.T, *most.T))
            order = np.lexsort((triangles, windows))
            return windows[order], triangles[order]
        (first, second), (low, high) = across(axis), self._extents
        near = low[first] <= most[:, :1]
        for ahead in (high[first] >= least[:, :1], low[second] <= most[:, 1:], high[second] >= least[:, 1:]):
            near &= ahead
        window = np.repeat(np.arange(len(near)), np.count_nonzero(near, axis=1))
        return window, np.flatnonzero(near) - window * len(self.surface)

    def stops_of(self, prisms: Sequence[Prism], axis: int) -> list[Stops]:
        """Return when each of some prisms that travels along an axis meets each triangle in its way.

        What it found of a prism it remembers for as long as that prism lives: neither of the two ever changes.
        """
        known = self._known[axis]
        if not all(prism in known for prism in prisms):
            self.prepare((prism, axis) for prism in prisms)
        return [known[prism] for prism in prisms]

    def prepare(self, asked: Iterable[tuple[Prism, int]]) -> None:
        """Work out the stops of prisms, each along an axis, in one go; asking for them then costs little."""
        new = [(prism, axis) for prism, axis in dict.fromkeys(asked) if prism not in self._known[axis]]
        if new:
            found = _stops_of_views([prism.facets(axis) for prism, axis in new], self)
            for (prism, axis), met in zip(new, found, strict=True):
                self._known[axis][prism] = met

    @cached_property
    def _known(self) -> tuple[WeakKeyDictionary[Prism, Stops], ...]:
        return WeakKeyDictionary(), WeakKeyDictionary(), WeakKeyDictionary()

    def _tree(self, axis: int) -> shapely.STRtree:
        import shapely  # noqa: PLC0415  (as above)

        if axis not in self._trees:
            (first, second), (low, high) = across(axis), self._extents
            self._trees[axis] = shapely.STRtree(shapely.box(low[first], low[second], high[first], high[second]))
        return self._trees[axis]

    def windings(self, points: Floats, counted: Booleans) -> Integers:
        """Return how often the surface winds around each of (w, 3) points, counting for each only some of its names (w, n).

        The crossings of a ray straight up, each with the sense in which it leaves; where the ray runs along an edge that
        count is uncertain and the sum of the solid angles decides.
        """
        point, found = self.in_the_way(2, points[:, :2] - EDGE, points[:, :2] + EDGE)
        kept = counted[point, self.surface.part[found]]
        point, found = point[kept], found[kept]
        local = self.turned(2, found) - points.T[:, None, point]
        areas = _cross(local[:2], local[:2, [1, 2, 0]])
        total = areas.sum(axis=0)
        grazed = (np.abs(areas) <= _GRAZED * np.abs(total)).any(axis=0) | (np.abs(total) <= EDGE)
        pierced = (areas > 0).all(axis=0) | (areas < 0).all(axis=0)
        above = (areas[[1, 2, 0]] * local[2]).sum(axis=0) * total > 0
        wound = np.bincount(point, np.sign(total) * (pierced & above), len(points)).astype(np.intp)
        for i in set(point[grazed].tolist()):
            wound[i] = self._winding_by_angles(points[i], counted[i])
        return wound

    def _winding_by_angles(self, point: Floats, counted: Booleans) -> int:
        kept = counted[self.surface.part]
        return round(Surface(self.surface.triangles[kept], self.surface.part[kept], self.surface.names).winding(point))


def _cross(a: Floats, b: Floats) -> Floats:
    """Return the cross products of vectors in a plane, (2, ...) each."""
    crossed: Floats = a[0] * b[1] - a[1] * b[0]
    return crossed


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
        some = [part for part in parts if len(part.low)]
        if len(some) == 1:
            return some[0]
        if not some:
            none, points = np.empty(0), np.empty((0, 3))
            return Stops(none, none, points, points, np.empty(0, dtype=np.intp))
        return Stops(
            *(np.concatenate([getattr(p, n) for p in some]) for n in ("low", "high", "at_low", "at_high", "triangle"))
        )

    def where(self, kept: Booleans) -> Stops:
        """Return those that a mask keeps."""
        some = kept.nonzero()[0]
        if len(some) == len(kept):
            return self
        at_low, at_high = self.at_low.take(some, axis=0), self.at_high.take(some, axis=0)
        return Stops(self.low.take(some), self.high.take(some), at_low, at_high, self.triangle.take(some))

    def between(self, start: int, end: int) -> Stops:
        """Return those from one number to before another."""
        some = slice(start, end)
        return Stops(self.low[some], self.high[some], self.at_low[some], self.at_high[some], self.triangle[some])

    def counted_from(self, first: int) -> Stops:
        """Return them with their triangles counted from a number on, not from 0."""
        return Stops(self.low, self.high, self.at_low, self.at_high, self.triangle + first) if first else self

    @property
    def blocking_now(self) -> Booleans:
        """Which of them are met without any travel at all."""
        return (self.low < -CONTACT) & (self.high > CONTACT)


def stops(prisms: Sequence[Prism], obstacles: Obstacles, axis: int) -> Stops:
    """Return when a body of prisms that travels along an axis (0, 1 or 2) meets each triangle in its way.

    Parameters
    ----------
    prisms : the body
    obstacles : what is in the way
    axis : 0 along stations, 1 across, 2 up
    """
    return Stops.joined(obstacles.stops_of(prisms, axis))


def plate_stops(corners: Floats, start: float, obstacles: Obstacles, axis: int) -> Stops:
    """Return when a plate across an axis, at ``start`` on it, meets each triangle in its way.

    ``corners`` (k, 2) are its window from ``rectangle``; a line or a point sees both one-sided limits at a ledge.
    """
    return plates_stops([corners], start, obstacles, axis)[0]


def plates_stops(windows: Sequence[Floats], start: float, obstacles: Obstacles, axis: int) -> list[Stops]:
    """Return the stops of several plates, each for itself, as ``plate_stops`` would; in one go, which is faster."""
    plates = [[Facet(axis, corners, start, 0.0, 0.0)] for corners in windows]
    return _stops_of_views([(plate, plate) for plate in plates], obstacles)


_View = tuple[list[Facet], list[Facet]]
"""The facets of one thing that look along its axis, and those that look against it."""


def _stops_of_views(views: Sequence[_View], obstacles: Obstacles) -> list[Stops]:
    """Return the stops of each thing; those that look along their axes with one window of as many corners in one go."""
    found = [Stops.joined([])] * len(views)
    alike: dict[tuple[int, bool] | None, list[int]] = {}
    for i, (front, back) in enumerate(views):
        if front and back:
            is_one = len(front) == len(back) == 1
            alike.setdefault(front[0].kind if is_one else None, []).append(i)
    for kind, chosen in alike.items():
        through = _through_one_each if kind else _through_many_each
        chosen.sort(key=lambda i: views[i][0][0].axis)
        for start in range(0, len(chosen), _AT_ONCE):
            some = chosen[start : start + _AT_ONCE]
            for i, met in zip(some, through([views[i] for i in some], obstacles), strict=True):
                found[i] = met
    return found


def _through_one_each(views: Sequence[_View], obstacles: Obstacles) -> list[Stops]:
    """Return the stops of things that each look along their axis with one window, front and back."""
    front, back = ([facet for (facet,) in side] for side in zip(*views, strict=True))
    overlap = _Overlap.of(front, obstacles)
    ends = overlap.least(front, 1.0), overlap.least(back, -1.0)
    return _stops(overlap.owner, overlap.triangle, ends, front)


def _through_many_each(views: Sequence[_View], obstacles: Obstacles) -> list[Stops]:
    """Return the stops of things that look along their axes with several windows."""
    fronts, backs = zip(*views, strict=True)
    front, low, at_low = _nearest(fronts, 1.0, obstacles)
    back, high, at_high = _nearest(backs, -1.0, obstacles)
    ahead, behind = np.isin(front, back, assume_unique=True), np.isin(back, front, assume_unique=True)
    owner, triangle = np.divmod(front[ahead], len(obstacles.surface))
    ends = (low[ahead], at_low[:, ahead]), (high[behind], at_high[:, behind])
    return _stops(owner, triangle, ends, [side[0] for side in fronts])


def _nearest(sides: Sequence[list[Facet]], sense: float, obstacles: Obstacles) -> tuple[Integers, Floats, Floats]:
    """Return for each triangle in the way of each thing the least of ``sense * (u_T - facet)`` over its facets, and where.

    A thing's number and the triangle's are told as one, thing * count of triangles + triangle, in rising order.
    """
    facets = [facet for side in sides for facet in side]
    overlap = _Overlap.of(facets, obstacles)
    value, at = overlap.least(facets, sense)
    thing = np.repeat(np.arange(len(sides)), [len(side) for side in sides])[overlap.owner]
    pair = thing * len(obstacles.surface) + overlap.triangle
    order = np.lexsort((value, pair))
    pair = pair[order]
    first = np.append(True, np.diff(pair) > 0)[: len(pair)]
    return pair[first], value[order[first]], at[:, order[first]]


def _stops(owner: Integers, triangle: Integers, ends: tuple[_End, _End], facets: Sequence[Facet]) -> list[Stops]:
    """Return what each of some things meets, its points turned back from (p, q, u); ``facets`` is one of each thing."""
    (low, at_low), (high, at_high) = ends
    met = np.flatnonzero(np.isfinite(low) & np.isfinite(high))
    split = np.searchsorted(owner[met], np.arange(len(facets) + 1)).tolist()
    at = [np.empty((len(met), 3)) for _ in ends]
    for axis, start, end in _by_axis(facets):
        some = slice(split[start], split[end])
        for points, turned in zip(at, (at_low, at_high), strict=True):
            points[some, [*across(axis), axis]] = turned[:, met[some]].T
    every = Stops(low[met], -high[met], at[0], at[1], triangle[met])
    return [every.between(start, end) for start, end in pairwise(split)]


def _by_axis(facets: Sequence[Facet]) -> Iterator[tuple[int, int, int]]:
    """Yield each axis that successive facets look along, with the number of the first of them and of the next after them."""
    start = 0
    for axis, some in groupby(facets, key=lambda facet: facet.axis):
        end = start + len(list(some))
        yield axis, start, end
        start = end


@dataclass(frozen=True, eq=False)
class _Windows:
    """Convex windows of one kind, told by slabs: what is inside lies between the two ends of each.

    Attributes
    ----------
    corners : (2, k, n) float, (p, q) of each window's corners
    normals : (2, s, n) float, (p, q) of the direction across each slab; None for slabs along p and q
    low, high : (s, n) float, the ends of each slab along its normal
    """

    corners: Floats
    normals: Floats | None
    low: Floats
    high: Floats

    @classmethod
    def of(cls, facets: Sequence[Facet]) -> _Windows:
        """Return the windows of facets of one kind."""
        rings = np.concatenate([facet.corners for facet in facets]).reshape(len(facets), -1, 2)
        corners = np.ascontiguousarray(rings.T)
        if facets[0].kind[1]:
            return cls(corners, None, corners.min(axis=1), corners.max(axis=1))
        run = np.roll(rings, -1, axis=1) - rings
        normals = np.stack([run[..., 1], -run[..., 0]], axis=2) / np.hypot(run[..., 0], run[..., 1])[..., None]
        high = np.ascontiguousarray(np.einsum("nkj,nkj->nk", normals, rings).T)
        return cls(corners, np.ascontiguousarray(normals.T), np.full_like(high, -np.inf), high)

    def across(self, points: Floats, owner: Integers) -> Floats:
        """Return (2, 3, m) points along the normals of the windows (m,) that they belong to, (s, 3, m)."""
        if self.normals is None:
            return points
        normals = self.normals.take(owner, axis=2)
        along: Floats = points[0] * normals[0, :, None] + points[1] * normals[1, :, None]
        return along


_End = tuple["Floats", "Floats"]
"""Where contact begins or ends: the travel (n,) and the points (3, n) of (p, q, u)."""


@dataclass(frozen=True, eq=False)
class _Overlap:
    """What windows and the triangles in their way have in common, n pairs of the two; m of them overlap only in part.

    Where something linear is least over an overlap it is least at a corner of that: at one of the triangle's corners that
    lie inside, where an edge of the triangle enters or leaves the window, or at a corner of the window that the triangle covers.

    Attributes
    ----------
    owner, triangle : (n,) int, the number of each pair's window, rising, and of its triangle
    corners : (3, 3, n) float, (p, q, u) of each triangle's own corners; inside : (3, n) bool, which lie in its window
    partly : (m,) int, the pairs in which the window's edge may cross the triangle
    enter, leave : (3, m) float, the shares of each edge at which it enters the window and leaves it, the first less than
        the second where it does
    covering : (c,) int, the pairs in which the triangle covers corners of the window
    covered : (3, k, c) float, (p, q, u) of the window's corners on its plane; real : (k, c) bool, which it does cover
    """

    owner: Integers
    triangle: Integers
    corners: Floats
    inside: Booleans
    partly: Integers
    enter: Floats
    leave: Floats
    covering: Integers
    covered: Floats
    real: Booleans

    @classmethod
    def of(cls, facets: Sequence[Facet], obstacles: Obstacles) -> _Overlap:
        """Return the overlap of the windows of facets of one kind with obstacles. A triangle seen edge-on covers nothing."""
        windows = _Windows.of(facets)
        owner, triangle, corners = _in_the_way(facets, windows, obstacles)
        at = windows.across(corners[:2], owner)
        low, high = windows.low.take(owner, axis=1), windows.high.take(owner, axis=1)
        below, above = at <= low[:, None], at >= high[:, None]
        inside: Booleans = np.logical_not((below | above).any(axis=0))
        apart = (below.all(axis=1) | above.all(axis=1)).any(axis=0)
        partly = np.flatnonzero(~(inside.all(axis=0) | apart))
        enter, leave = _clipped(at.take(partly, axis=2), low.take(partly, axis=1), high.take(partly, axis=1))
        covering, covered, real = _covered(corners, partly, windows.corners.take(owner[partly], axis=2))
        return cls(owner, triangle, corners, inside, partly, enter, leave, covering, covered, real)

    def least(self, facets: Sequence[Facet], sense: float) -> _End:
        """Return the least of ``sense * (u - facet)`` over each overlap, infinite where there is none, and where.

        ``facets`` are those of the windows, or others with the same windows.
        """
        planes = np.array([facet.plane for facet in facets]).T.take(self.owner, axis=1)
        off = _off(planes, self.corners, sense)
        corner, value = _least_of_three(np.where(self.inside, off, np.inf))
        point = _picked(self.corners, corner, np.arange(len(corner)))
        cut, share = self._cut(off.take(self.partly, axis=1))
        edge, nearest = _least_of_three(cut)
        better = np.flatnonzero(nearest < value[self.partly])
        chosen, edge = self.partly[better], edge[better]
        start, end = _picked(self.corners, edge, chosen), _picked(self.corners, (edge + 1) % 3, chosen)
        value[chosen], point[:, chosen] = nearest[better], start + share[edge, better] * (end - start)
        beneath = _off(planes.take(self.covering, axis=1), self.covered, sense)
        beneath[~self.real] = np.inf
        corner = beneath.argmin(axis=0)
        nearest = beneath[corner, np.arange(len(corner))]
        better = np.flatnonzero(nearest < value[self.covering])
        chosen = self.covering[better]
        value[chosen], point[:, chosen] = nearest[better], _picked(self.covered, corner[better], better)
        return value, point

    def _cut(self, off: Floats) -> tuple[Floats, Floats]:
        """Return what is least on what the window leaves of each edge (3, m), if anything, and the share of it where.

        ``off`` (3, m) holds for the triangle's corners, and is linear between them.
        """
        rise = off[[1, 2, 0]] - off
        share = np.where(rise < 0, self.leave, self.enter)
        with np.errstate(invalid="ignore"):
            return np.where(self.enter < self.leave, off + share * rise, np.inf), share


def _in_the_way(facets: Sequence[Facet], windows: _Windows, obstacles: Obstacles) -> tuple[Integers, Integers, Floats]:
    """Return pairs of a facet's number, rising, and a triangle's that may be in its way; and its corners (3, 3, n) as turned."""
    least, most = windows.corners.min(axis=1).T, windows.corners.max(axis=1).T
    found = []
    for axis, start, end in _by_axis(facets):
        owner, triangle = obstacles.in_the_way(axis, least[start:end], most[start:end])
        found.append((owner + start, triangle, obstacles.turned(axis, triangle)))
    if len(found) == 1:
        return found[0]
    owner, triangle, corners = (np.concatenate(each, axis=-1) for each in zip(*found, strict=True))
    return owner, triangle, corners


def _off(planes: Floats, points: Floats, sense: float) -> Floats:
    """Return how far (3, j, n) points are off planes (3, n) along the axis, (j, n)."""
    offset, first, second = planes
    flat = not (first.any() or second.any())
    off: Floats = points[2] - (offset if flat else offset + first * points[0] + second * points[1])
    return off if sense > 0 else -off


def _least_of_three(values: Floats) -> tuple[Integers, Floats]:
    """Return which of (3, n) values is the least, and that; much faster than the library's own, which looks row by row."""
    row, least = (values[1] < values[0]).astype(np.intp), np.minimum(values[0], values[1])
    row[values[2] < least] = 2
    return row, np.minimum(least, values[2])


def _picked(points: Floats, row: Integers, column: Integers) -> Floats:
    """Return some of (3, j, n) points by their rows and columns, (3, m)."""
    picked: Floats = points.reshape(3, -1).take(row * points.shape[2] + column, axis=1)
    return picked


def _clipped(at: Floats, low: Floats, high: Floats) -> tuple[Floats, Floats]:
    """Return the shares at which the edges of triangles enter and leave what lies between the ends of all slabs, (3, n) each.

    ``at`` (s, 3, n) are the corners along each slab's normal, ``low`` and ``high`` (s, n) its ends. An edge of which nothing
    is inside does not enter before it leaves. The clipping is that of Cyrus and Beck (IEEE Transactions on Computers C-27, 1978).
    """
    run = at[:, [1, 2, 0]] - at
    with np.errstate(divide="ignore", invalid="ignore"):
        first, second = (low[:, None] - at) / run, (high[:, None] - at) / run
        enter = np.minimum(first, second).max(axis=0, initial=0.0)
        return enter, np.maximum(first, second).min(axis=0, initial=1.0)


def _covered(corners: Floats, some: Integers, windows: Floats) -> tuple[Integers, Floats, Booleans]:
    """Return which of some triangles (m,) cover corners (2, k, m) of their windows; these on their planes, (3, k, c), and which.

    ``corners`` (3, 3, n) are those of all triangles.
    """
    local = corners.take(some, axis=2)
    first, second = local[:, 1] - local[:, 0], local[:, 2] - local[:, 0]
    p, q = windows - local[:2, 0, None]
    with np.errstate(all="ignore"):
        per_area = 1.0 / (first[0] * second[1] - first[1] * second[0])
        s, t = (p * second[1] - q * second[0]) * per_area, (q * first[0] - p * first[1]) * per_area
        real = (s >= 0) & (t >= 0) & (s + t <= 1)
    few = np.flatnonzero(real.any(axis=0))
    s, t, first, second = s[:, few], t[:, few], first[2, few], second[2, few]
    height = local[2, 0, few] + s * first + t * second
    return some[few], np.concatenate([windows.take(few, axis=2), height[None]]), real[:, few]
