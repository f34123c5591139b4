"""Where do people sit, lie and stand, and where do they put their feet when they get up?"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Final

import numpy as np
import shapely

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from tumblehome.fitout import Module
    from tumblehome.people.ground import Floor
    from tumblehome.sweep import Prism

    Floats = NDArray[np.float64]

__all__ = ["Place", "places_of", "slots_of", "standing_before", "surface_of"]

_FLAT: Final = 20.0
"""The surface on which one sits or lies is all that ends within this of its lowest top, mm: what is higher is a back."""
_ABOVE: Final = (200.0, 500.0)
"""Who gets up moves between these heights above the seat or mattress, mm: over the thighs, which the 95th percentile has 207 mm
thick (ANSUR II), and under the shoulders."""
_REACH: Final = 350.0
"""So far from a seat or mattress one puts the feet to get up, mm: about half a step; common practice, no published source."""
_BEFORE: Final = 400.0
"""Who works at something stands within this before it, mm; common practice, no published source."""
_LEAST: Final = 1.0
"""Less of a place than this is none, mm2."""


@dataclass(frozen=True, eq=False)
class Place:
    """A place that people leave: whose it is, the floor (a shape in plan, mm) on which they find their feet, and its kind.

    ``alone`` is that floor when the neighbors on the same seat stay: it may be less, or nothing.
    """

    module: Module
    name: str
    kind: str
    floor: shapely.Geometry
    alone: shapely.Geometry


def places_of(floor: Floor) -> list[Place]:
    """Return the places of a layout: each seat, bed, counter and bath, in the order of its modules."""
    return [place for module in floor.layout.modules if module.use for place in _places(module, floor)]


def _places(module: Module, floor: Floor) -> Iterator[Place]:
    kind = module.use.kind if module.use else ""
    if kind == "bed":
        region = _around(_plan(surface_of(module)), _top(module), floor)
        yield Place(module, module.name, kind, region, region)
    elif kind == "seat":
        slots = slots_of(module)
        for i, slot in enumerate(slots):
            name = module.name if len(slots) == 1 else f"{module.name}, place {i + 1}"
            taken = shapely.union_all([other for other in slots if other is not slot])
            whole = _around(slot, _top(module), floor)
            yield Place(module, name, kind, whole, _around(slot, _top(module), floor, taken))
    elif kind in ("counter", "bath"):
        region = standing_before(module)
        yield Place(module, module.name, kind, region, region)


def surface_of(module: Module) -> tuple[Prism, ...]:
    """Return the prisms on whose tops one sits or lies: those that end lowest; a back ends higher."""
    top = min(prism.top for prism in module.hull)
    return tuple(prism for prism in module.hull if prism.top <= top + _FLAT)


def _top(module: Module) -> float:
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


def standing_before(module: Module, *, deep: float = _BEFORE) -> shapely.Polygon:
    """Return where somebody stands before a module's face, or before the opening in it: a strip in plan, mm."""
    opening = module.use.opening if module.use else None
    ends = (opening.left, opening.left + opening.wide) if opening else (0.0, module.wide)
    return shapely.Polygon(module.frame.box(ends, (-deep, 0.0), (0.0, 1.0)).outline)


def _around(
    plan: shapely.Geometry, top: float, floor: Floor, taken: shapely.Geometry | None = None
) -> shapely.Geometry:
    """Return the floor within reach of a surface, as far as nothing bars the way above it."""
    free = floor.region((top + _ABOVE[0], top + _ABOVE[1]))
    near = shapely.intersection(shapely.buffer(plan, _REACH, join_style="mitre"), free)
    if taken is not None and not taken.is_empty:
        near = shapely.difference(near, taken)
    joined = [part for part in shapely.get_parts(near) if shapely.area(shapely.intersection(part, plan)) > _LEAST]
    return shapely.union_all(joined) if joined else shapely.Polygon()
