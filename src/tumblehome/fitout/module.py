"""What is built into the van: modules, the zones they need to work, and the shapes of both.

A module has a frame of its own, seen by somebody who stands before its face: ``u`` to the right along the face from its left
end, ``v`` away from the viewer from the face to the back, ``w`` up from its foot. The three are right-handed.
"""

from __future__ import annotations

from functools import cached_property
from math import ceil, cos, pi
from typing import TYPE_CHECKING, Final

import numpy as np
from manifold3d import JoinType

from tumblehome.records import dataclass
from tumblehome.solids import Solid, following, outline_of, twice_area, unite
from tumblehome.sweep import Prism
from tumblehome.tolerances import SMALLEST

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike, NDArray

    Floats = NDArray[np.float64]

__all__ = ["FINISHES", "SIDES", "USES", "Frame", "Module", "Opening", "Use", "Zone", "convex_pieces", "sector"]

FINISHES: Final = (
    "ash", "birch", "cork", "enamel", "felt", "glass", "lacquer", "leather", "linen", "mattress", "oak", "rubber", "steel",
    "walnut", "water",
)  # fmt: skip
"""What a module's outside may look like in the pictures."""

USES: Final = ("bed", "seat", "table", "counter", "bath", "cupboard", "step")
"""What people do at a module."""

SIDES: Final = ("left", "right", "front", "rear")
"""The four sides of the van."""

_STRAIGHT: Final = 1e-9
"""A corner that turns by less than this counts as none, radians."""
_SWING_DEVIATION: Final = 0.25
"""The most by which the polygon of a door's swing lies outside its circle, mm."""


@dataclass(frozen=True, eq=False)
class Frame:
    """Where a module's own frame stands in the van.

    ``origin`` (3,) is the foot of the face's left end, mm; ``right`` and ``away`` are (2,) unit vectors in plan.
    """

    origin: Floats
    right: Floats
    away: Floats

    @classmethod
    def facing(cls, degrees: float) -> Frame:
        """Return a frame at (0, 0, 0) whose face looks along an angle counterclockwise from the rear, seen from above."""
        angle = np.radians(degrees)
        out = np.round(np.array([np.cos(angle), np.sin(angle)]), 15)
        return cls(np.zeros(3), np.array([-out[1], out[0]]), -out)

    def moved(self, vector: ArrayLike) -> Frame:
        """Return the frame shifted by a (3,) vector in mm."""
        return Frame(self.origin + np.asarray(vector, dtype=float), self.right, self.away)

    def prism(self, outline: ArrayLike, low: float, high: float) -> Prism:
        """Return the prism over a convex outline (k, 2) of (u, v), from ``low`` to ``high`` above the foot."""
        points = np.asarray(outline, dtype=float)
        plan = self.origin[:2] + points[:, :1] * self.right + points[:, 1:] * self.away
        return Prism(plan, float(self.origin[2] + low), float(self.origin[2] + high))

    def box(self, u: tuple[float, float], v: tuple[float, float], w: tuple[float, float]) -> Prism:
        """Return a box between two values of each of u, v and w."""
        return self.prism([(u[0], v[0]), (u[1], v[0]), (u[1], v[1]), (u[0], v[1])], *w)


@dataclass(frozen=True, eq=False)
class Zone:
    """Room that a module needs to work: a door's swing, a drawer's pull, a lid, a hand to a valve.

    ``outward`` (3,) is the direction in which it reaches away from the module, and ``room`` how far, mm; a swing, which
    turns, has no room but a radius, and 0 here. For a ``lifting`` one what stands on the module is taken off first; into
    one for a ``hand`` somebody reaches with the hand and sees what the hand does.
    """

    name: str
    prisms: tuple[Prism, ...]
    outward: Floats
    room: float = 0.0
    lifting: bool = False
    hand: bool = False

    @cached_property
    def solid(self) -> Solid:
        """All of it, as one solid."""
        return solid_of(self.prisms, self.name)


@dataclass(frozen=True)
class Opening:
    """The clear opening in a module's face by which one enters it: mm from the face's left end and above its foot."""

    wide: float
    left: float
    up: float
    high: float


@dataclass(frozen=True)
class Use:
    """What people do at a module.

    Attributes
    ----------
    kind : one of USES
    people : how many it is meant for
    head : the side of the van at which heads lie on a bed, or None where either end will do
    pieces : mm, lengths of a mattress's pieces from the head on; none when it is in one piece
    opening : by which one enters a bath, or None
    """

    kind: str
    people: int = 1
    head: str | None = None
    pieces: tuple[float, ...] = ()
    opening: Opening | None = None


