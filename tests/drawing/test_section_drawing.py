"""Drawings of cuts: what they show is what was cut, where it was cut, and nothing stands on anything else."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from itertools import combinations
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import isotonic_regression

from tumblehome.checks import Finding, check
from tumblehome.cuts import section, width
from tumblehome.drawing import Area, Dimension, Drawing, Path, Text, VerdictMark, to_svg
from tumblehome.drawing.compose import compose
from tumblehome.drawing.model import Label
from tumblehome.drawing.section_drawing import draw_section, standard_drawings
from tumblehome.drawing.sidenotes import spread
from tumblehome.drawing.text import text_width
from tumblehome.errors import InputError
from tumblehome.fitout import load_layout
from tumblehome.lengths import format_length
from vans import BOX, LEANING, layout, leaning, member, module, recess, shell, van

if TYPE_CHECKING:
    from tumblehome.drawing.marks import Word
    from tumblehome.fitout import Layout

SVG = "{http://www.w3.org/2000/svg}"
BUNDLED = ("long-heron", "box-otter", "low-plover")

DOOR = '[[doorways]]\nname = "sliding door"\nside = "right"\nstations = [500, 1500]\nheights = [0, 1500]'
PARTS = (
    member("rib", "rib", side="left", stations=[1000, 1050], heights=[0, 1500], depth=40),
    member("bow", "bow", stations=[1000, 1050], depth=50),
    member("housing", "housing", side="right", stations=[2500, 3300], height=300, depth=200, radius=100),
    recess("window", side="left", stations=[1200, 1800], heights=[700, 1200], depth=30, corner=40, bevel=10),
)
VAN = van(LEANING, *PARTS, DOOR, lining=40, floor=30)


def _furnished(side: str, other: str) -> Layout:
    """Return a plan with a module at either side, the parts of its shell likewise."""
    swap = {"left": side, "right": other}
    text = re.sub(r'"(left|right)"', lambda found: f'"{swap[found[1]]}"', VAN)
    modules = (
        module("tall", 500, 450, 1300, against=side, gap=10, station=1250),
        module("low", 900, 400, 850, against=other, gap=5, station=1300),
    )
    return layout(text, *modules)


def _drawn_area(drawing: Drawing, layer: str) -> float:
    """Return the area of a layer's fillings in mm2 of the van, from the SVG alone: its own scale, shoelaces of its paths."""
    svg = ET.fromstring(to_svg(drawing))
    scale = int(re.search(r"1:(\d+)", svg.findtext(f"{SVG}desc") or "")[1])  # type: ignore[index]
    total = 0.0
    for path in svg.findall(f"{SVG}g[@data-layer='{layer}']/{SVG}path"):
        rings = [
            np.array(re.findall(r"([-\d.e]+),([-\d.e]+)", ring), dtype=float)
            for ring in path.get("d", "").split("M")[1:]
        ]
        x_y = [ring.T for ring in rings]
        areas = [abs(float(x @ np.roll(y, -1) - y @ np.roll(x, -1))) / 2 for x, y in x_y]
        total += 2 * max(areas) - sum(areas)
    return total * scale**2


def _items(drawing: Drawing, kind: type) -> list[Any]:
    return [item for item in drawing.items if isinstance(item, kind)]


def _words(drawing: Drawing) -> list[str]:
    labels = [item.label.name for item in _items(drawing, Area) if isinstance(item.label, Label)]
    return sorted([item.string for item in _items(drawing, Text)] + labels)


def _dimension(drawing: Drawing, meaning: str) -> Dimension:
    found: Dimension
    (found,) = (item for item in _items(drawing, Dimension) if item.meaning.startswith(meaning))
    return found


def _region(drawing: Drawing, layer: str) -> shapely.Geometry:
    polygons = [shapely.Polygon(item.rings[0], item.rings[1:]) for item in _items(drawing, Area) if item.layer == layer]
    return shapely.union_all(polygons)


@pytest.mark.parametrize(
    "cut",
    [{"height": 0.0}, {"height": 900.0}, {"height": 1940.0}, {"station": 0.0}, {"station": 1020.0}, {"station": 1500.0},
     {"station": 2900.0}, {"station": 4000.0}],
    ids=str,
)  # fmt: skip
def test_the_air_that_is_drawn_is_the_void_that_is_cut(cut: dict[str, Any]) -> None:
    """Nine digits of a coordinate leave far less than a millionth of the area."""
    van_ = shell(VAN)
    expected = section(van_, **cut, side="above")
    if expected.is_empty:
        expected = section(van_, **cut, side="below")
    assert expected.area > 1e5
    assert _drawn_area(draw_section(van_, **cut), "air") == pytest.approx(expected.area, rel=1e-6)


