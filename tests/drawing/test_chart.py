"""The chart of usable width: its lines lie where the width is what they say, on the van's own profile."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely

from tumblehome.body.shellfile import load_shell
from tumblehome.cuts import width, width_chart
from tumblehome.drawing import Area, Drawing, Path, Text, to_svg
from tumblehome.drawing.chart import draw_width_chart
from tumblehome.drawing.model import Label
from tumblehome.errors import InputError
from vans import BOX, LEANING, layout, leaning, member, module, near, recess, shell, van

if TYPE_CHECKING:
    from tumblehome.body import Shell

SVG = "{http://www.w3.org/2000/svg}"


def _chart(van_: Shell, units: str = "mm", fineness: float = 20.0) -> Drawing:
    grid = [np.linspace(low, high, int((high - low) / fineness) + 1) for low, high in (van_.heights, van_.stations)]
    return draw_width_chart(width_chart(van_, *grid), van_, units=units)  # type: ignore[arg-type]


def _lines(drawing: Drawing) -> list[np.ndarray]:
    return [np.asarray(item.points) for item in drawing.items if isinstance(item, Path) and item.layer == "contour"]


def _values(drawing: Drawing) -> list[Text]:
    return [item for item in drawing.items if isinstance(item, Text) and item.layer == "contour"]


def _region(drawing: Drawing, layer: str) -> shapely.Geometry:
    areas = (item for item in drawing.items if isinstance(item, Area) and item.layer == layer)
    return shapely.union_all([shapely.Polygon(item.rings[0], item.rings[1:]) for item in areas])


def _names(drawing: Drawing) -> set[str]:
    labels = (item.label for item in drawing.items if isinstance(item, Area))
    return {label.name for label in labels if isinstance(label, Label)} | {
        item.string for item in drawing.items if isinstance(item, Text) and item.layer != "contour"
    }


@pytest.mark.parametrize(("units", "step"), [("mm", 50.0), ("in", 50.8)])
def test_lines_lie_at_the_heights_of_their_widths(units: str, step: float) -> None:
    """Closed form: the leaning van is 1800 - z / 5 wide, 400 less at the top. A line may be off by 0.5 mm of height."""
    lines = _lines(_chart(shell(van(LEANING)), units))
    levels = sorted({round(1800 - float(line[:, 1].mean()) / 5, 1) for line in lines})
    expected = [n * step for n in range(100) if 1400 < n * step < 1800]  # none along floor and roof themselves
    assert levels == pytest.approx(expected, abs=0.1 + 0.5 / 5)
    assert all(np.ptp(line[:, 1]) < 1.0 for line in lines)
    assert all(np.ptp(line[:, 0]) > 3900 for line in lines)


def test_where_the_width_stays_at_a_value_its_line_runs_along_the_edge() -> None:
    """Closed form: 1600 wide up to 900, from there on 2 mm less for every 10 of height."""
    lines = _lines(_chart(shell(van("height, 0, 4000\n0, 800, 800\n900, 800, 800\n1900, 700, 700"))))
    heights = [float(line[:, 1].mean()) for line in lines]
    assert min(heights) == pytest.approx(900, abs=0.5)
    assert {round(1600 - max(z - 900, 0) / 5) for z in heights} == {*range(1425, 1601, 25)}


def test_values_stand_on_lines_of_their_width() -> None:
    values = _values(_chart(shell(van(LEANING))))
    assert len(values) > 5
    for value in values:
        assert 2 * leaning(value.at[1]) == pytest.approx(float(value.string), abs=0.2)


@pytest.mark.parametrize("name", ["long-heron", "box-otter", "low-plover"])
def test_along_every_line_the_width_is_a_whole_step(name: str) -> None:
    """Against the exact width, below the turn of the roof, where the walls run straight over the chart's 20 mm.

    A line is drawn to 0.5 mm, which there is less than 1 mm of width.
    """
    van_ = load_shell(name)
    lines = [line for line in _lines(_chart(van_)) if line[:, 1].max() < 0.7 * van_.heights[1]]
    rng = np.random.default_rng(3)
    off = []
    for line in (lines[i] for i in rng.choice(len(lines), 8, replace=False)):
        x, z = line[len(line) // 2 - 1 : len(line) // 2 + 1].mean(axis=0)
        found = width(van_, height=float(z), station=float(x)).usable
        assert found is not None
        off.append(abs(found - 25 * round(found / 25)))
    assert np.median(off) < 1.0
    assert max(off) < 10.0


def test_the_air_is_the_profile_at_the_centerline() -> None:
    """Closed form: 4000 by 1900 less a bow of 50 by 100, from the SVG alone."""
    drawing = _chart(shell(van(BOX, member("bow", "bow", stations=[1000, 1050], depth=100))))
    svg = ET.fromstring(to_svg(drawing))
    scale = int(re.search(r"1:(\d+)", svg.findtext(f"{SVG}desc") or "")[1])  # type: ignore[index]
    (path,) = svg.findall(f"{SVG}g[@data-layer='air']/{SVG}path")
    x, y = np.array(re.findall(r"([-\d.e]+),([-\d.e]+)", path.get("d", "")), dtype=float).T
    area = abs(float(x @ np.roll(y, -1) - y @ np.roll(x, -1))) / 2 * scale**2
    assert area == pytest.approx(4000 * 1900 - 50 * 100, rel=1e-6)


def test_parts_are_shown_from_the_side_with_their_names() -> None:
    drawing = _chart(
        shell(
            van(
                BOX,
                member("rib left", "rib", side="left", stations=[1000, 1050], heights=[0, 1500], depth=40),
                member("rib right", "rib", side="right", stations=[1000, 1050], heights=[0, 1500], depth=40),
                member("step", "block", stations=[3000, 3400], breadths=[-800, -500], heights=[0, 300]),
                recess("window", side="left", stations=[1500, 2500], heights=[700, 1200], depth=30),
                lining=40,
            )
        )
    )
    assert _region(drawing, "member").area == pytest.approx(50 * 1500 + 400 * 300, rel=1e-6)
    assert _region(drawing, "recess").bounds == pytest.approx((1500, 700, 2500, 1200), abs=0.01)
    assert {"rib left and right", "step", "window"} <= _names(drawing)


def test_lines_keep_off_members() -> None:
    ribs = [
        member(f"rib {i}", "rib", side="left", stations=[500 * i, 500 * i + 200], heights=[0, 1800], depth=40)
        for i in range(1, 7)
    ]
    drawing = _chart(shell(van(LEANING, *ribs)))
    members = _region(drawing, "member")
    assert len(_lines(drawing)) > 20
    assert not any(members.intersects(shapely.LineString(line)) for line in _lines(drawing))


def test_where_the_centerline_is_not_free_there_is_no_air() -> None:
    """Closed form: a bulkhead from 0 to 200 up to 1000."""
    drawing = _chart(shell(van(BOX, member("wall", "bulkhead", station=200, heights=[0, 1000]))))
    assert _region(drawing, "air").area == pytest.approx(4000 * 1900 - 200 * 1000, rel=1e-6)
    assert "wall" in _names(drawing)


def test_mirroring_changes_no_line() -> None:
    def van_(side: str) -> Shell:
        return shell(van(LEANING, member("rib", "rib", side=side, stations=[1000, 1050], heights=[0, 1500], depth=40)))

    one, two = (_lines(_chart(van_(side))) for side in ("left", "right"))
    assert len(one) == len(two) > 5
    for here, there in zip(one, two, strict=True):
        assert here == pytest.approx(there, abs=1e-6)


def test_a_chart_of_one_row_is_refused() -> None:
    van_ = shell(van(BOX))
    with pytest.raises(InputError, match="at least two heights and two stations"):
        draw_width_chart(width_chart(van_, [500.0], [100.0, 200.0]), van_)


def test_a_box_that_is_alike_everywhere_has_no_lines() -> None:
    assert _lines(_chart(shell(van("height, 0, 4000\n0, 811, 811\n1900, 811, 811")))) == []


def test_names_are_escaped() -> None:
    name = "rib <1> & co"
    text = to_svg(
        _chart(shell(van(BOX, member(name, "rib", side="left", stations=[1000, 1050], heights=[0, 1500], depth=40))))
    )
    assert "<1>" not in text
    assert any(name in (element.text or "") for element in ET.fromstring(text).iter(f"{SVG}text"))


def test_what_stands_on_the_centerline_of_a_built_van_is_drawn_and_the_sheet_says_built() -> None:
    """A post about the centerline leaves no width: its outline as seen from the side is drawn in its place, with its name."""
    built = layout(van(BOX), module("post", 300, 400, 900, station=1000, breadth=-150, faces="right"))
    grid = [0.0, 450.0, 900.0, 1350.0], [0.0, 900.0, 1150.0, 1400.0, 2000.0]
    drawing = draw_width_chart(width_chart(built, *grid), built)
    (post,) = [item for item in drawing.items if isinstance(item, Area) and item.layer == "module"]
    assert np.ptp(post.rings[0], axis=0) == near((300, 900))
    assert post.label is not None
    assert post.label.name == "post"
    assert "built" in drawing.title
    assert built.name in drawing.subtitle
