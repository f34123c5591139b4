"""Carrying modules out of vans whose answers can be worked by hand, and out of the bundled ones.

In the hand-made vans the walls stand upright at half-breadth 800, the van is 4000 long, and a doorway in the rear is as wide as
said. A module is 500 wide, 400 deep and 700 high, so that it passes an opening of 400 and no smaller one.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

import tumblehome as th
from tumblehome.carrying import carry, sentences
from tumblehome.errors import InputError, LayoutError
from tumblehome.fitout.module import solid_of
from tumblehome.solids import Solid
from vans import BOX, layout, module, van

if TYPE_CHECKING:
    from tumblehome.carrying import Carry, Pose
    from tumblehome.fitout import Layout

AGAINST: Any = {"breadth": None, "against": "left"}
DECIDED = 1.0
"""mm, as promised."""


def doorway(wide: float, *, low: float = 0.0, high: float = 1600.0) -> str:
    return f'[[doorways]]\nname = "rear doors"\nside = "rear"\nbreadths = [{-wide / 2}, {wide / 2}]\nheights = [{low}, {high}]'


def plan(*others: str, wide: float = 900.0, high: float = 1600.0, low: float = 0.0, **fields: Any) -> Layout:
    """A module named "box" and others."""
    wanted: dict[str, Any] = {"station": 1200, "breadth": -250, **fields}
    place = {key: value for key, value in wanted.items() if value is not None}
    return layout(van(BOX, doorway(wide, low=low, high=high)), module("box", **place), *others)


def wall(name: str, station: float, left: float = -799.0, right: float = 799.0, **fields: Any) -> str:
    """A module that stands across the van from one breadth to another, facing the front."""
    sizes = {"wide": right - left, "deep": 100, "high": 1000, **fields}
    return module(name, station=station, breadth=left, faces="front", **sizes)


# ---- how much is to spare, or missing ----


@pytest.mark.parametrize("wide", [402, 430, 480])
def test_what_is_to_spare_in_a_doorway(wide: float) -> None:
    """Made larger by g on every side it is 400 + 2 g: it passes until that is the doorway's width."""
    found = carry(plan(wide=wide), "box")
    low, high = found.best.spare
    assert found.best.outcome == "passes"
    assert low is not None
    assert high is not None
    assert low <= (wide - 400) / 2 <= high
    assert high - low <= DECIDED
    assert found.verdict == ("tight" if wide == 402 else "clear")  # the van is measured to 3


@pytest.mark.parametrize("wide", [398, 350, 260])
def test_by_how_much_it_is_too_big(wide: float) -> None:
    found = carry(plan(wide=wide), "box")
    low, high = found.best.spare
    assert (found.verdict, found.best.outcome) == ("fouls", "blocked")
    assert low is not None
    assert high is not None
    assert low <= (wide - 400) / 2 <= high <= 0
    assert high - low <= DECIDED
    assert found.best.removals == ()
    assert found.best.pinch is not None
    assert found.best.pinch.parts == ("rear doors", "rear doors")
    assert found.best.pinch.opening == pytest.approx(wide, abs=1e-6)


@pytest.mark.parametrize(("wide", "outcome"), [(400.5, "passes"), (399.5, "blocked")])
def test_half_a_millimeter_decides(wide: float, outcome: str) -> None:
    assert carry(plan(wide=wide), "box").best.outcome == outcome


@pytest.mark.parametrize("hand", [0.0, 10.0, 20.0])
def test_hand_room_is_taken_from_what_is_to_spare(hand: float) -> None:
    low, high = carry(plan(wide=450), "box", hand=hand).best.spare
    assert low is not None
    assert high is not None
    assert low <= 25 - hand <= high


def test_more_hand_room_than_there_is_bars_the_way() -> None:
    assert carry(plan(wide=450), "box", hand=24.4).best.outcome == "passes"
    assert carry(plan(wide=450), "box", hand=25.6).best.outcome == "blocked"


def test_a_narrow_place_is_told_apart_from_the_way() -> None:
    """Between two neighbors 5 away on each side it has room for 5 more on every side; past them for 100 and more."""
    sides = [module(n, 300, 400, 700, station=s, against="left") for n, s in (("fore", 895), ("aft", 1705))]
    found = carry(plan(*sides, **AGAINST), "box")
    assert found.best.place_room == pytest.approx(5, abs=DECIDED)
    low = found.best.spare[0]
    assert low is not None
    assert low > 100


# ---- heights ----


