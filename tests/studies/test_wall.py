"""Depth by height and the slide along the wall, on walls of flat faces: every number is the arithmetic of straight lines."""

from __future__ import annotations

from math import hypot, radians, tan
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tumblehome.studies import Study, study
from vans import BOX, LEANING, ROOFED, TAPERED, layout, leaning, member, module, near, recess, van

if TYPE_CHECKING:
    from tumblehome.studies import Profile

SIDES = ("left", "right")
W, D, H = 500.0, 400.0, 700.0
"""Size of the module that the helper writes unless told otherwise, mm."""
Stretch = tuple[float, float, float, float, str]


def studied(van_text: str, *sizes: Any, side: str = "right", station: float = 1000, **fields: Any) -> Study:
    return study(layout(van_text, module("m", *sizes, against=side, station=station, **fields)), "m")


def shows(one: Study, profile: Profile, *wanted: Stretch) -> None:
    """Expect a curve to consist of some straight stretches, each with the part that decides it."""
    found = [(p.start, p.end, p.low, p.high) for p in profile.pieces]
    assert [one.name_of(p) for p in profile.pieces] == [name for *_, name in wanted]
    assert np.array(found) == near(np.array([numbers for *numbers, _ in wanted]))


def pocket(side: str, stations: tuple[float, float], heights: tuple[float, float], depth: float = 40) -> str:
    return recess("pocket", side=side, stations=list(stations), heights=list(heights), depth=depth)


def rib(side: str, stations: tuple[float, float], depth: float = 30, **fields: Any) -> str:
    return member("rib", "rib", side=side, stations=list(stations), depth=depth, **fields)


# Depth by height


@pytest.mark.parametrize("side", SIDES)
@pytest.mark.parametrize("foot", [0, 300])
def test_a_leaning_wall_is_one_line_from_foot_to_roof(side: str, foot: float) -> None:
    hung: dict[str, Any] = {"hung": foot} if foot else {}
    one = studied(van(LEANING), side=side, **hung)
    shows(one, one.by_top, (foot, 2000, leaning(foot), leaning(2000), f"{side} wall"))
    shows(one, one.by_underside, (0, foot + H, leaning(foot + H), leaning(foot + H), f"{side} wall"))
    assert one.ceiling == (near(2000), "roof")


@pytest.mark.parametrize("side", SIDES)
def test_a_recess_counts_between_its_heights_only(side: str) -> None:
    """Hung inside it the module may rise to its upper edge, and sink to its lower one; on the floor it gains nothing."""
    text = van(BOX, pocket(side, (900, 1700), (600, 1200)))
    wall = f"{side} wall"
    standing = studied(text, side=side)
    shows(
        standing,
        standing.by_height,
        (0, 600, 800, 800, wall),
        (600, 1200, 840, 840, "pocket"),
        (1200, 1900, 800, 800, wall),
    )
    shows(standing, standing.by_top, (0, 1900, 800, 800, wall))
    hung = studied(text, W, D, 400, side=side, hung=650)
    shows(hung, hung.by_top, (650, 1200, 840, 840, "pocket"), (1200, 1900, 800, 800, wall))
    shows(hung, hung.by_underside, (0, 600, 800, 800, wall), (600, 1050, 840, 840, "pocket"))


@pytest.mark.parametrize("side", SIDES)
def test_a_recess_shorter_than_the_module_gives_nothing(side: str) -> None:
    one = studied(van(BOX, pocket(side, (1000, 1499), (0, 1200))), side=side)
    shows(one, one.by_height, (0, 1900, 800, 800, f"{side} wall"))


@pytest.mark.parametrize("side", SIDES)
def test_a_low_rib_counts_for_what_reaches_down_to_it(side: str) -> None:
    text = van(BOX, rib(side, (1200, 1240), heights=[0, 500]))
    standing, hung = studied(text, side=side), studied(text, side=side, hung=900)
    shows(standing, standing.by_top, (0, 1900, 770, 770, "rib"))
    shows(hung, hung.by_underside, (0, 500, 770, 770, "rib"), (500, 1600, 800, 800, f"{side} wall"))


def test_a_rib_stands_off_a_leaning_wall_square_to_it() -> None:
    """A depth taken square to a wall that leans 1 in 10 is sqrt(1.01) as much across the van."""
    across = 30 * hypot(1, 0.1)
    one = studied(van(LEANING, rib("right", (1200, 1240))))
    shows(one, one.by_top, (0, 2000, 900 - across, 700 - across, "rib"))


def test_a_recess_follows_a_leaning_wall() -> None:
    across = 40 * hypot(1, 0.1)
    one = studied(van(LEANING, pocket("right", (900, 1700), (600, 1200))), W, D, 400, hung=650)
    shows(
        one,
        one.by_top,
        (650, 1200, leaning(650) + across, leaning(1200) + across, "pocket"),
        (1200, 2000, 780, 700, "right wall"),
    )


