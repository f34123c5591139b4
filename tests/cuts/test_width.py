"""Half-breadths about the centerline: closed forms, rays of trimesh, and the smaller limit of every ledge."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from hypothesis import strategies as st

from references import as_trimesh, box_shell, embree_hits, is_free, left, nearest_hit, right, shell_of, superellipse
from strategies import bulkhead, law, plans
from tumblehome.body.parts import Block, Doorway, Sheet
from tumblehome.cuts import free_run, width, width_chart
from tumblehome.errors import InputError
from tumblehome.solids import Solid
from tumblehome.sweep import Prism
from vans import EXACT

if TYPE_CHECKING:
    from strategies import Plan

STEP = Block("step", "step", None, (0.0, 500.0), (-2000.0, 2000.0), (0.0, 120.0))
RAIL = Sheet("rail", "rail", None, (0.0, 3000.0), 30.0, ("left", "right"), False, (700.0, 800.0))
BOX = Block("box", "block", None, (1000.0, 2000.0), (300.0, 2000.0), (0.0, 400.0))


@pytest.mark.parametrize("height", [0.0, 1e-3, 100 / 3, 700.0, 1899.999, 1900.0])
def test_a_leaning_wall(height: float) -> None:
    """Half-breadth by proportion, 900 to 700 over 1900; the tumblehome angle is atan(200 / 1900). Floor and roof included."""
    found = width(box_shell(walls=(900, 700), top=1900), height=height, station=1234.5)
    half = 900 - 200 * height / 1900
    for limit, name, sign in ((found.left, "left wall", -1), (found.right, "right wall", 1)):
        assert limit is not None
        assert limit.half_breadth == pytest.approx(half, abs=EXACT)
        assert limit.part == name
        assert limit.lean == pytest.approx(np.degrees(np.arctan(200 / 1900)), abs=1e-6)
        assert limit.at == pytest.approx((1234.5, sign * half, height), abs=EXACT)
    assert found.usable == pytest.approx(2 * half, abs=EXACT)


def test_over_an_interval_the_tightest_place_decides() -> None:
    """The top of a wall that leans in, the narrow end of a van that narrows; a wall that leans out leans negatively."""
    shell = box_shell(walls=(900, 700), top=1900)
    assert width(shell, heights=(0, 950), stations=(0, 3000)).usable == pytest.approx(1600, abs=EXACT)
    assert width(shell, heights=(0, 950), station=10).usable == pytest.approx(1600, abs=EXACT)
    out = width(box_shell(walls=(700, 900), top=1900), heights=(190, 950), station=10)
    assert out.usable == pytest.approx(2 * 720, abs=EXACT)
    assert out.right is not None
    assert right(out).lean == pytest.approx(-np.degrees(np.arctan(200 / 1900)))


@pytest.mark.parametrize("power", [2, 2.5, 4])
def test_the_width_of_a_superellipse_by_height(power: float) -> None:
    """2 a (1 - |y/b|^n)^(1/n); corners lie on it, so the chords are narrower, by no more than the stated deviation
    across the chord, which the slope there turns into breadth."""
    a, b = 900.0, 1000.0
    outline, deviation = superellipse(a, b, power, 2048)
    shell = shell_of(Solid.prism(outline, 0, 2000, "barrel", axis=0))
    for share in (-0.9, -0.5, 0.0, 0.123, 0.8, 0.95):
        half = a * (1 - abs(share) ** power) ** (1 / power)
        slope = a / b * abs(share) ** (power - 1) * (1 - abs(share) ** power) ** (1 / power - 1)
        found = width(shell, height=share * b, station=999).right
        assert found is not None
        assert half - 1.5 * deviation * np.hypot(1, slope) <= found.half_breadth <= half + EXACT


@pytest.mark.parametrize(("wide", "narrow", "height"), [(4000, 1000, 3000), (2000, 1600, 1800), (1800, 900, 2000)])
def test_the_largest_upright_rectangle_in_a_trapezoid(wide: float, narrow: float, height: float) -> None:
    """b h if B <= 2 b, else B^2 h / (4 (B - b)); check value 4, 1, 3 -> 4.0. A box's width is that of its heights."""
    largest = narrow * height if wide <= 2 * narrow else wide**2 * height / (4 * (wide - narrow))
    shell = box_shell(walls=(wide / 2, narrow / 2), top=height)
    best = height if wide <= 2 * narrow else wide * height / (2 * (wide - narrow))
    areas = {
        top: top * width(shell, heights=(0, top), station=1500).usable for top in (*np.linspace(1, height, 61), best)
    }
    assert areas[best] == pytest.approx(largest, rel=1e-9)
    assert max(areas.values()) <= largest * (1 + 1e-9)


