"""A table of offsets as a solid: ruled between stations, and a skin that moves in square to itself."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely
from hypothesis import strategies as st

from references import left, right, sides
from strategies import Plan, law, plans
from tumblehome.body.offsets import OffsetBody
from tumblehome.body.parts import Lined, Lining
from tumblehome.body.shell import Shell
from tumblehome.cuts import section, width
from tumblehome.errors import InputError
from vans import EXACT

if TYPE_CHECKING:
    from collections.abc import Sequence

UNEVEN = np.array([0.0, 300.0, 1700.0, 2000.0])
HEIGHTS = np.array([0.0, 600.0, 1000.0, 1500.0, 1800.0])


def _straight(
    breadths: Sequence[float], heights: np.ndarray = HEIGHTS, *, roof_row: int | None = None, length: float = 1000.0
) -> OffsetBody:
    """A body of one profile from end to end."""
    grid = np.tile(np.array(breadths, dtype=float), (2, 1))
    row = OffsetBody.roof_row_of(heights, grid, grid) if roof_row is None else roof_row
    return OffsetBody(np.array([0.0, length]), heights, grid, grid, row)


def _shell(body: OffsetBody, lining: Lining | None = None) -> Shell:
    return Shell("test", 3.0, Lined(body, lining or Lining()), ())


def _profile(breadths: Sequence[float], heights: np.ndarray = HEIGHTS) -> shapely.Polygon:
    right = np.column_stack([breadths, heights])
    return shapely.Polygon(np.concatenate([right, right[::-1] * (-1, 1)]))


def test_between_uneven_stations_a_wall_runs_straight() -> None:
    """Linear interpolation along a row, by numpy; left and right apart."""
    port = np.array([[700, 720], [820, 840], [790, 810], [600, 620]], dtype=float)
    starboard = port[::-1] + 30
    shell = _shell(OffsetBody(UNEVEN, np.array([0.0, 1000.0]), port, starboard, 1))
    for station in (0, 1, 299, 300, 500, 1234.5, 1700, 1999, 2000):
        for row, height in ((0, 0.0), (1, 1000.0)):
            found = width(shell, height=height, station=station)
            assert left(found).half_breadth == pytest.approx(np.interp(station, UNEVEN, port[:, row]), abs=EXACT)
            assert right(found).half_breadth == pytest.approx(np.interp(station, UNEVEN, starboard[:, row]), abs=EXACT)


@law(plans(parts=False, skin=False), st.floats(0.01, 0.99), st.floats(0.01, 0.99), examples=60)
def test_the_mesh_lies_inside_the_ruled_surface_by_no_more_than_it_says(plan: Plan, along: float, up: float) -> None:
    """The ruled surface is bilinear in every field of the table; flat triangles leave it inward, by a quarter of its twist."""
    body = plan.shell.lined.body
    assert isinstance(body, OffsetBody)
    station = body.stations[0] + along * np.ptp(body.stations)
    height = body.heights[0] + up * np.ptp(body.heights)
    found = width(plan.shell, height=float(height), station=float(station))
    for limit, table in ((left(found), body.left), (right(found), body.right)):
        profile = [np.interp(station, body.stations, table[:, row]) for row in range(len(body.heights))]
        ruled = np.interp(height, body.heights, profile)
        assert ruled - body.loft_deviation - EXACT <= limit.half_breadth <= ruled + EXACT


def test_the_stated_deviation_is_reached_in_the_middle_of_a_twisted_field() -> None:
    """A hyperbolic paraboloid over the unit square with corners 0, 0, 0, t: its middle is t/4, the inner diagonal's 0."""
    left = np.array([[800.0, 800.0], [800.0, 840.0]])
    body = OffsetBody(np.array([0.0, 1000.0]), np.array([0.0, 1000.0]), left, left, 1)
    assert body.loft_deviation == pytest.approx(10)
    assert right(width(_shell(body), height=500, station=500)).half_breadth == pytest.approx(800, abs=EXACT)
    flat = OffsetBody(
        np.array([0.0, 1000.0]), np.array([0.0, 1000.0]), left[:, ::-1] * 0 + [[800, 700], [820, 720]], left, 1
    )
    assert OffsetBody(flat.stations, flat.heights, flat.left, flat.left, 1).loft_deviation == 0


@pytest.mark.parametrize("lean", [-200.0, -40.0, 0.0, 40.0, 200.0, 400.0])
def test_a_lining_is_square_to_its_wall(lean: float) -> None:
    """A wall that leans by the angle a with a lining t loses t / cos a of half-breadth at every height."""
    thick, angle = 43.0, np.arctan(lean / 1800)
    lined = _shell(_straight([900, 900 - lean], np.array([0.0, 1800.0])), Lining(walls=thick))
    for height in (0.0, 0.1, 600.0, 1799.0, 1800.0):
        expected = 900 - lean * height / 1800 - thick / np.cos(angle)
        for limit in sides(width(lined, height=height, station=500)):
            assert limit.half_breadth == pytest.approx(expected, abs=EXACT)


