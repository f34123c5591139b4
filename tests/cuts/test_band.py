"""What is free throughout an interval: closed forms to 1e-6 mm, and many single cuts that hold it and close in on it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
import shapely
from hypothesis import assume
from hypothesis import strategies as st

from references import box_shell, frustum, shell_of, solid_of, torus, vtk_section
from strategies import law, plans
from tumblehome.body.parts import Block, Sheet
from tumblehome.cuts import band, section
from tumblehome.errors import InputError
from tumblehome.solids import Solid
from tumblehome.sweep import Prism
from vans import EXACT

if TYPE_CHECKING:
    from strategies import Plan
    from tumblehome.cuts import Section

RAIL = Sheet("rail", "rail", None, (0.0, 3000.0), 30.0, ("left", "right"), False, (700.0, 800.0))
shares = st.tuples(st.floats(0, 1), st.floats(0, 1)).map(sorted).filter(lambda pair: pair[1] - pair[0] > 0.01)


def _interval(solid: Solid, axis: int, share: list[float]) -> tuple[float, float]:
    low, high = (float(corner[axis]) for corner in solid.bounds)
    return low + share[0] * (high - low), low + share[1] * (high - low)


def _cut(solid: Solid, axis: int, at: float | tuple[float, float]) -> Section:
    if isinstance(at, tuple):
        return band(solid, heights=at) if axis == 2 else band(solid, stations=at)
    return section(solid, height=at) if axis == 2 else section(solid, station=at)


@pytest.mark.parametrize("top", [0.1, 100 / 3, 700.0, 1900 / 7 * 5, 1900.0])
def test_the_band_of_a_leaning_van_is_its_narrowest_height(top: float) -> None:
    """Half-breadth 900 - 200 z / 1900: at a free top it decides, exactly, though the kernel's plane geometry rounds."""
    shell = box_shell(walls=(900, 700), top=1900)
    found = band(shell, heights=(0, top))
    half = 900 - 200 * top / 1900
    assert found.polygons[0].bounds == pytest.approx((0, -half, 3000, half), abs=EXACT)
    assert found.area == pytest.approx(6000 * half, abs=EXACT * 10000)
    assert len(found.polygons) == 1
    assert found.at == (0, top)


def test_a_band_passes_a_rail_only_where_it_stands_proud() -> None:
    """Closed form, and open ends: a band that ends where the rail begins does not feel it."""
    shell = box_shell(RAIL)
    clear, pinched = 3000 * 1600, 3000 * 1540
    for interval, area in (
        ((0, 700), clear), ((800, 1800), clear), ((0, 1800), pinched), ((0, 700.001), pinched), ((799.999, 1800), pinched),
        ((720, 730), pinched), ((700, 800), pinched), ((700, 700), pinched), ((800, 800), pinched),
    ):  # fmt: skip
        assert band(shell, heights=interval).area == pytest.approx(area, abs=1)


def test_a_band_over_stations_is_the_tightest_cross_section() -> None:
    """Bows 60 deep from station 1000 to 1040; the van also narrows: the prismatoid's section at its far end."""
    bow = Sheet("bow", "bow", None, (1000.0, 1040.0), 60.0, (), True, None)
    shell = box_shell(bow)
    assert band(shell, stations=(0, 1000)).area == pytest.approx(1600 * 1800)
    assert band(shell, stations=(0, 3000)).area == pytest.approx(1600 * 1740)
    assert band(shell, stations=(1040, 3000)).area == pytest.approx(1600 * 1800)
    ends = [(x, y, z) for x, b, h in ((0, 900, 1700), (3000, 750, 1400)) for y in (-b, b) for z in (0, h)]
    found = band(Solid.hull(np.array(ends, dtype=float), "prismatoid"), stations=(300, 1000))
    assert found.polygons[0].bounds == pytest.approx((-850, 0, 850, 1600), abs=EXACT)
    assert found.area == pytest.approx(2.72e6, abs=EXACT * 6600)


def test_the_band_of_a_frustum_is_its_upper_circle() -> None:
    sides = 180
    found = band(frustum(sides, 2000.0, 1000.0, 1000.0), heights=(100, 600))
    assert found.area == pytest.approx(sides / 2 * np.sin(2 * np.pi / sides) * 1400**2, abs=EXACT * 2 * np.pi * 1400)


def test_the_band_of_a_torus_is_the_annulus_of_its_ends() -> None:
    """4 pi R sqrt(r^2 - h^2) at the ends of (-h, h), within the stated deviation of the faces; it keeps its hole."""
    solid, deviation = torus(3000.0, 1000.0, 128, 64)
    found = band(solid, heights=(-500, 500))
    thin, thick = (4 * np.pi * 3000 * np.sqrt((1000 + d) ** 2 - 500**2) for d in (-deviation, deviation))
    assert thin < found.area < thick
    assert len(found.polygons[0].interiors) == 1


