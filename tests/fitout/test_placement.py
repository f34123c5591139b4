"""Where a module comes to stand, for every way to say it.

Every number here is the arithmetic of straight lines: the vans have flat walls whose half-breadth is a formula.
"""

from __future__ import annotations

from math import cos, radians, sin, sqrt
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from vans import BOX, LEANING, ROOFED, TAPERED, layout, leaning, member, module, near, recess, van

if TYPE_CHECKING:
    from tumblehome.fitout import Module

W, D, H = 500.0, 400.0, 700.0
"""Size of the module that the helper writes unless told otherwise, mm."""


def place(van_text: str, *modules: str, **head: Any) -> Module:
    """Return the last of some modules in its place."""
    return layout(van_text, *modules, **head).modules[-1]


def stands(placed: Module, x: tuple[float, float], y: tuple[float, float], z: tuple[float, float]) -> None:
    """Expect the module's bounds, those of its solid the same."""
    low, high = placed.bounds
    assert np.column_stack([low, high]) == near(np.array([x, y, z]))
    assert np.column_stack(placed.solid.bounds) == near(np.array([x, y, z]))


# Pushed to a side


@pytest.mark.parametrize("gap", [0.0, 10.0, 0.5])
@pytest.mark.parametrize("side", ["left", "right", "front", "rear"])
def test_pushed_until_it_touches_less_the_gap(side: str, gap: float) -> None:
    """Wide runs along the wall that it is pushed against, and its back is at that wall."""
    where = {"station": 1000} if side in {"left", "right"} else {"breadth": -100}
    placed = place(van(BOX), module("m", against=side, gap=gap, **where))
    x, y = {
        "left": ((1000, 1000 + W), (-800 + gap, -800 + gap + D)),
        "right": ((1000, 1000 + W), (800 - gap - D, 800 - gap)),
        "front": ((gap, gap + D), (-100, -100 + W)),
        "rear": ((4000 - gap - D, 4000 - gap), (-100, -100 + W)),
    }[side]
    stands(placed, x, y, (0, H))
    towards = {"left": (0, -1), "right": (0, 1), "front": (-1, 0), "rear": (1, 0)}[side]
    assert placed.frame.away == pytest.approx(np.array(towards), abs=1e-12)


def test_lining_moves_the_wall() -> None:
    stands(
        place(van(BOX, lining=40), module("m", against="left", station=1000)),
        (1000, 1000 + W),
        (-760, -760 + D),
        (0, H),
    )


def test_placed_by_station_and_breadth_alone_it_faces_the_rear() -> None:
    placed = place(van(BOX), module("m", station=1000, breadth=-300))
    stands(placed, (1000, 1000 + D), (-300, -300 + W), (0, H))
    assert placed.frame.away == pytest.approx(np.array([-1, 0]))


@pytest.mark.parametrize("faces", ["rear", "front"])
def test_a_face_of_its_own_turns_it_beside_the_wall(faces: str) -> None:
    stands(
        place(van(BOX), module("m", against="left", station=1000, faces=faces)),
        (1000, 1000 + D),
        (-800, -800 + W),
        (0, H),
    )


@given(st.integers(0, 1300), st.integers(10, 700), st.sampled_from(["left", "right"]))
def test_a_leaning_wall_is_met_by_the_top_edge(foot: int, high: int, side: str) -> None:
    placed = place(van(LEANING), module("m", high=high, against=side, station=1000, hung=foot))
    out = leaning(foot + high)
    y = (-out, -out + D) if side == "left" else (out - D, out)
    stands(placed, (1000, 1000 + W), y, (foot, foot + high))


@pytest.mark.parametrize(("station", "out"), [(1000, 770), (1040, 800), (540, 770), (500, 800), (600, 770)])
def test_a_rib_stops_it_only_where_it_stands_before_it(station: float, out: float) -> None:
    """The rib at stations 1000 to 1040 is 30 deep; a module that ends or begins at its edge passes."""
    rib = member("rib", "rib", side="left", stations=[1000, 1040], depth=30)
    stands(
        place(van(BOX, rib), module("m", against="left", station=station)),
        (station, station + W),
        (-out, -out + D),
        (0, H),
    )