@pytest.mark.parametrize("power", [2, 4])
def test_the_largest_upright_rectangle_in_a_superellipse(power: float) -> None:
    """4^(1 - 1/n) a b: 2 a b for n = 2, 2.828427 a b for n = 4; from inside, within a thousandth."""
    outline, _ = superellipse(900.0, 1000.0, power, 2048)
    shell = shell_of(Solid.prism(outline, 0, 2000, "barrel", axis=0))
    best = 1000 * 0.5 ** (1 / power)
    areas = [2 * h * width(shell, heights=(-h, h), station=5).usable for h in (best, *np.linspace(100, 990, 30))]
    true = 4 ** (1 - 1 / power) * 900 * 1000
    assert 0.999 * true < areas[0] <= true * (1 + 1e-9)
    assert max(areas) <= true * (1 + 1e-9)


def test_the_smaller_limit_is_taken_on_a_ledge() -> None:
    """Closed forms: a rail 30 proud from 700 to 800, a block to 300 from the centerline from 1000 to 2000, 400 high."""
    shell = box_shell(RAIL, BOX)
    for height, half in ((699.9, 800), (700, 770), (750, 770), (800, 770), (800.1, 800), (0, 800), (1800, 800)):
        assert right(width(shell, height=height, station=100)).half_breadth == pytest.approx(half, abs=EXACT)
    for height, half in ((399.9, 300), (400, 300), (400.1, 800), (0, 300)):
        assert right(width(shell, height=height, station=1500)).half_breadth == pytest.approx(half, abs=EXACT)
    for station, half in ((999.9, 800), (1000, 300), (1500, 300), (2000, 300), (2000.1, 800)):
        assert right(width(shell, height=200, station=station)).half_breadth == pytest.approx(half, abs=EXACT)
        assert width_chart(shell, [200], [station]).right[0, 0] == pytest.approx(half, abs=EXACT)
        assert left(width(shell, height=200, station=station)).half_breadth == pytest.approx(800, abs=EXACT)


def test_an_open_interval_does_not_feel_the_ledge_at_its_end() -> None:
    shell = box_shell(RAIL, BOX)
    assert width(shell, heights=(0, 700), station=100).usable == pytest.approx(1600, abs=EXACT)
    assert width(shell, heights=(0, 700.001), station=100).usable == pytest.approx(1540, abs=EXACT)
    assert width(shell, height=200, stations=(0, 1000)).usable == pytest.approx(1600, abs=EXACT)
    assert width(shell, height=200, stations=(0, 1000.001)).usable == pytest.approx(1100, abs=EXACT)


def test_on_top_of_a_step_its_own_limit_is_the_only_one() -> None:
    """Below the step's top nothing is free: that is no width of zero, and above it the walls decide."""
    shell = box_shell(STEP)
    assert width(shell, height=120, station=250).usable == pytest.approx(1600, abs=EXACT)
    for height in (0, 60, 119.999):
        blocked = width(shell, height=height, station=250)
        assert (blocked.usable, blocked.left, blocked.right, blocked.blocked_by) == (None, None, None, "step")
    chart = width_chart(shell, [0, 60, 120], [250, 1000])
    assert np.isnan(chart.usable[:2, 0]).all()
    assert (chart.left_part[:2, 0] == -1).all()
    assert chart.usable[:, 1] == pytest.approx([1600] * 3)
    assert chart.usable[2, 0] == pytest.approx(1600)


def test_outside_nothing_is_there() -> None:
    shell = box_shell(bulkhead(400.0, 1800.0, 200.0))
    for height, station in ((-1, 1000), (1801, 1000), (900, 3001), (900, -1)):
        assert width(shell, height=height, station=station).blocked_by == "outside the shell"
    assert width(shell, height=900, station=450).blocked_by == "bulkhead"
    assert width(shell, height=900, station=501).usable == pytest.approx(1600, abs=EXACT)
    assert np.isnan(width_chart(shell, [-1, 1801], [-1, 1000, 3001]).usable).all()


def test_what_stands_on_the_centerline_blocks_it() -> None:
    """Touching it counts as standing on it; a micrometer beside it is a width again."""
    for edge, usable in ((-100.0, None), (0.0, None), (1e-3, 800 + 1e-3)):
        shell = box_shell(Block("post", "block", None, (1000.0, 1100.0), (edge, 300.0), (0.0, 900.0)))
        found = width(shell, height=500, station=1050)
        assert found.usable == (usable if usable is None else pytest.approx(usable, abs=EXACT))
        assert found.blocked_by == ("post" if usable is None else None)


def test_a_limit_in_a_doorway_bears_its_name() -> None:
    door = Doorway("slide", "right", (1000.0, 1800.0), (0.0, 1200.0))
    shell = box_shell(doorways=(door,))
    assert right(width(shell, height=600, station=1400)).part == "slide"
    assert right(width(shell, height=600, station=900)).part == "right wall"
    assert right(width(shell, height=1300, station=1400)).part == "right wall"
    assert left(width(shell, height=600, station=1400)).part == "left wall"
    opened = width(shell.opened("slide"), height=600, station=1400)
    assert right(opened).half_breadth == pytest.approx(1800, abs=EXACT)
    assert width(shell, height=600, station=1400).usable == pytest.approx(1600, abs=EXACT)


