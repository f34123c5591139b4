"""Where do people sit, lie and stand, and where do they put their feet when they get up?

Somebody who sits moves along the seat with the trunk upright: it takes the heights from over the thighs to under the shoulders, so
that whatever stands in them bars the way, as a table's top does, and what is lower bars nothing. Who lies rolls along the mattress.
The trunk is a disc as wide as the body is deep: less than it needs when it turns, never more. The feet come down within half a
step of the seat. For one who shares a seat or a bed, neighbors who stay are in the way.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Final

import numpy as np
import shapely

from tumblehome.lasting import kept
from tumblehome.records import dataclass
from tumblehome.sweep import Prism

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from tumblehome.fitout import Layout, Module
    from tumblehome.people.ground import Floor
    from tumblehome.people.person import Person

    Floats = NDArray[np.float64]

__all__ = ["Place", "is_covered", "places_of", "slots_of", "standing_before", "surface_of", "top_of", "used"]

_FLAT: Final = 20.0
"""The surface on which one sits or lies is all that ends within this of its lowest top, mm: what is higher is a back."""
_ABOVE: Final = {"seat": (200.0, 500.0), "bed": (50.0, 350.0)}
"""Who gets up moves between these heights above the seat or mattress, mm. On a seat over the thighs, which the 95th percentile
has 207 mm thick, and under the shoulders; on a bed lying, as a chest is 280 mm deep (ANSUR II)."""
_REACH: Final = 350.0
"""So far from a seat or mattress one puts the feet to get up, mm: about half a step; common practice, no published source."""
_TRUNK: Final = (300.0, 900.0)
"""Between these heights a trunk is free that stands before something, mm above the floor."""
_BEFORE: Final = 400.0
"""Who works at something stands within this before it, mm; common practice, no published source."""
_COVERED: Final = {"seat": 400.0, "bed": 250.0}
"""With less above it than this, mm, nobody sits or lies there: half of what the smallest sit high, and little more than a
body's depth (ANSUR II)."""
_FINE: Final = 32
"""Round corners are drawn with so many chords a quarter: 0.1 mm off at most."""
_TOUCH: Final = 1e-3
"""Neighbors may touch, mm."""
_LEAST: Final = 1.0
"""Less of a place than this is none, mm2."""
_WORDS: Final = {"seat": "place", "bed": "sleeper"}
"""What one of several on a seat or bed is called."""


@dataclass(frozen=True, eq=False)
class Place:
    """A place that people leave: whose it is, its kind, and where their middle gets to from there (a shape in plan, mm).

    ``alone`` is the same when the neighbors on the same seat or bed stay: it may be less, or nothing.
    """

    module: Module
    name: str
    kind: str
    floor: shapely.Geometry
    alone: shapely.Geometry


@kept
def places_of(floor: Floor, person: Person) -> list[Place]:
    """Return the places of a layout: each person's on each seat and bed, and each counter and bath, in the order of its modules."""
    return [place for module in _in_use(floor.layout) for place in _places(module, floor, person)]


def _in_use(layout: Layout) -> list[Module]:
    """Return the modules at which people do something, but for seats and beds that are put away."""
    return [m for m in layout.modules if m.use and not (m.use.kind in _COVERED and is_covered(layout, m))]


def _places(module: Module, floor: Floor, person: Person) -> Iterator[Place]:
    kind = module.use.kind if module.use else ""
    if kind in ("seat", "bed"):
        slots = slots_of(module) if kind == "seat" else _berths(module)
        low, high = (top_of(module) + up for up in _ABOVE[kind])
        trunk = shapely.buffer(floor.region((low, high)), -person.body_depth / 2, quad_segs=_FINE)
        for i, slot in enumerate(slots):
            name = module.name if len(slots) == 1 else f"{module.name}, {_WORDS[kind]} {i + 1}"
            others = shapely.union_all([other for other in slots if other is not slot])
            whole = _around(slot, shapely.union(slot, others), trunk)
            alone = shapely.difference(trunk, shapely.buffer(others, person.body_depth / 2 - _TOUCH, quad_segs=_FINE))
            yield Place(module, name, kind, whole, _around(slot, slot, alone))
    elif kind in ("counter", "bath"):
        region = _stood_on(standing_before(module), floor, person)
        yield Place(module, module.name, kind, region, region)


