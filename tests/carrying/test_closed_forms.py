"""Ways and no ways in plans whose limits have closed forms, from both sides of the limit."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
import shapely

from corridors import asked, body, box, round_corner
from tumblehome.carrying.footprint import Footprint
from tumblehome.carrying.freeplan import FreePlan

EITHER_SIDE = 0.5
"""mm to both sides of a limit."""


def turning_limit(a: float, b: float, w: float) -> float:
    """The longest rectangle of a width that turns round the corner of two corridors: min over t of a known expression.

    Derived from the moving ladder problem (MathWorld, "Moving Ladder Problem") for a ladder with a width.
    """
    t = np.linspace(1e-4, np.pi / 2 - 1e-4, 400_001)
    return float(((a * np.sin(t) + b * np.cos(t) - w) / (np.sin(t) * np.cos(t))).min())


@pytest.mark.parametrize(
    ("a", "b", "w", "known"), [(600, 600, 300, 1097.06), (600, 700, 500, 831.74), (600, 1000, 200, 200 * 9.15543)]
)
def test_a_rectangle_round_a_corner(a: float, b: float, w: float, known: float) -> None:
    """The numbers are computed from the closed form; for equal corridors it is 2 (sqrt 2 a - w)."""
    limit = turning_limit(a, b, w)
    assert limit == pytest.approx(known, abs=0.01)
    assert round_corner(a, b, box(limit - EITHER_SIDE, w)) == "passes"
    assert round_corner(a, b, box(limit + EITHER_SIDE, w)) == "blocked"


@pytest.mark.parametrize(("a", "b"), [(200, 300), (100, 800)])
def test_a_thin_rod_round_a_corner(a: int, b: int) -> None:
    """Without a width it is (a^(2/3) + b^(2/3))^(3/2): for 2 and 3 7.0234824, for 1 and 8 5 sqrt 5 (MathWorld, "Moving Ladder
    Problem"); 6 wide it is a little shorter."""
    limit = (a ** (2 / 3) + b ** (2 / 3)) ** 1.5
    assert limit == pytest.approx({200: 702.34824, 100: 500 * 5**0.5}[a])
    assert turning_limit(a, b, 0) == pytest.approx(limit)
    assert round_corner(a, b, box(turning_limit(a, b, 6) - EITHER_SIDE, 6)) == "passes"
    assert round_corner(a, b, box(turning_limit(a, b, 6) + EITHER_SIDE, 6)) == "blocked"
    assert round_corner(a, b, box(limit + EITHER_SIDE, 6)) == "blocked"


@pytest.mark.parametrize(("w", "long", "verdict"), [
    (599.5, 999.5, "passes"), (600.5, 999.5, "blocked"), (599.5, 1000.5, "blocked"),
])  # fmt: skip
def test_round_a_corner_without_turning(w: float, long: float, verdict: str) -> None:
    """It slides along the one corridor and sideways into the other if it is no wider than the one and no longer than the other."""
    a, b = 600.0, 1000.0
    assert turning_limit(a, b, w) < long - 40
    assert round_corner(a, b, box(long, w)) == verdict


@pytest.mark.parametrize("thick", [1.0, 100.0, 900.0])
@pytest.mark.parametrize("aslant", [0.0, 0.3])
def test_a_rectangle_through_an_opening(thick: float, aslant: float) -> None:
    """A convex thing passes a straight opening exactly when its least breadth is not more than the opening."""
    wide = 540.0
    for opening, verdict in ((wide + EITHER_SIDE, "passes"), (wide - EITHER_SIDE, "blocked")):
        rooms = [shapely.box(-3000, -1500, 0, 1500), shapely.box(thick, -3000, thick + 6000, 3000)]
        plan = shapely.union_all([*rooms, shapely.box(-1, -opening / 2, thick + 1, opening / 2)])
        turn = np.array([[np.cos(aslant), -np.sin(aslant)], [np.sin(aslant), np.cos(aslant)]])
        thing = body(np.array([(0, 0), (wide, 0), (wide, 800), (0, 800)]) @ turn.T)
        assert asked(plan, thing, (-1500, 0), (thick + 3000, 0)).verdict == verdict


def fits(wide: float, deep: float, room: tuple[float, float], *, surely: bool) -> bool:
    """Whether a rectangle fits a room at some angle: surely, or possibly, the turn cut into small wedges."""
    plan = FreePlan.of_polygons([shapely.box(0, 0, *room)])
    footprint = Footprint.of_points(
        [(-wide / 2, -deep / 2), (wide / 2, -deep / 2), (wide / 2, deep / 2), (-wide / 2, deep / 2)]
    )
    ends = np.linspace(0, np.pi, 4001)
    for low, high in pairwise(ends.tolist()):
        shape = footprint.at(low) if surely else footprint.within(low, high)
        assert shape is not None
        if not plan.places(shape).is_empty():
            return True
    return False


def test_nine_by_four_does_not_fit_eight_by_six() -> None:
    """For p > a >= b and q <= b it fits when b >= (2 p q a + (p^2 - q^2) sqrt(p^2 + q^2 - a^2)) / (p^2 + q^2) (Wetzel,
    Mathematics Magazine 73, 2000); here in hundreds of mm."""

    def least(p: float, q: float, a: float) -> float:
        return float((2 * p * q * a + (p**2 - q**2) * np.sqrt(p**2 + q**2 - a**2)) / (p**2 + q**2))

    assert least(900, 400, 800) > 600
    assert not fits(900, 400, (800, 600), surely=False)
    b = least(850, 100, 800)
    assert 100 < b < 800
    assert fits(850, 100, (800, b + EITHER_SIDE), surely=True)
    assert not fits(850, 100, (800, b - EITHER_SIDE), surely=False)


def test_the_sofa_bound() -> None:
    """No shape of an area above 2.2195317 passes the corner of unit corridors (OEIS A128463): none may be told as passing."""
    rng, tried = np.random.default_rng(7), 0
    while tried < 12:
        points = rng.normal(size=(9, 2)) * rng.uniform(0.2, 1.0, 2)
        hull = shapely.convex_hull(shapely.MultiPoint(points))
        points *= 1000 * np.sqrt(2.2200 / hull.area)
        thing = body(points)
        if np.ptp(thing.parts[0].outline[:, 1]) > 1000:  # it does not even lie in the first corridor
            continue
        tried += 1
        assert round_corner(1000, 1000, thing) == "blocked"


def test_a_half_disc_passes_the_corner_that_its_radius_is_wide() -> None:
    """Its straight side towards the inner corner it slides to the end, turns about its middle and slides on: the simplest
    sofa, of area pi / 2; value from memory."""
    angles = np.linspace(np.pi, 2 * np.pi, 33)
    disc = np.column_stack([np.cos(angles), np.sin(angles)])
    assert round_corner(1000, 1000, body(999.0 * disc)) == "passes"
    assert round_corner(1000, 1000, body(1010.0 * disc)) == "blocked"
