"""The picture of the aisle: what it draws is what was found, to scale, with all its words."""

from __future__ import annotations

from xml.etree import ElementTree as ET

import pytest
import shapely

import tumblehome as th
from tumblehome.drawing import to_svg
from tumblehome.drawing.aisle_drawing import draw_aisle
from tumblehome.drawing.model import Area, Dimension, Drawing, Path, Text
from tumblehome.people.person import Person
from vans import BOX, layout, member, module, van

SIDE = '[[doorways]]\nname = "side door"\nside = "right"\nstations = [200, 1200]\nheights = [0, 1700]'
LARGE = Person.of(95)


def drawn(free: float) -> Drawing:
    """Two cabinets of 2000 that leave so much between them, and a counter behind."""
    deep = (1600 - free) / 2
    cabinets = [module(f"at the {s}", 2000, deep, 1890, against=s, station=1300) for s in ("left", "right")]
    counter = module("counter", 500, 300, 900, against="left", station=3400, use="counter")
    return draw_aisle(layout(van(BOX, SIDE), *cabinets, counter), LARGE)


def test_the_narrowest_place_has_its_dimension() -> None:
    (pinch,) = (item for item in drawn(600).items if isinstance(item, Dimension))
    assert pinch.value == "600"
    assert shapely.Point(pinch.a).distance(shapely.Point(pinch.b)) == pytest.approx(600)


def test_members_are_drawn_by_what_they_take_between_the_heights_of_the_plan() -> None:
    """A rib 30 deep up to 1000 and a housing 300 high take room between 200 and 1546 or so; a step 150 high does not."""
    parts = (
        member("rib", "rib", side="left", stations=[2000, 2050], heights=[0, 1000], depth=30),
        member("housing", "housing", side="right", stations=[2500, 3200], height=300, depth=220),
        member("step", "step", stations=[0, 300], height=150),
    )
    drawing = draw_aisle(layout(van(BOX, SIDE, *parts), module("box", station=1200, against="left")), LARGE)
    taken = [item.rings[0] for item in drawing.items if isinstance(item, Area) and item.layer == "member"]
    bounds = sorted(shapely.Polygon(ring).bounds for ring in taken)
    assert bounds == [pytest.approx((2000, -800, 2050, -770)), pytest.approx((2500, 580, 3200, 800))]


def test_the_curves_are_the_widths_by_station() -> None:
    """Along the cabinets all of them stand 600 above the base of the chart, elsewhere 1600 or beside the counter 1300."""
    drawing = drawn(600)
    base = min(y for item in drawing.items if isinstance(item, Path) for _, y in item.points)
    for layer in ("ghost", "contour", "accent"):
        lines = [
            item for item in drawing.items if isinstance(item, Path) and item.layer == layer and len(item.points) > 4
        ]
        points = [(x, y - base) for item in lines for x, y in item.points if y < -900]
        between = {round(y, 3) for x, y in points if 1301 < x < 3299}
        ahead = {round(y, 3) for x, y in points if 10 < x < 1299}
        assert not between - {600.0}
        assert not ahead - {1600.0}
        assert {600.0, 1600.0} <= {round(y, 3) for _, y in points}


@pytest.mark.parametrize(("free", "marks"), [(870, 1), (880, 1)])
def test_where_two_pass_is_marked_in_plan_and_chart(free: float, marks: int) -> None:
    """They need 876: between the cabinets they pass, or only ahead of them and behind."""
    drawing = drawn(free)
    boxes = [
        shapely.Polygon(item.rings[0]).bounds
        for item in drawing.items
        if isinstance(item, Area) and item.layer == "recess"
    ]
    spans = {(round(box[0]), round(box[2])) for box in boxes if box[3] < -900}
    assert len(spans) >= marks
    assert spans == ({(0, 4000)} if free == 880 else {(0, 1300), (3300, 4000)})
    assert sum(isinstance(item, Text) and "two pass along" in item.string for item in drawing.items) == len(spans)


@pytest.mark.parametrize("name", ["long-heron", "box-otter", "low-plover"])
def test_the_bundled_layouts_fit_their_sheets_with_all_their_words(name: str) -> None:
    """The writer raises when a label finds no room."""
    for units in ("mm", "in"):
        for plan in th.load_modes(name):
            words = [element.text or "" for element in ET.fromstring(to_svg(draw_aisle(plan, LARGE, units))).iter()]
            assert any(plan.title in word for word in words)
            for label in ("feet", "hips", "shoulders", "station"):
                assert any(label in word for word in words)
