"""What a study says of one module: heights and depths, places, what is left, its words, and what it refuses."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tumblehome.checks import check
from tumblehome.errors import InputError, LayoutError
from tumblehome.lengths import volume_words
from tumblehome.solids import Solid
from tumblehome.studies import Piece, PlaceWords, Profile, Study, sentences, study
from tumblehome.studies.left import largest_box
from vans import BOX, EXACT, LEANING, ROOFED, TAPERED, layout, leaning, member, module, near, recess, van

if TYPE_CHECKING:
    from tumblehome.fitout import Layout
    from tumblehome.studies import LeftOver

SIDES = ("left", "right")
OTHER = {"left": "right", "right": "left"}
W, D, H = 500.0, 400.0, 700.0


def studied(
    van_text: str, *sizes: Any, others: tuple[str, ...] = (), side: str = "right", station: float = 1000, **fields: Any
) -> Study:
    return study(layout(van_text, *others, module("m", *sizes, against=side, station=station, **fields)), "m")


def pocket(
    side: str = "right",
    stations: tuple[float, float] = (900, 1700),
    heights: tuple[float, float] = (600, 1200),
    depth: float = 40,
) -> str:
    return recess("pocket", side=side, stations=list(stations), heights=list(heights), depth=depth)


def rib(stations: tuple[float, float], depth: float = 30, side: str = "right", **fields: Any) -> str:
    return member("rib", "rib", side=side, stations=list(stations), depth=depth, **fields)


# Height for a depth, depth for a height

SLACK = 1e-5
"""Millimeters of height: on a wall that leans 1 in 10 contact within 1e-7 is decided within 1e-6 of height, and rounding."""


def says(found: tuple[float, str] | None, value: float, part: str) -> None:
    assert found is not None
    assert found[0] == pytest.approx(value, abs=SLACK)
    assert found[1] == part


@pytest.mark.parametrize("side", SIDES)
@pytest.mark.parametrize("gap", [0, 10])
def test_height_for_a_depth_on_a_leaning_wall(side: str, gap: float) -> None:
    """The wall is at 900 - z/10: 50 less depth lets it rise 500; more depth than the wall has at its foot fits nowhere."""
    one = studied(van(LEANING), side=side, gap=gap)
    for deep, high in ((None, H), (D, H), (350, 1200), (460, 100)):
        says(one.greatest_height(deep), high, f"{side} wall")
    says(one.greatest_height(270), 2000, "roof")
    assert one.greatest_height(471) is None


@pytest.mark.parametrize("side", SIDES)
@pytest.mark.parametrize("gap", [0, 10])
def test_depth_for_a_height_on_a_leaning_wall(side: str, gap: float) -> None:
    one = studied(van(LEANING), side=side, gap=gap)
    for high, deep in ((H, D), (1200, 350), (100, 460), (2000, 270)):
        says(one.greatest_depth(high), deep, f"{side} wall")
    for high in (2000.1, 5000, -1):
        assert one.greatest_depth(high) is None


@given(st.integers(1, 1999), st.integers(0, 900))
def test_one_is_the_inverse_of_the_other(high: int, foot: int) -> None:
    one = studied(van(LEANING), high=200, hung=foot)
    deepest = one.greatest_depth(high)
    if foot + high > 2000:
        assert deepest is None
        return
    assert deepest is not None
    assert deepest[0] == near(D + (leaning(foot + high) - leaning(foot + 200)))
    says(one.greatest_height(deepest[0]), high, "roof" if foot + high == 2000 else "right wall")


def test_in_a_recess_height_ends_at_its_upper_edge() -> None:
    one = studied(van(BOX, pocket()), high=400, hung=650)
    says(one.greatest_height(), 550, "right wall")
    says(one.greatest_height(deep=D - 40), 1250, "roof")
    says(one.greatest_depth(550), D, "pocket")
    says(one.greatest_depth(551), D - 40, "right wall")


def test_what_it_costs_to_run_it_to_the_roof() -> None:
    """From 830 at its top to 700 under the flat roof; to 800 where the roof begins to slope; to nothing below a block."""
    assert studied(van(LEANING)).full_height == (near(2000), near(130), "right wall")
    top, cost, part = studied(van(ROOFED)).full_height or (0, 0, "")
    assert (top, cost) == (near(1500), near(900 - 700 / 15 - 800))
    assert part == "right wall"
    assert studied(van(LEANING), high=2000).full_height is None
    assert studied(van(LEANING), deep=750).full_height is None  # its face would cross the centerline
    shelf = member("shelf", "block", stations=[800, 1700], breadths=[-1500, 1500], heights=[1300, 1400])
    assert studied(van(LEANING, shelf)).full_height == (near(1300), near(60), "right wall")


@pytest.mark.parametrize("side", SIDES)
@pytest.mark.parametrize("gap", [0, 10])
def test_the_aisle_that_each_breakpoint_leaves(side: str, gap: float) -> None:
    """What lies before its face: 1600 across, less its depth and the gap; at 200 less half-breadth it is 200 less."""
    one = studied(van(BOX, rib((2500, 2540), 200, side)), side=side, gap=gap)
    assert one.aisle == near(1600 - D - gap)
    found = [(c.at, c.back, c.aisle) for c in one.corners(one.slide)]
    wide, narrow = 1600 - D - gap, 1400 - D - gap
    wanted = [
        (0, 800, wide),
        (2000, 800, wide),
        (2000, 600, narrow),
        (2540, 600, narrow),
        (2540, 800, wide),
        (3500, 800, wide),
    ]
    assert found == [near(corner) for corner in wanted]
    assert [c.part for c in one.corners(one.slide)] == [*[f"{side} wall"] * 2, "rib", "rib", *[f"{side} wall"] * 2]


def test_the_aisle_ends_at_what_stands_across() -> None:
    one = studied(van(BOX), others=(module("other", 300, 250, 700, against="left", station=1450),))
    assert one.aisle == near(1600 - D - 250)


# Places


@pytest.mark.parametrize("side", SIDES)
def test_places_on_both_walls_the_furthest_out_first(side: str) -> None:
    """In the recess at 40 more; along both walls, but not before the rib. 3500 is the last station of its front end."""
    text = van(BOX, pocket(side, (1500, 2300)), rib((500, 540), side=OTHER[side]))
    one = studied(text, side=side, station=100, high=400, hung=700)
    own, across = one.places()
    assert (own.side, own.part) == (side, "pocket")
    assert (own.start, own.end, own.play, own.back) == near((0, 3500, 3500, 840))
    assert 1500 - EXACT <= own.best <= 1800 + EXACT
    assert (across.side, across.start, across.end) == (OTHER[side], near(540), near(3500))
    (best,) = one.places(840)
    assert (best.side, best.part) == (side, "pocket")
    assert (best.start, best.end, best.play, best.back) == near((1500, 1800, 300, 840))
    assert one.places(841) == []
    assert [(p.start, p.end) for p in one.places(770)] == [near((0, 3500))] * 2


def test_a_place_names_what_stands_in_it() -> None:
    """Beside it, not above it, not across the aisle; what touches its end does not stand in it."""
    others = (
        module("in the way", 300, 300, 300, against="left", station=1900),
        module("above", 300, 300, 300, against="left", station=2600, hung=1200),
        module("across", 300, 300, 300, against="right", station=2600),
    )
    one = studied(van(BOX), others=others)
    left, right = sorted(one.places(), key=lambda p: p.side)
    assert left.collides == ("in the way",)
    assert right.collides == ("across",)
    post = member("post", "pillar", side="left", stations=[2600, 2640], depth=30)
    between = studied(
        van(BOX, rib((1900, 1940), side="left"), post),
        others=(module("n", 300, 300, 300, against="left", station=2700),),
    )
    spans = {(round(p.start), round(p.end)): p.collides for p in between.places() if p.side == "left"}
    assert spans == {(0, 1400): (), (1940, 2100): (), (2640, 3500): ("n",)}


def test_turned_half_round_for_the_other_wall() -> None:
    """A foot deeper than its top stands with its back to either wall: the rail at the top's height lets it pass."""
    boxes = [{"wide": 500, "deep": 400, "high": 400}, {"wide": 500, "deep": 300, "high": 600, "up": 400}]
    rail = member("rail", "rail", side="both", heights=[450, 900], depth=60)
    one = studied(van(BOX, rail), None, None, None, boxes=boxes)
    assert sorted((p.side, round(p.start), round(p.end), round(p.back, 6)) for p in one.places()) == [
        ("left", 0, 3500, 800),
        ("right", 0, 3500, 800),
    ]


