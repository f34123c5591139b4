"""Seats, against rooms between plain blocks and the sizes of ANSUR II."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from tumblehome.people.person import Person
from tumblehome.people.seats import back_of, check_seats
from vans import BOX, LEANING, layout, leaning, module, near, van

if TYPE_CHECKING:
    from tumblehome.checks import Finding

LARGE = Person.of(95)
BACKED = [{"wide": 540, "deep": 440, "high": 450}, {"wide": 540, "deep": 90, "high": 900, "fore": 440}]


def asked(van_text: str, *modules: str, of: str = "seat") -> dict[str, Finding]:
    return {f.question: f for f in check_seats(layout(van_text, *modules), LARGE) if f.subject == of}


def seat(name: str = "seat", **fields: Any) -> str:
    """Return a seat that faces the rear, its face at station 1440, its back at 1000, unless told otherwise."""
    own: dict[str, Any] = {
        "wide": None,
        "deep": None,
        "high": None,
        "boxes": BACKED,
        "faces": "rear",
        "station": 910,
        "breadth": -270,
        "use": "seat",
    }
    return module(name, **(own | fields))


def block(x: float, z: float = 0, high: float = 700, y: float = -270) -> str:
    return module("block", 540, 100, high, station=x, breadth=y, hung=z, faces="rear")


def test_one_leans_back_at_what_rises_above_the_seat() -> None:
    assert back_of(layout(van(BOX), seat()).module("seat")) == near(440)
    plain = module("seat", 540, 500, 450, station=910, breadth=-270, faces="rear", use="seat")
    assert back_of(layout(van(BOX), plain).module("seat")) == near(500)


@pytest.mark.parametrize(
    ("room", "verdict"), [(673, "clear"), (670, "tight"), (668, "tight"), (542, "tight"), (540, "fouls")]
)
def test_knees_need_the_length_from_the_back_to_the_knee(room: float, verdict: str) -> None:
    """ANSUR II, buttock-knee length: 669 mm (men, 95th percentile), 541 mm (women, 5th)."""
    found = asked(van(BOX), seat(), block(1000 + room))["knee room"]
    assert found.value == near(room)
    assert (found.verdict, found.cause) == (verdict, "block")


def test_what_ends_below_the_knees_leaves_them_free() -> None:
    low = block(1500, high=340)  # the seat is 450 high; knees are looked after from 350 up
    assert asked(van(BOX), seat(), low)["knee room"].value == near(3000)
    assert asked(van(BOX), seat(), block(1500, high=360))["knee room"].value == near(500)


@pytest.mark.parametrize(
    ("room", "verdict"), [(211, "clear"), (208, "tight"), (206, "tight"), (146, "tight"), (144, "fouls")]
)
def test_thighs_go_under_a_table(room: float, verdict: str) -> None:
    """ANSUR II, thigh clearance: 207 mm (men, 95th percentile), 145 mm (women, 5th)."""
    table = module("table", 540, 500, 30, station=1420, breadth=-270, hung=450 + room, faces="rear", use="table")
    found = asked(van(BOX), seat(), table)["thigh room"]
    assert found.value == near(room)
    assert found.verdict == verdict


@pytest.mark.parametrize(
    ("roof", "verdict"), [(981, "clear"), (978, "tight"), (976, "tight"), (804, "tight"), (802, "fouls")]
)
def test_headroom_is_held_against_the_sitting_height(roof: float, verdict: str) -> None:
    """ANSUR II: 977 mm (men, 95th percentile), 803 mm (women, 5th)."""
    low = f"height, 0, 4000\n0, 800, 800\n{450 + roof}, 800, 800"
    boxes = [{"wide": 540, "deep": 440, "high": 450}]
    found = asked(van(low), seat(boxes=boxes))["headroom sitting"]
    assert found.verdict == verdict
    assert found.value == pytest.approx(roof, abs=0.06)


def test_of_two_places_the_one_below_the_cabinet_has_the_least_headroom() -> None:
    bench = [{"wide": 1400, "deep": 440, "high": 450}]
    over = module("cabinet", 700, 440, 300, station=1000, breadth=-800, hung=1300, faces="rear")
    found = asked(van(BOX), seat(boxes=bench, breadth=-700, people=2, station=1000), over)["headroom sitting"]
    assert found.value == pytest.approx(850, abs=0.06)


@pytest.mark.parametrize(
    ("wide", "verdict"), [(571, "clear"), (568, "tight"), (566, "tight"), (407, "tight"), (405, "fouls")]
)
def test_shoulders_sit_between_two_cupboards(wide: float, verdict: str) -> None:
    """ANSUR II, bideltoid breadth: 567 mm (men, 95th percentile), 406 mm (women, 5th)."""
    boxes = [{"wide": 400, "deep": 440, "high": 450}]
    sides = [
        module(name, 200, 1200, 1800, station=700, breadth=y, faces="rear")
        for name, y in (("left cupboard", -wide / 2 - 200), ("right cupboard", wide / 2))
    ]
    found = asked(van(BOX), seat(boxes=boxes, breadth=-200, station=1000), *sides)["shoulder room"]
    assert found.verdict == verdict
    assert found.value == pytest.approx(wide, abs=0.06)


def test_a_leaning_wall_takes_shoulder_room_at_the_height_of_the_shoulders() -> None:
    """Sitting on 450 the shoulders of the 95th percentile are at 450 + 977 - (1870 - 1546) = 1103; the wall is there at 789.7."""
    boxes = [{"wide": 400, "deep": 440, "high": 450}]
    screen = module("screen", 40, 1200, 1500, station=700, breadth=200, faces="rear")
    found = asked(van(LEANING), seat(boxes=boxes, breadth=-300, station=1000), screen)["shoulder room"]
    assert found.value == pytest.approx(1.2 * 567.0, abs=0.1)
    screen = module("screen", 40, 1200, 1500, station=700, breadth=-240, faces="rear")
    found = asked(
        van(LEANING), seat(boxes=[{"wide": 300, "deep": 440, "high": 450}], breadth=-700, station=1000), screen
    )["shoulder room"]
    assert found.value == pytest.approx(leaning(1103) - 240, abs=0.06)


@pytest.mark.parametrize(("between", "verdict"), [(1342, "clear"), (1339, "tight"), (1081, "tight")])
def test_two_who_face_each_other_need_room_for_two_pairs_of_knees(between: float, verdict: str) -> None:
    other = seat("other", faces="front", station=1000 + between - 440)
    found = asked(van(BOX), seat(), other, of="seat and other")["knees of both"]
    assert found.value == near(between)
    assert found.verdict == verdict


def test_seats_in_a_row_do_not_face_each_other() -> None:
    assert not asked(van(BOX), seat(), seat("other", station=2400), of="seat and other")
    assert not asked(van(BOX), seat(), seat("other", station=100, faces="front"), of="seat and other")


@pytest.mark.parametrize(("high", "verdict"), [(470, "clear"), (473, "clear"), (475, "tight")])
def test_feet_of_all_hang_above_the_hollow_of_the_tallest_knee(high: float, verdict: str) -> None:
    """ANSUR II, popliteal height: 471 mm (men, 95th percentile)."""
    found = asked(van(BOX), seat(boxes=[{"wide": 540, "deep": 440, "high": high}]))["seat height"]
    assert found.verdict == verdict


def test_of_a_seat_under_a_bed_nothing_is_asked() -> None:
    bed = module("bed", 1600, 1400, 100, station=800, breadth=-800, hung=850, faces="rear")
    low: dict[str, Any] = {"boxes": [{"wide": 540, "deep": 440, "high": 460}]}
    assert not asked(van(BOX), seat(**low), bed)
    assert asked(van(BOX), seat(boxes=[{"wide": 540, "deep": 440, "high": 440}]), bed)
