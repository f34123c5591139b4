"""Gauges against the clauses that they come from, and the rule on a route's pinches one unit either side."""

from __future__ import annotations

import pytest

from tumblehome.errors import InputError
from tumblehome.people.gauge import GAUGES, Gauge, Slab, body, gauge_named, turned
from tumblehome.people.person import Person
from tumblehome.people.profile import Stretch
from tumblehome.people.route import route_faults
from vans import near

INCH = 25.4


def test_the_bus_aisle() -> None:
    """540 CMR 7.05(1): 12 in at the floor and 15 in at the top of the seat backs."""
    low, high = gauge_named("bus-aisle").slabs
    assert (low.low, low.width) == near((0, 12 * INCH))
    assert (high.low, high.width) == near((low.high, 15 * INCH))


@pytest.mark.parametrize(("name", "upper"), [("dual-panel", 1100), ("dual-panel-950", 950), ("dual-panel-850", 850)])
def test_the_dual_panel(name: str, upper: float) -> None:
    """UNECE bus rules, 5.7.1: 400 mm wide by 700 high, above it 550 wide and by class 1100, 950 or 850 high."""
    low, high = gauge_named(name).slabs
    assert (low.low, low.high, low.width) == (0, 700, 400)
    assert (high.low, high.high, high.width) == (700, 700 + upper, 550)


def test_a_body_is_hips_below_shoulders_and_is_thinner_sideways() -> None:
    person = Person.of(95)
    hip, shoulder = body(person).slabs
    assert (hip.width, shoulder.width) == (person.hip_breadth, person.shoulder_breadth)
    assert hip.high == shoulder.low == person.waist_height
    assert shoulder.high == person.shoulder_height
    for facing, aside in zip(body(person).slabs, turned(person).slabs, strict=True):
        assert aside.width < facing.width


def test_every_gauge_names_its_source() -> None:
    assert all(any(word in gauge.source for word in ("CMR", "UNECE", "ADA")) for gauge in GAUGES)


def test_a_gauge_that_is_none_is_refused() -> None:
    with pytest.raises(InputError, match="did you mean 'bus-aisle'"):
        gauge_named("bus aisle")
    with pytest.raises(InputError, match="size of zero"):
        Gauge("thin", (Slab("all", 0.0, 100.0, 0.0),), "nowhere")
    with pytest.raises(InputError, match="size of zero"):
        Gauge("flat", (Slab("all", 100.0, 100.0, 10.0),), "nowhere")


def along(*widths: tuple[float, float]) -> list[Stretch]:
    """Stretches one after another, each (length, width) in inches, from a station of 1000 mm on."""
    stretches, at = [], 1000.0
    for long, wide in widths:
        end = at + long * INCH
        stretches.append(Stretch(at, end, (0.0, 0.0), (wide * INCH, wide * INCH)))
        at = end
    return stretches


@pytest.mark.parametrize(
    ("route", "kinds"),
    [
        ([(100, 36)], []),
        ([(100, 35.9)], ["long"]),
        ([(60, 40), (24, 32), (60, 40)], []),
        ([(60, 40), (24.1, 32), (60, 40)], ["long"]),
        ([(60, 40), (24, 31.9), (60, 40)], ["narrow"]),
        ([(60, 40), (12, 33), (12, 32), (60, 40)], []),
        ([(60, 40), (24, 32), (48, 36), (24, 32)], []),
        ([(60, 40), (24, 32), (47, 36), (24, 32)], ["near"]),
    ],
)
def test_the_route(route: list[tuple[float, float]], kinds: list[str]) -> None:
    """ADA 2010 403.5.1: 36 in; 32 in for at most 24 in, such pinches at least 48 in apart."""
    assert [fault.kind for fault in route_faults(along(*route))] == kinds


def test_a_funnel_is_a_pinch_from_where_it_is_narrower() -> None:
    """From 40 in to 34 in over 60 in: under 36 in for the last 20 in, which is not too long; over 90 in it is 30 in long."""
    funnel = [Stretch(0, long * INCH, (0, 0), (40 * INCH, 34 * INCH)) for long in (60.0, 90.0)]
    assert route_faults(funnel[:1]) == []
    (fault,) = route_faults(funnel[1:])
    assert [fault.start, fault.end] == pytest.approx([60 * INCH, 90 * INCH])
    assert fault.words("in") == 'under 36" for 30" from 60" on, more than 24"'
