"""Facts of the trade as fixtures. Each is common practice, no published source, unless it says otherwise."""

from __future__ import annotations

import pytest

from tumblehome.checks import check, worst
from tumblehome.cuts import width
from vans import layout, module, near, van

INCH = 25.4  # mm: NIST Handbook 44, Appendix C

SEVENTY = "height, 0, 160\n0, 35, 35\n74, 35, 35"
"""A body 70 in wide, 74 in high and 160 in long, upright walls, in inches."""


def verdict(*modules: str, unit: str = "in") -> str:
    text = van(SEVENTY, measured_to=0.125).replace('unit = "mm"', 'unit = "in"')
    return str(worst(check(layout(text, *modules, unit=unit))))


def test_a_mattress_of_60_inches_leaves_5_on_each_side_of_70() -> None:
    """Common practice, no published source: at a height where the body is 70 in wide; queen, 60 x 80 in: trade tables."""
    text = van(SEVENTY, measured_to=0.125).replace('unit = "mm"', 'unit = "in"')
    one = layout(text, module("mattress", 60, 80, 10, hung=24, station=40, breadth=-30, finish="mattress"), unit="in")
    assert width(one.shell, height=24 * INCH, station=80 * INCH).usable == pytest.approx(70 * INCH)
    low, high = one.modules[0].bounds
    assert (low[1] + 35 * INCH, 35 * INCH - high[1]) == pytest.approx((5 * INCH, 5 * INCH))
    (walls,) = [f for f in check(one) if f.question == "walls"]
    assert (walls.verdict, walls.value) == ("clear", near(5 * INCH))
    assert walls.words("in").startswith('5" to')


def test_a_wet_bath_of_38_by_42_inches_net_stands_between_its_panels() -> None:
    """Common practice, no published source. Panels of 3/4 in on three sides and over it make it 39 1/2 x 43 1/2 outside."""
    bath = module("bath", 43.5, 39.5, 73, against="left", station=10, panel="3/4")
    for wide, deep, told in ((42, 38, False), (42.125, 38, True), (42, 38.125, True)):
        tray = module("tray", wide, deep, 4, in_="bath", station=10.75, breadth=-34.25, faces="right")
        assert (verdict(bath, tray) == "fouls") is told


@pytest.mark.parametrize(("wide", "fouls"), [(15, False), ("15 1/16", True)])
def test_a_base_cabinet_of_16_inches_holds_drawers_of_15(wide: float | str, fouls: bool) -> None:
    """Common practice, no published source: panels of 1/2 in."""
    base = module("base", 16, 22, 34, against="left", station=40, panel="1/2")
    drawer = module("drawer", wide, 20, 6, in_="base", against="left", station=40.5)
    assert (verdict(base, drawer) == "fouls") is fouls


def test_a_counter_stands_at_36_inches() -> None:
    """Common practice, no published source: a cabinet of 34 1/2 and a top of 1 1/2, and a pot of 10 on it to 46."""
    text = van(SEVENTY, measured_to=0.125).replace('unit = "mm"', 'unit = "in"')
    base = module("base", 40, 22, 34.5, against="right", station=40)
    top = module("top", 40, 24, 1.5, on="base", against="right", station=40)
    pot = module("pot", 10, 10, 10, on="top", station=50, breadth=15)
    one = layout(text, base, top, pot, unit="in")
    assert [m.bounds[1][2] / INCH for m in one.modules] == pytest.approx([34.5, 36, 46])
    assert worst(check(one)) == "clear"


@pytest.mark.parametrize(("seat", "told"), [(24, "clear"), ("23 15/16", "fouls")])
def test_patio_cushions_of_24_inches_fit_a_seat_of_24(seat: float | str, told: str) -> None:
    """Common practice, no published source: two cushions 24 x 24 side by side, between the wall and an upright edge."""
    edge = module("edge", 48, 1, 20, station=40, breadth=0, faces="left")
    bench = module("bench", seat, 48, 16, station=40, breadth=-24, faces="rear")
    cushions = [
        module(f"cushion {i}", 24, 24, 4, on="bench", station=40 + 24 * i, breadth=-24, finish="linen")
        for i in range(2)
    ]
    placed = (edge, bench, *cushions)
    if told == "fouls":
        placed = (edge.replace("breadth = 0", "breadth = -0.0625"), bench, *cushions)
    assert verdict(*placed) == told
