"""Free plans of the bundled vans: the band through the void less the modules, and where a box may stand in it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

import tumblehome as th
from tumblehome.carrying.freeplan import Grounds, regions_of
from tumblehome.cuts import band

HEIGHTS = [(0.0, 1000.0), (20.0, 700.0), (0.0, 1340.0)]


@pytest.mark.parametrize("name", ["long-heron", "low-plover", "box-otter"])
@pytest.mark.parametrize("heights", HEIGHTS)
def test_it_is_the_band_of_the_void_less_the_modules_with_the_ground_outside(
    name: str, heights: tuple[float, float]
) -> None:
    layout = th.load_layout(name)
    for door in layout.shell.doorways:
        standing = [module for module in layout.modules if module.parent is None]
        grounds = Grounds(layout.shell, door, heights, 600.0)
        plan = grounds.plan(standing)
        open_layout = replace(layout, shell=layout.shell.opened(door.name))
        ground, goal = grounds._outside
        both = shapely.union_all([*band(open_layout, heights=heights).polygons, ground], grid_size=1e-6)
        assert plan.region.symmetric_difference(both).area < 1.0
        assert ground.contains(shapely.Point(goal).buffer(599))


def test_places_are_those_where_the_box_lies_in_the_plan() -> None:
    layout = th.load_layout("long-heron")
    grounds = Grounds(layout.shell, layout.shell.doorways[0], (0.0, 700.0), 600.0)
    plan = grounds.plan([module for module in layout.modules if module.parent is None])
    shape = np.array([(-90.0, -40.0), (130.0, -60.0), (100.0, 150.0), (-20.0, 170.0)]) + np.array([40.0, -300.0])
    places = shapely.MultiPolygon(regions_of(plan.places(shape)))
    points = np.random.default_rng(3).uniform((-200, -1000), (4700, 2500), (20_000, 2))
    inside = shapely.contains_xy(places, *points.T)
    lies = shapely.covers(plan.region, shapely.polygons(points[:, None] + shape))
    assert (inside == lies).all()
    assert 1000 < inside.sum() < 15_000


def test_what_bounds_it_is_called_by_its_name() -> None:
    layout = th.load_layout("long-heron")
    door = layout.shell.doorways[0]
    walls = Grounds(layout.shell, door, (0.0, 1000.0), 600.0).plan(layout.modules).walls
    known = (
        {m.name for m in layout.modules}
        | {p.name for p in layout.shell.parts}
        | {d.name for d in layout.shell.doorways}
    )
    assert {"wet bath", "galley", "counter", "sliding door", "seat backs"} <= set(walls)
    assert set(walls) - known <= {"left wall", "right wall", "rear", "outside of the body", "floor", "roof"}
    low, high = layout.module("wet bath").bounds
    assert walls["wet bath"].bounds == pytest.approx((*low[:2], *high[:2]), abs=1e-3)
    assert walls["sliding door"].bounds[0::2] == pytest.approx((170, 1250), abs=1)
