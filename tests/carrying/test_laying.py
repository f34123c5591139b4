"""Modules that are laid on a side on their way, in vans whose answers are worked by hand, and what is fixed.

The box van is 4000 long and 1600 wide, its roof flat; a doorway in the rear is 900 wide. The box is 500 wide, 600 deep and 1200
high, so that it is 600 high on its back or face and 500 high on its left or right side.
"""

from __future__ import annotations

from itertools import pairwise
from math import hypot
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from tumblehome.carrying import carry, sentences
from tumblehome.carrying.footprint import Body
from tumblehome.carrying.laying import Laying
from tumblehome.errors import InputError
from tumblehome.fitout.module import solid_of
from tumblehome.solids import Solid
from vans import BOX, in_modes, layout, mode, module, near, van

if TYPE_CHECKING:
    from tumblehome.carrying import Carry, Pose
    from tumblehome.fitout import Layout, Module

DIAGONAL = {"back": hypot(600, 1200), "right": hypot(500, 1200)}
HIGH = {"back": 600.0, "face": 600.0, "left": 500.0, "right": 500.0}


def doorway(wide: float = 900.0, high: float = 1000.0) -> str:
    return (
        f'[[doorways]]\nname = "rear doors"\nside = "rear"\nbreadths = [{-wide / 2}, {wide / 2}]\nheights = [0, {high}]'
    )


def roofed(height: float) -> str:
    return f"height, 0, 4000\n0, 800, 800\n{height!r}, 800, 800"


def plan(*others: str, side: str = "back", text: str = BOX, door: str = "", **fields: Any) -> Layout:
    """A box that faces the rear and may be laid on one side, and others."""
    wanted = {"station": 1200, "breadth": -250, "faces": "rear", "lies_on": [side], **fields}
    return layout(van(text, door or doorway()), module("box", 500, 600, 1200, **wanted), *others)


# ---- the doorway ----


@pytest.mark.parametrize("side", ["back", "face", "left", "right"])
@pytest.mark.parametrize("over", [-1.0, 1.0])
def test_a_doorway_that_is_as_high_as_what_lies(side: str, over: float) -> None:
    best = carry(plan(side=side, door=doorway(high=HIGH[side] - over)), "box").ways[-1 if over > 0 else 0]
    assert (best.lying, best.outcome) == (side, "blocked" if over > 0 else "passes")
    assert best.too_tall == near(max(over, 0.0))


@pytest.mark.parametrize(("wide", "outcome"), [(501.0, "passes"), (499.0, "blocked")])
def test_a_doorway_that_is_as_wide_as_what_lies(wide: float, outcome: str) -> None:
    """On its back it is 500 wide and 1200 long; it turns to go through lengthwise. Blocked is proven."""
    ways = {way.lying: way for way in carry(plan(door=doorway(wide)), "box").ways}
    assert ways["back"].outcome == outcome


def test_what_passes_upright_is_not_laid() -> None:
    found = carry(plan(door=doorway(high=1201)), "box")
    assert [way.lying for way in found.ways] == [None]
    assert "It stays upright." in sentences(found)


# ---- tipping ----


@pytest.mark.parametrize("side", ["back", "right"])
@pytest.mark.parametrize("over", [-1.0, 1.0])
def test_a_roof_as_high_as_the_diagonal(side: str, over: float) -> None:
    """Where it is tipped its far corner rises to the diagonal. Below a lower roof no place is proven, and none is claimed."""
    found = carry(plan(side=side, text=roofed(DIAGONAL[side] - over)), "box")
    assert (found.best.lying, found.best.outcome) == (side, "undecided" if over > 0 else "passes")
    assert found.verdict == ("tight" if over > 0 else "clear")
    if over > 0:
        assert any("no place is proven" in words for words in sentences(found))


@pytest.mark.parametrize("over", [-1.0, 1.0])
def test_the_length_that_tipping_takes(over: float) -> None:
    """Between two screens in a van 600 wide it cannot turn; to fall on its back it takes its depth and its height, 600 + 1200.
    It then goes out sideways, by a doorway too low for it upright."""
    narrow = "height, 0, 4000\n0, 300, 300\n1900, 300, 300"
    door = '[[doorways]]\nname = "side door"\nside = "right"\nstations = [1200, 2700]\nheights = [0, 700]'
    screens = [
        module(n, 598, 50, 1899, station=s, breadth=-299, faces="front") for n, s in (("s", 1000), ("t", 2850 - over))
    ]
    found = carry(plan(*screens, text=narrow, door=door, station=1060, faces="front"), "box")
    assert {way.lying: way.outcome for way in found.ways}["back"] == ("blocked" if over > 0 else "passes")


