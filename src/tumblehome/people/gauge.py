"""What must pass along an aisle: a stack of widths by height, from a rule or from a body."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from tumblehome.errors import InputError, nearest
from tumblehome.people.person import SOURCE
from tumblehome.records import dataclass

if TYPE_CHECKING:
    from tumblehome.people.person import Person

__all__ = ["GAUGES", "INCH", "ROUTE", "SIDEWAYS", "STEPPED_OVER", "Gauge", "Slab", "body", "gauge_named", "turned"]

SIDEWAYS: Final = "sideways"
"""The name of the gauge of somebody who goes sideways."""
INCH: Final = 25.4
"""Millimeters of an inch."""
STEPPED_OVER: Final = 200.0
"""What ends no higher than this above the floor is stepped on or over, mm: about the riser of a stair (IRC R311.7.5.1: at most
7 3/4 in; value from memory)."""
_LEAST_SLAB: Final = 50.0
"""The lowest slab of a body that stoops is at least this high, mm."""


@dataclass(frozen=True)
class Slab:
    """One width through an interval of heights: mm above the floor, and mm."""

    name: str
    low: float
    high: float
    width: float


@dataclass(frozen=True)
class Gauge:
    """A stack of widths that must pass together, and who says so."""

    name: str
    slabs: tuple[Slab, ...]
    source: str

    def __post_init__(self) -> None:
        """Refuse what is no body."""
        if not self.slabs or any(slab.width <= 0 or slab.high <= slab.low for slab in self.slabs):
            raise InputError(f"gauge '{self.name}' has a size of zero; give widths and heights above it")


def body(person: Person) -> Gauge:
    """Return a person who walks facing forward: hips up to the waist, shoulders from there to their own height."""
    waist = max(person.waist_height, STEPPED_OVER + _LEAST_SLAB)
    return Gauge(
        "facing forward",
        (
            Slab("hip", STEPPED_OVER, waist, person.hip_breadth),
            Slab("shoulder", waist, max(person.shoulder_height, waist + _LEAST_SLAB), person.shoulder_breadth),
        ),
        f"{SOURCE}, percentile {person.percentile}",
    )


def turned(person: Person) -> Gauge:
    """Return a person who goes sideways: as wide as the body is deep, belly below and chest above.

    Necessary, and enough where the way is straight; round a corner the shoulders need more.
    """
    facing = body(person)
    depths = (person.belly_depth, person.chest_depth)
    slabs = (Slab(s.name, s.low, s.high, deep) for s, deep in zip(facing.slabs, depths, strict=True))
    return Gauge(SIDEWAYS, tuple(slabs), facing.source)


ROUTE: Final = Gauge(
    "route", (Slab("route", 0.0, 48 * INCH, 36 * INCH),), "ADA 2010 403.5.1: 36 in, and at pinches 32 in"
)
"""An accessible route, to the height of somebody in a wheelchair; common practice, no published source for that height."""
GAUGES: Final = (
    Gauge(
        "bus-aisle",
        (Slab("floor", 0.0, 18 * INCH, 12 * INCH), Slab("seat backs", 18 * INCH, 38 * INCH, 15 * INCH)),
        "540 CMR 7.05(1): 12 in at the floor, 15 in at the top of the seat backs; taken here as 38 in high, common practice",
    ),
    *(
        Gauge(
            name,
            (Slab("lower panel", 0.0, 700.0, 400.0), Slab("upper panel", 700.0, 700.0 + upper, 550.0)),
            f"UNECE bus rules 5.7.1: 400 mm wide to 700 mm, then 550 mm wide for {upper:g} mm",
        )
        for name, upper in (("dual-panel", 1100.0), ("dual-panel-950", 950.0), ("dual-panel-850", 850.0))
    ),
    ROUTE,
)
"""Gauges that rules for other vehicles and for buildings name; none is claimed to bind a camper van."""


def gauge_named(name: str) -> Gauge:
    """Return a gauge by name; raises InputError with the nearest."""
    for gauge in GAUGES:
        if gauge.name == name:
            return gauge
    known = [gauge.name for gauge in GAUGES]
    raise InputError(f"there is no gauge '{name}'{nearest(name, known)}; allowed: {', '.join(known)}")
