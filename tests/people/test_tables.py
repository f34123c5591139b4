"""Tables, counters and cupboards, one unit either side of their limits."""

from __future__ import annotations

from math import sqrt
from typing import TYPE_CHECKING, Any

import pytest

from tumblehome.people.person import Person
from tumblehome.people.tables import check_tables, reach_height
from vans import BOX, layout, module, near, van

if TYPE_CHECKING:
    from tumblehome.checks import Finding

LARGE = Person.of(95)
INCH = 25.4


def asked(*modules: str, of: str) -> dict[str, Finding]:
    return {f.question: f for f in check_tables(layout(van(BOX), *modules), LARGE) if f.subject == of}


def table(**fields: Any) -> str:
    own: dict[str, Any] = {
        "wide": 600,
        "deep": 500,
        "high": 30,
        "station": 1400,
        "breadth": -300,
        "hung": 690,
        "faces": "rear",
        "use": "table",
    }
    return module("table", **(own | fields))


@pytest.mark.parametrize(("inches", "verdict"), [(27.9, "tight"), (28, "clear"), (34, "clear"), (34.1, "tight")])
def test_a_table_is_28_to_34_inches_high(inches: float, verdict: str) -> None:
    """ADA 2010 902.3."""
    assert asked(table(hung=inches * INCH - 30), of="table")["table height"].verdict == verdict


def test_a_table_tells_how_far_its_edge_is_from_the_seat_s() -> None:
    seat = module("seat", 540, 440, 450, station=960, breadth=-270, faces="rear", use="seat")
    assert "its edge 0 mm short of the seat's" in asked(seat, table(), of="table")["table at seat"].words()
    over = asked(seat, table(station=1370), of="table")["table at seat"]
    assert "270 mm above seat, its edge 30 mm over the seat's" in over.words()
    assert "table at seat" not in asked(seat, table(station=2200), of="table")


@pytest.mark.parametrize(("deep", "verdict"), [(16, "tight"), (17.9, "tight"), (18, "clear"), (19, "clear")])
def test_a_counter_of_15_to_16_inches_is_a_squeeze(deep: float, verdict: str) -> None:
    """Common practice, no published source: 15 to 16 in is a squeeze beside the usual 18 to 19."""
    counter = module("counter", 900, deep * INCH, 36 * INCH, station=1000, against="left", use="counter")
    found = asked(counter, of="counter")["counter"]
    assert found.verdict == verdict
    assert "as usual" in found.words("in")
    assert ("a squeeze" in found.words()) == (verdict == "tight")


@pytest.mark.parametrize(("room", "verdict"), [(324, "clear"), (321, "tight"), (183, "tight")])
def test_who_stands_at_a_counter_needs_the_depth_of_the_belly(room: float, verdict: str) -> None:
    """ANSUR II, abdominal extension depth: 320 mm (men, 95th percentile), 184 mm (women, 5th)."""
    counter = module("counter", 900, 500, 900, station=1000, breadth=-800, faces="right", use="counter")
    other = module("other", 900, 400, 900, station=1000, breadth=-300 + room, faces="left")
    found = asked(counter, other, of="counter")["standing before it"]
    assert found.value == pytest.approx(room, abs=0.01)
    assert found.verdict == verdict


def test_the_hand_moves_on_a_circle_about_the_shoulder() -> None:
    """A closed form: at the height of the shoulder the arm is as long as it reaches above it."""
    small = Person.of(5)
    overhead = small.reach_overhead_sitting + small.stature - small.sitting_height
    arm = overhead - small.shoulder_height
    assert reach_height(small, -small.belly_depth / 2) == near(overhead)
    away = 300.0 + small.belly_depth / 2
    assert reach_height(small, 300.0) == near(small.shoulder_height + sqrt(arm**2 - away**2))
    assert reach_height(small, arm) == 0.0


@pytest.mark.parametrize(("beyond", "verdict"), [(-4, "clear"), (-1, "tight"), (1, "tight")])
def test_a_cupboard_is_within_reach_of_the_smaller_body(beyond: float, verdict: str) -> None:
    high = reach_height(Person.of(5), 0.0)
    low = {"hung": high + beyond - 10, "panel": 10, "high": 100, "wide": 600, "deep": 300}
    cupboard = module("cupboard", station=1000, against="left", use="cupboard", **low)
    high_van = "height, 0, 4000\n0, 800, 800\n2600, 800, 800"
    found = {f.question: f for f in check_tables(layout(van(high_van), cupboard), LARGE)}["reach"]
    assert found.value == near(high)
    assert found.verdict == verdict


def test_over_a_counter_the_reach_is_less() -> None:
    counter = module("counter", 900, 600, 900, station=1000, against="left", use="counter")
    cupboard = module("cupboard", 600, 300, 300, station=1000, against="left", hung=1400, use="cupboard")
    over, free = (asked(*modules, of="cupboard")["reach"] for modules in ((counter, cupboard), (cupboard,)))
    assert over.value == near(reach_height(Person.of(5), 300.0))
    assert free.value == near(reach_height(Person.of(5), 0.0))
    assert "over counter" in over.words()


def test_a_cupboard_on_the_floor_is_not_reached_up_to() -> None:
    assert not asked(module("cupboard", 600, 300, 1500, station=1000, against="left", use="cupboard"), of="cupboard")
