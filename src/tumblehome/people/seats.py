"""Does a seat fit those who sit on it: its height and depth, the room for knees, thighs, shoulders and head?"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np
import shapely

from tumblehome.checks.finding import Finding
from tumblehome.lengths import shown
from tumblehome.people.person import SOURCE
from tumblehome.people.places import is_covered, slots_of, surface_of, top_of, used
from tumblehome.people.sitting import breadth_over, headroom_over
from tumblehome.people.words import fit, said, span
from tumblehome.sweep import Prism

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from tumblehome.checks.finding import Verdict
    from tumblehome.fitout import Layout, Module
    from tumblehome.people.person import Person

    Floats = NDArray[np.float64]

__all__ = ["back_of", "check_seats", "knee_room"]

_KNEE: Final = 100.0
"""Knees are looked after from so much below the seat's top to their own height, mm; the shins lean back below that."""
_WIDE: Final = 300.0
"""How wide the two knees of one person are together, mm; common practice, no published source."""
_HAIR: Final = 1e-3
_ENOUGH: Final = 1.2
"""Whether there is more room than so many times what is needed is not asked."""


def check_seats(layout: Layout, person: Person) -> Iterator[Finding]:
    """Yield for each seat its height and depth, and the room for knees, thighs, shoulders and head of each who sits on it.

    Of two seats that face each other also the room for the knees of both; of a seat that a bed covers at night, nothing.
    What fits the larger body is clear, what fits only the smaller is tight, and what fits neither is at fault. Seats that are used
    while driving, and their anchorage, are for licensed practice.
    """
    seats = [seat for seat in used(layout, "seat") if not is_covered(layout, seat)]
    for seat in seats:
        yield _height(layout, seat, person)
        yield _depth(layout, seat, person)
        yield _knees(layout, seat, person)
        yield from _thighs(layout, seat, person)
        yield _head(layout, seat, person)
        yield _shoulders(layout, seat, person)
    for i, one in enumerate(seats):
        yield from (found for other in seats[:i] if (found := _facing(layout, other, one, person)))


def back_of(seat: Module) -> float:
    """Return how far behind the face of a seat one leans back, mm: at what rises above its surface, or at its back."""
    surface = surface_of(seat)
    backs = [prism for prism in seat.hull if prism not in surface]
    away, origin = seat.frame.away, seat.frame.origin[:2]
    return min((float(((p.outline - origin) @ away).min()) for p in backs), default=seat.deep)


def _front_of(seat: Module) -> float:
    """Return how far behind its face the surface of a seat begins, mm."""
    away, origin = seat.frame.away, seat.frame.origin[:2]
    return min(float(((prism.outline - origin) @ away).min()) for prism in surface_of(seat))


def _source(person: Person) -> str:
    return f"{SOURCE}, percentiles {person.small.percentile} to {person.percentile}"


def _height(layout: Layout, seat: Module, person: Person) -> Finding:
    top, least, most = top_of(seat), person.small.popliteal_height, person.popliteal_height

    def words(units: str) -> str:
        hang = "; feet of all hang" if top > most else "; a footrest helps the smallest" if top > least else ""
        return f"{shown(top, units)} high; the hollow of the knee is at {span(least, most, units)}{hang}"

    verdict: Verdict = "clear" if top <= most + layout.shell.measured_to else "tight"
    return Finding(seat.name, "seat height", verdict, source=_source(person), said=said(words))


def _depth(layout: Layout, seat: Module, person: Person) -> Finding:
    deep, least, most = back_of(seat) - _front_of(seat), person.small.buttock_popliteal, person.buttock_popliteal

    def words(units: str) -> str:
        note = (
            "; nobody's knees reach its edge" if deep > most else "; too deep for the smallest" if deep > least else ""
        )
        return f"{shown(deep, units)} deep; from back to knee it is {span(least, most, units)}{note}"

    verdict: Verdict = "clear" if deep <= most + layout.shell.measured_to else "tight"
    return Finding(seat.name, "seat depth", verdict, source=_source(person), said=said(words))


def knee_room(layout: Layout, seat: Module, person: Person) -> tuple[float, str] | None:
    """Return the free length, mm, from the back of a seat forward at the knees, and what ends it; None where nothing does."""
    own = {seat.name, seat.support or "", *(m.name for m in layout.modules if m.support == seat.name)}
    top, back = top_of(seat), back_of(seat)
    found: list[tuple[float, str]] = []
    for slot in slots_of(seat):
        middle = float((np.array(slot.centroid.coords[0]) - seat.frame.origin[:2]) @ seat.frame.right)
        u = (middle - _WIDE / 2, middle + _WIDE / 2)
        plate = _upright(seat, u, back - _HAIR, (top - _KNEE, max(person.knee_height_sitting, top)))
        axis = int(abs(seat.frame.away[1]) > abs(seat.frame.away[0]))
        reached = layout.room.journey((plate,), axis, ignoring=own).reach(-float(np.sign(seat.frame.away[axis])))
        if reached is not None:
            found.append((reached.distance + 2 * _HAIR, reached.part))
    return min(found, default=None)


