"""The room that a module needs to work: doors against a corner, drawers against a housing, lids under a cabinet.

A door sweeps a circle about its hinge; whether it passes a corner is whether the corner's distance is its radius.
"""

from __future__ import annotations

from math import asin, degrees, pi, sqrt
from typing import Any

import pytest

from tumblehome.checks import Finding, check
from vans import BOX, EXACT, layout, member, module, near, van

DEVIATION = 0.25
"""Millimeters by which the polygon of a swing may lie outside its circle, never inside; stated in the module's docs."""


def zone_of(van_text: str, *modules: str, of: str = "m") -> Finding:
    """Return the finding on the only zone of a module."""
    return next(f for f in check(layout(van_text, *modules)) if (f.subject, f.question) == (of, "zone"))


def expect(found: Finding, value: float, limit: float, cause: str) -> None:
    """Expect a straight zone that opens by a value of the limit and no further, because of something."""
    assert (found.verdict, found.cause, found.limit) == ("fouls", cause, limit)
    assert (found.value, found.margin) == (near(value), near(value - limit))


# Doors

POST = member("post", "pillar", side="left", stations=[800, 900], depth=210)
"""Its corner stands at station 800 and half-breadth 590: from a hinge at 400 and 290, 400 rearward and 300 to the left."""


def swung(radius: float, angle: float = 90, hinge: str = "right") -> Finding:
    """Return the finding on a door of a module 510 wide and 400 deep at the front wall, whose right end is at -290."""
    door = {"name": "zone", "kind": "swing", "hinge": hinge, "radius": radius, "angle": angle}
    return zone_of(van(BOX, POST), module("m", 510, 400, 700, station=0, breadth=-800, zones=[door]))


def test_a_door_passes_a_corner_that_is_further_than_its_radius() -> None:
    """3, 4, 5: the corner is 500 from the hinge."""
    passes, meets = swung(500 - DEVIATION), swung(500 + EXACT)
    assert (passes.verdict, meets.verdict, meets.cause) == ("tight", "fouls", "post")
    assert meets.where is not None
    assert meets.where[:2] == pytest.approx((800, -590), abs=0.1)


def test_what_a_door_sweeps_of_a_post_is_a_circle_cut_by_a_corner() -> None:
    """The area right of x = 400 and beyond y = 300 within a circle: its polygon lies outside it by at most 0.25."""

    def beyond(radius: float) -> float:
        """Return the integral of sqrt(r^2 - x^2) - 300 over x from 400 to sqrt(r^2 - 300^2)."""
        end = sqrt(radius**2 - 300**2)

        def circle(x: float) -> float:
            return (x * sqrt(radius**2 - x**2) + radius**2 * asin(x / radius)) / 2

        return circle(end) - circle(400) - 300 * (end - 400)

    found = swung(505)
    assert beyond(505) * 700 / 1e6 <= found.volume <= beyond(505 + DEVIATION) * 700 / 1e6


def test_a_door_that_opens_less_stops_before_the_corner() -> None:
    """A door of 505 meets the post's face at station 800 first at the angle whose sine is 400 / 505."""
    first = degrees(asin(400 / 505))
    tolerance = first - degrees(asin(400 / (505 + DEVIATION)))
    assert swung(505, first - tolerance - 0.001).verdict == "tight"
    assert swung(505, first + 0.001).verdict == "fouls"


def test_a_door_hinged_at_its_other_end_swings_clear() -> None:
    """Hinged at the wall and opened by 90 degrees it stands along the wall, where the post begins 400 behind the face."""
    assert swung(400 - DEVIATION, hinge="left").verdict == "tight"
    found = swung(400 + EXACT, hinge="left")
    assert (found.verdict, found.cause) == ("fouls", "post")


@pytest.mark.parametrize(("angle", "share"), [(90, 1 / 4), (180, 1 / 2), (30, 1 / 12)])
def test_a_door_sweeps_its_share_of_a_circle(angle: float, share: float) -> None:
    """The sector's area is share x pi r^2; the polygon is larger, by less than its circle grown by the deviation."""
    door = {"name": "zone", "kind": "swing", "hinge": "left", "angle": angle}
    (zone,) = layout(van(BOX), module("m", 600, 400, 700, station=1000, breadth=0, zones=[door])).module("m").zones
    x, y = zone.prisms[0].outline.T
    area = abs(float((x * [*y[1:], y[0]] - y * [*x[1:], x[0]]).sum())) / 2
    assert share * pi * 600**2 <= area <= share * pi * (600 + DEVIATION) ** 2


