"""How a module stands: everything that its checks ask of the room it is in, asked once."""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from tumblehome.checks.finding import Finding
from tumblehome.records import dataclass
from tumblehome.room import DIRECTIONS, clearing_moves
from tumblehome.sweep import Prism, Stops
from tumblehome.tolerances import CONTACT

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Sequence

    from numpy.typing import NDArray

    from tumblehome.fitout import Layout, Module
    from tumblehome.room import Journey, Reach, Room

    Floats = NDArray[np.float64]

__all__ = ["Standing", "holders", "nearest_gaps"]

_SAME_CONTACT = 1e-3
"""A module that was pushed until it touched is stopped by that same contact within this distance in other directions, mm:
on a wall that tapers 1 in 1000 a contact exact to 1e-6 stands that far off."""

_HAIR = 1e-4
"""Thickness of a plate that has none, mm."""


@dataclass(frozen=True, eq=False)
class Standing:
    """A module in its room, with its journeys along the three axes."""

    layout: Layout
    module: Module

    @property
    def room(self) -> Room:
        """The room it stands in."""
        return self.layout.room_of(self.module)

    @cached_property
    def _journeys(self) -> tuple[Journey, ...]:
        own, body = {self.module.name}, self.module.body
        self.room.prepare((body, axis) for axis in range(3))
        return tuple(self.room.journey(body, axis, ignoring=own) for axis in range(3))

    @cached_property
    def around(self) -> tuple[Journey, ...]:
        """The journeys of all of it among what stands beside it; a scribed module's back is left to the wall."""
        module = self.module
        if module.kind == "rigid":
            return self._journeys
        own = {module.name}
        return tuple(self.room.journey(module.hull, axis, ignoring=own, inside=True) for axis in range(3))

    @cached_property
    def _rebuilt(self) -> tuple[Journey, ...]:
        """The journeys of it as it would be built elsewhere.

        A scribed module is filled up from its face to the wall wherever it stands: behind its face nothing else has room, and
        across the van it is its face that moves.
        """
        if self.module.kind == "rigid":
            return self._journeys
        own, filled = {self.module.name}, (self._filled,)
        self.room.prepare([(filled, axis) for axis in range(3)], inside=True)
        behind = tuple(self.room.journey(filled, axis, ignoring=own, inside=True) for axis in range(3))
        return tuple(
            replace(face, met=Stops.joined([face.met, self._lasting(back.met) if axis == 1 else back.met]))
            for axis, (face, back) in enumerate(zip(self._journeys, behind, strict=True))
        )

    @property
    def below(self) -> Reach | None:
        """What is next below it, and how far: of a scribed module below its face, or if that stands on nothing below all of it."""
        face = self._journeys[2].reach(-1.0)
        if self.module.kind == "rigid" or (face and face.distance <= CONTACT):
            return face
        return self.room.journey((self._filled,), 2, ignoring={self.module.name}).reach(-1.0)

    @cached_property
    def _filled(self) -> Prism:
        """All from the face of a scribed module to beyond its wall."""
        low, high = (corner.copy() for corner in self.module.body[0].bounds)
        ends = self.layout.shell.bounds
        low[1], high[1] = (ends[0][1], high[1]) if self.module.against == "left" else (low[1], ends[1][1])
        return Prism.box(low, high)

    def _lasting(self, met: Stops) -> Stops:
        """Return what a scribed module meets across the van: once its face has passed something, that is behind it for good."""
        for_good = np.full(len(met.low), np.inf)
        return replace(met, high=for_good) if self.module.against == "left" else replace(met, low=-for_good)

    @cached_property
    def _astray(self) -> list[Floats]:
        """The middles of those of its prisms that are not inside its room."""
        own = {self.module.name}
        return [prism.center for prism in self.module.body if not self.room.holds_center(prism, ignoring=own)]

    @cached_property
    def fouled(self) -> dict[str, tuple[float, float, float]]:
        """What it fouls, each name once, with the place; what holds all of it, so that no face crosses it, too."""
        own = {self.module.name}
        places = [foul for journey in self._journeys for foul in journey.fouled]
        for center in self._astray:
            places += [(name, center) for name in holders(self.layout, center, own, self.module.parent)]
        found: dict[str, tuple[float, float, float]] = {}
        for name, at in places:
            found.setdefault(name, (float(at[0]), float(at[1]), float(at[2])))
        return found

    @property
    def is_inside(self) -> bool:
        """Whether all of it is inside its room; only meaningful when it fouls nothing."""
        return not self._astray

    def gaps(self, names: Collection[str], leaving_out: Collection[str] = ()) -> list[tuple[str, Reach]]:
        """Return how far it is to some parts in each direction, nearest first, leaving some directions out.

        The part that it was pushed into, which stops it at once in other directions too, is passed over in those.
        """
        return nearest_gaps(self._journeys, names, leaving_out, self._leans_on)

    @cached_property
    def _pushed_to(self) -> Reach | None:
        if self.module.against is None:
            return None
        axis, sense = DIRECTIONS[self.module.against]
        return self._journeys[axis].reach(sense)

    def _leans_on(self, reached: Reach) -> bool:
        """Whether a contact is the one it was pushed into: that stops it in other directions too, and is no fault."""
        touched = self._pushed_to
        if touched is None or max(reached.distance, touched.distance) > _SAME_CONTACT:
            return False
        return reached.part == touched.part or bool(np.linalg.norm(reached.at - touched.at) <= _SAME_CONTACT)

    @cached_property
    def moves(self) -> dict[str, float | None]:
        """The shortest move in each direction that clears it of everything, mm."""
        found = clearing_moves([(self._rebuilt[axis], sense) for axis, sense in DIRECTIONS.values()])
        return dict(zip(DIRECTIONS, found, strict=True))

    @cached_property
    def greatest_height(self) -> float | None:
        """The greatest height at which it would clear where it stands, mm, if height is what it has too much of."""
        module = self.module
        is_rigid = module.kind == "rigid"
        above = self.room.headroom(module.body, ignoring={module.name}) if is_rigid else self._rebuilt[2].headroom()
        if above is None or above.distance <= CONTACT or above.distance >= module.high - CONTACT:
            return None
        return above.distance

    @cached_property
    def greatest_across(self) -> tuple[str, float] | None:
        """Which of its sizes in plan is too much for the run that is free there, and that run, mm: "wide" or "deep".

        Only of a box along the van or across it that no move along that line clears.
        """
        body, frame = self.module.body, self.module.frame
        if len(body) > 1 or self.module.kind != "rigid" or abs(frame.right).max() < 1 - _SAME_CONTACT:
            return None
        for axis in (axis for axis in range(2) if self._is_barred(axis)):
            low, high = (corner.copy() for corner in body[0].bounds)
            size = float(high[axis] - low[axis])
            low[axis] = (low[axis] + high[axis] - _HAIR) / 2
            high[axis] = low[axis] + _HAIR
            journey = self.room.journey((Prism.box(low, high),), axis, ignoring={self.module.name})
            ends = [reached.distance for sense in (-1.0, 1.0) if (reached := journey.reach(sense))]
            if len(ends) == 2 and not journey.fouled and sum(ends) + _HAIR < size - CONTACT:
                return "wide" if abs(frame.right[axis]) > 1 - _SAME_CONTACT else "deep", sum(ends) + _HAIR
        return None

    def _is_barred(self, axis: int) -> bool:
        """Whether no move along an axis clears it."""
        return all(self.moves[word] is None for word, (own, _) in DIRECTIONS.items() if own == axis)

    @property
    def _sensible(self) -> tuple[str, ...]:
        """The directions in which a builder could move it: what hangs may also go up or down."""
        hangs = self.module.support is None and self.module.parent is None
        return tuple(word for word, (axis, _) in DIRECTIONS.items() if axis < 2 or hangs)

    def foul(self, question: str, cause: str, where: tuple[float, float, float], volume: float) -> Finding:
        """Return the finding that it fouls something, with every way to clear it."""
        ways = [distance for distance in self.moves.values() if distance is not None]
        return Finding(
            self.module.name, question, "fouls", -min(ways) if ways else None, where=where, cause=cause, volume=volume,
            tolerance=self.layout.shell.tolerance_of([cause]), moves=self.moves, sensible_moves=self._sensible,
            greatest_height=self.greatest_height, greatest_across=self.greatest_across,
        )  # fmt: skip


