"""What each part takes or gives, worked by hand in vans of flat walls; all to a millionth of a millimeter."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
import shapely
from hypothesis import strategies as st

from references import box_shell, left, right
from strategies import bulkhead, law, millimeters
from tumblehome.body.offsets import OffsetBody
from tumblehome.body.parts import Block, Doorway, Housing, Lined, Lining, MeshMember, Recess, Sheet, Well
from tumblehome.body.shell import Shell
from tumblehome.cuts import free_run, section, width, width_chart
from tumblehome.errors import InputError
from tumblehome.solids import Solid
from tumblehome.tolerances import ARC
from vans import EXACT, near

if TYPE_CHECKING:
    from tumblehome.body.parts import Part, Side

LEAN = np.arctan(200 / 1900)  # of the leaning van below: half-breadth 900 to 700 over 1900


def leaning_shell(*parts: Part, lining: Lining | None = None) -> Shell:
    return box_shell(*parts, walls=(900, 700), top=1900, lining=lining)


def wall(height: float) -> float:
    return 900 - 200 * height / 1900


def half_breadths(shell: Shell, height: float, station: float) -> tuple[float, float]:
    found = width(shell, height=height, station=station)
    assert found.left is not None
    assert found.right is not None
    return left(found).half_breadth, right(found).half_breadth


def liters(shell: Shell, name: str) -> float:
    return shell.solid_of(name).volume / 1e6


# Sheets that follow the skin


@pytest.mark.parametrize("sides", [("left",), ("right",), ("left", "right")])
def test_a_rib_stands_square_to_a_leaning_wall(sides: tuple[Side, ...]) -> None:
    """It takes depth / cos(lean) of half-breadth within its stations and heights, and nothing beside them."""
    rib = Sheet("rib", "rib", None, (1000.0, 1050.0), 40.0, sides, False, (300.0, 1200.0))
    shell = leaning_shell(rib)
    for height, station, within in (
        (300.1, 1025, 1),
        (700, 1000.1, 1),
        (1199, 1049, 1),
        (299, 1025, 0),
        (1201, 1025, 0),
        (700, 999, 0),
        (700, 1051, 0),
    ):
        expected = [wall(height) - within * (side in sides) * 40 / np.cos(LEAN) for side in ("left", "right")]
        assert half_breadths(shell, height, station) == pytest.approx(expected, abs=EXACT)
    assert liters(shell, "rib") == pytest.approx(len(sides) * 50 * 900 * 40 / np.cos(LEAN) / 1e6)
    assert {right(width(shell, height=700, station=1025)).part} == {"rib" if "right" in sides else "right wall"}


def test_a_rib_without_heights_runs_from_floor_to_roof() -> None:
    shell = leaning_shell(
        Sheet("rib", "pillar", None, (1000.0, 1050.0), 40.0, ("right",), False, None), lining=Lining(10.0, 20.0, 30.0)
    )
    for height in (0.0, 900.0, 1880.0):
        assert half_breadths(shell, height, 1025)[1] == pytest.approx(
            wall(height) - (10 + 40) / np.cos(LEAN), abs=EXACT
        )


def test_a_rail_runs_along_both_walls() -> None:
    """Both limits of its lower and upper face; the smaller is reported on them."""
    shell = leaning_shell(Sheet("rail", "rail", None, (0.0, 3000.0), 25.0, ("left", "right"), False, (1500.0, 1600.0)))
    for height, taken in ((1499.9, 0), (1500, 25), (1550, 25), (1600, 25), (1600.1, 0)):
        for station in (0.1, 1500, 2999.9):
            assert half_breadths(shell, height, station) == pytest.approx(
                [wall(height) - taken / np.cos(LEAN)] * 2, abs=EXACT
            )


def test_a_bow_hangs_from_the_roof_alone() -> None:
    shell = leaning_shell(Sheet("bow", "bow", None, (1000.0, 1040.0), 60.0, (), True, None))
    assert liters(shell, "bow") == pytest.approx(
        40 * np.trapezoid([2 * wall(1840), 2 * wall(1900)], [1840, 1900]) / 1e6
    )
    assert shell.solid_of("bow").bounds[0][2] == pytest.approx(1840, abs=EXACT)
    assert half_breadths(shell, 1839.9, 1020) == pytest.approx([wall(1839.9)] * 2, abs=EXACT)
    assert width(shell, height=1850, station=1020).blocked_by == "bow"


def test_a_bow_follows_a_roof_of_strips() -> None:
    """Square to each strip of a vaulted roof: distance of its lower face from the bare lines, by shapely."""
    heights, breadths = np.array([0.0, 1500.0, 1700.0, 1800.0]), np.array([900.0, 850.0, 600.0, 100.0])
    grid = np.tile(breadths, (2, 1))
    body = OffsetBody(np.array([0.0, 3000.0]), heights, grid, grid, 1)
    shell = Shell(
        "vault", 3.0, Lined(body, Lining()), (Sheet("bow", "bow", None, (1000.0, 1040.0), 50.0, (), True, None),)
    )
    points = np.column_stack([breadths, heights])
    roof = shapely.LineString([*points[1:], *(points[1:][::-1] * (-1, 1))])
    below = [p for p in section(shell, station=1020).polygons[0].exterior.coords if p[1] > 1500]
    assert len(below) >= 4
    corners = [p for p in below if abs(p[0]) < 560]
    assert corners
    assert min(roof.distance(shapely.Point(p)) for p in corners) == pytest.approx(50, abs=EXACT)
    hit = width(shell, height=1600, station=1020)
    assert right(hit).part == "bow"
    assert roof.distance(shapely.Point(right(hit).half_breadth, 1600)) == pytest.approx(50, abs=EXACT)


def test_a_hoop_is_a_rib_and_a_bow() -> None:
    shell = leaning_shell(Sheet("hoop", "hoop", None, (1000.0, 1040.0), 60.0, ("left", "right"), True, None))
    assert half_breadths(shell, 900, 1020) == pytest.approx([wall(900) - 60 / np.cos(LEAN)] * 2, abs=EXACT)
    assert section(shell, station=1020).polygons[0].bounds[3] == pytest.approx(1840, abs=EXACT)


# Wheel housings


def test_a_square_housing() -> None:
    """Its face stands off the wall where that is nearest the centerline: at its own top, on a wall that leans in."""
    shell = leaning_shell(Housing("housing", "housing", None, "left", (1000.0, 1700.0), 300.0, 200.0, 0.0, 0.0))
    for height, station, half in (
        (0, 1350, wall(300) - 200), (299.9, 1000.1, wall(300) - 200), (300, 1350, wall(300) - 200), (300.1, 1350, wall(300.1)),
        (150, 999.9, wall(150)), (150, 1700.1, wall(150)), (150, 1700, wall(300) - 200),
    ):  # fmt: skip
        assert half_breadths(shell, height, station) == pytest.approx([half, wall(height)], abs=EXACT)
    upper, lower = wall(300), wall(0)
    assert liters(shell, "housing") == pytest.approx(700 * 300 * ((upper + lower) / 2 - (upper - 200)) / 1e6)


def test_a_beveled_housing() -> None:
    """Its upper edges across the van are cut off at 45 degrees: free there, by the line between the two cuts."""
    shell = box_shell(Housing("housing", "housing", None, "right", (1000.0, 1700.0), 300.0, 200.0, 100.0, 0.0))
    for station, height, within in (
        (1050, 249.9, 1),
        (1050, 250.1, 0),
        (1001, 200.9, 1),
        (1001, 201.1, 0),
        (1650, 249.9, 1),
        (1650, 250.1, 0),
        (1350, 299.9, 1),
    ):
        assert half_breadths(shell, height, station)[1] == pytest.approx(800 - 200 * within, abs=EXACT)
    assert liters(shell, "housing") == pytest.approx(200 * (700 * 300 - 100 * 100) / 1e6)


@pytest.mark.parametrize("radius", [10.0, 80.0, 140.0, 300.0])
def test_a_rounded_housing_lies_outside_its_circle_by_no_more_than_the_tolerance(radius: float) -> None:
    """Quarter circles tangent to end and top; less free room than the true ones, never more. shapely measures both."""
    housing = Housing("housing", "housing", None, "right", (1000.0, 1700.0), 300.0, 200.0, 0.0, radius)
    shell = box_shell(housing)
    seen = shapely.union_all(
        [shapely.Polygon(t[:, [0, 2]]) for t in shell.solid_of("housing").surface.triangles if np.ptp(t[:, 1]) < EXACT]
    )
    circle = shapely.Point(1000 + radius, 300 - radius).buffer(radius, quad_segs=4096)
    corner = shapely.box(1000, 300 - radius, 1000 + radius, 300)
    assert shapely.intersection(circle, corner).difference(seen.buffer(1e-5)).area < 1e-6
    rim = [shapely.Point(p) for p in seen.exterior.coords if corner.buffer(-1e-6).contains(shapely.Point(p))]
    assert rim
    assert max(np.hypot(p.x - 1000 - radius, p.y - 300 + radius) for p in rim) <= radius + ARC + EXACT
    assert min(np.hypot(p.x - 1000 - radius, p.y - 300 + radius) for p in rim) >= radius
    true = 200 * (700 * 300 - 2 * (1 - np.pi / 4) * radius**2)
    assert true <= shell.solid_of("housing").volume <= true + 200 * 2 * ARC * np.pi / 2 * (radius + ARC)


def test_a_lining_moves_the_housing_with_the_wall() -> None:
    """It stands off the lined wall, by hand: the wall loses 40 / cos(lean) first."""
    shell = leaning_shell(
        Housing("h", "housing", None, "right", (1000.0, 1700.0), 300.0, 200.0, 0.0, 0.0), lining=Lining(walls=40.0)
    )
    assert half_breadths(shell, 100, 1350)[1] == pytest.approx(wall(300) - 40 / np.cos(LEAN) - 200, abs=EXACT)


# Recesses and wells


def test_a_recess_is_square_to_a_leaning_wall() -> None:
    """It gives depth / cos(lean) of half-breadth within its window; an upright window's edges run straight out."""
    shell = leaning_shell(
        Recess("recess", "recess", None, "right", (1000.0, 1600.0), (800.0, 1300.0), 45.0, 0.0, 0.0),
        lining=Lining(walls=50.0),
    )
    skin = [wall(z) - 50 / np.cos(LEAN) for z in (1000, 799, 1301)]
    for height, station, bare, within in (
        (1000, 1300, 0, 1), (1000, 1000.1, 0, 1), (1000, 1599.9, 0, 1), (1000, 999, 0, 0), (1000, 1601, 0, 0),
        (799, 1300, 1, 0), (1301, 1300, 2, 0),
    ):  # fmt: skip
        expected = [skin[bare], skin[bare] + within * 45 / np.cos(LEAN)]
        assert half_breadths(shell, height, station) == pytest.approx(expected, abs=EXACT)
    assert right(width(shell, height=1000, station=1300)).part == "recess"
    assert liters(shell, "recess") == pytest.approx(600 * 500 * 45 / np.cos(LEAN) / 1e6)
    assert shell.part("recess").gives