@dataclass(frozen=True, eq=False)
class Module:
    """A thing that stands in the van.

    Attributes
    ----------
    name, kind : str; kind is "rigid" or "scribed"
    body : prisms that must be free of the shell: all of a rigid module, the face plate of a scribed one
    hull : prisms that hold all of it
    solid : its true shape
    zones : the room that it needs
    against : the side it is pushed out to, or None; gap : mm kept there
    support : what it stands on, or None when it hangs; parent : the module that it is inside of, or None
    wide, deep, high : float, mm
    panel : thickness of its panels, mm
    mass : kg; contents : free text; holds : L; finish : one of FINISHES
    use : what people do at it, or None
    fixed : whether it is built in for good; lies_on : its sides on which it may be laid to be carried
    """

    name: str
    kind: str
    body: tuple[Prism, ...]
    hull: tuple[Prism, ...]
    solid: Solid
    zones: tuple[Zone, ...]
    frame: Frame
    wide: float
    deep: float
    high: float
    panel: float = 0.0
    against: str | None = None
    gap: float = 0.0
    support: str | None = None
    parent: str | None = None
    mass: float = 0.0
    contents: str = ""
    holds: float = 0.0
    finish: str = "birch"
    use: Use | None = None
    fixed: bool = False
    lies_on: tuple[str, ...] = ()

    @cached_property
    def bounds(self) -> tuple[Floats, Floats]:
        """Least and greatest corner of its hull, each (3,) in mm."""
        ends = [prism.bounds for prism in self.hull]
        return np.min([low for low, _ in ends], axis=0), np.max([high for _, high in ends], axis=0)

    @cached_property
    def inner(self) -> Solid | None:
        """What is free inside it within its panels, or None for a module that nothing can stand in."""
        scribed = self.kind == "scribed"
        prisms = self._behind_the_face() if scribed else [_hollow(prism, self.panel) for prism in self.body]
        within = solid_of([prism for prism in prisms if prism], self.name)
        if within.is_empty:
            return None
        return self.solid & within if scribed else within

    def _behind_the_face(self) -> list[Prism | None]:
        """Return what lies behind the face of a scribed module between its other panels, to well beyond its back."""
        side = self.panel
        if min(self.wide, self.high) <= 2 * side + SMALLEST:
            return []
        return [self.frame.box((side, self.wide - side), (side, 2 * (self.deep + side)), (side, self.high - side))]

    @property
    def center(self) -> Floats:
        """The middle of its bounds, (3,) in mm."""
        low, high = self.bounds
        middle: Floats = (low + high) / 2
        return middle


def solid_of(prisms: Sequence[Prism], name: str) -> Solid:
    """Return the solid that some prisms make together."""
    return unite(Solid.prism(p.outline, p.bottom, p.top, name) for p in prisms)


def _hollow(prism: Prism, panel: float) -> Prism | None:
    """Return what is free in a prism within panels, mm thick, if anything is."""
    plan = outline_of([prism.outline]).offset(-panel, JoinType.Miter).to_polygons()
    if not plan or prism.top - prism.bottom <= 2 * panel + SMALLEST:
        return None
    return Prism(plan[0], prism.bottom + panel, prism.top - panel)


def convex_pieces(outline: ArrayLike) -> list[Floats]:
    """Return a simple polygon (k, 2) as convex ones, counterclockwise; raises ValueError when it crosses itself."""
    ring = np.asarray(outline, dtype=float)
    if twice_area(ring) < 0:
        ring = ring[::-1]
    return [ring] if _is_convex(ring) else _pieces(ring)


def _is_convex(ring: Floats) -> bool:
    """Whether a counterclockwise ring goes round once and turns nowhere to the right."""
    run = following(ring) - ring
    ahead = following(run)
    turns = np.arctan2(run[:, 0] * ahead[:, 1] - run[:, 1] * ahead[:, 0], (run * ahead).sum(axis=1))
    return bool(twice_area(ring) > 0 and turns.min() > -_STRAIGHT and turns.sum() < 3 * pi)


def _pieces(ring: Floats) -> list[Floats]:
    import shapely  # noqa: PLC0415  (takes a while to load, and most modules are boxes)

    polygon = shapely.Polygon(ring)
    if not polygon.is_valid or polygon.area == 0:
        raise ValueError("the outline crosses itself or has no area; list its corners in order, once round")
    parts = list(shapely.constrained_delaunay_triangles(polygon).geoms)
    return [np.array(shapely.geometry.polygon.orient(part).exterior.coords)[:-1] for part in parts]


def sector(hinge: tuple[float, float], radius: float, degrees: float, *, from_left: bool) -> Floats:
    """Return what a door sweeps before a face, (k, 2) of (u, v): a sector whose arc's chords lie outside the circle.

    Parameters
    ----------
    hinge : (u, v) of its hinge, mm; radius : mm; degrees : up to 180; from_left : whether it is hinged at its left
    """
    swing = np.radians(degrees)
    steps = max(1, ceil(swing / (2 * np.arccos(radius / (radius + _SWING_DEVIATION)))))
    half = swing / steps / 2
    angles = np.concatenate([[0.0], (2 * np.arange(steps) + 1) * half, [swing]])
    reach = radius * np.concatenate([[1.0], np.full(steps, 1 / cos(half)), [1.0]])
    sign = 1.0 if from_left else -1.0
    arc = np.column_stack([sign * reach * np.cos(angles), -reach * np.sin(angles)])
    points = np.vstack([np.zeros((1, 2)), arc]) + hinge
    if abs(swing - pi) < 1e-9:
        points = points[1:]
    return points[::-1] if from_left else points
