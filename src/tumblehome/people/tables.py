"""Are table, counter and cupboards at heights and depths at which people can use them?"""

from __future__ import annotations

from math import sqrt
from typing import TYPE_CHECKING, Final

import numpy as np
import shapely

from tumblehome.checks.finding import Finding
from tumblehome.lengths import shown
from tumblehome.people.person import SOURCE
from tumblehome.people.places import top_of
from tumblehome.people.words import fit, said, span
from tumblehome.sweep import Prism

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tumblehome.checks.finding import Verdict
    from tumblehome.fitout import Layout, Module
    from tumblehome.people.person import Person

__all__ = ["check_tables", "reach_height"]

_INCH: Final = 25.4
_TABLE: Final = (28 * _INCH, 34 * _INCH)
"""How high a table's top is, mm: ADA 2010 902.3."""
_COUNTER: Final = 36 * _INCH
"""The usual height of a counter, mm: common practice, no published source."""
_DEEP: Final = (15 * _INCH, 18 * _INCH)
"""A counter less deep than the second is a squeeze, mm: 15 to 16 in beside the usual 18 to 19; common practice, no published
source."""
_AT_COUNTER: Final = 150.0
"""A cupboard hangs over a counter when more of it than this, mm, is above it in plan."""
_HAIR: Final = 1e-3
_PRACTICE: Final = "common practice, no published source"


def check_tables(layout: Layout, person: Person) -> Iterator[Finding]:
    """Yield the height of each table over floor and seats, the sizes of each counter, and who reaches the hung cupboards."""
    for module in layout.modules:
        kind = module.use.kind if module.use else ""
        if kind == "table":
            yield _table_height(module)
            yield from _over_seats(layout, module, person)
        elif kind == "counter":
            yield _counter(module)
            yield _standing(layout, module, person)
        elif kind == "cupboard" and module.support is None and module.parent is None:
            yield _reached(layout, module, person)


def _table_height(table: Module) -> Finding:
    top, (least, most) = float(table.bounds[1][2]), _TABLE

    def words(units: str) -> str:
        return f"{shown(top, units)} high; tables are {span(least, most, units)}"

    verdict: Verdict = "clear" if least <= top <= most else "tight"
    return Finding(table.name, "table height", verdict, source="ADA 2010 902.3: 28 to 34 in", said=said(words))


def _over_seats(layout: Layout, table: Module, person: Person) -> Iterator[Finding]:
    """Yield for each seat beside a table how high its top is over the seat, and how far its edge is from the seat's edge."""
    plan = shapely.union_all([shapely.Polygon(p.outline) for p in table.hull])
    for seat in layout.modules:
        if not (seat.use and seat.use.kind == "seat"):
            continue
        over = float(table.bounds[1][2]) - top_of(seat)
        ahead = shapely.Polygon(seat.frame.box((0.0, seat.wide), (-person.buttock_knee, 0.0), (0.0, 1.0)).outline)
        if over <= 0 or not shapely.intersects(ahead, plan):
            continue
        yield _edge(table, seat, plan, over, person)


def _edge(table: Module, seat: Module, plan: shapely.Geometry, over: float, person: Person) -> Finding:
    away, origin = seat.frame.away, seat.frame.origin[:2]
    edge = float(((shapely.get_coordinates(plan) - origin) @ away).max())
    least, most = person.small.elbow_rest, person.elbow_rest

    def words(units: str) -> str:
        place = f"its edge {shown(abs(edge), units)} {'over' if edge > 0 else 'short of'} the seat's"
        return f"{shown(over, units)} above {seat.name}, {place}; elbows rest at {span(least, most, units)}"

    verdict: Verdict = "clear" if over <= most + person.thigh_clearance else "tight"
    source = f"{SOURCE}, percentiles {person.small.percentile} to {person.percentile}"
    return Finding(table.name, "table at seat", verdict, source=source, said=said(words))