def better(one: Study) -> tuple[float, float, str, str | None] | None:
    found = one.better_nearby
    return None if found is None else (near(found.move), near(found.gain), found.part, found.past)


def test_a_better_place_nearby() -> None:
    """A rib at 1400 to 1440 overlaps its last 100: forward by 100 it is past it, rearward only by 440. At most 300 count."""
    assert better(studied(van(BOX, rib((1400, 1440))))) == (-100, 30, "right wall", "rib")
    assert better(studied(van(BOX, rib((1050, 1090))))) == (90, 30, "right wall", "rib")
    assert better(studied(van(BOX, rib((1301, 1800))))) == (-199, 30, "right wall", "rib")
    assert studied(van(BOX, rib((1201, 1299)))).better_nearby is not None
    assert studied(van(BOX, rib((1199, 1301)))).better_nearby is None
    assert better(studied(van(BOX, pocket(stations=(1100, 1700), heights=(0, 900))))) == (100, 40, "pocket", None)


@pytest.mark.parametrize("side", SIDES)
def test_on_a_tapering_wall_the_better_place_is_as_far_forward_as_counts(side: str) -> None:
    """Half-breadth 900 - x / 20: 300 forward is 15 more."""
    assert better(studied(van(TAPERED), side=side)) == (-300, 15, f"{side} wall", None)


