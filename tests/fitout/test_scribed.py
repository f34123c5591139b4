"""Scribed cabinets: their backs are the wall, so that their volumes have closed forms."""

from __future__ import annotations

from math import sqrt
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tumblehome.checks import check
from tumblehome.room import DIRECTIONS
from vans import BOX, EXACT, LEANING, TAPERED, layout, leaning, member, module, near, recess, van

if TYPE_CHECKING:
    from tumblehome.fitout import Module


def cabinet(van_text: str, **fields: Any) -> Module:
    """Return a scribed cabinet 900 wide and 800 high against the right wall, unless told otherwise."""
    given_ = {"wide": 900, "deep": None, "high": 800, "against": "right", "station": 1700, **fields}
    return layout(van_text, module("cabinet", kind="scribed", **given_)).module("cabinet")


def face_of(placed: Module) -> float:
    return abs(float(placed.frame.origin[1]))


@given(st.sampled_from(["left", "right"]), st.integers(100, 500), st.integers(0, 30), st.integers(0, 1000))
def test_depth_is_the_least_and_the_back_leans_with_the_wall(side: str, deep: int, gap: int, foot: int) -> None:
    """The wall over the cabinet's heights falls by high / 10: on average it is deep + high / 20 deep."""
    placed = cabinet(van(LEANING), deep=deep, gap=gap, hung=foot, against=side)
    assert face_of(placed) == near(leaning(foot + 800) - gap - deep)
    assert placed.solid.volume == pytest.approx(900 * 800 * (deep + 800 / 20), rel=1e-9)
    low, high = placed.solid.bounds
    out = leaning(foot) - gap
    assert (low[1], high[1]) == near((-out, -face_of(placed)) if side == "left" else (face_of(placed), out))


def test_depth_is_the_least_along_a_tapering_wall() -> None:
    """The wall closes in by wide / 20 over its stations; on average the cabinet is deep + wide / 40 deep."""
    placed = cabinet(van(TAPERED), deep=300)
    assert face_of(placed) == near(900 - 2600 / 20 - 300)
    assert placed.solid.volume == pytest.approx(900 * 800 * (300 + 900 / 40), rel=1e-9)


@pytest.mark.parametrize("gap", [0, 3])
def test_a_stated_face_stands_where_it_is_stated(gap: float) -> None:
    placed = cabinet(van(LEANING), face=420, gap=gap)
    assert face_of(placed) == near(420)
    assert placed.solid.volume == pytest.approx(900 * 800 * (leaning(400) - gap - 420), rel=1e-9)
    assert placed.deep == near(leaning(0) - gap - 420)


@pytest.mark.parametrize("gap", [0, 3])
def test_its_back_goes_round_a_rib(gap: float) -> None:
    rib = member("rib", "rib", side="right", stations=[2000, 2040], depth=30)
    placed = cabinet(van(BOX, rib), deep=450, gap=gap)
    assert face_of(placed) == near(800 - gap - 450)
    assert placed.solid.volume == pytest.approx(900 * 800 * 450 - 40 * 800 * 30, rel=1e-9)


def test_its_back_goes_round_a_rib_on_a_leaning_wall() -> None:
    """The rib's depth along y is depth x sqrt(1 + 1/10^2), the same at every height."""
    rib = member("rib", "rib", side="right", stations=[2000, 2040], depth=30)
    placed = cabinet(van(LEANING, rib), deep=450)
    assert placed.solid.volume == pytest.approx(900 * 800 * (450 + 40) - 40 * 800 * 30 * sqrt(1.01), rel=1e-9)


@pytest.mark.parametrize("gap", [0, 3])
def test_its_back_fills_a_recess(gap: float) -> None:
    pocket = recess("window", side="right", stations=[1900, 2300], heights=[500, 1200], depth=50)
    placed = cabinet(van(BOX, pocket), deep=450, gap=gap)
    assert placed.solid.volume == pytest.approx(900 * 800 * 450 + 400 * 300 * 50, rel=1e-9)
    assert placed.solid.bounds[1][1] == near(850 - gap)


@given(st.integers(300, 800), st.integers(1, 25), st.integers(0, 500))
def test_it_lies_in_the_void_and_stays_there_when_moved_out_by_its_gap(face: int, gap: int, foot: int) -> None:
    """The law of scribing, asked of the solid kernel's booleans."""
    rib = member("rib", "rib", side="right", stations=[2000, 2040], depth=30)
    pocket = recess("window", side="right", stations=[1900, 2500], heights=[500, 1200], depth=50, corner=60, bevel=10)
    one = layout(
        van(LEANING, rib, pocket),
        module("m", 900, None, 800, kind="scribed", face=face, gap=gap, hung=foot, against="right", station=1700),
    )
    solid, void = one.modules[0].solid, one.shell.void
    assert solid.volume > 0
    assert (solid - void).volume == pytest.approx(0, abs=1)
    assert (solid.moved((0, gap, 0)) - void).volume == pytest.approx(0, abs=1)


def test_taller_than_the_wall_it_is_cut_at_the_roof_and_its_face_fouls() -> None:
    one = layout(van(BOX), module("m", 900, 450, 2000, kind="scribed", against="right", station=1700))
    assert one.modules[0].solid.volume == pytest.approx(900 * 450 * 1900, rel=1e-9)
    (foul,) = [f for f in check(one) if f.verdict == "fouls"]
    assert (foul.cause, foul.greatest_height) == ("roof", near(1900))
    assert {way for way, distance in foul.moves.items() if distance is not None} == set()