@pytest.mark.parametrize("side", ["left", "right"])
@pytest.mark.parametrize("station", [300.0, 1000.0, 2600.0])
def test_a_recess_from_the_floor_up_is_as_deep_at_its_foot(side: Side, station: float) -> None:
    """An upright wall and 40 mm behind it: 840, wherever the floor's triangles happen to meet."""
    shell = box_shell(
        Recess("recess", "recess", None, side, (station - 200, station + 200), (0, 900), 40, 0, 0), walls=(800, 800)
    )
    for height in (0.01, 5.0, 29.0, 400.0, 899.0):
        found = half_breadths(shell, height, station)
        assert found[0 if side == "left" else 1] == pytest.approx(840, abs=EXACT)
        assert found[1 if side == "left" else 0] == pytest.approx(800, abs=EXACT)


def test_both_limits_at_the_edge_of_a_recess() -> None:
    """On the line of its sill the lined wall is the nearer one, so it is the one reported."""
    shell = box_shell(Recess("recess", "recess", None, "left", (1000.0, 1600.0), (800.0, 1300.0), 45.0, 0.0, 0.0))
    for height, given in ((800, 0), (800.001, 45), (1299.999, 45), (1300, 0)):
        assert half_breadths(shell, height, 1300)[0] == pytest.approx(800 + given, abs=EXACT)


