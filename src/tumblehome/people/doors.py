"""What do doors, drawers and lids take while they stand open: of the aisle, of the places to pass, and of each other?"""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property, reduce
from itertools import combinations
from typing import TYPE_CHECKING, Final

import numpy as np
import shapely

from tumblehome.carrying.freeplan import FreePlan, regions_of
from tumblehome.checks.finding import Finding
from tumblehome.fitout.module import solid_of
from tumblehome.lengths import shown, volume_words
from tumblehome.people.aisle import upright
from tumblehome.people.gauge import body
from tumblehome.people.ground import Floor
from tumblehome.people.passing import passing_places
from tumblehome.people.profile import widths_along
from tumblehome.people.words import said
from tumblehome.records import dataclass
from tumblehome.tolerances import CONTACT

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from tumblehome.checks.finding import Verdict
    from tumblehome.fitout import Layout, Module, Zone
    from tumblehome.people.gauge import Slab
    from tumblehome.people.person import Person
    from tumblehome.sweep import Prism

    Floats = NDArray[np.float64]

__all__ = ["Opened", "check_doors", "meetings"]

_WITHIN: Final = 400.0
"""Who uses what is open stands within this of it, mm; common practice, no published source."""
_PRACTICE: Final = "common practice, no published source"
_NEAR: Final = 0.01
"""What is this near to it touches it, mm: the arc of a swing is told to more."""
_TOLD: Final = 1.0
"""What is before it is told where it differs by more than this from what is left of the aisle, mm."""
_FAR: Final = 1e5
"""Longer than any van, mm."""


def check_doors(floor: Floor, person: Person) -> Iterator[Finding]:
    """Yield for each door, drawer and flap what it leaves of the aisle while it is open, and which two of them meet.

    What opens is a zone that reaches sideways into an aisle at the height of somebody's trunk, but for where a hand reaches in
    and where one steps into a bath. It is taken to be in the way wherever it sweeps; a sliding door of the same opening
    sweeps nothing.

    Parameters
    ----------
    floor : with its doorways closed
    person : who stands before it, upright or as upright as the van allows
    """
    who = upright(person, floor)
    now = passing_places(floor, who)
    for module, zone in _opening(floor.layout):
        opened = Opened(floor, module, zone, who)
        if abs(zone.outward[2]) < 0.5 and opened.slabs and opened.width(floor) > CONTACT:
            yield _told(opened, now)
    yield from meetings(floor.layout)


def _opening(layout: Layout) -> Iterator[tuple[Module, Zone]]:
    for module in layout.modules:
        if not (module.use and module.use.kind == "bath"):
            yield from ((module, zone) for zone in module.zones if not zone.hand)


# ---- one thing open ----