def test_where_it_is_tipped_is_told() -> None:
    found = carry(plan(side="right"), "box")
    told = " ".join(sentences(found))
    assert "laid on its right side, comes out by the rear doors" in told
    assert "tipped onto its right side there" in told


def test_no_way_lying_either_is_proven_and_said() -> None:
    """A screen as high as the van leaves 450 at its side: too little for 500, standing or lying."""
    screen = module("screen", 1148, 50, 1899, station=2500, breadth=-799, faces="front")
    found = carry(plan(screen), "box")
    assert found.verdict == "fouls"
    assert {way.outcome for way in found.ways} == {"blocked"}
    assert any("none either if it is laid on its back" in words for words in sentences(found))


def test_low_things_are_carried_over_lying_too() -> None:
    tray = module("tray", 1598, 100, 60, station=3890, breadth=-799, faces="front")
    found = carry(plan(tray, door=doorway(high=681)), "box")
    assert found.best.outcome == "passes"
    assert carry(plan(tray, door=doorway(high=679)), "box").best.outcome == "blocked"
    assert any("foot at 80 mm" in words for words in sentences(found))


def test_a_mirrored_van_has_the_same_answer_on_the_other_side() -> None:
    shelf = {"wide": 600, "deep": 300, "high": 100, "station": 2000, "hung": 900}
    here = carry(plan(module("shelf", against="left", **shelf), side="left", breadth=-350), "box").best
    there = carry(plan(module("shelf", against="right", **shelf), side="right", breadth=-150), "box").best
    assert (here.outcome, there.outcome) == ("passes", "passes")
    assert here.spare == pytest.approx(there.spare, abs=1.0)


def test_a_stack_lies_as_its_boxes_lie() -> None:
    """A column 200 x 200 x 1100 at the back of a foot 500 x 600 x 100: on its back the foot stands up 600 high, and the column
    is 200 high behind it."""
    boxes = [
        {"wide": 500, "deep": 600, "high": 100}, {"wide": 200, "deep": 200, "high": 1100, "up": 100, "fore": 400, "left": 150},
    ]  # fmt: skip
    stack = layout(
        van(BOX, doorway()), module("m", None, None, None, boxes=boxes, station=1200, breadth=-250, faces="front")
    )
    one = stack.module("m")
    lying = Laying(one, "back", Body.of_prisms(one.hull), 1900.0).lying
    assert sorted(lying.heights) == [near((0.0, 200.0)), near((0.0, 600.0))]
    assert sorted(float(np.prod(np.ptp(part.outline, axis=0))) for part in lying.parts) == near([500 * 100, 200 * 1100])


# ---- the solid kernel as a witness ----


def tipping(one: Module, side: str, angle: float) -> np.ndarray:
    """The affine map of a module tipped by an angle about the lower edge of a side, by the frame that its file tells it."""
    away, right = np.append(one.frame.away, 0.0), np.append(one.frame.right, 0.0)
    way = {"back": away, "face": -away, "right": right, "left": -right}[side]
    axis = np.cross([0.0, 0.0, 1.0], way)
    corners = np.concatenate([np.column_stack([p.outline, np.full(len(p.outline), p.bottom)]) for p in one.hull])
    edge = corners[(corners @ way).argmax()]
    k = np.array([[0, -axis[2], axis[1]], [axis[2], 0, -axis[0]], [-axis[1], axis[0], 0]])
    turn = np.eye(3) + np.sin(angle) * k + (1 - np.cos(angle)) * (k @ k)
    return np.column_stack([turn, edge - turn @ edge])


def moved(solid: Solid, center: Any, pose: Pose) -> Solid:
    c, s = np.cos(pose.angle), np.sin(pose.angle)
    turn = np.array([[c, -s, 0, 0], [s, c, 0, 0], [0, 0, 1, 0]])
    turn[:2, 3] = pose.at - turn[:2, :2] @ center
    return solid.transformed(turn)


