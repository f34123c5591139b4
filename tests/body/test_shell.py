"""A shell as its file states it: linings, heights from the bare floor, widths, both sides apart, families of shells."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from references import box_shell, left, right, sides
from strategies import Plan, law, plans
from tumblehome.body.parts import Block, Doorway, Housing, Sheet
from tumblehome.cuts import section, width
from tumblehome.errors import InputError
from tumblehome.solids import Solid
from vans import EXACT, member, recess
from vans import shell as load

if TYPE_CHECKING:
    from tumblehome.body.shell import Shell

HEAD = 'name = "test"\nunit = "mm"\nmeasured_to = 3\n'
ROWS = "height, 0, 1000, 4000\n0, 900, 920, 880\n1000, 850, 870, 830\n1900, 700, 720, 680"


def _van(offsets: str = f'half_breadths = """\n{ROWS}\n"""', *parts: str, head: str = HEAD, lining: str = "") -> Shell:
    return load("\n".join([head, "[offsets]", offsets, f"[lining]\n{lining}", *parts]))


def _bare(height: float, station: float) -> float:
    """The table above, by interpolation along both of its axes; every field of it is flat."""
    foot = np.interp(station, [0, 1000, 4000], [900, 920, 880])
    return float(foot + np.interp(height, [0, 1000, 1900], [0, -50, -200]))


@pytest.mark.parametrize("station", [0, 1, 500, 1000, 2345.6, 4000])
@pytest.mark.parametrize("height", [0, 0.1, 777, 1000, 1899.9, 1900])
def test_a_table_of_offsets_is_its_own_interpolation(station: float, height: float) -> None:
    found = width(_van(), height=height, station=station)
    assert left(found).half_breadth == pytest.approx(_bare(height, station), abs=EXACT)
    assert right(found).half_breadth == pytest.approx(_bare(height, station), abs=EXACT)


def test_full_widths_are_twice_the_half_breadths() -> None:
    doubled = "\n".join(
        line if n == 0 else ", ".join([cells[0], *(str(2 * float(c)) for c in cells[1:])])
        for n, line in enumerate(ROWS.splitlines())
        for cells in [line.split(",")]
    )
    shell = _van(f'widths = """\n{doubled}\n"""')
    assert shell.void.volume == pytest.approx(_van().void.volume, rel=1e-12)
    assert width(shell, height=777, station=500).usable == pytest.approx(2 * _bare(777, 500), abs=EXACT)


def test_left_and_right_may_differ() -> None:
    wider = ROWS.replace("0, 900, 920", "0, 940, 960")
    shell = _van(f'left = """\n{ROWS}\n"""\nright = """\n{wider}\n"""')
    found = width(shell, height=0.0, station=0.0)
    assert left(found).half_breadth == pytest.approx(900, abs=EXACT)
    assert right(found).half_breadth == pytest.approx(940, abs=EXACT)


@pytest.mark.parametrize("height", [0.0, 500.0, 963.0, 1700.0])
def test_heights_from_the_bare_floor_are_lowered_by_its_thickness(height: float) -> None:
    """A builder who measured from the bare floor: what stood at z stands at z - floor; every part likewise."""
    parts = [
        member("rib", "rib", side="left", stations=[2000, 2050], heights=[300, 1200], depth=30),
        member("step", "step", stations=[0, 300], height=150),
        recess("well", kind="well", stations=[2500, 3000], breadths=[200, 600], depth=80),
    ]
    shell = _van(
        f'half_breadths = """\n{ROWS}\n"""', *parts, head=HEAD + 'heights_from = "bare floor"\n', lining="floor = 37"
    )
    assert right(width(shell, height=height, station=1500)).half_breadth == pytest.approx(
        _bare(height + 37, 1500), abs=EXACT
    )
    assert shell.heights == pytest.approx((-117, 1863), abs=EXACT)
    assert shell.solid_of("step").bounds[1][2] == pytest.approx(113, abs=EXACT)
    assert [corner[2] for corner in shell.solid_of("rib").bounds] == pytest.approx([263, 1163], abs=EXACT)
    assert shell.solid_of("well").bounds[0][2] == pytest.approx(-117, abs=EXACT)
    assert section(shell, height=0, side="above").area == pytest.approx(
        section(_van(), height=37).area - 300 * np.mean([2 * _bare(37, x) for x in (0, 300)]), rel=1e-9
    )


def test_heights_from_the_finished_floor_stay_and_the_wall_runs_down_to_the_bare_one() -> None:
    shell = _van(lining="floor = 37")
    assert shell.heights == pytest.approx((0, 1900), abs=EXACT)
    assert width(shell, height=500, station=1500).usable == pytest.approx(2 * _bare(500, 1500), abs=EXACT)
    assert shell.lined.bare.bounds[0][2] == pytest.approx(-37)


def test_the_roof_begins_where_the_file_says() -> None:
    """With roof_from 1000 the upper strip is roof: the walls' lining leaves it alone, a bow hangs from it."""
    table = f'half_breadths = """\n{ROWS}\n"""\n'
    bow = member("bow", "bow", stations=[2000, 2040], depth=50)
    for floor, head in (("", HEAD), ("\nfloor = 25", HEAD), ("\nfloor = 25", HEAD + 'heights_from = "bare floor"\n')):
        down = 25 if "bare" in head else 0
        shell = _van(table + "roof_from = 1000", bow, head=head, lining="walls = 40" + floor)
        angle = np.arctan(150 / 900)
        assert right(width(shell, height=1500 - down, station=3000)).half_breadth == pytest.approx(
            _bare(1500, 3000), abs=EXACT
        )
        assert right(width(shell, height=1500 - down, station=3000)).part == "roof"
        hung = right(width(shell, height=1500 - down, station=2020))
        assert hung.part == "bow"
        assert hung.half_breadth == pytest.approx(_bare(1500, 2020) - 50 / np.cos(angle), abs=EXACT)
        walls = _van(table, lining="walls = 40" + floor, head=head)
        assert right(width(walls, height=1500 - down, station=3000)).half_breadth == pytest.approx(
            _bare(1500, 3000) - 40 / np.cos(angle), abs=EXACT
        )


