"""A free space to move in: how far a body travels there before it touches, what it already fouls, how it gets clear."""

from __future__ import annotations

from functools import cached_property
from itertools import accumulate
from typing import TYPE_CHECKING, Final

import numpy as np

from tumblehome.records import dataclass
from tumblehome.sweep import Obstacles, Prism, Stops
from tumblehome.tolerances import CONTACT

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterable, Mapping, Sequence

    from numpy.typing import ArrayLike, NDArray

    from tumblehome.body.shell import Shell
    from tumblehome.solids import Surface

    Floats = NDArray[np.float64]

__all__ = ["DIRECTIONS", "Journey", "Reach", "Room", "clearing_moves", "room_of"]

DIRECTIONS: Final[dict[str, tuple[int, float]]] = {
    "front": (0, -1.0),
    "rear": (0, 1.0),
    "left": (1, -1.0),
    "right": (1, 1.0),
    "down": (2, -1.0),
    "up": (2, 1.0),
}
"""The six directions: the axis and the sense along it."""


@dataclass(frozen=True, eq=False)
class Reach:
    """How far a body can travel in one direction before it touches.

    Attributes
    ----------
    distance : float, mm
    part : name of what stops it
    at : (3,) float, mm, the point where it touches, on the part
    """

    distance: float
    part: str
    at: Floats


@dataclass(frozen=True, eq=False)
class Room:
    """A free space to move in: the inside of a closed surface, less what stands in it.

    Attributes
    ----------
    surface : looks outward from the free space
    rename : says by which name a part is told at a point
    layers : what the surface consists of, in order, where that is asked by others too: what a layer knows is not worked out
        again. The first is what is around the room, the last what stands in it; they number their parts as the surface does
    absent : the parts of the surface that are not there
    """

    surface: Surface
    rename: Callable[[str, Floats], str] = lambda name, _: name
    layers: tuple[Obstacles, ...] = ()
    absent: frozenset[int] = frozenset()

    def journey(
        self, body: Sequence[Prism], axis: int, *, ignoring: Collection[str] = (), inside: bool = False
    ) -> Journey:
        """Return everything a body meets when it travels along an axis, leaving some parts out of account.

        ``inside`` leaves out what is around the room, too, where the two are told apart.
        """
        layers = self._layers[-1:] if inside else self._layers
        each = zip(*(layer.stops_of(body, axis) for _, layer in layers), strict=True)
        starts = [start for start, _ in layers]
        met = Stops.joined([s.counted_from(start) for some in each for start, s in zip(starts, some, strict=True)])
        return Journey(self, tuple(body), axis, met.where(self._counted(met, ignoring)), frozenset(ignoring))

    def prepare(
        self,
        journeys: Iterable[tuple[Sequence[Prism], int]],
        centers: Iterable[tuple[Prism, Collection[str]]] = (),
        *,
        inside: bool = False,
    ) -> None:
        """Work out many things in one go; asking for one then costs little.

        Parameters
        ----------
        journeys : each of a body along an axis
        centers : prisms of which it will be asked whether their centers are free, with the parts left out of account
        inside : whether what is around the room is left out of the journeys, too
        """
        asked = [(prism, axis) for body, axis in journeys for prism in body]
        for _, layer in self._layers[-1:] if inside else self._layers:
            layer.prepare(asked)
        new = list(dict.fromkeys((prism, frozenset(names)) for prism, names in centers))
        if new:
            free = self.holding([prism.center for prism, _ in new], [names for _, names in new])
            self._centers.update(zip(new, free.tolist(), strict=True))

    @cached_property
    def _centers(self) -> dict[tuple[Prism, frozenset[str]], bool]:
        return {}

    @cached_property
    def _layers(self) -> tuple[tuple[int, Obstacles], ...]:
        """What its surface consists of, each with the number of its first triangle."""
        layers = self.layers or (Obstacles(self.surface),)
        starts = accumulate((len(layer.surface) for layer in layers), initial=0)
        return tuple(zip(starts, layers, strict=False))

    @cached_property
    def _parts(self) -> dict[str, list[int]]:
        """The numbers of the parts that bear each name."""
        parts: dict[str, list[int]] = {}
        for i, name in enumerate(self.surface.names):
            parts.setdefault(name, []).append(i)
        return parts

    @cached_property
    def _present(self) -> NDArray[np.bool_]:
        present = np.ones(len(self.surface.names), dtype=bool)
        present[list(self.absent)] = False
        return present

    def _are_counted(self, ignoring: Collection[str]) -> NDArray[np.bool_]:
        """Return for each of its parts whether that is there and not left out of account."""
        counted = self._present.copy()
        counted[[i for name in ignoring for i in self._parts.get(name, ())]] = False
        return counted

    def _counted(self, met: Stops, ignoring: Collection[str]) -> NDArray[np.bool_]:
        kept: NDArray[np.bool_] = self._are_counted(ignoring)[self.surface.part[met.triangle]]
        return kept

    def holding(self, points: ArrayLike, ignoring: Sequence[Collection[str]]) -> NDArray[np.bool_]:
        """Return which of (w, 3) points are free, for each leaving some parts out of account, (w,)."""
        at = np.asarray(points, dtype=float).reshape(-1, 3)
        counted = np.array([self._are_counted(names) for names in ignoring], dtype=bool)
        counted = counted.reshape(len(at), len(self.surface.names))
        wound = sum(layer.windings(at, counted) for _, layer in self._layers)
        return np.equal(wound, 1)

    def holds(self, point: ArrayLike, *, ignoring: Collection[str] = ()) -> bool:
        """Whether a (3,) point is free: inside the surface and inside nothing that stands in it."""
        return bool(self.holding(point, [ignoring])[0])

    def holds_center(self, prism: Prism, *, ignoring: Collection[str] = ()) -> bool:
        """Whether the center of a prism is free."""
        asked = prism, frozenset(ignoring)
        if asked not in self._centers:
            self.prepare((), [asked])
        return self._centers[asked]

    def name(self, triangle: int, at: Floats) -> str:
        """Return the name of what a triangle belongs to, at a point of it."""
        return self.rename(self.surface.names[self.surface.part[triangle]], at)

    def headroom(self, body: Sequence[Prism], *, ignoring: Collection[str] = ()) -> Reach | None:
        """Return how high above its foot a body could rise in place before it touches, or None if its foot fouls.

        The least over its prisms, each grown upward from its own bottom; reported above the body's lowest foot.
        """
        lowest = min(prism.bottom for prism in body)
        found: list[Reach] = []
        for prism in body:
            reached = self.journey((prism,), 2, ignoring=ignoring).headroom()
            if reached is None:
                return None
            found.append(Reach(reached.distance + prism.bottom - lowest, reached.part, reached.at))
        return min(found, key=lambda reached: reached.distance)


