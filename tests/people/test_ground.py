"""The bottleneck of a way: closed forms in corridors, brute-force grids from both sides, and the laws of moving about."""

from __future__ import annotations

import heapq
from dataclasses import dataclass
from math import hypot

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from tumblehome.people.gauge import Gauge, Slab
from tumblehome.people.ground import Floor, Gate, Ground
from vans import BOX, LEANING, layout, module, near, van

SLIM = Gauge("one width", (Slab("body", 200.0, 1500.0, 400.0),), "a made-up one")
STACK = Gauge("two widths", (Slab("low", 0.0, 900.0, 300.0), Slab("high", 900.0, 1500.0, 500.0)), "a made-up one")


def spot(x: float, y: float) -> shapely.Polygon:
    return shapely.box(x - 15, y - 15, x + 15, y + 15)


def box(name: str, x: tuple[float, float], y: tuple[float, float], high: float = 1900, **fields: object) -> str:
    return module(name, x[1] - x[0], y[1] - y[0], high, faces="front", station=x[0], breadth=y[0], **fields)


def way(gauge: Gauge, *modules: str, shell: str = BOX) -> Gate | float | None:
    """How narrow it is from near the front to near the rear, along the middle."""
    floor = Floor(layout(van(shell), *modules), closed=True)
    return Ground(floor, gauge).narrowest(spot(200, 0), spot(3800, 0))


def turned_box(name: str, x: tuple[float, float], y: tuple[float, float], high: float = 1900) -> str:
    """A box whose face looks to the front: its width runs across the van."""
    return module(name, y[1] - y[0], x[1] - x[0], high, faces="front", station=x[0], breadth=y[0])


def test_two_boxes_face_each_other() -> None:
    found = way(SLIM, turned_box("a", (1000, 2000), (-800, -250)), turned_box("b", (1500, 2500), (310, 800)))
    assert isinstance(found, Gate)
    assert found.width == near(560)
    assert found.margin == near(160)
    assert found.parts == ("a", "b")
    assert 1500 <= found.at[0] <= 2000
    assert found.at[1] == near(30)


def test_two_corners_stand_askew() -> None:
    """From corner to corner the way is as wide as the two are apart."""
    found = way(SLIM, turned_box("a", (1000, 1500), (-800, 100)), turned_box("b", (1900, 2500), (0, 800)))
    assert isinstance(found, Gate)
    assert found.width == near(400)  # straight ahead, where their sides overlap
    found = way(SLIM, turned_box("a", (1000, 1500), (-800, -100)), turned_box("b", (1800, 2500), (200, 800)))
    assert isinstance(found, Gate)
    assert found.width == near(hypot(300, 300))


def test_the_widest_of_two_ways_counts() -> None:
    island = turned_box("island", (1500, 2500), (-150, 250))
    found = way(SLIM, island)
    assert isinstance(found, Gate)
    assert found.width == near(650)  # at its left; 550 at its right
    assert found.parts == ("left wall", "island")


@pytest.mark.parametrize("over", [-1.0, 1.0])
def test_a_stack_is_held_by_whichever_width_is_tight(over: float) -> None:
    """Low boxes leave 400 for 300, high ones 590 + over for 500: the lesser of 100 and 90 + over."""
    low = [turned_box("left", (1000, 2000), (-800, -200), 900), turned_box("right", (1000, 2000), (200, 800), 900)]
    high = module("shelf", 1000, 505 - over / 2, 500, against="left", station=1000, hung=900)
    other = module("rack", 1000, 505 - over / 2, 500, against="right", station=1000, hung=900)
    found = way(STACK, *low, high, other)
    assert isinstance(found, Gate)
    assert found.margin == near(min(100, 90 + over))


def test_a_low_and_a_high_thing_together() -> None:
    """Feet keep 150 from what is low at the left, shoulders 250 from what is high at the right: 400 of what is between."""
    low = turned_box("bench", (1000, 2000), (-800, -200), 900)
    high = module("shelf", 1000, 350, 500, against="right", station=1000, hung=900)
    found = way(STACK, low, high)
    assert isinstance(found, Gate)
    assert found.parts == ("bench", "shelf")
    assert found.width == near(650)
    assert found.margin == near(650 - 400)
    assert found.at[1] == near(-200 + 150 + 125)  # what is left over is the same on both sides


def test_what_is_stepped_over_is_no_wall() -> None:
    sill = turned_box("sill", (1500, 1600), (-800, 800), 190)
    assert isinstance(way(SLIM, sill), float)
    assert way(SLIM, turned_box("sill", (1500, 1600), (-800, 800), 210)) is None


def test_a_leaning_wall_counts_where_it_is_nearest() -> None:
    """At 1500 the walls of the leaning van stand 750 from the centerline."""
    found = way(SLIM, turned_box("a", (1000, 2000), (-900 + 190, 150)), shell=LEANING)
    assert isinstance(found, Gate)
    assert found.width == near(600)
    assert found.parts == ("a", "right wall")


def test_no_floor_joins_what_a_bulkhead_parts() -> None:
    assert way(SLIM, turned_box("wall", (1500, 1600), (-800, 800))) is None


# ---- brute force ----


