"""Plans, boxes and the question whether the one can be carried through the other, for the tests of carrying."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from tumblehome.carrying.footprint import Body
from tumblehome.carrying.freeplan import FreePlan
from tumblehome.carrying.path import Mover, Path, route_of
from tumblehome.carrying.search import Answer, Layers, search
from tumblehome.sweep import Prism

if TYPE_CHECKING:
    from numpy.typing import ArrayLike


def body(points: ArrayLike) -> Body:
    """A body over the hull of points, 1 high."""
    ring = shapely.get_coordinates(shapely.convex_hull(shapely.MultiPoint(np.asarray(points, dtype=float))))[:-1]
    return Body.of_prisms([Prism(ring[::-1] if not shapely.is_ccw(shapely.LinearRing(ring)) else ring, 0.0, 1.0)])


def box(wide: float, deep: float) -> Body:
    return body([(0, 0), (wide, 0), (wide, deep), (0, deep)])


def layers(plan: shapely.Geometry) -> Layers:
    polygons = [p for p in shapely.get_parts(plan).tolist() if p.geom_type == "Polygon"]
    return Layers(((FreePlan.of_polygons(polygons),),), (0.0,))


def asked(plan: shapely.Geometry, thing: Body, start: ArrayLike, goal: ArrayLike) -> Answer:
    """Whether a thing whose center is at a start, as it stands, gets to a goal."""
    return search(layers(plan), thing, shapely.Point(start), np.asarray(goal, dtype=float))


def path(plan: shapely.Geometry, thing: Body, start: tuple[float, float], goal: tuple[float, float]) -> Path:
    """The way that was found."""
    answer = asked(plan, thing, start, goal)
    assert answer.verdict == "passes"
    mover = Mover(layers(plan), thing)
    return Path(mover, tuple(mover.shortened(route_of(answer.route, start, goal))))


def corner(a: float, b: float, long: float) -> shapely.Geometry:
    """Two corridors that meet square, the one along x wide ``a``, the one along y wide ``b``, with a hall at its end."""
    hall = shapely.box(-4 * long, 2 * long, 4 * long, 8 * long)
    return shapely.union_all([shapely.box(0, 0, 3 * long, a), shapely.box(0, 0, b, 2.5 * long), hall])


def round_corner(a: float, b: float, thing: Body) -> str:
    """Whether a thing that lies along the first corridor gets into the hall."""
    outline = thing.parts[0].outline
    long, deep = 2 * thing.radius, float(np.ptp(outline[:, 1]))
    start = (3 * long - float(outline[:, 0].max()) - 1, a / 2 - float(outline[:, 1].max()) + deep / 2)
    return asked(corner(a, b, long), thing, start, (0, 5 * long)).verdict