def holders(layout: Layout, point: Floats, own: Collection[str], parent: str | None = None) -> list[str]:
    """Return the names of what a (3,) point that is not free lies in: modules in that parent, or else members; the parent."""
    solids = {m.name: m.solid for m in layout.modules if m.parent == parent and m.name not in own}
    if parent is None:
        solids |= {part.name: layout.shell.solid_of(part.name) for part in layout.shell.parts if not part.gives}
    found = [name for name, solid in solids.items() if round(solid.surface.winding(point)) == 1]
    return found or ([parent] if parent else [])


def nearest_gaps(
    journeys: Sequence[Journey],
    names: Collection[str],
    leaving_out: Collection[str] = (),
    past: Callable[[Reach], bool] = lambda _: False,
) -> list[tuple[str, Reach]]:
    """Return how far it is to some parts in each direction, nearest first, leaving some directions out, and some stops.

    Of two that are equally far but for rounding, as at both walls of an even van, the first direction comes first.
    """
    found = []
    among = [journey.counting(names) for journey in journeys]
    for word, (axis, sense) in DIRECTIONS.items():
        reached = None if word in leaving_out else journeys[axis].reach(sense, among[axis], past)
        if reached is not None:
            found.append((word, reached))
    return sorted(found, key=lambda gap: round(gap[1].distance / CONTACT))
