"""The named parts of a shell: members that stand proud of the lining, recesses in it, doorways through it.

Each part knows one thing: the solid that it takes from, or gives to, the lined interior. What follows the wall as it leans
is the room between the lined skin and the same skin moved further in (or out), cut to the part's window.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from functools import cached_property
from math import acos, ceil, cos, hypot, pi
from typing import TYPE_CHECKING, Final, Literal, Protocol

import numpy as np

from tumblehome.errors import InputError
from tumblehome.lengths import told
from tumblehome.records import dataclass
from tumblehome.solids import Solid, unite
from tumblehome.sweep import Obstacles, plates_stops, rectangle
from tumblehome.tolerances import ARC, CONTACT

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

__all__ = [
    "Block",
    "Body",
    "Bulkhead",
    "Doorway",
    "Housing",
    "Lined",
    "Lining",
    "MeshMember",
    "Part",
    "Recess",
    "Sheet",
    "Span",
    "Well",
]

Side = Literal["left", "right"]
Span = tuple[float, float]

_BEYOND: Final = 500.0
"""How far a cutter runs past the body so that no face of it coincides with one of the body's, mm."""
_ASIDE: Final = 400.0
"""How far the walls stand back where a part follows the roof only, so that it takes nothing from the recesses below, mm."""
_INSIDE: Final = 5.0
"""How far the cutter of a recess or doorway starts inside the lined wall, for the same reason, mm."""
_PASSAGE: Final = 1000.0
"""How far an open doorway's passage runs outside the body, mm."""


class Body(Protocol):
    """A bare body whose skin can be moved inward."""

    @property
    def loft_deviation(self) -> float:
        """How far its flat triangles may leave the surface they stand for, mm."""

    def inset(self, walls: float, roof: float, floor: float) -> Solid:
        """Return it with the skin moved in, mm."""


@dataclass(frozen=True)
class Lining:
    """Thickness of insulation and panel taken off the bare body, mm."""

    walls: float = 0.0
    roof: float = 0.0
    floor: float = 0.0


@dataclass(frozen=True, eq=False)
class Lined:
    """A bare body and its lining: what parts are cut against."""

    body: Body
    lining: Lining

    @cached_property
    def bare(self) -> Solid:
        """The bare body."""
        return self.body.inset(0.0, 0.0, 0.0)

    @cached_property
    def solid(self) -> Solid:
        """The interior with its lining and nothing else; where a thin lining folds otherwise, no further out than the bare body."""
        if self.lining == Lining():
            return self.bare
        inner = self.moved_in(0.0, 0.0)
        return inner if (inner - self.bare).is_empty else inner & self.bare

    @cached_property
    def _insets(self) -> dict[tuple[float, float], Solid]:
        return {}

    def moved_in(self, walls: float, roof: float) -> Solid:
        """Return the lined interior with its walls and roof moved further in, mm."""
        key = (walls, roof)
        if key not in self._insets:
            self._insets[key] = self.body.inset(self.lining.walls + walls, self.lining.roof + roof, self.lining.floor)
        return self._insets[key]

    @cached_property
    def obstacles(self) -> Obstacles:
        """The lined interior's surface, to be asked how far something can travel."""
        return Obstacles(self.solid.surface)

    @cached_property
    def around(self) -> tuple[Floats, Floats]:
        """Least and greatest corner of a box well beyond the bare body, each (3,) in mm."""
        low, high = self.bare.bounds
        return low - _BEYOND, high + _BEYOND

    def half_breadth(self, side: Side, stations: Span, heights: Span) -> float:
        """Return how far a flat plate of these stations and heights can move from the centerline to a side, mm."""
        return self.half_breadths(side, [(stations, heights)])[0]

    def half_breadths(self, side: Side, plates: list[tuple[Span, Span]]) -> list[float]:
        """Return the same for several plates of stations and heights."""
        windows = [rectangle(heights, stations) for stations, heights in plates]
        sign = 1.0 if side == "right" else -1.0
        found = []
        for met, (stations, heights) in zip(plates_stops(windows, 0.0, self.obstacles, 1), plates, strict=True):
            distance = met.low if side == "right" else -met.high
            facing = sign * self.solid.surface.normals[met.triangle, 1] > 0
            reached = distance[facing & (distance > CONTACT)]
            if not len(reached):
                raise InputError(told("there is no {} wall at stations {}, heights {}", side, stations, heights))
            found.append(float(reached.min()))
        return found