def test_a_door_swings_at_its_own_height() -> None:
    door = {"name": "zone", "kind": "swing", "hinge": "right", "radius": 505}
    low = member("post", "rib", side="left", stations=[800, 900], depth=210, heights=[0, 300])
    for up, verdict in ((299, "fouls"), (300, "clear")):
        m = module("m", 510, 400, 700, station=0, breadth=-800, zones=[{**door, "up": up}])
        assert zone_of(van(BOX, low), m).verdict == verdict


# Drawers


def pulled(room: float, *others: str, parts: tuple[str, ...] = (), **zone: Any) -> Finding:
    """Return the finding on a drawer of a galley 450 deep at the right wall, whose face looks left from 350."""
    drawer = {"name": "zone", "room": room, **zone}
    return zone_of(van(BOX, *parts), *others, module("m", 900, 450, 900, against="right", station=1000, zones=[drawer]))


HOUSING = member("housing", "housing", side="left", stations=[1800, 2600], height=300, depth=800)
"""Its inboard face stands at the centerline."""


def test_a_drawer_is_shortened_by_a_housing() -> None:
    expect(pulled(450, parts=(HOUSING,)), 350, 450, "housing")
    assert pulled(350, parts=(HOUSING,)).verdict == "tight"
    expect(pulled(350 + EXACT, parts=(HOUSING,)), 350, 350 + EXACT, "housing")


def test_a_drawer_above_or_beside_the_housing_passes() -> None:
    """Who stands before its face looks right: left is ahead, and the housing begins 800 behind the face's left end."""
    assert pulled(450, parts=(HOUSING,), up=300).verdict == "clear"
    assert pulled(450, parts=(HOUSING,), wide=800).verdict == "clear"
    assert pulled(450, parts=(HOUSING,), wide=801).verdict == "fouls"
    assert pulled(450, parts=(HOUSING,), left=800).verdict == "fouls"


def test_what_blocks_a_drawer_counts_its_volume() -> None:
    found = pulled(450, parts=(HOUSING,))
    assert found.volume == pytest.approx(100 * 100 * 300 / 1e6, rel=1e-9)


def test_a_drawer_is_stopped_by_a_module_across_the_aisle() -> None:
    expect(pulled(450, module("bench", 900, 800, 400, against="left", station=1500)), 350, 450, "bench")


def test_a_drawer_against_a_flush_module_does_not_open() -> None:
    """The bench's face lies on the galley's: nothing crosses the drawer's room, it is all inside the bench."""
    expect(pulled(450, module("bench", 900, 1150, 900, against="left", station=1000)), 0, 450, "bench")


def test_a_drawer_that_reaches_the_opposite_wall() -> None:
    assert pulled(1150).verdict == "tight"
    expect(pulled(1160), 1150, 1160, "left wall")


def test_a_clear_drawer_tells_what_lies_beyond() -> None:
    found = pulled(450)
    assert (found.verdict, found.cause, found.direction) == ("clear", "left wall", "left")
    assert found.value == near(350 + 800 - 450)


def test_a_zone_of_a_nested_module_passes_its_parent_only() -> None:
    """A drawer in the galley is pulled out through the galley's face, 18 thick, and is held against the room before it."""
    galley = module("galley", 900, 450, 900, against="right", station=1000)
    drawer = module(
        "m", 400, 400, 100, in_="galley", against="right", station=1100, hung=500, zones=[{"name": "zone", "room": 430}]
    )
    assert zone_of(van(BOX), galley, drawer).verdict == "clear"
    table = module("table", 300, 300, 700, station=1200, breadth=0)
    found = zone_of(van(BOX), galley, drawer, table)
    expect(found, (800 - 18 - 400) - 300, 430, "table")


# Lids and the other sides


