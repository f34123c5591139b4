"""How far a module is from what is nearest, what that is called, and when it is too near for the tape measure."""

from __future__ import annotations

from itertools import product
from typing import Any

import pytest

from tumblehome.checks import Finding, check, worst
from tumblehome.tolerances import CONTACT
from vans import BOX, EXACT, LEANING, TAPERED, layout, member, module, near, van


def asked(van_text: str, *modules: str, of: str = "m") -> dict[str, Finding]:
    """Return the findings on one module by their questions."""
    return {f.question: f for f in check(layout(van_text, *modules)) if f.subject == of}


def free(**fields: Any) -> str:
    """Return module m, 500 wide, 400 deep, 700 high, free in the van at stations 1000 to 1400, breadths -200 to 300."""
    return module("m", **{"station": 1000, "breadth": -200, **fields})


@pytest.mark.parametrize(
    ("fields", "value", "cause", "direction", "axis", "at"),
    [
        ({}, 500, "right wall", "right", 1, 800),
        ({"breadth": -260}, 540, "left wall", "left", 1, -800),
        ({"station": 300}, 300, "front", "front", 0, 0),
        ({"station": 3400}, 200, "rear", "rear", 0, 4000),
    ],
)
def test_nearest_part_at_its_sides(
    fields: dict[str, float], value: float, cause: str, direction: str, axis: int, at: float
) -> None:
    found = asked(van(BOX), free(**fields))["walls"]
    assert (found.verdict, found.cause, found.direction) == ("clear", cause, direction)
    assert (found.value, found.limit, found.margin) == (
        near(value),
        0,
        near(value),
    )
    assert found.where is not None
    assert found.where[axis] == near(at)


def test_of_two_walls_that_are_as_near_the_left_one_is_told() -> None:
    """In an even van, whatever rounding does: the mirror image of a plan in the middle is that plan."""
    for offsets in (BOX, LEANING, TAPERED):
        for high, station, yaw in product((130.0, 700.1, 1333.3), (777.7, 1900.9), (0.0, 90.0, 180.0)):
            fields = {"high": high, "station": station, "yaw": yaw, "wide": 901.3, "deep": 901.3}
            found = asked(van(offsets), module("m", breadth=-450.65, **fields))["walls"]
            assert (found.cause, found.direction) == ("left wall", "left")


def test_nearest_part_above_and_below() -> None:
    assert asked(van(BOX), free())["floor and roof"].value == near(1200)
    hung = asked(van(BOX), free(hung=300))["floor and roof"]
    assert (hung.cause, hung.direction, hung.value) == ("floor", "down", near(300))
    high = asked(van(BOX), free(hung=1000))["floor and roof"]
    assert (high.cause, high.direction, high.value) == ("roof", "up", near(200))


def test_a_member_is_told_by_its_name() -> None:
    rib = member("rib 2 right", "rib", side="right", stations=[1100, 1140], depth=30)
    found = asked(van(BOX, rib), free())["walls"]
    assert (found.cause, found.value) == ("rib 2 right", near(470))
    assert found.where is not None
    assert found.where[1] == near(770)
    assert 1100 - EXACT <= found.where[0] <= 1140 + EXACT


def test_a_doorway_is_told_by_its_name() -> None:
    door = '[[doorways]]\nname = "side door"\nside = "right"\nstations = [900, 1600]\nheights = [0, 1700]'
    assert asked(van(BOX, door), free())["walls"].cause == "side door"


# Tight: within the measuring tolerance


@pytest.mark.parametrize("unit", [1.0, 0.1, EXACT])
@pytest.mark.parametrize("measured_to", [3, 12.5])
def test_tight_below_the_measuring_tolerance_one_unit_either_side(measured_to: float, unit: float) -> None:
    for gap, verdict in ((measured_to - unit, "tight"), (measured_to + unit, "clear")):
        found = asked(van(BOX, measured_to=measured_to), free(breadth=800 - 500 - gap))["walls"]
        assert (found.verdict, found.tolerance) == (verdict, measured_to)
        assert found.value == pytest.approx(gap, abs=EXACT / 10)
        assert ("measure again" in found.words()) is (verdict == "tight")


