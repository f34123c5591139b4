"""What a module fouls, by how much, and every way to clear it: closed forms, proven by moving it there."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from tumblehome.checks import Finding, check
from vans import BOX, LEANING, TAPERED, layout, leaning, member, module, near, recess, van

if TYPE_CHECKING:
    from tumblehome.fitout import Layout

WAYS = ("front", "rear", "left", "right", "down", "up")
SENSES = {"front": (0, -1), "rear": (0, 1), "left": (1, -1), "right": (1, 1), "up": (2, 1), "down": (2, -1)}
HAIR = 1e-6
"""Millimeters: how near to a boundary both sides of it are tried."""

BLOCK = member("block", "block", stations=[1000, 1200], breadths=[-100, 100], heights=[0, 600])
M: dict[str, Any] = {"name": "m", "wide": 500, "deep": 400, "high": 700}


def fouls(one: Layout) -> list[Finding]:
    return [f for f in check(one) if f.verdict == "fouls"]


def foul(van_text: str, *others: str, **fields: Any) -> Finding:
    """Return what the module m fouls, which must be one thing."""
    (only,) = fouls(layout(van_text, *others, module(**{**M, **fields})))
    assert only.subject == "m"
    return only


def expect_moves(found: Finding, **moves: float | None) -> None:
    """Expect moves in all six directions, None where the test names none."""
    assert dict(found.moves) == {way: None if moves.get(way) is None else near(moves[way]) for way in WAYS}


def proven_by_moving(
    van_text: str, *others: str, station: float, breadth: float, hung: float = 0, **fields: Any
) -> int:
    """Move the module m by each answer and a hair more: it is free; a hair less: it is not. Return how many were tried."""
    found = foul(van_text, *others, station=station, breadth=breadth, hung=hung, **fields)
    tried = 0
    for way, distance in found.moves.items():
        axis, sense = SENSES[way]
        for more, free in ((HAIR, True), (-HAIR, False)):
            if distance is None:
                continue
            at = [float(station), float(breadth), float(hung)]
            at[axis] += sense * (distance + more)
            moved = layout(
                van_text, *others, module(**{**M, "station": at[0], "breadth": at[1], "hung": at[2], **fields})
            )
            assert (not fouls(moved)) is free, (way, more)
            tried += 1
    return tried


def test_into_an_upright_wall() -> None:
    """12 mm of its 400 x 700 end stand in the wall; only moving right clears it."""
    found = foul(van(BOX), station=1000, breadth=-812)
    assert (found.question, found.cause) == ("walls", "left wall")
    assert found.volume == pytest.approx(12 * 400 * 700 / 1e6, rel=1e-9)
    expect_moves(found, right=12)
    assert (found.value, found.margin) == (near(-12),) * 2
    assert found.greatest_height is None
    assert proven_by_moving(van(BOX), station=1000, breadth=-812) == 2


def test_into_a_leaning_wall() -> None:
    """At half-breadth 850 the wall passes height 500: the module's top 200 stand in a wedge 20 thick at the top."""
    found = foul(van(LEANING), station=1000, breadth=-850)
    assert found.volume == pytest.approx(200 * 20 / 2 * 400 / 1e6, rel=1e-9)
    expect_moves(found, right=20)
    assert found.greatest_height == near(500)
    assert "make it at most 500 mm high" in found.words()


def test_a_hung_module_clears_a_leaning_wall_by_going_down() -> None:
    """Between heights 300 and 700 at half-breadth 850: down by 200, or 200 high at most, both to the wall's height 500."""
    found = foul(van(LEANING), station=1000, breadth=-850, hung=300, high=400)
    expect_moves(found, right=20, down=200)
    assert found.greatest_height == near(200)
    assert found.sensible_moves == WAYS
    assert proven_by_moving(van(LEANING), station=1000, breadth=-850, hung=300, high=400) == 4


def test_into_a_tapering_wall() -> None:
    """The right wall is at 900 - x / 20: a module at breadth 840 clears ahead of station 1200."""
    found = foul(van(TAPERED), station=1000, breadth=340)
    assert found.volume == pytest.approx(200 * 10 / 2 * 700 / 1e6, rel=1e-9)
    expect_moves(found, front=200, left=10)
    assert proven_by_moving(van(TAPERED), station=1000, breadth=340) == 4


def test_into_a_block_with_a_way_out_on_every_side_but_below() -> None:
    found = foul(van(BOX, BLOCK), station=1150, breadth=-50)
    assert (found.cause, found.direction) == ("block", None)
    assert found.volume == pytest.approx(50 * 150 * 600 / 1e6, rel=1e-9)
    expect_moves(found, rear=50, front=550, left=550, right=150, up=600)
    assert found.value == near(-50)
    assert found.sensible_moves == ("front", "rear", "left", "right")
    assert "move 50 mm rearward, or move 150 mm to the right" in found.words()
    assert proven_by_moving(van(BOX, BLOCK), station=1150, breadth=-50) == 10