@pytest.mark.parametrize(("start", "long", "wanted"), [
    (700, 150, (-100, 30, "right wall", "rib")),  # ends at 850: 150 are free
    (700, 199, (-100, 30, "right wall", "rib")),
    (700, 200, None),  # ends at 900: a place without any play is none
    (700, 300, None),
])  # fmt: skip
def test_a_neighbor_bars_the_way_to_a_better_place(start: float, long: float, wanted: object) -> None:
    """Forward by 100 the rib would be passed; what stands there ends so far before that place."""
    other = module("other", long, 300, 300, against="right", station=start)
    assert better(studied(van(BOX, rib((1400, 1440))), others=(other,))) == wanted


def test_only_what_stands_from_its_face_outward_and_in_its_heights_bars_the_way() -> None:
    text = van(BOX, rib((1400, 1440)))
    for other in (
        module("across", 300, 300, 300, against="left", station=700),
        module("above", 300, 300, 300, against="right", station=700, hung=900),
        module("before it", 300, 300, 300, station=700, breadth=50),  # ends at breadth 350, its face is at 370
    ):
        assert better(studied(text, others=(other,))) == (-100, 30, "right wall", "rib")
    in_the_way = module("in the way", 300, 300, 300, station=700, breadth=80)
    assert studied(text, others=(in_the_way,)).better_nearby is None


