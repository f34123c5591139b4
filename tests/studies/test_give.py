"""What each part gives and costs: closed forms on upright and leaning walls, and parts that only act together."""

from __future__ import annotations

from math import hypot
from typing import TYPE_CHECKING, Any

import pytest

from tumblehome.studies import effects_on, study
from vans import BOX, LEANING, ROOFED, layout, leaning, member, module, near, recess, van

if TYPE_CHECKING:
    from tumblehome.studies import Effects

SIDES = ("left", "right")
H = 700.0
UPRIGHT = (600, 1200)


def effects(van_text: str, *sizes: Any, side: str = "right", station: float = 1000, **fields: Any) -> Effects:
    return study(layout(van_text, module("m", *sizes, against=side, station=station, **fields)), "m").effects


def says(
    found: Effects, reach: float, stop: str, single: dict[str, float], joint: dict[tuple[str, ...], float] | None = None
) -> None:
    """Expect a reach and what makes it so; the order of the names in a joint effect is free."""
    assert (found.reach, found.stopped_by) == (near(reach), stop)
    assert {effect.parts: effect.gain for effect in found.single} == {
        (name,): near(gain) for name, gain in single.items()
    }
    wanted = {frozenset(names): near(gain) for names, gain in (joint or {}).items()}
    assert {frozenset(effect.parts): effect.gain for effect in found.joint} == wanted
    assert len(found.joint) == len(wanted)


def pocket(
    name: str,
    stations: tuple[float, float],
    depth: float = 40,
    side: str = "right",
    heights: tuple[float, float] = UPRIGHT,
) -> str:
    return recess(name, side=side, stations=list(stations), heights=list(heights), depth=depth)


def rib(name: str, stations: tuple[float, float], depth: float = 30, side: str = "right", **fields: Any) -> str:
    return member(name, "rib", side=side, stations=list(stations), depth=depth, **fields)


HUNG: dict[str, Any] = {"high": 400, "hung": 700}
"""Within the heights of the recesses."""


@pytest.mark.parametrize("side", SIDES)
def test_an_empty_wall_gives_and_costs_nothing(side: str) -> None:
    says(effects(van(LEANING), side=side), leaning(H), f"{side} wall", {})


@pytest.mark.parametrize("side", SIDES)
def test_a_rib_costs_its_depth_square_to_the_wall(side: str) -> None:
    says(effects(van(BOX, rib("rib", (1200, 1240), side=side)), side=side), 770, "rib", {"rib": -30})
    across = 30 * hypot(1, 0.1)
    found = effects(van(LEANING, rib("rib", (1200, 1240), side=side)), side=side)
    says(found, leaning(H) - across, "rib", {"rib": -across})


def test_a_low_rib_before_a_leaning_wall_costs_only_what_the_top_does_not() -> None:
    """At 400 the rib's face is at 860 less 60.3; the module's top at 700 meets the wall at 830."""
    face = leaning(400) - 60 * hypot(1, 0.1)
    says(effects(van(LEANING, rib("rib", (1200, 1240), 60, heights=[0, 400]))), face, "rib", {"rib": face - 830})
    says(effects(van(LEANING, rib("rib", (1200, 1240), 20, heights=[0, 400]))), 830, "right wall", {})


@pytest.mark.parametrize("side", SIDES)
def test_a_recess_gives_its_depth(side: str) -> None:
    says(effects(van(BOX, pocket("pocket", (900, 1700), side=side)), side=side, **HUNG), 840, "pocket", {"pocket": 40})
    found = effects(van(LEANING, pocket("pocket", (900, 1700), side=side)), side=side, **HUNG)
    says(found, leaning(1100) + 40 * hypot(1, 0.1), "pocket", {"pocket": 40 * hypot(1, 0.1)})


@pytest.mark.parametrize("field", [{"station": 1201}, {"station": 899}, {"hung": 801}, {"hung": 599}])
def test_a_recess_that_it_overhangs_gives_nothing_and_is_not_told(field: dict[str, Any]) -> None:
    says(effects(van(BOX, pocket("pocket", (900, 1700))), **{**HUNG, **field}), 800, "right wall", {})


def test_a_bow_costs_what_the_sloping_roof_did_not() -> None:
    """The roof lies at 800 - (z - 1500) 5/3; a bow 45 deep is 45 sqrt(1 + 25/9) further in."""
    text = van(ROOFED, member("bow", "bow", stations=[1200, 1250], depth=45))
    found = effects(text, 500, 200, 1600)
    roof = 800 - 100 * 5 / 3
    says(found, roof - 45 * hypot(1, 5 / 3), "bow", {"bow": -45 * hypot(1, 5 / 3)})


def test_a_housing_costs_what_stands_on_the_floor_only() -> None:
    text = van(BOX, member("housing", "housing", side="right", stations=[900, 1800], height=300, depth=200))
    says(effects(text), 600, "housing", {"housing": -200})
    says(effects(text, hung=300), 800, "right wall", {})


def test_a_rib_behind_a_housing_acts_only_with_it() -> None:
    """Without the housing the rib stops it; without the rib alone nothing changes; without both all 200 are gained."""
    text = van(
        BOX,
        member("housing", "housing", side="right", stations=[900, 1800], height=300, depth=200),
        rib("rib", (1200, 1240)),
    )
    says(effects(text), 600, "housing", {"housing": -170}, {("housing", "rib"): -200})