def _counter(counter: Module) -> Finding:
    top, deep = float(counter.bounds[1][2]), counter.deep

    def words(units: str) -> str:
        off = top - _COUNTER
        usual = (
            "as usual" if abs(off) < _INCH else f"{shown(abs(off), units)} {'over' if off > 0 else 'under'} the usual"
        )
        squeeze = ", a squeeze" if deep < _DEEP[1] else ""
        return f"{shown(top, units)} high, {usual} ({shown(_COUNTER, units)}); {shown(deep, units)} deep{squeeze}"

    verdict: Verdict = "tight" if deep < _DEEP[1] else "clear"
    return Finding(counter.name, "counter", verdict, deep, _DEEP[0], source=_PRACTICE, said=said(words))


def _standing(layout: Layout, counter: Module, person: Person) -> Finding:
    """Return how much room is before a counter from the knees to the belly, along all of its face."""
    own = {counter.name, counter.support or ""}
    plan = counter.frame.box((_HAIR, counter.wide - _HAIR), (-2 * _HAIR, -_HAIR), (0.0, 1.0)).outline
    heights = (
        min(person.waist_height / 2, layout.shell.heights[1] / 2),
        min(person.waist_height, layout.shell.heights[1] * 0.9),
    )
    axis = int(abs(counter.frame.away[1]) > abs(counter.frame.away[0]))
    journey = layout.room.journey((Prism(plan, *heights),), axis, ignoring=own)
    reached = journey.reach(-float(np.sign(counter.frame.away[axis])))
    room = 0.0 if journey.fouled else reached.distance + 2 * _HAIR if reached else float("inf")
    part = journey.fouled[0][0] if journey.fouled else reached.part if reached else ""
    return fit(
        counter.name, "standing before it", room, (person.small.belly_depth, person.belly_depth),
        layout.shell.measured_to, f"to {part}", cause=part or None,
        source=f"{SOURCE}, percentiles {person.small.percentile} to {person.percentile}", comfort=True,
    )  # fmt: skip


def reach_height(person: Person, ahead: float) -> float:
    """Return how high, mm above the floor, somebody who stands reaches at a distance ahead of the belly, mm; 0 where not at all.

    The arm turns about the shoulder, which stands half the body's depth behind the belly; straight up it reaches as high as
    sitting, by the height that sitting takes.
    """
    overhead = person.reach_overhead_sitting + person.stature - person.sitting_height
    arm, away = overhead - person.shoulder_height, ahead + person.belly_depth / 2
    return person.shoulder_height + sqrt(arm**2 - away**2) if away < arm else 0.0


def _reached(layout: Layout, cupboard: Module, person: Person) -> Finding:
    """Return whether the smaller body reaches the bottom board of a cupboard, over the counter that stands below it."""
    small, shelf = person.small, float(cupboard.bounds[0][2]) + cupboard.panel
    below = _counter_below(layout, cupboard)
    ahead = _set_back(cupboard, below) if below else 0.0
    high = reach_height(small, ahead)
    over = f", over {below.name}" if below else ""
    return fit(
        cupboard.name, "reach", high, (shelf, shelf), layout.shell.measured_to,
        f"reached by percentile {small.percentile}{over}; its board is at", shown_limit=True,
        source=f"{SOURCE}, percentile {small.percentile}", comfort=True,
    )  # fmt: skip


def _counter_below(layout: Layout, cupboard: Module) -> Module | None:
    low, high = cupboard.bounds
    for module in layout.modules:
        if module.use and module.use.kind == "counter":
            least, most = module.bounds
            along = np.minimum(high, most)[:2] - np.maximum(low, least)[:2]
            if (along > _HAIR).all() and along.max() > _AT_COUNTER:
                return module
    return None


def _set_back(cupboard: Module, counter: Module) -> float:
    """Return how far the cupboard's face stands behind that of the counter, mm."""
    way = counter.frame.away
    return max(0.0, float((cupboard.frame.origin[:2] - counter.frame.origin[:2]) @ way))