@dataclass(frozen=True)
class Part(ABC):
    """Something named in the shell. ``measured_to`` (mm) is None where the shell's own measuring tolerance holds."""

    name: str
    kind: str
    measured_to: float | None

    @property
    def gives(self) -> bool:
        """Whether it gives room (a recess, a well) rather than takes it."""
        return False

    @property
    def bears(self) -> bool:
        """Whether a module may stand on it."""
        return not self.gives

    @abstractmethod
    def solid(self, lined: Lined) -> Solid:
        """Return what it takes from the lined interior, or gives to it, running on into the wall behind."""


@dataclass(frozen=True)
class Sheet(Part):
    """A rib, pillar, hoop, bow or rail: of even depth, following the skin within a window.

    ``sides`` are the walls it runs along, ``roof`` whether it runs across the roof; ``heights`` None means full height.
    """

    stations: Span
    depth: float
    sides: tuple[Side, ...]
    roof: bool
    heights: Span | None

    def solid(self, lined: Lined) -> Solid:
        """Return the room between the lined skin and the same skin moved in by the depth."""
        low, high = lined.around
        left = low[1] if "left" in self.sides or self.roof else 0.0
        right = high[1] if "right" in self.sides or self.roof else 0.0
        z0, z1 = self.heights or (low[2], high[2])
        window = Solid.box((self.stations[0], left, z0), (self.stations[1], right, z1), self.name)
        return window - lined.moved_in(self.depth if self.sides else -_ASIDE, self.depth if self.roof else 0.0)


@dataclass(frozen=True)
class Housing(Part):
    """A wheel housing: its inboard face stands ``depth`` off the lined wall where that is nearest the centerline.

    Its two upper edges across the van are square, beveled by ``bevel`` or rounded to ``radius`` (one of them 0).
    """

    side: Side
    stations: Span
    height: float
    depth: float
    bevel: float
    radius: float

    def solid(self, lined: Lined) -> Solid:
        """Return the housing from its inboard face to beyond the wall."""
        inboard = lined.half_breadth(self.side, self.stations, (0.0, self.height)) - self.depth
        low, high = lined.around
        span = (inboard, high[1]) if self.side == "right" else (low[1], -inboard)
        return Solid.prism(self._profile(low[2]), span[0], span[1], self.name, axis=1)

    def _profile(self, bottom: float) -> list[tuple[float, float]]:
        """Return the outline seen from the side, (z, x), from below the floor; a rounding lies outside its circle."""
        x0, x1 = self.stations
        cut = self.bevel or self.radius
        shoulder = [(0.0, 0.0)] if not cut else [(0.0, cut), (cut, 0.0)] if self.bevel else _round_outside(self.radius)
        fore = [(self.height - down, x0 + across) for across, down in shoulder]
        aft = [(self.height - down, x1 - across) for across, down in reversed(shoulder)]
        return [(bottom, x0), *fore, *aft, (bottom, x1)]


@dataclass(frozen=True)
class Block(Part):
    """A free block, or a step of the floor: stations x breadths x heights."""

    stations: Span
    breadths: Span
    heights: Span

    def solid(self, lined: Lined) -> Solid:
        """Return the block; one that stands on the floor runs on below it."""
        bottom = lined.around[0][2] if self.heights[0] <= CONTACT else self.heights[0]
        (x0, x1), (y0, y1) = self.stations, self.breadths
        return Solid.box((x0, y0, bottom), (x1, y1, self.heights[1]), self.name)


