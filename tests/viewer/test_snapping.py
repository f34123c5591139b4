"""Where a dragged module lands, worked out by hand in vans of flat walls."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from desks import desk
from tumblehome.cuts import reach
from tumblehome.errors import InputError
from tumblehome.fitout import Layout
from tumblehome.viewer.editing import Move
from tumblehome.viewer.snapping import snapped
from vans import BOX, LEANING, TAPERED, layout, leaning, member, module, near, plan, recess, shell, van

if TYPE_CHECKING:
    from pathlib import Path

    from tumblehome.viewer.snapping import Snap


def drag(plan_: Layout, name: str, *by: float, within: float = 15, units: str = "mm") -> Snap:
    """Drag a module by a vector."""
    x, y, z = (float(a + b) for a, b in zip(plan_.module(name).bounds[0], by, strict=True))
    return snapped(plan_, name, (x, y, z), within, units)


def test_at_the_wall_it_keeps_its_gap() -> None:
    for gap, words in ((0, "against left wall"), (10, "against left wall, 10 mm gap")):
        own = layout(van(LEANING), module("box", 500, 400, 700, station=1000, breadth=-800, gap=gap))
        for by in (-28, 14):  # in the wall, and short of it
            snap = drag(own, "box", 0, by - 30 + gap + 14, 0, within=30)
            assert snap.at == near([1000, -leaning(700) + gap, 0])
            assert snap.words == words


def test_inches_are_told_in_an_inch_plan() -> None:
    own = layout(van(LEANING), module("box", 500, 400, 700, station=1000, breadth=-800, gap=12.7))
    assert drag(own, "box", 0, -20, 0, units="in").words == 'against left wall, 1/2" gap'


def test_along_a_wall_that_tapers_a_pushed_module_stays_at_it() -> None:
    own = layout(van(TAPERED), module("box", 500, 400, 700, against="right", station=1000))
    assert drag(own, "box", 400, 0, 0, within=25).at == near([1400, 900 - 1900 / 20 - 400, 0])


def test_the_desk_keeps_such_a_module_pushed(tmp_path: Path) -> None:
    bench = desk(tmp_path, plan(module("box", 500, 400, 700, against="right", station=1000, gap=3)), shell=van(TAPERED))
    low = bench.layouts[0].module("box").bounds[0]
    snap = bench.snapped("box", (float(low[0]) + 400, float(low[1]), float(low[2])), within=25, mode=None)
    before = bench.text
    bench.apply(Move("box", *snap.at))
    assert bench.text == before.replace("station = 1000", "station = 1400")


def test_a_neighbor_is_touched_and_faces_are_in_line() -> None:
    modules = (
        module("one", 500, 400, 700, station=1000, breadth=0),
        module("two", 300, 400, 500, station=1500, breadth=40),
    )
    own = layout(van(BOX), *modules)
    snap = drag(own, "two", -93, 5, 0)  # modules face rear: deep along x, wide along y
    assert snap.at == near([1400, 40 + 5, 0])
    assert snap.words == "touching one"
    assert drag(own, "two", -107, 0, 0).at == near([1400, 40, 0])  # from within it, too
    snap = drag(own, "two", -93, -33, 0)
    assert snap.at == near([1400, 0, 0])
    assert snap.words == "touching one; in line with one"
    snap = drag(own, "two", 20, 154, 0)
    assert snap.at == near([1520, 200, 0])  # 200 + 300 is where the other one ends


def test_of_much_in_line_only_the_first_is_named() -> None:
    crates = [module(f"crate {i}", 100, 100, 100, station=400 + 130 * i, breadth=0) for i in range(8)]
    snap = drag(layout(van(BOX), *crates), "crate 7", 40, 6, 0)
    assert snap.at == near([400 + 910 + 40, 0, 0])
    assert snap.words == "in line with crate 0; in line with crate 1; in line with crate 2; and 4 more"


def test_a_place_where_it_is_free_goes_before_a_nearer_one_where_it_is_not() -> None:
    modules = (
        module("one", 500, 400, 700, station=1000, breadth=0),
        module("two", 300, 400, 500, station=1500, breadth=40),
        module("three", 200, 50, 500, station=1388, breadth=-500),
    )
    snap = drag(layout(van(BOX), *modules), "two", -110, 0, 0)
    assert (snap.at, snap.words) == (near([1400, 40, 0]), "touching one")


def test_what_stands_on_it_is_no_neighbor() -> None:
    modules = (
        module("seat", 500, 400, 400, station=1000, breadth=0),
        module("cushion", 500, 400, 80, on="seat", station=1003, breadth=4),
        module("book", 50, 40, 20, on="cushion", station=1003, breadth=4),
    )
    own = layout(van(BOX), *modules)
    snap = drag(own, "seat", 5.3, 6.2, 0)
    assert snap.at == near([1005, 6, 0])
    assert snap.words == ""


def test_a_module_is_centered_in_a_recess_or_put_at_its_edge() -> None:
    deep = recess("window", side="left", depth=60, stations=[1500, 2300], heights=[200, 1500])
    own = layout(van(BOX, deep), module("box", 600, 400, 1000, against="left", station=1000, hung=300))
    for by, station, words in (
        (590, 1600, "centered in window; against window"),
        (508, 1500, "at the edge of window; against window"),
        (708, 1700, "at the edge of window; against window"),
    ):
        snap = drag(own, "box", by, -50, 0)
        assert snap.at == near([station, -860, 300])
        for each in words.split("; "):
            assert each in snap.words


def test_up_and_down_it_stands_on_floor_or_neighbor_only_where_it_is_dragged_so() -> None:
    modules = (
        module("one", 500, 400, 700, station=1000, breadth=0),
        module("two", 300, 400, 500, station=1050, breadth=40, hung=705),
    )
    own = layout(van(BOX), *modules)
    assert drag(own, "two", 3, 0, 0).at[2] == 705
    snap = drag(own, "two", 0, 0, 2)
    assert (snap.at[2], snap.words) == (near(700), "on one")
    assert drag(own, "two", 0, 0, 50).at[2] == 755
    snap = drag(own, "two", 800, 0, -695)
    assert snap.at == near([1850, 40, 0])
    assert "on floor" in snap.words
    snap = drag(own, "two", 0, 0, 1900 - 500 - 705 - 8)
    assert (snap.at[2], snap.words) == (near(1400), "under roof")


def test_members_stop_it_as_walls_do() -> None:
    rib = member("rib", "rib", side="left", depth=50, stations=[1500, 1560], heights=[0, 1900])
    own = layout(van(BOX, rib), module("box", 300, 400, 700, against="left", station=1100))
    snap = drag(own, "box", 95, 0, 0)
    assert snap.at == near([1500 - 300, -800, 0])
    assert "against rib" in snap.words


def test_a_scribed_module_is_drawn_by_its_face() -> None:
    modules = (
        module("galley", 900, None, 800, kind="scribed", face=300, against="left", station=1000),
        module("cupboard", 500, None, 800, kind="scribed", face=350, against="left", station=2200),
    )
    own = layout(van(LEANING), *modules)
    assert drag(own, "cupboard", -293, 2, 0).at == near([1900, -900, 0])  # its face stays; the galley's end is touched
    assert drag(own, "cupboard", 0, 44, 0).at == near([2200, -850, 0])  # its face is in line with the galley's


def test_in_its_parent_it_is_drawn_to_the_inside() -> None:
    modules = (
        module("chest", 900, 600, 600, station=1000, breadth=0, panel=20),
        module("tank", 300, 200, 300, in_="chest", station=1050, breadth=100),
    )
    own = layout(van(BOX), *modules)
    snap = drag(own, "tank", -25, -76, 0)
    assert snap.at == near([1020, 20, 20])
    assert snap.words == "against the inside of chest"


def test_free_it_lands_on_whole_steps() -> None:
    own = layout(van(BOX), module("box", 300, 400, 700, station=1000, breadth=0))
    assert drag(own, "box", 30.3, -40.7, 0).at == (1030, -41, 0)
    x, y, _ = drag(own, "box", 30.3, -40.7, 0, units="in").at
    assert x == near(round(1030.3 / 1.5875) * 1.5875)
    assert y == near(round(-40.7 / 1.5875) * 1.5875)


SHELL = shell(van(LEANING, member("rib", "rib", side="right", depth=40, stations=[1500, 1560], heights=[0, 1800])))


def test_a_free_place_stays_free_and_is_within_reach() -> None:
    """Drawn somewhere from a free place, it lands where `reach` finds it free."""
    counted = []

    @given(
        st.floats(1200, 2500),
        st.floats(-700, 400),
        st.floats(0, 60),
        st.floats(50, 600),
        st.floats(0, 80),
        st.sampled_from(["mm", "in"]),
    )
    def law(x: float, y: float, z: float, wide: float, within: float, units: str) -> None:
        modules = (
            module("box", wide, 300, 500, station=1000, breadth=-100),
            module("other", 400, 400, 900, station=2000, breadth=200),
        )
        own = Layout("plan", SHELL, layout(van(LEANING), *modules).modules)
        snap = snapped(own, "box", (x, y, z), within, units)
        step = {"mm": 1.0, "in": 1.5875}[units]
        box, room = own.module("box"), Layout("alone", SHELL, (own.module("other"),)).room
        if _is_free(SHELL, box.body, np.array([x, y, z]) - box.bounds[0]):  # walls do not change it
            assert (abs(np.array(snap.at) - [x, y, z]) <= max(within, step / 2) + 1e-6).all()
        if snap.words and _is_free(room, box.body, np.array([x, y, z]) - box.bounds[0]):
            counted.append(snap)
            assert _is_free(room, box.body, np.array(snap.at) - box.bounds[0])

    law()
    assert len(counted) > 10


def test_beyond_a_wall_it_stands_at_the_wall() -> None:
    """However far: at walls less its gap, at front, rear, floor and roof touching, in a corner at both."""
    for gap in (0, 10):
        own = layout(van(LEANING), module("box", 500, 400, 700, station=1000, breadth=-100, hung=300, gap=gap))
        out = leaning(1000) - gap
        for by, at, words in (
            ((0, 5000, 0), (1000, out - 500, 300), "right wall"),
            ((0, 700, 0), (1000, out - 500, 300), "right wall"),
            ((0, -1e6, 0), (1000, -out, 300), "left wall"),
            ((9000, 0, 0), (4000 - 400, -100, 300), "rear"),
            ((-1300, 0, 0), (0, -100, 300), "front"),
            ((9000, -5000, 0), (4000 - 400, -out, 300), "left wall"),
            ((0, 0, -2000), (1000, -100, 0), "on floor"),
            ((0, 0, 2000), (1000, -100, 2000 - 700), "under roof"),
            ((0, 2000, -2000), (1000, leaning(700) - gap - 500, 0), "on floor"),
        ):
            snap = drag(own, "box", *by)
            assert snap.at == near(at)
            assert words in snap.words


def test_a_member_holds_it_and_lets_it_stand_on_either_side() -> None:
    rib = member("rib", "rib", side="right", depth=50, stations=[1500, 1560], heights=[0, 1900])
    own = layout(van(BOX, rib), module("box", 500, 400, 700, station=1000, breadth=-100))
    assert drag(own, "box", 400, 5000, 0).at == near([1400, 800 - 50 - 500, 0])
    beside = layout(van(BOX, rib), module("box", 500, 400, 700, station=1000, breadth=290))
    assert drag(beside, "box", 140, 0, 0).at == near([1100, 290, 0])
    assert drag(beside, "box", 420, 0, 0).at == near([1560, 290, 0])
    assert drag(beside, "box", 600, 0, 0).at == near([1600, 290, 0])


def test_a_neighbor_does_not_hold_it() -> None:
    modules = (
        module("box", 500, 400, 700, station=1000, breadth=-700),
        module("other", 400, 400, 900, station=1000, breadth=0),
    )
    own = layout(van(BOX), *modules)
    assert drag(own, "box", 30, 650, 0).at == near([1030, -50, 0])
    assert drag(own, "box", 100, 4000, 0).at == near([1100, 800 - 500, 0])


def test_the_inside_of_its_parent_holds_it() -> None:
    modules = (
        module("chest", 900, 600, 600, station=1000, breadth=0, panel=20),
        module("tank", 300, 200, 300, in_="chest", station=1050, breadth=100),
    )
    snap = drag(layout(van(BOX), *modules), "tank", 3000, -3000, 0)
    assert snap.at == near([1600 - 20 - 200, 20, 20])
    assert snap.words == "against the inside of chest"


def test_along_a_wall_that_tapers_it_is_held_at_it_however_far() -> None:
    for held in ({"against": "right"}, {"breadth": 300}):
        own = layout(van(TAPERED), module("box", 400, 400, 700, station=0, **held))
        low = own.module("box").bounds[0]
        snap = drag(own, "box", 3000, 900 - 20 - 400 - float(low[1]) + 1, 0)
        assert snap.at == near([3000, 900 - 3400 / 20 - 400, 0])


def test_it_stands_at_the_wall_of_where_it_was_drawn_to() -> None:
    """Its station is rounded to whole millimeters; the wall is where it is there."""
    own = layout(van(TAPERED), module("box", 400, 400, 700, station=1000, breadth=0))
    assert drag(own, "box", 730.4, 5000, 0, within=0).at == near([1730, 900 - 2130 / 20 - 400, 0])


def test_beyond_the_front_it_passes_what_stands_out_on_the_way() -> None:
    """A pushed module goes along its wall, and around a pillar in front of which it stood."""
    pillar = member("pillar", "pillar", side="right", depth=50, stations=[500, 560], heights=[0, 1900])
    own = layout(van(BOX, pillar), module("box", 400, 400, 700, against="right", station=1000))
    snap = drag(own, "box", -6000, 0, 0)
    assert snap.at == near([0, 800 - 400, 0])
    assert snap.words == "against front; against right wall"
    assert drag(own, "box", -550, 0, 0).at == near([450, 800 - 50 - 400, 0])


def test_what_fouls_a_wall_is_dragged_out_of_it_step_by_step() -> None:
    own = layout(van(BOX), module("box", 500, 400, 700, station=1000, breadth=500))
    assert drag(own, "box", 0, -50, 0).at == near([1000, 450, 0])
    assert drag(own, "box", 0, 5000, 0).at == near([1000, 300, 0])  # but from outside it is put back


def test_it_lands_free_of_the_walls_wherever_it_is_dragged_to() -> None:
    """Walls, floor, roof and members, by `reach`; along axes on which it was not dragged it keeps its place."""
    alone = layout(van(LEANING), module("box", 400, 300, 500, station=1000, breadth=-100, hung=200, gap=7))
    own, box = Layout("plan", SHELL, alone.modules), alone.module("box")
    held = []

    anywhere = st.tuples(st.floats(-2000, 6000), st.floats(-3000, 3000), st.floats(-1500, 4000))

    @given(anywhere, st.sets(st.integers(0, 2)), st.floats(0, 80))
    def law(to: tuple[float, float, float], still: set[int], within: float) -> None:
        x, y, z = (float(box.bounds[0][axis]) if axis in still else to[axis] for axis in range(3))
        snap = snapped(own, "box", (x, y, z), within, "mm")
        assert _is_free(SHELL, box.body, np.array(snap.at) - box.bounds[0])
        assert all(snap.at[axis] == (x, y, z)[axis] for axis in still)
        if not _is_free(SHELL, box.body, np.array([x, y, z]) - box.bounds[0]):
            held.append(snap)

    law()
    assert len(held) > 10


def _is_free(room: object, body: object, by: object) -> bool:
    try:
        reach(room, [prism.moved(by) for prism in body], "up")  # type: ignore[arg-type, attr-defined]
    except InputError:
        return False
    return True


def test_an_unknown_module_is_refused(tmp_path: Path) -> None:
    bench = desk(tmp_path)
    for name, mode in (("nobody", None), ("lamp", "night"), ("box", "noon")):
        with pytest.raises(InputError):
            bench.snapped(name, (0.0, 0.0, 0.0), within=10, mode=mode)