@given(st.integers(0, 400), st.integers(1, 300), st.integers(900, 1700))
def test_in_its_better_place_it_fouls_nothing(ahead: int, long: int, start: int) -> None:
    """The layout written anew with the module there, its findings from the checks."""
    others = (
        module("fore", long, 300, 300, against="right", station=max(0, 950 - ahead - long)),
        module("aft", 200, 300, 300, against="right", station=1550 + ahead),
    )
    text = van(BOX, rib((start, start + 40)))
    found = studied(text, others=others).better_nearby
    if found is None:
        return
    there = layout(text, *others, module("m", against="right", station=1000 + found.move))
    assert study(there, "m").back == near(800 - 30 + found.gain)
    assert not [f for f in check(there) if f.verdict == "fouls"]


def test_what_stands_on_another_module_stays_on_that() -> None:
    """Past the rib it would be by 100 forward; the bench that it stands on begins 101, or only 99, before it."""
    text = van(BOX, rib((1400, 1440), heights=[450, 900]))
    for ahead, wanted in ((101, (-100, 30, "right wall", "rib")), (99, None)):
        bench = module("bench", 500 + ahead, 400, 400, against="right", station=1000 - ahead)
        assert better(studied(text, others=(bench,), on="bench")) == wanted


@pytest.mark.parametrize(("depth", "told"), [(3, False), (3.5, True)])
def test_a_gain_within_the_measuring_tolerance_is_none(depth: float, told: bool) -> None:
    """The van is measured to 3 mm."""
    assert (studied(van(BOX, rib((1400, 1440), depth))).better_nearby is not None) is told


# What is left


def boxes_of(one: Study) -> list[tuple[LeftOver, Solid]]:
    """Each box that is left, with its solid; above and below it begins at the face."""
    low, high = one.module.bounds
    found = []
    for box in one.left_over:
        axis, up = {"above": (2, True), "below": (2, False), "ahead": (0, False), "behind": (0, True)}[box.where]
        a, b = low.copy(), high.copy()
        long = (box.wide, box.deep, box.high)[axis]
        a[axis], b[axis] = (high[axis], high[axis] + long) if up else (low[axis] - long, low[axis])
        a[1], b[1] = sorted((one.sign * one.face, one.sign * (one.face + box.deep)))
        found.append((box, Solid.box(a, b, box.where)))
    return found


@pytest.mark.parametrize("side", SIDES)
@pytest.mark.parametrize(("deep", "high"), [(400, 700), (60, 200), (100, 1500), (750, 300)])
def test_the_largest_box_below_a_leaning_wall(side: str, deep: float, high: float) -> None:
    """Its back at 900 - high/10; a box s higher than its top has s (deep - s/10), at most at s = 5 deep, half as deep, if the
    roof at 2000 is not before: elementary calculus, the rectangle in a right triangle."""
    one = studied(van(LEANING), 500, deep, high, side=side)
    rise = min(5 * deep, 2000 - high)
    (above,) = [box for box in one.left_over if box.where == "above"]
    assert (above.wide, above.deep, above.high) == near((500, deep - rise / 10, rise))


@pytest.mark.parametrize("side", SIDES)
def test_the_largest_box_under_an_overhang(side: str) -> None:
    """Below a module hung at 900 before a housing 300 high and 150 deep: 600 high and 400 deep, 0.24, against 900 and 250,
    0.225 m2; with a housing 350 high it is 550 x 400, 0.22 m2, and the shallow one is the larger."""
    for height, wanted in ((300, (400, 600)), (350, (250, 900))):
        housing = member("housing", "housing", side=side, stations=[900, 1800], height=height, depth=150)
        one = studied(van(BOX, housing), side=side, hung=900)
        (below,) = [box for box in one.left_over if box.where == "below"]
        assert (below.deep, below.high) == near(wanted)


