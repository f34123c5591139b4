"""How far a body travels: closed forms, dense rays from one side, and booleans of the solid kernel, bisected."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import assume
from hypothesis import strategies as st

from references import as_trimesh, box_shell, embree_hits, is_free, solid_of
from strategies import Plan, boxes, law, plans
from tumblehome.body.parts import Block, Sheet
from tumblehome.cuts import reach
from tumblehome.errors import InputError
from tumblehome.room import DIRECTIONS, Room, room_of
from tumblehome.sweep import Prism
from vans import EXACT

BOW = Sheet("bow", "bow", None, (1000.0, 1040.0), 60.0, (), True, None)
Case = tuple[Plan, Prism]
directions = st.sampled_from(sorted(DIRECTIONS))
cases = plans().flatmap(lambda plan: st.tuples(st.just(plan), boxes(plan)))


def _step(direction: str) -> np.ndarray:
    axis, sense = DIRECTIONS[direction]
    step: np.ndarray = sense * np.eye(3)[axis]
    return step


def _free(room: Room, body: list[Prism]) -> bool:
    fouled = any(room.journey(body, axis).fouled for axis in (0, 1, 2))
    return not fouled and all(room.holds(prism.center) for prism in body)


@pytest.mark.parametrize(
    ("direction", "distance", "part"),
    [
        ("front", 1200, "front"),
        ("rear", 3000 - 1700, "rear"),
        ("down", 200, "floor"),
        ("up", 1900 - 900, "roof"),
        ("left", 900 - 200 * 900 / 1900 - 150, "left wall"),
        ("right", 900 - 200 * 900 / 1900 - 250, "right wall"),
    ],
)
def test_a_box_in_a_leaning_van(direction: str, distance: float, part: str) -> None:
    """Closed forms: a wall that leans in, 900 to 700 over 1900, is met by the box's upper edge, 900 high."""
    shell = box_shell(walls=(900, 700), top=1900)
    found = reach(shell, [Prism.box((1200, -150, 200), (1700, 250, 900))], direction)
    assert found.distance == pytest.approx(distance, abs=EXACT)
    assert found.part == part
    if direction in {"left", "right"}:
        assert found.at[2] == pytest.approx(900, abs=EXACT)


def test_a_bow_stops_what_passes_below_the_roof() -> None:
    """Closed form; its lower face lies at 1740, and a body exactly that high passes."""
    shell = box_shell(BOW)
    low, high = (Prism.box((100, -200, 0), (700, 200, top)) for top in (1740.0, 1740.001))
    assert reach(shell, [low], "rear").distance == pytest.approx(2300, abs=EXACT)
    stopped = reach(shell, [high], "rear")
    assert stopped.distance == pytest.approx(300, abs=EXACT)
    assert stopped.part == "bow"
    assert stopped.at[2] == pytest.approx(1740, abs=1e-3)
    under = Prism.box((900, -200, 500), (1100, 200, 1000))
    above = reach(shell, [under], "up")
    assert above.distance == pytest.approx(740, abs=EXACT)
    assert above.part == "bow"


@pytest.mark.parametrize("degrees", [10, 30, 45, 80])
def test_a_turned_box_reaches_with_its_corner(degrees: int) -> None:
    """Half the extent of an l x w rectangle turned by t: (l cos t + w sin t) / 2 along, (l sin t + w cos t) / 2 across."""
    t = np.radians(degrees)
    corners = np.array([(-300, -100), (300, -100), (300, 100), (-300, 100)]) @ np.array(
        [(np.cos(t), np.sin(t)), (-np.sin(t), np.cos(t))]
    )
    body = [Prism(corners + np.array([1500, 0]), 0, 500)]
    along, across = 300 * np.cos(t) + 100 * np.sin(t), 300 * np.sin(t) + 100 * np.cos(t)
    for direction, distance in (
        ("front", 1500 - along),
        ("rear", 1500 - along),
        ("left", 800 - across),
        ("right", 800 - across),
    ):
        assert reach(box_shell(), body, direction).distance == pytest.approx(distance, abs=EXACT)


