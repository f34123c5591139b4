"""The pictures of carrying: what they draw is what was found, to scale, with all their words."""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING, Literal
from xml.etree import ElementTree as ET

import pytest
import shapely

import tumblehome as th
from tumblehome.carrying import Carry, carry
from tumblehome.drawing import to_svg
from tumblehome.drawing.carry_drawing import draw_carry
from tumblehome.drawing.compose import compose
from tumblehome.drawing.model import Area, Dimension, VerdictMark
from tumblehome.drawing.model import Path as Line
from tumblehome.drawing.palette import BODY
from vans import BOX, layout, member, module, recess, van

if TYPE_CHECKING:
    from tumblehome.drawing.model import Drawing


def rear_doors(wide: float) -> str:
    return (
        f'[[doorways]]\nname = "rear doors"\nside = "rear"\nbreadths = [{-wide / 2}, {wide / 2}]\nheights = [0, 1600]'
    )


def found(wide: float) -> Carry:
    """A box 500 x 400 and a doorway in the rear of a van 4000 long."""
    bench = module("bench", 900, 300, 400, station=2400, against="left")
    return carry(layout(van(BOX, rear_doors(wide)), module("box", station=1200, breadth=-250), bench), "box")


def areas(drawing: Drawing, layer: str) -> list[shapely.Polygon]:
    return [shapely.Polygon(i.rings[0], i.rings[1:]) for i in drawing.items if isinstance(i, Area) and i.layer == layer]


def test_the_way_out() -> None:
    """Straight back through the doorway, turned square to it: nothing wider than the box's diagonal, 640.3, is swept."""
    one = found(430)
    drawing = draw_carry(one, one.best)
    assert drawing.title == "The way out by the rear doors: box"
    swept = shapely.union_all(areas(drawing, "swept"))
    assert swept.bounds[0] >= 1400 - 641 / 2
    assert swept.bounds[2] >= 4000 + 640.3
    assert swept.bounds[3] - swept.bounds[1] <= 641
    assert swept.intersection(shapely.box(3990, -800, 4010, 800)).bounds[3] <= 215
    (pinch,) = (item for item in drawing.items if isinstance(item, Dimension))
    assert pinch.value == "430"
    assert shapely.Point(pinch.a).distance(shapely.Point(pinch.b)) == pytest.approx(430)
    assert drawing.notes[0].verdict == "clear"
    assert "to spare on every side" in drawing.notes[0].text


def test_no_way_out_shows_the_thing_in_its_own_size_where_it_is_narrowest() -> None:
    one = found(380)
    drawing = draw_carry(one, one.best)
    assert drawing.title == "No way out by the rear doors: box"
    assert not areas(drawing, "swept")
    (outline,) = (i for i in drawing.items if isinstance(i, Line) and i.layer == "accent")
    assert shapely.Polygon(outline.points).area == pytest.approx(500 * 400, rel=0.01)
    assert [item.verdict for item in drawing.items if isinstance(item, VerdictMark)] == ["fouls"]
    assert drawing.notes[0].verdict == "fouls"
    assert "10 mm too big" in drawing.notes[0].text


def test_other_modules_are_drawn_by_what_they_cover_and_those_taken_out_are_dashed() -> None:
    one = found(430)
    (bench,) = areas(draw_carry(one, one.best), "module")
    assert bench.bounds == pytest.approx((2400, -800, 3300, -500), abs=1e-3)
    without = carry(one.layout, "box", without=["bench"])
    drawing = draw_carry(without, without.best)
    assert not areas(drawing, "module")
    dashed = [
        shapely.Polygon(i.points) for i in drawing.items if isinstance(i, Line) and i.layer == "ghost" and i.closed
    ]
    assert any(line.equals_exact(bench, 1e-3, normalize=True) for line in dashed)


def test_members_are_drawn_whole_and_recesses_in_their_color() -> None:
    """A rib all the way up, 30 deep, is cut; a housing 200 high lies below the cut at 350, a bow above the box's top."""
    parts = (
        member("rib", "rib", side="left", stations=[2000, 2050], depth=30),
        member("housing", "housing", side="right", stations=[2500, 3200], height=200, depth=220),
        member("bow", "bow", stations=[1000, 1050], depth=40),
        recess("pocket", side="right", stations=[600, 1400], heights=[100, 900], depth=50),
        rear_doors(900),
    )
    one = carry(layout(van(BOX, *parts, lining=60), module("box", station=1200, breadth=-250)), "box")
    drawing = draw_carry(one, one.best)
    rib, housing = sorted(areas(drawing, "member"), key=lambda area: area.area)
    assert rib.equals_exact(shapely.box(2000, -740, 2050, -710), 1e-3, normalize=True)
    assert housing.equals_exact(shapely.box(2500, 520, 3200, 740), 1e-3, normalize=True)
    (pocket,) = areas(drawing, "recess")
    assert pocket.symmetric_difference(shapely.box(600, 740, 1400, 790)).area < 1.0


@pytest.mark.parametrize("units", ["mm", "in"])
def test_the_narrowest_place_is_written_as_its_sentence_says(units: Literal["mm", "in"]) -> None:
    """439.9 is 439 mm and 17 5/16 in rounded down: 17 5/16 in is 439.74 mm, 17 3/8 in is 441.3."""
    one = found(439.9)
    drawing = draw_carry(one, one.best, units)
    (pinch,) = (item for item in drawing.items if isinstance(item, Dimension))
    assert pinch.value == {"mm": "439", "in": '17 5/16"'}[units]
    assert any(f": {pinch.value}" in note.text for note in drawing.notes if "narrowest" in note.text)


def test_names_side_by_side_are_told_apart() -> None:
    """Between two names in one row there is more than a space: 0.32 of the font's height in these letters."""
    for name in ("long-heron", "box-otter"):
        one = carry(th.load_layout(name), "refrigerator")
        boxes = [p.place.box for p in compose(draw_carry(one, one.best)).placed if p.place]
        rows = [(a, b) for a, b in combinations(boxes, 2) if a.top < b.bottom and b.top < a.bottom]
        assert rows
        assert all(max(a.left, b.left) - min(a.right, b.right) > 2 * 0.32 * BODY for a, b in rows)


@pytest.mark.parametrize(
    ("name", "carried", "without"),
    [("long-heron", "refrigerator", []), ("low-plover", "refrigerator", []), ("box-otter", "table", []),
     ("long-heron", "refrigerator", ["wet bath"])],
)  # fmt: skip
def test_the_bundled_layouts_fit_their_sheets_with_all_their_words(name: str, carried: str, without: list[str]) -> None:
    """The writer raises when a label finds no room."""
    one = carry(th.load_layout(name), carried, without=without)
    for way in one.ways:
        for units in ("mm", "in"):
            svg = ET.fromstring(to_svg(draw_carry(one, way, units)))
            words = [element.text or "" for element in svg.iter()]
            assert any(carried in word for word in words)
            assert any(way.doorway.name in word for word in words)