@law(plans(), examples=60)
def test_the_chart_is_what_rays_find(plan: Plan) -> None:
    """Rays from the centerline by trimesh in double precision and by embree; nothing is there where trimesh says outside."""
    shell, mesh = plan.shell, as_trimesh(plan.shell.void)
    (x0, x1), (z0, z1) = shell.stations, shell.heights
    heights, stations = np.linspace(z0 - 5.17, z1 + 5.39, 9), np.linspace(x0 - 7.31, x1 + 6.77, 11)
    chart = width_chart(shell, heights, stations)
    z, x = np.meshgrid(heights, stations, indexing="ij")
    origins = np.column_stack([x.ravel(), np.zeros(x.size), z.ravel()])
    inside = mesh.contains(origins)
    assert inside.any()
    assert (inside == ~np.isnan(chart.usable.ravel())).all()
    for side, sign in ((chart.right, 1.0), (chart.left, -1.0)):
        rays = nearest_hit(mesh, origins, (0, sign, 0))
        assert np.abs(side.ravel() - rays)[inside].max() < EXACT
        assert np.abs(side.ravel() - embree_hits(mesh, origins, (0, sign, 0)))[inside].max() < 1e-2
    for k in np.flatnonzero(inside)[::9]:
        found = width(shell, height=origins[k, 2], station=origins[k, 0])
        assert found.usable == pytest.approx(chart.usable.ravel()[k], abs=EXACT)


@law(plans(), st.tuples(*[st.floats(0.05, 0.95)] * 2), st.floats(5, 300), st.floats(5, 300), examples=60)
def test_a_box_of_the_width_fits_and_a_wider_one_does_not(
    plan: Plan, share: tuple[float, float], long: float, high: float
) -> None:
    """The kernel's boolean judges a box over the two intervals; embree's rays bound its width from above."""
    shell, void = plan.shell, plan.shell.void
    (x0, x1), (z0, z1) = shell.stations, shell.heights
    x, z = x0 + share[0] * (x1 - x0 - long), z0 + share[1] * (z1 - z0 - high)
    found = width(shell, heights=(z, z + high), stations=(x, x + long))

    def fits(to_left: float, to_right: float) -> bool:
        return is_free([Prism.box((x, -to_left, z), (x + long, to_right, z + high))], void)

    if found.usable is None:
        assert found.blocked_by
        assert not fits(0.01, 0.01)
        return
    free = left(found).half_breadth, right(found).half_breadth
    assert found.usable == sum(free)
    assert fits(free[0] - EXACT, free[1] - EXACT)
    assert not fits(free[0] + EXACT, 0.01)
    assert not fits(0.01, free[1] + EXACT)
    grid = np.meshgrid(
        np.linspace(x + 0.01, x + long - 0.01, 23), np.linspace(z + 0.01, z + high - 0.01, 23), indexing="ij"
    )
    origins = np.column_stack([grid[0].ravel(), np.zeros(grid[0].size), grid[1].ravel()])
    for limit, sign in ((right(found), 1.0), (left(found), -1.0)):
        assert limit.half_breadth <= embree_hits(as_trimesh(void), origins, (0, sign, 0)).min() + 1e-2
        assert as_trimesh(void).nearest.on_surface([limit.at])[1][0] < EXACT
        assert limit.at[1] == pytest.approx(sign * limit.half_breadth)


def test_the_free_run_of_the_centerline() -> None:
    """Closed forms, on the floor and under the roof too: from a step's face at 500 to a post at 2000, else end to end."""
    post = Block("post", "block", None, (2000.0, 2100.0), (-50.0, 50.0), (0.0, 900.0))
    shell = box_shell(STEP, post)
    for height, run in (
        (0, (500, 2000)), (60, (500, 2000)), (120, (500, 2000)), (121, (0, 2000)), (900, (0, 2000)), (901, (0, 3000)),
        (1800, (0, 3000)), (1801, None), (-1, None),
    ):  # fmt: skip
        assert free_run(shell, height) == (None if run is None else pytest.approx(run, abs=EXACT))
    leaning = box_shell(bulkhead(400.0, 1800.0, 200.0))
    assert free_run(leaning, 900) == pytest.approx((500, 3000), abs=EXACT)


@pytest.mark.parametrize(
    "wrong",
    [
        {"height": 1}, {"station": 1}, {"height": 1, "heights": (0, 1), "station": 1}, {"heights": (1, 0), "station": 1},
        {"height": np.nan, "station": 1}, {"height": 1, "stations": (0, np.inf)}, {},
    ],
)  # fmt: skip
def test_a_place_must_be_one(wrong: Any) -> None:
    with pytest.raises(InputError):
        width(box_shell(), **wrong)


@pytest.mark.parametrize("wrong", [[], [1, 1], [2, 1], [np.nan], [[1, 2]], 3.0, [0, np.inf]])
def test_a_chart_needs_rising_lengths(wrong: Any) -> None:
    with pytest.raises(InputError, match="rise"):
        width_chart(box_shell(), wrong, [1, 2])
    with pytest.raises(InputError, match="rise"):
        width_chart(box_shell(), [1, 2], wrong)
