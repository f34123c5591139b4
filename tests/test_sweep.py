"""When a moving prism meets a triangle: against linear programs, and closed forms of convex bodies."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from hypothesis import assume
from hypothesis import strategies as st
from scipy.optimize import linprog

from strategies import law
from tumblehome.solids import Solid, Surface
from tumblehome.sweep import Obstacles, Prism, across, plate_stops, rectangle, stops
from vans import EXACT

if TYPE_CHECKING:
    from hypothesis.strategies import DrawFn

AXES = (0, 1, 2)
coordinates = st.integers(-60, 60).map(lambda n: n * 5.0)
points = st.tuples(coordinates, coordinates, coordinates)


@st.composite
def prisms(draw: DrawFn) -> Prism:
    """Upright prisms over the hull of some points on a grid, or over a turned rectangle."""
    turn = np.radians(draw(st.integers(0, 89)))
    wide, deep = draw(st.integers(5, 200)), draw(st.integers(5, 200))
    corners = np.array([(-wide, -deep), (wide, -deep), (wide, deep), (-wide, deep)], dtype=float)[
        : draw(st.integers(3, 4))
    ]
    outline = corners @ np.array([(np.cos(turn), np.sin(turn)), (-np.sin(turn), np.cos(turn))])
    bottom = draw(coordinates)
    return Prism(outline + np.array([draw(coordinates), draw(coordinates)]), bottom, bottom + draw(st.integers(0, 300)))


def _corners(prism: Prism) -> np.ndarray:
    return np.concatenate(
        [np.column_stack([prism.outline, np.full(len(prism.outline), z)]) for z in (prism.bottom, prism.top)]
    )


def _interval(body: np.ndarray, triangle: np.ndarray, axis: int) -> tuple[float, float] | None:
    """Least and greatest travel at which two convex hulls meet: weights of their corners and the travel, by HiGHS."""
    n, m = len(body), len(triangle)
    equal = np.zeros((5, n + m + 1))
    equal[:3, :n], equal[:3, n : n + m], equal[axis, -1] = body.T, -triangle.T, 1.0
    equal[3, :n] = equal[4, n : n + m] = 1.0
    bounds = [(0, None)] * (n + m) + [(None, None)]
    cost = np.append(np.zeros(n + m), 1.0)
    found = [
        linprog(sense * cost, A_eq=equal, b_eq=[0, 0, 0, 1, 1], bounds=bounds, method="highs") for sense in (1, -1)
    ]
    return (float(found[0].fun), -float(found[1].fun)) if all(f.status == 0 for f in found) else None


@law(prisms(), st.tuples(points, points, points), st.sampled_from(AXES), examples=150, least=30)
def test_the_interval_of_contact_is_that_of_a_linear_program(prism: Prism, corners: Any, axis: int) -> None:
    """Two convex hulls, one moving: least and greatest travel by scipy's linear programming, good to about 1e-6."""
    triangle = np.array(corners)
    assume(np.linalg.norm(np.cross(triangle[1] - triangle[0], triangle[2] - triangle[0])) > 100)
    reference = _interval(_corners(prism), triangle, axis)
    shrunk = prism.outline.mean(axis=0) + (prism.outline - prism.outline.mean(axis=0)) * 0.999
    inner = _interval(
        _corners(Prism(shrunk, prism.bottom + 1e-3, max(prism.top - 1e-3, prism.bottom + 1e-3))), triangle, axis
    )
    assume((reference is None) == (inner is None))  # what only grazes the outline may count or not
    met = stops([prism], Obstacles(Surface(triangle[None], np.zeros(1, dtype=np.intp), ("t",))), axis)
    if reference is None:
        assert not len(met.low)
    else:
        assert (float(met.low[0]), float(met.high[0])) == pytest.approx(reference, abs=2e-5)
        assert inner is not None
        assume(prism.top > prism.bottom)
        normal = np.cross(triangle[1] - triangle[0], triangle[2] - triangle[0])
        for witness in (met.at_low[0], met.at_high[0]):
            assert abs((witness - triangle[0]) @ normal) / np.linalg.norm(normal) < EXACT


@pytest.mark.parametrize("axis", AXES)
def test_a_box_meets_a_box_from_its_near_to_its_far_face(axis: int) -> None:
    """Closed form: the faces' coordinates."""
    block = Obstacles(Solid.box((100, 200, 300), (150, 290, 420), "block").surface)
    near, far = np.array([100, 200, 300]), np.array([150, 290, 420])
    low, high = np.array([90, 230, 310.0]), np.array([120, 300, 500.0])
    low[axis], high[axis] = -50, -20
    met = stops([Prism.box(low, high)], block, axis)
    assert met.low.min() == pytest.approx(near[axis] + 20, abs=EXACT)
    assert met.high.max() == pytest.approx(far[axis] + 50, abs=EXACT)
    assert met.blocking_now.sum() == 0
    there = stops([Prism.box(low, high).moved((near[axis] + 21) * np.eye(3)[axis])], block, axis)
    assert there.blocking_now.any()


@pytest.mark.parametrize("axis", AXES)
def test_what_only_touches_the_outline_does_not_stop(axis: int) -> None:
    first, _ = across(axis)
    block = Obstacles(Solid.box((0, 0, 0), (100, 100, 100), "block").surface)
    low, high = np.full(3, 20.0), np.full(3, 80.0)
    low[axis], high[axis] = -300, -200
    for by, stopped in ((-80 + 1e-6, True), (-80, False), (80 - 1e-6, True), (80, False)):
        body = Prism.box(low, high).moved(by * np.eye(3)[first])
        assert bool(len(stops([body], block, axis).low)) is stopped


def test_a_diamond_meets_a_wall_with_its_corner() -> None:
    """A square of diagonal 2 a turned by 45 degrees reaches a ahead of its middle."""
    wall = Obstacles(Solid.box((500, -1000, -1000), (600, 1000, 1000), "wall").surface)
    diamond = Prism(np.array([(50, 0), (0, 50), (-50, 0), (0, -50)], dtype=float), 0, 100)
    met = stops([diamond], wall, 0)
    assert met.low.min() == pytest.approx(450, abs=EXACT)
    assert met.at_low[met.low.argmin()][:2] == pytest.approx((500, 0), abs=EXACT)


def test_a_point_sees_both_sides_of_a_ledge() -> None:
    """Closed form: the nearer of two faces that meet at a height."""
    step = Solid.box((-500, 300, 0), (500, 900, 100), "step") | Solid.box((-500, 400, 100), (500, 900, 200), "wall")
    for height, nearest in ((99.9, 300), (100.0, 300), (100.1, 400)):
        met = plate_stops(rectangle((height, height), (0, 0)), 0.0, Obstacles(step.surface), 1)
        assert met.low.min() == pytest.approx(nearest, abs=EXACT)


def test_prism_facets_cover_its_outline() -> None:
    """Every way across, the facets' windows together are as wide as the body."""
    prism = Prism(np.array([(0, 0), (400, 100), (300, 500), (-100, 400)], dtype=float), 10, 90)
    for axis in (0, 1):
        for facets in prism.facets(axis):
            spans = np.concatenate([facet.corners[:, axis] for facet in facets])
            other = prism.outline[:, 1 - axis]
            assert (spans.min(), spans.max()) == pytest.approx((other.min(), other.max()), abs=EXACT)
    assert prism.moved((1, 2, 3)).bounds[0].tolist() == [-99, 2, 13]