def test_a_rib_on_a_leaning_wall_stands_square_to_it() -> None:
    """Depth is square to the wall: along y it is depth x sqrt(1 + 1/10^2)."""
    rib = member("rib", "rib", side="right", stations=[1000, 1040], depth=30)
    placed = place(van(LEANING, rib), module("m", against="right", station=900))
    assert placed.bounds[1][1] == near(leaning(H) - 30 * sqrt(1.01))


@pytest.mark.parametrize("depth", [0, 30])
def test_a_bow_is_met_by_the_top_edge(depth: float) -> None:
    """On a roof that slopes 3 in 5 a bow of depth d takes d x sqrt(3^2 + 5^2) / 3 of the breadth at any height."""
    bow = [member("bow", "bow", stations=[1000, 1040], depth=depth)] if depth else []
    placed = place(van(ROOFED, *bow), module("m", against="left", station=900, hung=900, high=700))
    out = 800 - 100 * 5 / 3 - depth * sqrt(34) / 3
    stands(placed, (900, 900 + W), (-out, -out + D), (900, 1600))


def test_a_tapering_wall_is_met_by_the_rear_corner() -> None:
    placed = place(van(TAPERED), module("m", against="right", station=1000))
    assert placed.bounds[1][1] == near(900 - (1000 + W) / 20)


@pytest.mark.parametrize(
    ("wide", "high", "station", "foot", "out"),
    [
        (600, 700, 1000, 500, 850),  # fits between all four edges exactly
        (601, 700, 1000, 500, 800),  # a millimeter too long
        (600, 701, 1000, 500, 800),  # a millimeter too high
        (600, 700, 999, 500, 800),  # a millimeter too far forward
        (400, 300, 1100, 600, 850),
    ],
)
def test_it_drops_into_a_recess_that_it_fits(wide: float, high: float, station: float, foot: float, out: float) -> None:
    pocket = recess("window", side="left", stations=[1000, 1600], heights=[500, 1200], depth=50)
    placed = place(van(BOX, pocket), module("m", wide=wide, high=high, against="left", station=station, hung=foot))
    stands(placed, (station, station + wide), (-out, -out + D), (foot, foot + high))


# Turned


@given(st.integers(-360, 360), st.sampled_from(["left", "right", "front", "rear"]))
def test_turned_modules_touch_with_a_corner(yaw: int, side: str) -> None:
    """The turned rectangle's extent is wide |cos| + deep |sin| along its face, wide |sin| + deep |cos| across it."""
    c, s = abs(cos(radians(yaw))), abs(sin(radians(yaw)))
    along, across = W * c + D * s, W * s + D * c
    where = {"station": 1000} if side in {"left", "right"} else {"breadth": -300}
    placed = place(van(BOX), module("m", against=side, yaw=yaw, **where))
    x, y = {
        "left": ((1000, 1000 + along), (-800, -800 + across)),
        "right": ((1000, 1000 + along), (800 - across, 800)),
        "front": ((0, across), (-300, -300 + along)),
        "rear": ((4000 - across, 4000), (-300, -300 + along)),
    }[side]
    stands(placed, x, y, (0, H))
    assert placed.solid.volume == pytest.approx(W * D * H, rel=1e-9)


@pytest.mark.parametrize("yaw", [30, 90, 137.5, -20, 270])
def test_turned_on_a_tapering_wall_the_corner_that_meets_it_first_decides(yaw: float) -> None:
    """The gap of a corner (x, y) is 900 - x / 20 - y; pushed out, the least of the four is 0."""
    placed = place(van(TAPERED), module("m", against="right", station=1000, yaw=yaw))
    corners = placed.body[0].outline
    assert corners[:, 0].min() == near(1000)
    assert (900 - corners[:, 0] / 20 - corners[:, 1]).min() == near(0)


@pytest.mark.parametrize("yaw", [30, 90])
def test_turned_on_a_leaning_wall(yaw: float) -> None:
    placed = place(van(LEANING), module("m", against="left", station=1000, yaw=yaw))
    assert placed.bounds[0][1] == near(-leaning(H))


