"""The ways between modes, against the area that a turning rectangle sweeps and obstacles one unit either side of it."""

from __future__ import annotations

from math import cos, hypot, pi, radians, sin
from typing import TYPE_CHECKING, Any

import pytest

from tumblehome.checks import Finding, check_modes, in_modes
from tumblehome.checks.motion import swept
from tumblehome.errors import LayoutError
from tumblehome.lengths import volume_words
from vans import BOX, mode, module, van
from vans import in_modes as layouts

if TYPE_CHECKING:
    from tumblehome.fitout import Layout

PANEL: dict[str, Any] = {
    "wide": 600,
    "deep": 300,
    "high": 50,
    "station": 1000,
    "breadth": 0,
    "hung": 700,
    "faces": "right",
}
"""A panel whose corner that is lowest, leftmost and foremost is at (1000, 0, 700)."""
TURNED = {"faces": "rear", "breadth": -600, "way": "turns"}
"""A quarter turn about the upright edge at (1000, 0)."""
SWUNG = {"faces": "left", "station": 400, "breadth": -300, "way": "turns"}
"""Half a turn about the same edge."""
FOLDED = {"deep": 50, "high": 300, "hung": 400, "way": "folds"}
"""A quarter turn about the level edge at breadth 0, height 700."""


def van_with(change: dict[str, Any], *others: str, **own: Any) -> tuple[Layout, ...]:
    night = mode("night", {"module": "panel", **change})
    return layouts(van(BOX), module("panel", **(PANEL | own)), *others, mode("day"), night)


def way(change: dict[str, Any], *others: str, **own: Any) -> Finding:
    (found,) = (f for f in check_modes(van_with(change, *others, **own)) if f.question == "way to night")
    assert found.modes == ("night",)
    return found


def post(x: float, y: float, z: float, name: str = "post", high: float = 20) -> str:
    """Return a block of 40 x 40 whose foremost, leftmost and lowest corner is at a point."""
    return module(name, 40, 40, high, station=x, breadth=y, hung=z, faces="right")


@pytest.mark.parametrize(("z", "verdict"), [(751, "clear"), (749, "fouls"), (679, "clear"), (681, "fouls")])
def test_a_slide_meets_what_stands_in_its_straight_way(z: float, verdict: str) -> None:
    found = way({"station": 2300, "way": "slides"}, post(2000, 100, z))
    assert found.verdict == verdict
    assert found.cause == (None if verdict == "clear" else "post")


def test_a_slanting_slide_passes_over_what_a_level_one_would_meet() -> None:
    """Its rear edge comes to 1780 after 0.36 of the way, its foot then at 844, above the block that ends at 840."""
    below = post(1780, 100, 800, high=40)
    assert way({"station": 2000, "hung": 1100, "way": "slides"}, below).verdict == "fouls"
    assert way({"station": 1500, "hung": 1100, "way": "slides"}, below).verdict == "clear"


@pytest.mark.parametrize("change", [{"station": 1000, "faces": "rear", "breadth": -600}, {"station": 2300}])
def test_what_is_carried_by_hand_has_no_way_to_prove(change: dict[str, Any]) -> None:
    found = check_modes(van_with(change, post(2000, 100, 700)))
    assert not [f for f in found if f.question.startswith("way")]


def test_what_moves_too_may_move_first() -> None:
    night = mode("night", {"module": "panel", "station": 2300, "way": "slides"}, {"module": "post", "stowed": True})
    plans = layouts(van(BOX), module("panel", **PANEL), post(2000, 100, 700), mode("day"), night)
    assert [f.verdict for f in check_modes(plans) if f.question.startswith("way")] == ["clear"]


def test_a_slide_into_the_wall_names_it() -> None:
    found = way({"breadth": 700, "way": "slides"})
    assert (found.verdict, found.cause) == ("fouls", "right wall")
    assert found.words("mm").endswith(f"by {volume_words(found.volume, 'mm')}")
    assert found.words("in").endswith(f"by {volume_words(found.volume, 'in')}")


