"""Degenerate input that every public function of the body and its cuts meets: empty, touching, on the plane, no number,
inside out, of no extent. "Nothing there" is an answer of its own, and every refusal is one of the project's errors."""

from __future__ import annotations

from inspect import isabstract, isclass
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from references import box_shell, shell_of
from strategies import bulkhead
from tumblehome import body, cuts, room
from tumblehome.body.parts import Block, Doorway, Housing, Recess, Sheet, Well
from tumblehome.cuts import band, free_run, reach, section, width, width_chart
from tumblehome.errors import InputError, KernelError, TumblehomeError
from tumblehome.room import DIRECTIONS, Room, room_of
from tumblehome.solids import Solid, Surface, unite
from tumblehome.sweep import Obstacles, Prism, plate_stops, rectangle, stops
from vans import EXACT

if TYPE_CHECKING:
    from collections.abc import Callable

    from tumblehome.body import Shell

NAN, INF = float("nan"), float("inf")
SHELL = box_shell()
VOID = SHELL.void
BODY = [Prism.box((1000, -200, 0), (1500, 200, 700))]
NOTHING = Surface(np.empty((0, 3, 3)), np.empty(0, dtype=np.intp), ())
RIB = Sheet("rib", "rib", None, (1000.0, 1050.0), 40.0, ("left",), False, None)


def test_the_zoo_knows_every_public_function() -> None:
    """A function or class that becomes public must be brought here too."""
    met = {
        "section", "band", "width", "width_chart", "free_run", "reach",
        "Limit", "Section", "Space", "Width", "WidthChart",
    }  # fmt: skip
    assert set(cuts.__all__) == met
    assert set(room.__all__) == {"DIRECTIONS", "Journey", "Reach", "Room", "clearing_moves", "room_of"}
    assert set(body.__all__) == {"Doorway", "Part", "Shell", "bundled_shells", "load_shell"}
    assert isclass(body.Part)
    assert isabstract(body.Part)


# Empty


def test_a_solid_with_nothing_in_it_has_nothing_of_anything() -> None:
    empty = Solid.empty()
    assert empty.is_empty
    assert empty.volume == 0
    assert len(empty.surface) == 0
    assert empty.pieces() == []
    assert empty.ledges(2) == []
    for found in (
        section(empty, height=0),
        section(empty, station=0),
        band(empty, heights=(0, 1)),
        band(empty, stations=(0, 0)),
    ):
        assert found.is_empty
        assert (found.area, found.polygons) == (0, [])
    for made in (
        empty.moved((1, 2, 3)),
        empty & VOID,
        empty - VOID,
        VOID - VOID,
        unite([]),
        empty.named("x"),
        empty.trimmed(0, 1, 2),
    ):
        assert made.is_empty
    assert (empty | VOID).volume == VOID.volume
    with pytest.raises(KernelError, match="nothing is there"):
        _ = empty.bounds


def test_a_room_with_nothing_in_it_holds_no_body() -> None:
    room = Room(NOTHING)
    assert not room.holds((0, 0, 0))
    assert room.headroom(BODY) is None
    assert room.journey(BODY, 0).clearing_move(1.0) is None
    for direction in DIRECTIONS:
        with pytest.raises(InputError, match="outside"):
            reach(room, BODY, direction)


def test_a_body_of_no_prisms_is_nowhere() -> None:
    for direction in DIRECTIONS:
        with pytest.raises(InputError, match="outside"):
            reach(SHELL, [], direction)
    assert len(stops([], SHELL.obstacles, 0).low) == 0
    assert len(stops(BODY, Obstacles(NOTHING), 1).low) == 0
    assert len(plate_stops(rectangle((0, 1), (0, 1)), 0.0, Obstacles(NOTHING), 1).low) == 0


# Touching


def test_what_touches_shares_nothing_and_stays_whole() -> None:
    beside = VOID.moved((3000, 0, 0))
    assert (VOID & beside).is_empty
    assert (VOID - beside).volume == pytest.approx(VOID.volume)
    assert (VOID | beside).volume == pytest.approx(2 * VOID.volume)
    assert len((VOID | beside).pieces()) == 1


@pytest.mark.parametrize(
    "part",
    [
        Block("b", "block", None, (3000.0, 3500.0), (-100.0, 100.0), (0.0, 300.0)),
        Block("b", "block", None, (100.0, 500.0), (800.0, 900.0), (0.0, 300.0)),
        Block("b", "block", None, (100.0, 500.0), (-100.0, 100.0), (1800.0, 1900.0)),
        bulkhead(0.0, 1800.0),
    ],
)
def test_a_member_that_only_touches_takes_nothing(part: Any) -> None:
    shell = box_shell(part)
    assert shell.solid_of(part.name).is_empty
    assert shell.void.volume == pytest.approx(VOID.volume)
    assert width(shell, height=100, station=300).usable == pytest.approx(1600, abs=EXACT)
    assert free_run(shell, 100.0) == pytest.approx((0, 3000), abs=EXACT)


