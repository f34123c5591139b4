"""From one place to another: what is told, and what is refused."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tumblehome.errors import InputError
from tumblehome.people.aisle import check_aisle, upright
from tumblehome.people.gauge import gauge_named
from tumblehome.people.ground import Floor
from tumblehome.people.person import Person
from tumblehome.people.way import check_way
from vans import BOX, layout, module, near, van

if TYPE_CHECKING:
    from tumblehome.checks.finding import Finding

LARGE = Person.of(95)
SIDE = '[[doorways]]\nname = "side door"\nside = "right"\nstations = [200, 1200]\nheights = [0, 1700]'
COUNTER = module("counter", 800, 300, 900, against="left", station=3000, use="counter")


def cabinets(free: float) -> list[str]:
    return [module(f"at the {s}", 500, (1600 - free) / 2, 1890, against=s, station=2000) for s in ("left", "right")]


def asked(start: str, end: str, *modules: str, gauges: tuple[str, ...] = ()) -> dict[str, Finding]:
    floor = Floor(layout(van(BOX, SIDE), COUNTER, *modules))
    found = check_way(floor, LARGE, start, end, [gauge_named(name) for name in gauges])
    return {each.question: each for each in found}


@pytest.mark.parametrize(
    ("start", "end"),
    [("counter", "side door"), ("side door", "counter"), ("3500mm, 0mm", "counter"), ("500 mm, 0 mm", "3500 mm, 0 mm")],
)
def test_places_may_be_told_by_module_doorway_or_station(start: str, end: str) -> None:
    answers = asked(start, end, *cabinets(500))
    if start == "3500mm, 0mm":
        assert {each.verdict for each in answers.values()} == {"clear"}
        return
    assert answers["facing forward"].verdict == "tight"
    assert answers["facing forward"].value == near(500)
    assert answers["facing forward"].limit == near(567)
    assert answers["sideways"].verdict == "clear"
    assert answers["sideways"].cause == "at the left and at the right"


@pytest.mark.parametrize(("gauge", "needed"), [("bus-aisle", 15 * 25.4), ("dual-panel", 550), ("route", 36 * 25.4)])
def test_each_gauge_at_its_width(gauge: str, needed: float) -> None:
    """540 CMR 7.05(1), UNECE bus rules 5.7.1, ADA 403.5.1: what is a unit narrower is told, never called at fault."""
    for over in (-0.5, 3.5):
        one = asked("counter", "500mm, 0mm", *cabinets(needed + over), gauges=(gauge,))[gauge]
        assert one.verdict == ("tight" if over < 0 else "clear")
        assert one.value == near(needed + over)
        assert one.limit == near(needed)


def test_the_bus_aisle_is_narrower_at_the_floor() -> None:
    """Boxes up to the cushions may leave 12 in where 15 are free above them."""
    low = [module(f"box {s}", 500, (1600 - 310) / 2, 450, against=s, station=2000) for s in ("left", "right")]
    one = asked("counter", "side door", *low, gauges=("bus-aisle",))["bus-aisle"]
    assert one.limit == near(12 * 25.4)
    assert one.margin is None  # told in its own words
    assert "5.2 mm to spare" in one.words()


def test_two_ways_of_one_place_are_none() -> None:
    answers = asked("counter", "side door", module("wall", 1600, 100, 1890, faces="front", station=2000, breadth=-800))
    assert answers["sideways"].verdict == "fouls"
    assert "no floor joins" in answers["sideways"].words()


def test_a_place_in_a_module_is_told() -> None:
    (one,) = asked("3400mm, -700mm", "side door").values()
    assert one.verdict == "fouls"
    assert "lies in counter" in one.words()


@pytest.mark.parametrize(
    ("place", "words"),
    [
        ("countre", "did you mean 'counter'"),
        ("9000mm, 0mm", "outside of the van"),
        ("1500mm, 900mm", "outside of the van"),
        ("2100, 0", "has no unit"),
        ("", "no module or doorway"),
    ],
)
def test_a_place_that_is_none_is_refused(place: str, words: str) -> None:
    with pytest.raises(InputError, match=words):
        asked(place, "side door")


# ---- the aisle as a whole ----


def aisle(*modules: str, doors: str = SIDE, gauges: tuple[str, ...] = ()) -> dict[str, Finding]:
    floor = Floor(layout(van(BOX, doors), *modules))
    return {each.question: each for each in check_aisle(floor, LARGE, [gauge_named(name) for name in gauges])}


@pytest.mark.parametrize(
    ("free", "facing", "sideways"), [(575, "clear", "clear"), (566, "tight", "clear"), (319, "tight", "fouls")]
)
def test_the_aisle_is_as_narrow_as_its_narrowest_place(free: float, facing: str, sideways: str) -> None:
    answers = aisle(COUNTER, *cabinets(free), module("wide", 300, 100, 1890, against="left", station=1400))
    assert (answers["facing forward"].verdict, answers["sideways"].verdict) == (facing, sideways)
    assert answers["facing forward"].value == near(free)


def test_a_short_pinch_keeps_the_route_and_a_long_one_does_not() -> None:
    """ADA 2010 403.5.1: the cabinets are 500 long, less than 24 in; with others beside them it is more."""
    ends = [module(f"more {s}", 110, 390, 1890, against=s, station=2500) for s in ("left", "right")]
    assert aisle(COUNTER, *cabinets(820), gauges=("route",))["route"].verdict == "clear"
    long = aisle(COUNTER, *cabinets(820), *ends, gauges=("route",))["route"]
    assert long.verdict == "tight"
    assert "610 mm from 2000 mm on" in long.words()


def test_a_gauge_higher_than_the_van_is_not_called_clear() -> None:
    beam = module("beam", 1600, 3900, 100, faces="front", station=50, breadth=-800, hung=1750)
    assert aisle(COUNTER, beam, gauges=("dual-panel",))["dual-panel"].verdict == "tight"
    assert aisle(COUNTER, beam, gauges=("dual-panel-950",))["dual-panel-950"].verdict == "clear"


def test_without_places_or_doorways_there_is_no_way_to_judge() -> None:
    for answers in (aisle(), aisle(COUNTER, doors="")):
        assert {each.verdict for each in answers.values()} == {"clear"}
        assert all("nobody" in each.words() for each in answers.values())


def test_one_walks_as_tall_as_the_roof_lets_one() -> None:
    floor = Floor(layout(van("height, 0, 4000\n0, 800, 800\n1300, 800, 800", SIDE.replace("1700", "1200")), COUNTER))
    assert upright(LARGE, floor).stature == pytest.approx(0.98 * 1300)