@pytest.mark.parametrize(
    ("change", "sides", "thick"), [(TURNED, (600, 300), 50), (FOLDED, (300, 50), 600)], ids=["turns", "folds"]
)  # fmt: skip
def test_a_quarter_turn_about_an_edge_sweeps_a_quarter_circle_and_the_rectangle(
    change: dict[str, Any], sides: tuple[float, float], thick: float
) -> None:
    """A rectangle a x b that turns by a right angle about its corner sweeps pi (a2 + b2) / 4 + a b: a closed form."""
    day, night = van_with(change)
    (region,) = swept(day.module("panel"), night.module("panel"), str(change["way"]))
    a, b = sides
    exact = (pi * (a * a + b * b) / 4 + a * b) * thick
    drawn_in = (pi * ((a - 1) ** 2 + (b - 1) ** 2) / 4 + (a - 1) * (b - 1)) * (thick - 1)
    assert drawn_in * 0.995 < region.volume < exact


@pytest.mark.parametrize(("beyond", "verdict"), [(1, "clear"), (-1.5, "fouls")])
@pytest.mark.parametrize("angle", [20, 0, -40, -60])
def test_a_turn_reaches_as_far_as_its_farthest_corner(angle: float, beyond: float, verdict: str) -> None:
    """From its corner at (1000, 0) the panel's far one is hypot(600, 300) away and turns from 26.6 to -63.4 degrees."""
    radius, at = hypot(600, 300) + beyond, radians(angle)
    x, y = 1000 + radius * cos(at), radius * sin(at)
    assert way(TURNED, post(x, y if angle >= 0 else y - 40, 715)).verdict == verdict


@pytest.mark.parametrize(("beyond", "verdict"), [(1, "clear"), (-1.5, "fouls")])
@pytest.mark.parametrize("angle", [-10, -30, -70])
def test_a_fold_reaches_as_far_as_its_farthest_edge(angle: float, beyond: float, verdict: str) -> None:
    radius, at = hypot(300, 50) + beyond, radians(angle)
    block = post(1200, radius * cos(at), 700 + radius * sin(at) - 20)
    assert way(FOLDED, block).verdict == verdict


def test_half_a_turn_goes_round_by_the_side_that_is_free() -> None:
    """About (1000, 0) it turns from the quarter ahead of both axes to the one behind: by the left or by the right."""
    by_right, by_left = post(700, 300, 715, "post right"), post(1300, -300, 715, "post left")
    assert way(SWUNG, by_right).verdict == way(SWUNG, by_left).verdict == "clear"
    assert way(SWUNG, by_right, by_left).verdict == "fouls"


@pytest.mark.parametrize(
    ("change", "own", "words"),
    [
        ({"station": 2300, "way": "turns"}, {}, "faces the same way"),
        ({**TURNED, "wide": 500}, {}, "shape"),
        ({**TURNED, "hung": 600}, {}, "height"),
        ({**FOLDED, "high": 280}, {}, "does not fold"),
        ({"outline": [[0, 0], [600, 0], [0, 300]], "way": "slides"}, {}, "keeps its boxes"),
        ({"stowed": False, "way": "slides"}, {"stowed": True}, "no place in mode 'day'"),
    ],
)
def test_a_way_that_joins_no_two_places_is_refused(change: dict[str, Any], own: dict[str, Any], words: str) -> None:
    with pytest.raises(LayoutError, match=words):
        check_modes(van_with(change, **own))


def test_a_scribed_module_stays_where_it_is_built() -> None:
    cabinet: dict[str, Any] = {
        "kind": "scribed",
        "wide": 600,
        "high": 600,
        "deep": 300,
        "against": "left",
        "station": 1000,
    }
    night = mode("night", {"module": "cabinet", "station": 1800, "way": "slides"})
    plans = layouts(van(BOX), module("cabinet", **cabinet), mode("day"), night)
    with pytest.raises(LayoutError, match="scribed to the wall") as caught:
        check_modes(plans)
    assert (caught.value.file, caught.value.key) == (plans[0].file, "mode 'night'")


def test_what_says_the_same_in_two_modes_is_told_once() -> None:
    wall, shelf = Finding("box", "walls", "clear", 20.0, cause="rib"), Finding("box", "walls", "fouls", cause="shelf")
    joined = in_modes({"day": [wall], "night": [wall, shelf], "road": [shelf]})
    assert [(f.cause, f.modes) for f in joined] == [("rib", ("day", "night")), ("shelf", ("night", "road"))]
    assert in_modes({"": [wall]}) == [wall]


def test_a_fault_of_the_night_alone_is_told_of_the_night() -> None:
    found = check_modes(van_with({"station": 1800}, post(2000, 100, 700)))
    fouls = [(f.subject, f.cause, f.modes) for f in found if f.verdict == "fouls"]
    assert fouls == [("post", "panel", ("night",))]