@given(st.lists(st.tuples(st.integers(1, 40), st.integers(0, 30)), min_size=1, max_size=6), st.integers(1, 60))
def test_the_largest_box_under_a_falling_line_is_the_largest_of_many(steps: list[tuple[int, int]], back: int) -> None:
    """Against every height in thousandths of the way: none of these is larger, and one is nearly as large."""
    heights = np.cumsum([0, *(step for step, _ in steps)]).astype(float)
    values = 70.0 - np.cumsum([0, *(fall for _, fall in steps)])
    pieces = [Piece(a, b, u, v, 0) for a, b, u, v in zip(heights, heights[1:], values, values[1:], strict=False)]
    deep, high = largest_box(Profile(tuple(pieces)), 0.0, 5.0, 5.0 + back)
    sampled = np.linspace(0, heights[-1], 1001)
    areas = (np.clip(np.interp(sampled, heights, values) - 5, 0, back) * sampled).max()
    assert areas - EXACT <= deep * high <= areas + 1e-2 * heights[-1] * 70
    assert deep <= back + EXACT
    assert deep <= np.interp(high, heights, values) - 5 + EXACT or not deep


def test_another_module_above_ends_the_box_or_stands_behind_it() -> None:
    """Above 700: under a shelf 250 deep at 1000 a box 300 high and 400 deep, 0.12, less than before it: 150 deep, 1200 high."""
    shelf = module("shelf", 500, 250, 100, against="right", station=1000, hung=1000)
    one = studied(van(BOX), others=(shelf,))
    (above,) = [box for box in one.left_over if box.where == "above"]
    assert (above.deep, above.high) == near((150, 1200))
    full = module("shelf", 500, 400, 100, against="right", station=1000, hung=1000)
    (above,) = [box for box in studied(van(BOX), others=(full,)).left_over if box.where == "above"]
    assert (above.deep, above.high) == near((400, 300))


def test_what_is_left_about_a_box() -> None:
    """1900 high, 0 to 4000 long; another module stands 300 behind it."""
    one = studied(van(BOX), others=(module("other", 200, 300, 900, against="right", station=1800),), hung=200)
    left = {box.where: (box.wide, box.deep, box.high) for box in one.left_over}
    wanted = {"above": (500, 400, 1000), "below": (500, 400, 200), "ahead": (1000, 400, 700), "behind": (300, 400, 700)}
    assert {where: near(size) for where, size in wanted.items()} == left
    assert [box.liters for box in one.left_over] == pytest.approx([200, 40, 280, 84], abs=1e-3)


@pytest.mark.parametrize("fields", [
    {"yaw": 30}, {"yaw": -60, "hung": 300},
    {"boxes": [{"wide": 500, "deep": 400, "high": 400}, {"wide": 300, "deep": 300, "high": 300, "up": 400}]},
    {"kind": "scribed"},
])  # fmt: skip
def test_what_is_left_is_free(fields: dict[str, Any]) -> None:
    """Whatever its shape: a box that is told as free shares nothing with shell, members or modules (the kernel's booleans)."""
    text = van(
        LEANING,
        rib((1010, 1050), 60),
        member("shelf", "block", stations=[1000, 1100], breadths=[300, 1000], heights=[1500, 1600]),
    )
    sizes = (None, None, None) if "boxes" in fields else (500, 400, 700)
    others = (module("other", 300, 500, 600, against="right", station=2000),)
    one = studied(text, *sizes, others=others, **fields)
    void = one.layout.shell.void - one.layout.module("other").solid
    boxes = boxes_of(one)
    assert boxes or fields.get("kind") == "scribed"
    for box, solid in boxes:
        assert (solid - void).volume < 1e-3 * max(box.wide, box.high), box


# Scribed modules


SCRIBED: dict[str, Any] = {"deep": None, "high": 1000, "kind": "scribed", "face": 400}


@pytest.mark.parametrize("side", SIDES)
def test_depth_at_each_shelf_height(side: str) -> None:
    """The wall is at 900 - z/10; the face at 400, its panel 18: a box as high as a span fits to where the wall is at its top."""
    one = studied(van(LEANING), side=side, **SCRIBED)
    for height, high in ((0, 0), (300, 0), (300, 200), (0, 1000)):
        assert one.depth_at(height, high) == near(leaning(height + high) - 400 - 18)
    for height, high in ((1990, 20), (2001, 0), (-10, 5)):
        assert one.depth_at(height, high) is None


