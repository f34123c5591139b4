"""The laws of the geometry over random shells: what must hold whatever the numbers are."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import assume, reject
from hypothesis import strategies as st

from references import as_trimesh, is_free, left, right
from strategies import Plan, boxes, law, millimeters, plans
from tumblehome.cuts import band, reach, section, width, width_chart
from tumblehome.errors import InputError
from tumblehome.room import DIRECTIONS, Room, room_of
from tumblehome.sweep import Prism
from vans import EXACT

if TYPE_CHECKING:
    from tumblehome.body.shell import Shell
    from tumblehome.solids import Solid

Case = tuple[Plan, Prism]
NOISE = EXACT * 20_000  # mm2: a millionth of a millimeter along the longest outline
MIRRORED = {"left": "right", "right": "left", "left wall": "right wall", "right wall": "left wall"}
cases = plans().flatmap(lambda plan: st.tuples(st.just(plan), boxes(plan)))
shares = st.floats(0.01, 0.99)


def _grid(shell: Shell) -> tuple[np.ndarray, np.ndarray]:
    (x0, x1), (z0, z1) = shell.stations, shell.heights
    return np.linspace(z0 + 1.7, z1 - 1.3, 8), np.linspace(x0 + 2.3, x1 - 1.9, 9)


def _reaches(room: Room, body: list[Prism]) -> dict[str, float] | None:
    """Return how far a body travels each way, or None when it is not free."""
    try:
        return {direction: reach(room, body, direction).distance for direction in DIRECTIONS}
    except InputError:
        return None


def _without(values: np.ndarray) -> np.ndarray:
    return np.where(np.isnan(values), -1.0, values)


# Law 1: what leans in never widens upward, a larger box never gains, members take and recesses give


@law(plans(leaning=True, parts=False), shares, examples=40)
def test_a_wall_that_leans_in_never_gets_wider_upward(plan: Plan, share: float) -> None:
    shell = plan.shell
    heights, stations = _grid(shell)
    usable = width_chart(shell, heights, stations).usable
    assert np.isfinite(usable).all()
    assert (np.diff(usable, axis=0) <= EXACT).all()
    areas = [section(shell, height=height).area for height in heights]
    assert (np.diff(areas) <= NOISE).all()
    top = heights[0] + share * (heights[-1] - heights[0])
    assert band(shell, heights=(float(heights[0]), float(top))).area == pytest.approx(
        section(shell, height=top, side="below").area, abs=NOISE
    )


@law(cases, st.sampled_from(["taller", "lower", "longer", "wider"]), millimeters(1, 80), examples=60)
def test_a_larger_box_never_gains_reach(case: Case, how: str, by: float) -> None:
    """Against the fixed side: reach to the right of a box that grows anywhere but to the right."""
    plan, body = case
    room = room_of(plan.shell)
    small = _reaches(room, [body])
    if small is None:
        reject()
    low, high = body.bounds
    grown = {
        "taller": Prism(body.outline, body.bottom, body.top + by),
        "lower": Prism(body.outline, body.bottom - by, body.top),
        "longer": Prism.box((low[0] - by, low[1], low[2]), (high[0] + by, high[1], high[2])),
        "wider": Prism.box((low[0], low[1] - by, low[2]), (high[0], high[1], high[2])),
    }[how]
    large = _reaches(room, [grown])
    if large is None:
        reject()
    fixed = {
        "taller": "front rear left right down",
        "lower": "front rear left right up",
        "longer": "left right up down",
    }
    for direction in fixed.get(how, "front rear right up down").split():
        assert large[direction] <= small[direction] + EXACT


@law(plans(), shares, examples=60)
def test_a_member_takes_and_a_recess_gives(plan: Plan, share: float) -> None:
    shell = plan.shell
    heights, stations = _grid(shell)
    for part in shell.parts:
        fewer = shell.without(part.name)
        more, less = (shell, fewer) if part.gives else (fewer, shell)
        assert (less.void - more.void).volume < NOISE
        assert less.void.volume < more.void.volume
        gained = _without(width_chart(more, heights, stations).usable) - _without(
            width_chart(less, heights, stations).usable
        )
        assert (gained >= -EXACT).all()
        middle = float(heights[0] + share * (heights[-1] - heights[0]))
        assert section(less, height=middle).area <= section(more, height=middle).area + NOISE
        interval = (0.5, max(middle, 0.5) + 1)
        assert band(less, heights=interval).area <= band(more, heights=interval).area + NOISE


# Law 2: mirrored or moved, nothing changes but the names of the sides


@law(cases, examples=50)
def test_mirroring_swaps_left_and_right_and_changes_no_number(case: Case) -> None:
    plan, body = case
    shell, mirror = plan.shell, plan.mirrored.shell
    assert mirror.void.volume == pytest.approx(shell.void.volume, rel=1e-12)
    heights, stations = _grid(shell)
    one, two = width_chart(shell, heights, stations), width_chart(mirror, heights, stations)
    assert np.allclose(one.left, two.right, rtol=0, atol=EXACT, equal_nan=True)
    assert np.allclose(one.right, two.left, rtol=0, atol=EXACT, equal_nan=True)
    for height, station in ((heights[3], stations[2]), (heights[1], stations[6])):
        here, there = (width(s, height=float(height), station=float(station)) for s in (shell, mirror))
        if here.usable is not None:
            assert MIRRORED.get(left(here).part, left(here).part) == right(there).part
            assert left(here).lean == pytest.approx(right(there).lean, abs=1e-6)
    middle = float(heights[4])
    assert band(shell, heights=(1, middle)).area == pytest.approx(band(mirror, heights=(1, middle)).area, abs=NOISE)
    turned = Prism(body.outline[::-1] * (1, -1), body.bottom, body.top)
    mine, theirs = _reaches(room_of(shell), [body]), _reaches(room_of(mirror), [turned])
    assert (mine is None) == (theirs is None)
    if mine is not None:
        assert {MIRRORED.get(d, d): distance for d, distance in mine.items()} == pytest.approx(theirs, abs=EXACT)


@law(cases, millimeters(-3000, 3000), st.tuples(*[millimeters(-900, 900)] * 2), examples=50)
def test_moving_everything_changes_nothing(case: Case, along: float, across: tuple[float, float]) -> None:
    """A shell may only be moved along; its void and a body in it by any vector."""
    plan, body = case
    shell, moved = plan.shell, plan.shifted(along).shell
    heights, stations = _grid(shell)
    one, two = width_chart(shell, heights, stations), width_chart(moved, heights, stations + along)
    assert np.allclose(one.usable, two.usable, rtol=0, atol=EXACT, equal_nan=True)
    assert one.names == two.names
    vector = np.array([along, *across])
    void = shell.void.moved(vector)
    assert void.volume == pytest.approx(shell.void.volume, rel=1e-12)
    height, station = float(heights[3]), float(stations[4])
    assert section(void, height=height + vector[2]).area == pytest.approx(section(shell, height=height).area, abs=NOISE)
    assert section(void, station=station + vector[0]).area == pytest.approx(
        section(shell, station=station).area, abs=NOISE
    )
    lifted = band(void, heights=(1 + vector[2], height + vector[2]))
    assert lifted.area == pytest.approx(band(shell, heights=(1, height)).area, abs=NOISE)
    mine, theirs = _reaches(room_of(shell), [body]), _reaches(Room(void.surface), [body.moved(vector)])
    assert (mine is None) == (theirs is None)
    assert mine is None or mine == pytest.approx(theirs, abs=EXACT)


# Law 3: a section holds the band


@law(plans(), shares, shares, examples=50)
def test_a_section_holds_the_band_around_it(plan: Plan, one: float, other: float) -> None:
    shell = plan.shell
    for axis, (low, high) in ((2, shell.heights), (0, shell.stations)):
        start, end = sorted(low + share * (high - low) for share in (one, other))
        assume(end - start > 1)
        whole = band(shell, heights=(start, end)) if axis == 2 else band(shell, stations=(start, end))
        ledges = [at for at in shell.void.ledges(axis) if start + 1e-3 < at < end - 1e-3]
        for at in [*np.linspace(start, end, 5)[1:-1], *ledges]:
            cut = section(shell, height=float(at)) if axis == 2 else section(shell, station=float(at))
            assert (whole & cut).area == pytest.approx(whole.area, abs=NOISE)


@law(plans(), shares, examples=50)
def test_a_band_of_no_thickness_is_what_both_limits_share(plan: Plan, share: float) -> None:
    shell = plan.shell
    low, high = shell.heights
    for at in (low + share * (high - low), *shell.void.ledges(2)[1:-1]):
        above, below = (section(shell, height=float(at), side=side) for side in ("above", "below"))
        if (
            above.is_empty or below.is_empty
        ):  # a second ledge within rounding of the floor or roof: only one limit exists
            continue
        assert band(shell, heights=(float(at), float(at))).area == pytest.approx((above & below).area, abs=NOISE)


# Law 4: volumes add up


@law(plans(), examples=60)
def test_volumes_add_up_part_by_part(plan: Plan) -> None:
    """Void = bare - lining - members + recesses; every part keeps to its own bay. All volumes summed by trimesh."""
    shell = plan.shell

    def liters(solid: Solid) -> float:
        return 0.0 if solid.is_empty else float(as_trimesh(solid).volume) / 1e6

    lining = liters(shell.lined.bare - shell.lined.solid)
    parts = {part.name: liters(shell.solid_of(part.name)) for part in shell.parts}
    assert all(volume > 0 for volume in parts.values())
    given = sum(parts[part.name] for part in shell.parts if part.gives)
    taken = sum(parts[part.name] for part in shell.parts if not part.gives)
    assert liters(shell.void) == pytest.approx(liters(shell.lined.bare) - lining - taken + given, rel=1e-9)
    assert lining >= 0


# Law 5: reach is the boundary


@law(cases, examples=100)
def test_reach_is_the_boundary(case: Case) -> None:
    """A millionth of a millimeter before it the body is inside, a millionth beyond it is not, by the kernel's boolean."""
    plan, body = case
    void = plan.shell.void
    found = _reaches(room_of(plan.shell), [body])
    if found is None:
        reject()
    for direction, distance in found.items():
        axis, sense = DIRECTIONS[direction]
        step = sense * np.eye(3)[axis]
        assert is_free([body.moved(max(0.0, distance - EXACT) * step)], void)
        assert not is_free([body.moved((distance + EXACT) * step)], void)