def test_the_part_of_a_body_that_touches_first_decides() -> None:
    """Two boxes stacked, the upper one wider: closed forms."""
    post = Block("post", "block", None, (1500.0, 1600.0), (-2000.0, 2000.0), (600.0, 900.0))
    body = [Prism.box((100, -200, 0), (500, 200, 500)), Prism.box((100, -300, 500), (700, 300, 900))]
    shell = box_shell(post)
    found = reach(shell, body, "rear")
    assert found.distance == pytest.approx(800, abs=EXACT)
    assert found.part == "post"
    assert reach(shell, body, "right").distance == pytest.approx(500, abs=EXACT)
    assert reach(shell, body[:1], "rear").distance == pytest.approx(2500, abs=EXACT)


def test_touching_is_a_reach_of_zero_and_no_foul() -> None:
    body = [Prism.box((0, -800, 0), (3000, 800, 1800))]
    for direction in DIRECTIONS:
        assert reach(box_shell(), body, direction).distance == pytest.approx(0, abs=EXACT)
    for direction in DIRECTIONS:
        with pytest.raises(InputError, match=r"fouls|outside"):
            reach(box_shell(), [body[0].moved(1e-5 * _step(direction))], direction)


@pytest.mark.parametrize("place", [(5000, 0, 0), (-900, 0, 500), (0, 3000, 0), (0, 0, -4000)])
def test_a_body_outside_is_told_so(place: Any) -> None:
    with pytest.raises(InputError, match=r"outside|fouls"):
        reach(box_shell(), [Prism.box((100, -50, 100), (200, 50, 200)).moved(place)], "front")


def test_a_body_within_a_member_or_round_one_is_not_free() -> None:
    post = Block("post", "block", None, (1000.0, 1600.0), (-400.0, 400.0), (0.0, 900.0))
    with pytest.raises(InputError):
        reach(box_shell(post), [Prism.box((1100, -50, 100), (1200, 50, 200))], "up")
    island = Block("island", "block", None, (1000.0, 1100.0), (-50.0, 50.0), (300.0, 400.0))
    with pytest.raises(InputError, match="fouls island"):
        reach(box_shell(island), [Prism.box((900, -300, 100), (1300, 300, 600))], "up")


def test_an_unknown_direction_is_told_the_nearest() -> None:
    with pytest.raises(InputError, match="did you mean 'left'"):
        reach(box_shell(), [Prism.box((100, 0, 0), (200, 10, 10))], "lefft")


@law(cases, examples=60)
def test_free_or_not_as_the_boolean_says(case: Case) -> None:
    """The kernel subtracts the void from the body; what is left over fouls."""
    plan, body = case
    room = room_of(plan.shell)
    assert _free(room, [body]) == is_free([body], plan.shell.void)
    for by in ((0, 500, 0), (0, -650, 0), (0, 0, 700), (600, 300, -200)):
        assert _free(room, [body.moved(by)]) == is_free([body.moved(by)], plan.shell.void)


@law(cases, directions, examples=60)
def test_reach_is_where_the_bisected_boolean_turns(case: Case, direction: str) -> None:
    """Bisection between the start, which is free, and a travel that is not, down to a tenth of a millionth."""
    plan, body = case
    assume(is_free([body], plan.shell.void))
    low, high = 0.0, 1.0
    while is_free([body.moved(high * _step(direction))], plan.shell.void):
        low, high = high, high * 2
    found = reach(plan.shell, [body], direction).distance
    assume(low <= found)  # a free place beyond an obstacle may be met first
    while high - low > 1e-7:
        middle = (low + high) / 2
        free = is_free([body.moved(middle * _step(direction))], plan.shell.void)
        low, high = (middle, high) if free else (low, middle)
    assert found == pytest.approx(low, abs=EXACT)


