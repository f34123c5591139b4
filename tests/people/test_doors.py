"""What doors, drawers and flaps take while they are open, in vans whose answers are worked by hand.

The box van's walls stand upright at half-breadth 800, so that its aisle beside a module 400 deep is 1200 wide.
"""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING, Any

import pytest

from tumblehome.checks import check
from tumblehome.people.doors import Opened, check_doors, meetings
from tumblehome.people.ground import Floor
from tumblehome.people.passing import passing_places
from tumblehome.people.person import Person
from vans import BOX, LEANING, layout, leaning, module, near, van

if TYPE_CHECKING:
    from tumblehome.checks import Finding
    from tumblehome.fitout import Layout

PERSON = Person.of(95)
DEVIATION = 0.25
"""Millimeters by which the polygon of a swing may lie outside its circle, never inside; stated where it is made."""


def drawer(room: float, **more: Any) -> dict[str, Any]:
    return {"name": "drawer", "at": "face", "room": room, **more}


def door(**more: Any) -> dict[str, Any]:
    return {"name": "door", "kind": "swing", "hinge": "left", **more}


def galley(*zones: dict[str, Any], text: str = BOX, others: tuple[str, ...] = (), **fields: Any) -> Layout:
    """A module 600 wide and 900 high at the left wall, its face 400 before it, at stations 1000 to 1600."""
    own = module("galley", 600, 400, 900, against="left", station=1000, zones=list(zones), **fields)
    return layout(van(text), own, *others)


def opened(plan: Layout, name: str = "galley", number: int = 0) -> Opened:
    owner = plan.module(name)
    return Opened(Floor(plan, closed=True), owner, owner.zones[number], PERSON)


def found(plan: Layout) -> list[Finding]:
    return list(check_doors(Floor(plan, closed=True), PERSON))


def test_a_drawer_leaves_the_aisle_less_its_pull() -> None:
    one = opened(galley(drawer(450)))
    assert one.width(one.floor) == near(1200)
    assert one.width(one.taken) == near(1200 - 450)
    assert one.before == near(1200 - 450)


def test_a_leaning_wall_counts_where_the_drawer_and_the_body_are() -> None:
    """The right wall is nearest at the top of the shoulders; but what is before it counts at the height of the body only."""
    one = opened(galley(drawer(450), text=LEANING))
    face = leaning(900) - 400
    assert one.before == near(leaning(PERSON.waist_height) + face - 450)
    assert opened(galley(drawer(450, high=150), text=LEANING)).slabs == ()


def test_a_hinged_door_takes_its_radius_and_a_sliding_one_nothing() -> None:
    one = opened(galley(door()))
    left = one.width(one.taken)
    assert 600 - DEVIATION <= left <= 600
    (said,) = found(galley(door()))
    assert "a sliding door would leave all of it" in said.words()
    assert "sliding" not in found(galley(drawer(600)))[0].words()


@pytest.mark.parametrize("over", [-1.0, 1.0])
def test_room_to_stand_before_a_drawer(over: float) -> None:
    """A body facing it needs its depth before it; beside it a screen on both sides leaves none."""
    room = 1200 - PERSON.body_depth + over
    screens = tuple(module(f"screen {s}", 50, 1200, 1800, station=s, breadth=-400, faces="left") for s in (949, 1601))
    one = opened(galley(drawer(room), others=screens))
    assert one.stands == ("" if over > 0 else "before it")


def test_room_to_stand_beside_a_drawer_that_reaches_the_other_wall() -> None:
    assert opened(galley(drawer(1100))).stands == "beside it"


@pytest.mark.parametrize(("over", "lost"), [(-1.0, 0.0), (1.0, 600.0)])
def test_the_stretch_where_two_people_pass(over: float, lost: float) -> None:
    """Between upright faces as high as the shoulders: half of one's shoulders, then what keeps the two apart at the hips or at the
    shoulders, then half of the other, who is turned. Doors that leave 1 less than that take their stretch, 1 more none."""
    p = PERSON
    apart = max(p.hip_breadth + p.belly_depth, p.shoulder_breadth + p.chest_depth) / 2
    needed = p.shoulder_breadth / 2 + apart + max(p.belly_depth, p.chest_depth) / 2
    tall = module("galley", 600, 400, 1800, against="left", station=1000, zones=[drawer(1200 - needed + over)])
    one = opened(layout(van(BOX), tall))
    now, then = (sum(b - a for a, b in passing_places(f, PERSON)) for f in (one.floor, one.taken))
    assert now - then == pytest.approx(lost, abs=1e-6)
    told = found(one.floor.layout)[0].words()
    assert ("takes 600 mm of the stretch where two people pass" in told) == (lost > 0)


