"""How narrow is the aisle, for whom, and because of what?"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import shapely

from tumblehome.checks.finding import Finding, verdict_of
from tumblehome.lengths import shown
from tumblehome.people.gauge import ROUTE, SIDEWAYS, body, turned
from tumblehome.people.ground import Floor, Gate
from tumblehome.people.places import places_of
from tumblehome.people.profile import widths_along
from tumblehome.people.route import route_faults
from tumblehome.people.words import between, said

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tumblehome.checks.finding import Verdict
    from tumblehome.people.gauge import Gauge
    from tumblehome.people.ground import Ground
    from tumblehome.people.person import Person

__all__ = ["check_aisle", "pinch_of", "told_gate", "upright"]

_HEAD: Final = 0.98
"""Who walks in a van that is lower than the stature stoops to this share of the room below its roof."""


def upright(person: Person, floor: Floor) -> Person:
    """Return the person as tall as one walks in a van: upright, or stooped as far as its roof demands."""
    return person.scaled(min(1.0, _HEAD * floor.layout.shell.heights[1] / person.stature))


def check_aisle(floor: Floor, person: Person, gauges: Sequence[Gauge] = ()) -> Iterator[Finding]:
    """Yield the narrowest place on the way from inside the doorways to where people stand, sit and sleep; for each gauge.

    Of all ways to a place, and all doorways, the widest counts. What is narrower than a gauge is tight; where nobody gets along
    even sideways it is at fault. The route may be narrower than its width at short pinches, as its rule allows.

    Parameters
    ----------
    floor : with its doorways open
    person : who walks, facing forward and sideways
    gauges : further ones to be held against it, from rules
    """
    walker, places = upright(person, floor), [place.floor for place in places_of(floor, person)]
    for gauge in (body(walker), turned(walker), *gauges):
        ways = list(_narrowest(floor.ground(gauge), places))
        worst = _worst(ways)
        if worst is None:
            yield _unbroken(gauge, joined=bool(ways), expected=bool(places and floor.layout.shell.doorways))
        elif gauge.name == ROUTE.name and worst.margin < 0:
            yield _told_route(floor, worst, places)
        else:
            yield told_gate("aisle", gauge, worst)


def pinch_of(floor: Floor, person: Person) -> Gate | None:
    """Return the narrowest gate for who walks facing forward, as `check_aisle` tells it; None where nothing narrows the way."""
    ground = floor.ground(body(upright(person, floor)))
    return _worst(list(_narrowest(ground, [place.floor for place in places_of(floor, person)])))


def _worst(ways: Sequence[Gate | float]) -> Gate | None:
    return min((way for way in ways if isinstance(way, Gate)), key=lambda gate: gate.margin, default=None)


def _unbroken(gauge: Gauge, *, joined: bool, expected: bool) -> Finding:
    """Return what is said where no gate is on a way: because all is wide, or nobody goes there, or no floor is free so high."""
    high = max(slab.high for slab in gauge.slabs)

    def words(units: str) -> str:
        if joined:
            return "nothing on the way narrows it"
        if expected:
            return f"no floor that is free to {shown(high, units)} joins a doorway and where people are"
        return "nobody stands, sits or sleeps here, or no doorway is stated"

    verdict: Verdict = "tight" if expected and not joined else "clear"
    return Finding("aisle", gauge.name, verdict, source=gauge.source, said=said(words))


def _narrowest(ground: Ground, places: Sequence[shapely.Geometry]) -> Iterator[Gate | float]:
    """Yield the narrowest gate from the doorway that is best for each place, where any leads there."""
    floor = ground.floor
    for place in places:
        ways = [ground.narrowest(place, floor.inside(door)) for door in floor.layout.shell.doorways]
        known = [way for way in ways if way is not None]
        if known:
            yield max(known, key=lambda way: way.margin if isinstance(way, Gate) else way)


def _told_route(floor: Floor, worst: Gate, places: Sequence[shapely.Geometry]) -> Finding:
    """Return what of the rule on the route's pinches the aisle breaks, from its first to its last place, across the van."""
    slab = ROUTE.slabs[0]
    grounds = shapely.union_all([*places, *(floor.inside(door) for door in floor.layout.shell.doorways)])
    aisle = shapely.intersection(grounds, floor.region((slab.low, slab.high)))
    start, _, end, _ = shapely.bounds(aisle).tolist()
    widths = widths_along(Floor(floor.layout, closed=True), (slab.low, slab.high))
    spans = [(max(each.start, start), min(each.end, end)) for each in widths]
    faults = route_faults([each.between(a, b) for each, (a, b) in zip(widths, spans, strict=True) if a < b])

    def words(units: str) -> str:
        kept = "narrower only at pinches that are short and far apart, as the rule allows"
        told = ", ".join(fault.words(units) for fault in faults if fault.kind == faults[0].kind)
        return f"{shown(worst.width, units)} {between(worst.parts)}; {told or kept}"

    return Finding(
        "aisle", ROUTE.name, "tight" if faults else "clear", worst.width, slab.width, worst.at,
        cause=" and ".join(worst.parts), source=ROUTE.source, said=said(words),
    )  # fmt: skip


def told_gate(subject: str, gauge: Gauge, gate: Gate) -> Finding:
    """Return what is said about the narrowest gate on a way."""
    tolerance = gate.floor.layout.shell.measured_to
    needed = gate.width - gate.margin

    def words(units: str) -> str:
        slabs = " and ".join(dict.fromkeys(slab.name for slab in gate.slabs))
        rest = (
            f"{shown(gate.margin, units)} to spare" if gate.margin >= 0 else f"{shown(-gate.margin, units)} too narrow"
        )
        return f"{shown(gate.width, units)} {between(gate.parts)} at the {slabs}, {rest}"

    barred: Verdict = "fouls" if gauge.name == SIDEWAYS else "tight"
    verdict = verdict_of(gate.margin, tolerance) if gate.margin >= 0 else barred
    return Finding(
        subject, gauge.name, verdict, gate.width, needed, gate.at, cause=" and ".join(gate.parts),
        source=gauge.source, tolerance=tolerance, said=said(words),
    )  # fmt: skip