def _stood_on(strip: shapely.Polygon, floor: Floor, person: Person) -> shapely.Geometry:
    """Return the largest part of a strip in which the middle of somebody may be who turns about, or else turns not.

    What is parted from that is another place, though it lies before the same face. All of the strip where there is no such part.
    """
    region = floor.region(_TRUNK)
    for wide in (person.shoulder_breadth, person.body_depth):
        trunk = shapely.buffer(region, -wide / 2, quad_segs=_FINE)
        largest = max(
            shapely.get_parts(shapely.intersection(strip, trunk)).tolist(), key=lambda part: part.area, default=None
        )
        if largest is not None and largest.area > _LEAST:
            return largest
    return strip


def used(layout: Layout, kind: str) -> list[Module]:
    """Return the modules of a layout at which people do something, one of `tumblehome.fitout.module.USES`."""
    return [module for module in layout.modules if module.use and module.use.kind == kind]


def is_covered(layout: Layout, module: Module) -> bool:
    """Whether a seat or a bed is put away, not used: so little is free above its middle, half as wide and deep as it is."""
    plate = tuple(Prism((p.outline + p.outline.mean(axis=0)) / 2, p.top, p.top) for p in surface_of(module))
    reached = layout.room.journey(plate, 2, ignoring={module.name}).reach(1.0)
    least = _COVERED["bed" if module.use and module.use.kind == "bed" else "seat"]
    return reached is not None and reached.distance < least


def surface_of(module: Module) -> tuple[Prism, ...]:
    """Return the prisms on whose tops one sits or lies: those that end lowest; a back ends higher."""
    top = min(prism.top for prism in module.hull)
    return tuple(prism for prism in module.hull if prism.top <= top + _FLAT)


def top_of(module: Module) -> float:
    """Return the height of the surface on which one sits or lies, mm above the floor."""
    return min(prism.top for prism in module.hull)


def _plan(prisms: tuple[Prism, ...]) -> shapely.Geometry:
    return shapely.union_all([shapely.Polygon(prism.outline) for prism in prisms])


def slots_of(module: Module) -> list[shapely.Polygon]:
    """Return the plan of each person's place on a seat, from the left end of its face to the right."""
    frame, count = module.frame, module.use.people if module.use else 1
    plan = _plan(surface_of(module))
    ends = np.linspace(0.0, module.wide, count + 1)
    boxes = (frame.box((a, b), (0.0, module.deep), (0.0, 1.0)).outline for a, b in pairwise(ends.tolist()))
    return [shapely.intersection(plan, shapely.Polygon(box)) for box in boxes]


def _berths(module: Module) -> list[shapely.Polygon]:
    """Return the plan of each sleeper's part of a bed, from the front to the rear, or from the left to the right.

    Sleepers lie side by side; which way tells the side of their heads, or else the longer side of the bed.
    """
    low, high = (end[:2] for end in module.bounds)
    head = module.use.head if module.use else None
    along = int(head in ("left", "right")) if head else int(np.argmax(high - low))
    plan, count = _plan(surface_of(module)), module.use.people if module.use else 1
    ends = np.linspace(low[1 - along], high[1 - along], count + 1).tolist()
    strips = [(a, low[1], b, high[1]) if along else (low[0], a, high[0], b) for a, b in pairwise(ends)]
    return [shapely.intersection(plan, shapely.box(*strip)) for strip in strips]


def standing_before(module: Module, *, deep: float = _BEFORE) -> shapely.Polygon:
    """Return where somebody stands before a module's face, or before the opening in it: a strip in plan, mm."""
    opening = module.use.opening if module.use else None
    ends = (opening.left, opening.left + opening.wide) if opening else (0.0, module.wide)
    return shapely.Polygon(module.frame.box(ends, (-deep, 0.0), (0.0, 1.0)).outline)


def _around(slot: shapely.Geometry, used: shapely.Geometry, trunk: shapely.Geometry) -> shapely.Geometry:
    """Return where the trunk gets to from a place on a seat: on all that may be used of it, and within reach of that."""
    near = shapely.intersection(shapely.buffer(used, _REACH, join_style="mitre"), trunk)
    joined = [part for part in shapely.get_parts(near) if shapely.area(shapely.intersection(part, slot)) > _LEAST]
    return shapely.union_all(joined) if joined else shapely.Polygon()