def test_a_sloping_roof_takes_over_from_the_wall() -> None:
    one = studied(van(ROOFED))
    shows(one, one.by_top, (0, 1500, 900, 800, "right wall"), (1500, 1800, 800, 300, "roof"))


def test_a_bow_below_a_sloping_roof() -> None:
    """The roof falls 3 in 5: a bow 45 deep, square to it, lies 45 sqrt(1 + 25/9) further in."""
    across = 45 * hypot(1, 5 / 3)
    one = studied(van(ROOFED, member("bow", "bow", stations=[1200, 1250], depth=45)))
    meets = (1500 * 5 / 3 - 100 - across) / (5 / 3 - 1 / 15)  # 900 - z/15 = 800 + 2500 - across - 5 z/3
    ends = 1800 - 45
    at = 900 - meets / 15
    shows(
        one,
        one.by_top,
        (0, meets, 900, at, "right wall"),
        (meets, ends, at, 800 - across - (ends - 1500) * 5 / 3, "bow"),
    )
    assert one.ceiling == (near(ends), "bow")


@pytest.mark.parametrize(
    ("stations", "ends", "cause"),
    [((1200, 1260), 1840, "bow"), ((1500, 1560), 1900, "roof"), ((900, 1600), 1840, "bow")],
)
def test_under_a_flat_roof_the_curve_ends_where_something_spans_the_van(
    stations: tuple[float, float], ends: float, cause: str
) -> None:
    """A bow that only touches its outline is not above it; one longer than the module is."""
    one = studied(van(BOX, member("bow", "bow", stations=list(stations), depth=60)))
    shows(one, one.by_top, (0, ends, 800, 800, "right wall"))
    assert one.ceiling == (near(ends), cause)
    height = one.greatest_height()
    assert height == (near(ends), cause)


def test_a_step_across_the_van_ends_the_curve_of_what_hangs_above_it() -> None:
    text = van(BOX, member("step", "step", stations=[800, 1900], height=120))
    one = studied(text, hung=900)
    shows(one, one.by_underside, (120, 1600, 800, 800, "right wall"))
    assert one.ground == (near(120), "step")


def test_a_housing_counts_below_its_top() -> None:
    text = van(BOX, member("housing", "housing", side="left", stations=[900, 1800], height=300, depth=200))
    standing, hung = studied(text, side="left"), studied(text, side="left", hung=900)
    shows(standing, standing.by_top, (0, 1900, 600, 600, "housing"))
    shows(hung, hung.by_underside, (0, 300, 600, 600, "housing"), (300, 1600, 800, 800, "left wall"))


@pytest.mark.parametrize("side", SIDES)
def test_a_rib_in_a_recess_and_a_rib_over_its_edge(side: str) -> None:
    """A rib stands before the recess as before the wall: it is 30 off the wall, not off the recess's back."""
    text = van(BOX, pocket(side, (900, 1700), (600, 1200)), rib(side, (1200, 1240), heights=[900, 1500]))
    one = studied(text, side=side, hung=650)
    shows(
        one,
        one.by_height,
        (0, 600, 800, 800, f"{side} wall"),
        (600, 900, 840, 840, "pocket"),
        (900, 1500, 770, 770, "rib"),
        (1500, 1900, 800, 800, f"{side} wall"),
    )
    shows(one, one.by_top, (650, 900, 840, 840, "pocket"), (900, 1900, 770, 770, "rib"))


def test_of_a_stack_the_box_at_that_height_counts() -> None:
    """The upper box stands 100 further from the wall: it follows 1000 - z/10, and meets the foot's 860 at 1400."""
    boxes = [{"wide": 500, "deep": 400, "high": 400}, {"wide": 500, "deep": 300, "high": 600, "up": 400}]
    one = studied(van(LEANING), None, None, None, boxes=boxes)
    shows(
        one,
        one.by_top,
        (0, 400, 900, 860, "right wall"),
        (400, 1400, 860, 860, "right wall"),
        (1400, 2000, 860, 800, "right wall"),
    )
    assert one.greatest_height() == (near(1400), "right wall")
    assert one.effects.reach == near(860)


def test_a_turned_box_meets_a_tapering_wall_with_the_corner_that_decides() -> None:
    """Each corner (x, y) is 900 - x/20 - y from the wall; the outermost is as far out as the least of them allows."""
    for yaw in (10, 30, 45, 80):
        one = studied(van(TAPERED), yaw=yaw)
        corners = one.body[0].outline
        wanted = (900 - corners[:, 0] / 20 - corners[:, 1]).min() + corners[:, 1].max()
        shows(one, one.by_top, (0, 1900, wanted, wanted, "right wall"))


# The slide