def test_a_margin_of_just_the_tolerance_is_clear() -> None:
    """Tight is a margin smaller than the tolerance."""
    assert asked(van(BOX), free(breadth=297))["walls"].verdict == "clear"


def test_a_part_measured_by_its_own_tolerance() -> None:
    """8 from a rib that is measured to 10 is tight, though the wall, measured to 3, is told clear at 38."""
    rib: dict[str, Any] = {"kind": "rib", "side": "right", "stations": [1100, 1140], "depth": 30}
    for own, verdict in ((10, "tight"), (8 + EXACT, "tight"), (8 - EXACT, "clear"), (None, "clear")):
        fields = rib if own is None else {**rib, "measured_to": own}
        found = asked(van(BOX, member("rib", **fields)), free(breadth=262))["walls"]
        assert (found.verdict, found.cause, found.tolerance) == (verdict, "rib", own or 3)
        assert found.value == near(8)


def test_the_part_that_is_too_near_for_its_tolerance_is_told_before_a_nearer_one() -> None:
    """5 from the left wall, measured to 3, is clear; 8 from the rib, measured to 10, is tight: the rib is told."""
    rib = member("rib", "rib", side="right", stations=[1100, 1140], depth=30, measured_to=10)
    found = asked(van(BOX, rib), free(wide=800 - 5 + 770 - 8, breadth=-795))["walls"]
    assert (found.verdict, found.cause, found.value) == ("tight", "rib", near(8))


def test_touching_what_it_is_not_meant_to_touch_is_tight() -> None:
    found = asked(van(BOX), free(breadth=300))["walls"]
    assert (found.verdict, found.value) == ("tight", near(0))


# Contacts by intent


@pytest.mark.parametrize("gap", [0, 1])
@pytest.mark.parametrize("side", ["left", "right"])
def test_the_side_it_is_pushed_to_is_not_judged(side: str, gap: float) -> None:
    """A contact stops it rearward, too, on a wall that closes in; a gap stands off the upright wall by what was meant."""
    found = asked(van(BOX if gap else TAPERED), module("m", against=side, station=1000, gap=gap))
    assert {f.verdict for f in found.values()} == {"clear"}
    assert found["walls"].cause == "front"
    assert found["walls"].value == near(1000)


@pytest.mark.parametrize(("behind", "verdict"), [(2, "tight"), (4, "clear")])
def test_what_lies_beyond_the_wall_that_it_was_pushed_to_is_judged(behind: float, verdict: str) -> None:
    """Where the wall closes in towards the rear it stops what leans on it there, too; the rear end is what has a margin."""
    found = asked(van(TAPERED), module("m", against="left", station=4000 - 500 - behind))["walls"]
    assert (found.verdict, found.value, found.direction) == (verdict, near(behind), "rear")


@pytest.mark.parametrize(("under", "verdict"), [(2, "tight"), (4, "clear")])
def test_the_roof_above_what_leans_on_a_leaning_wall_is_judged(under: float, verdict: str) -> None:
    """Its upper edge touches the wall, which leans in above it; the roof is at 2000."""
    found = asked(van(LEANING), module("m", high=2000 - under, against="left", station=1000))["floor and roof"]
    assert (found.verdict, found.value, found.cause) == (verdict, near(under), "roof")


def test_what_it_stands_on_is_not_judged() -> None:
    step = member("step", "step", stations=[0, 2000], height=120)
    assert asked(van(BOX, step), free(on="step"))["floor and roof"].cause == "roof"
    on_a_module = asked(van(BOX), module("base", station=1000, breadth=-200), free(on="base"))
    assert (on_a_module["floor and roof"].cause, worst(list(on_a_module.values()))) == ("roof", "clear")
    assert "neighbors" not in on_a_module


def test_a_rib_that_stopped_it_is_no_fault_but_another_near_it_is() -> None:
    """Pushed left onto a rib of 30; a second rib of 35 ends 2 ahead of it: not judged sideways, but ahead."""
    ribs = [
        member("stop", "rib", side="left", stations=[1200, 1240], depth=30),
        member("beside", "rib", side="left", stations=[900, 998], depth=35),
    ]
    found = asked(van(BOX, *ribs), module("m", against="left", station=1000))["walls"]
    assert (found.verdict, found.cause, found.direction, found.value) == (
        "tight",
        "beside",
        "front",
        near(2),
    )


