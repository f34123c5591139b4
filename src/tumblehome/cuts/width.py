"""How wide the void is about its centerline, and what makes it no wider."""

from __future__ import annotations

from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING, Final, Protocol

import numpy as np

from tumblehome.errors import InputError
from tumblehome.lengths import millimeters
from tumblehome.records import dataclass
from tumblehome.sweep import plate_stops, rectangle
from tumblehome.tolerances import CONTACT, EDGE

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import ArrayLike, NDArray

    from tumblehome.solids import Solid, Surface
    from tumblehome.sweep import Obstacles

    Floats = NDArray[np.float64]
    Integers = NDArray[np.intp]

__all__ = ["Limit", "Space", "Width", "WidthChart", "free_run", "width", "width_chart"]

_AT_ONCE: Final = 2500
"""So many spans of triangles at a height are looked at together: what they cover stays in the processor's cache."""


class Space(Protocol):
    """What is free in a van: a shell's void, or a layout's void less its modules."""

    @property
    def void(self) -> Solid:
        """What is free, as one solid."""

    @property
    def obstacles(self) -> Obstacles:
        """Its surface, to be asked how far something can travel."""

    def name_at(self, name: str, point: Floats) -> str:
        """Return the name by which a part is told at a (3,) point of it."""

    def what_holds(self, point: Floats) -> str:
        """Return the name of what a (3,) point that is not free lies in."""


@dataclass(frozen=True, eq=False)
class Limit:
    """What stops a plate that moves from the centerline to one side.

    Attributes
    ----------
    half_breadth : float, mm from the centerline
    part : name of what stops it
    at : (3,) float, mm, a point of contact
    lean : float, degrees by which the surface there leans inward with height; the tumblehome angle on a wall
    """

    half_breadth: float
    part: str
    at: Floats
    lean: float


@dataclass(frozen=True, eq=False)
class Width:
    """The free width about the centerline throughout an interval of heights and one of stations.

    ``left`` and ``right`` are None, and ``blocked_by`` names why, where the centerline itself is not free: nothing is
    there, which is not the same as a width of zero.
    """

    left: Limit | None
    right: Limit | None
    blocked_by: str | None = None

    @property
    def usable(self) -> float | None:
        """Left and right half-breadths together, mm."""
        return self.left.half_breadth + self.right.half_breadth if self.left and self.right else None


def width(
    space: Space,
    *,
    height: float | None = None,
    heights: tuple[float, float] | None = None,
    station: float | None = None,
    stations: tuple[float, float] | None = None,
) -> Width:
    """Return the free width at a height or throughout heights, at a station or throughout stations.

    On a ledge both one-sided limits are taken and the smaller half-breadth is reported; on the finished floor, height 0, what
    is above it counts, and no well in it. Doorways count as closed unless the shell has them open.

    Parameters
    ----------
    height, station : float, mm
    heights, stations : (low, high) float, mm, open intervals

    Raises
    ------
    InputError
        Unless one of height and heights, and one of station and stations, is given.
    """
    z, x = _off_the_floor(*_interval("height", height, heights)), _interval("station", station, stations)
    surface = space.obstacles.surface
    met = plate_stops(rectangle(z, x), 0.0, space.obstacles, 1)
    met = met.where(~_flat_in(surface.triangles[met.triangle], (x, z)))
    across_it = (met.low <= CONTACT) & (met.high >= -CONTACT)
    if across_it.any():
        first = int(np.flatnonzero(across_it)[0])
        name = surface.names[surface.part[met.triangle[first]]]
        return Width(None, None, space.name_at(name, met.at_low[first]))
    limits = [
        _limit(space, distance, at, met.triangle, sign)
        for distance, at, sign in ((met.high, met.at_high, -1.0), (met.low, met.at_low, 1.0))
    ]
    left, right = limits
    if left is None or right is None:
        return Width(None, None, space.what_holds(np.array([sum(x) / 2, 0.0, sum(z) / 2])))
    return Width(left, right)


def _flat_in(triangles: Floats, spans: tuple[tuple[float, float], tuple[float, float]]) -> NDArray[np.bool_]:
    """Return which triangles lie flat on the single station or height of a cut: ledges, which do not close it."""
    flat = np.zeros(len(triangles), dtype=bool)
    for axis, (low, high) in zip((0, 2), spans, strict=True):
        if low == high:
            flat |= (np.abs(triangles[:, :, axis] - low) <= 2 * EDGE).all(axis=1)
    return flat


def _interval(name: str, one: float | None, two: tuple[float, float] | None) -> tuple[float, float]:
    if (one is None) == (two is None):
        raise InputError(f"give a {name}, or an interval of {name}s, one of the two")
    low, high = (millimeters(name, end) for end in (two if two is not None else (one, one)))
    if not (np.isfinite([low, high]).all() and low <= high):
        raise InputError(f"the {name}s {low} to {high} are no interval; give finite lengths, the lesser first")
    return low, high


def _off_the_floor(low: float, high: float) -> tuple[float, float]:
    """Return an interval of heights, that of the finished floor just above it."""
    return (2 * EDGE, 2 * EDGE) if max(abs(low), abs(high)) <= EDGE else (low, high)


