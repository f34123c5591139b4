"""Where would a dragged module land: at the wall, at a neighbor, in a recess, on the floor?

Every place that it may land at is exact: it comes from the stretches of travel in which the module meets something, as all
reaches do, or from the ends of what it is aligned with. Walls, floor and roof hold it, however far beyond them it is
dragged; over its neighbors it may pass.
"""

from __future__ import annotations

from functools import cached_property
from itertools import permutations
from typing import TYPE_CHECKING, Final

import numpy as np

from tumblehome.lengths import format_length
from tumblehome.records import dataclass
from tumblehome.tolerances import CONTACT

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from tumblehome.fitout import Layout, Module
    from tumblehome.room import Journey, Room
    from tumblehome.sweep import Prism

    Floats = NDArray[np.float64]

__all__ = ["Snap", "snapped"]

_BESIDE: Final = 1000.0
"""How far off on the other axis something may be that a module is put in line with, mm."""

_FAINTER: Final = 2.0
"""So many times nearer something must be in line than touch to be chosen before it."""

_FACING: Final = 0.5
"""What a module is drawn to along an axis faces along it: the least part of its normal (60 degrees). A wall that tapers is no
end of a way along it, and a wall that leans nothing to stand on."""

_BEFORE: Final = 200.0
"""How far a module may stand before a recess that it is centered in, mm."""

_STEPS: Final = {"mm": 1.0, "in": 25.4 / 16}
"""What is dragged to no particular place lands on whole steps, mm."""

_ORDER: Final = (2, 0, 1)
"""The axes in turn: where it stands, then where along the wall, and how far out it is there."""

_MOST_TOLD: Final = 3
"""Of so many things at most it is told, while a module is dragged, that it is at them."""
_SIDES: Final = (("front", "rear"), ("left", "right"), ("down", "up"))


@dataclass(frozen=True)
class Snap:
    """Where a dragged module would land: the least corner of its bounds, mm, and at what, in words."""

    at: tuple[float, float, float]
    words: str


@dataclass(frozen=True)
class _Candidate:
    """A place that a module may be drawn to along an axis: how far, at what in words, whether it is free there, its weight."""

    far: float
    words: str
    free: bool = True
    weight: float = 1.0


def snapped(layout: Layout, name: str, at: tuple[float, float, float], within: float, units: str) -> Snap:
    """Return where a dragged module would land.

    It is drawn along each axis on which it was dragged, or is pushed against a wall, to the nearest of these places, to one
    where it is free before one where it is not: at a wall or member, less its gap; touching a neighbor; in line with one; in
    the middle of a recess or at its edge; up and down, on the floor or what it would stand on, or under what is above it.
    What is scribed to a wall stays at it: its face is drawn to where it
    was. Along an axis on which there is no such place, the module lands on the nearest whole millimeter or 1/16 in.

    Where the place that it is dragged to is not free of walls, members, floor and roof, it is put at the nearest place along
    one of those axes that is, or along each of them in turn, before anything else draws it: touching what it was dragged
    through, less its gap. One that was not free of them where it stood may be dragged out of them step by step, and is
    put back only from outside.

    Parameters
    ----------
    layout : Layout
    name : the module; what stands on it or in it goes along and is no neighbor
    at : (x, y, z) to which the least corner of its bounds is dragged, mm
    within : how far it may be drawn from there along each axis, mm
    units : "mm" or "in": in which the gap is told, and whose steps are taken

    Raises
    ------
    LayoutError
        For a module that is not there.
    """
    module = layout.module(name)
    low = module.bounds[0]
    drag = _Drag(layout, module, np.asarray(at, dtype=float) - low, within, units)
    drag.hold()
    words = {axis: drag.draw(axis) for axis in drag.axes}
    for axis in drag.hold():  # it is no longer where it was drawn to
        del words[axis]
    x, y, z = (float(place) for place in low + drag.by)
    return Snap((x, y, z), _told(list(dict.fromkeys(word for each in words.values() for word in each))))


