"""Can somebody who goes sideways get round the corners of a way, as broad as the shoulders and as deep as the trunk?

A disc as wide as the body is deep says what nobody can do. Two upright rectangles that turn about one axis, at the hips and at the
shoulders, say what everybody can: a way that they have is verified, "no way" is proven, for a body that does not bend.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from tumblehome.carrying.footprint import Body
from tumblehome.carrying.freeplan import FreePlan
from tumblehome.carrying.search import Layers, search
from tumblehome.people.gauge import body, turned
from tumblehome.sweep import Prism

if TYPE_CHECKING:
    from collections.abc import Iterator

    import shapely

    from tumblehome.body.parts import Doorway
    from tumblehome.people.ground import Floor
    from tumblehome.people.person import Person

__all__ = ["turns_out"]


def turns_out(floor: Floor, person: Person, start: shapely.Geometry, doorway: Doorway) -> bool:
    """Whether a body that does not bend gets from a place out by a doorway, moving and turning.

    Parameters
    ----------
    floor : with its doorways open
    person : as tall as they walk there
    start : where the middle may be at first, a shape in plan, mm; the body faces along the van or across it
    doorway : of the shell
    """
    plans = tuple(FreePlan(tuple(floor.free((slab.low, slab.high)))) for slab in body(person).slabs)
    outside = floor.outside(doorway).centroid
    goal = np.array([outside.x, outside.y])
    layers = Layers((plans,), (body(person).slabs[0].low,))
    return any(search(layers, each, start, goal).verdict == "passes" for each in _bodies(person))


def _bodies(person: Person) -> Iterator[Body]:
    """Yield the rectangles at hips and shoulders of one who faces along the van, and of one who faces across it."""
    slabs = list(zip(body(person).slabs, turned(person).slabs, strict=True))
    for order in (1, -1):
        sizes = [(facing.width, aside.width)[::order] for facing, aside in slabs]
        yield Body.of_prisms(
            [
                Prism.box((-x / 2, -y / 2, slab.low), (x / 2, y / 2, slab.high))
                for (x, y), (slab, _) in zip(sizes, slabs, strict=True)
            ]
        )