def sinks(found: Carry, side: str) -> tuple[float, int, int]:
    """The most that it sinks into anything, mm3: standing, in 90 steps of tipping, lying; and how often it was looked at."""
    path, plan_ = found.best.path, found.layout
    assert path is not None
    one = found.module
    void = plan_.shell.opened("rear doors").void
    for other in plan_.modules:
        void = void if other is one else void - other.solid
    low, high = plan_.shell.lined.bare.bounds
    inside = Solid.box(low - np.array([0, 0, 500]), high + np.array([0, 0, 500]), "inside")
    upright = solid_of(one.hull, "box")
    lying = upright.transformed(tipping(one, side, np.pi / 2))
    centers = [Body.of_prisms(one.hull).center, np.mean([b[:2] for b in lying.bounds], axis=0)]
    laid = path.mover.layers.laid
    solids = [moved((upright, lying)[p.layer in laid], centers[p.layer in laid], p) for p in path.sampled(60.0)]
    tips = [(a, b) for a, b in pairwise(path.poses) if (a.layer in laid) != (b.layer in laid)]
    for a, _ in tips:
        steps = (upright.transformed(tipping(one, side, angle)) for angle in np.linspace(0, np.pi / 2, 90))
        solids += [moved(step, centers[0], a) for step in steps]
    within = [solid & inside for solid in solids]
    return max((w - void).volume for w in within if not w.is_empty), len(tips), len(within)


@pytest.mark.parametrize("side", ["back", "face", "left", "right"])
def test_nothing_sinks_into_anything_on_the_way(side: str) -> None:
    """Past a shelf and a bench, in a van with 30 above the diagonal; touching is allowed to 1e-5 mm, over less than 2 m2."""
    others = (
        module("shelf", 1500, 500, 100, station=900, against="left", hung=1250),
        module("bench", 1500, 300, 500, station=1900, against="right"),
    )
    found = carry(plan(*others, side=side, text=roofed(1372.0), breadth=-300), "box")
    assert (found.best.outcome, found.best.lying) == ("passes", side)
    sunk, tips, poses = sinks(found, side)
    assert sunk < 20.0
    assert tips == 1
    assert poses > 120


def test_the_witness_sees_what_sinks() -> None:
    found = carry(plan(side="back", text=roofed(1372.0)), "box")
    post = module("post", 1598, 100, 800, station=2900, breadth=-799, faces="front")
    object.__setattr__(found, "layout", plan(post, side="back", text=roofed(1372.0)))
    object.__setattr__(found, "module", found.layout.module("box"))
    assert sinks(found, "back")[0] > 1e6


# ---- modes, fixed ones, and what is asked of no boxes ----


def test_what_is_fixed_is_neither_carried_nor_offered() -> None:
    wide, screen = (
        {"station": 1200, "breadth": -250},
        module("screen", 1598, 50, 1000, station=2500, breadth=-799, faces="front"),
    )
    fixed = screen + "\nfixed = true"
    text = van(BOX, doorway(high=1600))
    assert carry(layout(text, module("box", **wide), screen), "box").best.removals == (("screen",),)
    plan_ = layout(text, module("box", **wide), fixed)
    assert carry(plan_, "box").best.removals == ()
    with pytest.raises(InputError, match=r"'screen' is to be carried, but is fixed.*remove 'fixed'"):
        carry(plan_, "screen")
    with pytest.raises(InputError, match="'screen' would be taken out first, but is fixed"):
        carry(plan_, "box", without=["screen"])
    lamp = module("lamp", 50, 50, 50, on="box", station=1300, breadth=-50, fixed=True)
    with pytest.raises(InputError, match="'lamp' stands on 'box', but is fixed"):
        carry(layout(text, module("box", **wide), lamp), "box")
    ballast = module("ballast", 50, 50, 50, on="screen", station=2500, breadth=0, faces="front", fixed=True)
    assert carry(layout(text, module("box", **wide), screen, ballast), "box").best.removals == ()


def test_a_module_that_is_stowed_in_a_mode_is_in_nobodys_way_then() -> None:
    screen = module("screen", 1598, 50, 1000, station=2500, breadth=-799, faces="front")
    box = module("box", station=1200, breadth=-250)
    day, night = in_modes(
        van(BOX, doorway(high=1600)), box, screen, mode("day"), mode("night", {"module": "screen", "stowed": True})
    )
    assert carry(day, "box").verdict == "fouls"
    assert carry(night, "box").best.spare == carry(day, "box", without=["screen"]).best.spare
    with pytest.raises(
        InputError, match="'screen' is stowed in mode 'night'; it stands in: day; ask there, with --mode day"
    ):
        carry(night, "screen")


def test_a_prism_that_is_no_box_is_carried_upright_only() -> None:
    wedge = module(
        "wedge", None, None, 1200, outline=[[0, 0], [500, 0], [0, 500]], station=1200, breadth=-250, faces="rear", lies_on=["back"]
    )  # fmt: skip
    found = carry(layout(van(BOX, doorway()), wedge), "wedge")
    assert [way.lying for way in found.ways] == [None]
    assert any("no stack of boxes" in words for words in sentences(found))