@pytest.mark.parametrize("against", ["left", "right"])
@pytest.mark.parametrize("stations", [[1500, 1540], [960, 1000]])
def test_a_rib_that_it_only_happens_to_touch_is_told(against: str, stations: list[float]) -> None:
    """Pushed to the wall it stands with its end against a rib: a measurement short there and it will not go in."""
    rib = member("rib", "rib", side=against, stations=stations, depth=30)
    found = asked(van(BOX, rib), module("m", against=against, station=1000))["walls"]
    assert (found.verdict, found.cause) == ("tight", "rib")
    assert found.value == near(0)


# Neighbors


@pytest.mark.parametrize(
    ("gap", "verdict", "touching"),
    [
        (0, "clear", True),
        (CONTACT / 2, "clear", True),
        (EXACT, "tight", False),
        (3 - EXACT, "tight", False),
        (3 + EXACT, "clear", False),
        (200, "clear", False),
    ],
)
def test_neighbors_touch_or_keep_a_gap(gap: float, verdict: str, touching: bool) -> None:
    """Cabinets are built to each other: contact is no fault, a gap too small to measure is worth a look."""
    found = asked(van(BOX), module("other", 500, 400, 700, station=1400 + gap, breadth=-200), free())["neighbors"]
    assert (found.verdict, found.touching, found.cause, found.direction) == (verdict, touching, "other", "rear")
    assert found.value == pytest.approx(gap, abs=EXACT / 5)


def test_an_overlap_is_told_once_by_the_later_of_the_two() -> None:
    findings = check(layout(van(BOX), free(), module("other", 500, 400, 700, station=1390, breadth=-150)))
    (found,) = [f for f in findings if f.verdict == "fouls"]
    assert (found.subject, found.cause, found.question) == ("other", "m", "neighbors")
    assert found.volume == pytest.approx(10 * 450 * 700 / 1e6, rel=1e-9)
    assert {way: d for way, d in found.moves.items() if d is not None} == {
        way: near(d) for way, d in {"rear": 10, "front": 790, "right": 450, "left": 550, "up": 700}.items()
    }


@pytest.mark.parametrize("first", [True, False])
def test_a_module_wholly_inside_another_is_one_overlap(first: bool) -> None:
    """Not nested by intent: its volume is all in the other, and it is told once, with the ways out."""
    small, large = module("small", 100, 100, 100, station=1150, breadth=0, hung=200), free()
    findings = check(layout(van(BOX), *((small, large) if first else (large, small))))
    (found,) = [f for f in findings if f.verdict == "fouls"]
    assert (found.question, {found.subject, found.cause}) == ("neighbors", {"small", "m"})
    assert found.volume == pytest.approx(1.0, rel=1e-9)


def test_the_same_module_twice_in_one_place_is_one_overlap() -> None:
    """A table copied under a new name: all faces coincide, none crosses another."""
    findings = check(layout(van(BOX), free(), free().replace('"m"', '"copy"')))
    (found,) = [f for f in findings if f.verdict == "fouls"]
    assert (found.subject, found.cause, found.question) == ("copy", "m", "neighbors")
    assert found.volume == pytest.approx(500 * 400 * 700 / 1e6, rel=1e-9)
    assert found.moves["rear"] == near(400)


def test_three_in_one_place_are_told_pair_by_pair() -> None:
    modules = [module(name, station=1000 + 10 * i, breadth=-200) for i, name in enumerate("abc")]
    fouls = [f for f in check(layout(van(BOX), *modules)) if f.verdict == "fouls"]
    assert sorted((f.subject, f.cause) for f in fouls) == [("b", "a"), ("c", "a"), ("c", "b")]