def test_longer_than_the_wall_it_is_cut_at_the_rear_and_its_face_fouls() -> None:
    one = layout(van(BOX), module("m", 900, 450, 800, kind="scribed", against="right", station=3200))
    assert one.modules[0].solid.volume == pytest.approx(800 * 450 * 800, rel=1e-9)
    (foul,) = [f for f in check(one) if f.verdict == "fouls"]
    assert (foul.cause, foul.moves["front"]) == ("rear", near(100))


def test_an_upright_face_before_a_wall_that_leans_in_front_of_it_fouls() -> None:
    """A face stated at half-breadth 750 stands beyond the leaning wall from height 1500 upwards."""
    one = layout(van(LEANING), module("m", 900, None, 1600, kind="scribed", face=750, against="right", station=1700))
    (foul,) = [f for f in check(one) if f.verdict == "fouls"]
    assert foul.cause == "right wall"
    assert foul.moves["left"] == near(750 + 18 - leaning(1600))  # the face is one panel, 18, thick
    assert foul.greatest_height == near(10 * (900 - 768))


def test_its_back_is_never_judged_and_its_face_is() -> None:
    rib = member("rib", "rib", side="right", stations=[2000, 2040], depth=30)
    one = layout(van(BOX, rib), module("m", 900, 450, 800, kind="scribed", against="right", station=1700))
    (walls,) = [f for f in check(one) if f.question == "walls"]
    assert (walls.verdict, walls.cause) == ("clear", "left wall")
    assert walls.value == near(800 + 350)


@pytest.mark.parametrize(
    ("first", "second", "shared"),
    [((0, 900), (900, 400), 0), ((0, 900), (850, 400), 50 * 900), ((0, 900), (901, 400), 0)],
)
def test_scribed_against_scribed_above(first: tuple[float, float], second: tuple[float, float], shared: float) -> None:
    """Two cabinets at one wall, one over the other: what they share is told once, by the later one."""
    modules = [
        module(name, 900, None, high, kind="scribed", face=500, hung=foot, against="right", station=1700)
        for name, (foot, high) in (("base", first), ("wall cabinet", second))
    ]
    one = layout(van(BOX), *modules)
    fouls = [f for f in check(one) if f.verdict == "fouls"]
    assert [(f.subject, f.cause) for f in fouls] == ([("wall cabinet", "base")] if shared else [])
    assert [f.volume for f in fouls] == pytest.approx([shared * 300 / 1e6] if shared else [])


def test_scribed_against_scribed_on_the_same_wall_side_by_side() -> None:
    """Cabinets of two depths meet end to end: they touch and do not foul."""
    modules = [
        module("one", 900, 450, 800, kind="scribed", against="right", station=1000, gap=3),
        module("two", 600, 300, 800, kind="scribed", against="right", station=1900, gap=3),
    ]
    findings = check(layout(van(LEANING), *modules))
    neighbors = [f for f in findings if f.question == "neighbors"]
    assert [(f.verdict, f.touching, f.cause) for f in neighbors] == [("clear", True, "two"), ("clear", True, "one")]
    assert "fouls" not in {f.verdict for f in findings}


def test_panels_of_the_face_plate_hold_its_hull() -> None:
    placed = cabinet(van(LEANING), deep=450)
    low, high = placed.body[0].bounds
    face = leaning(800) - 450
    assert np.column_stack([low, high]) == near(np.array([(1700, 2600), (face, face + 18), (0, 800)]))
    hull_low, hull_high = placed.bounds
    solid_low, solid_high = placed.solid.bounds
    assert (hull_low <= solid_low + EXACT).all()
    assert (hull_high >= solid_high - EXACT).all()


@given(
    st.sampled_from(["left", "right"]),
    st.integers(100, 600),
    st.integers(0, 40),
    st.integers(0, 900),
    st.integers(1100, 2300),
    st.integers(100, 400),
    st.integers(0, 300),
)
def test_every_move_that_is_told_clears_it_and_nothing_less_does(
    side: str, face: int, gap: int, foot: int, station: int, deep: int, off: int
) -> None:
    """Its back follows the wall to where it is moved to: it is built there anew, and checked."""
    inward = 1 if side == "left" else -1
    post = module("post", 120, deep, 700, against=side, gap=off, station=1750)

    def built(front: float = 0, across: float = 0, up: float = 0) -> Any:
        own = {"kind": "scribed", "face": face - inward * across, "gap": gap, "hung": foot + up, "against": side}
        return layout(van(LEANING), post, module("m", 600, None, 500, station=station + front, **own))

    def fouls(where: Any) -> list[Any]:
        return [f for f in check(where) if f.subject == "m" and f.verdict == "fouls"]

    now = fouls(built())
    for way, mm in [(way, mm) for foul in now[:1] for way, mm in foul.moves.items() if mm is not None]:
        axis, sense = DIRECTIONS[way]
        by: list[dict[str, float]] = [{}, {}]
        for moved, distance in zip(by, (mm + 0.01, mm - 1.0), strict=True):
            moved[("front", "across", "up")[axis]] = sense * distance
        assert fouls(built(**by[0])) == [], way
        assert mm < 2 or fouls(built(**by[1])), way


def test_past_what_stands_at_its_wall_it_moves_along_the_wall_or_up_and_not_across() -> None:
    """A post stands at the wall behind its face: all of it has to go past that, or over it."""
    post = module("post", 120, 300, 700, against="left", station=1750, faces="right")
    own = {"kind": "scribed", "face": 200, "hung": 100, "against": "left"}
    one = layout(van(BOX), post, module("m", 600, None, 500, station=1700, **own))
    (foul,) = [f for f in check(one) if f.verdict == "fouls"]
    assert foul.moves == {
        "front": near(1700 + 600 - 1750), "rear": near(1750 + 120 - 1700), "right": None,
        "left": None, "down": None, "up": near(600),
    }  # fmt: skip
