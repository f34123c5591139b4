"""Where would a dragged module land: at the wall, at a neighbor, in a recess, on the floor?

Every place that it may land at is exact: it comes from the stretches of travel in which the module meets something, as all
reaches do, or from the ends of what it is aligned with.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from tumblehome.lengths import format_length
from tumblehome.tolerances import CONTACT

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from tumblehome.cuts.reach import Journey, Room
    from tumblehome.fitout import Layout, Module

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
    words: list[str] = []
    for axis in (2, 0, 1):  # where it stands, then where along the wall, and how far out it is there
        if abs(drag.by[axis]) > CONTACT or (module.kind == "rigid" and module.against in _SIDES[axis]):
            words += drag.draw(axis)
    x, y, z = (float(place) for place in low + drag.by)
    return Snap((x, y, z), "; ".join(dict.fromkeys(words)))


class _Drag:
    """A module on its way."""

    def __init__(self, layout: Layout, module: Module, by: Floats, within: float, units: str) -> None:
        self._layout, self._module = layout, module
        self.by, self._within, self._units = by, within, units
        self._room: Room = layout.room_of(module)
        self._own = set(_with_all_upon(layout, module.name))
        kin = [other for other in layout.modules if other.parent == module.parent and other.name not in self._own]
        self._others = {other.name: other for other in kin}

    def draw(self, axis: int) -> list[str]:
        """Move the module along an axis to the best place near by; return at what it is then."""
        near = [each for each in self._candidates(axis) if abs(each.far) <= self._within + CONTACT]
        if not near:
            self._to_whole_step(axis)
            return []
        best = min(near, key=lambda each: (not each.free, abs(each.far) * each.weight))
        self.by[axis] += best.far
        return [each.words for each in near if abs(each.far - best.far) <= CONTACT and each.free == best.free]

    def _to_whole_step(self, axis: int) -> None:
        if abs(self.by[axis]) > CONTACT:
            step, end = _STEPS[self._units], min(_ends_that_show(self._module, axis))
            place = float(self._module.bounds[end][axis])
            self.by[axis] = round((place + self.by[axis]) / step) * step - place

    def _candidates(self, axis: int) -> Iterator[_Candidate]:
        is_scribed = self._module.kind == "scribed"
        own = [prism.moved(self.by) for prism in self._module.body]
        journey = self._room.journey(own, axis, ignoring=self._own)
        if (
            is_scribed and axis == 1
        ):  # it is at its wall in any case; a small slip of the hand leaves its face where it is
            yield _Candidate(-float(self.by[1]), "its face stays", weight=_FAINTER)
        else:
            yield from self._at_walls(journey)
        if is_scribed:
            whole = [prism.moved(self.by) for prism in self._module.hull]
            journey = self._room.inmates.journey(whole, axis, ignoring=self._own)
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