def test_a_move_jumps_over_what_stands_where_it_would_land() -> None:
    """Forward by 550 it would land at 600 to 1000, on a module at 500 to 900: it must go on to 100, 1050 in all."""
    other = module("other", 500, 400, 700, station=500, breadth=-50)
    found = foul(van(BOX, BLOCK), other, station=1150, breadth=-50)
    expect_moves(found, rear=50, front=1050, left=550, right=150, up=600)
    assert proven_by_moving(van(BOX, BLOCK), other, station=1150, breadth=-50) == 10


def test_a_move_jumps_over_a_low_block_into_the_room_between_two() -> None:
    """Rearward by 50 it would meet a second block at 1500 to 1700, and behind that a third at 2000: 300 is too short for it."""
    more = [
        member(f"block {x}", "block", stations=[x, x + 200], breadths=[-100, 100], heights=[0, 600])
        for x in (1500, 2000)
    ]
    found = foul(van(BOX, BLOCK, *more), station=1050, breadth=-50)
    expect_moves(found, front=450, rear=1150, left=550, right=150, up=600)
    assert proven_by_moving(van(BOX, BLOCK, *more), station=1050, breadth=-50) == 10


@pytest.mark.parametrize(("deep", "front"), [(399, 1149), (400, 1150), (401, None)])
def test_no_move_where_the_room_beyond_is_too_short(deep: float, front: float | None) -> None:
    """Ahead of the other module 400 mm are left: its rear end must come to station 400, from 1150 + deep."""
    other = module("other", 500, 500, 700, station=400, breadth=-50)
    found = foul(van(BOX, BLOCK), other, station=1150, breadth=-50, deep=deep)
    assert found.moves["front"] == (None if front is None else near(front))


def test_where_nothing_clears_no_move_is_told() -> None:
    """Below a beam of full breadth it is too high, and the 100 mm ahead of the beam are too short for it: nothing helps."""
    beam = member("beam", "block", stations=[100, 4001], breadths=[-801, 801], heights=[600, 1901])
    found = foul(van(BOX, beam), station=1000, breadth=-250)
    assert (found.cause, found.value, found.margin) == ("beam", None, None)
    expect_moves(found)
    assert found.greatest_height == near(600)


def test_the_greatest_height_is_a_boundary() -> None:
    beam = member("beam", "block", stations=[1000, 1100], breadths=[-801, 801], heights=[650, 1901])
    found = foul(van(BOX, beam), station=900, breadth=-250)
    assert found.greatest_height == near(650)
    for more, count in ((-HAIR, 0), (0, 0), (HAIR, 1)):
        lower = module(**{**M, "high": 650 + more}, station=900, breadth=-250)
        assert len(fouls(layout(van(BOX, beam), lower))) == count


def test_height_is_no_mend_where_the_foot_fouls() -> None:
    assert foul(van(BOX, BLOCK), station=1150, breadth=-50).greatest_height is None
    below = foul(van(BOX), station=1000, breadth=0, hung=-5)
    assert (below.cause, below.greatest_height) == ("floor", None)
    expect_moves(below, up=5)


def test_the_greatest_height_of_a_stack_counts_from_its_foot() -> None:
    """A beam at 650 over the stack's upper box, which begins at 300."""
    beam = member("beam", "block", stations=[1000, 1100], breadths=[-801, 801], heights=[650, 1901])
    boxes = [{"wide": 500, "deep": 400, "high": 300}, {"wide": 500, "deep": 300, "high": 400, "up": 300}]
    found = foul(van(BOX, beam), wide=None, deep=None, high=None, boxes=boxes, station=900, breadth=-250)
    assert found.greatest_height == near(650)


def test_two_parts_are_told_one_by_one() -> None:
    """It stands 12 in the wall and, where a rib of 30 is, in that rib; moves clear it of both."""
    rib = member("rib", "rib", side="left", stations=[1100, 1140], depth=30)
    found = fouls(layout(van(BOX, rib), module("m", station=1000, breadth=-812)))
    assert {f.cause for f in found} == {"rib", "left wall"}
    volumes = {f.cause: f.volume for f in found}
    assert volumes["rib"] == pytest.approx(40 * 30 * 700 / 1e6, rel=1e-9)
    assert volumes["left wall"] == pytest.approx(12 * 400 * 700 / 1e6, rel=1e-9)
    for f in found:
        assert f.moves["right"] == near(42)


def test_a_part_that_gives_room_is_fouled_at_its_edge() -> None:
    """Hung in a window it stands 5 ahead of the window's front edge, 50 deep."""
    pocket = recess("window", side="left", stations=[1000, 1600], heights=[500, 1200], depth=50)
    found = fouls(layout(van(BOX, pocket), module(**{**M, "high": 500}, station=995, breadth=-850, hung=600)))
    assert {f.cause for f in found} == {"window", "left wall"}
    for f in found:
        assert f.volume == pytest.approx(5 * 50 * 500 / 1e6, rel=1e-9)
        expect_moves(f, right=50, rear=5)


