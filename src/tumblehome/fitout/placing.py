"""Where a module stands: from what a builder says of it to its place in the van."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from tumblehome.errors import LayoutError
from tumblehome.fitout.module import Frame, Module, convex_pieces, solid_of
from tumblehome.lengths import told
from tumblehome.records import dataclass
from tumblehome.room import DIRECTIONS, Room

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from tumblehome.body.shell import Shell
    from tumblehome.fitout.modulefields import ModuleFields
    from tumblehome.room import Journey
    from tumblehome.solids import Solid
    from tumblehome.sweep import Prism

    Floats = NDArray[np.float64]

__all__ = ["Builder"]

_ANGLE = {"rear": 0.0, "right": 90.0, "front": 180.0, "left": 270.0}
_OPPOSITE = {"left": "right", "right": "left", "front": "rear", "rear": "front"}


@dataclass(frozen=True, eq=False)
class _Shape:
    """Convex outlines (k, 2) of (u, v), each with its least and greatest height above the foot."""

    pieces: tuple[tuple[Floats, float, float], ...]

    @classmethod
    def of(cls, fields: ModuleFields) -> _Shape:
        if fields.boxes is not None:
            return cls(tuple((_rectangle(b.left, b.fore, b.wide, b.deep), b.up, b.up + b.high) for b in fields.boxes))
        high = fields.high or 0.0
        if fields.outline is not None:
            return cls(tuple((piece, 0.0, high) for piece in convex_pieces(fields.outline)))
        return cls(((_rectangle(0.0, 0.0, fields.wide or 0.0, fields.deep or 0.0), 0.0, high),))

    @property
    def size(self) -> tuple[float, float, float]:
        plan = np.concatenate([outline for outline, _, _ in self.pieces])
        wide, deep = plan.max(axis=0)
        return float(wide), float(deep), max(high for _, _, high in self.pieces)

    def prisms(self, frame: Frame) -> tuple[Prism, ...]:
        return tuple(frame.prism(outline, low, high) for outline, low, high in self.pieces)


def _rectangle(left: float, fore: float, wide: float, deep: float) -> Floats:
    right, back = left + wide, fore + deep
    return np.array([(left, fore), (right, fore), (right, back), (left, back)])


@dataclass(frozen=True, eq=False)
class Builder:
    """Puts modules in their places, one after another."""

    shell: Shell
    panel: float
    room: Room
    placed: Mapping[str, Module]

    def place(self, fields: ModuleFields) -> Module:
        """Return the module in its place, without its zones; raises LayoutError where it cannot stand as stated."""
        return self._scribed(fields) if fields.kind == "scribed" else self._rigid(fields)

    def _rigid(self, fields: ModuleFields) -> Module:
        shape = _Shape.of(fields)
        parent = self._parent(fields)
        facing = fields.faces or _OPPOSITE.get(fields.against or "", "rear")
        frame = self._located(Frame.facing(_ANGLE[facing] + fields.yaw), shape, fields, parent)
        body = shape.prisms(frame)
        self._refuse_larger_than_van(shape)
        return self._module(fields, (body, body), solid_of(body, fields.name), frame, shape.size)

    def _module(
        self,
        fields: ModuleFields,
        shapes: tuple[tuple[Prism, ...], tuple[Prism, ...]],
        solid: Solid,
        frame: Frame,
        size: tuple[float, float, float],
    ) -> Module:
        """Return the module with its body and hull, its solid, and its width, depth and height."""
        support = None if fields.hung is not None or fields.in_ else (fields.on or "floor")
        return Module(
            fields.name, fields.kind, *shapes, solid, (), frame, size[0], size[1], size[2],
            panel=fields.panel or self.panel, against=fields.against, gap=fields.gap,
            support=support, parent=fields.in_, mass=fields.mass,
            contents=fields.contents, holds=fields.holds, finish=fields.finish,
            use=fields.used(size[0], size[2]), fixed=fields.fixed, lies_on=tuple(fields.lies_on),
        )  # fmt: skip

    def _refuse_larger_than_van(self, shape: _Shape) -> None:
        low, high = self.shell.bounds
        room = high - low
        wide, deep, tall = shape.size
        if tall > room[2] or min(wide, deep) > max(room[:2]) or max(wide, deep) > float(np.hypot(*room[:2])):
            words = "measures {} wide, {} deep and {} high, larger than the van's {} long, {} wide and {} high"
            raise LayoutError(told(words, wide, deep, tall, *map(float, room)))

    def _parent(self, fields: ModuleFields) -> Module | None:
        if fields.in_ is None:
            return None
        parent = self.placed[fields.in_]
        if parent.inner is None:
            raise LayoutError(f"'{parent.name}' has no inside: it is thinner than its panels")
        return parent

    def _foot(self, fields: ModuleFields, parent: Module | None) -> float:
        if fields.hung is not None:
            return fields.hung
        if parent is not None and parent.inner is not None:
            return float(parent.inner.bounds[0][2])
        if fields.on is None or fields.on == "floor":
            return 0.0
        if fields.on in self.placed:
            return float(self.placed[fields.on].bounds[1][2])
        (part,) = (part for part in self.shell.parts if part.name == fields.on)
        return float(self.shell.solid_of(part.name).bounds[0 if part.gives else 1][2])

    def _located(self, frame: Frame, shape: _Shape, fields: ModuleFields, parent: Module | None) -> Frame:
        """Return the frame moved to where the file wants the module."""
        corners = np.concatenate([prism.outline for prism in shape.prisms(frame)])
        low, high = corners.min(axis=0), corners.max(axis=0)
        room = self.room if parent is None or parent.inner is None else Room(parent.inner.surface)
        ends = self.shell.bounds if parent is None or parent.inner is None else parent.inner.bounds
        middle = (ends[0] + ends[1])[:2] / 2 - (low + high) / 2
        if parent is None:
            middle[1] = -(low[1] + high[1]) / 2
        x = middle[0] if fields.station is None else fields.station - low[0]
        y = middle[1] if fields.breadth is None else fields.breadth - low[1]
        frame = frame.moved((x, y, self._foot(fields, parent)))
        if fields.against is None:
            self._refuse_outside(shape.prisms(frame))
            return frame
        axis, sense = DIRECTIONS[fields.against]
        travel = np.zeros(3)
        pushed = _pushed_out if parent is None else _pushed_out_within
        travel[axis] = sense * (pushed(room, shape.prisms(frame), axis, sense) - fields.gap)
        frame = frame.moved(travel)
        self._refuse_outside(shape.prisms(frame))
        return frame

    def _refuse_outside(self, prisms: tuple[Prism, ...]) -> None:
        low, high = self.shell.bounds
        for prism in prisms:
            least, greatest = prism.bounds
            if (greatest <= low).any() or (least >= high).any():
                axis = int(np.flatnonzero((greatest <= low) | (least >= high))[0])
                at, ends = ((float(a[axis]), float(b[axis])) for a, b in ((least, greatest), (low, high)))
                words = "stands outside the van at {1} {0}; the interior has {1} {2}"
                raise LayoutError(told(words, at, ("stations", "breadths", "heights")[axis], ends))

    def _scribed(self, fields: ModuleFields) -> Module:
        side = "left" if fields.against == "left" else "right"
        sign = -1.0 if side == "left" else 1.0
        wide, high, panel = fields.wide or 0.0, fields.high or 0.0, fields.panel or self.panel
        start, foot = fields.station or 0.0, self._foot(fields, None)
        stations, heights = (start, start + wide), (foot, foot + high)
        wall = self.shell.lined.half_breadth("left" if side == "left" else "right", stations, heights)
        face = fields.face if fields.face is not None else wall - fields.gap - (fields.deep or 0.0)
        outer = float(max(abs(self.shell.bounds[0][1]), abs(self.shell.bounds[1][1])))
        if not 0 <= face < outer - panel:
            words = "its face would stand at half-breadth {}; it must lie between the centerline and {}, a panel before the wall"
            raise LayoutError(told(words, face, max(outer - panel, 0.0)))
        frame = Frame.facing(_ANGLE[_OPPOSITE[side]])
        corner = stations[1] if side == "left" else stations[0]
        frame = frame.moved((corner, sign * face, foot))
        envelope = frame.box((0.0, wide), (0.0, outer - face), (0.0, high))
        solid = self._behind_the_gap(envelope, sign * fields.gap, fields.name)
        if solid.is_empty:
            raise LayoutError("lies wholly outside the interior")
        least, most = solid.bounds
        deep = float(most[1] if sign > 0 else -least[1]) - face
        hull = frame.box((0.0, wide), (0.0, deep), (0.0, high))
        plate = frame.box((0.0, wide), (0.0, panel), (0.0, high))
        return self._module(fields, ((plate,), (hull,)), solid, frame, (wide, deep, high))

    def _behind_the_gap(self, envelope: Prism, gap: float, name: str) -> Solid:
        """Return what of an envelope is free and stays so when it moves outboard by the gap."""
        void = self.shell.void
        free = solid_of([envelope], name) & void
        return (free & void.moved((0.0, -gap, 0.0)) if gap else free).named(name)


def _pushed_out(room: Room, body: tuple[Prism, ...], axis: int, sense: float) -> float:
    """Return how far a body goes in one direction until it touches, leaving out of account what it fouls from the start."""
    ignoring: tuple[str, ...] = ()
    while True:
        journey = room.journey(body, axis, ignoring=ignoring)
        fouled = tuple(name for name in _true_names(journey) if name not in ignoring)
        if not fouled:
            break
        ignoring += fouled
    found = journey.reach(sense)
    return found.distance if found else 0.0


def _pushed_out_within(room: Room, body: tuple[Prism, ...], axis: int, sense: float) -> float:
    """Return how far a body goes inside of a module until it touches, back (negative) where it fouls from the start."""
    journey = room.journey(body, axis)
    if journey.fouled or not all(room.holds_center(prism) for prism in body):
        return -(journey.clearing_move(-sense) or 0.0)
    found = journey.reach(sense)
    return found.distance if found else 0.0


def _true_names(journey: Journey) -> set[str]:
    surface = journey.room.surface
    return {surface.names[surface.part[t]] for t in journey.met.triangle[journey.met.blocking_now]}
