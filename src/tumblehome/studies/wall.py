"""The wall that a module stands against, seen from inside: how far out a face can go at each height or station.

Half-breadths are measured towards the module's wall: positive on its side of the centerline.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Final

import numpy as np

from tumblehome.solids import following
from tumblehome.studies.profile import Piece, Profile, lower_envelope
from tumblehome.tolerances import CONTACT, EDGE

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from tumblehome.body import Shell
    from tumblehome.solids import Surface
    from tumblehome.sweep import Prism

    Floats = NDArray[np.float64]
    Integers = NDArray[np.intp]

__all__ = ["Wall"]

_HAIR: Final = CONTACT / 2
"""How much further out recesses are taken to be, mm, so that the wall at their rim comes first: above the kernel's noise."""


@dataclass(frozen=True, eq=False)
class Wall:
    """One side of a surface that bounds what is free.

    ``surface`` is the boundary, ``sign`` -1 for the left side and 1 for the right. ``recesses`` are the parts that are told
    only where nothing else is as near: at a recess's rim it is the wall that stops a body, not the recess.
    """

    surface: Surface
    sign: float
    recesses: frozenset[str] = frozenset()

    @classmethod
    def of(cls, shell: Shell, surface: Surface, sign: float) -> Wall:
        """Return one side of a surface that belongs to a shell."""
        return cls(surface, sign, frozenset(part.name for part in shell.parts if part.gives))

    @cached_property
    def _local(self) -> tuple[Floats, Integers]:
        """Triangles (n, 3, 3) of (station, height, half-breadth) that reach beyond the centerline, and their parts."""
        local = self.surface.triangles[:, :, (0, 2, 1)] * np.array([1.0, 1.0, self.sign])
        yields = np.array([name in self.recesses for name in self.surface.names], dtype=bool)
        local[yields[self.surface.part], :, 2] += _HAIR
        ahead = local[..., 2].max(axis=1) > 0
        return local[ahead], self.surface.part[ahead]

    def by_height(self, body: Sequence[Prism]) -> Profile:
        """Return how far out the back of a body's plan can go at each height.

        The value at a height is the half-breadth that the outermost point of the body would have if the wall at that
        height alone stopped it. Of a stack the prisms at that height count; its lowest ones run on downward, its highest
        upward. Faces that lie flat stop nothing here.
        """
        outer = _outermost(body, self.sign)
        foot, top = min(prism.bottom for prism in body), max(prism.top for prism in body)
        columns: list[tuple[Floats, Floats, Floats, Floats, Integers]] = []
        for prism in body:
            low = prism.bottom if prism.bottom > foot + CONTACT else -np.inf
            high = prism.top if prism.top < top - CONTACT else np.inf
            for span, at, slope in _backs(prism, self.sign):
                triangles, part = _cut_to(*self._within(0, *span), 1, low + EDGE, high - EDGE)
                value = triangles[..., 2] - (at + slope * triangles[..., 0]) + outer
                columns.append(_edges(triangles[..., 1], value, part))
        return lower_envelope(*(np.concatenate(column) for column in zip(*columns, strict=True)))

    def by_station(self, body: Sequence[Prism]) -> Profile:
        """Return how far out a body can go when it is slid along the wall, by the travel from where it stands.

        The value at a travel is the half-breadth that its outermost point then has.
        """
        outer = _outermost(body, self.sign)
        parts = [self._slid(prism, outer) for prism in body]
        return lower_envelope(*(np.concatenate(column) for column in zip(*parts, strict=True)))

    def limits(self, body: Sequence[Prism]) -> dict[str, float]:
        """Return how far out each named part alone would let a body go where it stands, as a half-breadth of its back."""
        outer = _outermost(body, self.sign)
        least = np.full(len(self.surface.names), np.inf)
        for prism in body:
            for span, at, slope in _backs(prism, self.sign):
                triangles, part = self._within(0, *span)
                triangles, part = _cut_to(triangles, part, 1, prism.bottom + EDGE, prism.top - EDGE)
                value = triangles[..., 2] - (at + slope * triangles[..., 0]) + outer
                np.minimum.at(least, part, value.min(axis=1))
        return {name: float(u) for name, u in zip(self.surface.names, least, strict=True) if np.isfinite(u)}

    def _within(self, axis: int, low: float, high: float) -> tuple[Floats, Integers]:
        """Return the triangles cut to an open interval of station (0) or height (1), as triangles again."""
        local, part = self._local
        return _cut_to(local, part, axis, low + EDGE, high - EDGE)

    def _slid(self, prism: Prism, outer: float) -> tuple[Floats, Floats, Floats, Floats, Integers]:
        """Return the segments of travel and half-breadth that the wall within a prism's heights puts in its way."""
        triangles, part = self._within(1, prism.bottom, prism.top)
        x0, x1, u0, u1, why = _edges(triangles[..., 0], triangles[..., 2], part)
        nearest = (*lower_envelope(x0, x1, u0, u1, why).pieces, *_thwart(x0, x1, np.minimum(u0, u1), why))
        columns = [_swept(nearest, span, at - outer, slope) for span, at, slope in _backs(prism, self.sign)]
        joined = [np.concatenate(column) for column in zip(*columns, strict=True)]
        return joined[0], joined[1], joined[2], joined[3], joined[4].astype(np.intp)


def _outermost(body: Sequence[Prism], sign: float) -> float:
    return max(float((sign * prism.outline[:, 1]).max()) for prism in body)


