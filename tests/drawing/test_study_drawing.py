"""The pictures of a study: what they draw and what their texts say are the closed forms of vans of flat faces.

All closed forms are worked here by hand; a module is 500 wide, 400 deep and 700 high, its front end at station 1200.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree as ET

import numpy as np
import pytest
import shapely

import tumblehome as th
from tumblehome.drawing import to_svg
from tumblehome.drawing.model import Area, Dimension, Path, Text
from tumblehome.drawing.study_drawing import draw_alternative, draw_depth_by_height, draw_slide
from tumblehome.errors import InputError
from tumblehome.studies import Study, study
from vans import BOX, EXACT, ROOFED, layout, member, module, recess, van

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tumblehome.drawing.model import Drawing

SIDES = ("left", "right")
DRAWN = (draw_depth_by_height, draw_slide, draw_alternative)
RIB, POCKET = (1000.0, 1050.0), (2000.0, 2600.0)
DEPTH_RIB, DEPTH_POCKET = 30.0, 40.0


def studied(van_text: str, side: str = "left", **fields: Any) -> Study:
    return study(layout(van_text, module("box", station=1200, against=side, **fields)), "box")


def along(side: str) -> Study:
    """A rib and a pocket on an upright wall at 800."""
    parts = (
        member("rib", "rib", side=side, stations=list(RIB), heights=[0, 1900], depth=DEPTH_RIB),
        recess("pocket", side=side, stations=list(POCKET), heights=[0, 900], depth=DEPTH_POCKET),
    )
    return studied(van(BOX, *parts), side)


def texts(drawing: Drawing) -> list[str]:
    """Everything that a client reads in the picture."""
    items = drawing.items
    labels = [f"{i.label.name} {i.label.note}".strip() for i in items if isinstance(i, Area) and i.label]
    words = [i.string for i in items if isinstance(i, (Text, Dimension)) and i.string]
    return [drawing.title, drawing.subtitle, *labels, *words, *(note.text for note in drawing.notes)]


def areas(drawing: Drawing, layer: str) -> list[shapely.Polygon]:
    return [shapely.Polygon(i.rings[0], i.rings[1:]) for i in drawing.items if isinstance(i, Area) and i.layer == layer]


def paths(drawing: Drawing, layer: str) -> list[np.ndarray]:
    return [np.asarray(i.points, dtype=float) for i in drawing.items if isinstance(i, Path) and i.layer == layer]


# ---- by height ----


@pytest.mark.parametrize("side", SIDES)
def test_full_height_of_a_leaning_wall(side: str) -> None:
    """The wall is at 900 - z/15 up to 1500: at 700 at 853.3, at 1500 at 800, so 53.3 more; the aisle was 906.7 - 400 + 800."""
    told = texts(draw_depth_by_height(studied(van(ROOFED), side), "mm"))
    assert "costs 53.3 mm" in told
    assert {"700 mm high", "1500 mm high"} <= set(told)
    assert {"leaves 1306.7 mm of the aisle", "leaves 1253.3 mm of the aisle"} <= set(told)
    inches = texts(draw_depth_by_height(studied(van(ROOFED), side), "in"))
    assert 'costs 2 1/8"' in inches  # 33.6 sixteenths


@pytest.mark.parametrize("side", SIDES)
def test_the_curve_by_height_is_the_wall(side: str) -> None:
    """The curve is drawn so many times as large across as upward: its corners lie at 900 and 800, at heights 0 and 1500."""
    drawing = draw_depth_by_height(studied(van(ROOFED), side), "mm")
    curve = max(paths(drawing, "air"), key=len)
    sign = -1 if side == "left" else 1
    times = sign * curve[np.abs(curve[:, 1]) < EXACT][0, 0] / 900
    assert times == pytest.approx(round(times), abs=1e-6)
    assert times >= 1
    at_1500 = curve[np.abs(curve[:, 1] - 1500) < EXACT]
    assert len(at_1500)
    assert np.allclose(at_1500[:, 0], sign * times * 800, atol=EXACT)


def test_what_is_shown_can_be_limited_and_the_alternative_is_left_out_beyond_it() -> None:
    drawing = draw_depth_by_height(studied(van(ROOFED)), "mm", top=(300.0, 1000.0))
    heights = np.concatenate([area.exterior.coords for area in areas(drawing, "air")])[:, 1]
    assert heights.min() == pytest.approx(300)
    assert heights.max() == pytest.approx(1000)
    assert not any(text.startswith("costs") for text in texts(drawing))


@pytest.mark.parametrize("side", SIDES)
def test_depth_of_a_scribed_cabinet(side: str) -> None:
    """Its face stands at 900 - 400 = 500, its panel is 18: 382 inside at its foot, 853.3 - 518 = 335.3 at its top."""
    scribed = studied(van(ROOFED), side, deep=None, kind="scribed", face=500)
    told = texts(draw_depth_by_height(scribed, "mm"))
    assert {"deep 382 mm", "deep 335.3 mm"} <= set(told)
    assert "run up to 1500 mm: 282 mm" in told  # 800 - 518


# ---- along the wall ----


@pytest.mark.parametrize("side", SIDES)
def test_the_play_in_a_recess(side: str) -> None:
    """600 long less the module's 500."""
    assert "pocket: play 100 mm" in texts(draw_slide(along(side), "mm"))
    assert 'pocket: play 3 15/16"' in texts(draw_slide(along(side), "in"))  # 62.99 sixteenths