@law(plans(), st.sampled_from([0, 2]), shares, st.lists(st.floats(0.001, 0.999), min_size=3, max_size=3), examples=50)
def test_every_cut_within_holds_the_band(plan: Plan, axis: int, share: list[float], inner: list[float]) -> None:
    """VTK cuts the void within the interval; the band sticks out of none by more than rounding."""
    void = plan.shell.void
    low, high = _interval(void, axis, share)
    found = _cut(void, axis, (low, high))
    halves = [(ring + shift) / 2 for ring in found.rings for shift in (ring, np.roll(ring, 1, axis=0))]
    outline = shapely.points(np.concatenate([np.empty((0, 2)), *halves]))
    for at in low + np.array(inner) * (high - low):
        assume(np.abs(void.mesh()[0][:, axis] - at).min() > EXACT)  # on a ledge VTK takes either side
        cut = vtk_section(void, axis, float(at))
        assert shapely.distance(outline, cut).max(initial=0.0) < EXACT
        for hole in (hole for piece in shapely.get_parts(cut) for hole in piece.interiors):
            middle = shapely.Polygon(hole).representative_point()
            assert not any(piece.contains(middle) for piece in found.polygons)


@law(plans(), st.sampled_from([0, 2]), shares, examples=25)
def test_many_cuts_close_in_on_the_band(plan: Plan, axis: int, share: list[float]) -> None:
    """The common part of cuts at both ends, at every corner and between any two holds the band, and hardly more."""
    void = plan.shell.void
    low, high = _interval(void, axis, share)
    corners = void.mesh()[0][:, axis]
    between = np.unique(
        [low + EXACT, *corners[(corners > low) & (corners < high)], *np.linspace(low, high, 8)[1:-1], high - EXACT]
    )
    levels = np.sort(np.concatenate([between, (between[:-1] + between[1:]) / 2]))
    common = _cut(void, axis, float(levels[0]))
    for at in levels[1:]:
        common &= _cut(void, axis, float(at))
    exact = _cut(void, axis, (low, high)).area
    noise = EXACT * 20000
    assert exact - noise <= common.area <= 1.001 * exact + noise


@law(plans(), shares, examples=40)
def test_a_wider_interval_never_frees_more(plan: Plan, share: list[float]) -> None:
    void = plan.shell.void
    for axis in (0, 2):
        low, high = _interval(void, axis, share)
        middle = (low + high) / 2
        whole, first, second = (_cut(void, axis, ends) for ends in ((low, high), (low, middle), (middle, high)))
        noise = EXACT * 20000
        assert whole.area <= min(first.area, second.area) + noise
        at_seam = _cut(void, axis, middle)
        assert (first & second & at_seam).area == pytest.approx(whole.area, abs=noise)


@law(plans(), shares, st.floats(0.1, 0.9), st.floats(-0.6, 0.6), examples=40)
def test_an_upright_box_is_free_exactly_where_its_footprint_lies_in_the_band(
    plan: Plan, share: list[float], x: float, y: float
) -> None:
    """The kernel's boolean of the box itself is the judge."""
    void = plan.shell.void
    low, high = _interval(void, 2, share)
    start, end = plan.shell.stations
    at = start + x * (end - start)
    outline = np.array([(-150, -120), (150, -120), (150, 120), (-150, 120)]) + np.array([at, 900 * y])
    left_over = (solid_of([Prism(outline, low, high)]) - void).volume
    outside = shapely.Polygon(outline).difference(shapely.union_all(band(void, heights=(low, high)).polygons)).area
    assert (left_over > EXACT * (high - low)) == (outside > EXACT)


def test_equal_ends_mean_the_cut_with_both_its_limits() -> None:
    shell = box_shell(RAIL, Block("step", "step", None, (0.0, 500.0), (-2000.0, 2000.0), (0.0, 120.0)))
    for height in (0, 120, 400, 700, 800, 1800):
        assert band(shell, heights=(height, height)).area == section(shell, height=height).area
    assert band(shell, stations=(500, 500)).area == section(shell, station=500).area


def test_rounding_beside_a_ledge_changes_nothing() -> None:
    """A step 0.1 + 0.2 high is met at 0.3, though the sum is no float; closed forms of what is free above and below it."""
    step = Block("step", "step", None, (0.0, 500.0), (-2000.0, 200.0), (0.0, 0.1 + 0.2))
    assert step.heights[1] != 0.3
    for parts in ((step,), (Block("step", "step", None, (0.0, 500.0), (-2000.0, 200.0), (0.0, 0.3 - 1e-16)),)):
        shell = box_shell(*parts)
        for at in (0.3, 0.1 + 0.2, np.nextafter(0.3, 0)):
            assert band(shell, heights=(at, 900)).area == pytest.approx(3000 * 1600)
            assert band(shell, heights=(0, at)).area == pytest.approx(3000 * 1600 - 500 * 1000)
            assert section(shell, height=at).area == pytest.approx(3000 * 1600 - 500 * 1000)
            assert section(shell, height=at, side="above").area == pytest.approx(3000 * 1600)
            assert section(shell, height=at, side="below").area == pytest.approx(3000 * 1600 - 500 * 1000)


def test_nothing_is_free_beyond_the_ends() -> None:
    shell = box_shell()
    for interval in ((-10, 1800), (-10, -5), (0, 1800.1), (1900, 2000)):
        assert band(shell, heights=interval).is_empty
    assert band(shell, heights=(0, 1800)).area == pytest.approx(3000 * 1600)
    assert band(shell_of(Solid.box((0, -1, 0), (1, 1, 1), "tiny")), stations=(0, 1)).area == pytest.approx(2)


@pytest.mark.parametrize(
    "wrong",
    [
        {},
        {"heights": (0, 1), "stations": (0, 1)},
        {"heights": (2, 1)},
        {"stations": (np.nan, 1)},
        {"heights": (0, np.inf)},
    ],
)
def test_an_interval_must_be_one(wrong: Any) -> None:
    with pytest.raises(InputError):
        band(box_shell(), **wrong)