def _backs(prism: Prism, sign: float) -> list[tuple[tuple[float, float], float, float]]:
    """Return the faces of a prism that look towards the wall: span of stations, and half-breadth = at + slope * station."""
    faces = []
    ends = following(prism.outline)
    for a, b in zip(prism.outline, ends, strict=True):
        if sign * (a[0] - b[0]) <= 2 * EDGE:
            continue
        slope = sign * (b[1] - a[1]) / (b[0] - a[0])
        span = (float(min(a[0], b[0])), float(max(a[0], b[0])))
        faces.append((span, float(sign * a[1] - slope * a[0]), float(slope)))
    return faces


def _cut_to(local: Floats, part: Integers, axis: int, low: float, high: float) -> tuple[Floats, Integers]:
    """Cut triangles to an interval of one coordinate; what has four or five corners becomes a fan of triangles."""
    reach = (local[..., axis].max(axis=1) > low) & (local[..., axis].min(axis=1) < high)
    local, part = local[reach], part[reach]
    for level, sense in ((low, 1.0), (high, -1.0)):
        local, part = _cut_at(local, part, axis, level, sense)
    return local, part


def _cut_at(local: Floats, part: Integers, axis: int, level: float, sense: float) -> tuple[Floats, Integers]:
    """Return what of triangles lies on one side of a level, as triangles."""
    side = sense * (local[..., axis] - level)
    inside = (side >= 0).sum(axis=1)
    lone = np.where(inside == 1, (side >= 0).argmax(axis=1), (side < 0).argmax(axis=1))
    order = (lone[:, None] + np.arange(3)) % 3
    turned = np.take_along_axis(local, order[..., None], axis=1)
    offset = np.take_along_axis(side, order, axis=1)
    with np.errstate(divide="ignore", invalid="ignore"):
        first = turned[:, 0] + (turned[:, 1] - turned[:, 0]) * (offset[:, 0] / (offset[:, 0] - offset[:, 1]))[:, None]
        second = turned[:, 0] + (turned[:, 2] - turned[:, 0]) * (offset[:, 0] / (offset[:, 0] - offset[:, 2]))[:, None]
    one, two = inside == 1, inside == 2
    pieces = [
        local[inside == 3],
        np.stack([turned[one, 0], first[one], second[one]], axis=1),
        np.stack([first[two], turned[two, 1], turned[two, 2]], axis=1),
        np.stack([first[two], turned[two, 2], second[two]], axis=1),
    ]
    return np.concatenate(pieces), np.concatenate([part[inside == 3], part[one], part[two], part[two]])


def _edges(t: Floats, u: Floats, part: Integers) -> tuple[Floats, Floats, Floats, Floats, Integers]:
    """Return the edges of (n, 3) triangles in a plane as segments that run forward."""
    a, b = t.ravel(), t[:, [1, 2, 0]].ravel()
    p, q = u.ravel(), u[:, [1, 2, 0]].ravel()
    turned = a > b
    return (
        np.where(turned, b, a),
        np.where(turned, a, b),
        np.where(turned, q, p),
        np.where(turned, p, q),
        np.repeat(part, 3),
    )


def _thwart(start: Floats, end: Floats, least: Floats, cause: Integers) -> list[Piece]:
    """Return the faces across the van that reach over the centerline, as stretches without length.

    What they bound has no side that looks inboard, so that only they tell that it is there.
    """
    across = (end - start <= EDGE) & (least <= 0)
    rows = zip(start[across], least[across], cause[across], strict=True)
    return [Piece(float(x), float(x), float(u), float(u), int(part)) for x, u, part in rows]


def _swept(
    pieces: Sequence[Piece], span: tuple[float, float], at: float, slope: float
) -> tuple[Floats, Floats, Floats, Floats, Integers]:
    """Return the segments by which straight wall stretches stop a straight back that slides along them.

    In the plane of travel and half-breadth a stretch and a back make a parallelogram; its lower boundary runs from its
    first corner to its last over the lower of the two between.
    """
    wall = np.array([(p.start, p.end, p.low, p.high, p.cause) for p in pieces])
    if not len(wall):
        none = np.empty(0)
        return none, none, none, none, np.empty(0, dtype=np.intp)
    travel = np.stack([wall[:, 0] - span[1], wall[:, 0] - span[0], wall[:, 1] - span[1], wall[:, 1] - span[0]], axis=1)
    back = np.array([at + slope * span[1], at + slope * span[0]])
    reach = np.stack([wall[:, 2] - back[0], wall[:, 2] - back[1], wall[:, 3] - back[0], wall[:, 3] - back[1]], axis=1)
    share = (travel[:, 1:3] - travel[:, :1]) / (travel[:, 3:] - travel[:, :1])
    above = reach[:, 1:3] - (reach[:, :1] + share * (reach[:, 3:] - reach[:, :1]))
    middle = 1 + above.argmin(axis=1)
    rows = np.arange(len(wall))
    knee_t, knee_u = travel[rows, middle], reach[rows, middle]
    start, end = np.concatenate([travel[:, 0], knee_t]), np.concatenate([knee_t, travel[:, 3]])
    low, high = np.concatenate([reach[:, 0], knee_u]), np.concatenate([knee_u, reach[:, 3]])
    return start, end, low, high, np.tile(wall[:, 4].astype(np.intp), 2)