# Law 6: what is not touched changes nothing


@law(cases, examples=60)
def test_removing_a_member_that_does_not_stop_the_body_changes_nothing(case: Case) -> None:
    plan, body = case
    shell = plan.shell
    for direction in DIRECTIONS:
        try:
            found = reach(shell, [body], direction)
        except InputError:
            reject()
        for part in shell.parts:
            if part.gives or part.name == found.part:
                continue
            again = reach(shell.without(part.name), [body], direction)
            assert again.distance == pytest.approx(found.distance, abs=EXACT)
    assert shell.without() is not None


@law(cases, st.sampled_from(sorted(DIRECTIONS)), examples=60, least=20)
def test_a_part_costs_or_gives_exactly_when_it_stops_the_body_or_lets_it_in(case: Case, direction: str) -> None:
    """Without the member that stops it a body goes further; without a recess it never does."""
    plan, body = case
    shell = plan.shell
    if _reaches(room_of(shell), [body]) is None:
        reject()
    stopped = reach(shell, [body], direction)
    for part in shell.parts:
        changed = _reaches(room_of(shell.without(part.name)), [body])
        if part.gives:
            assert changed is None or changed[direction] <= stopped.distance + EXACT
        elif part.name == stopped.part:
            assert changed is not None
            assert changed[direction] >= stopped.distance - EXACT
    assert replace(plan).shell.void.volume == shell.void.volume