@pytest.mark.parametrize(
    ("faces", "yaw", "same"), [("rear", 90, "right"), ("right", 90, "front"), ("left", -90, "front")]
)
def test_yaw_turns_counterclockwise_seen_from_above(faces: str, yaw: float, same: str) -> None:
    """Seen from above with the front of the van up, right is right: rear turns to right, right to front."""
    turned = place(van(BOX), module("m", station=1000, breadth=0, faces=faces, yaw=yaw))
    plain = place(van(BOX), module("m", station=1000, breadth=0, faces=same))
    assert turned.frame.away == pytest.approx(plain.frame.away, abs=1e-12)
    assert np.concatenate(turned.bounds) == near(np.concatenate(plain.bounds))


# Stacks of boxes and upright prisms


@pytest.mark.parametrize(("upper", "touches"), [(500, 800.0), (380, 800.0), (340, 800.0), (300, 760.0)])
def test_in_a_stack_the_box_that_meets_the_wall_first_decides(upper: float, touches: float) -> None:
    """A foot 400 deep and high meets the wall at 860, an upper box up to 1000 at 800: the upper decides above 340 deep."""
    boxes = [{"wide": 500, "deep": 400, "high": 400}, {"wide": 500, "deep": upper, "high": 600, "up": 400}]
    placed = place(van(LEANING), module("m", None, None, None, boxes=boxes, against="left", station=1000))
    assert placed.body[1].bounds[0][1] == near(-touches if upper >= 340 else -860 + 400 - upper)
    assert placed.solid.volume == pytest.approx(500 * (400 * 400 + upper * 600), rel=1e-9)


def test_boxes_of_a_stack_stand_where_left_fore_and_up_say() -> None:
    """Against the left wall the face looks right: its left end is at the rear, its back at the wall."""
    boxes = [
        {"wide": 500, "deep": 600, "high": 400},
        {"wide": 100, "deep": 80, "high": 300, "left": 50, "fore": 520, "up": 400},
    ]
    placed = place(van(BOX), module("m", None, None, None, boxes=boxes, against="left", station=1000))
    low, high = placed.body[1].bounds
    assert low == near(np.array([1500 - 50 - 100, -800, 400]))
    assert high == near(np.array([1500 - 50, -720, 700]))


def test_prism_stands_with_its_outline_seen_from_the_face() -> None:
    outline = [[0, 0], [900, 0], [900, 600], [300, 600]]
    placed = place(van(BOX), module("m", None, None, 500, outline=outline, against="right", station=1000))
    stands(placed, (1000, 1900), (200, 800), (0, 500))
    assert placed.solid.volume == pytest.approx((900 + 600) / 2 * 600 * 500, rel=1e-9)
    corners = {tuple(np.round(corner, 6)) for prism in placed.body for corner in prism.outline}
    assert corners == {(1000, 200), (1900, 200), (1900, 800), (1300, 800)}


@pytest.mark.parametrize(("depth", "out"), [(80, 800.0), (100, 800.0), (101, 799.0), (120, 780.0)])
def test_prism_with_a_notch_goes_round_a_rib(depth: float, out: float) -> None:
    """A notch 300 wide and 100 deep in its back takes a rib of up to 100; a deeper one meets the notch's floor."""
    outline = [[0, 0], [900, 0], [900, 600], [600, 600], [600, 500], [300, 500], [300, 600], [0, 600]]
    rib = member("rib", "rib", side="left", stations=[1400, 1440], depth=depth)
    placed = place(van(BOX, rib), module("m", None, None, 500, outline=outline, against="left", station=1000))
    stands(placed, (1000, 1900), (-out, -out + 600), (0, 500))
    assert placed.solid.volume == pytest.approx((900 * 600 - 300 * 100) * 500, rel=1e-9)


# What it stands on, hangs at, or is in


def test_on_the_floor_a_step_a_housing_and_a_module() -> None:
    parts = [
        member("front step", "step", stations=[0, 600], height=120),
        member("housing", "housing", side="left", stations=[2600, 3400], height=300, depth=220),
    ]
    text = van(LEANING, *parts)
    case: dict[str, Any] = {"against": "right", "station": 50}
    assert place(text, module("m", **case, on="floor")).bounds[0][2] == 0
    stands(place(text, module("m", **case, on="front step")), (50, 550), (leaning(820) - D, leaning(820)), (120, 820))
    stands(
        place(text, module("m", against="left", station=2700, on="housing")),
        (2700, 3200),
        (-leaning(1000), -leaning(1000) + D),
        (300, 1000),
    )
    placed = place(
        text, module("base", high=900, against="right", station=2000), module("m", high=200, **case, on="base")
    )
    assert placed.bounds[0][2] == near(900)
    assert placed.bounds[1][1] == near(leaning(1100))


