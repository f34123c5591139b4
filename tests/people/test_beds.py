"""Beds, against rectangles between walls that lean 1 in 10 and facts of the trade."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from tumblehome.people.beds import check_beds, largest_bed, seam_words
from tumblehome.people.person import Person
from vans import BOX, LEANING, layout, leaning, member, module, near, van

if TYPE_CHECKING:
    from tumblehome.checks import Finding

LARGE = Person.of(95)
INCH = 25.4
HIGH_ROOFED = "height, 0, 4000\n0, 889, 889\n3000, 889, 889"
"""Upright walls 70 in apart."""


def asked(van_text: str, *modules: str) -> dict[str, Finding]:
    return {f.question: f for f in check_beds(layout(van_text, *modules), LARGE) if f.subject == "bed"}


def bed(**fields: Any) -> str:
    own: dict[str, Any] = {
        "wide": 1900,
        "deep": 1400,
        "high": 150,
        "station": 2000,
        "breadth": -700,
        "hung": 500,
        "faces": "right",
        "use": "bed",
    }
    return module("bed", **(own | fields))


def test_a_sixty_inch_mattress_between_walls_seventy_apart_leaves_five_a_side() -> None:
    """Common practice, no published source: where the body is 70 in wide a 60 in mattress leaves 5 in a side for air."""
    plan = layout(van(HIGH_ROOFED), bed(wide=80 * INCH, deep=60 * INCH, breadth=-30 * INCH, station=1000))
    air = next(f for f in check_beds(plan, LARGE) if f.question == "air around it")
    assert air.value == near(5 * INCH)
    assert 'left 5" to left wall, right 5" to right wall' in air.words("in")


def test_air_at_a_leaning_wall_is_that_of_the_mattress_s_upper_edge() -> None:
    air = asked(van(LEANING), bed(station=1050))["air around it"]
    assert air.value == near(leaning(650) - 700)
    assert air.cause in {"left wall", "right wall"}


@pytest.mark.parametrize(("long", "verdict"), [(1874, "clear"), (1871, "tight"), (1869, "tight")])
def test_a_bed_as_long_as_the_stature_is_within_the_tape_s_error(long: float, verdict: str) -> None:
    """ANSUR II: the 95th percentile of men is 1870 mm tall; the shell is measured to 3 mm."""
    found = asked(van(BOX), bed(wide=long))["length"]
    assert (found.verdict, found.value, found.limit) == (verdict, near(long), 1870.0)


def test_one_lies_along_the_side_at_which_the_head_is() -> None:
    across = asked(van(BOX), bed(head="left"))
    assert (across["length"].value, across["breadth"].value) == near((1400, 1900))
    along = asked(van(BOX), bed(head="front"))
    assert (along["length"].value, along["breadth"].value) == near((1900, 1400))


def test_two_sleepers_need_two_pairs_of_shoulders() -> None:
    assert asked(van(BOX), bed(people=2))["breadth"].limit == 2 * 567.0  # ANSUR II, men, 95th percentile


@pytest.mark.parametrize("order", ["beside", "ahead"])
def test_the_largest_bed_touches_on_every_side(order: str) -> None:
    crate = {
        "beside": module("crate", 300, 200, 900, station=2300, breadth=-800, faces="right"),
        "ahead": module("crate", 300, 1200, 900, station=1200, breadth=-600, faces="right"),
    }[order]
    plan = layout(van(BOX), bed(deep=1000, breadth=-500), crate)
    long, wide = largest_bed(plan, plan.module("bed"))
    if order == "beside":  # long: 4000, between the ends; wide: from the crate at -600 to the right wall at 800
        assert (long, wide) == near((4000, 1400))
    else:  # from the crate's end at 1500 rearward, and from wall to wall
        assert (long, wide) == near((2500, 1600))


def test_no_larger_bed_in_a_leaning_van_than_its_top_allows() -> None:
    plan = layout(van(LEANING), bed())
    assert largest_bed(plan, plan.module("bed")) == near((4000, 2 * leaning(650)))


def test_the_largest_bed_is_no_wider_than_the_van_where_the_bed_is() -> None:
    """A bed 1700 wide between walls 1600 apart; a wardrobe from 3000 on ends it."""
    bed = module("bed", 1700, 1900, 100, faces="rear", station=500, breadth=-850, hung=600, use="bed")
    wardrobe = module("wardrobe", 500, 500, 1800, faces="front", station=3000, breadth=-250)
    plan = layout(van(BOX), bed, wardrobe)
    assert largest_bed(plan, plan.module("bed")) == pytest.approx((3000, 1600), abs=1e-3)


@pytest.mark.parametrize(("roof", "verdict"), [(981, "clear"), (978, "tight"), (976, "tight"), (802, "tight")])
def test_sitting_up_is_held_against_the_sitting_height(roof: float, verdict: str) -> None:
    """ANSUR II: men sit 977 mm high at the 95th percentile, women 803 at the 5th."""
    plan = f"height, 0, 4000\n0, 800, 800\n{650 + roof}, 800, 800"
    found = asked(van(plan), bed())["sitting up"]
    assert found.verdict == verdict
    assert found.value == pytest.approx(roof, abs=0.06)


def test_one_sits_up_where_no_bow_hangs() -> None:
    low = member("bow", "bow", stations=[1900, 3500], depth=600)
    found = asked(van(BOX, low), bed())["sitting up"]  # bow down to 1300; from 3500 on the roof is at 1900
    assert found.value == pytest.approx(1.2 * 977.0, abs=0.1)  # more is not asked about


@pytest.mark.parametrize(("gap", "verdict"), [(766, "clear"), (763, "tight"), (761, "fouls")])
def test_a_bunk_hangs_thirty_inches_above_the_mattress(gap: float, verdict: str) -> None:
    """Trade tables of bunk beds: at least 30 in, 762 mm, from the lower mattress's top to the upper underside."""
    upper = module("upper", 1900, 700, 100, station=2000, breadth=-700, hung=650 + gap, faces="right", use="bed")
    found = asked(van(HIGH_ROOFED), bed(), upper)["bunk above"]
    assert (found.verdict, found.cause) == (verdict, "upper")