@dataclass(frozen=True, eq=False)
class Journey:
    """A body on an axis, and the stretch of travel in which it meets each triangle in its way."""

    room: Room
    body: tuple[Prism, ...]
    axis: int
    met: Stops
    ignoring: frozenset[str]

    def among(self, names: Collection[str]) -> Journey:
        """Return the journey with only some parts in its way."""
        kept = self.counting(names)[self.room.surface.part[self.met.triangle]]
        return Journey(self.room, self.body, self.axis, self.met.where(kept), self.ignoring)

    def counting(self, names: Collection[str]) -> NDArray[np.bool_]:
        """Return for each name of the room's surface whether it is one of some; only those in its way are looked at."""
        surface = self.room.surface
        counted = np.zeros(len(surface.names), dtype=bool)
        counted[[part for part in set(surface.part[self.met.triangle].tolist()) if surface.names[part] in names]] = True
        return counted

    @cached_property
    def fouled(self) -> list[tuple[str, Floats]]:
        """What the body fouls where it is: each name once, deepest along this axis first, with a point of it in the body."""
        now = np.flatnonzero(self.met.blocking_now)
        depth = np.minimum(-self.met.low[now], self.met.high[now])
        deepest = self.met.triangle[now[np.argsort(-depth)]]
        first: dict[int, int] = {}
        for triangle, part in zip(deepest.tolist(), self.room.surface.part[deepest].tolist(), strict=True):
            first.setdefault(part, triangle)
        found: dict[str, Floats] = {}
        for triangle in first.values():
            at = self._place(triangle)
            found.setdefault(self.room.name(triangle, at), at)
        return list(found.items())

    def _place(self, triangle: int) -> Floats:
        """Return the middle of what lies in the body of a triangle, (3,)."""
        corners = self.room.surface.triangles[triangle]
        pieces = (piece for prism in self.body if len(piece := prism.piece_of(corners)))
        middle: Floats = next(pieces, corners).mean(axis=0)
        return middle

    def reach(
        self, sense: float, among: NDArray[np.bool_] | None = None, past: Callable[[Reach], bool] = lambda _: False
    ) -> Reach | None:
        """Return how far a free body travels along the axis (sense 1) or against it (-1); None if nothing stops it.

        ``among`` says for each name of the room's surface whether it counts, ``past`` of a stop whether it is none: the part
        that it belongs to is then left out of account.
        """
        distance, at = (self.met.low, self.met.at_low) if sense > 0 else (-self.met.high, self.met.at_high)
        ahead, part = np.flatnonzero(distance >= -CONTACT), self.room.surface.part[self.met.triangle]
        if among is not None:
            ahead = ahead[among[part[ahead]]]
        while len(ahead):
            first = int(ahead[distance[ahead].argmin()])
            name = self.room.name(int(self.met.triangle[first]), at[first])
            reached = Reach(max(0.0, float(distance[first])), name, at[first])
            if not past(reached):
                return reached
            ahead = ahead[part[ahead] != part[first]]
        return None

    def headroom(self) -> Reach | None:
        """Return how high above its foot a body of one prism on its way up could rise in place, or None if its foot fouls."""
        (prism,) = self.body
        rise = self.met.low + (prism.top - prism.bottom)  # above its foot, where its top begins to meet something
        above = np.flatnonzero(rise > CONTACT)
        if ((rise <= CONTACT) & (self.met.high > CONTACT)).any() or not len(above):
            return None
        first = int(above[rise[above].argmin()])
        if not self.room.holds(np.append(prism.center[:2], prism.bottom + rise[first] / 2), ignoring=self.ignoring):
            return None
        at = self.met.at_low[first]
        return Reach(float(rise[first]), self.room.name(int(self.met.triangle[first]), at), at)

    def clearing_move(self, sense: float) -> float | None:
        """Return the shortest travel along the axis (sense 1) or against it (-1) after which the body is free, or None."""
        return clearing_moves([(self, sense)])[0]


