"""Where do people sit, lie and stand, and where do they put their feet when they get up?

Somebody who sits or lies moves along the seat or mattress with the trunk upright: the trunk takes the heights from over the
thighs to under the shoulders, so that whatever stands in them bars the way, as a table's top does, and what is lower bars
nothing. The feet come down within half a step of the seat. For one who shares a seat or a bed, neighbors who stay are in the way.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Final

import numpy as np
import shapely

from tumblehome.sweep import Prism

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from tumblehome.fitout import Layout, Module
    from tumblehome.people.ground import Floor

    Floats = NDArray[np.float64]

__all__ = ["Place", "is_covered", "places_of", "slots_of", "standing_before", "surface_of", "top_of", "used"]

_FLAT: Final = 20.0
"""The surface on which one sits or lies is all that ends within this of its lowest top, mm: what is higher is a back."""
_ABOVE: Final = (200.0, 500.0)
"""Who gets up moves between these heights above the seat or mattress, mm: over the thighs, which the 95th percentile has 207 mm
thick (ANSUR II), and under the shoulders."""
_REACH: Final = 350.0
"""So far from a seat or mattress one puts the feet to get up, mm: about half a step; common practice, no published source."""
_BEFORE: Final = 400.0
"""Who works at something stands within this before it, mm; common practice, no published source."""
_COVERED: Final = {"seat": 400.0, "bed": 250.0}
"""With less above it than this, mm, nobody sits or lies there: half of what the smallest sit high, and little more than a
body's depth (ANSUR II)."""
_LEAST: Final = 1.0
"""Less of a place than this is none, mm2."""
_WORDS: Final = {"seat": "place", "bed": "sleeper"}
"""What one of several on a seat or bed is called."""


@dataclass(frozen=True, eq=False)
class Place:
    """A place that people leave: whose it is, the floor (a shape in plan, mm) on which they find their feet, and its kind.

    ``alone`` is that floor when the neighbors on the same seat or bed stay: it may be less, or nothing.
    """

    module: Module
    name: str
    kind: str
    floor: shapely.Geometry
    alone: shapely.Geometry


def places_of(floor: Floor) -> list[Place]:
    """Return the places of a layout: each seat, bed, counter and bath, in the order of its modules."""
    used_ = (m for m in floor.layout.modules if m.use and not (m.use.kind in _COVERED and is_covered(floor.layout, m)))
    return [place for module in used_ for place in _places(module, floor)]


def _places(module: Module, floor: Floor) -> Iterator[Place]:
    kind = module.use.kind if module.use else ""
    if kind in ("seat", "bed"):
        slots = slots_of(module) if kind == "seat" else _berths(module)
        for i, slot in enumerate(slots):
            name = module.name if len(slots) == 1 else f"{module.name}, {_WORDS[kind]} {i + 1}"
            others = shapely.union_all([other for other in slots if other is not slot])
            ends = (_around(slot, top_of(module), floor, *shared) for shared in ((others, None), (None, others)))
            yield Place(module, name, kind, *ends)
    elif kind in ("counter", "bath"):
        region = standing_before(module)
        yield Place(module, module.name, kind, region, region)


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


def _around(
    slot: shapely.Geometry, top: float, floor: Floor, used: shapely.Geometry | None, taken: shapely.Geometry | None
) -> shapely.Geometry:
    """Return the floor within reach of a place, and of what else of the seat may be used, as far as nothing bars the way."""
    whole = slot if used is None else shapely.union(slot, used)
    free = floor.region((top + _ABOVE[0], top + _ABOVE[1]))
    near = shapely.intersection(shapely.buffer(whole, _REACH, join_style="mitre"), free)
    if taken is not None:
        near = shapely.difference(near, taken)
    joined = [part for part in shapely.get_parts(near) if shapely.area(shapely.intersection(part, slot)) > _LEAST]
    return shapely.union_all(joined) if joined else shapely.Polygon()