def test_a_body_that_touches_on_all_sides_is_free() -> None:
    full = [Prism.box(*VOID.bounds)]
    for axis in (0, 1, 2):
        journey = room_of(SHELL).journey(full, axis)
        assert journey.fouled == []
        assert journey.clearing_move(1.0) == 0.0
    headroom = room_of(SHELL).headroom(full)
    assert headroom is not None
    assert headroom.distance == pytest.approx(1800, abs=EXACT)


def test_two_prisms_of_a_body_may_touch() -> None:
    two = [Prism.box((1000, -200, 0), (1500, 200, 300)), Prism.box((1000, -200, 300), (1500, 200, 700))]
    assert {d: reach(SHELL, two, d).distance for d in DIRECTIONS} == pytest.approx(
        {d: reach(SHELL, BODY, d).distance for d in DIRECTIONS}, abs=EXACT
    )


# On the plane


@pytest.mark.parametrize("at", [0.0, 1800.0, -0.0])
def test_a_cut_on_a_face_is_the_only_side_there_is(at: float) -> None:
    assert section(SHELL, height=at).area == pytest.approx(3000 * 1600)
    assert band(SHELL, heights=(at, at)).area == pytest.approx(3000 * 1600)
    assert width(SHELL, height=at, station=1500).usable == pytest.approx(1600, abs=EXACT)
    assert width_chart(SHELL, [at], [1500]).usable[0, 0] == pytest.approx(1600, abs=EXACT)
    assert free_run(SHELL, at) == pytest.approx((0, 3000), abs=EXACT)


@pytest.mark.parametrize("at", [0.0, 3000.0])
def test_a_station_on_an_end_likewise(at: float) -> None:
    assert section(SHELL, station=at).area == pytest.approx(1800 * 1600)
    assert band(SHELL, stations=(at, at)).area == pytest.approx(1800 * 1600)
    assert width(SHELL, height=900, station=at).usable == pytest.approx(1600, abs=EXACT)
    assert width_chart(SHELL, [900], [at]).usable[0, 0] == pytest.approx(1600, abs=EXACT)


def test_every_corner_of_the_void_is_a_place_like_any_other() -> None:
    for height in (0.0, 1800.0):
        for station in (0.0, 3000.0):
            assert width(SHELL, height=height, station=station).usable == pytest.approx(1600, abs=EXACT)
            assert width_chart(SHELL, [height], [station]).usable[0, 0] == pytest.approx(1600, abs=EXACT)


# Of no extent


def test_an_interval_of_no_length_is_a_single_cut() -> None:
    shell = box_shell(RIB)
    for at in (0.0, 700.0, 1800.0):
        assert band(shell, heights=(at, at)).area == pytest.approx(section(shell, height=at).area)
        assert (
            width(shell, heights=(at, at), stations=(1025, 1025)).usable == width(shell, height=at, station=1025).usable
        )
    tiny = width(shell, heights=(700, 700 + 1e-12), stations=(1000, 1000 + 1e-12))
    assert tiny.usable == pytest.approx(1560, abs=EXACT)


def test_a_thin_plate_is_a_body() -> None:
    plate = [Prism.box((1000, -200, 500), (1500, 200, 500))]
    wanted = {"front": 1000, "rear": 1500, "left": 600, "right": 600, "down": 500, "up": 1300}
    assert {d: reach(SHELL, plate, d).distance for d in DIRECTIONS} == pytest.approx(wanted, abs=EXACT)


@pytest.mark.parametrize(
    "make",
    [
        lambda: Solid.box((0, 0, 0), (0, 1, 1), "flat"),
        lambda: Solid.box((0, 0, 1), (1, 1, 1), "flat"),
        lambda: Solid.prism([(0, 0), (1, 0), (1, 1)], 1, 0, "turned"),
        lambda: Solid.prism([(0, 0), (1, 0), (2, 0)], 0, 1, "line"),
        lambda: Solid.prism([(0, 0), (1, 0)], 0, 1, "two points"),
        lambda: Solid.prism([(0, 0), (1, 1), (1, 0), (0, 1)], 0, 1, "bow tie"),
        lambda: Solid.hull([(0, 0, 0), (1, 0, 0), (0, 1, 0)], "flat"),
        lambda: Solid.hull(np.zeros((5, 3)), "point"),
    ],
)
def test_a_solid_without_extent_is_refused(make: Callable[[], Solid]) -> None:
    with pytest.raises(KernelError):
        make()


