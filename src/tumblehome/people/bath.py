"""Is there room to stand, turn and step in, in a bath?"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np
import shapely

from tumblehome.checks.finding import Finding, verdict_of
from tumblehome.lengths import shown
from tumblehome.people.person import SOURCE
from tumblehome.people.words import fit, joined, said
from tumblehome.room import DIRECTIONS
from tumblehome.sweep import Prism
from tumblehome.tolerances import EDGE

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tumblehome.checks.finding import Verdict
    from tumblehome.fitout import Layout, Module
    from tumblehome.people.person import Person

__all__ = ["check_bath", "net_at"]

_INCH: Final = 25.4
_NET: Final = (38 * _INCH, 42 * _INCH)
"""What a wet bath measures inside where there is room for it, mm: common practice, no published source."""
_OPENING: Final = 22 * _INCH
"""A single door's opening is 22 to 24 in wide, mm: common practice, no published source."""
_TRAY: Final = 500.0
"""A bath that is no higher than this is a tray: its walls are a curtain, mm."""
_PRACTICE: Final = "common practice, no published source"


def check_bath(layout: Layout, person: Person) -> Iterator[Finding]:
    """Yield for each bath its net size at the floor, at the hips, shoulders and head, its headroom, and its opening.

    A larger bath is better but no rule asks for one, so its size is told and not judged; what a body cannot get into is at fault.
    """
    for module in layout.modules:
        if module.use and module.use.kind == "bath":
            yield _net(layout, module, person)
            yield _headroom(layout, module, person)
            if module.use.opening:
                yield _opening(layout, module, person)


def net_at(bath: Module, height: float) -> tuple[float, float] | None:
    """Return the net size inside a bath at a height above the floor, mm: along its face and away from it; None beyond it.

    It is the largest extent of what its walls leave there; a stack of boxes steps in as the wall leans in.
    """
    here = [shapely.Polygon(p.outline) for p in bath.hull if p.bottom - EDGE <= height <= p.top + EDGE]
    inside = shapely.buffer(shapely.union_all(here), -bath.panel, join_style="mitre") if here else shapely.Polygon()
    if inside.is_empty:
        return None
    corners = shapely.get_coordinates(inside) - bath.frame.origin[:2]
    across, away = np.ptp(corners @ bath.frame.right), np.ptp(corners @ bath.frame.away)
    return float(across), float(away)


def _heights(bath: Module, person: Person) -> dict[str, float]:
    foot = float(bath.bounds[0][2]) + bath.panel
    return {"floor": foot, "hip": person.waist_height, "shoulder": person.shoulder_height, "head": person.stature}


def _net(layout: Layout, bath: Module, person: Person) -> Finding:
    del layout
    sizes = {name: net_at(bath, height) for name, height in _heights(bath, person).items()}

    def words(units: str) -> str:
        told = [f"{name} {_by(size, units)}" for name, size in sizes.items() if size]
        return f"net {joined(told)}; where there is room, {_by(_NET, units)}"

    return Finding(bath.name, "net size", "clear", source=_PRACTICE, said=said(words))


def _by(size: tuple[float, float], units: str) -> str:
    one, other = (shown(value, units) for value in size)
    return f"{one.removesuffix(' mm')} × {other}"


def _headroom(layout: Layout, bath: Module, person: Person) -> Finding:
    if bath.high > _TRAY:
        room = bath.high - 2 * bath.panel
    else:
        low, high = bath.bounds
        plate = Prism.box([*low[:2], high[2]], [*high[:2], high[2] + 1.0])
        reached = layout.room.journey((plate,), DIRECTIONS["up"][0], ignoring={bath.name}).reach(1.0)
        room = (reached.distance if reached else 0.0) + 1.0 + bath.high - bath.panel
    return fit(
        bath.name, "headroom standing", room, (person.small.stature, person.stature), layout.shell.measured_to,
        "inside", source=f"{SOURCE}, percentiles {person.small.percentile} to {person.percentile}", comfort=True,
    )  # fmt: skip


def _opening(layout: Layout, bath: Module, person: Person) -> Finding:
    opening = bath.use.opening if bath.use else None
    wide = opening.wide if opening else 0.0
    tolerance, least = layout.shell.measured_to, person.belly_depth

    def words(units: str) -> str:
        body = "too narrow even sideways" if wide < least else "only sideways" if wide < person.hip_breadth else ""
        usual = f"a single door opens {shown(_OPENING, units)} to {shown(24 * _INCH, units)}"
        return "; ".join(filter(None, [f"{shown(wide, units)} clear", body, usual]))

    verdict: Verdict = "fouls" if wide < least else "tight" if wide < _OPENING else verdict_of(wide - least, tolerance)
    return Finding(
        bath.name,
        "way in",
        verdict,
        wide,
        least,
        source=f"{_PRACTICE}; {SOURCE}",
        tolerance=tolerance,
        said=said(words),
    )