def _upright(seat: Module, u: tuple[float, float], v: float, heights: tuple[float, float]) -> Prism:
    """Return a plate a hair thick that stands across a seat, mm."""
    plan = seat.frame.box(u, (v - _HAIR, v), (0.0, 1.0)).outline
    return Prism(plan, *heights)


def _knees(layout: Layout, seat: Module, person: Person) -> Finding:
    found = knee_room(layout, seat, person)
    if found is None:
        return Finding(
            seat.name, "knee room", "clear", source=_source(person), said=dict.fromkeys(("mm", "in"), "free")
        )
    room, part = found
    return fit(
        seat.name, "knee room", room, (person.small.buttock_knee, person.buttock_knee), layout.shell.measured_to,
        f"from the back to {part}", cause=part, source=_source(person),
    )  # fmt: skip


def _thighs(layout: Layout, seat: Module, person: Person) -> Iterator[Finding]:
    """Yield the height between a seat and each table that reaches over the lap."""
    plan = shapely.union_all(slots_of(seat))
    lap = shapely.Polygon(
        seat.frame.box((0.0, seat.wide), (back_of(seat) - person.buttock_knee, back_of(seat)), (0.0, 1.0)).outline
    )
    top = top_of(seat)
    for table in layout.modules:
        if not (table.use and table.use.kind == "table"):
            continue
        over = [p for p in table.hull if p.bottom > top and shapely.intersects(shapely.Polygon(p.outline), lap)]
        if over and shapely.distance(plan, shapely.union_all([shapely.Polygon(p.outline) for p in over])) < _WIDE:
            room = min(prism.bottom for prism in over) - top
            yield fit(
                seat.name, "thigh room", room, (person.small.thigh_clearance, person.thigh_clearance),
                layout.shell.measured_to, f"below {table.name}", cause=table.name, source=_source(person),
            )  # fmt: skip


def _head(layout: Layout, seat: Module, person: Person) -> Finding:
    """Return the room above the seat at the place that has least, each at its best spot."""
    most, size = _ENOUGH * person.sitting_height, (person.hip_breadth_sitting / 2, person.chest_depth)
    room = min(headroom_over(layout, slot, top_of(seat), size, most) for slot in slots_of(seat))
    return fit(
        seat.name, "headroom sitting", room, (person.small.sitting_height, person.sitting_height),
        layout.shell.measured_to, "above the seat", source=_source(person), over="over " if room >= most - 1 else "",
    )  # fmt: skip


def _shoulders(layout: Layout, seat: Module, person: Person) -> Finding:
    """Return the free breadth at the shoulders, across the seat at its back, at the place that has least."""
    top, depth = top_of(seat), person.chest_depth
    sitting = person.sitting_height - (person.stature - person.shoulder_height)
    heights = (top + max(sitting - depth, person.elbow_rest), top + sitting)
    right = seat.frame.right
    room = min(
        breadth_over(layout, slot, heights, depth, right, _ENOUGH * person.shoulder_breadth) for slot in slots_of(seat)
    )
    over = "over " if room >= _ENOUGH * person.shoulder_breadth - 1 else ""
    return fit(
        seat.name, "shoulder room", room, (person.small.shoulder_breadth, person.shoulder_breadth),
        layout.shell.measured_to, "across", source=_source(person), over=over,
    )  # fmt: skip


def _facing(layout: Layout, one: Module, other: Module, person: Person) -> Finding | None:
    """Return the room between two seats that face each other, from back to back, if they do."""
    if float(one.frame.away @ other.frame.away) > -1 + 1e-6:
        return None
    plans = [shapely.union_all(slots_of(seat)) for seat in (one, other)]
    away = one.frame.away
    ahead = float((other.frame.origin[:2] - one.frame.origin[:2]) @ -away)
    beside = shapely.Polygon(one.frame.box((0.0, one.wide), (-max(ahead, 1.0) - other.deep, 0.0), (0.0, 1.0)).outline)
    if ahead <= 0 or not shapely.intersects(beside, plans[1]):
        return None
    between = ahead + back_of(one) + back_of(other)
    return fit(
        f"{one.name} and {other.name}", "knees of both", between,
        (2 * person.small.buttock_knee, 2 * person.buttock_knee), layout.shell.measured_to, "from back to back",
        source=_source(person), comfort=True,
    )  # fmt: skip