def test_the_floor_plan_at_height_0_shows_the_floor() -> None:
    """Closed form: a box 4000 by 1600."""
    assert _drawn_area(draw_section(shell(van(BOX)), height=0.0), "air") == pytest.approx(4000 * 1600, rel=1e-6)


def test_lining_air_and_members_fill_the_bare_body() -> None:
    van_ = shell(van(LEANING, *PARTS, lining=40, floor=30))
    drawing = draw_section(van_, station=1020.0)
    assert {"rib", "bow"} <= set(_words(drawing))
    filled = sum(_region(drawing, layer).area for layer in ("lining", "air", "member"))
    assert filled == pytest.approx(section(van_.lined.bare, station=1020.0).area, rel=1e-6)


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("station", [200.0, 1020.0, 1500.0, 2900.0])
def test_the_width_that_is_written_is_the_width_that_is_computed(station: float, units: str) -> None:
    van_ = shell(VAN)
    at = {"mm": 1200.0, "in": 1219.2}[units]
    found = width(van_, height=at, station=station)
    assert found.left is not None
    assert found.right is not None
    drawn = _dimension(draw_section(van_, station=station, units=units), "width at")  # type: ignore[arg-type]
    assert drawn.value == format_length(found.usable or 0.0, units)
    assert drawn.meaning == f"width at {format_length(at, units)}:"
    assert (drawn.a[0], drawn.b[0]) == (-found.left.half_breadth, found.right.half_breadth)


def test_under_a_low_roof_the_width_is_told_lower() -> None:
    low = shell(van("height, 0, 4000\n0, 800, 800\n1400, 800, 800"))
    assert _dimension(draw_section(low, station=2000.0), "width").meaning == "width at 800:"


@pytest.mark.parametrize(
    "cut", [{"height": 800.0}, {"height": 400.0}, {"station": 1400.0}, {"station": 1690.0}], ids=str
)
def test_a_mirrored_layout_mirrors_the_drawing(cut: dict[str, Any]) -> None:
    one, two = _furnished("left", "right"), _furnished("right", "left")
    here, there = (draw_section(side, **cut, findings=check(side)) for side in (one, two))
    flip = np.array([1.0, -1.0] if "height" in cut else [-1.0, 1.0])
    layers = {item.layer for item in _items(here, Area)}
    assert layers == {item.layer for item in _items(there, Area)}
    assert {"steel", "lining", "air", "module"} <= layers
    for layer in layers - {"person"}:
        mirrored = shapely.transform(_region(here, layer), lambda points: points * flip)
        assert mirrored.symmetric_difference(_region(there, layer)).area < 1.0, layer
    assert _words(here) == _words(there)
    values = [sorted((item.meaning, item.value) for item in _items(drawing, Dimension)) for drawing in (here, there)]
    assert values[0] == values[1]


@pytest.mark.parametrize(
    ("cut", "allowed"),
    [({"station": -1.0}, "0 to 4000"), ({"station": 4000.5}, "0 to 4000"), ({"height": -0.1}, "0 to 1960"),
     ({"height": 2400.0}, "0 to 1960"), ({"height": float("nan")}, "0 to 1960"), ({"station": float("inf")}, "0 to 4000")],
    ids=str,
)  # fmt: skip
def test_a_cut_outside_is_refused_with_the_range(cut: dict[str, Any], allowed: str) -> None:
    van_ = shell(van(LEANING, lining=40))
    with pytest.raises(InputError, match=f"outside the interior of 'test van'; allowed: {re.escape(allowed)}$"):
        draw_section(van_, **cut)


@pytest.mark.parametrize("cut", [{}, {"height": 100.0, "station": 100.0}], ids=["neither", "both"])
def test_exactly_one_cut_is_asked_for(cut: dict[str, Any]) -> None:
    with pytest.raises(InputError, match="one of the two"):
        draw_section(shell(van(BOX)), **cut)


