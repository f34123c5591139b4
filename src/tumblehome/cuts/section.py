"""One cut through the void, at one height or one station, as polygons with holes."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from functools import cached_property
from typing import TYPE_CHECKING, Literal, Protocol

import numpy as np

from tumblehome.errors import InputError
from tumblehome.lengths import millimeters
from tumblehome.solids import Solid, following, outline_of, twice_area
from tumblehome.tolerances import CONTACT, LEDGE

if TYPE_CHECKING:
    import shapely
    from manifold3d import CrossSection
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

__all__ = ["Section", "Voided", "cut_axis", "section"]

OneSide = Literal["both", "above", "below"]


class Voided(Protocol):
    """What has a void: a shell, or a layout."""

    @property
    def void(self) -> Solid:
        """What is free, as one solid."""


class Section:
    """A cut, in the plane of the two axes across it.

    Attributes
    ----------
    axis : int
        2 for a cut at a height, in the plane (x, y) looking down; 0 for a cut at a station, in the plane (y, z) looking
        forward: left is at the left.
    at : (float, float)
        The interval that it holds for, mm; both ends equal for a single cut.
    """

    def __init__(self, axis: int, at: tuple[float, float], outline: CrossSection):
        self.axis, self.at = axis, at
        self.rings: list[Floats] = outline.to_polygons()
        """Closed rings (k, 2) in mm, outer ones counter-clockwise, holes clockwise, the first point not repeated."""
        self._outline = outline
        if not all(_is_surely_clean(ring) for ring in self.rings):
            trimmed = [_without_spikes(ring) for ring in self.rings]
            self.rings = [ring for ring in trimmed if not _is_sliver(ring)]
            self._outline = outline_of(self.rings)

    @property
    def is_empty(self) -> bool:
        """Whether nothing is there; that is not the same as a width of zero."""
        return not self.rings

    @property
    def area(self) -> float:
        """Area in mm2."""
        return float(self._outline.area())

    @cached_property
    def polygons(self) -> list[shapely.Polygon]:
        """The separate pieces with their holes, largest first."""
        pieces = (part.to_polygons() for part in self._outline.decompose())
        return sorted((_polygon(rings) for rings in pieces if rings), key=lambda polygon: -polygon.area)

    def __and__(self, other: Section) -> Section:
        """Return what two cuts across the same axis share."""
        return Section(self.axis, self.at, self._outline ^ other._outline)

    def __sub__(self, other: CrossSection) -> Section:
        """Return the cut less an outline of the kernel's in the same plane."""
        return Section(self.axis, self.at, self._outline - other)


def _is_surely_clean(ring: Floats) -> bool:
    """Whether a ring, at a quick look, has no spike and is no sliver: it nowhere turns back, and is well wider than a line."""
    run = following(ring) - ring
    ahead = following(run)
    if (run[:, 0] * ahead[:, 0] + run[:, 1] * ahead[:, 1]).min() < 0:
        return False
    twice = abs(float(ring[:, 0] @ run[:, 1] - ring[:, 1] @ run[:, 0]))
    return twice > CONTACT * float(np.abs(run).sum())


def _without_spikes(ring: Floats) -> Floats:
    """Take off a ring's spikes, outward or inward, that are no wider than a contact: rounding along a shared edge."""
    while len(ring) > 2:
        before, after = ring - np.roll(ring, 1, axis=0), np.roll(ring, -1, axis=0) - ring
        longer = np.hypot(*np.where(np.hypot(*before.T) > np.hypot(*after.T), before.T, after.T))
        wide = np.abs(before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]) > CONTACT * longer
        tips = np.flatnonzero(~wide & (np.einsum("ij,ij->i", before, after) < 0))
        if not len(tips):
            break
        ring = np.delete(ring, tips[0], axis=0)
    return ring


def _is_sliver(ring: Floats) -> bool:
    """Return whether a ring is no wider than a contact: rounding between two outlines that meet."""
    if len(ring) < 3:
        return True
    run = following(ring) - ring
    return abs(twice_area(ring)) <= CONTACT * float(np.hypot(*run.T).sum())


def _polygon(rings: list[Floats]) -> shapely.Polygon:
    import shapely  # noqa: PLC0415  (takes a while to load, and a check needs no polygons)

    outer = int(np.argmax([shapely.Polygon(ring).area for ring in rings]))
    return shapely.Polygon(rings[outer], [r for i, r in enumerate(rings) if i != outer])


def cut_axis(height: object, station: object) -> int:
    """Return the axis to cut across; raises InputError unless exactly one of height and station is given."""
    if (height is None) == (station is None):
        raise InputError("give a height or a station to cut at, one of the two")
    return 2 if station is None else 0


def section(
    thing: Voided | Solid, *, height: float | None = None, station: float | None = None, side: OneSide = "both"
) -> Section:
    """Cut the void, or any solid, at one height or one station.

    Parameters
    ----------
    thing : a shell or a layout, whose void is cut, or a solid
    height : float, mm above the finished floor
    station : float, mm rearward
    side : which limit to take on a ledge, where the cut just above (further rear) differs from the one just below. With
        "both" it is what the two share: a body there meets both. Where only one of them exists, at the roof or an end, it
        is that one; on the finished floor, height 0, of a void, it is that above it, whatever wells there are.

    Returns
    -------
    Section
        Empty where there is nothing.

    Raises
    ------
    InputError
        Unless exactly one of height and station is given, and finite.
    """
    axis = cut_axis(height, station)
    at = millimeters("height" if station is None else "station", height if station is None else station)
    if not np.isfinite(at):
        raise InputError(f"a cut at {at} is nowhere; give a finite height or station")
    solid = thing if isinstance(thing, Solid) else thing.void
    near = _ledges_near(solid, axis, at)
    if side == "both" and axis == 2 and abs(at) <= LEDGE and thing is not solid:
        side = "above"

    def limit(*, below: bool) -> Section:
        beside = min(near, default=at) if below else max(near, default=at)
        return Section(axis, (at, at), solid.slice(axis, beside, below=below))

    if side != "both" or not near:
        return limit(below=side == "below")
    above, below = limit(below=False), limit(below=True)
    return below if above.is_empty else above if below.is_empty else above & below


def _ledges_near(solid: Solid, axis: int, at: float) -> list[float]:
    """Return the ledges that a coordinate means, though rounding may have set them beside it."""
    ledges = solid.ledges(axis)
    return ledges[bisect_left(ledges, at - LEDGE) : bisect_right(ledges, at + LEDGE)]