@dataclass(frozen=True)
class Bulkhead(Part):
    """The front limit: a partition, or seat backs; all ahead of a plane from ``station`` at its foot to ``top_station``."""

    station: float
    top_station: float
    heights: Span

    def solid(self, lined: Lined) -> Solid:
        """Return everything ahead of it within its heights."""
        low, high = lined.around
        z0, z1 = self.heights
        foot = low[2] if z0 <= CONTACT else z0
        lean = (self.top_station - self.station) / (z1 - z0)
        ahead = min(low[0], self.station, self.top_station) - _BEYOND
        at_foot = self.station + lean * (foot - z0)
        outline = [(foot, ahead), (z1, ahead), (z1, self.top_station), (foot, at_foot)]
        return Solid.prism(outline, low[1], high[1], self.name, axis=1)


@dataclass(frozen=True, eq=False)
class MeshMember(Part):
    """A member from a closed mesh that is already in the van's frame."""

    mesh: Solid

    def solid(self, lined: Lined) -> Solid:
        """Return the mesh as it is."""
        del lined
        return self.mesh


@dataclass(frozen=True)
class Recess(Part):
    """A pocket in a wall: a rounded window, ``depth`` behind the lined skin and following it.

    ``bevel`` is how much wider the opening is at the face than at full depth, on each edge. Its beveled sides are planes
    about the plane through the window's four corners on the lined wall.
    """

    side: Side
    stations: Span
    heights: Span
    depth: float
    corner: float
    bevel: float

    @property
    def gives(self) -> bool:
        """A recess gives room."""
        return True

    def solid(self, lined: Lined) -> Solid:
        """Return the pocket with a little of the interior before it."""
        return self._window(lined) & lined.moved_in(-self.depth, 0.0)

    def _window(self, lined: Lined) -> Solid:
        sign = 1.0 if self.side == "right" else -1.0
        corners = [(x, z) for x in self.stations for z in self.heights]
        plates = [(self.stations, self.heights), *(((x, x), (z, z)) for x, z in corners)]
        nearest, *at_corners = lined.half_breadths(self.side, plates)
        start, plane = nearest - _INSIDE, _plane_through(corners, at_corners)
        deep = self.depth * hypot(1.0, float(plane[1]))

        def ring(grow: float, behind: float | None = None) -> Floats:
            outline = self._outline(grow)
            breadth = np.full(len(outline), start) if behind is None else outline @ plane[:2] + plane[2] + behind
            return np.column_stack([outline[:, 0], sign * breadth, outline[:, 1]])

        straight = Solid.hull(np.concatenate([ring(0.0), ring(0.0, deep + _BEYOND)]), self.name)
        if not self.bevel:
            return straight
        flared = [ring(self.bevel), ring(self.bevel, 0.0), ring(-0.25 * self.bevel, 1.25 * deep)]
        return straight | Solid.hull(np.concatenate(flared), self.name)

    def _outline(self, grow: float = 0.0) -> Floats:
        """Return the window grown on each edge, (k, 2) of station and height; its corners lie inside their circles."""
        (x0, x1), (z0, z1) = self.stations, self.heights
        radius = min(self.corner, (x1 - x0) / 2, (z1 - z0) / 2)
        arc = _arc_inside(radius)
        corners = [((x1, z1), (1, 1)), ((x0, z1), (-1, 1)), ((x0, z0), (-1, -1)), ((x1, z0), (1, -1))]
        points = [
            (x + sx * (across - radius + grow), z + sz * (up - radius + grow))
            for (x, z), (sx, sz) in corners
            for across, up in arc
        ]
        return np.array(points)