@pytest.mark.parametrize("corner", [20.0, 60.0, 250.0, 900.0])
def test_the_corners_of_a_recess_lie_inside_their_circles(corner: float) -> None:
    """Never more room than the rounded window gives, and less by no more than the tolerance; the radius fits the window."""
    shell = box_shell(Recess("recess", "recess", None, "right", (1000.0, 1600.0), (800.0, 1300.0), 45.0, corner, 0.0))
    seen = shapely.union_all(
        [shapely.Polygon(t[:, [0, 2]]) for t in shell.solid_of("recess").surface.triangles if np.ptp(t[:, 1]) < EXACT]
    )
    radius = min(corner, 250.0)
    true = shapely.box(1000 + radius, 800 + radius, 1600 - radius, 1300 - radius).buffer(radius, quad_segs=4096)
    true = true if radius < 250 else shapely.LineString([(1250, 1050), (1350, 1050)]).buffer(250, quad_segs=4096)
    assert seen.difference(true.buffer(1e-4)).area < 1e-6
    assert true.hausdorff_distance(seen) <= ARC + 1e-4
    assert seen.bounds == pytest.approx((1000, 800, 1600, 1300), abs=EXACT)


@pytest.mark.parametrize("shell", [box_shell, leaning_shell])
def test_a_beveled_recess_opens_wider_at_the_face(shell: Any) -> None:
    """By the bevel on each edge at the skin, by half of it half way down, by nothing at its full depth."""
    recess = Recess("recess", "recess", None, "right", (1000.0, 1600.0), (800.0, 1300.0), 40.0, 0.0, 30.0)
    made, without = shell(recess), shell()
    skin = half_breadths(without, 1050, 1300)[1]
    full = half_breadths(made, 1050, 1300)[1] - skin
    for out in (29.9, 15.0, 0.1, 0.0):
        for station in (1000 - out, 1600 + out):
            expected = skin + full * (1 - out / 30)
            assert half_breadths(made, 1050, station)[1] == pytest.approx(expected, abs=EXACT)
        for height in (800 - out, 1300 + out):
            expected = half_breadths(without, height, 1300)[1] + full * (1 - out / 30)
            assert half_breadths(made, height, 1300)[1] == pytest.approx(expected, abs=EXACT)
    for station, height in ((969.9, 1050), (1630.1, 1050), (1300, 769.9), (1300, 1330.1)):
        assert half_breadths(made, height, station)[1] == pytest.approx(
            half_breadths(without, height, station)[1], abs=EXACT
        )


