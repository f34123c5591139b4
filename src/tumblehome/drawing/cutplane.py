"""How do things lie in the plane of one cut: what is cut, what is free between them, and how near they are to the wall?

In the plane of a cut one direction runs across the van, the *breadth*; the other one is called *along*: the height on a
cross-section, the station on a plan.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np
import shapely

from tumblehome.cuts.section import cut_axis, section
from tumblehome.errors import InputError
from tumblehome.lengths import format_length
from tumblehome.records import dataclass
from tumblehome.tolerances import CONTACT

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike, NDArray

    from tumblehome.body.shell import Shell
    from tumblehome.solids import Solid

    Floats = NDArray[np.float64]
    Point = tuple[float, float]

__all__ = ["CutPlane", "Gap", "aisle", "outer_edge", "wall_gap"]

_BESIDE: Final = 1e-3
"""How far beside a corner the free width is looked up, mm: a corner itself belongs to both of its edges."""
_ALONE: Final = 60.0
"""So far from a corner of a module, mm, a dimension is seen to mean the module's face."""
_PASSABLE: Final = 300.0
"""A free run narrower than this is no aisle, mm; common practice, no published source."""
_BARRING: Final = (300.0, 1439.0)
"""What leaves less than that between these heights bars the way, mm: over lower things one steps (common practice, no published
source), and higher ones begin above the shoulders (acromial height of the median man, ANSUR II, NATICK/TR-15/007)."""


@dataclass(frozen=True)
class CutPlane:
    """A cut at one height (axis 2, in the plane (x, y)) or one station (axis 0, in the plane (y, z))."""

    axis: int
    at: float
    below: bool = False

    @classmethod
    def through(cls, shell: Shell, height: float | None, station: float | None, units: str) -> CutPlane:
        """Return the plane at a height or a station; raises InputError, with the range, outside the interior."""
        axis = cut_axis(height, station)
        at = height if station is None else station
        low, high = shell.heights if axis == 2 else shell.stations
        if at is None or not low <= at <= high:
            what = "height" if axis == 2 else "station"
            shown = "" if at is None or not np.isfinite(at) else f" {format_length(at, units)}"
            span = f"{format_length(low, units)} to {format_length(high, units)}"
            raise InputError(f"{what}{shown} lies outside the interior of '{shell.name}'; allowed: {span}")
        return cls(axis, float(at), below=section(shell.void, **{what_of(axis): at}, side="above").is_empty)

    @property
    def is_plan(self) -> bool:
        """Whether it is a cut at a height."""
        return self.axis == 2

    def polygons(self, solid: Solid) -> list[shapely.Polygon]:
        """Return what the plane cuts of a solid, the one side of a ledge that the void is seen from."""
        cut = section(solid, **{what_of(self.axis): self.at}, side="below" if self.below else "above")
        return [] if cut.is_empty else cut.polygons

    def flat(self, point: Sequence[float]) -> Point:
        """Return a point (x, y, z) as it is seen in the plane."""
        return (point[0], point[1]) if self.is_plan else (point[1], point[2])

    def point(self, breadth: float, along: float) -> Point:
        """Return the point of the plane at a breadth and a coordinate along."""
        return (along, breadth) if self.is_plan else (breadth, along)

    def box(self, low: ArrayLike, high: ArrayLike) -> shapely.Polygon:
        """Return the shadow in the plane of the box between two corners (3,)."""
        (a, b), (c, d) = self.flat(np.asarray(low).tolist()), self.flat(np.asarray(high).tolist())
        return shapely.box(a, b, c, d)

    def edges(self, polygons: Sequence[shapely.Polygon]) -> Floats:
        """Return the edges of polygons, (m, 2, 2): two ends, each (breadth, along)."""
        rings = [np.asarray(ring.coords) for p in polygons for ring in (p.exterior, *p.interiors)]
        if not rings:
            return np.empty((0, 2, 2))
        edges = np.concatenate([np.stack([ring[:-1], ring[1:]], axis=1) for ring in rings])
        return edges[..., ::-1] if self.is_plan else edges


def what_of(axis: int) -> str:
    """Return the word for the coordinate of a cut across an axis."""
    return "height" if axis == 2 else "station"


@dataclass(frozen=True)
class Gap:
    """Free room across the van, from ``low`` to ``high`` breadth, at one coordinate along."""

    low: float
    high: float
    along: float

    @property
    def size(self) -> float:
        """How wide it is, mm."""
        return self.high - self.low