@pytest.mark.parametrize("over", [-1.0, 1.0])
def test_a_doorway_that_is_too_low(over: float) -> None:
    found = carry(plan(high=700 - over), "box")
    assert found.best.outcome == ("blocked" if over > 0 else "passes")
    assert found.best.too_tall == pytest.approx(max(over, 0.0), abs=1e-6)


@pytest.mark.parametrize(("high", "outcome"), [(781.0, "passes"), (779.0, "blocked")])
def test_over_a_low_module_it_is_lifted_if_the_doorway_is_high_enough(high: float, outcome: str) -> None:
    """A tray 60 high lies across the whole doorway: with the foot 20 above it the top is at 60 + 20 + 700."""
    found = carry(plan(wall("tray", 3890, high=60), high=high), "box")
    assert found.lift == pytest.approx(80)
    assert found.best.outcome == outcome
    if outcome == "passes":
        assert found.best.path is not None
        assert {pose.layer for pose in found.best.path.poses} == {0, 1}
    else:
        assert found.best.removals == (("tray",),)


def test_a_sill_is_stepped_over_and_one_higher_than_a_step_is_not() -> None:
    assert carry(plan(low=100), "box").best.outcome == "passes"
    assert carry(plan(low=100), "box").lift == pytest.approx(120)
    assert carry(plan(low=300), "box").best.outcome == "blocked"


def test_parts_are_taken_at_their_own_heights() -> None:
    """A table top on one leg passes over benches that leave 600 between them: its leg is 50 wide, its top 700."""
    benches = [module(f"bench {s}", 2000, 500, 400, station=750, against=s) for s in ("left", "right")]
    boxes = [
        {"wide": 700, "deep": 700, "high": 20, "up": 680},
        {"wide": 50, "deep": 50, "high": 680, "left": 325, "fore": 325},
    ]
    table = module("table", None, None, None, station=10, breadth=-350, faces="rear", boxes=boxes)
    whole = module("box", 700, 700, 700, station=10, breadth=-350, faces="rear")
    text = van(BOX, doorway(900))
    assert carry(layout(text, table, *benches), "table").best.outcome == "passes"
    blocked = carry(layout(text, whole, *benches), "box").best
    assert blocked.outcome == "blocked"
    assert blocked.spare[0] == pytest.approx(-50, abs=DECIDED)


# ---- what would have to go ----


def test_the_smallest_set_of_modules_that_would_let_it_out() -> None:
    one = carry(plan(wall("screen", 2500)), "box")
    assert one.best.removals == (("screen",),)
    two = carry(plan(wall("screen", 2500), wall("chest", 3000)), "box")
    assert two.best.removals == (("chest", "screen"),)
    either = carry(plan(wall("left half", 2500, right=-150), wall("right half", 2500, left=150)), "box")
    assert set(either.best.removals) == {("left half",), ("right half",)}


def test_taking_modules_out_first_is_the_same_as_a_van_without_them() -> None:
    """With what stands on them: the lid of the screen goes with it."""
    lid = module("lid", 200, 100, 30, on="screen", station=2500, breadth=0, faces="front")
    found = carry(plan(wall("screen", 2500), lid), "box", without=["screen"])
    assert found.removed == ("screen", "lid")
    assert found.best.outcome == "passes"
    assert found.best.spare == carry(plan(), "box").best.spare


def test_what_stands_on_it_is_taken_off_first() -> None:
    found = carry(plan(module("lamp", 100, 100, 900, on="box", station=1300, breadth=-200)), "box")
    assert found.taken_off == ("lamp",)
    assert found.best.outcome == "passes"
    assert any("First take off" in words and "lamp" in words for words in sentences(found))


def test_a_module_that_fouls_is_told_and_answered_all_the_same() -> None:
    found = carry(plan(wall("screen", 1580, left=-100, right=400)), "box")
    assert found.fouls == ("screen",)
    assert found.best.outcome == "passes"
    assert any("fouls screen" in words for words in sentences(found))


def test_a_module_that_only_touches_what_is_about_it_fouls_nothing() -> None:
    neighbors = [module(n, 200, 400, 700, station=s, against="left") for n, s in (("fore", 1000), ("aft", 1700))]
    found = carry(plan(*neighbors, **AGAINST), "box")
    assert found.fouls == ()
    assert found.best.outcome == "passes"
    assert found.best.path is not None
    assert found.best.path.passed[0].margin == 0


# ---- laws ----


def test_a_mirrored_van_has_the_same_answer() -> None:
    here = carry(plan(wall("screen", 2500, left=-799, right=200), wide=700, breadth=-350), "box").best
    there = carry(plan(wall("screen", 2500, left=-200, right=799), wide=700, breadth=-150), "box").best
    assert here.outcome == there.outcome == "passes"
    assert here.spare == pytest.approx(there.spare, abs=DECIDED)


