"""Doorways as exits: the box and the ellipsoid of FMVSS 217, one unit either side."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tumblehome.people.egress import check_egress, free_through
from tumblehome.people.ground import Floor
from vans import BOX, layout, module, near, van

if TYPE_CHECKING:
    from tumblehome.checks.finding import Finding


def side(wide: float, high: float) -> str:
    return f'[[doorways]]\nname = "side door"\nside = "right"\nstations = [200, {200 + wide}]\nheights = [0, {high}]'


REAR = '[[doorways]]\nname = "rear doors"\nside = "rear"\nbreadths = [-600, 600]\nheights = [0, 1600]'


def asked(*modules: str, door: str) -> Finding:
    (found,) = check_egress(Floor(layout(van(BOX, door), *modules)))
    return found


@pytest.mark.parametrize(
    ("wide", "high", "passes"), [(611, 1141, True), (609, 1141, False), (611, 1139, False), (611, 400, False)]
)
def test_the_box(wide: float, high: float, passes: bool) -> None:
    """FMVSS 217 S5.4.2.1(a)(1): 114 x 61 x 30 cm, its lower face on the floor."""
    found = asked(door=side(wide, high))
    assert ("does not pass" not in found.words()) is passes
    assert found.value == near(wide)
    assert "guidance" in found.source


@pytest.mark.parametrize(("wide", "high", "verdict"), [(509, 331, "clear"), (507, 331, "tight"), (509, 329, "tight")])
def test_the_ellipsoid(wide: float, high: float, verdict: str) -> None:
    """FMVSS 217 S5.4.1: 20 x 13 in are 508 x 330.2 mm. It is guidance, so never at fault."""
    assert asked(door=side(wide, high)).verdict == verdict


@pytest.mark.parametrize(("top", "verdict"), [(1269, "clear"), (1270, "tight")])
def test_over_a_bed_the_ellipsoid_has_the_rest_of_the_doorway(top: float, verdict: str) -> None:
    """1600 less 330.2 is 1269.8."""
    bed = module("bed", 1590, 1500, top, faces="front", station=2500, breadth=-795)
    found = asked(bed, door=REAR)
    assert found.value == 0
    assert found.verdict == verdict


def test_what_stands_behind_the_doorway_leaves_the_widest_gap() -> None:
    """A post of 100 in a doorway of 1000, 250 from its front end and within 300 of the wall: 650 are left."""
    shell = van(BOX, side(1000, 1700))
    for depth, free in ((100, 650), (310, 1000)):
        post = module("post", 100, 100, 1800, faces="front", station=450, breadth=700 - depth)
        floor = Floor(layout(shell, post))
        assert free_through(floor, floor.layout.shell.doorways[0], (200, 1140), 300) == near(free)


def test_what_is_low_enough_to_be_stepped_on_takes_nothing() -> None:
    for high, free in ((199, 1000), (201, 0)):
        step = module("step", 1200, 300, high, against="right", station=100)
        assert asked(step, door=side(1000, 1700)).value == near(free)
