"""Where two people pass: stations and widths worked out by hand, one unit either side."""

from __future__ import annotations

import pytest

from tumblehome.people.gauge import body
from tumblehome.people.ground import Floor
from tumblehome.people.passing import check_passing, passing_places, passing_width
from tumblehome.people.person import Person
from tumblehome.people.profile import widths_along
from vans import BOX, TAPERED, layout, module, near, van

LARGE = Person.of(95)
"""ANSUR II, P95: hips 400, shoulders 567, belly 320 deep, chest 298."""


def cabinet(side: str, deep: float, station: float = 1000, wide: float = 2000, **fields: object) -> str:
    return module(f"cabinet {side}", wide, deep, fields.pop("high", 1890), against=side, station=station, **fields)  # type: ignore[arg-type]


def closed(shell: str, *modules: str) -> Floor:
    return Floor(layout(van(shell), *modules), closed=True)


def test_what_two_need_between_upright_walls() -> None:
    """Half the shoulders of the one, half of both where they meet, half of what the other is deep: 283.5 + 432.5 + 160."""
    assert passing_width(LARGE) == near(876)


@pytest.mark.parametrize(("free", "places"), [(876.5, [(0, 4000)]), (875.5, [(0, 1000), (3000, 4000)])])
def test_between_two_cabinets(free: float, places: list[tuple[float, float]]) -> None:
    deep = (1600 - free) / 2
    found = passing_places(closed(BOX, cabinet("left", deep), cabinet("right", deep)), LARGE)
    assert found == [near(place) for place in places]


def test_in_a_van_that_closes_in_they_pass_as_far_as_it_is_wide_enough() -> None:
    """From a face at -100 to the wall at 900 - x / 20 there is 1000 - x / 20: 876 at 2480."""
    face = module("box", 800, 3000, 1890, faces="front", station=1000, breadth=-900)
    (place,) = passing_places(closed(TAPERED, face), LARGE)
    assert place == near((0, 2480))


@pytest.mark.parametrize(("deep", "passes"), [(218, True), (219, False)])
def test_low_things_at_one_side_and_high_ones_at_the_other(deep: float, passes: bool) -> None:
    """Hips 200 from a bench at -200, chest 149 from a shelf, 432.5 between them: the shelf may come to 581.5."""
    bench = cabinet("left", 600, 0, 4000, high=900)
    shelf = cabinet("right", deep, 0, 4000, hung=1200, high=600)
    assert bool(passing_places(closed(BOX, bench, shelf), LARGE)) is passes


def test_a_place_shorter_than_shoulders_is_none() -> None:
    """Between two cabinets that leave 800 there is a gap as long as the shoulders are broad, 567."""
    for gap, count in ((566, 0), (568, 1)):
        ends = (
            cabinet("left", 800, 0, 1000),
            module("behind", 3000 - gap, 800, 1890, against="left", station=1000 + gap),
        )
        assert len(passing_places(closed(BOX, *ends), LARGE)) == count


def test_a_larger_person_passes_nowhere_that_a_smaller_one_does_not() -> None:
    floor = closed(TAPERED, module("box", 900, 3000, 1890, faces="front", station=500, breadth=-900))
    lengths = [sum(b - a for a, b in passing_places(floor, Person.of(p))) for p in (1, 5, 50, 95, 99)]
    assert lengths == sorted(lengths, reverse=True)
    assert lengths[0] > lengths[-1]


def test_widths_are_straight_between_the_corners_of_things() -> None:
    box = module("box", 400, 500, 1890, faces="front", station=1000, breadth=-900)
    stretches = widths_along(closed(TAPERED, box), (200, 1000))
    assert [(s.start, s.end) for s in stretches] == [near(span) for span in ((0, 1000), (1000, 1500), (1500, 4000))]
    assert stretches[0].widths == near((1800, 1700))
    assert stretches[1].widths == near((850 + 500, 825 + 500))


def test_where_another_run_is_wider_the_stretch_ends() -> None:
    """An island at -50 to 50: both sides are as wide in the straight van, and the right one in one whose left side is filled."""
    island = module("island", 100, 1000, 1890, faces="front", station=1000, breadth=-50)
    low = module("low", 300, 500, 1890, faces="front", station=1500, breadth=-800)
    stretches = widths_along(closed(BOX, island, low), (200, 1000))
    within = [s for s in stretches if s.start >= 1500 and s.end <= 2000]
    assert [(s.left, s.right) for s in within] == [(near((50, 50)), near((800, 800)))]


@pytest.mark.parametrize(
    ("free", "sleepers", "verdict"), [(900, 2, "clear"), (800, 2, "tight"), (700, 2, "fouls"), (700, 1, "clear")]
)
def test_a_van_for_two_lets_two_pass(free: float, sleepers: int, verdict: str) -> None:
    """Two of P50 need 254.5 + 381 + 126.5 = 762. Common practice, no published source."""
    cupboards = [cabinet(side, (1600 - free) / 2, 0, 4000) for side in ("left", "right")]
    bed = module("bed", 300, 300, 100, station=100, breadth=-100, use="bed", people=sleepers)
    (found,) = check_passing(closed(BOX, *cupboards, bed), LARGE)
    assert found.verdict == verdict
    if verdict == "tight":
        assert "two of the median from 0 mm to 4000 mm" in found.words()


def test_how_far_apart_such_places_are_is_told() -> None:
    (found,) = check_passing(closed(BOX, cabinet("left", 800)), LARGE)
    assert (
        found.words()
        == "two people can pass from 0 mm to 1000 mm and from 3000 mm to 4000 mm, 2000 mm at most between such places"
    )
    assert body(LARGE).source in found.source