@law(cases, directions, examples=50)
def test_no_ray_from_the_body_is_shorter_than_its_reach(case: Case, direction: str) -> None:
    """Dense rays of embree from the faces that look ahead bound the reach from above."""
    plan, body = case
    room, void = room_of(plan.shell), plan.shell.void
    assume(_free(room, [body]))
    found = reach(room, [body], direction)
    mesh, step = as_trimesh(solid_of([body])), _step(direction)
    ahead = np.flatnonzero(mesh.face_normals @ step > 1e-3)
    weights = np.array([(i, j, 12 - i - j) for i in range(13) for j in range(13 - i)]) / 12 * 0.9999 + 0.0001 / 3
    origins = np.concatenate([weights @ mesh.triangles[face] for face in ahead]) - 1e-3 * step
    rays = embree_hits(as_trimesh(void), origins, step) - 1e-3
    assert np.isfinite(rays).all()
    assert found.distance <= rays.min() + 1e-2


@law(cases, directions, examples=50)
def test_the_witness_lies_on_the_surface_and_on_the_moved_body(case: Case, direction: str) -> None:
    """trimesh measures both distances."""
    plan, body = case
    room = room_of(plan.shell)
    assume(_free(room, [body]))
    found = reach(room, [body], direction)
    assert as_trimesh(plan.shell.void).nearest.on_surface([found.at])[1][0] < EXACT
    moved = as_trimesh(solid_of([body.moved(found.distance * _step(direction))]))
    assert moved.nearest.on_surface([found.at])[1][0] < 5 * EXACT
    known = {part.name for part in plan.shell.parts} | {door.name for door in plan.shell.doorways}
    assert found.part in known | {"left wall", "right wall", "roof", "floor", "front", "rear"}


@law(cases, directions, st.floats(20, 900), examples=60, least=20)
def test_the_shortest_move_clears_and_a_shorter_one_does_not(case: Case, direction: str, into: float) -> None:
    """Pushed beyond its reach the body fouls; the kernel's boolean judges the move that clears it, and 50 shorter ones."""
    plan, body = case
    room, void = room_of(plan.shell), plan.shell.void
    assume(_free(room, [body]))
    stuck = body.moved((reach(room, [body], direction).distance + into) * _step(direction))
    assume(not is_free([stuck], void))
    axis, sense = DIRECTIONS[direction]
    back = room.journey([stuck], axis).clearing_move(-sense)
    assert back is not None
    assert back <= into + EXACT
    assert is_free([stuck.moved(-(back + EXACT) * _step(direction))], void)
    for share in np.linspace(0, 1, 50, endpoint=False):
        shorter = share * (back - EXACT)
        assert not is_free([stuck.moved(-shorter * _step(direction))], void)


@law(cases, examples=40)
def test_headroom_is_the_tallest_that_fits_in_place(case: Case) -> None:
    """A body grown upward to its headroom is free, and a millionth taller is not, by the kernel's boolean."""
    plan, body = case
    room, void = room_of(plan.shell), plan.shell.void
    assume(_free(room, [body]))
    found = room.headroom([body])
    assert found is not None
    grown = [Prism(body.outline, body.bottom, body.bottom + found.distance + by) for by in (-EXACT, EXACT)]
    assert [is_free([one], void) for one in grown] == [True, False]


def test_a_body_that_fouls_along_an_axis_is_told_where() -> None:
    """Closed form: pushed 40 into a post from the front, it comes clear 40 forward or, behind the post, 940 rearward."""
    post = Block("post", "block", None, (1500.0, 1800.0), (-2000.0, 2000.0), (0.0, 900.0))
    room = room_of(box_shell(post))
    stuck = room.journey([Prism.box((940, -100, 0), (1540, 100, 500))], 0)
    assert [name for name, _ in stuck.fouled] == ["post"]
    assert stuck.clearing_move(-1.0) == pytest.approx(40, abs=EXACT)
    assert stuck.clearing_move(1.0) == pytest.approx(860, abs=EXACT)
    assert room.journey([Prism.box((940, -100, 0), (2840, 100, 500))], 0).clearing_move(1.0) is None
    assert room.journey(stuck.body, 0, ignoring=["post"]).fouled == []
    assert room.headroom(stuck.body) is None