def test_a_platform_that_carries_a_mattress_counts_as_the_bunk() -> None:
    platform = module("platform", 1900, 700, 40, station=2000, breadth=-700, hung=1500, faces="right")
    mattress = module("upper", 1900, 700, 100, on="platform", station=2000, breadth=-700, faces="right", use="bed")
    assert asked(van(HIGH_ROOFED), bed(), platform, mattress)["bunk above"].value == near(850)


def test_a_queen_in_two_pieces_has_its_seam_at_the_thighs_and_stacks_sixteen_inches() -> None:
    """Common practice, no published source: a 75 in mattress in pieces of 45 and 30 in; two 8 in pieces fold to 16 in."""
    found = asked(van(BOX), bed(wide=75 * INCH, high=8 * INCH, head="rear", pieces=[45 * INCH, 30 * INCH]))["pieces"]
    assert found.verdict == "clear"
    assert "at the thighs" in found.words()
    assert 'stacked 16" high' in found.words("in")


@pytest.mark.parametrize(
    ("at", "part"), [(100, "head"), (500, "back"), (800, "hips"), (1100, "thighs"), (1600, "calves"), (1800, "feet")]
)  # fmt: skip
def test_a_seam_falls_on_the_body_from_the_crown_down(at: float, part: str) -> None:
    """The median man of ANSUR II: stature 1755, shoulders 1439, navel 1055, sitting height 918, hollow of the knee 430."""
    assert seam_words(at, Person.of(50, "man")) == part


def test_pieces_that_do_not_make_the_length_are_told() -> None:
    found = asked(van(BOX), bed(pieces=[1000, 850]))["pieces"]
    assert found.verdict == "tight"
    assert "make 1850 mm, not 1900 mm" in found.words()


def test_the_step_up_counts_from_the_highest_step() -> None:
    step = module("stool", 300, 300, 220, station=500, breadth=0, use="step", faces="right")
    assert "430 mm above stool" in asked(van(BOX), bed(), step)["step up"].words()
    assert "650 mm above the floor" in asked(van(BOX), bed())["step up"].words()


def test_of_a_bed_that_is_folded_away_under_the_roof_nothing_is_asked() -> None:
    assert not asked(van(BOX), bed(hung=1510))  # 240 mm above it
    assert asked(van(BOX), bed(hung=1490))