def test_floor_and_roof_move_straight_up_and_down() -> None:
    shell = _shell(_straight([900, 880], np.array([-25.0, 1800.0])), Lining(roof=31.7, floor=25.0))
    assert shell.heights == pytest.approx((0.0, 1800 - 31.7), abs=EXACT)
    assert shell.stations == (0.0, 1000.0)
    bare = shell.lined.bare
    assert bare.volume == pytest.approx(1780 * 1825 * 1000)
    assert shell.void.volume == pytest.approx(
        1000 * np.trapezoid([2 * (900 - 20 * 25 / 1825), 2 * (880 + 20 * 31.7 / 1825)], [0, 1768.3])
    )


@law(st.floats(700, 900), st.lists(st.integers(-30, 200), min_size=4, max_size=4), st.floats(1, 90), examples=80)
def test_an_even_lining_is_the_mitered_offset_of_the_profile(foot: float, runs: list[int], thick: float) -> None:
    """shapely's inward buffer with mitered corners, for walls, roof and floor of one thickness; consumed strips included.

    Runs that grow with height keep the profile convex, where the offset is one polygon without doubt.
    """
    breadths = list(
        foot - np.concatenate([[0], np.cumsum(np.sort(runs))]) * np.interp(np.arange(5), [0, 4], [0.6, 0.8])
    )
    profile = _profile(breadths)
    if not profile.equals(profile.convex_hull):
        profile = profile.convex_hull
        breadths = [shapely.intersection(profile, shapely.LineString([(0, z), (2000, z)])).bounds[2] for z in HEIGHTS]
    body = _straight(breadths)
    found = section(body.inset(thick, thick, thick), station=300)
    reference = profile.buffer(-thick, join_style="mitre", mitre_limit=1e6)
    assert found.area == pytest.approx(reference.area, abs=EXACT * reference.length)
    assert found.polygons[0].hausdorff_distance(reference) < 1e-5


def test_a_strip_that_the_move_consumes_disappears() -> None:
    """A chamfer of 10 x 10 at the roof, 60 thick: its own move takes the corner as far as the two neighbors meet."""
    body = _straight([800, 800, 790], np.array([0.0, 1790.0, 1800.0]))
    moved = section(body.inset(60, 60, 0), station=500)
    assert moved.polygons[0].bounds == pytest.approx((-740, 0, 740, 1740), abs=EXACT)
    assert moved.area == pytest.approx(1480 * 1740, abs=1e-3)


def test_negative_moves_go_out() -> None:
    body = _straight([900, 700], np.array([0.0, 2000.0]))
    angle = np.arctan(200 / 2000)
    out = section(body.inset(-50, -30, -20), station=1)
    _, bottom, right, top = out.polygons[0].bounds
    assert (bottom, top) == pytest.approx((-20, 2030), abs=EXACT)
    assert right == pytest.approx(900 + 50 / np.cos(angle) + 20 * np.tan(angle), abs=EXACT)


def test_the_roof_begins_where_all_strips_lie_flatter_than_45_degrees() -> None:
    for breadths, row in (
        ([900, 880, 850, 800, 750], 4),
        ([900, 880, 850, 800, 300], 3),
        ([900, 880, 850, 349, 48], 2),
        ([900, 299, 290, 280, 270], 4),
    ):
        grid = np.tile(np.array(breadths, dtype=float), (2, 1))
        assert OffsetBody.roof_row_of(HEIGHTS, grid, grid) == row


def test_faces_are_named_by_what_they_are() -> None:
    """Of a profile whose upper strip is roof: a ray right hits the wall, and above the roof's row the roof."""
    shell = _shell(_straight([900, 880, 850, 800, 300]))
    assert {right(width(shell, height=z, station=500)).part for z in (10, 700, 1499)} == {"right wall"}
    assert right(width(shell, height=1600, station=500)).part == "roof"
    assert set(shell.void.surface.names) == {"left wall", "right wall", "roof", "floor", "front", "rear"}
    lower = _shell(_straight([900, 880, 850, 800, 300], roof_row=2))
    assert right(width(lower, height=1200, station=500)).part == "roof"


def test_walls_and_roof_may_be_lined_differently() -> None:
    """Each strip is parallel to its own bare line, at its own distance: by the distance of a point from a line."""
    breadths = [900, 880, 850, 800, 300]
    found = section(_straight(breadths).inset(40, 25, 10), station=500).polygons[0]
    for k, depth in enumerate((40, 40, 40, 25)):
        line = shapely.LineString([(breadths[k], HEIGHTS[k]), (breadths[k + 1], HEIGHTS[k + 1])])
        near = sorted(line.distance(shapely.Point(p)) for p in found.exterior.coords if p[0] > 0)
        assert sum(abs(d - depth) < 1e-5 for d in near) >= 2


@pytest.mark.parametrize(("walls", "roof"), [(900, 0), (0, 2000), (801, 0)])
def test_nothing_left_between_the_sides_is_told(walls: float, roof: float) -> None:
    with pytest.raises(InputError, match="thinner"):
        _straight([800, 800], np.array([0.0, 1800.0])).inset(walls, roof, 0)