def clearing_moves(asked: Sequence[tuple[Journey, float]]) -> list[float | None]:
    """Return the shortest travel after which a body is free, or None: for each journey of it, along its axis (1) or against (-1).

    Exact: the union of all stretches in which something is met, and in each gap between them a proof that the body then
    stands inside the room and not inside a wall.
    """
    found: list[float | None] = [None] * len(asked)
    met = [_stretches(journey.met, sense) for journey, sense in asked]
    tried = dict.fromkeys(range(len(asked)), 0.0)
    while tried:
        tried = {i: _past(*met[i], at) for i, at in tried.items()}
        free = _are_free({i: (asked[i][0], asked[i][1] * at) for i, at in tried.items()})
        found = [tried[i] if free.get(i) else at for i, at in enumerate(found)]
        later = {i: _next(*met[i], at) for i, at in tried.items() if not free[i]}
        tried = {i: at for i, at in later.items() if at is not None}
    return found


def _are_free(asked: Mapping[int, tuple[Journey, float]]) -> dict[int, bool]:
    """Return whether a body is free after the travel of each of its journeys, once none of its faces is met."""
    journey = next(journey for journey, _ in asked.values())
    points = np.concatenate([_centers_after(*each) for each in asked.values()])
    free = journey.room.holding(points, [journey.ignoring] * len(points)).reshape(len(asked), -1)
    return {i: all(each) for i, each in zip(asked, free.tolist(), strict=True)}


def _centers_after(journey: Journey, travel: float) -> Floats:
    """Return the centers of a body's prisms, (k, 3), after some travel along its axis."""
    centers = np.array([prism.center for prism in journey.body])
    centers[:, journey.axis] += travel
    return centers


def _stretches(met: Stops, sense: float) -> tuple[Floats, Floats]:
    """Return the open stretches of travel in which something is met, rising by where they begin, (n,) each."""
    low, high = (met.low, met.high) if sense > 0 else (-met.high, -met.low)
    order = np.argsort(low)
    return low[order], high[order]


def _past(low: Floats, high: Floats, at: float) -> float:
    """Return the first travel from ``at`` on that lies in none of the open stretches (low rising)."""
    while True:
        inside = (low < at - CONTACT) & (high > at + CONTACT)
        if not inside.any():
            return at
        at = float(high[inside].max())


def _next(low: Floats, high: Floats, at: float) -> float | None:
    """Return a travel within the first stretch that begins at ``at`` or later, or None."""
    later = low[(low >= at - CONTACT) & (high > at + CONTACT)]
    return float(later.min()) + 2 * CONTACT if len(later) else None


def room_of(shell: Shell) -> Room:
    """Return a shell's void as a room to move in."""
    return Room(shell.void.surface, shell.name_at, (shell.obstacles,))
