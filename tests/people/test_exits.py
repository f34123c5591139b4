"""Who gets out: ways worked out by hand in a straight van, one unit either side of what a body needs."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tumblehome.people.exits import check_exits
from tumblehome.people.ground import Floor
from tumblehome.people.person import Person
from vans import BOX, layout, module, van

if TYPE_CHECKING:
    from tumblehome.checks.finding import Finding

LARGE = Person.of(95)
"""ANSUR II, P95: hips 400, shoulders 567, belly 320 deep; 1870 tall, waist at 1144.9, shoulders at 1546."""
SIDE = '[[doorways]]\nname = "side door"\nside = "right"\nstations = [200, 1200]\nheights = [0, 1700]'
REAR = '[[doorways]]\nname = "rear doors"\nside = "rear"\nbreadths = [-600, 600]\nheights = [0, 1700]'
COUNTER = module("counter", 800, 300, 900, against="left", station=3000, use="counter")


def found(*modules: str, doors: tuple[str, ...] = (SIDE,), person: Person = LARGE) -> dict[tuple[str, str], Finding]:
    plan = layout(van(BOX, *doors), *modules)
    return {(each.subject, each.question): each for each in check_exits(Floor(plan), person)}


def out(*modules: str, place: str = "counter", doors: tuple[str, ...] = (SIDE,), person: Person = LARGE) -> Finding:
    return found(*modules, doors=doors, person=person)[place, "getting out"]


def narrows(free: float, high: float = 1890, station: float = 2000) -> list[str]:
    """Two cabinets that leave so much between them, ahead of the counter."""
    return [module(f"at the {s}", 500, (1600 - free) / 2, high, against=s, station=station) for s in ("left", "right")]


@pytest.mark.parametrize(
    ("free", "verdict", "words"),
    [
        (572, "clear", "5 mm to spare"),
        (567.5, "tight", "0.5 mm to spare"),
        (566.5, "tight", "only sideways"),
        (320.5, "tight", "only sideways"),
        (319.5, "fouls", "trapped: only 319.5 mm between at the left and at the right on the way to side door"),
    ],
)
def test_through_a_narrow_place(free: float, verdict: str, words: str) -> None:
    one = out(*narrows(free), COUNTER)
    assert one.verdict == verdict
    assert words in one.words()
    assert one.value == pytest.approx(free, abs=1e-6)
    assert "local codes" in one.source


@pytest.mark.parametrize(("free", "verdict"), [(319, "fouls"), (321, "tight")])
def test_one_stands_before_most_of_a_counter_not_round_its_end(free: float, verdict: str) -> None:
    """The counter's face runs from 1300 to 3000 at breadth -400; a block at 1600 to 1800 parts its front end from the rest."""
    counter = module("counter", 1700, 400, 900, against="left", station=1300, use="counter")
    block = module("block", 200, 1200 - free, 1890, against="right", station=1600)
    one = out(counter, block)
    assert one.verdict == verdict
    assert one.value == pytest.approx(free, abs=1e-6)


@pytest.mark.parametrize(("high", "verdict"), [(199, "clear"), (201, "fouls")])
def test_what_is_low_enough_is_stepped_over(high: float, verdict: str) -> None:
    """About the riser of a stair; common practice, no published source."""
    sill = module("sill", 1600, 100, high, faces="front", station=2000, breadth=-800)
    assert out(sill, COUNTER).verdict == verdict


def test_who_must_stoops() -> None:
    """Under a roof at 1900 one walks 1862 tall, with shoulders at 1539.4; stooped to three quarters of 1870 at 1159.5."""
    for under, how in ((1540, "clear"), (1539, "stooped"), (1160, "stooped"), (1159, "trapped")):
        beam = module("beam", 1600, 100, 1880 - under, faces="front", station=2000, breadth=-800, hung=under)
        one = out(beam, COUNTER)
        assert how in (one.verdict, *one.words().replace(",", "").replace(":", "").split())


def test_one_stoops_in_one_place_and_stands_in_another() -> None:
    """Benches of 900 leave 450 for the hips of one who stands, not for the shoulders of one who stoops; a beam has one stoop."""
    beam = module("beam", 1600, 100, 500, faces="front", station=2800, breadth=-800, hung=1300)
    assert "stooped in places" in out(*narrows(450, 900, 1500), beam, COUNTER).words()


def test_where_one_stoops_is_told() -> None:
    """The beam leaves 1600 - 1300 beside it."""
    beam = module("beam", 1300, 100, 500, faces="front", station=2800, breadth=-800, hung=1300)
    words = out(*narrows(450, 900, 1500), beam, COUNTER).words()
    assert words == "out by side door, stooped in places, as between beam and right wall, 300 mm"


