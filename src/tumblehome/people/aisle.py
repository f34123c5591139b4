"""How narrow is the aisle, for whom, and because of what?"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np
import shapely

from tumblehome.checks.finding import Finding, verdict_of
from tumblehome.errors import InputError, nearest
from tumblehome.lengths import parse_length
from tumblehome.people.gauge import ROUTE, body, turned
from tumblehome.people.ground import Gate, Ground
from tumblehome.people.places import places_of, standing_before
from tumblehome.people.profile import widths_along
from tumblehome.people.route import route_faults
from tumblehome.people.words import between, said, shown

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tumblehome.people.gauge import Gauge
    from tumblehome.people.ground import Floor
    from tumblehome.people.person import Person

__all__ = ["check_aisle", "check_way", "upright"]

_HEAD: Final = 0.98
"""Who walks in a van that is lower than the stature stoops to this share of the room below its roof."""
_POINT: Final = 30.0
"""A place that is told by its station and breadth is so wide, mm."""


def upright(person: Person, floor: Floor) -> Person:
    """Return the person as tall as one walks in a van: upright, or stooped as far as its roof demands."""
    return person.scaled(min(1.0, _HEAD * floor.layout.shell.heights[1] / person.stature))


def check_aisle(floor: Floor, person: Person, gauges: Sequence[Gauge] = ()) -> Iterator[Finding]:
    """Yield the narrowest place on the way from inside the doorways to where people stand, sit and sleep; for each gauge.

    Of all ways to a place, and all doorways, the widest counts. What is narrower than a gauge is tight; where nobody gets along
    even sideways it is at fault. The route may be narrower than its width at short pinches, as its rule allows.

    Parameters
    ----------
    floor : with its doorways closed
    person : who walks, facing forward and sideways
    gauges : further ones to be held against it, from rules
    """
    walker = upright(person, floor)
    for gauge in (body(walker), turned(walker), *gauges):
        ways = list(_narrowest(Ground(floor, gauge)))
        gates = [way for way in ways if isinstance(way, Gate)]
        worst = min(gates, key=lambda gate: gate.margin, default=None)
        if worst is None:
            yield _unbroken(floor, gauge, joined=bool(ways))
        elif gauge.name == ROUTE.name and worst.margin < 0:
            yield _told_route(floor, worst)
        else:
            yield _told("aisle", gauge, worst, floor)


def _unbroken(floor: Floor, gauge: Gauge, *, joined: bool) -> Finding:
    """Return what is said where no gate is on a way: because all is wide, or nobody goes there, or no floor is free so high."""
    is_barred = not joined and bool(places_of(floor)) and bool(floor.layout.shell.doorways)
    high = max(slab.high for slab in gauge.slabs)

    def words(units: str) -> str:
        if is_barred:
            return f"no floor that is free to {shown(high, units)} joins a doorway and where people are"
        return (
            "nothing on the way narrows it"
            if joined
            else "nobody stands, sits or sleeps where a way from a doorway leads"
        )

    return Finding("aisle", gauge.name, "tight" if is_barred else "clear", source=gauge.source, said=said(words))


def _narrowest(ground: Ground) -> Iterator[Gate | float]:
    """Yield the narrowest gate from the doorway that is best for each place, where any leads there."""
    floor = ground.floor
    for place in places_of(floor):
        ways = [ground.narrowest(place.floor, floor.inside(door)) for door in floor.layout.shell.doorways]
        known = [way for way in ways if way is not None]
        if known:
            yield max(known, key=lambda way: way.margin if isinstance(way, Gate) else way)


def _told_route(floor: Floor, worst: Gate) -> Finding:
    """Return what of the rule on the route's pinches the aisle breaks, from its first to its last place, across the van."""
    slab = ROUTE.slabs[0]
    grounds = [place.floor for place in places_of(floor)] + [floor.inside(door) for door in floor.layout.shell.doorways]
    aisle = shapely.intersection(shapely.union_all(grounds), floor.region((slab.low, slab.high)))
    start, _, end, _ = shapely.bounds(aisle).tolist()
    widths = widths_along(floor, (slab.low, slab.high))
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