@pytest.mark.parametrize("side", SIDES)
def test_colors_tell_what_members_take_and_recesses_give(side: str) -> None:
    """A rib of 50 pushes a module of 500 out over 550 stations by 30; a recess of 600 lets it in over 100 by 40."""
    drawing = draw_slide(along(side), "mm")
    (bump,), (pocket,) = areas(drawing, "member")[:1], areas(drawing, "recess")
    times = (bump.bounds[3] - bump.bounds[1]) / DEPTH_RIB
    assert times == pytest.approx(round(times), abs=1e-3)
    assert bump.bounds[0::2] == pytest.approx((RIB[0] - 500, RIB[1]), abs=1e-3)
    assert pocket.bounds[0::2] == pytest.approx((POCKET[0], POCKET[1] - 500), abs=1e-3)
    assert pocket.bounds[3] - pocket.bounds[1] == pytest.approx(times * DEPTH_POCKET, abs=1e-3)
    assert any(text == "rib" for text in texts(drawing))


@pytest.mark.parametrize("side", SIDES)
def test_today_is_marked_in_the_accent_color(side: str) -> None:
    """At its front end, from the aisle up to its back: at the wall's 800."""
    (mark,) = paths(draw_slide(along(side), "mm"), "accent")
    assert mark[:, 0] == pytest.approx(1200)
    sign = -1 if side == "left" else 1
    ratio = sign * mark[-1, 1] / 800
    assert ratio == pytest.approx(round(ratio), abs=1e-6)


def test_a_place_that_gains_nearby_is_told() -> None:
    """Behind a rib that ends at 1250 the module gains the rib's 30."""
    rib = member("rib", "rib", side="left", stations=[1200, 1250], heights=[0, 1900], depth=30)
    assert "gains 30 mm here" in texts(draw_slide(studied(van(BOX, rib)), "mm"))


def test_a_stretch_that_something_bars_is_told_and_drawn_to_the_edge_of_the_chart() -> None:
    """Seat backs to 400 before a module whose front end is then at 400 at least; nothing is drawn beyond the chart."""
    drawing = draw_slide(studied(van(BOX, member("seats", "bulkhead", station=400, heights=[0, 1100]))), "mm")
    assert any(text == "seats: barred" for text in texts(drawing))
    (bar,) = areas(drawing, "member")[:1]
    (low, _), (high, _) = areas(drawing, "air")[0].bounds[:2], areas(drawing, "air")[0].bounds[2:]
    assert bar.bounds[0::2] == pytest.approx((0, 400), abs=1e-3)
    assert (low, high) == pytest.approx((0, 3500), abs=1e-3)


def test_a_block_before_its_face_is_not_drawn_as_a_stop() -> None:
    """Before a module 300 deep at the wall's 800 a block from 100 to 300 counts nowhere."""
    block = member("block", "block", stations=[1300, 1400], breadths=[-300, -100], heights=[0, 500])
    one = studied(van(BOX, block), deep=300)
    for draw in (draw_slide, draw_depth_by_height):
        assert not areas(draw(one, "mm"), "member")


def test_without_members_and_recesses_nothing_is_colored() -> None:
    plain = studied(van(BOX))
    for draw in (draw_slide, draw_depth_by_height):
        assert not areas(draw(plain, "mm"), "member")
        assert not areas(draw(plain, "mm"), "recess")


# ---- the alternative ----


@pytest.mark.parametrize("side", SIDES)
def test_the_alternative_stands_further_out_by_its_cost(side: str) -> None:
    """The dashed outline reaches to 1500 with its back at 800 and its face 400 before it; the accent one is the module."""
    drawing = draw_alternative(studied(van(ROOFED), side), "mm")
    (ghost,), (today,) = paths(drawing, "ghost"), paths(drawing, "accent")
    sign = -1 if side == "left" else 1
    across, tall = sorted(sign * ghost[:, 0]), sorted(ghost[:, 1])
    assert (across[0], across[-1], tall[0], tall[-1]) == pytest.approx((400, 800, 0, 1500), abs=1e-3)
    face, back = np.sort(sign * today[:, 0])[[0, -1]]
    assert (face, back) == pytest.approx((500 - 700 / 15, 900 - 700 / 15), abs=1e-3)
    assert "costs 53.3" in texts(drawing)


def test_what_stands_in_its_way_is_told() -> None:
    shelf = module("shelf", 500, 300, 200, station=1200, against="left", hung=1000)
    both = layout(van(ROOFED), module("box", station=1200, against="left"), shelf)
    notes = [note.text for note in draw_alternative(study(both, "box"), "mm").notes]
    assert "In its way, run up: shelf." in notes