@pytest.mark.parametrize(("wide", "bends"), [(340, True), (405, True), (430, False), (500, False)])
def test_round_a_corner_the_shoulders_may_have_to_give(wide: float, bends: bool) -> None:
    """A corridor along the right wall, one across the van, one along the left wall, all as wide.

    A rectangle p x q turns round a corner of two corridors of a when p <= 2 (sqrt2 a - q): 567 x 298 at the shoulders needs
    411.2, the box of 567 x 320 about hips and shoulders 426.8.
    """
    one = module("one", 1600 - wide, 700, 1890, faces="front", station=1250, breadth=-800)
    other = module("other", 1600 - wide, 700, 1890, faces="front", station=1950 + wide, breadth=-800 + wide)
    counter = module("counter", 700, 300, 900, against="right", station=3200, use="counter")
    words = out(one, other, counter).words()
    assert "only sideways" in words
    assert ("the shoulders must give" in words) is bends


# ---- seats ----


def seat(**fields: object) -> str:
    """For two, across the van before the rear wall: the left end of its face is at the right wall."""
    return module("seat", 1000, 500, 450, faces="front", station=3500, breadth=-200, use="seat", people=2, **fields)


def table(left: float, edge: float = 3480) -> str:
    """A top before the seat, from a breadth to the right wall; nothing below it."""
    return module("table", 800 - left, 480, 30, faces="front", station=edge - 480, breadth=left, hung=700)


def test_a_table_before_the_inner_place_traps_who_sits_there() -> None:
    """Common practice, no published source: the inner one of two waits for the outer one."""
    answers = found(seat(), table(300))
    inner, outer = (answers[f"seat, place {i}", "getting out"] for i in (1, 2))
    assert inner.verdict == "tight"
    assert inner.words().startswith("trapped by table until the neighbor rises, then out by side door")
    assert outer.verdict == "clear"


def test_with_the_table_stowed_both_get_out_alone() -> None:
    answers = found(seat())
    assert [answers[f"seat, place {i}", "getting out"].verdict for i in (1, 2)] == ["clear", "clear"]


@pytest.mark.parametrize(("edge", "verdict"), [(3179, "clear"), (3181, "tight")])
def test_the_trunk_needs_its_depth_between_table_and_neighbor(edge: float, verdict: str) -> None:
    """The corners of the table and of the neighbor's place, at 3500, both at breadth 300: a body 320 deep goes between."""
    assert out(seat(), table(300, edge), place="seat, place 1").verdict == verdict


def test_a_table_across_the_whole_van_traps_both() -> None:
    answers = found(seat(), table(-800))
    for i in (1, 2):
        one = answers[f"seat, place {i}", "getting out"]
        assert one.verdict == "fouls"
        assert "trapped" in one.words()
        assert one.cause == "table"


def test_a_seat_under_a_bed_that_came_down_is_not_asked() -> None:
    bed = module("bed", 1600, 700, 100, faces="front", station=3300, breadth=-800, hung=600)
    assert not found(seat(), bed)


# ---- beds ----

WARDROBE = module("wardrobe", 800, 500, 1890, faces="front", station=1500, breadth=0)
BED = module("bed", 800, 1900, 500, faces="front", station=2000, breadth=0, use="bed", people=2, head="front")


def test_the_inner_sleeper_climbs_over_the_other() -> None:
    """Heads at the front, so they lie side by side from left to right, the second at the right wall, behind the wardrobe."""
    answers = found(BED, WARDROBE)
    assert answers["bed, sleeper 1", "getting out"].verdict == "clear"
    inner = answers["bed, sleeper 2", "getting out"]
    assert inner.verdict == "tight"
    assert inner.words().startswith("climbs over the other, then out by side door")


def test_one_way_out_of_a_bed_or_two() -> None:
    one, two = found(BED)["bed", "second way out"], found(BED, doors=(SIDE, REAR))["bed", "second way out"]
    assert (one.verdict, two.verdict) == ("tight", "clear")
    assert "one way out, side door" in one.words()
    assert "two ways out: rear doors and side door" in two.words()


# ---- doorways ----


def test_no_doorway_is_said() -> None:
    one = out(COUNTER, doors=())
    assert one.verdict == "fouls"
    assert "states no doorway" in one.words()


def test_the_easier_doorway_is_told_first() -> None:
    one = out(*narrows(400), COUNTER, doors=(SIDE, REAR))
    assert one.words().startswith("out by rear doors and side door")
    assert one.verdict == "clear"


@pytest.mark.parametrize("free", [300, 350, 500, 580])
def test_a_larger_person_never_gets_out_more_easily(free: float) -> None:
    order = ["clear", "tight", "fouls"]
    verdicts = [order.index(out(*narrows(free), COUNTER, person=Person.of(p)).verdict) for p in (1, 5, 50, 95, 99)]
    assert verdicts == sorted(verdicts)
