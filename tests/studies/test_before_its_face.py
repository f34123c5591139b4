"""What stands before a module's face takes no depth from it; what reaches beyond its face does, by all of it.

The van has upright walls at 800; the module is 500 wide, 300 deep and 700 high against the right wall at 1000, its face at 500.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from tumblehome.checks import check
from tumblehome.errors import InputError
from tumblehome.solids import Solid
from tumblehome.studies import Study, Wall, study
from tumblehome.studies.wall import is_barred
from tumblehome.sweep import Prism
from vans import BOX, LEANING, TAPERED, layout, leaning, member, module, near, van

SIDES = ("left", "right")


def studied(van_text: str, *sizes: Any, side: str = "right", others: tuple[str, ...] = (), **fields: Any) -> Study:
    own = module("m", *(sizes or (500, 300, 700)), against=side, station=1000, **fields)
    return study(layout(van_text, *others, own), "m")


def block(
    breadths: tuple[float, float], heights: tuple[float, float] = (0, 500), side: str = "right",
    stations: tuple[float, float] = (1100, 1300), name: str = "block",
) -> str:  # fmt: skip
    low, high = breadths if side == "right" else (-breadths[1], -breadths[0])
    return member(name, "block", stations=list(stations), breadths=[low, high], heights=list(heights))


def curve(one: Study, pieces: Any) -> list[tuple[Any, ...]]:
    return [(*(round(v, 6) for v in (p.start, p.end, p.low, p.high)), one.name_of(p)) for p in pieces]


def says(found: tuple[float, str] | None, value: float, part: str) -> None:
    """Expect a length and its cause; on a wall that leans 1 in 10 contact within 1e-7 is decided within 1e-6 of height."""
    assert found is not None
    assert found[0] == pytest.approx(value, abs=1e-5)
    assert found[1] == part


@pytest.mark.parametrize("side", SIDES)
@pytest.mark.parametrize("breadths", [(100, 300), (100, 500), (-100, 100), (0, 200)])
def test_a_block_before_its_face_changes_nothing(side: str, breadths: tuple[float, float]) -> None:
    """Not even one that stands on the centerline, or touches the face: every answer is that of the van without it."""
    with_it, without = (studied(van(BOX, *parts), side=side) for parts in ((block(breadths, side=side),), ()))
    assert not [f for f in check(with_it.layout) if f.verdict == "fouls"]
    assert (with_it.effects.reach, with_it.effects.single, with_it.effects.joint) == (near(800), (), ())
    says(with_it.greatest_height(), 1900, "roof")
    says(with_it.greatest_depth(1900), 300, f"{side} wall")
    for one, other in ((with_it.by_top, without.by_top), (with_it.by_underside, without.by_underside),
                       (with_it.by_height, without.by_height), (with_it.slide, without.slide)):  # fmt: skip
        assert curve(with_it, one.pieces) == curve(without, other.pieces)
    assert with_it.stands_behind(1000, 1000) == {"block"}
    assert with_it.stands_behind(1300, 1400) == with_it.stands_behind(0, 600) == set()


@pytest.mark.parametrize("side", SIDES)
@pytest.mark.parametrize("reach", [501, 600, 900])
def test_what_reaches_beyond_its_face_counts_from_its_foremost_point(side: str, reach: float) -> None:
    """Above the module a block from 300 to beyond 500: taller than 900 its back comes to 300."""
    one = studied(van(BOX, block((300, reach), (900, 1000), side)), side=side)
    assert curve(one, one.by_top.pieces) == [(0, 900, 800, 800, f"{side} wall"), (900, 1900, 300, 300, "block")]
    says(one.greatest_height(), 900, "block")
    assert one.effects.single == ()


@pytest.mark.parametrize("yaw", [0, 20, -35])
def test_of_a_turned_module_the_face_is_where_it_is(yaw: float) -> None:
    """A post in the corner between the centerline and the slanting face: near its corner it stands free of it, yet further
    out than the face's innermost point. Only one that the kernel finds clear of the module's shadow is before it."""
    plain = studied(van(BOX), yaw=yaw)
    outline = plain.body[0].outline
    for x in np.linspace(outline[:, 0].min() + 5, outline[:, 0].max() - 25, 9):
        inner = min(
            float(a[1] + (b[1] - a[1]) * (t - a[0]) / (b[0] - a[0]))
            for a, b in zip(outline, np.roll(outline, -1, axis=0), strict=True) if abs(a[0] - b[0]) > 1e-9
            for t in (x, x + 20) if min(a[0], b[0]) <= t <= max(a[0], b[0])
        )  # fmt: skip
        for free, reach in ((True, inner - 0.01), (False, inner + 0.01)):
            post = block((reach - 60, reach), (0, 1900), stations=(float(x), float(x) + 20))
            found = Wall.of(layout(van(BOX, post)).shell, 1.0).limits(plain.body)
            assert ("block" not in found) is free, x


def test_a_post_with_a_rail_to_the_wall_counts_from_the_rail_on() -> None:
    """One mesh: a post 100 to 300 up to 1550, a rail from it to the wall at 1500. Below the rail it stands before the face."""
    upright = Solid.box((1100, 100, 0), (1140, 300, 1550), "post")
    post = upright | Solid.box((1100, 100, 1500), (1140, 900, 1550), "post")
    one = studied(van(BOX))
    wall = Wall.of(one.layout.shell, 1.0).among({"post": post})
    found = wall.by_height(one.body).upward(0.0, 1900.0)
    assert [(p.start, p.end, p.low, p.high) for p in found.pieces] == [
        near((0, 1500, 800, 800)),
        near((1500, 1900, 100, 100)),
    ]
    from_above = wall.by_height(one.body).downward(0.0, 1900.0)
    assert [(p.start, p.end, p.low) for p in from_above.pieces] == [near((0, 1550, 100)), near((1550, 1900, 800))]
    assert "post" not in wall.limits(one.body)


def test_a_sloping_strut_is_met_where_it_passes_the_face() -> None:
    """From 100 at the floor outward 1 in 1, 50 thick: at 450 its outer face passes 500, and then all of it below counts."""
    outline = [(100, 0), (150, 0), (950, 800), (900, 800)]
    strut = Solid.prism(outline, 1100, 1140, "strut", axis=0)
    one = studied(van(BOX), 500, 300, 300)
    found = Wall.of(one.layout.shell, 1.0).among({"strut": strut}).by_height(one.body)
    up = found.upward(0.0, 1900.0)
    assert [(p.start, p.end, p.low, p.high) for p in up.pieces] == [
        pytest.approx((0, 350, 800, 800), abs=1e-5), pytest.approx((350, 1900, 100, 100), abs=1e-5),
    ]  # fmt: skip
    each = found.each()
    assert each.value(349) == near(800)
    assert each.value(351) == near(451)


@given(
    st.tuples(st.integers(-400, 700), st.integers(10, 400)), st.tuples(st.integers(0, 1500), st.integers(10, 600)),
    st.tuples(st.integers(200, 2000), st.integers(10, 900)),
)  # fmt: skip
def test_a_block_counts_just_where_the_kernel_finds_it_beyond_the_face(
    across: tuple[int, int], up: tuple[int, int], along: tuple[int, int]
) -> None:
    """At some heights of the top: what the room from its face to the wall shares with the block."""
    (y, deep), (z, high), (x, long) = across, up, along
    assume(y + deep < 799)
    assume(z + high < 1890)
    shell = layout(van(BOX, block((y, y + deep), (z, z + high), stations=(x, x + long)))).shell
    curve_up = Wall.of(shell, 1.0).by_height([Prism.box((1000, 500, 0), (1500, 800, 700))]).upward(0.0, 1900.0)
    solid = Solid.box((x, y, z), (x + long, y + deep, z + high), "block")
    for top in (10.0, z + 5.0, z + high + 5.0, 1895.0):
        behind = Solid.box((1000, 500, 0), (1500, 800, top), "behind")
        assert curve_up.value(top) == near(max(y, 0) if (solid & behind).volume > 1e-3 else 800)


# Barred


@pytest.mark.parametrize("yaw", [0, 30])
@pytest.mark.parametrize(("stations", "height"), [((1500, 1540), 1900), ((1500, 2600), 1900), ((1500, 2600), 300)])
def test_where_something_reaches_over_the_centerline_the_slide_is_barred(
    yaw: float, stations: tuple[float, float], height: float
) -> None:
    """A sheet, and a step longer than the module, as high as the van or lower than the module: named, never negative."""
    text = van(BOX, block((-1500, 1500), (0, height), stations=stations))
    one = studied(text, yaw=yaw)
    wide = float(np.ptp(one.body[0].outline[:, 0]))
    (bar,) = [(p.start, p.end) for p in one.slide.pieces if is_barred(p)]
    assert bar == near((1500 - wide, stations[1]))
    assert all(min(p.low, p.high) >= 0 for p in one.slide.pieces)
    (low, high) = [c for c in one.corners(one.slide) if c.barred]
    assert (low.back, low.aisle, low.part, high.part) == (0, 0, "block", "block")
    right = [(p.start, p.end) for p in one.places(0) if p.side == "right"]
    assert right == [near((0, 1500 - wide)), near((stations[1], 4000 - wide))]


def test_before_seat_backs_a_leaning_wall_keeps_its_numbers_behind_them() -> None:
    text = van(LEANING, member("seats", "bulkhead", station=600, heights=[0, 1100]))
    one = studied(text)
    assert [(one.name_of(p), is_barred(p)) for p in one.slide.pieces] == [("seats", True), ("right wall", False)]
    assert one.slide.value(900) == near(leaning(700))


# Doorways


DOOR = '[[doorways]]\nname = "sliding door"\nside = "right"\nstations = [900, 1700]\nheights = [0, 600]'


def test_where_only_the_doorway_stops_it_that_is_named() -> None:
    """Low and between its posts it comes up against the door; taller, or further along, against the wall beside it too."""
    low = studied(van(BOX, DOOR), 500, 300, 500)
    assert low.effects.stopped_by == "sliding door"
    assert [low.name_of(p) for p in low.slide.pieces] == ["right wall", "sliding door", "right wall"]
    assert [(p.start, p.end) for p in low.slide.pieces] == [near((0, 900)), near((900, 1200)), near((1200, 3500))]
    assert studied(van(BOX, DOOR)).effects.stopped_by == "right wall"
    assert [low.name_of(p) for p in low.by_top.pieces] == ["sliding door", "right wall"]
    left = studied(van(BOX, DOOR), 500, 300, 500, side="left")
    assert {left.name_of(p) for p in left.slide.pieces} == {"left wall"}
    leaned = studied(van(LEANING, DOOR), 500, 300, 600)
    says(leaned.greatest_height(), 600, "right wall")


def test_naming_a_doorway_changes_no_number() -> None:
    for text in (BOX, LEANING, TAPERED):
        one, other = (studied(van(text, *door)) for door in ((DOOR,), ()))
        for t in np.linspace(1, 3499, 57):
            assert one.slide.value(float(t)) == near(other.slide.value(float(t)))
        for z in np.linspace(1, 1899, 57):
            assert one.by_top.value(float(z)) == near(other.by_top.value(float(z)))


# Turned


def test_another_depth_of_a_turned_module_is_refused_and_its_height_told() -> None:
    """On a leaning wall its height is the square one's: its corner's half-breadth decides."""
    one = studied(van(LEANING), yaw=30)
    says(one.greatest_height(), 700, "right wall")
    turned = r"'m' stands turned: .*turn it square to the wall"
    with pytest.raises(InputError, match=turned):
        one.greatest_height(200)
    with pytest.raises(InputError, match=turned):
        one.greatest_depth(700)


@pytest.mark.parametrize("faces", ["front", "rear"])
def test_of_one_that_faces_along_the_van_its_width_is_the_depth(faces: str) -> None:
    """500 wide and 300 deep, its left or right side at the wall: 500 across."""
    one = studied(van(LEANING), faces=faces)
    assert (one.deep, one.face) == near((500, leaning(700) - 500))
    says(one.greatest_depth(1200), 450, "right wall")
    says(one.greatest_height(450), 1200, "right wall")


def test_full_height_is_kept_from_crossing_the_centerline_by_its_extent() -> None:
    """Turned by 45 degrees 500 x 300 reach 565.7 across; at the roof the wall is at 700, so that one 1000 x 300 does not fit."""
    assert studied(van(LEANING), yaw=45).full_height == (near(2000), near(130), "right wall")
    assert studied(van(LEANING), 1000, 300, 700, yaw=45).full_height is None