def test_what_it_stands_on_may_come_later_in_the_file() -> None:
    one = layout(
        van(BOX), module("pot", on="base", station=0, breadth=0), module("base", high=333, station=0, breadth=0)
    )
    assert [m.name for m in one.modules] == ["pot", "base"]
    assert one.module("pot").bounds[0][2] == near(333)


GALLEY: dict[str, Any] = {
    "wide": 900,
    "deep": 450,
    "high": 900,
    "against": "right",
    "gap": 3,
    "station": 1700,
    "kind": "scribed",
}


@pytest.mark.parametrize(("side", "y"), [("right", (492, 792)), ("left", (370, 670))])
def test_inside_a_galley_it_stands_within_its_panels(side: str, y: tuple[float, float]) -> None:
    """The face of a cabinet 450 deep, 3 off the wall, stands at 347; its back is open to the cut at 797."""
    tank = module("tank", wide=400, deep=300, high=300, in_="galley", against=side, station=1800, gap=5)
    stands(place(van(BOX), module("galley", **GALLEY), tank), (1800, 2200), y, (18, 318))


@pytest.mark.parametrize(("side", "x"), [("front", (1718, 2018)), ("rear", (2282, 2582))])
def test_inside_a_galley_its_ends_are_panels(side: str, x: tuple[float, float]) -> None:
    tank = module("tank", wide=400, deep=300, high=300, in_="galley", against=side, breadth=380)
    stands(place(van(BOX), module("galley", **GALLEY), tank), x, (380, 780), (18, 318))


def test_inside_a_galley_hung_counts_from_the_floor_of_the_van() -> None:
    tank = module("tank", wide=400, deep=300, high=300, in_="galley", hung=500, station=1800, breadth=400)
    stands(place(van(BOX), module("galley", **GALLEY), tank), (1800, 2100), (400, 800), (500, 800))


@pytest.mark.parametrize(
    ("head", "own", "panel"), [({}, {}, 18), ({"panel": 15}, {}, 15), ({"panel": 15}, {"panel": 25}, 25)]
)
def test_panels_are_taken_off_the_inside(head: dict[str, float], own: dict[str, float], panel: float) -> None:
    """A rigid box is closed on all sides; a scribed cabinet's back is the wall. 18 mm: common practice, no published source."""
    rigid = place(van(BOX), module("m", station=0, breadth=0, **own), **head)
    assert rigid.inner is not None
    assert rigid.inner.volume == pytest.approx((W - 2 * panel) * (D - 2 * panel) * (H - 2 * panel), rel=1e-9)
    scribed = place(van(BOX), module("m", **GALLEY, **own), **head)
    assert scribed.inner is not None
    assert scribed.inner.volume == pytest.approx((900 - 2 * panel) * (900 - 2 * panel) * (450 - panel), rel=1e-9)


def test_what_is_thinner_than_its_panels_has_no_inside() -> None:
    assert place(van(BOX), module("board", deep=36, station=0, breadth=0)).inner is None


# Units


def test_every_length_may_name_its_unit() -> None:
    """25.4 mm to the inch: NIST Handbook 44, Appendix C."""
    placed = place(
        van(BOX), module("m", wide="19 3/4 in", deep="1 ft", high="0.7 m", station=10, breadth="-1'"), unit="in"
    )
    stands(placed, (254, 254 + 304.8), (-304.8, -304.8 + 19.75 * 25.4), (0, 700))


def test_what_is_told_about_it_is_kept() -> None:
    """0.45359237 kg to the pound, 3.785411784 L to the gallon: NIST Handbook 44, Appendix C."""
    one = layout(
        van(BOX), module("m", station=0, breadth=0, mass="100 lb", holds="20 gal", contents="water", finish="steel")
    )
    placed = one.module("m")
    assert (placed.mass, placed.holds) == pytest.approx((45.359237, 75.70823568))
    assert (placed.contents, placed.finish, one.mass) == ("water", "steel", placed.mass)