def test_depth_at_a_recess_and_at_a_rib() -> None:
    one = studied(van(BOX, pocket(), rib((1200, 1240), heights=[0, 300])), **SCRIBED)
    for height, high, wall in ((100, 100, 770), (250, 100, 770), (300, 100, 800), (700, 100, 840), (550, 100, 800)):
        assert one.depth_at(height, high) == near(wall - 400 - 18)


@pytest.mark.parametrize("side", SIDES)
def test_liters_that_parts_add_and_take(side: str) -> None:
    """The recess 40 deep over 500 x 400; the rib 40 x 30 over 1000, and over the 400 of the recess the 40 behind it too:
    without it those would be the cabinet's. Likewise the recess gives nothing where the rib stands in it."""
    one = studied(van(BOX, pocket(side), rib((1200, 1240), 30, side)), side=side, **SCRIBED)
    wanted = {"pocket": (500 - 40) * 400 * 40 / 1e6, "rib": -(40 * 30 * 1000 + 40 * 40 * 400) / 1e6}
    assert dict(one.liters) == {name: pytest.approx(volume, abs=1e-6) for name, volume in wanted.items()}


@pytest.mark.parametrize("station", [0, 850, 1100, 1500])
def test_liters_are_those_of_the_van_built_anew_without_the_part(station: float) -> None:
    """Parts that lie over one another, by another route: the cabinet's own volume in a van that never had the part."""
    parts = {
        "pocket": pocket(), "rib": rib((1200, 1240)),
        "second": recess("second", side="right", stations=[1300, 2000], heights=[700, 1000], depth=60),
        "housing": member("housing", "housing", side="right", stations=[900, 1800], height=300, depth=150),
        "rail": member("rail", "rail", side="both", heights=[250, 350], depth=60),
    }  # fmt: skip
    own: dict[str, Any] = {**SCRIBED, "station": station}
    one = studied(van(LEANING, *parts.values()), **own)
    assert len(one.liters) > 1 or station == 0
    for name in parts:
        without = studied(van(LEANING, *(text for part, text in parts.items() if part != name)), **own)
        difference = (one.module.solid.volume - without.module.solid.volume) / 1e6
        assert dict(one.liters).get(name, 0.0) == pytest.approx(
            difference, abs=1e-6 if name in dict(one.liters) else 0.1
        )


def test_liters_that_a_housing_takes_are_those_of_the_cabinet_without_it() -> None:
    """A housing behind all of a low cabinet: 200 x 500 x 300 less depth. The cabinet rebuilt without it says the same."""
    housing = member("housing", "housing", side="right", stations=[900, 1800], height=400, depth=200)
    low = {**SCRIBED, "high": 300}
    with_it, without = studied(van(BOX, housing), **low), studied(van(BOX), **low)
    difference = (with_it.module.solid.volume - without.module.solid.volume) / 1e6
    assert difference == pytest.approx(-0.2 * 500 * 300 / 1e3, abs=1e-6)
    assert dict(with_it.liters) == {"housing": near(difference)}


# The story


STORY = van(
    "height, 0, 4000\n0, 850, 850\n1400, 850, 850\n1900, 778, 778",
    recess("window recess", side="right", stations=[800, 1500], heights=[500, 1400], depth=76),
    member("chassis beam", "rib", side="right", stations=[2600, 2680], depth=76),
)
"""A wall upright to 1400 that leans in by 72 to the roof at 1900; a window recess and a beam, both 76 mm."""


def told(station: float, units: str) -> list[str]:
    return sentences(studied(STORY, 600, 600, 800, station=station, hung=550), units)