def test_nested_is_judged_by_its_parent_and_not_as_a_neighbor() -> None:
    tank = module("tank", 300, 200, 300, in_="m", station=1050, breadth=-150, hung=100)
    findings = check(layout(van(BOX), free(), tank))
    assert "fouls" not in {f.verdict for f in findings}
    (inside,) = [f for f in findings if f.question == "inside m"]
    assert (inside.subject, inside.cause) == ("tank", "m")
    assert inside.value == near(1050 - 1018)  # to the front panel, 18 thick


@pytest.mark.parametrize(("wide", "verdict"), [(500 - 36, "tight"), (500 - 36 + 1, "fouls")])
def test_nested_too_large_fouls_its_parent(wide: float, verdict: str) -> None:
    tank = module("tank", wide, 200, 300, in_="m", station=1050, breadth=-182)
    findings = [f for f in check(layout(van(BOX), free(), tank)) if f.subject == "tank"]
    assert worst(findings) == verdict
    if verdict == "fouls":
        (found,) = [f for f in findings if f.verdict == "fouls"]
        assert (found.question, found.cause) == ("inside m", "m")
        assert found.volume == pytest.approx(1 * 200 * 300 / 1e6, rel=1e-9)


@pytest.mark.parametrize(("station", "hung"), [(2000, 100), (1050, 1000), (1001, 100)])
def test_nested_but_outside_its_parent_fouls_it(station: float, hung: float) -> None:
    """Beside its parent, above it, or wholly within its panel, 18 thick: the parent is told, and how to get in."""
    tank = module("tank", 100, 10, 100, in_="m", station=station, breadth=-150, hung=hung)
    (found,) = [f for f in check(layout(van(BOX), free(), tank)) if f.verdict == "fouls"]
    assert (found.subject, found.question, found.cause) == ("tank", "inside m", "m")
    assert found.volume == pytest.approx(100 * 10 * 100 / 1e6, rel=1e-9)
    if hung == 1000:
        assert found.moves["down"] == near(1100 - (700 - 18))


def test_two_in_one_parent_are_neighbors_of_each_other_only() -> None:
    inmates = [
        module(name, 300, 100, 300, in_="m", station=station, breadth=-150)
        for name, station in (("a", 1050), ("b", 1140))
    ]
    findings = check(layout(van(BOX), free(), *inmates))
    (found,) = [f for f in findings if f.verdict == "fouls"]
    assert (found.subject, found.cause) == ("b", "a")
    assert found.volume == pytest.approx(10 * 300 * 300 / 1e6, rel=1e-9)


# How findings are told


def test_findings_are_told_in_the_units_asked_for() -> None:
    """5.5 in of 25.4 mm: NIST Handbook 44, Appendix C."""
    found = asked(van(BOX), free(breadth=800 - 500 - 139.7))["walls"]
    assert found.words() == "139.7 mm to right wall on the right"
    assert found.words("in") == '5 1/2" to right wall on the right'


def test_a_size_not_to_be_exceeded_is_rounded_down() -> None:
    """A beam at 650.09 mm allows 650 mm and 25 9/16 in (649.3), never 650.1 or 25 5/8 in (650.9)."""
    beam = member("beam", "block", stations=[1000, 1100], breadths=[-801, 801], heights=[650.09, 1901])
    (found,) = [f for f in asked(van(BOX, beam), free()).values() if f.verdict == "fouls"]
    assert found.words().endswith("make it at most 650 mm high")
    assert found.words("in").endswith('make it at most 25 9/16" high')


def test_a_finding_as_plain_data_holds_every_number() -> None:
    found = asked(van(BOX), free(breadth=310))["walls"]
    plain = found.as_dict()
    assert plain["verdict"] == "fouls"
    assert plain["margin"] == plain["value"] == near(-10)
    assert plain["volume"] == pytest.approx(10 * 400 * 700 / 1e6, rel=1e-9)
    assert plain["words"] == found.words()
    assert set(plain["moves"]) == {"front", "rear", "left", "right", "up", "down"}


def test_the_worst_of_no_findings_is_clear() -> None:
    assert worst([]) == "clear"


def test_progress_is_told_module_by_module() -> None:
    told: list[str] = []
    check(layout(van(BOX), free(), module("n", station=2000, breadth=0)), progress=told.append)
    assert told == ["m", "n"]