def _told(words: list[str]) -> str:
    """Return at what a module is, in one line: of much at once only the first."""
    more = len(words) - _MOST_TOLD
    return "; ".join([*words[:_MOST_TOLD], *([f"and {more} more"] if more > 0 else [])])


class _Drag:
    """A module on its way."""

    def __init__(self, layout: Layout, module: Module, by: Floats, within: float, units: str) -> None:
        self._layout, self._module = layout, module
        self.by, self._to, self._within, self._units = by.copy(), by, within, units
        self._room: Room = layout.room_of(module)
        self._own = set(_with_all_upon(layout, module.name))
        kin = [other for other in layout.modules if other.parent == module.parent and other.name not in self._own]
        self._others = {other.name: other for other in kin}
        is_pushed = [module.kind == "rigid" and module.against in sides for sides in _SIDES]
        self.axes = [axis for axis in _ORDER if abs(by[axis]) > CONTACT or is_pushed[axis]]
        self._stopped: set[int] = set()
        self._bodies: dict[tuple[float, ...], list[Prism]] = {}

    def hold(self) -> list[int]:
        """Put the module back among the walls, where it was dragged through one; return the axes along which it moved."""
        if not self.axes or self._is_let(self.axes[0]):
            return []
        turns = permutations(self.axes) if len(self.axes) > 1 else ()
        places = [self._held(self.by, (axis,)) for axis in self.axes]
        places += [self._held(self._amid(), turn) for turn in turns]
        ways = [place - self.by for place in places if place is not None]
        way = min(ways, key=lambda each: float(abs(each).sum()), default=np.zeros(3))
        self.by = self.by + way
        moved: list[int] = np.flatnonzero(way).tolist()
        self._stopped |= {*moved}
        return moved

    def _amid(self) -> Floats:
        """Return the travel from which it is dragged along one axis after another: none, or to the middle between the walls."""
        parent, shell = self._module.parent, self._layout.shell
        room = (self._layout.module(parent).inner if parent else None) or shell.void
        middle = float(room.bounds[0][1] + room.bounds[1][1]) / 2 - float(self._module.center[1])
        return np.array([0.0, middle if 1 in self.axes else 0.0, 0.0])

    def _held(self, start: Floats, turn: Sequence[int]) -> Floats | None:
        """Return how far the module comes that is dragged along some axes in turn and held along each, or None."""
        come = start.copy()
        for axis in turn:
            come[axis] = self._to[axis]
            far = self._way_back(come, axis)
            if far is None:
                return None
            come[axis] += far
        return come

    def _is_let(self, axis: int, far: float = 0.0) -> bool:
        """Whether walls, floor and roof let the module go on so far; one that fouled them at first, if they are around it."""
        journey, moved = self._among_walls(self.by, axis), np.eye(3)[axis] * far
        is_around = all(self._is_inside(prism.center + moved) for prism in journey.body)
        return is_around and (_is_free(journey, far) or not self._was_free)

    @cached_property
    def _was_free(self) -> bool:
        return _is_free(self._among_walls(np.zeros(3), self.axes[0]), 0.0)

    def _way_back(self, by: Floats, axis: int) -> float | None:
        """Return how far along an axis the nearest place is at which the module is free of the walls and keeps its gap."""
        journey = self._among_walls(by, axis)
        found = {sense: far for sense in (1.0, -1.0) if (far := journey.clearing_move(sense)) is not None}
        if not found:
            return None
        sense = min(found, key=lambda each: found[each])
        if found[sense] == 0.0:
            return 0.0
        spaced = found[sense] + self._gap(_SIDES[axis][0 if sense > 0 else 1])
        return sense * (spaced if _is_free(journey, sense * spaced) else found[sense])

    def _among_walls(self, by: Floats, axis: int) -> Journey:
        return self._room.journey(self._body(by), axis, ignoring={*self._own, *self._others})

    def _body(self, by: Floats) -> list[Prism]:
        """Return the module's body after so much travel, the same one each time: what it meets is then known."""
        key = tuple(by.tolist())
        if key not in self._bodies:
            self._bodies[key] = [prism.moved(by) for prism in self._module.body]
        return self._bodies[key]

    def draw(self, axis: int) -> list[str]:
        """Move the module along an axis to the best place near by; return at what it is then."""
        if axis in self._stopped:
            self._stop_again(axis)
        near = [each for each in self._candidates(axis) if abs(each.far) <= self._within + CONTACT]
        if not near:
            if axis not in self._stopped:
                self._to_whole_step(axis)
            return []
        best = min(near, key=lambda each: (not each.free, abs(each.far) * each.weight))
        self.by[axis] += best.far
        return [each.words for each in near if abs(each.far - best.far) <= CONTACT and each.free == best.free]

    def _stop_again(self, axis: int) -> None:
        """Put it where it is stopped now, that it was drawn along the other axes."""
        come = self._held(self.by, (axis,))
        if come is not None:
            self.by = come

    def _to_whole_step(self, axis: int) -> None:
        if abs(self.by[axis]) > CONTACT:
            step, end = _STEPS[self._units], min(_ends_that_show(self._module, axis))
            place = float(self._module.bounds[end][axis])
            stepped = round((place + self.by[axis]) / step) * step - place
            if self._is_let(axis, stepped - self.by[axis]):
                self.by[axis] = stepped

    def _candidates(self, axis: int) -> Iterator[_Candidate]:
        is_scribed = self._module.kind == "scribed"
        journey = self._room.journey(self._body(self.by), axis, ignoring=self._own)
        if (
            is_scribed and axis == 1
        ):  # it is at its wall in any case; a small slip of the hand leaves its face where it is
            yield _Candidate(-float(self.by[1]), "its face stays", weight=_FAINTER)
        else:
            yield from self._at_walls(journey)
        if is_scribed:
            whole = [prism.moved(self.by) for prism in self._module.hull]
            journey = self._room.journey(whole, axis, ignoring=self._own, inside=True)
        yield from self._at_neighbors(journey)
        if axis < 2:
            yield from self._in_line(journey)
        if axis == 0:
            yield from self._in_recesses(journey)

    def _at_walls(self, journey: Journey) -> Iterator[_Candidate]:
        walls = journey.among([name for name in self._room.surface.names if name not in self._others])
        for far, side, triangle, at in _ends(walls, self._within + self._module.gap):
            gap = self._gap(side)
            far += gap if side in {"front", "left", "down"} else -gap  # noqa: PLW2901  (drawn back from what it touches)
            moved = np.zeros(3)
            moved[journey.axis] = far
            if all(self._is_inside(prism.center + moved) for prism in journey.body):
                yield _Candidate(far, self._told(self._room.name(triangle, at), side, gap), _is_free(journey, far))

    def _gap(self, side: str) -> float:
        """Return the gap that the module keeps at a side: at that it is pushed against, else at the left and right walls."""
        keeps = {self._module.against} if self._module.against else {"left", "right"}
        return self._module.gap if side in keeps else 0.0

    def _is_inside(self, point: Floats) -> bool:
        return self._room.holds(point, ignoring={*self._own, *self._others})

    def _told(self, name: str, side: str, gap: float) -> str:
        if name == self._module.parent:
            name = f"the inside of {name}"
        if side == "down":
            return f"on {name}"
        if side == "up":
            return f"under {name}"
        shown = format_length(gap, self._units) + (" mm" if self._units == "mm" else "")
        return f"against {name}" + (f", {shown} gap" if gap else "")

    def _at_neighbors(self, journey: Journey) -> Iterator[_Candidate]:
        words = {"down": "on", "up": "under"}
        for far, side, triangle, _ in _ends(journey.among(list(self._others)), self._within):
            surface = journey.room.surface
            name = surface.names[surface.part[triangle]]
            yield _Candidate(far, f"{words.get(side, 'touching')} {name}", _is_free(journey, far))

    def _in_line(self, journey: Journey) -> Iterator[_Candidate]:
        axis = journey.axis
        own = [corner + self.by for corner in self._module.bounds]
        across = 1 - axis
        for other in self._others.values():
            if _apart((own[0][across], own[1][across]), (other.bounds[0][across], other.bounds[1][across])) > _BESIDE:
                continue
            for end in _ends_that_show(self._module, axis) & _ends_that_show(other, axis):
                far = float(other.bounds[end][axis] - own[end][axis])
                yield _Candidate(far, f"in line with {other.name}", _is_free(journey, far), _FAINTER)

    def _in_recesses(self, journey: Journey) -> Iterator[_Candidate]:
        low, high = (corner + self.by for corner in self._module.bounds)
        shell = self._layout.shell
        for part in shell.parts if self._module.parent is None else ():
            if not part.gives:
                continue
            least, most = shell.solid_of(part.name).bounds
            room = (most - least)[0] - (high - low)[0]
            is_beside = _apart((low[1], high[1]), (least[1], most[1])) <= _BEFORE
            if room >= -CONTACT and is_beside and _apart((low[2], high[2]), (least[2], most[2])) < 0:
                start, edge = float(least[0] - low[0]), f"at the edge of {part.name}"
                for far, words in (
                    (start + float(room) / 2, f"centered in {part.name}"),
                    (start, edge),
                    (start + float(room), edge),
                ):
                    yield _Candidate(far, words, _is_free(journey, far))


