"""The finding on a module's place: what gives it most, what costs it most, and a better place, in closed forms."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from tumblehome.checks import check
from vans import BOX, layout, member, module, near, recess, van

if TYPE_CHECKING:
    from tumblehome.checks import Finding

SIDES = ("left", "right")


def places(van_text: str, *modules: str) -> list[Finding]:
    return [f for f in check(layout(van_text, *modules)) if f.question == "place"]


def rib(stations: tuple[float, float], depth: float, side: str = "right", **fields: Any) -> str:
    return member("rib", "rib", side=side, stations=list(stations), depth=depth, **fields)


def pocket(depth: float = 40, side: str = "right", stations: tuple[float, float] = (900, 1700)) -> str:
    return recess("pocket", side=side, stations=list(stations), heights=[200, 900], depth=depth)


@pytest.mark.parametrize("side", SIDES)
def test_what_a_recess_gives(side: str) -> None:
    (found,) = places(van(BOX, pocket(side=side)), module("m", station=1000, against=side, hung=200))
    assert (found.verdict, found.cause, found.value, found.margin) == ("clear", "pocket", near(40), None)
    assert (found.words("mm"), found.words("in")) == ("pocket gives 40 mm", 'pocket gives 1 9/16"')  # 25.2 sixteenths
    assert found.as_dict()["words"] == "pocket gives 40 mm"


@pytest.mark.parametrize("side", SIDES)
def test_what_a_member_costs_and_where_it_would_stand_better(side: str) -> None:
    """Its last 85 overlap the rib, whose end is 400 behind it."""
    (found,) = places(van(BOX, rib((1415, 1440), 30, side)), module("m", station=1000, against=side))
    assert (found.cause, found.value) == ("rib", near(-30))
    assert found.words("mm") == "rib costs 30 mm; 30 mm better 85 mm forward"


def test_the_greatest_gift_is_told_before_the_greatest_cost() -> None:
    """A block 15 before the pocket's back, of which 25 are left: the pocket's gift, then the block's cost."""
    block = member("block", "block", stations=[1200, 1240], breadths=[825, 900], heights=[0, 600])
    (found,) = places(van(BOX, pocket(), block), module("m", station=1000, against="right", hung=200))
    assert found.words("mm") == "pocket gives 25 mm; block costs 15 mm"


@pytest.mark.parametrize(("depth", "told"), [(3, False), (4, True)])
def test_nothing_is_said_within_the_measuring(depth: float, told: bool) -> None:
    """The van is measured to 3 mm."""
    found = places(van(BOX, rib((1200, 1240), depth)), module("m", station=1000, against="right"))
    assert bool(found) is told


def test_it_is_asked_of_what_stands_against_a_side_wall_only() -> None:
    """What is inside another, against an end, or free has no such place."""
    modules = (
        module("galley", 900, 450, 900, kind="scribed", against="right", station=1700),
        module("tank", 300, 200, 200, in_="galley", against="right", station=1800),
        module("end", against="rear", breadth=0),
        module("free", station=1000, breadth=100),
    )
    assert not places(van(BOX, rib((1200, 1240), 30), rib((3900, 3940), 30).replace('"rib"', '"r2"', 1)), *modules)


@pytest.mark.parametrize(("high", "said"), [(1000, "pocket adds 14 L"), (230, None)])
def test_a_scribed_cabinet_is_told_in_liters_from_one_on(high: float, said: str | None) -> None:
    """500 x 700 x 40 mm are 14 L; of one 230 high 0.6 L, which is not told. Where it would gain it has no better place."""
    found = places(
        van(BOX, pocket()), module("m", 500, None, high, kind="scribed", face=400, station=1000, against="right")
    )
    assert [f.words() for f in found] == ([said] if said else [])
    assert all(f.value is None and f.cause == "pocket" for f in found)


def test_a_block_before_its_face_costs_nothing() -> None:
    block = member("block", "block", stations=[1100, 1300], breadths=[100, 300], heights=[0, 500])
    m = module("m", 500, 300, 700, station=1000, against="right")
    assert not places(van(BOX, block), m)
    (found,) = places(van(BOX, block, rib((1200, 1240), 30)), m)
    assert found.words() == "rib costs 30 mm; 30 mm better 240 mm rearward"