@pytest.mark.parametrize("bevel", [0.0, 10.0])
def test_a_recess_keeps_its_depth_on_a_wall_that_bulges(bevel: float) -> None:
    """Square to every strip of a barrel wall that bulges by more than the recess is deep."""
    heights, breadths = np.array([0.0, 400.0, 800.0, 1200.0, 1600.0]), np.array([780.0, 850.0, 880.0, 850.0, 780.0])
    grid = np.tile(breadths, (2, 1))
    body = OffsetBody(np.array([0.0, 3000.0]), heights, grid, grid, 4)
    shell = Shell(
        "barrel",
        3.0,
        Lined(body, Lining()),
        (Recess("r", "recess", None, "right", (500.0, 2000.0), (100.0, 1500.0), 30.0, 0.0, bevel),),
    )
    line = shapely.LineString(np.column_stack([breadths, heights]))
    for height in (150, 300, 600, 790, 1000, 1450):
        there = half_breadths(shell, height, 1250)[1]
        assert line.distance(shapely.Point(there, height)) == pytest.approx(30, abs=EXACT)


@law(
    millimeters(-150, 150),
    millimeters(5, 60),
    st.sampled_from([0.0, 5.0, 20.0]),
    st.sampled_from([0.0, 30.0]),
    examples=40,
)
def test_a_recess_has_its_depth_whatever_the_lean(lean: float, depth: float, bevel: float, corner: float) -> None:
    """depth / cos(lean) of half-breadth in its middle, on either side."""
    for side in ("left", "right"):
        recess = Recess("recess", "recess", None, side, (1000.0, 1600.0), (800.0, 1300.0), depth, corner, bevel)
        shell = box_shell(recess, walls=(850, 850 - lean), top=1800)
        found = half_breadths(shell, 1050, 1300)[side == "right"]
        assert found == pytest.approx(850 - lean * 1050 / 1800 + depth / np.cos(np.arctan(lean / 1800)), abs=EXACT)


def test_a_well_goes_below_the_floor() -> None:
    shell = box_shell(Well("well", "well", None, (300.0, 900.0), (200.0, 700.0), 150.0))
    assert liters(shell, "well") == pytest.approx(600 * 500 * 150 / 1e6)
    assert shell.heights == pytest.approx((-150, 1800))
    assert section(shell, height=-0.1).area == pytest.approx(600 * 500)
    assert section(shell, height=0).area == pytest.approx(3000 * 1600)  # what stands on the floor is above it
    assert section(shell, height=0, side="both").area == section(shell, height=0, side="above").area
    on_floor, over_well = width(shell, height=0, station=1500), width(shell, height=0, station=600)
    assert (on_floor.usable, over_well.usable) == (near(1600), near(1600))
    assert width_chart(shell, [-100, 0], [600, 1500]).usable[1].tolist() == near([1600, 1600])
    assert free_run(shell, 0) == near((0, 3000))


# Blocks, steps, bulkheads, meshes