@dataclass(frozen=True)
class Well(Part):
    """A pocket in the floor: stations x breadths, ``depth`` below the finished floor, wherever its file counts from."""

    stations: Span
    breadths: Span
    depth: float

    @property
    def gives(self) -> bool:
        """A well gives room."""
        return True

    @property
    def bears(self) -> bool:
        """A module may stand in it, on its bottom."""
        return True

    def solid(self, lined: Lined) -> Solid:
        """Return the pocket with a little of the interior above it."""
        del lined
        (x0, x1), (y0, y1) = self.stations, self.breadths
        return Solid.box((x0, y0, -self.depth), (x1, y1, _INSIDE), self.name)


@dataclass(frozen=True)
class Doorway:
    """A way out: its clear opening through a side (``span`` in stations) or the rear (``span`` in breadths)."""

    name: str
    side: Literal["left", "right", "rear"]
    span: Span
    heights: Span

    def passage(self, lined: Lined) -> Solid:
        """Return the opening from just inside the skin to a meter outside the body; a sill below the floor begins at the skin."""
        opening = self._opening(lined, max(self.heights[0], 0.0), is_outside=False)
        if self.heights[0] >= 0:
            return opening
        return unite([opening, self._opening(lined, self.heights[0], is_outside=True)]).named(self.name)

    def _opening(self, lined: Lined, sill: float, *, is_outside: bool) -> Solid:
        """Return the opening from a sill up, from just inside the skin, or from the outermost of the body."""
        low, high = lined.bare.bounds
        (a, b), top = self.span, self.heights[1]
        if self.side == "rear":
            return Solid.box(
                (high[0] - (0 if is_outside else _INSIDE), a, sill), (high[0] + _PASSAGE, b, top), self.name
            )
        sign, skin = (1.0, float(high[1])) if self.side == "right" else (-1.0, float(-low[1]))
        inside = skin if is_outside else lined.half_breadth(self.side, self.span, self.heights) - _INSIDE
        near, far = sorted((sign * inside, sign * (skin + _PASSAGE)))
        return Solid.box((a, near, sill), (b, far, top), self.name)

    def holds(self, point: Floats) -> bool:
        """Whether a (3,) point on the skin lies within the clear opening."""
        along = point[1] if self.side == "rear" else point[0]
        beside = self.side == "rear" or (point[1] > 0) == (self.side == "right")
        return bool(beside and self.span[0] < along < self.span[1] and self.heights[0] < point[2] < self.heights[1])


def _plane_through(corners: list[Span], breadths: list[float]) -> Floats:
    """Return (a, b, c) of the half-breadth ``a x + b z + c`` that four corners (x, z) of a window have, least squares."""
    system = np.column_stack([np.array(corners), np.ones(4)])
    plane: Floats = np.linalg.lstsq(system, np.array(breadths), rcond=None)[0]
    return plane


def _arc_steps(radius: float, deviation: float) -> int:
    """Return into how many chords a quarter circle falls so that none leaves it by more than the deviation."""
    return max(1, ceil(pi / 2 / (2 * acos(1 - min(deviation / radius, 0.5)))))


def _arc_inside(radius: float) -> Floats:
    """Return points (k, 2) on a quarter circle about (0, 0) from (radius, 0) to (0, radius), chords inside the circle."""
    if radius <= 0:
        return np.zeros((1, 2))
    angle = np.linspace(0, pi / 2, _arc_steps(radius, ARC) + 1)
    return radius * np.column_stack([np.cos(angle), np.sin(angle)])


def _round_outside(radius: float) -> list[tuple[float, float]]:
    """Return a rounded shoulder as (across, down) from its corner, tangents outside the circle, from wall to top."""
    steps = _arc_steps(radius, ARC)
    half = pi / 4 / steps
    angle = (2 * np.arange(steps) + 1) * half
    reach = radius / cos(half)
    points = [(0.0, radius), *((radius - reach * np.cos(a), radius - reach * np.sin(a)) for a in angle), (radius, 0.0)]
    return [(float(a), float(d)) for a, d in points]