@pytest.mark.parametrize("side", SIDES)
def test_it_drops_into_a_recess_where_it_fits_whole(side: str) -> None:
    """A recess 800 long takes a module 500 wide for 300 of its stations; both jumps are at whole numbers."""
    one = studied(van(BOX, pocket(side, (1500, 2300), (500, 1300))), W, D, 600, side=side, hung=600)
    wall = f"{side} wall"
    shows(one, one.slide, (0, 1500, 800, 800, wall), (1500, 1800, 840, 840, "pocket"), (1800, 3500, 800, 800, wall))
    (drop,) = one.drops
    assert (drop.start, drop.end, drop.play, drop.back) == near((1500, 1800, 300, 840))
    assert (one.slide.value(1500), one.slide.value(1800)) == near((800, 800))


@pytest.mark.parametrize(
    ("high", "foot", "drops"), [(800, 500, True), (801, 500, False), (800, 499, False), (700, 600, True)]
)
def test_it_drops_in_only_between_the_recess_heights(high: float, foot: float, drops: bool) -> None:
    one = studied(van(BOX, pocket("right", (1500, 2300), (500, 1300))), W, D, high, hung=foot)
    assert bool(one.drops) is drops


@given(st.integers(300, 799))
def test_its_play_in_a_recess_is_the_difference_of_their_lengths(wide: int) -> None:
    one = studied(van(BOX, pocket("right", (1500, 2300), (0, 1300))), wide)
    assert [place.play for place in one.drops] == [near(800 - wide)]


@pytest.mark.parametrize("side", SIDES)
def test_a_rib_pushes_it_out_as_long_as_they_overlap(side: str) -> None:
    """A rib at 1500 to 1540 stops a module 500 wide from 1000 on until its front is past 1540."""
    one = studied(van(BOX, rib(side, (1500, 1540))), side=side)
    wall = f"{side} wall"
    shows(one, one.slide, (0, 1000, 800, 800, wall), (1000, 1540, 770, 770, "rib"), (1540, 3500, 800, 800, wall))


def test_a_low_rib_does_not_stop_what_hangs_over_it() -> None:
    text = van(BOX, rib("right", (1500, 1540), heights=[0, 500]))
    over, on = studied(text, hung=500), studied(text, hung=499)
    shows(over, over.slide, (0, 3500, 800, 800, "right wall"))
    assert on.slide.value(1200) == near(770)


def test_a_rib_beside_a_recess_and_in_it() -> None:
    """A rib inside the recess splits it: 1500 to 1900 takes nothing 500 wide, 1940 to 2700 takes it for 260."""
    text = van(BOX, pocket("left", (1500, 2700), (0, 1900)), rib("left", (1900, 1940)))
    one = studied(text, side="left")
    shows(
        one, one.slide,
        (0, 1400, 800, 800, "left wall"), (1400, 1940, 770, 770, "rib"),
        (1940, 2200, 840, 840, "pocket"), (2200, 3500, 800, 800, "left wall"),
    )  # fmt: skip


def test_on_a_leaning_wall_its_top_decides_everywhere() -> None:
    one = studied(van(LEANING))
    shows(one, one.slide, (0, 3500, leaning(H), leaning(H), "right wall"))


def test_on_a_tapering_wall_its_rear_corner_decides() -> None:
    one = studied(van(TAPERED))
    shows(one, one.slide, (0, 3500, 900 - W / 20, 900 - 4000 / 20, "right wall"))


def test_a_wall_bent_in_plan_is_met_by_one_corner_and_then_the_other() -> None:
    """Widest at 2000, falling 1 in 20 both ways: the front corner decides before 1750, the rear one behind it."""
    one = studied(van("height, 0, 2000, 4000\n0, 800, 900, 800\n1900, 800, 900, 800"))
    shows(one, one.slide, (0, 1750, 800, 887.5, "right wall"), (1750, 3500, 887.5, 800, "right wall"))
    one = studied(van("height, 0, 2000, 4000\n0, 900, 800, 900\n1900, 900, 800, 900"))
    shows(
        one,
        one.slide,
        (0, 1500, 875, 800, "right wall"),
        (1500, 2000, 800, 800, "right wall"),
        (2000, 3500, 800, 875, "right wall"),
    )