def test_names_are_escaped() -> None:
    name = 'pots & <pans> "x"'
    furnished = layout(van(BOX), module(name, 900, 600, 800, against="left", station=1000))
    text = to_svg(draw_section(furnished, station=1400.0))
    assert "<pans>" not in text
    assert name in {element.text for element in ET.fromstring(text).iter(f"{SVG}text")}


def test_the_aisle_and_the_gaps_have_their_closed_forms() -> None:
    """Half-breadth 800: 500 and a gap of 12 on the left, 300 and a gap of 30 on the right leave 758 between them."""
    furnished = layout(
        van(BOX),
        module("a", 900, 500, 800, against="left", gap=12, station=1000),
        module("b", 900, 300, 900, against="right", gap=30, station=1200),
    )
    cuts: list[dict[str, Any]] = [{"station": 1500.0}, {"height": 500.0}]
    for cut in cuts:
        drawing = draw_section(furnished, **cut)
        assert _dimension(drawing, "aisle").value == "758"
        assert {"gap 12", "gap 30"} <= set(_words(drawing))


def test_the_aisle_is_where_most_modules_face_each_other_and_narrowest_there() -> None:
    """Over 0 to 600 both sides face, 1600 - 400 - 500; above, one module and a wall leave 1200."""
    furnished = layout(
        van(BOX),
        module("a", 900, 400, 1500, against="left", station=1000),
        module("b", 900, 500, 600, against="right", station=1000),
    )
    found = _dimension(draw_section(furnished, station=1400.0), "aisle")
    assert found.value == "700"
    assert 0 < found.a[1] < 600
    assert (found.a[0], found.b[0]) == (-400.0, 300.0)


def test_a_narrower_place_that_one_module_faces_is_not_the_aisle() -> None:
    """Low down two boxes leave 1600 - 300 - 300; higher up one cabinet and the wall leave 1600 - 700."""
    furnished = layout(
        van(BOX),
        module("a", 900, 300, 600, against="left", station=1000),
        module("b", 900, 300, 600, against="right", station=1000),
        module("c", 900, 700, 300, against="left", station=1000, hung=1400),
    )
    assert _dimension(draw_section(furnished, station=1400.0), "aisle").value == "1000"
    assert not _items(draw_section(furnished, height=1500.0), Dimension)


@pytest.mark.parametrize(
    ("up", "high", "deep", "aisle"),
    [
        (670, 30, 1450, None),  # a table leaf that leaves 150
        (670, 30, 1250, None),
        (670, 30, 790, "510"),
        (670, 30, 1600, None),
        (0, 299, 1500, "1000"),  # over that one steps
        (300, 30, 1450, None),
        (1440, 30, 1450, "1000"),  # above the shoulders
        (1405, 30, 1450, None),
    ],
)
def test_there_is_no_aisle_where_a_module_bars_the_way(up: int, high: int, deep: int, aisle: str | None) -> None:
    """Two cabinets leave 1600 - 300 - 300 between them from 400 on; the bar reaches out from the left wall."""
    furnished = layout(
        van(BOX),
        module("a", 900, 300, 1200, against="left", station=1000, hung=400),
        module("b", 900, 300, 1200, against="right", station=1000, hung=400),
        module("bar", 900, deep, high, station=1000, hung=up, against="left"),
    )
    found = [item for item in _items(draw_section(furnished, station=1400.0), Dimension) if item.meaning == "aisle"]
    assert [item.value for item in found] == ([aisle] if aisle else [])


def test_a_single_module_faces_the_wall_where_that_leans_in_most() -> None:
    """Closed form: the face stands at 400 left of the centerline; at its top, 1500, the wall is 750 from it."""
    furnished = layout(
        van(LEANING), module("a", 900, None, 1500, kind="scribed", face=400, against="left", station=1000)
    )
    found = _dimension(draw_section(furnished, station=1400.0), "aisle")
    assert found.value == format_length(400 + leaning(1500), "mm")


def test_a_person_stands_where_one_fits_and_nowhere_else() -> None:
    """Median statures of ANSUR II (NATICK/TR-15/007) are 1755 and 1626: under 1900 one stands, under 1400 none."""
    tall, low = shell(van(BOX)), shell(van("height, 0, 4000\n0, 800, 800\n1400, 800, 800"))
    assert _region(draw_section(tall, station=2000.0), "person").bounds[3] == pytest.approx(1755.0, abs=0.5)
    assert _region(draw_section(low, station=2000.0), "person").is_empty
    assert _region(draw_section(tall, height=900.0), "person").is_empty