def test_a_block_and_a_step() -> None:
    step = Block("step", "step", None, (0.0, 500.0), (-2000.0, 2000.0), (0.0, 120.0))
    shelf = Block("shelf", "block", None, (1000.0, 1600.0), (-500.0, -100.0), (700.0, 730.0))
    shell = box_shell(step, shelf)
    assert liters(shell, "step") == pytest.approx(500 * 1600 * 120 / 1e6)
    assert liters(shell, "shelf") == pytest.approx(600 * 400 * 30 / 1e6)
    assert half_breadths(shell, 715, 1300) == pytest.approx((100, 800), abs=EXACT)
    assert half_breadths(shell, 699.9, 1300) == pytest.approx((800, 800), abs=EXACT)


@pytest.mark.parametrize("lean", [-150.0, 0.0, 150.0])
def test_a_bulkhead_that_leans(lean: float) -> None:
    """The free stations begin on its plane, by proportion; both limits where it ends below the roof."""
    shell = box_shell(bulkhead(400.0, 1800.0, lean))
    for height in (0.0, 450.0, 1799.0):
        front = min(p.bounds[0] for p in section(shell, height=height).polygons)
        assert front == pytest.approx(400 + lean * height / 1800, abs=EXACT)
    assert liters(shell, "bulkhead") == pytest.approx(1600 * 1800 * (400 + lean / 2) / 1e6)
    low = box_shell(bulkhead(400.0, 900.0, lean))
    assert section(low, height=900, side="above").area == pytest.approx(3000 * 1600)
    assert section(low, height=900, side="below").area == pytest.approx((2600 - lean) * 1600)
    assert section(low, height=900).area == pytest.approx((2600 - lean) * 1600)


def test_a_member_from_a_mesh_is_taken_as_it_is() -> None:
    wedge = Solid.prism([(0, 1000), (300, 1000), (0, 1400)], -900, 0, "mesh", axis=1)
    shell = box_shell(MeshMember("fuel tank", "mesh", None, wedge))
    assert liters(shell, "fuel tank") == pytest.approx(300 * 400 / 2 * 800 / 1e6)
    assert half_breadths(box_shell(MeshMember("tank", "mesh", None, wedge.moved((0, -100, 0)))), 150, 1100)[
        0
    ] == pytest.approx(100, abs=EXACT)


# Doorways


@pytest.mark.parametrize(
    ("door", "inside", "passage"),
    [
        (Doorway("door", "right", (1000.0, 1800.0), (0.0, 1200.0)), (1400, 810, 600), (1400, 1700, 600)),
        (Doorway("door", "left", (1000.0, 1800.0), (0.0, 1200.0)), (1400, -810, 600), (1400, -1700, 600)),
        (Doorway("door", "rear", (-600.0, 400.0), (0.0, 1500.0)), (3010, 0, 600), (3900, -590, 1400)),
    ],
)
def test_a_doorway_is_closed_until_it_is_opened(door: Doorway, inside: Any, passage: Any) -> None:
    """Clear opening times a meter of way outside; nothing else changes."""
    shell = box_shell(doorways=(door,))
    opened = shell.opened("door")
    for point in (inside, passage):
        assert not shell.void.surface.winding(point) > 0.5
        assert opened.void.surface.winding(point) == pytest.approx(1)
    area = (door.span[1] - door.span[0]) * (door.heights[1] - door.heights[0])
    assert opened.void.volume - shell.void.volume == pytest.approx(area * 1000)
    assert opened.void.surface.winding((500, 0, 1700)) == pytest.approx(1)


def test_a_doorway_through_a_leaning_wall_is_clear_to_its_edges() -> None:
    """Its passage begins within the lined wall and ends a meter beyond the widest point of the bare body."""
    shell = leaning_shell(lining=Lining(walls=40.0))
    shell = Shell("door", 3.0, shell.lined, (), (Doorway("door", "right", (1000.0, 1800.0), (0.0, 1200.0)),)).opened(
        "door"
    )
    for height in (0.1, 600, 1199.9):
        assert half_breadths(shell, height, 1400)[1] == pytest.approx(1900, abs=EXACT)
    assert half_breadths(shell, 1200.1, 1400)[1] == pytest.approx(wall(1200.1) - 40 / np.cos(LEAN), abs=EXACT)


@pytest.mark.parametrize("place", [((5000.0, 6000.0), (0.0, 300.0)), ((1000.0, 1200.0), (5000.0, 6000.0))])
def test_a_part_where_no_wall_is_says_so(place: Any) -> None:
    stations, heights = place
    lined = box_shell().lined
    recess = Recess("recess", "recess", None, "right", stations, heights, 40.0, 0.0, 0.0)
    with pytest.raises(InputError, match="there is no right wall at"):
        recess.solid(lined)
    with pytest.raises(InputError, match="there is no left wall at"):
        Doorway("door", "left", stations, heights).passage(lined)