def _limit(space: Space, distance: Floats, at: Floats, triangle: Integers, sign: float) -> Limit | None:
    """Return the nearest of some contacts on one side of the centerline, if the void is on this side of it."""
    ahead = np.flatnonzero(sign * distance > CONTACT)
    if not len(ahead):
        return None
    nearest = sign * distance[ahead]
    ties = ahead[nearest <= nearest.min() + CONTACT]
    surface = space.obstacles.surface
    normals = surface.normals[triangle[ties]]
    facing = sign * normals[:, 1]
    best = int(ties[facing.argmax()])
    if facing.max() <= 0:
        return None
    normal, where = surface.normals[triangle[best]], at[best]
    name = space.name_at(surface.names[surface.part[triangle[best]]], where)
    return Limit(float(nearest.min()), name, where, float(np.degrees(np.arctan2(normal[2], sign * normal[1]))))


def free_run(space: Space, height: float) -> tuple[float, float] | None:
    """Return the longest stretch of stations in which the centerline is free at a height, or None.

    Raises InputError for a height that is not finite.
    """
    surface = space.obstacles.surface
    met = plate_stops(
        rectangle((0.0, 0.0), _off_the_floor(*_interval("height", height, None))), 0.0, space.obstacles, 0
    )
    met = met.where(
        surface.normals[met.triangle, 0] != 0
    )  # a floor, a roof or a ledge at this very height ends no stretch
    facing = surface.normals[met.triangle, 0]
    ends = sorted({round(float(low), 9): float(f) for low, f in zip(met.low, facing, strict=True)}.items())
    runs = [(a, b) for (a, fa), (b, fb) in pairwise(ends) if fa < 0 < fb and b - a > CONTACT]
    return max(runs, key=lambda run: run[1] - run[0], default=None)


@dataclass(frozen=True, eq=False)
class WidthChart:
    """Half-breadths over a grid of heights and stations, and what limits them.

    Attributes
    ----------
    heights : (h,) float, mm; stations : (s,) float, mm
    left, right : (h, s) float, mm from the centerline; NaN where nothing is there
    left_part, right_part : (h, s) int, index into ``names``; -1 where nothing is there
    names : tuple of str
    """

    heights: Floats
    stations: Floats
    left: Floats
    right: Floats
    left_part: Integers
    right_part: Integers
    names: tuple[str, ...]

    @cached_property
    def usable(self) -> Floats:
        """(h, s) float, mm: both half-breadths together."""
        return self.left + self.right


def width_chart(space: Space, heights: ArrayLike, stations: ArrayLike) -> WidthChart:
    """Return the half-breadths and their causes at every crossing of some heights and stations.

    Every value is exact: each wall triangle is evaluated at the crossings that it covers, and the nearest one counts. A
    crossing on an edge or a ledge belongs to both sides, so that the smaller half-breadth is reported.

    Parameters
    ----------
    heights : (h,) float, mm, rising; stations : (s,) float, mm, rising

    Raises
    ------
    InputError
        When either does not rise or is not finite.
    """
    z, x = _rising("heights", heights), _rising("stations", stations)
    surface = space.obstacles.surface
    at = np.array([_off_the_floor(height, height)[0] for height in z.tolist()])
    nothing = ~_free_centerline(space.void, at, x)
    sides = [_side(surface, at, x, sign) for sign in (-1.0, 1.0)]
    nothing |= np.isnan(sides[0][0]) | np.isnan(sides[1][0])
    for half, part in sides:
        half[nothing], part[nothing] = np.nan, -1
    (left, left_part), (right, right_part) = sides
    return WidthChart(z, x, left, right, left_part, right_part, surface.names)


def _free_centerline(void: Solid, z: Floats, x: Floats) -> NDArray[np.bool_]:
    """Return where the plane of the centerline is free, (h, s), its edges included."""
    change = np.zeros((len(z), len(x) + 1), dtype=np.intp)
    rings = void.slice(1, 0.0).to_polygons()
    if rings:
        start = np.concatenate(rings)
        end = np.concatenate([np.roll(ring, -1, axis=0) for ring in rings])
        for hair in (-EDGE, EDGE):
            row, at = _crossings(start, end, z + hair)
            np.add.at(change, (row[0::2], np.searchsorted(x, at[0::2] - EDGE)), 1)
            np.add.at(change, (row[1::2], np.searchsorted(x, at[1::2] + EDGE, side="right")), -1)
    inside: NDArray[np.bool_] = np.cumsum(change, axis=1)[:, :-1] > 0
    return inside


def _crossings(start: Floats, end: Floats, z: Floats) -> tuple[Integers, Floats]:
    """Return where edges (n, 2) of height and station cross some heights: their numbers and the stations, in order."""
    low, high = np.minimum(start[:, 0], end[:, 0]), np.maximum(start[:, 0], end[:, 0])
    first = np.searchsorted(z, low, side="right")
    edge, row = _expanded(np.arange(len(start)), first, np.searchsorted(z, high, side="right") - first)
    share = (z[row] - start[edge, 0]) / (end[edge, 0] - start[edge, 0])
    at = start[edge, 1] + share * (end[edge, 1] - start[edge, 1])
    order = np.lexsort((at, row))
    return row[order], at[order]