def test_a_verdict_is_tight_where_nobody_gets_past() -> None:
    verdicts = [found(galley(drawer(1200 - PERSON.body_depth + over)))[0].verdict for over in (-1.0, 1.0)]
    assert verdicts == ["clear", "tight"]


def test_what_opens_upward_or_takes_a_hand_or_lets_one_step_into_a_bath_is_no_door() -> None:
    lid = {"name": "lid", "at": "top", "room": 300}
    hand = {"name": "hand", "at": "face", "room": 300, "hand": True}
    assert found(galley(lid, hand)) == []
    assert found(galley(drawer(300), use="bath", opening={"wide": 500})) == []


# ---- two open together ----


def facing(room: float, **more: Any) -> Layout:
    """The galley's drawer pulled by 700, and one that comes towards it from the right wall, 500 before it when shut."""
    other = module(
        "chest", 600, 300, 900, against="right", station=1000 + more.pop("along", 0), zones=[drawer(room, **more)]
    )
    return galley(drawer(700), others=(other,))


@pytest.mark.parametrize("over", [-1.0, 0.0, 1.0])
def test_two_drawers_meet_across_the_aisle(over: float) -> None:
    """The faces are 900 apart: 700 and 200 touch."""
    pairs = list(meetings(facing(200 + over)))
    assert len(pairs) == (over > 0)
    if pairs:
        assert (pairs[0].subject, pairs[0].cause) == ("chest", "galley's drawer")
        assert pairs[0].value == near(-over)
        assert pairs[0].volume == near(600 * over * 900 / 1e6)
        assert pairs[0].verdict == "tight"
        assert pairs[0].words("mm").endswith("by 1 mm (0.5 L)")
        assert pairs[0].words("in").endswith('by 1/16" (0.1 gal)')  # 0.54 L, a gallon being 3.785411784


@pytest.mark.parametrize(("along", "up"), [(600.0, 0.0), (0.0, 900.0)])
def test_drawers_beside_or_above_each_other_do_not_meet(along: float, up: float) -> None:
    other = module("chest", 600, 300, 1800, against="right", station=1000 + along, zones=[drawer(400, up=up)])
    assert list(meetings(galley(drawer(700), others=(other,)))) == []


def test_two_zones_of_one_module_are_its_own_affair() -> None:
    assert list(meetings(galley(drawer(300), door()))) == []


def test_a_door_meets_a_drawer_by_the_area_of_a_circle_cut_by_a_line() -> None:
    """A drawer along the whole sector's far half: a quarter circle of radius 600 in a box 600 wide that begins at the face."""
    other = module("chest", 600, 300, 900, against="right", station=1000, zones=[drawer(900)])
    (pair,) = meetings(galley(door(), others=(other,)))
    assert pi / 4 * 600**2 * 900 / 1e6 <= pair.volume <= pi / 4 * (600 + DEVIATION) ** 2 * 900 / 1e6
    assert pair.value == pytest.approx(-600, abs=DEVIATION)


# ---- lids ----


@pytest.mark.parametrize(("lifting", "verdict"), [(True, "clear"), (False, "fouls")])
def test_a_lid_is_lifted_once_the_cushion_is_off(lifting: bool, verdict: str) -> None:
    """The cushion and what lies on it are taken off first; a shelf above stays."""
    lid = {"name": "lid", "at": "top", "room": 400, "lifting": lifting}
    cushion = module("cushion", 600, 400, 80, on="bench", against="left", station=1000)
    pillow = module("pillow", 200, 200, 80, on="cushion", against="left", station=1200)

    def lids(*others: str) -> list[str]:
        bench = module("bench", 600, 400, 450, against="left", station=1000, zones=[lid])
        plan = layout(van(BOX), bench, cushion, pillow, *others)
        return [f.verdict for f in check(plan) if (f.subject, f.question) == ("bench", "lid")]

    assert lids() == [verdict]
    touching = "tight" if lifting else "fouls"
    for hung, expected in ((853, verdict), (850, touching), (849, "fouls")):
        assert lids(module("shelf", 600, 300, 100, against="left", station=1000, hung=hung)) == [expected]