def check_way(floor: Floor, person: Person, start: str, end: str, gauges: Sequence[Gauge] = ()) -> Iterator[Finding]:
    """Yield how narrow it is from one place to another, for somebody who faces forward, sideways, and for each gauge.

    Parameters
    ----------
    start, end : a module, a doorway, or a station and a breadth as "2100mm, 0mm"

    Raises
    ------
    InputError
        For a place that is none, or that lies in a module or outside of the van.
    """
    places = [_place(floor, name) for name in (start, end)]
    walker = upright(person, floor)
    for gauge in (body(walker), turned(walker), *gauges):
        found = Ground(floor, gauge).narrowest(*places)
        subject = f"{start} to {end}"
        if isinstance(found, Gate):
            yield _told(subject, gauge, found, floor)
        else:
            words = "no floor joins the two" if found is None else "nothing on the way narrows it"
            verdict = "fouls" if found is None else "clear"
            yield Finding(subject, gauge.name, verdict, source=gauge.source, said=dict.fromkeys(("mm", "in"), words))  # type: ignore[arg-type]


def _told(subject: str, gauge: Gauge, gate: Gate, floor: Floor) -> Finding:
    tolerance = floor.layout.shell.measured_to
    needed = gate.width - gate.margin

    def words(units: str) -> str:
        slabs = " and ".join(dict.fromkeys(slab.name for slab in gate.slabs))
        rest = (
            f"{shown(gate.margin, units)} to spare" if gate.margin >= 0 else f"{shown(-gate.margin, units)} too narrow"
        )
        return f"{shown(gate.width, units)} {between(gate.parts)} at the {slabs}, {rest}"

    verdict = (
        verdict_of(gate.margin, tolerance) if gate.margin >= 0 else "fouls" if gauge.name == "sideways" else "tight"
    )
    return Finding(
        subject, gauge.name, verdict, gate.width, needed, gate.at, cause=" and ".join(gate.parts),
        source=gauge.source, tolerance=tolerance, said=said(words),
    )  # fmt: skip


def _place(floor: Floor, name: str) -> shapely.Geometry:
    layout = floor.layout
    for door in layout.shell.doorways:
        if door.name == name:
            return floor.outside(door)
    for module in layout.modules:
        if module.name == name:
            known = [place.floor for place in places_of(floor) if place.module is module]
            return shapely.union_all(known) if known else standing_before(module)
    at = _point(name)
    if at is None:
        known_names = [*(door.name for door in layout.shell.doorways), *(module.name for module in layout.modules)]
        hint = nearest(name, known_names)
        raise InputError(
            f"there is no module or doorway '{name}'{hint}; or write station and breadth, as \"2100mm, 0mm\""
        )
    _refuse_filled(floor, name, *at)
    return shapely.box(at[0] - _POINT, at[1] - _POINT, at[0] + _POINT, at[1] + _POINT)


def _point(text: str) -> tuple[float, float] | None:
    parts = text.split(",")
    if len(parts) != 2:
        return None
    return parse_length(parts[0].strip()), parse_length(parts[1].strip())


def _refuse_filled(floor: Floor, name: str, station: float, breadth: float) -> None:
    at = np.array([station, breadth, floor.layout.shell.heights[0] + 1.0])
    for height in (at[2], 300.0, 900.0):
        at[2] = height
        held = floor.layout.what_holds(at)
        if any(module.name == held for module in floor.layout.modules):
            raise InputError(f"'{name}' lies in {held}; name a place on the floor, or the module itself")
    if not shapely.intersects(floor.region((300.0, 900.0)), shapely.Point(station, breadth)):
        raise InputError(f"'{name}' lies outside of the van; stations and breadths are those of its floor")