def test_the_story_of_the_refrigerator_in_inches() -> None:
    """It gains about 3 in in the recess, would come out almost 6 in at full height, loses about 3 in before a beam: common
    practice, no published source. 76 mm are 2.99 in, 76 + 72 mm are 5.83 in, 72 mm 2.83 in, 1900 mm 74.80 in."""
    assert told(850, "in") == [
        'Window recess gives 3".',
        'Run up to 74 13/16", it would cost 5 13/16" more: right wall.',
    ]
    assert told(2350, "in")[0] == 'Chassis beam costs 3".'


def test_the_same_story_in_millimeters() -> None:
    assert told(850, "mm") == [
        "Window recess gives 76 mm.",
        "Run up to 1900 mm, it would cost 148 mm more: right wall.",
    ]
    assert told(2350, "mm")[0] == "Chassis beam costs 76 mm."


def test_from_before_the_beam_it_is_told_where_it_would_gain() -> None:
    """At 2020 to 2620 the beam stands before its last 20 mm, 0.79 in."""
    said = told(2020, "in")
    assert (said[0], said[-1]) == (
        'Chassis beam costs 3".',
        'Moved 13/16" forward it would gain 3", clear of chassis beam.',
    )


def test_where_nothing_acts_that_is_said() -> None:
    assert sentences(studied(van(BOX))) == ["Nothing of the shell gives it room here or costs it any."]


def test_an_effect_within_its_measuring_is_not_told() -> None:
    """2 mm of a rib that is measured to 3 are no news, of one that is measured to 1 they are."""
    rough, fine = rib((1200, 1240), 2), rib((1200, 1240), 2, measured_to=1)
    assert "Rib costs 2 mm." not in sentences(studied(van(BOX, rough)))
    assert "Rib costs 2 mm." in sentences(studied(van(BOX, fine)))


def test_a_scribed_cabinet_is_told_in_volume() -> None:
    """3.785411784 L to the gallon: NIST Handbook 44, Appendix C. 7.36 L are 1.9 gal, 1.84 L 0.5 gal."""
    one = studied(van(BOX, pocket(), rib((1200, 1240))), **SCRIBED)
    assert [s.split(".")[0].split()[:2] for s in sentences(one)] == [["Pocket", "adds"], ["Rib", "takes"]]
    assert sentences(one, "in") == ["Pocket adds 1.9 gal.", "Rib takes 0.5 gal."]


def test_first_what_is_given_then_what_is_cost_then_the_rest() -> None:
    """Hung in a pocket 40 deep of which a block takes 15 again: the walls lean in above, and forward it is clear of the block."""
    block = member("block", "block", stations=[1450, 1490], breadths=[805, 900], heights=[800, 900])
    one = studied(van(LEANING, pocket(), block), high=400, hung=700)
    assert [s.split()[0] for s in sentences(one)] == ["Pocket", "Block", "Run", "Moved"]


@pytest.mark.parametrize(("measured_to", "said"), [(3, "53 mm"), (1, "53 mm"), (0.5, "53.3 mm")])
def test_millimeters_are_as_fine_as_the_shell_is_measured(measured_to: float, said: str) -> None:
    """From 900 - 700/15 to 800: 53.33."""
    one = studied(van(ROOFED, measured_to=measured_to))
    assert sentences(one) == [f"Run up to 1500 mm, it would cost {said} more: right wall."]
    assert 'cost 2 1/8"' in sentences(one, "in")[0]


@given(st.floats(1e-4, 1e3))
def test_no_volume_reads_as_nothing(liters: float) -> None:
    """A cubic inch is 0.016387064 L, 231 of them a gallon: NIST Handbook 44, Appendix C."""
    for units, of in (("mm", {"L": 1.0, "ml": 1e-3}), ("in", {"gal": 231 * 0.016387064, "cu in": 0.016387064})):
        number, _, unit = volume_words(liters, units).partition(" ")
        half_a_step = 0.0501 if unit in {"L", "gal"} else 0.501
        assert float(number) * of[unit] == pytest.approx(liters, abs=half_a_step * of[unit])
        assert float(number) > 0 or liters < 0.5 * of[unit]