def _rising(name: str, values: ArrayLike) -> Floats:
    array = np.asarray(values, dtype=float)
    if array.ndim != 1 or not len(array) or not np.isfinite(array).all() or (np.diff(array) <= 0).any():
        raise InputError(f"{name} must be a list of finite lengths that rise")
    return array


def _side(surface: Surface, z: Floats, x: Floats, sign: float) -> tuple[Floats, Integers]:
    """Return the distance from a free centerline to the first surface on one side, and its part, (h, s); NaN for none."""
    found = list(_covered(surface, z, x, sign))
    half = np.full(len(z) * len(x), np.inf)
    for pixel, distance, _ in found:
        np.minimum.at(half, pixel, distance)
    part = np.full(len(half), -1, dtype=np.intp)
    for pixel, distance, name in found:
        first = distance <= half.take(pixel) + CONTACT
        part[pixel[first]] = name[first]
    half[np.isinf(half)] = np.nan
    return half.reshape(len(z), len(x)), part.reshape(len(z), len(x))


def _covered(surface: Surface, z: Floats, x: Floats, sign: float) -> Iterator[tuple[Integers, Floats, Integers]]:
    """Yield the crossings that triangles on one side cover: (n,) their numbers, the distances there, and the triangles' parts."""
    candidate, lowest, rows = _facing(surface, z, x, sign)
    number, row = _expanded(np.arange(len(candidate)), lowest, rows)
    start, end = _spans(surface.triangles[candidate], number, z[row])
    run = end[0] - start[0]
    slope = np.where(run > 0, (end[1] - start[1]) / np.where(run > 0, run, 1.0), 0.0)
    first = np.searchsorted(x, start[0] - EDGE)
    count = np.maximum(np.searchsorted(x, end[0] + EDGE, side="right") - first, 0)
    part, begin = surface.part[candidate[number]], row * len(x)
    for low in range(0, len(count), _AT_ONCE):
        some = np.arange(low, min(low + _AT_ONCE, len(count)))
        span, column = _expanded(some, first[some], count[some])
        along = np.clip(x.take(column) - start[0].take(span), 0.0, run.take(span))
        distance = sign * (start[1].take(span) + slope.take(span) * along)
        kept = np.flatnonzero(distance > 0)
        yield (begin.take(span) + column)[kept], distance[kept], part.take(span)[kept]


def _facing(surface: Surface, z: Floats, x: Floats, sign: float) -> tuple[Integers, Integers, Integers]:
    """Return the triangles that face the centerline from one side and reach a crossing, their first row, and how many."""
    faces = np.flatnonzero((sign * surface.normals[:, 1] > 0) & ((sign * surface.triangles[:, :, 1]).max(axis=1) > 0))
    low, high = surface.triangles[faces].min(axis=1), surface.triangles[faces].max(axis=1)
    first = np.searchsorted(z, low[:, 2] - EDGE)
    rows = np.searchsorted(z, high[:, 2] + EDGE, side="right") - first
    columns = np.searchsorted(x, high[:, 0] + EDGE, side="right") - np.searchsorted(x, low[:, 0] - EDGE)
    reached = (rows > 0) & (columns > 0)
    return faces[reached], first[reached], rows[reached]


def _expanded(items: Integers, first: Integers, count: Integers) -> tuple[Integers, Integers]:
    """Return every item ``count`` times, with the numbers from ``first`` on beside it."""
    count = np.maximum(count, 0)
    ends = np.cumsum(count)
    number = np.arange(int(ends[-1]) if len(ends) else 0) + np.repeat(first - ends + count, count)
    return np.repeat(items, count), number


def _spans(triangles: Floats, number: Integers, z: Floats) -> tuple[Floats, Floats]:
    """Return where triangles begin and end along x at heights that they reach: x and y, two (2, m).

    ``triangles`` (n, 3, 3), and ``number`` (m,) says which of them each of the (m,) heights belongs to.
    The longest edge in height is one end; the other is the edge below the middle corner, or the one above it.
    """
    sorted_up = np.take_along_axis(triangles, triangles[:, :, 2].argsort(axis=1)[..., None], axis=1)
    low, middle, high = np.ascontiguousarray(sorted_up.transpose(1, 2, 0)).take(number, axis=2)
    upper = z > middle[2]
    ends = [_crossed(low, high, z), _crossed(np.where(upper, middle, low), np.where(upper, high, middle), z)]
    turned = ends[0][0] > ends[1][0]
    return np.where(turned, ends[1], ends[0]), np.where(turned, ends[0], ends[1])


def _crossed(low: Floats, high: Floats, z: Floats) -> Floats:
    """Return where edges between points (3, m) cross heights (m,) between their ends: x and y, (2, m)."""
    rise = high[2] - low[2]
    share = np.where(rise > 0, np.clip((z - low[2]) / np.where(rise > 0, rise, 1.0), 0.0, 1.0), 1.0)
    at: Floats = low[:2] + share * (high - low)[:2]
    return at
