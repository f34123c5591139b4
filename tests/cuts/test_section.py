"""One cut: closed forms, trimesh and VTK, and both limits of a ledge."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
import shapely
from hypothesis import strategies as st
from scipy.special import gamma

from references import as_trimesh, box_shell, frustum, superellipse, torus, trimesh_section, vtk_section
from strategies import law, plans
from tumblehome.body.parts import Block, Sheet
from tumblehome.cuts import section
from tumblehome.errors import InputError
from tumblehome.solids import Solid
from vans import EXACT

if TYPE_CHECKING:
    from strategies import Plan

STEP = Block("step", "step", None, (0.0, 500.0), (-2000.0, 2000.0), (0.0, 120.0))
RAIL = Sheet("rail", "rail", None, (0.0, 3000.0), 30.0, ("left", "right"), False, (700.0, 800.0))


@law(plans(), st.sampled_from([0, 2]), st.floats(0.005, 0.995), examples=60)
def test_a_section_is_the_one_that_trimesh_and_vtk_find(plan: Plan, axis: int, share: float) -> None:
    """Both cut the same mesh. VTK agrees within a millionth of a millimeter; trimesh joins points nearer than 1e-5 mm."""
    void = plan.shell.void
    low, high = (float(corner[axis]) for corner in void.bounds)
    at = low + share * (high - low)
    found = section(plan.shell, height=at) if axis == 2 else section(plan.shell, station=at)
    outline = shapely.union_all(found.polygons)
    assert found.area == pytest.approx(outline.area, abs=EXACT * outline.length)
    for reference, near in ((trimesh_section(as_trimesh(void), axis, at), 1e-5), (vtk_section(void, axis, at), EXACT)):
        assert found.area == pytest.approx(reference.area, abs=near * outline.length)
        assert outline.hausdorff_distance(reference) < near
    assert found.axis == axis
    assert found.at == (at, at)


def test_the_section_of_a_prismatoid() -> None:
    """Check values: 1800 x 1700 to 1500 x 1400 over 3000 has V 7.695e9 (h (A1 + 4 M + A2) / 6, MathWorld "Prismatoid"),
    and at 1000 a section of 1700 x 1600 = 2.72e6; the mean of the ends would give a wrong volume of 7.74e9."""
    ends = [(x, y, z) for x, b, h in ((0, 900, 1700), (3000, 750, 1400)) for y in (-b, b) for z in (0, h)]
    solid = Solid.hull(np.array(ends, dtype=float), "prismatoid")
    assert solid.volume == pytest.approx(7.695e9, rel=1e-12)
    assert section(solid, station=1000).area == pytest.approx(2.72e6, rel=1e-12)
    for station in (1.0, 777.7, 2999.0):
        found = section(solid, station=station)
        assert found.area == pytest.approx((1800 - station / 10) * (1700 - station / 10), abs=EXACT * 7000)
        assert found.polygons[0].bounds == pytest.approx(
            (-900 + station / 20, 0, 900 - station / 20, 1700 - station / 10), abs=EXACT
        )


def test_the_trapezoid_of_a_leaning_van() -> None:
    """Area (B + b) h / 2, volume times the length; width at a height by proportion."""
    shell = box_shell(walls=(900, 700), top=1900, length=4000)
    assert shell.void.volume == pytest.approx((1800 + 1400) / 2 * 1900 * 4000, rel=1e-12)
    assert section(shell, station=1234.5).area == pytest.approx((1800 + 1400) / 2 * 1900, rel=1e-10)
    for height in (0.1, 700 / 3, 1899.9):
        assert section(shell, height=height).area == pytest.approx(
            4000 * (1800 - 400 * height / 1900), abs=EXACT * 12000
        )


def test_the_section_of_a_frustum_is_the_circle_of_its_height() -> None:
    """Radius by proportion; a regular n-gon has n/2 sin(2 pi/n) r^2, a little less than pi r^2."""
    sides = 180
    solid = frustum(sides, 2000.0, 1000.0, 1000.0)
    for height in (0.5, 250.0, 999.5):
        radius = 2000 - height
        area = section(solid, height=height).area
        assert area == pytest.approx(sides / 2 * np.sin(2 * np.pi / sides) * radius**2, rel=1e-9)
        assert 0.9997 * np.pi * radius**2 < area < np.pi * radius**2


@pytest.mark.parametrize("degrees", [0, 15, 40, 60])
def test_a_cylinder_cut_at_an_angle(degrees: int) -> None:
    """pi r^2 / cos(phi), phi the angle between the cut and the square one; exactly n/2 sin(2 pi/n) r^2 / cos(phi)."""
    sides, radius, phi = 360, 500.0, np.radians(degrees)
    upright = frustum(sides, radius, radius, 6000.0).moved((0, 0, -3000))
    tilt = np.array([(np.cos(phi), 0, np.sin(phi)), (0, 1, 0), (-np.sin(phi), 0, np.cos(phi))])
    found = section(upright.transformed(np.column_stack([tilt, np.zeros(3)])), height=0.0).area
    assert found == pytest.approx(sides / 2 * np.sin(2 * np.pi / sides) * radius**2 / np.cos(phi), rel=1e-9)
    assert 0.9999 * np.pi * radius**2 / np.cos(phi) < found < np.pi * radius**2 / np.cos(phi)


@pytest.mark.parametrize("height", [0.5, -0.5, 0.0, 0.9])
def test_a_height_cut_of_a_torus_is_an_annulus(height: float) -> None:
    """4 pi R sqrt(r^2 - h^2), check value 32.648389 for R 3, r 1, h 0.5, within the stated deviation of the faces."""
    solid, deviation = torus(3000.0, 1000.0, 256, 128)
    found = section(solid, height=1000 * height)
    assert 4 * np.pi * 3 * np.sqrt(1 - 0.25) == pytest.approx(32.648389, abs=5e-7)
    thin, thick = (4 * np.pi * 3000 * np.sqrt((1000 + d) ** 2 - (1000 * height) ** 2) for d in (-deviation, deviation))
    assert thin < found.area < thick
    (ring,) = found.polygons
    assert len(ring.interiors) == 1
    assert (
        shapely.Polygon(ring.interiors[0]).area
        > np.pi * (3000 - np.sqrt((1000 + deviation) ** 2 - (1000 * height) ** 2)) ** 2 * 0.999
    )


def test_a_vertical_cut_of_a_torus_is_a_spiric_section() -> None:
    """Beside the hole, at c = 2 for R 3, r 1, it is one figure whose outermost point lies sqrt(16 - 4) = 3.464102 out;
    nearer to the axis it falls into two ovals (spiric section, closed form by Pythagoras)."""
    solid, deviation = torus(3000.0, 1000.0, 256, 128)
    assert np.sqrt(12) == pytest.approx(3.464102, abs=5e-7)
    one = section(solid, station=2000.0001)
    assert max(abs(polygon.bounds[0]) for polygon in one.polygons) == pytest.approx(np.sqrt(12e6), abs=4 * deviation)
    for c, pieces in ((1000.0, 2), (2500.0, 1), (3900.0, 1)):
        found = section(solid, station=c)
        assert len(found.polygons) == pieces
        outermost = [np.sqrt((4000 + d) ** 2 - c**2) for d in (-deviation, deviation)]
        assert outermost[0] <= max(p.bounds[2] for p in found.polygons) <= outermost[1]
    assert section(solid, station=4001.0).is_empty


@pytest.mark.parametrize(("power", "area"), [(1, 2.0), (2, np.pi), (2.5, 3.380935363), (4, 3.708149355)])
def test_the_section_of_a_superellipse(power: float, area: float) -> None:
    """4 a b G(1 + 1/n)^2 / G(1 + 2/n), check values for a = b = 1; from inside, and within the deviation times the girth."""
    assert 4 * gamma(1 + 1 / power) ** 2 / gamma(1 + 2 / power) == pytest.approx(area, abs=5e-9)
    outline, deviation = superellipse(900.0, 1000.0, power, 1024)
    true = area * 900 * 1000
    found = section(Solid.prism(outline, 0, 2000, "barrel", axis=0), station=700)
    assert found.area <= true * (1 + 1e-12)
    assert found.area >= true - deviation * 4 * (900 + 1000)
    assert deviation < 1.0


def test_both_limits_are_taken_on_a_ledge() -> None:
    """Closed forms: 1600 x 1800 van, a rail 30 deep from 700 to 800 on both walls."""
    shell = box_shell(RAIL)
    clear, pinched = 3000 * 1600, 3000 * 1540
    for height, below, above in ((700, clear, pinched), (800, pinched, clear), (750, pinched, pinched)):
        assert section(shell, height=height, side="below").area == pytest.approx(below)
        assert section(shell, height=height, side="above").area == pytest.approx(above)
        assert section(shell, height=height).area == pytest.approx(min(below, above))


def test_both_limits_share_what_is_free_on_both_sides() -> None:
    """Two blocks, one below 400 on the left, one above on the right: at 400 a body meets both."""
    low = Block("low", "block", None, (0.0, 3000.0), (-2000.0, -300.0), (0.0, 400.0))
    high = Block("high", "block", None, (0.0, 3000.0), (200.0, 2000.0), (400.0, 900.0))
    shell = box_shell(low, high)
    assert section(shell, height=400, side="below").area == pytest.approx(3000 * 1100)
    assert section(shell, height=400, side="above").area == pytest.approx(3000 * 1000)
    assert section(shell, height=400).area == pytest.approx(3000 * 500)
    assert section(shell, height=400).polygons[0].bounds == pytest.approx((0, -300, 3000, 200))


def test_where_only_one_limit_exists_it_is_that_one() -> None:
    """At the floor, the roof, the ends, and on top of a step from wall to wall."""
    shell = box_shell(STEP)
    assert section(shell, height=0).area == pytest.approx(2500 * 1600)
    assert section(shell, height=1800).area == pytest.approx(3000 * 1600)
    assert section(shell, height=120).area == pytest.approx(2500 * 1600)
    assert section(shell, station=0).area == pytest.approx(1600 * 1680)
    assert section(shell, station=500).area == pytest.approx(1600 * 1680)
    assert section(shell, station=3000).area == pytest.approx(1600 * 1800)


def test_nothing_there_is_no_width_of_zero() -> None:
    shell = box_shell()
    for outside in ({"height": -0.1}, {"height": 1800.1}, {"station": -0.1}, {"station": 3000.1}):
        found = section(shell, **outside)  # type: ignore[arg-type]
        assert found.is_empty
        assert (found.area, found.polygons, found.rings) == (0.0, [], [])
    assert section(shell, height=1800, side="above").is_empty
    assert section(shell, height=0, side="below").is_empty


def test_holes_and_pieces_come_apart() -> None:
    """A free block is a hole, a wall from side to side cuts in two; outer rings counterclockwise, holes clockwise."""
    island = Block("island", "block", None, (500.0, 900.0), (-100.0, 300.0), (0.0, 700.0))
    across = Block("across", "block", None, (2000.0, 2100.0), (-2000.0, 2000.0), (0.0, 700.0))
    found = section(box_shell(island, across), height=300)
    assert [polygon.area for polygon in found.polygons] == pytest.approx([2000 * 1600 - 400 * 400, 900 * 1600])
    assert [len(polygon.interiors) for polygon in found.polygons] == [1, 0]
    assert sorted(shapely.LinearRing(ring).is_ccw for ring in found.rings) == [False, True, True]
    assert found.polygons[0].interiors[0].bounds == pytest.approx((500, -100, 900, 300))


def test_a_station_cut_looks_forward_with_left_at_the_left() -> None:
    left = Block("left", "block", None, (0.0, 3000.0), (-2000.0, -500.0), (0.0, 600.0))
    found = section(box_shell(left), station=1000)
    assert found.polygons[0].contains(shapely.Point(700, 300))
    assert not found.polygons[0].contains(shapely.Point(-700, 300))


def test_sections_of_one_plane_intersect_and_subtract() -> None:
    one, two = section(box_shell(RAIL), station=1000), section(box_shell(STEP), station=100)
    both = one & two
    reference = shapely.intersection(one.polygons[0], two.polygons[0])
    assert both.area == pytest.approx(reference.area, abs=EXACT * reference.length)
    assert (one - two._outline).area == pytest.approx(one.area - both.area, abs=EXACT * reference.length)


@pytest.mark.parametrize(
    "wrong",
    [{}, {"height": 1.0, "station": 1.0}, {"height": np.nan}, {"station": np.inf}, {"height": np.nan, "side": "above"}],
)
def test_a_cut_must_be_somewhere(wrong: Any) -> None:
    with pytest.raises(InputError):
        section(box_shell(), **wrong)