def test_a_doorway_opens_the_wall_that_it_is_in() -> None:
    """Closed form: walls 40 thick with 12 of steel; the door is 1000 long."""
    text = van(BOX, lining=40)
    closed, opened = (draw_section(shell(t), height=900.0) for t in (text, van(BOX, DOOR, lining=40)))
    gone = {layer: _region(closed, layer).difference(_region(opened, layer)) for layer in ("steel", "lining")}
    assert gone["steel"].bounds == pytest.approx((500, 800, 1500, 812), abs=0.01)
    assert gone["lining"].bounds == pytest.approx((500, 760, 1500, 800), abs=0.01)
    assert _region(opened, "air").area == pytest.approx(_region(closed, "air").area, rel=1e-9)
    assert "sliding door" in _words(opened)
    assert "sliding door" not in _words(draw_section(shell(van(BOX, DOOR, lining=40)), height=1600.0))


def test_a_doorway_that_reaches_below_the_floor_opens_the_wall_and_not_the_floor() -> None:
    """A well before the doorway is cut out of a floor of 40; the floor beside it stays, and so does all of it at the rear."""
    well = recess("entry well", kind="well", stations=[1000, 1900], breadths=[500, 760], depth=200)
    side = '[[doorways]]\nname = "side door"\nside = "right"\nstations = [1000, 1900]\nheights = [-100, 1600]'
    rear = '[[doorways]]\nname = "rear doors"\nside = "rear"\nbreadths = [-600, 600]\nheights = [-40, 1600]'
    one = shell(van(BOX, well, side, rear, lining=40, floor=40))
    across = _region(draw_section(one, station=1500.0), "lining")
    assert across.covers(shapely.box(-700, -39, 499, -1))
    assert not across.intersects(shapely.box(761, 1, 799, 1599))
    plan = _region(draw_section(one, height=-20.0), "lining")
    assert plan.covers(shapely.box(1, -759, 3999, 499))
    assert not plan.intersects(shapely.box(1001, 761, 1899, 799))


def test_what_fouls_is_marked_in_cuts_through_it_and_noted_first() -> None:
    furnished = layout(
        van(BOX, member("beam", "bow", stations=[1000, 1050], depth=200)),
        module("tall", 900, 400, 1850, against="left", gap=5, station=800),
        module("low", 900, 400, 600, against="right", station=800),
    )
    findings = check(furnished)
    near, far, beside = (draw_section(furnished, station=at, findings=findings) for at in (1025.0, 1600.0, 1051.0))
    (mark,) = _items(near, VerdictMark)
    assert mark.verdict == "fouls"
    assert shapely.box(-795, 1700, -395, 1850).distance(shapely.Point(mark.at)) < 0.01
    assert not _items(far, VerdictMark)
    assert not _items(beside, VerdictMark)
    for height, marks in ((1699.0, 0), (1701.0, 1), (1849.0, 1)):
        assert len(_items(draw_section(furnished, height=height, findings=findings), VerdictMark)) == marks
    assert near.notes[0].verdict == "fouls"
    assert near.notes[0].text.startswith("tall: into beam")
    hidden = [shapely.Polygon(item.points) for item in _items(near, Path) if item.layer == "ghost"]
    assert any(outline.bounds == pytest.approx((-795, 1700, -395, 1850), abs=0.01) for outline in hidden)


def test_a_zone_that_fouls_is_marked_on_plans_that_hold_both_of_it() -> None:
    """A door 400 high from 100 up swings against a box 300 high: on plans between 100 and 300 the two meet."""
    door = {"name": "door", "kind": "swing", "hinge": "left", "radius": 500, "angle": 90, "up": 100, "high": 400}
    furnished = layout(
        van(BOX),
        module("tall", 500, 400, 1850, against="left", station=800, zones=[door]),
        module("low", 500, 900, 300, against="right", station=800),
    )
    findings = check(furnished)
    assert [f.question for f in findings if f.verdict == "fouls"] == ["door"]
    for height, marks in ((99.0, 0), (101.0, 1), (299.0, 1), (301.0, 0)):
        assert len(_items(draw_section(furnished, height=height, findings=findings), VerdictMark)) == marks
    assert not _items(draw_section(furnished, station=1050.0, findings=findings), VerdictMark)