@dataclass(frozen=True, eq=False)
class Opened:
    """A layout's floor with one thing open, and somebody before it."""

    floor: Floor
    module: Module
    zone: Zone
    person: Person

    @cached_property
    def slabs(self) -> tuple[Slab, ...]:
        """The slabs of the body at whose heights it is."""
        low, high = (min(p.bottom for p in self.zone.prisms), max(p.top for p in self.zone.prisms))
        return tuple(slab for slab in body(self.person).slabs if low < slab.high and slab.low < high)

    @cached_property
    def taken(self) -> Floor:
        """The floor where what it sweeps is taken, as if it were a module."""
        name = f"{self.module.name}'s {self.zone.name}"
        prisms = self.zone.prisms
        stands = replace(
            self.module, name=name, body=prisms, hull=prisms, solid=solid_of(prisms, name), zones=(),
            use=None, support=None, parent=None,
        )  # fmt: skip
        layout = self.floor.layout
        return Floor(replace(layout, modules=(*layout.modules, stands)), self.floor.closed)

    def width(self, floor: Floor) -> float:
        """Return the least width of the aisle, mm, at any station of it and any height that the body has there."""
        outlines = np.concatenate([prism.outline for prism in self.zone.prisms])
        start, end = float(outlines[:, 0].min()), float(outlines[:, 0].max())
        return min(
            (_least(floor, (slab.low, slab.high), start, end) for slab in self.slabs), default=0.0
        )  # fmt: skip

    @cached_property
    def before(self) -> float:
        """How far it is from it, when it is open, to what is nearest before all of it, mm, at any height of the body."""
        (p0, p1), (_, end) = self._extents
        strip = self._strip((p0 + CONTACT, p1 - CONTACT), (end, end + _FAR))
        found = [end + _FAR]
        for slab in self.slabs:
            barred = shapely.difference(strip, self.floor.region((slab.low, slab.high)))
            along = shapely.get_coordinates(barred) @ self.zone.outward[:2]
            found.append(float(along.min(initial=end + _FAR)))
        return min(found) - end

    @cached_property
    def stands(self) -> str:
        """Where there is room to stand for who uses it: "before it", else "beside it", else nothing."""
        (p0, p1), (start, end) = self._extents
        wide, deep = self.person.shoulder_breadth, self.person.body_depth
        where = {
            "before it": self._strip((p0, p1), (end, end + _WITHIN + deep / 2)),
            "beside it": self._strip((p0 - _WITHIN - wide / 2, p1 + _WITHIN + wide / 2), (start, end)),
        }
        return next((words for words, strip in where.items() if self._standing.intersects(self._joined(strip))), "")

    def _joined(self, strip: shapely.Geometry) -> shapely.Geometry:
        """Return what of a strip beside it is free and not parted from it by anything."""
        free = reduce(shapely.intersection, (self.taken.region((s.low, s.high)) for s in body(self.person).slabs))
        own = shapely.union_all([shapely.Polygon(prism.outline) for prism in self.zone.prisms])
        parts = shapely.get_parts(shapely.intersection(free, strip)).tolist()
        return shapely.union_all([part for part in parts if part.distance(own) < _NEAR])

    @cached_property
    def _standing(self) -> shapely.Geometry:
        """Where the middle of somebody may be who faces it or turns the back to it, with it open."""
        spots = []
        for slab in body(self.person).slabs:
            half = np.array([slab.width, self.person.body_depth]) / 2
            shape = (
                np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)]) * half @ np.array([self._side, self.zone.outward[:2]])
            )
            plan = FreePlan(tuple(self.taken.free((slab.low, slab.high))))
            spots.append(shapely.MultiPolygon(regions_of(plan.places(shape))))
        return reduce(shapely.intersection, spots)

    @property
    def _side(self) -> Floats:
        """The direction in plan along its module's face, so that it and outward turn counterclockwise."""
        x, y = self.zone.outward[:2]
        return np.array([y, -x])

    @cached_property
    def _extents(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """From where to where it reaches along the face and outward, mm."""
        points = np.concatenate([prism.outline for prism in self.zone.prisms])
        along, out = points @ self._side, points @ self.zone.outward[:2]
        return (float(along.min()), float(along.max())), (float(out.min()), float(out.max()))

    def _strip(self, along: tuple[float, float], out: tuple[float, float]) -> shapely.Polygon:
        corners = [(a, o) for a, o in ((along[0], out[0]), (along[1], out[0]), (along[1], out[1]), (along[0], out[1]))]
        return shapely.Polygon(np.array(corners) @ np.array([self._side, self.zone.outward[:2]]))


def _least(floor: Floor, heights: tuple[float, float], start: float, end: float) -> float:
    """Return the least width between two stations, 0 where there is no free run at one of them."""
    least, reached = np.inf, start
    for stretch in widths_along(floor, heights):
        a, b = max(stretch.start, start), min(stretch.end, end)
        if b - a <= CONTACT:
            continue
        if a - reached > CONTACT:
            return 0.0
        reached = b
        run = (stretch.end - stretch.start, stretch.widths[1] - stretch.widths[0])
        least = min(least, *(stretch.widths[0] + run[1] * (x - stretch.start) / run[0] for x in (a, b)))
    return 0.0 if end - reached > CONTACT else float(least)


def _told(opened: Opened, now: list[tuple[float, float]]) -> Finding:
    """Return the finding on one thing that opens; ``now`` are the stretches in which two people pass while it is shut."""
    shut, left = opened.width(opened.floor), opened.width(opened.taken)
    lost = sum(b - a for a, b in now) - sum(b - a for a, b in passing_places(opened.taken, opened.person))
    swings, before, stands = opened.zone.room == 0, opened.before, opened.stands

    def words(units: str) -> str:
        told = f"leaves {shown(left, units)} of the aisle's {shown(shut, units)}"
        slid = ", a sliding door would leave all of it" if swings and left < shut - CONTACT else ""
        passing = f"; takes {shown(lost, units)} of the stretch where two people pass" if lost > CONTACT else ""
        room = f"; {shown(before, units)} before it" if _TOLD < abs(before - left) < _FAR else ""
        person = f", room to stand {stands}" if stands else ", no room to stand"
        return f"{told}{slid}{passing}{room}{person}"

    verdict: Verdict = "clear" if stands and left >= opened.person.body_depth else "tight"
    x, y, z = (float(v) for v in opened.zone.prisms[0].center)
    return Finding(
        opened.module.name, f"{opened.zone.name} open", verdict, left, limit=opened.person.body_depth, where=(x, y, z),
        cause=opened.zone.name, source=f"{body(opened.person).source}; {_PRACTICE}",
        tolerance=opened.floor.layout.measured_to, said=said(words),
    )  # fmt: skip


# ---- two things open together ----


def meetings(layout: Layout) -> Iterator[Finding]:
    """Yield each pair of zones of different modules that meet when both are open, once, of the module that is named later.

    Zones are upright prisms, so what two share is exact: the least by which one of them must stay back, along the way that it
    opens, and the volume. What only touches does not meet.
    """
    for (one, first), (other, second) in combinations(_opening(layout), 2):
        if one is not other and (found := _shared(first, second)):
            yield _met((one, first), (other, second), *found)


def _shared(first: Zone, second: Zone) -> tuple[float, float, Floats] | None:
    """Return by how much two zones overlap, mm along the way that one opens, the volume in L, and the middle (3,)."""
    pieces = [piece for a in first.prisms for b in second.prisms if (piece := _common(a, b))]
    if not pieces:
        return None
    corners = np.concatenate([points for points, _ in pieces])
    deep = min(float(np.ptp(corners @ zone.outward)) for zone in (first, second))
    middle: Floats = (corners.min(axis=0) + corners.max(axis=0)) / 2
    return deep, sum(volume for _, volume in pieces) / 1e6, middle


def _common(a: Prism, b: Prism) -> tuple[Floats, float] | None:
    """Return the corners (n, 3) and the volume, mm3, of what two prisms share."""
    low, high = max(a.bottom, b.bottom), min(a.top, b.top)
    plan = shapely.intersection(shapely.Polygon(a.outline), shapely.Polygon(b.outline))
    if high - low <= CONTACT or plan.area <= CONTACT:
        return None
    ring = shapely.get_coordinates(plan)
    return np.concatenate([np.column_stack([ring, np.full(len(ring), z)]) for z in (low, high)]), plan.area * (
        high - low
    )


def _met(one: tuple[Module, Zone], other: tuple[Module, Zone], deep: float, volume: float, at: Floats) -> Finding:
    (first, zone), (module, own) = one, other

    def words(units: str) -> str:
        return f"meets {first.name}'s {zone.name} where both are open, by {shown(deep, units)} ({volume_words(volume, units)})"

    x, y, z = at.tolist()
    return Finding(
        module.name, f"{own.name} with another", "tight", -deep, where=(x, y, z), cause=f"{first.name}'s {zone.name}",
        volume=volume, source="geometry of the layout file", said=said(words),
    )  # fmt: skip
