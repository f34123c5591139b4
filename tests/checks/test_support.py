"""Whether a module stands on what it is said to stand on: how far it would fall is a difference of heights."""

from __future__ import annotations

from typing import Any

import pytest

from tumblehome.checks import Checker, Finding, check
from vans import BOX, LEANING, layout, member, module, near, recess, van

WELL = recess("well", kind="well", stations=[1000, 1600], breadths=[-300, 300], depth=120)
HOUSING = member("housing", "housing", side="right", stations=[2000, 2800], height=300, depth=250)
GALLEY = module("galley", 900, 500, 850, station=100, breadth=-800, faces="right")


def support(*modules: str) -> list[Finding]:
    """Return what is found of the support of the modules."""
    return [f for f in check(layout(van(BOX, WELL, HOUSING), *modules)) if f.question == "support"]


def test_what_stands_beside_its_support_would_fall_to_the_floor() -> None:
    (sink,) = support(GALLEY, module("sink", 300, 300, 150, on="galley", station=1700, breadth=-100))
    assert (sink.subject, sink.verdict, sink.cause, sink.value) == ("sink", "fouls", "floor", near(850))
    assert sink.words("in") == 'stands on nothing: floor is 33 7/16" below it'


@pytest.mark.parametrize("station", [990, 0])
def test_what_reaches_over_its_support_by_an_edge_stands(station: float) -> None:
    """The galley stands at stations 100 to 1000: 10 or 200 mm are on it; a mattress, a worktop and a lid reach over."""
    assert support(GALLEY, module("sink", 300, 300, 150, on="galley", station=station, breadth=-500)) == []


def test_on_the_floor_over_a_well_it_would_fall_into_the_well() -> None:
    (box,) = support(module("box", 300, 300, 400, station=1100, breadth=-150))
    assert (box.cause, box.value) == ("well", near(120))
    assert support(module("box", 300, 300, 400, station=1400, breadth=-150)) == []  # 1400 to 1700: over its edge


def test_in_the_well_it_stands_on_its_bottom() -> None:
    one = layout(van(BOX, WELL), module("box", 300, 300, 400, on="well", station=1100, breadth=-150))
    assert one.module("box").bounds[0][2] == near(-120)
    assert [f for f in check(one) if f.verdict != "clear"] == []


def test_ahead_of_the_housing_it_stands_on_nothing() -> None:
    (box,) = support(module("box", 300, 200, 400, on="housing", station=1500, breadth=600, faces="left"))
    assert (box.cause, box.value) == ("floor", near(300))
    assert support(module("box", 300, 200, 400, on="housing", station=2100, breadth=590, faces="left")) == []


def test_a_scribed_cabinet_whose_face_reaches_over_stands_by_its_back() -> None:
    """The face stands 18 thick before the housing, which carries the rest of it."""
    own: dict[str, Any] = {"kind": "scribed", "face": 520, "against": "right", "on": "housing", "station": 2000}
    assert support(module("cabinet", 600, None, 400, **own)) == []
    shelf = module("shelf", 600, 200, 300, station=2000, breadth=600, faces="left")
    upper = module("upper", 600, None, 400, **{**own, "on": "shelf"})
    assert [f for f in check(layout(van(LEANING), shelf, upper)) if f.question == "support"] == []


def test_when_its_support_is_taken_away_it_is_asked_again() -> None:
    def built(station: float) -> Any:
        lamp = module("lamp", 100, 100, 200, on="galley", station=300, breadth=-700)
        return layout(van(BOX), module("galley", 900, 500, 850, station=station, breadth=-800, faces="right"), lamp)

    checker = Checker()
    for station, without in ((100, []), (1500, ["lamp"]), (100, [])):
        (found,) = checker.check([built(station)])
        assert [f.subject for f in found if f.question == "support"] == without


def test_pushed_inside_a_cabinet_over_a_housing_it_stops_at_the_housing() -> None:
    """The cabinet reaches from its face at 300 to the wall at 800; its housing stands 250 out, to 550."""
    base = module("base", 900, 500, 700, kind="scribed", against="right", station=1950)
    tank = module("tank", 400, 150, 200, in_="base", against="right", station=2200)
    one = layout(van(BOX, HOUSING), base, tank)
    assert one.module("tank").bounds[1][1] == near(550)
    assert [f for f in check(one) if f.verdict == "fouls"] == []
