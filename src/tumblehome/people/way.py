"""How narrow is it from one place to another, for whom, and because of what?"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np
import shapely

from tumblehome.checks.finding import Finding
from tumblehome.errors import InputError
from tumblehome.fitout.module import solid_of
from tumblehome.lengths import parse_length
from tumblehome.people.aisle import told_gate, upright
from tumblehome.people.gauge import SIDEWAYS, body, turned
from tumblehome.people.ground import Floor, Gate
from tumblehome.people.places import places_of, standing_before
from tumblehome.people.words import said
from tumblehome.sweep import Prism

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tumblehome.checks.finding import Verdict
    from tumblehome.people.gauge import Gauge
    from tumblehome.people.person import Person

__all__ = ["check_way"]

_POINT: Final = 30.0
"""Half of the breadth of a place that is told by its station and breadth, mm."""
_KNEE: Final = (300.0, 900.0)
"""Between these heights a place on the floor is free, mm."""


def check_way(floor: Floor, person: Person, start: str, end: str, gauges: Sequence[Gauge] = ()) -> Iterator[Finding]:
    """Yield how narrow it is from one place to another, for somebody who faces forward, sideways, and for each gauge.

    Parameters
    ----------
    floor : with its doorways open
    start, end : a module, a doorway, or a station and a breadth as "2100mm, 0mm"

    Raises
    ------
    InputError
        For a place that is none, or that lies outside of the van. What lies in a module is a finding: in another mode it may not.
    """
    walker, subject = upright(person, floor), f"{start} to {end}"
    one, other = (_place(floor, person, name) for name in (start, end))
    filled = [(name, held) for name, at in ((start, one), (end, other)) if (held := _filled(floor, name, at))]
    if filled:
        words = "{} lies in {}; name a place on the floor, or the module itself".format(*filled[0])
        yield Finding(subject, "place", "fouls", cause=filled[0][1], said=said(lambda _: words))
        return
    for gauge in (body(walker), turned(walker), *gauges):
        ground = floor.ground(gauge)
        found = ground.narrowest(one, other)
        if isinstance(found, Gate):
            yield told_gate(subject, gauge, found)
        else:
            cramped = [name for name, at in ((start, one), (end, other)) if not ground.has_room_in(at)]
            yield _plain(subject, gauge, cramped, joined=found is not None)


def _plain(subject: str, gauge: Gauge, cramped: Sequence[str], *, joined: bool) -> Finding:
    """Return what is said where no gate is on the way; ``cramped`` are those of its ends where there is no room to stand."""
    verdict: Verdict = "clear"
    words = "nothing on the way narrows it"
    if cramped or not joined:
        verdict = "fouls" if gauge.name == SIDEWAYS else "tight"
        words = f"no room to stand at {cramped[0]}" if cramped else "no floor joins the two"
    return Finding(subject, gauge.name, verdict, source=gauge.source, said=said(lambda _: words))


def _place(floor: Floor, person: Person, name: str) -> shapely.Geometry:
    """Return where somebody is at a module, before a doorway, or at a station and breadth."""
    layout = floor.layout
    for door in layout.shell.doorways:
        if door.name == name:
            return floor.outside(door)
    for module in layout.modules:
        if module.name == name:
            known = [place.floor for place in places_of(floor, person) if place.module is module]
            return shapely.union_all(known) if known else standing_before(module)
    at = _point(name)
    if at is None:
        words = layout.why_absent(name, [door.name for door in layout.shell.doorways])
        raise InputError(words if name in layout.stowed else f'{words}; a place may be told as "2100mm, 0mm", too')
    if not shapely.intersects(Floor(replace(layout, modules=()), floor.closed).region(_KNEE), shapely.Point(at)):
        raise InputError(f"'{name}' lies outside of the van; stations and breadths are those of its floor")
    return shapely.box(at[0] - _POINT, at[1] - _POINT, at[0] + _POINT, at[1] + _POINT)


def _point(text: str) -> tuple[float, float] | None:
    parts = text.split(",")
    if len(parts) != 2:
        return None
    return parse_length(parts[0].strip()), parse_length(parts[1].strip())


def _filled(floor: Floor, name: str, place: shapely.Geometry) -> str | None:
    """Return the module that covers a place which was told by its station and breadth, if any does."""
    middle = shapely.centroid(place)
    if _point(name) is None or shapely.intersects(floor.region(_KNEE), middle):
        return None
    at = np.array([middle.x, middle.y])
    sticks = [Prism.box([*(at - 1.0), _KNEE[0]], [*(at + 1.0), _KNEE[1]])]
    standing = (module for module in floor.layout.modules if module.parent is None)
    solid = solid_of(sticks, "place")
    return next((m.name for m in standing if not (m.solid & solid).is_empty), None)