@dataclass(frozen=True)
class Boxes:
    """Boxes on the floor of the box van, each (x, y, wide, deep, high)."""

    each: tuple[tuple[int, int, int, int, int], ...]

    @property
    def modules(self) -> list[str]:
        return [turned_box(f"box {i}", (x, x + a), (y, y + b), h) for i, (x, y, a, b, h) in enumerate(self.each)]

    def clearance(self, gauge: Gauge, at: np.ndarray) -> np.ndarray:
        """What a gauge has to spare at points (n, 2), from the numbers alone; -inf where it is not free."""
        wall = np.minimum.reduce([at[:, 0], 4000 - at[:, 0], at[:, 1] + 800, 800 - at[:, 1]])
        spare = np.full(len(at), np.inf)
        for slab in gauge.slabs:
            nearest = wall.copy()
            for x, y, a, b, h in self.each:
                if h > slab.low:
                    away = np.maximum(np.abs(at - (x + a / 2, y + b / 2)) - (a / 2, b / 2), 0)
                    nearest = np.minimum(nearest, np.hypot(*away.T))
            spare = np.minimum(spare, np.where(nearest > 0, 2 * nearest - slab.width, -np.inf))
        return spare


STEP = 20.0
"""Millimeters from one point of the grid to the next."""
FROM, TO = 500, 3500
"""Stations, mm, before and behind all boxes."""


def on_a_grid(boxes: Boxes, gauge: Gauge) -> float:
    """The bottleneck along the grid's points and their eight neighbors, from near the front to near the rear."""
    xs, ys = np.arange(STEP, 4000, STEP), np.arange(-800 + STEP, 800, STEP)
    at = np.array([(x, y) for x in xs for y in ys])
    spare = boxes.clearance(gauge, at).reshape(len(xs), len(ys))
    start, end = (int(np.abs(xs - x).argmin()) for x in (FROM, TO))
    middle = int(np.abs(ys).argmin())
    best = np.full(spare.shape, -np.inf)
    queue = [(-spare[start, middle], start, middle)]
    while queue:
        known, i, j = heapq.heappop(queue)
        if (i, j) == (end, middle):
            return float(-known)
        if best[i, j] > -np.inf:
            continue
        best[i, j] = -known
        for k in range(max(i - 1, 0), min(i + 2, len(xs))):
            for m in range(max(j - 1, 0), min(j + 2, len(ys))):
                if best[k, m] == -np.inf and spare[k, m] > -np.inf:
                    heapq.heappush(queue, (max(known, -spare[k, m]), k, m))
    return -np.inf


@st.composite
def crowds(draw: st.DrawFn) -> Boxes:
    each = []
    for _ in range(draw(st.integers(2, 8))):
        x, wide = draw(st.integers(1000, 2900)), draw(st.integers(50, 900))
        y, deep = draw(st.integers(-780, 700)), draw(st.integers(50, 900))
        high = draw(st.sampled_from([100, 600, 1200, 1890]))
        each.append((x, y, min(wide, 3000 - x), min(deep, 780 - y), high))
    return Boxes(tuple(each))


@settings(max_examples=150, deadline=None)
@given(boxes=crowds(), gauge=st.sampled_from([SLIM, STACK]))
def test_the_bottleneck_lies_between_the_bounds_of_a_grid(boxes: Boxes, gauge: Gauge) -> None:
    """The clearance changes by at most twice the way: a grid errs by at most its diagonal, and misses what is narrower."""
    widest = 2 * FROM - max(slab.width for slab in gauge.slabs)  # the rear is no gate to who stands before it
    exact = min(margin(Ground(Floor(layout(van(BOX), *boxes.modules), closed=True), gauge)), widest)
    slow = min(on_a_grid(boxes, gauge), widest)
    assert slow <= exact + np.sqrt(2) * STEP
    unseen = 2 * STEP - min(slab.width for slab in gauge.slabs)
    assert exact <= max(slow + np.sqrt(2) * STEP, unseen)


@settings(max_examples=25, deadline=None)
@given(boxes=crowds(), more=st.floats(1, 200))
def test_a_bigger_gauge_never_gets_further(boxes: Boxes, more: float) -> None:
    floor = Floor(layout(van(BOX), *boxes.modules), closed=True)
    wider = Gauge("wider", tuple(Slab(s.name, s.low, s.high, s.width + more) for s in STACK.slabs), STACK.source)
    small, large = (margin(Ground(floor, gauge)) for gauge in (STACK, wider))
    assert large == pytest.approx(small - more, abs=1e-4) or small - more > 500


@settings(max_examples=25, deadline=None)
@given(boxes=crowds())
def test_removing_a_module_never_closes_a_way(boxes: Boxes) -> None:
    plan = layout(van(BOX), *boxes.modules)
    floor = Floor(plan, closed=True)
    whole = margin(Ground(floor, STACK))
    for each in plan.modules:
        assert margin(Ground(floor.without(each.name), STACK)) >= whole - 1e-4


@settings(max_examples=15, deadline=None)
@given(boxes=crowds())
def test_in_the_mirror_the_way_is_as_narrow(boxes: Boxes) -> None:
    swapped = Boxes(tuple((x, -y - deep, wide, deep, high) for x, y, wide, deep, high in boxes.each))
    one, other = (Ground(Floor(layout(van(BOX), *each.modules), closed=True), STACK) for each in (boxes, swapped))
    assert margin(one) == pytest.approx(margin(other), abs=1e-6)


@settings(max_examples=15, deadline=None)
@given(boxes=crowds())
def test_a_way_back_is_the_way_there(boxes: Boxes) -> None:
    ground = Ground(Floor(layout(van(BOX), *boxes.modules), closed=True), STACK)
    assert margin(ground) == pytest.approx(margin(ground, back=True))


def margin(ground: Ground, *, back: bool = False) -> float:
    ends = spot(FROM, 0), spot(TO, 0)
    found = ground.narrowest(*(ends[::-1] if back else ends))
    if found is None:
        return -np.inf
    return found.margin if isinstance(found, Gate) else found