def test_parts_that_act_together_are_named_together() -> None:
    text = van(BOX, rib((1100, 1140)), member("post", "pillar", side="right", stations=[1300, 1340], depth=30))
    joint = next(s for s in sentences(studied(text)) if "together" in s)
    assert joint in {"Rib and post together cost 30 mm.", "Post and rib together cost 30 mm."}


# Bad input


def layout_of(*modules: str) -> Layout:
    return layout(van(BOX), *modules)


def test_what_stands_free_or_at_an_end_is_refused() -> None:
    one = layout_of(module("free", station=1000, breadth=0), module("end", against="rear", breadth=0))
    with pytest.raises(InputError, match=r"'free' stands free of any wall; .*left or right wall"):
        study(one, "free")
    with pytest.raises(InputError, match=r"'end' stands against the rear; .*left or right wall"):
        study(one, "end")


def test_what_is_inside_another_is_refused() -> None:
    galley = module("galley", 900, 450, 900, kind="scribed", against="right", station=1700)
    one = layout_of(galley, module("tank", 300, 200, 200, in_="galley", against="right", station=1800))
    with pytest.raises(InputError, match="'tank' is inside 'galley'"):
        study(one, "tank")


def test_an_unknown_module_is_refused_with_the_nearest_name() -> None:
    with pytest.raises(LayoutError, match=r"no module 'refrigerater'.*refrigerator"):
        study(layout_of(module("refrigerator", against="right", station=1000)), "refrigerater")


def test_what_fouls_is_studied_and_the_reason_given() -> None:
    """The block stands where its face does; with what is wrong said, everything else is still answered."""
    block = member("block", "block", stations=[1100, 1300], breadths=[50, 350], heights=[0, 500])
    one = studied(van(BOX, block), deep=600)
    assert one.reason == "it already fouls block"
    assert one.effects.stopped_by == "block"
    assert one.slide.value(2000) == near(800)
    assert one.places()
    assert sentences(one)
    assert studied(van(BOX)).reason == ""


def test_a_range_outside_the_van_and_an_empty_one_hold_nothing() -> None:
    one = studied(van(LEANING))
    for low, high in ((4000, 5000), (-900, -1), (1200, 1200), (1300, 1200)):
        assert one.slide.clipped(low, high).is_empty
        assert one.slide.least(low, high - 1) is None
    assert one.by_top.clipped(2000, 2500).is_empty
    assert one.slide.clipped(-900, 9000).pieces == one.slide.pieces
    assert one.places(10_000) == []


def test_a_module_with_its_foot_below_the_floor_is_refused() -> None:
    with pytest.raises(
        InputError, match="'m' does not stand inside the van: it already fouls floor; move it inside first"
    ):
        studied(van(BOX), W, D, H, hung=-100)


def test_a_shelf_on_the_floor_is_as_deep_as_the_wall_lets_it() -> None:
    """An upright wall: the cabinet's own depth less its panel, on the floor as anywhere above it."""
    found = studied(van(BOX), W, D, H, kind="scribed")
    for height in (0.0, 100.0, 650.0):
        assert found.depth_at(height) == pytest.approx(D - 18, abs=EXACT)


def test_what_bars_it_at_any_depth_costs_it_no_length() -> None:
    """A bow across the van at height 1750 over a locker that is 1800 high: without the bow it stands just as far out."""
    bow = member("bow", "bow", stations=[1000, 1100], depth=150)
    barred = studied(van(BOX, bow), 600, 300, 1800, station=900)
    assert sentences(barred)[0] == "Bow bars it here, however shallow."
    assert not any("cost" in words for words in sentences(barred))
    assert PlaceWords.of(barred).words("mm").startswith("bow bars it here, however shallow")