def test_what_costs_more_than_is_free_leaves_none_of_it() -> None:
    """It would cost 53.3; what hangs at breadth -433 before its face, at -453.3, leaves 20.3."""
    close = module("close", 500, 300, 300, station=1200, breadth=-433, hung=200)
    both = layout(van(ROOFED), module("box", station=1200, against="left"), close)
    drawn = draw_alternative(study(both, "box"), "mm")
    assert study(both, "box").aisle == pytest.approx(20 + 1 / 3, abs=1e-6)
    assert "leave none of the" in drawn.subtitle
    assert not any("-" in word for word in drawn.subtitle.split() if word[-1:].isdigit())


def test_a_shallow_scribed_bench_is_drawn_up_to_where_its_back_meets_its_face() -> None:
    """The wall is at 900 - z/15, its panel ends at 828: 1080."""
    bench = studied(van(ROOFED), deep=None, high=400, kind="scribed", face=810)
    drawing = draw_alternative(bench, "mm")
    assert drawing.subtitle.startswith(
        "Dashed: 1080 mm high, up to where the left wall meets its face and leaves it no depth."
    )
    outline = np.concatenate(paths(drawing, "ghost"))
    assert outline[:, 1].max() == pytest.approx(1080)
    assert "run up to 1080 mm: no depth left" in texts(draw_depth_by_height(bench, "mm"))


def test_what_cannot_be_run_up_before_the_centerline_is_said_of_a_rigid_one() -> None:
    """760 deep at 853.3: run up it would come 53.3 further out; of its 93.3 that leaves 40. 820 deep it leaves none."""
    assert draw_alternative(studied(van(ROOFED), deep=760), "mm").subtitle.startswith("Dashed: 1500 mm high")
    told = draw_alternative(studied(van(ROOFED), deep=820), "mm").subtitle
    assert told.startswith("No taller one is drawn: run up to 1500 mm, where the roof begins, its face would come over")
    upright = draw_alternative(studied(van(BOX), deep=760), "mm").subtitle
    assert upright.startswith("Dashed: 1900 mm high, it would come no further out.")


@pytest.mark.parametrize("side", SIDES)
def test_the_scale_by_height_counts_from_its_back_as_it_stands(side: str) -> None:
    """With a gap of 10 to a wall at 853.3 its back is at 843.3: there is 0; at 1500 the wall is at 800, and pushes it 53.3 out."""
    drawing = draw_depth_by_height(studied(van(ROOFED), side, gap=10), "mm")
    (body,) = areas(drawing, "accent")
    back = body.bounds[0 if side == "left" else 2]
    zeros = [i for i in drawing.items if isinstance(i, Text) and i.string == "0" and i.at[1] < 0]
    assert [zero.at[0] for zero in zeros] == [pytest.approx(back)]
    assert "Its back stays 10 mm off what stops it." in drawing.subtitle
    assert "costs 53.3 mm" in texts(drawing)
    assert "Without coming further out it can be 700 mm high" not in " ".join(texts(drawing))


def test_stretches_above_its_top_tell_from_which_height_on_they_count() -> None:
    """A rail 40 deep, square to a wall that leans in 1 in 15: it meets the top at 1200."""
    rail = member("rail", "rail", side="left", heights=[1200, 1260], depth=40)
    told = " ".join(texts(draw_depth_by_height(studied(van(ROOFED, rail)), "mm")))
    assert "rail from 1200" in told
    scribed = studied(van(ROOFED, rail), deep=None, kind="scribed", face=500)
    assert "rail from 1200" in " ".join(texts(draw_depth_by_height(scribed, "mm")))


def test_a_module_under_the_roof_is_drawn_as_it_stands() -> None:
    drawing = draw_alternative(studied(van(ROOFED), high=1500), "mm")
    assert not paths(drawing, "ghost")
    assert "no taller alternative" in drawing.subtitle


# ---- all of them ----


def bundled() -> Iterator[tuple[str, str]]:
    for van_name, path in th.bundled_shells().items():
        plan = th.load_layout(path.parent / "layout.toml")
        for each in plan.modules:
            try:
                study(plan, each.name)
            except InputError:
                continue
            yield van_name, each.name


def test_every_module_of_the_bundled_layouts_can_be_drawn() -> None:
    """Each drawing fits its sheet with all its labels: the writer raises when one finds no room."""
    plans = {name: th.load_layout(path.parent / "layout.toml") for name, path in th.bundled_shells().items()}
    cases = list(bundled())
    assert len(cases) > 20
    for number, (van_name, name) in enumerate(cases):
        one = study(plans[van_name], name)
        for draw in DRAWN:
            svg = ET.fromstring(to_svg(draw(one, "in" if number % 2 else "mm")))
            assert any(name in (element.text or "") for element in svg.iter())


def test_a_module_that_fouls_is_drawn_with_the_reason() -> None:
    plan = th.load_layout(th.bundled_shells()["long-heron"].parent / "layout.toml")
    drawing = draw_slide(study(plan, "upper cabinet left"), "mm")
    assert drawing.notes[0].verdict == "fouls"
    assert "bow 2" in drawing.notes[0].text