def aisle(
    plane: CutPlane, void: Sequence[shapely.Polygon], modules: Sequence[Sequence[shapely.Polygon]], near: float
) -> Gap | None:
    """Return the narrowest free run about the centerline where the most modules face each other, or None.

    On a cross-section a single module may face the wall, and there is no aisle where one bars the way; on a plan, where what is
    low is not cut, two must face each other.
    Where it is equally narrow in many places, the one nearest to the coordinate ``near`` is returned that lies well away
    from the modules' corners.
    """
    walls, bodies = plane.edges(void), [plane.edges(polygons) for polygons in modules]
    if not bodies:
        return None
    along = _telling(np.concatenate([walls, *bodies]), near)
    low, high = _free_about(walls, along, 0.0)
    sides = np.array([_free_about(body, along, 0.0, inside=False) for body in bodies])
    left, right = sides[:, 0].max(axis=0), sides[:, 1].min(axis=0)
    facing = (left > low - CONTACT).astype(int) + (right < high + CONTACT)
    low, high = np.maximum(low, left), np.minimum(high, right)
    passable = np.isfinite(low) & np.isfinite(high) & (high - low >= _PASSABLE)
    is_barred = not plane.is_plan and (~passable & (along > _BARRING[0]) & (along < _BARRING[1])).any()
    free = passable & (facing >= (2 if plane.is_plan else 1))
    if is_barred or not free.any():
        return None
    free &= facing == facing[free].max()
    alone = np.abs(along[:, None] - np.concatenate(bodies)[..., 1].ravel()).min(axis=1)
    order = np.lexsort((np.abs(along - near), -np.minimum(alone, _ALONE), np.round(high - low, 2), ~free))
    best = int(order[0])
    return Gap(float(low[best]), float(high[best]), float(along[best]))


def wall_gap(
    plane: CutPlane,
    void: Sequence[shapely.Polygon],
    module: Sequence[shapely.Polygon],
    others: Sequence[shapely.Polygon],
    sign: int,
) -> Gap | None:
    """Return where a module comes nearest to the wall on its left (sign -1) or right (1), if nothing stands between."""
    walls, body = plane.edges(void), plane.edges(module)
    low, high = body[..., 1].min(), body[..., 1].max()
    near = float(low + high) / 2
    along = _telling(np.concatenate([body, walls]), near)
    along = along[(along > low) & (along < high)]
    met = sign * _crossings(body, along)
    outer = np.where(np.isnan(met), -np.inf, met).max(axis=1, initial=-np.inf)
    wall = _next(sign * _crossings(walls, along), outer)
    other = _next(sign * _crossings(plane.edges(others), along), outer - 2 * _BESIDE, odd=False)
    free = np.isfinite(outer) & np.isfinite(wall) & (other >= wall)
    if not free.any():
        return None
    order = np.lexsort((np.abs(along - near), np.round(wall - outer, 2), ~free))
    best = int(order[0])
    ends = sorted((sign * float(outer[best]), sign * float(wall[best])))
    return Gap(ends[0], ends[1], float(along[best]))


def outer_edge(edges: Floats, sign: int, span: tuple[float, float], middle: float) -> float | None:
    """Return the least that a region reaches out, towards lesser (sign -1) or greater (1) values, within a span along.

    Parameters
    ----------
    edges : (m, 2, 2) of the region, two ends each (out, along)
    middle : where it does not reach out beyond this, it does not count

    Returns
    -------
    float, counted towards that side, or None where the region is nowhere in the span
    """
    reaches = (sign * edges[..., 0]).max(axis=1) > sign * middle
    edges = edges[reaches & (edges[..., 1].max(axis=1) > span[0]) & (edges[..., 1].min(axis=1) < span[1])]
    corners = np.unique(np.round(np.append(edges[..., 1].ravel(), span), 6))
    along = np.concatenate([corners - _BESIDE, corners + _BESIDE])
    met = sign * _crossings(edges, along[(along > span[0]) & (along < span[1])])
    outer = np.where(np.isnan(met), -np.inf, met).max(axis=1, initial=-np.inf)
    least = outer[outer > sign * middle].min(initial=np.inf)
    return float(least) if np.isfinite(least) else None


def _telling(edges: Floats, near: float) -> Floats:
    """Return the coordinates along between which all widths are linear, just beside each corner, and ``near`` itself."""
    corners = np.unique(np.round(edges[..., 1], 6))
    return np.concatenate([corners - _BESIDE, corners + _BESIDE, (corners[1:] + corners[:-1]) / 2, [near]])


def _crossings(edges: Floats, along: Floats) -> Floats:
    """Return the breadth at which each of (m, 2, 2) edges is met at each of (k,) coordinates: (k, m), NaN where not."""
    (b0, a0), (b1, a1) = edges[:, 0].T, edges[:, 1].T
    at = along[:, None]
    run = np.where(a1 == a0, 1.0, a1 - a0)
    breadth: Floats = b0 + (at - a0) / run * (b1 - b0)
    return np.where((a0 > at) != (a1 > at), breadth, np.nan)


def _next(crossings: Floats, beyond: Floats, *, odd: bool = True) -> Floats:
    """Return the first of (k, m) crossings beyond (k,) breadths, infinite when none is; NaN outside when ``odd``."""
    ahead = crossings > beyond[:, None] - CONTACT
    first: Floats = np.where(ahead, crossings, np.inf).min(axis=1, initial=np.inf)
    return np.where(ahead.sum(axis=1) % 2 == 1, first, np.nan) if odd else first


def _free_about(edges: Floats, along: Floats, breadth: float, *, inside: bool = True) -> tuple[Floats, Floats]:
    """Return the crossings next to a breadth on both sides, NaN where it does not lie inside (or outside) the edges."""
    met = _crossings(edges, along)
    right = np.where(met > breadth, met, np.inf).min(axis=1, initial=np.inf)
    left = np.where(met < breadth, met, -np.inf).max(axis=1, initial=-np.inf)
    wrong = ((met > breadth).sum(axis=1) % 2 == 1) != inside
    return np.where(wrong, np.nan, left), np.where(wrong, np.nan, right)