@pytest.mark.parametrize("wide", [450.0, 380.0])
def test_a_way_in_is_the_way_out_reversed(wide: float) -> None:
    path = carry(plan(wide=wide), "box").best.path
    assert path is not None
    assert path.is_free
    assert all(path.mover.is_free(b, a) for a, b in pairwise(path.poses))


# ---- the solid kernel as a witness ----


def posed(prisms: Any, center: Any, pose: Pose, rise: float) -> Solid:
    c, s = np.cos(pose.angle), np.sin(pose.angle)
    turn = np.array([[c, -s, 0, 0], [s, c, 0, 0], [0, 0, 1, rise]])
    turn[:2, 3] = pose.at - turn[:2, :2] @ center
    return solid_of(prisms, "module").transformed(turn)


def sinks(found: Carry, step: float) -> float:
    """The most that a carried module sinks into anything on its way, mm3, by the solid kernel, in poses a step apart."""
    way, plan = found.best, found.layout
    path = way.path
    assert path is not None
    gone = {found.module.name, *found.taken_off, *found.removed}
    void = plan.shell.opened(way.doorway.name).void
    for other in plan.modules:
        if other.parent is None and other.name not in gone:
            void -= other.solid
    low, high = plan.shell.lined.bare.bounds
    inside = Solid.box(low - np.array([0, 0, 500]), high + np.array([0, 0, 500]), "inside")
    center = path.poses[0].at
    most, count = 0.0, 0
    for pose in path.sampled(step):
        rise = (found.lift or found.foot) - found.foot if pose.layer else 0.0
        within = posed(found.module.hull, center, pose, rise) & inside
        if not within.is_empty:
            most, count = max(most, (within - void).volume), count + 1
    assert count > 10
    return most


@pytest.mark.parametrize(
    ("name", "carried", "without"),
    [
        ("long-heron", "table", []), ("long-heron", "refrigerator", ["wet bath"]), ("low-plover", "refrigerator", []),
        ("box-otter", "table", []), ("low-plover", "seat left", []),
    ],
)  # fmt: skip
def test_nothing_sinks_into_anything_on_the_way(name: str, carried: str, without: list[str]) -> None:
    """Touching is allowed to 1e-5 mm, over faces of less than 2 m2."""
    found = carry(th.load_layout(name), carried, without=without)
    assert found.best.outcome == "passes"
    assert found.best.path is not None
    assert found.best.path.is_free
    assert sinks(found, 40.0) < 20.0


def test_the_witness_sees_what_sinks() -> None:
    """The same way with a screen that it was not asked about."""
    found = carry(plan(wall("screen", 2500)), "box", without=["screen"])
    object.__setattr__(found, "removed", ())
    assert sinks(found, 40.0) > 1e6


# ---- bad input ----


def test_modules_that_cannot_be_carried() -> None:
    heron = th.load_layout("long-heron")
    with pytest.raises(InputError, match="'galley' is scribed"):
        carry(heron, "galley")
    with pytest.raises(InputError, match="'drinking water' stands inside 'galley'"):
        carry(heron, "drinking water")
    with pytest.raises(LayoutError, match="did you mean 'refrigerator'"):
        carry(heron, "refrigerater")
    with pytest.raises(LayoutError, match="did you mean 'wet bath'"):
        carry(heron, "refrigerator", without=["wet bat"])
    with pytest.raises(InputError, match="what is carried"):
        carry(heron, "refrigerator", without=["refrigerator"])
    with pytest.raises(InputError, match="in nobody's way"):
        carry(heron, "refrigerator", without=["drinking water"])


@pytest.mark.parametrize("hand", [-1.0, float("nan"), float("inf")])
def test_hand_room_that_is_none(hand: float) -> None:
    with pytest.raises(InputError, match="0 or more"):
        carry(plan(), "box", hand=hand)


def test_doorways_at_fault() -> None:
    with pytest.raises(InputError, match="did you mean 'rear doors'"):
        carry(plan(), "box", through="rear door")
    with pytest.raises(InputError, match="has no doorway"):
        carry(layout(van(BOX), module("box", station=1200, breadth=-250)), "box")


def test_a_hung_module_is_told_to_be_taken_down() -> None:
    found = carry(plan(station=1200, breadth=-250, hung=800), "box")
    assert found.best.outcome == "passes"
    assert any("It hangs" in words for words in sentences(found))