def test_turned_module_against_a_corner() -> None:
    """A square of 400 turned by 45 degrees reaches 200 sqrt(2) from its middle; its corner's wedge is 45 degrees a side."""
    half = 200 * 2**0.5
    found = foul(van(BOX), wide=400, yaw=45, station=1000, breadth=-810)
    expect_moves(found, right=10)
    assert found.volume == pytest.approx(10 * 10 * 700 / 1e6, rel=1e-6)
    block = member("block", "block", stations=[1000 + 2 * half - 10, 3000], breadths=[-100, 100], heights=[0, 1900])
    turned = foul(van(BOX, block), wide=400, yaw=45, station=1000, breadth=-half)
    assert turned.moves["front"] == near(10)
    assert turned.moves["left"] == near(100 + 10)  # a 45 degree corner 10 past the face slides 10 past its end


@pytest.mark.parametrize("station", [-50, 3650])
def test_partly_outside_it_fouls_the_end(station: float) -> None:
    found = foul(van(BOX), station=station, breadth=0)
    way, cause = ("rear", "front") if station < 0 else ("front", "rear")
    assert found.cause == cause
    assert found.volume == pytest.approx(50 * 500 * 700 / 1e6, rel=1e-9)
    expect_moves(found, **{way: 50})


def test_wholly_inside_a_member_it_fouls_that_member() -> None:
    """A box of 100 within a housing of 300: nothing of it is in the void, though it meets no face."""
    block = member("block", "block", stations=[1000, 2000], breadths=[-400, 400], heights=[0, 600])
    found = foul(van(BOX, block), wide=100, deep=100, high=100, station=1500, breadth=-50)
    assert found.cause == "block"
    assert found.volume == pytest.approx(1e6 / 1e6, rel=1e-9)
    expect_moves(found, front=600, rear=500, left=450, right=450, up=600)


def test_standing_in_the_wall_with_its_face_flush_it_fouls() -> None:
    """A block's face and the module's face coincide, and so do all four edges around them: still one is in the other."""
    block = member("block", "block", stations=[1000, 1400], breadths=[-250, 250], heights=[0, 700])
    found = foul(van(BOX, block), station=1000, breadth=-250)
    assert found.cause == "block"
    assert found.volume == pytest.approx(500 * 400 * 700 / 1e6, rel=1e-9)
    expect_moves(found, front=400, rear=400, left=500, right=500, up=700)


@pytest.mark.parametrize(
    ("sides", "mm", "inches"),
    [((500, 400, 700), "140 L", "37 gal"), ((500, 400, 650), "130 L", "34.3 gal"), ((50, 40, 20), "40 ml", "2 cu in")],
)
def test_what_fouls_is_told_in_liters_or_in_gallons(sides: tuple[int, int, int], mm: str, inches: str) -> None:
    """A gallon is 231 cubic inches of 16.387064 ml: NIST Handbook 44, Appendix C."""
    wide, deep, high = sides
    block = member("block", "block", stations=[1000, 2000], breadths=[-400, 400], heights=[0, 900])
    found = foul(van(BOX, block), wide=wide, deep=deep, high=high, station=1200, breadth=-200)
    assert f"into block by {mm};" in found.words("mm")
    assert f"into block by {inches};" in found.words("in")


def test_a_doorway_is_named_where_its_panel_is_met() -> None:
    """A door's inside is the wall; the finding names the door because that is what a builder sees there."""
    door = '[[doorways]]\nname = "side door"\nside = "right"\nstations = [900, 1600]\nheights = [0, 1700]'
    found = foul(van(BOX, door), station=1000, breadth=310)
    assert (found.cause, found.moves["left"]) == ("side door", near(10))


def test_the_height_that_a_leaning_wall_allows_is_a_boundary() -> None:
    """At half-breadth 855 the wall passes height 450."""
    for more, count in ((-HAIR, 0), (HAIR, 1)):
        one = layout(van(LEANING), module("m", 500, 400, 450 + more, station=1000, breadth=-leaning(450)))
        assert len(fouls(one)) == count


def test_what_is_too_wide_on_both_sides_has_a_greatest_width_and_liters_for_each() -> None:
    """1650 between walls 1600 apart, 20 into the left one and 30 into the right one; 400 deep and 500 high."""
    found = check(layout(van(BOX), module("m", 1650, 400, 500, faces="rear", station=1000, breadth=-820)))
    liters = {f.cause: f.volume for f in found if f.verdict == "fouls"}
    assert liters == {
        "left wall": pytest.approx(20 * 400 * 500 / 1e6, rel=1e-6),
        "right wall": pytest.approx(30 * 400 * 500 / 1e6, rel=1e-6),
    }
    assert found[0].greatest_across == ("wide", near(1600))
    assert found[0].words().endswith("make it at most 1600 mm wide")
