"""Where one stands upright, between bows and cabinets of known heights."""

from __future__ import annotations

import pytest

from tumblehome.people.ground import Floor
from tumblehome.people.headroom import check_headroom, headrooms
from tumblehome.people.person import Person
from vans import layout, member, module, near, van

TALL = "height, 0, 4000\n0, 800, 800\n2000, 800, 800"
BOW = member("bow", "bow", stations=[1000, 1100], depth=200)
LARGE = Person.of(95)


def test_under_a_bow_the_height_is_less_by_its_depth() -> None:
    found = headrooms(Floor(layout(van(TALL, BOW)), closed=True), LARGE)
    heights = {part: height for *_, height, part in found}
    assert heights["bow"] == near(1800)
    (finding,) = check_headroom(Floor(layout(van(TALL, BOW)), closed=True), LARGE)
    assert (finding.value, finding.cause, finding.verdict) == (near(1800), "bow", "tight")


@pytest.mark.parametrize(("roof", "verdict"), [(1874, "clear"), (1871, "tight"), (1869, "tight")])
def test_one_stands_upright_below_a_roof_higher_than_the_stature(roof: float, verdict: str) -> None:
    """ANSUR II: 1870 mm, men, 95th percentile."""
    flat = f"height, 0, 4000\n0, 800, 800\n{roof}, 800, 800"
    (finding,) = check_headroom(Floor(layout(van(flat)), closed=True), LARGE)
    assert finding.value == near(roof)
    assert finding.verdict == verdict


def test_a_narrow_slot_behind_a_cupboard_is_no_aisle() -> None:
    wall = module("wall of cupboards", 1600, 100, 1900, station=3700, breadth=-800, faces="front")  # 200 mm behind it
    lamp = module("lamp", 1000, 150, 100, station=3825, breadth=-500, hung=1200, faces="front")
    (finding,) = check_headroom(Floor(layout(van(TALL), wall, lamp), closed=True), LARGE)
    assert finding.value == near(2000)