@pytest.mark.parametrize(
    "part",
    [
        Block("flat", "block", None, (100.0, 100.0), (-10.0, 10.0), (0.0, 10.0)),
        Block("flat", "block", None, (100.0, 200.0), (-10.0, 10.0), (10.0, 10.0)),
        Well("flat", "well", None, (100.0, 100.0), (-10.0, 10.0), 10.0),
        Housing("flat", "housing", None, "left", (100.0, 100.0), 300.0, 200.0, 0.0, 0.0),
        Recess("flat", "recess", None, "left", (100.0, 100.0), (300.0, 400.0), 30.0, 0.0, 0.0),
    ],
)
def test_a_part_without_extent_is_told_by_its_name(part: Any) -> None:
    with pytest.raises(InputError, match="flat"):
        _ = box_shell(part).void


# No number


@pytest.mark.parametrize("value", [NAN, INF, -INF])
@pytest.mark.parametrize(
    "ask",
    [
        lambda v: section(SHELL, height=v),
        lambda v: section(SHELL, station=v, side="below"),
        lambda v: section(VOID, station=v, side="above"),
        lambda v: band(SHELL, heights=(0.0, v)),
        lambda v: band(SHELL, stations=(v, 1.0)),
        lambda v: width(SHELL, height=v, station=1.0),
        lambda v: width(SHELL, height=1.0, station=v),
        lambda v: width(SHELL, heights=(0.0, v), stations=(0.0, 1.0)),
        lambda v: width_chart(SHELL, [v], [1.0]),
        lambda v: width_chart(SHELL, [1.0], [1.0, v]),
        lambda v: reach(SHELL, [Prism.box((v, -200, 0), (1500, 200, 700))], "left"),
        lambda v: reach(SHELL, [Prism.box((1000, -200, 0), (1500, 200, v))], "front"),
    ],
)
def test_what_is_no_length_is_refused(ask: Callable[[float], object], value: float) -> None:
    with pytest.raises(InputError):
        ask(value)


@pytest.mark.parametrize("value", [NAN, INF, -INF])
def test_no_run_is_free_at_no_height(value: float) -> None:
    with pytest.raises(InputError):
        free_run(SHELL, value)


@pytest.mark.parametrize("value", [NAN, INF])
@pytest.mark.parametrize(
    "make",
    [
        lambda v: Solid.box((0, 0, 0), (1, 1, v), "bad"),
        lambda v: Solid.prism([(0, 0), (1, 0), (1, 1)], v, 1, "bad"),
        lambda v: Solid.hull([(0, 0, 0), (1, 0, 0), (0, 1, 0), (0, 0, v)], "bad"),
        lambda v: VOID.moved((v, 0, 0)).volume,
        lambda v: VOID.moved((0, v, 0)).surface,
        lambda v: VOID.moved((0, 0, v)).bounds,
        lambda v: VOID.moved((v, 0, 0)).is_empty,
        lambda v: VOID.moved((v, 0, 0)).mesh(),
        lambda v: VOID.moved((v, 0, 0)).pieces(),
        lambda v: VOID.moved((v, 0, 0)).named("bad"),
        lambda v: (VOID & VOID.moved((v, 0, 0))).volume,
    ],
)
def test_a_solid_of_no_numbers_is_refused(make: Callable[[float], object], value: float) -> None:
    with pytest.raises(KernelError):
        make(value)


# Inside out and outside


def test_an_inside_out_solid_is_refused() -> None:
    vertices, triangles = VOID.mesh()
    with pytest.raises(KernelError, match="inside out"):
        Solid.from_mesh(vertices, triangles[:, ::-1], "bad")


def test_an_inside_out_room_holds_nothing() -> None:
    room = Room(VOID.surface.flipped())
    assert not room.holds((1500, 0, 900))
    with pytest.raises(InputError):
        reach(room, BODY, "left")


@pytest.mark.parametrize(
    "ask",
    [
        lambda shell: width(shell, height=5000, station=100).usable,
        lambda shell: width(shell, heights=(-500, -400), stations=(0, 100)).usable,
        lambda shell: free_run(shell, 5000),
        lambda shell: section(shell, height=5000).polygons or None,
        lambda shell: section(shell, station=-1).polygons or None,
        lambda shell: band(shell, heights=(-5, 5)).polygons or None,
        lambda shell: room_of(shell).headroom([Prism.box((5000, 0, 0), (5100, 10, 10))]),
    ],
)
def test_nothing_there_is_none_and_no_zero(ask: Callable[[Shell], object]) -> None:
    assert ask(SHELL) is None
    assert ask(shell_of(VOID)) is None


def test_a_chart_says_where_nothing_is_there() -> None:
    chart = width_chart(SHELL, [-1.0, 900.0, 1801.0], [-1.0, 1500.0])
    assert np.isnan(chart.usable).tolist() == [[True, True], [True, False], [True, True]]
    assert (chart.left_part == -1).tolist() == np.isnan(chart.usable).tolist()
    assert chart.usable[1, 1] == pytest.approx(1600)


def test_a_doorway_where_no_wall_is_says_so() -> None:
    with pytest.raises(TumblehomeError):
        _ = box_shell(doorways=(Doorway("d", "left", (5000.0, 6000.0), (0.0, 100.0)),)).opened("d").void
