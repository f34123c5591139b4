"""Baths: what is left within their walls."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from tumblehome.people.bath import check_bath, net_at
from tumblehome.people.person import Person
from vans import BOX, layout, module, near, van

if TYPE_CHECKING:
    from tumblehome.checks import Finding

LARGE = Person.of(95)
INCH = 25.4
STEPPED = [
    {"wide": 800, "deep": 800, "high": 1100},
    {"wide": 800, "deep": 600, "high": 500, "up": 1100},
    {"wide": 800, "deep": 450, "high": 250, "up": 1600},
]


def bath(**fields: Any) -> str:
    own: dict[str, Any] = {
        "wide": None,
        "deep": None,
        "high": None,
        "boxes": STEPPED,
        "station": 500,
        "against": "left",
        "panel": 20,
        "use": "bath",
    }
    return module("bath", **(own | fields))


def asked(*modules: str) -> dict[str, Finding]:
    return {f.question: f for f in check_bath(layout(van(BOX), *modules), LARGE)}


def test_the_net_size_steps_in_with_the_walls() -> None:
    plan = layout(van(BOX), bath())
    sizes = [net_at(plan.module("bath"), height) for height in (20, 1099, 1101, 1599, 1700, 1900)]
    assert sizes[0] == near((760, 760))
    assert sizes[1] == near((760, 760))
    assert sizes[2] == near((760, 560))
    assert sizes[3] == near((760, 560))
    assert sizes[4] == near((760, 410))
    assert sizes[5] is None


def test_a_wet_bath_of_38_by_42_inches_net() -> None:
    """Common practice, no published source."""
    found = asked(bath(boxes=[{"wide": 38 * INCH + 40, "deep": 42 * INCH + 40, "high": 1800}]))["net size"]
    assert 'floor 38" × 42"' in found.words("in")
    assert found.verdict == "clear"


@pytest.mark.parametrize(("high", "verdict"), [(1874, "clear"), (1871, "tight"), (1500, "tight")])
def test_headroom_is_that_between_floor_and_lid(high: float, verdict: str) -> None:
    tall = "height, 0, 4000\n0, 800, 800\n2300, 800, 800"
    one = bath(boxes=[{"wide": 800, "deep": 800, "high": high + 40}])
    found = {f.question: f for f in check_bath(layout(van(tall), one), LARGE)}["headroom standing"]
    assert found.value == near(high)
    assert found.verdict == verdict


def test_above_a_tray_the_roof_counts() -> None:
    tray = bath(boxes=[{"wide": 900, "deep": 900, "high": 60}])
    assert asked(tray)["headroom standing"].value == near(1900 - 20)
    low = module("cabinet", 900, 900, 100, station=500, against="left", hung=1500)
    assert asked(tray, low)["headroom standing"].value == near(1500 - 20)


@pytest.mark.parametrize(
    ("wide", "verdict"), [(24 * INCH, "clear"), (22 * INCH, "clear"), (558, "tight"), (321, "tight"), (319, "fouls")]
)
def test_a_single_door_opens_22_to_24_inches(wide: float, verdict: str) -> None:
    """Common practice, no published source; ANSUR II: a belly is 320 mm deep (men, 95th percentile)."""
    assert asked(bath(opening={"wide": wide, "left": 40}))["way in"].verdict == verdict


def test_a_bath_whose_opening_is_not_told_is_not_judged_by_it() -> None:
    assert "way in" not in asked(bath())
