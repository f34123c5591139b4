"""Where along the aisle can somebody stand upright, and what is lowest there?"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from tumblehome.checks.finding import Finding
from tumblehome.lengths import shown
from tumblehome.people.aisle import upright
from tumblehome.people.gauge import STEPPED_OVER, body
from tumblehome.people.person import SOURCE
from tumblehome.people.profile import meeting, widths_along
from tumblehome.people.words import joined, said
from tumblehome.sweep import Prism

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tumblehome.people.ground import Floor
    from tumblehome.people.person import Person
    from tumblehome.people.profile import Stretch

__all__ = ["check_headroom", "headrooms"]

_TALL: Final = 72 * 25.4
"""Interior height on the centerline, mm: COMAR 11.19.02.18.B, guidance."""
_HALF: Final = 50.0
"""Half of the strip along the middle of the aisle that is looked at, mm: somebody's head, who leans to neither side."""
_HAIR: Final = 1e-3


def headrooms(floor: Floor, person: Person) -> list[tuple[float, float, float, str]]:
    """Return along the middle of the aisle (start, end, height, what is lowest): mm, and a name.

    Parameters
    ----------
    floor : with its doorways closed
    person : the aisle is what is at least as wide as the hips; the head stays half a body's depth away from its ends
    """
    found = []
    waist, half = body(person).slabs[0].high, person.belly_depth / 2
    stretches = [
        (s, span) for s in widths_along(floor, (STEPPED_OVER, waist)) if (span := s.at_least(person.hip_breadth))
    ]
    aisle = [(a + half, b - half) for a, b in meeting([span for _, span in stretches])]
    for stretch, (start, end) in stretches:
        for a, b in aisle:
            span = (max(a, start), min(b, end))
            if span[1] - span[0] > _HAIR and (reached := _above(floor, stretch, span, waist)):
                found.append((*span, *reached))
    return found


def _above(floor: Floor, stretch: Stretch, span: tuple[float, float], waist: float) -> tuple[float, str] | None:
    middle = (sum(stretch.left) + sum(stretch.right)) / 4
    strip = Prism.box([span[0], middle - _HALF, waist - _HAIR], [span[1], middle + _HALF, waist - _HAIR])
    reached = floor.layout.room.journey((strip,), 2).reach(1.0)
    return None if reached is None else (waist - _HAIR + reached.distance, reached.part)


def check_headroom(floor: Floor, person: Person) -> Iterator[Finding]:
    """Yield where in the aisle the person stands upright, barefoot, and what is lowest along it."""
    found = headrooms(floor, upright(person, floor))
    if not found:
        return
    *_, height, part = min(found, key=lambda each: each[2])
    standing = meeting([(a, b) for a, b, high, _ in found if high >= person.stature])

    def words(units: str) -> str:
        lowest = f"{shown(height, units)} under {part} at the lowest"
        if height >= person.stature:
            return f"{lowest}; one stands upright all along"
        where = joined([f"from {shown(a, units)} to {shown(b, units)}" for a, b in standing])
        return f"{lowest}; one stands upright {where or 'nowhere'}; {shown(_TALL, units)} is asked of buses"

    tolerance = floor.layout.shell.tolerance_of([part])
    yield Finding(
        "aisle", "headroom", "clear" if height >= person.stature + tolerance else "tight", height, person.stature,
        cause=part, source=f"{SOURCE}, percentile {person.percentile}; COMAR 11.19.02.18.B: 72 in", tolerance=tolerance,
        said=said(words),
    )  # fmt: skip