def test_what_is_wrong_beside_a_part_is_no_part_of_it() -> None:
    """A member without stations runs from end to end; both sides are two."""
    shell = _van(
        f'half_breadths = """\n{ROWS}\n"""', member("rail", "rail", side="both", heights=[1000, 1050], depth=20)
    )
    angle = np.arctan(150 / 900)
    for station in (0.1, 999, 3999.9):
        for limit in sides(width(shell, height=1020, station=station)):
            assert limit.half_breadth == pytest.approx(_bare(1020, station) - 20 / np.cos(angle), abs=EXACT)
            assert limit.part == "rail"


# Families of shells

RIB = Sheet("rib", "rib", 1.0, (1000.0, 1050.0), 40.0, ("left",), False, None)
POST = Block("post", "block", None, (2000.0, 2100.0), (300.0, 500.0), (0.0, 900.0))
HOUSING = Housing("housing", "housing", 5.0, "right", (2200.0, 2800.0), 300.0, 200.0, 0.0, 0.0)
DOORS = (
    Doorway("slide", "right", (300.0, 900.0), (0.0, 1500.0)),
    Doorway("rear", "rear", (-500.0, 500.0), (0.0, 1500.0)),
)


def test_without_and_opened_are_kept_and_independent_of_order() -> None:
    shell = box_shell(RIB, POST, HOUSING, doorways=DOORS)
    assert shell.without("rib") is shell.without("rib")
    assert shell.without("rib").without("post") is shell.without("post", "rib")
    assert shell.opened("slide").without("rib") is shell.without("rib").opened("slide")
    assert shell.without() is shell.without()
    assert [part.name for part in shell.without("post").parts] == ["rib", "housing"]
    assert shell.parts == (RIB, POST, HOUSING)


def test_a_shell_without_all_its_parts_is_its_lined_interior() -> None:
    shell = box_shell(RIB, POST, HOUSING)
    assert shell.without("rib", "post", "housing").void.volume == pytest.approx(shell.lined.solid.volume, rel=1e-12)


@pytest.mark.parametrize(
    ("ask", "words"),
    [
        ("without", "no part 'ribb'; did you mean 'rib'"),
        ("opened", "no doorway 'ribb'"),
        ("solid_of", "did you mean 'rib'"),
        ("part", "did you mean 'rib'"),
    ],
)
def test_an_unknown_name_is_told_with_the_nearest(ask: str, words: str) -> None:
    with pytest.raises(InputError, match=words):
        getattr(box_shell(RIB, doorways=DOORS), ask)("ribb")


def test_tolerances_are_those_of_the_worst_measured_part() -> None:
    shell = box_shell(RIB, POST, HOUSING)
    for names, worst in (
        ([], 3.0),
        (["rib"], 1.0),
        (["post"], 3.0),
        (["rib", "housing"], 5.0),
        (["left wall"], 3.0),
        (["rib", "left wall"], 3.0),
    ):
        assert shell.tolerance_of(names) == worst


def test_a_point_of_the_skin_in_a_doorway_bears_its_name() -> None:
    shell = box_shell(doorways=DOORS)
    for name, point, told in (
        ("right wall", (600, 800, 700), "slide"), ("right wall", (950, 800, 700), "right wall"),
        ("left wall", (600, -800, 700), "left wall"),
        ("right wall", (600, 800, 1501), "right wall"), ("rear", (3000, 0, 700), "rear"), ("rear", (3000, 501, 700), "rear"),
        ("roof", (600, 800, 700), "roof"),
    ):  # fmt: skip
        assert shell.name_at(name, np.array(point, dtype=float)) == told


def test_what_holds_a_point() -> None:
    shell = box_shell(RIB, POST)
    assert shell.what_holds(np.array([2050.0, 400.0, 300.0])) == "post"
    assert shell.what_holds(np.array([1025.0, -780.0, 300.0])) == "rib"
    assert shell.what_holds(np.array([-10.0, 0.0, 300.0])) == "outside the shell"


def test_members_that_leave_nothing_are_told() -> None:
    everything = Block("all", "block", None, (-100.0, 5000.0), (-2000.0, 2000.0), (0.0, 5000.0))
    with pytest.raises(InputError, match="nothing of the interior is left"):
        _ = box_shell(everything).void


@law(plans(), examples=40)
def test_what_a_part_takes_lies_in_the_lined_interior_and_what_it_gives_outside(plan: Plan) -> None:
    """Its own volume is what the shell gains or loses where parts keep apart."""
    shell = plan.shell
    for part in shell.parts:
        solid, lined = shell.solid_of(part.name), shell.lined.solid
        assert not solid.is_empty
        assert (solid & lined if part.gives else solid - lined).volume < 1e-3
        change = shell.void.volume - shell.without(part.name).void.volume
        assert change == pytest.approx(solid.volume if part.gives else -solid.volume, rel=1e-9, abs=1e-2)


@law(plans(), examples=30)
def test_opening_doors_only_adds_what_lies_outside(plan: Plan) -> None:
    shell, opened = plan.shell, plan.shell.opened(*(door.name for door in plan.doorways))
    assert (shell.void - opened.void).volume < 1e-3
    passages = Solid.empty()
    for door in plan.doorways:
        passages = passages | door.passage(shell.lined)
    added = opened.void - shell.void
    assert added.volume > 0
    assert (added - passages).volume < 1e-3