def test_a_lid_is_stopped_by_the_cabinet_above() -> None:
    lid = [{"name": "zone", "at": "top", "room": 400}]
    upper = module("upper", 900, 300, 400, against="right", station=1000, hung=1200)
    box = module("m", 900, 450, 900, against="right", station=1000, zones=lid)
    expect(zone_of(van(BOX), upper, box), 300, 400, "upper")
    expect(zone_of(van(BOX, member("bow", "bow", stations=[1100, 1140], depth=700)), box), 300, 400, "bow")
    assert zone_of(van(BOX), box).verdict == "clear"


@pytest.mark.parametrize(
    ("at", "breadth", "station", "value", "cause"),
    [
        ("left", -700, 1000, 100, "left wall"),
        ("right", 200, 1000, 100, "right wall"),
        ("back", 0, 150, 150, "front"),
        ("face", 0, 3400, 200, "rear"),
    ],
)
def test_zones_at_every_side(at: str, breadth: float, station: float, value: float, cause: str) -> None:
    """Facing the rear, 500 wide and 400 deep: its left end is to the left, its back to the front."""
    hatch = [{"name": "zone", "at": at, "room": 300}]
    expect(zone_of(van(BOX), module("m", station=station, breadth=breadth, zones=hatch)), value, 300, cause)


def test_a_hand_needs_room_only_where_its_valve_is() -> None:
    """A hand 120 wide at the left end of the face, from 300 up: a post beside it is not in its way."""
    post = module("post", 50, 50, 900, station=1450, breadth=130)
    for left, verdict in ((0, "clear"), (11, "fouls")):
        hand = [{"name": "zone", "room": 100, "wide": 120, "left": left, "up": 300, "high": 150}]
        assert zone_of(van(BOX), post, module("m", station=1000, breadth=0, zones=hand)).verdict == verdict


def test_a_zone_wholly_outside_the_van_fouls() -> None:
    hatch = [{"name": "zone", "at": "back", "room": 300}]
    found = zone_of(van(BOX), module("m", against="front", breadth=0, zones=hatch))
    assert found.verdict == "fouls"
    assert found.value in {None, 0.0}


def test_a_turned_zone_is_held_against_the_van() -> None:
    """A drawer at 45 degrees ahead of a wall: its far corners are (room + half its width) / sqrt(2) away."""
    drawer = [{"name": "zone", "room": 300}]
    for breadth, verdict in ((0, "clear"), (700, "fouls")):
        found = zone_of(van(BOX), module("m", 200, 200, 700, station=1000, breadth=breadth - 100, yaw=45, zones=drawer))
        assert found.verdict == verdict


def test_what_stands_at_the_face_already_lets_nothing_open_and_is_told_with_its_own_volume() -> None:
    """Beside it stands a box that reaches 4 over the zone; beyond the zone a shelf, which is in nobody's way."""
    zone = {"name": "zone", "kind": "box", "at": "top", "room": 500}
    over = module("m", 600, 400, 700, station=1000, breadth=-200, faces="right", zones=[zone])
    beside = module("beside", 300, 400, 1100, station=1596, breadth=-200, hung=650, faces="right")
    shelf = module("shelf", 600, 400, 100, station=1000, breadth=-200, hung=1210, faces="right")
    found = zone_of(van(BOX), over, beside, shelf)
    expect(found, 0, 500, "beside")
    assert found.volume == pytest.approx(4 * 400 * 500 / 1e6)


def test_all_of_it_inside_of_something_it_does_not_open() -> None:
    zone = {"name": "zone", "kind": "box", "at": "top", "room": 500}
    inner = module("m", 200, 200, 700, station=1200, breadth=-100, zones=[zone])
    around = module("around", 600, 400, 700, station=1000, breadth=-200, hung=600)
    expect(zone_of(van(BOX), inner, around), 0, 500, "around")


def test_a_lid_that_opens_with_less_to_spare_than_was_measured_is_tight() -> None:
    """The roof of the box is at 1900, measured to 3 mm."""
    opens = {margin: zone_of(van(BOX), module("m", 600, 400, 700, station=1000, breadth=-200, zones=[
        {"name": "zone", "kind": "box", "at": "top", "room": 1200 - margin}])) for margin in (2, 4)}  # fmt: skip
    assert [(found.verdict, found.value) for found in opens.values()] == [("tight", near(2)), ("clear", near(4))]