def test_the_face_of_a_scribed_module_that_fouls_is_outlined_and_cut_through() -> None:
    """Closed form: a face plate of 18 at 400 left of the centerline, the beam from 1700 up; behind it, it is scribed."""
    furnished = layout(
        van(BOX, member("beam", "bow", stations=[1400, 1450], depth=200)),
        module("tall", 900, None, 1850, kind="scribed", face=400, against="left", station=800),
    )
    findings = check(furnished)
    hidden = [item for item in _items(draw_section(furnished, station=1425.0), Path) if item.layer == "ghost"]
    (plate,) = (shapely.Polygon(item.points) for item in hidden)
    assert plate.bounds == pytest.approx((-418, 1700, -400, 1850), abs=0.01)
    assert "section-1420" in standard_drawings(furnished, findings)


def test_notes_are_about_what_is_cut_the_worst_first_and_few() -> None:
    names = [f"box {i}" for i in range(5)]
    furnished = layout(
        van(BOX), *(module(n, 300, 400, 700, against="left", station=400 * i) for i, n in enumerate(names))
    )
    verdicts = ("clear", "tight", "fouls", "clear", "tight")
    findings = [
        Finding(name, question, verdict, value=10.0 * i, cause="wall")  # type: ignore[arg-type]
        for i, (name, verdict) in enumerate(zip(names, verdicts, strict=True))
        for question in ("walls", "neighbors")
    ]
    notes = draw_section(furnished, height=300.0, findings=findings).notes
    assert [note.verdict for note in notes] == ["fouls"] * 2 + ["tight"] * 4
    (_, only) = draw_section(furnished, station=100.0, findings=findings).notes
    assert only.text.startswith("box 0: ")


def test_a_zone_is_outlined_on_plans_that_hold_its_height() -> None:
    zone = '[[modules.zones]]\nname = "pull"\nkind = "box"\nroom = 450\nup = 100\nhigh = 300'
    furnished = layout(van(BOX), module("a", 900, 400, 800, against="left", station=1000) + "\n" + zone)
    (box,) = (item for item in _items(draw_section(furnished, height=200.0), Path) if item.layer == "ghost")
    assert shapely.Polygon(box.points).bounds == pytest.approx((1000, -400, 1900, 50))
    assert not [item for item in _items(draw_section(furnished, height=500.0), Path) if item.layer == "ghost"]


def test_modules_below_a_plan_are_outlined_where_nothing_hides_them() -> None:
    furnished = layout(
        van(BOX),
        module("low", 900, 600, 400, against="left", station=1000),
        module("high", 900, 300, 300, against="left", station=1000, on="low"),
    )
    drawing = draw_section(furnished, height=550.0)
    (low,) = (item for item in _items(drawing, Path) if item.layer == "ghost")
    assert shapely.Polygon(low.points).bounds == pytest.approx((1000, -500, 1900, -200), abs=0.01)
    assert {"low", "high"} <= set(_words(drawing))


def test_what_stands_in_a_module_is_drawn_in_it() -> None:
    furnished = layout(
        van(BOX),
        module("galley", 900, 500, 800, against="left", station=1000),
        module("tank", 300, 200, 300, in_="galley", against="left", station=1200),
    )
    galley, tank = (item for item in _items(draw_section(furnished, height=200.0), Area) if item.layer == "module")
    assert shapely.Polygon(galley.rings[0], galley.rings[1:]).area == pytest.approx(900 * 500 - 300 * 200)
    assert shapely.Polygon(tank.rings[0]).area == pytest.approx(300 * 200)


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("name", BUNDLED)
def test_no_words_of_the_standard_drawings_meet_or_leave_the_sheet(name: str, units: str) -> None:
    furnished = load_layout(name)
    drawings = standard_drawings(furnished, check(furnished), units)  # type: ignore[arg-type]
    assert len(drawings) > 2
    assert sum(key.startswith("plan-") for key in drawings) <= 2
    assert sum(key.startswith("section-") for key in drawings) <= 3
    for drawing in drawings.values():
        composition = compose(drawing)
        boxes = [(word.string, _box(word)) for _, _, words in composition.layers() for word in words]
        assert len(boxes) > 20
        page = shapely.box(0, 0, composition.sheet.width, composition.sheet.height)
        assert [words for words, box in boxes if not page.contains(box)] == []
        touching = [(a, b) for (a, one), (b, two) in combinations(boxes, 2) if one.intersection(two).area > 0.01]
        assert touching == []