def test_three_one_behind_another() -> None:
    """770, 760 and 740: what is told with each further one is the whole cost so far, never a share of it."""
    text = van(BOX, rib("thin", (1100, 1140)), rib("middle", (1200, 1240), 40), rib("thick", (1300, 1340), 60))
    says(effects(text), 740, "thick", {"thick": -20}, {("thick", "middle"): -30, ("thick", "middle", "thin"): -60})


def test_two_alike_behind_a_third_are_told_only_when_all_are_away() -> None:
    """Without the thick one and one of the two nothing more is gained than without the thick one."""
    text = van(BOX, rib("one", (1100, 1140)), rib("other", (1200, 1240)), rib("thick", (1300, 1340), 60))
    says(effects(text), 740, "thick", {"thick": -30}, {("thick", "one", "other"): -60})


def test_two_alike_cost_only_together() -> None:
    found = effects(van(BOX, rib("one", (1100, 1140)), rib("other", (1300, 1340))))
    assert found.stopped_by in {"one", "other"}
    says(found, 770, found.stopped_by, {}, {("one", "other"): -30})


def test_a_member_before_a_recess_takes_its_gift_away() -> None:
    """The rib costs 70, of which the recess would give 40; with the rib there the recess gives nothing."""
    text = van(BOX, pocket("pocket", (900, 1700)), rib("rib", (1200, 1240)))
    says(effects(text, **HUNG), 770, "rib", {"rib": -70})


def test_a_member_in_a_recess_that_leaves_some_of_it() -> None:
    """A block that stands 15 before the recess's back: the recess gives 25 of its 40, the block costs 15."""
    block = member("block", "block", stations=[1100, 1200], breadths=[825, 900], heights=[800, 900])
    says(effects(van(BOX, pocket("pocket", (900, 1700)), block), **HUNG), 825, "block", {"pocket": 25, "block": -15})


def test_two_recesses_that_each_suffice_give_only_together() -> None:
    """Either is long and deep enough by itself: without one nothing changes, without both 40 are lost. A third, which does
    not hold the module, is not told."""
    text = van(BOX, pocket("one", (900, 1700)), pocket("other", (950, 1800)), pocket("short", (1100, 1200)))
    says(effects(text, **HUNG), 840, effects(text, **HUNG).stopped_by, {}, {("one", "other"): 40})


def test_the_deeper_of_two_gives_the_difference_alone_and_the_rest_with_the_other() -> None:
    text = van(BOX, pocket("deep", (900, 1700), 60), pocket("shallow", (950, 1800)))
    says(effects(text, **HUNG), 860, "deep", {"deep": 20}, {("deep", "shallow"): 60})


def test_two_recesses_that_need_each_other_are_told_once() -> None:
    """End to end they hold the module; without either it comes out 40, not 40 for each."""
    text = van(BOX, pocket("fore", (900, 1250)), pocket("aft", (1250, 1700)))
    found = effects(text, **HUNG)
    says(found, 840, found.stopped_by, {}, {("fore", "aft"): 40})


def test_of_two_that_need_each_other_the_shallower_sets_the_gift() -> None:
    text = van(BOX, pocket("fore", (900, 1250)), pocket("aft", (1250, 1700), 55))
    found = effects(text, **HUNG)
    assert found.stopped_by in {"fore", "aft"}  # the rim that they share
    says(found, 840, found.stopped_by, {}, {("fore", "aft"): 40})


def test_two_that_need_each_other_beside_one_that_suffices() -> None:
    """The long one alone gives 25; the two end to end give 40 as long as both are there, and 15 is what either adds."""
    text = van(BOX, pocket("fore", (900, 1250)), pocket("aft", (1250, 1700)), pocket("long", (800, 1800), 25))
    found = effects(text, **HUNG)
    assert found.reach == near(840)
    gains = {frozenset(e.parts): e.gain for e in (*found.single, *found.joint)}
    assert gains[frozenset(["fore", "aft"])] == near(15)
    assert max(gains.values()) == near(40)
    assert all(len(parts) > 1 for parts in gains)


@pytest.mark.parametrize("station", [1000, 2999.5])
def test_what_it_does_not_touch_is_not_told(station: float) -> None:
    """Parts far away, beyond the other wall, and flush with its end."""
    text = van(
        BOX,
        rib("far", (100, 140)),
        rib("across", (1200, 1240), side="left"),
        rib("flush", (station + 500, station + 540)),
        pocket("away", (2000, 2600)),
    )
    says(effects(text, station=station, **HUNG), 800, "right wall", {})


def test_ranked_by_how_much_they_matter() -> None:
    block = member("block", "block", stations=[1100, 1200], breadths=[835, 900], heights=[800, 900])
    found = effects(van(BOX, pocket("pocket", (900, 1700)), block), **HUNG)
    assert [effect.parts for effect in found.single] == [("pocket",), ("block",)]
    assert [effect.gain for effect in found.single] == near([35, -5])


def test_each_is_what_the_shell_without_it_says() -> None:
    """Asked of another shell, built without the part: another route to the same number."""
    texts = [
        pocket("fore", (900, 1250)),
        pocket("aft", (1250, 1700), 55),
        rib("rib", (1300, 1340), 20, heights=[600, 800]),
    ]
    one = study(layout(van(BOX, *texts), module("m", against="right", station=1000, **HUNG)), "m")
    for effect in (*one.effects.single, *one.effects.joint):
        without = effects_on(one.layout.shell.without(*effect.parts), one.body, 1.0)
        assert effect.gain == near(one.effects.reach - without.reach)
    assert one.effects.stopped_by == "rib"