@pytest.mark.parametrize("yaw", [15, 30, 60])
def test_a_turned_box_rides_round_a_rib_on_its_slanting_backs(yaw: float) -> None:
    """Its corner touches the wall; a rib 30 deep lets that stand off by 30 at the corner, less by how far the back has
    fallen away where the rib begins: tan(yaw) of it one way, 1 / tan(yaw) the other."""
    one = studied(van(BOX, rib("left", (1500, 1540))), side="left", yaw=yaw)
    corners = one.body[0].outline
    front = corners[:, 0].min()
    apex = corners[corners[:, 1].argmin(), 0] - front
    ends = corners[:, 0].max() - front
    neighbors = [corners[(corners[:, 1].argmin() + step) % 4] for step in (-1, 1)]
    falls = {np.sign(n[0] - front - apex): abs((n[1] - corners[:, 1].min()) / (n[0] - front - apex)) for n in neighbors}
    assert sorted(falls.values()) == pytest.approx(sorted((tan(radians(yaw)), 1 / tan(radians(yaw)))))
    for t in np.linspace(900, 1700, 161):
        ahead, behind = (
            1500 - (t + apex),
            (t + apex) - 1540,
        )  # how far the rib begins behind the corner, or ends before it
        off = max(ahead * falls[1.0] if ahead > 0 else 0, behind * falls[-1.0] if behind > 0 else 0)
        beside = t + ends <= 1500 or t >= 1540
        wanted = 800.0 if beside else min(800.0, 770 + off)
        assert one.slide.value(t) == near(wanted)


def test_a_stack_slides_with_the_box_that_meets_first() -> None:
    """The upper box stands 100 off the wall and 100 in from the front: a rail 60 deep, at its height only, never touches."""
    boxes = [{"wide": 500, "deep": 400, "high": 400}, {"wide": 400, "deep": 300, "high": 600, "up": 400}]
    text = van(BOX, rib("right", (1500, 1540), depth=60, heights=[450, 900]))
    one = studied(text, None, None, None, boxes=boxes)
    shows(one, one.slide, (0, 3500, 800, 800, "right wall"))
    deeper = van(BOX, rib("right", (1500, 1540), depth=130, heights=[450, 900]))
    one = studied(deeper, None, None, None, boxes=boxes)
    low, high = one.body[1].outline[:, 0].min() - 1000, one.body[1].outline[:, 0].max() - 1000
    shows(
        one,
        one.slide,
        (0, 1500 - high, 800, 800, "right wall"),
        (1500 - high, 1540 - low, 770, 770, "rib"),
        (1540 - low, 3500, 800, 800, "right wall"),
    )


def test_a_bow_across_the_van_bars_what_is_taller() -> None:
    text = van(BOX, member("bow", "bow", stations=[1800, 1860], depth=60))
    free, barred = studied(text, W, D, 1840), studied(text, W, D, 1841)
    shows(free, free.slide, (0, 3500, 800, 800, "right wall"))
    assert [p for p in barred.places(0) if p.side == "right"] == [p for p in barred.places() if p.side == "right"]
    assert [(p.start, p.end) for p in barred.places() if p.side == "right"] == [
        near(span) for span in ((0, 1300), (1860, 3500))
    ]
    at = barred.slide.at(1500)
    assert at is not None
    assert barred.name_of(at) == "bow"


@pytest.mark.parametrize("high", [700, 1100, 1300])
def test_low_seat_backs_bar_what_would_stand_in_them(high: float) -> None:
    """Lower or taller than they are: its front end must be behind them."""
    text = van(BOX, member("seat backs", "bulkhead", station=600, heights=[0, 1100]))
    one = studied(text, W, D, high)
    assert [(p.start, p.end) for p in one.places() if p.side == "right"] == [near((600, 3500))]
    at = one.slide.at(400)
    assert at is not None
    assert one.name_of(at) == "seat backs"


@pytest.mark.parametrize("high", [100, 300])
def test_a_step_across_the_van_bars_what_stands_on_the_floor(high: float) -> None:
    """Lower or taller than the step: only before 1500 and behind 1900 does its foot find the floor."""
    text = van(BOX, member("step", "step", stations=[1500, 1900], height=150))
    one = studied(text, W, D, high)
    assert [(p.start, p.end) for p in one.places() if p.side == "right"] == [
        near(span) for span in ((0, 1000), (1900, 3500))
    ]


def test_a_housing_along_the_slide() -> None:
    text = van(BOX, member("housing", "housing", side="right", stations=[2000, 2800], height=300, depth=200))
    standing, hung = studied(text), studied(text, hung=300)
    shows(
        standing,
        standing.slide,
        (0, 1500, 800, 800, "right wall"),
        (1500, 2800, 600, 600, "housing"),
        (2800, 3500, 800, 800, "right wall"),
    )
    shows(hung, hung.slide, (0, 3500, 800, 800, "right wall"))
    beveled = van(
        BOX, member("housing", "housing", side="right", stations=[2000, 2800], height=300, depth=200, bevel=100)
    )
    raised = studied(beveled, hung=250)  # at 250 the housing is 50 shorter at either end
    shows(
        raised,
        raised.slide,
        (0, 1550, 800, 800, "right wall"),
        (1550, 2750, 600, 600, "housing"),
        (2750, 3500, 800, 800, "right wall"),
    )