def _with_all_upon(layout: Layout, name: str) -> Sequence[str]:
    """Return the name of a module and those of all that stands on it or in it."""
    found = [name]
    for host in found:
        found += [
            each.name for each in layout.modules if host in (each.support, each.parent) and each.name not in found
        ]
    return found


def _ends(journey: Journey, within: float) -> Iterator[tuple[float, str, int, Floats]]:
    """Yield where along a journey a body just touches: how far, at which side of it, which triangle, and at what point."""
    met = journey.met
    for ends, points, side in ((met.high, met.at_high, 0), (met.low, met.at_low, 1)):
        near = np.flatnonzero(abs(ends) <= within + CONTACT)
        near = near[_faces(journey, met.triangle[near])]
        for i in near[np.unique(np.round(ends[near] / CONTACT), return_index=True)[1]]:
            if _is_free(journey, float(ends[i])):
                yield float(ends[i]), _SIDES[journey.axis][side], int(met.triangle[i]), points[i]


def _faces(journey: Journey, triangles: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Return of each of some triangles whether it looks along the journey's axis or against it."""
    a, b, c = journey.room.surface.triangles[triangles].swapaxes(0, 1)
    normals = np.cross(b - a, c - a)
    faces: NDArray[np.bool_] = abs(normals[:, journey.axis]) >= _FACING * np.linalg.norm(normals, axis=1)
    return faces


def _is_free(journey: Journey, far: float) -> bool:
    """Return whether a body fouls nothing after so much travel."""
    met = journey.met
    return not ((met.low < far - CONTACT) & (met.high > far + CONTACT)).any()


def _ends_that_show(module: Module, axis: int) -> set[int]:
    """Return which ends of a module along an axis others can be in line with: 0 the lesser, 1 the greater; at a wall its face."""
    hidden = {"left": 0, "right": 1}.get(module.against or "") if module.kind == "scribed" and axis == 1 else None
    return {0, 1} - {hidden}


def _apart(one: tuple[float, float], other: tuple[float, float]) -> float:
    """Return how far two intervals are from one another; negative where they overlap."""
    return max(one[0] - other[1], other[0] - one[1])