def test_sixty_narrow_modules_have_their_names_beside_the_plan() -> None:
    """Ten abreast on both sides, three high: their names need more than a row, and none lies on another or on a line."""
    boxes = [
        module(
            f"drawer number {side} {level} {i}", 190, 400, 300, against=side, station=200 * i, gap=40, hung=320 * level
        )
        for side in ("left", "right")
        for level in range(3)
        for i in range(10)
    ]
    drawing = draw_section(layout(van(BOX), *boxes), height=400.0)
    placed = [p for p in compose(drawing).placed if isinstance(p.item, Text) and p.item.string.startswith("drawer")]
    assert len(placed) == 20
    boxes_of_words = [_box(word) for each in placed for word in each.words]
    assert all(not one.intersects(other) for one, other in combinations(boxes_of_words, 2))
    lines = [shapely.LineString(i.points) for i in _items(drawing, Path) if i.layer == "dimension"]
    sheet = compose(drawing).sheet
    on_paper = [shapely.LineString(sheet.to_paper(np.array(line.coords))) for line in lines]
    assert len(lines) >= 20
    assert not any(line.intersects(box) for line in on_paper for box in boxes_of_words)


def _box(word: Word) -> shapely.Polygon:
    """Return what a line of text covers; DejaVu's letters reach three quarters of the size up and a fifth down."""
    x, y = word.at
    wide = text_width(word.string, word.size, bold=word.bold)
    start = {"start": 0.0, "middle": wide / 2, "end": wide}[word.anchor]
    if word.turned:
        return shapely.box(x - 0.73 * word.size, y + start - wide, x + 0.2 * word.size, y + start)
    return shapely.box(x - start, y - 0.73 * word.size, x - start + wide, y + 0.2 * word.size)


def test_the_standard_drawings_cut_through_what_fouls() -> None:
    furnished = layout(
        van(BOX, member("beam", "bow", stations=[1000, 1050], depth=200)),
        module("tall", 900, 400, 1850, against="left", gap=5, station=800),
    )
    drawings = standard_drawings(furnished, check(furnished))
    near = [drawing for drawing in drawings.values() if _items(drawing, VerdictMark)]
    assert len(near) == 1
    assert 1000 < float(near[0].title.removeprefix("Station ")) < 1050


@given(
    st.lists(st.tuples(st.floats(-1000, 1000), st.floats(1, 200)), min_size=1, max_size=12).map(
        lambda pairs: sorted(pairs, key=lambda pair: pair[0])
    )
)
def test_spread_words_keep_their_order_and_distance_and_move_least(pairs: list[tuple[float, float]]) -> None:
    """Reference: SciPy's isotonic regression of the places less the room before them."""
    wanted, sizes = (np.array(column) for column in zip(*pairs, strict=True))
    found = spread(wanted, sizes)
    assert (np.diff(found) >= (sizes[1:] + sizes[:-1]) / 2 - 1e-6).all()
    offsets = np.concatenate([[0.0], np.cumsum((sizes[1:] + sizes[:-1]) / 2)])
    assert found == pytest.approx(isotonic_regression(wanted - offsets).x + offsets, abs=1e-6)


def test_a_turned_module_is_told_with_its_own_size() -> None:
    """Its box along the van and across it would be 400 (cos 30 + sin 30) = 546.4 each way."""
    seat = module("seat", 400, 400, 450, station=1000, breadth=-200, yaw=30)
    (area,) = [item for item in draw_section(layout(van(BOX), seat), height=300).items if labelled(item, "seat")]
    assert isinstance(area, Area)
    assert area.label is not None
    assert area.label.note == "400 × 400"


def labelled(item: object, name: str) -> bool:
    return isinstance(item, Area) and item.label is not None and item.label.name == name


def test_a_standard_section_runs_along_no_face_of_a_module() -> None:
    """The middle of the refrigerator is where the tank behind it ends: the section gives way to a whole step beside it."""
    built = layout(
        van(BOX),
        module("refrigerator", 600, 500, 1500, against="left", station=1000),
        module("tank", 300, 300, 400, against="right", station=1300),
        module("tank 2", 300, 300, 400, against="right", station=1000),
    )
    cuts = [int(name.split("-")[1]) for name in standard_drawings(built, check(built)) if name.startswith("section")]
    assert any(1000 < cut < 1600 for cut in cuts)
    assert not {1000, 1300, 1600} & set(cuts)
