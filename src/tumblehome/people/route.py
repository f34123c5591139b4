"""Does the aisle keep the rule on an accessible route, with its short pinches?"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Final

from tumblehome.lengths import shown
from tumblehome.people.gauge import INCH
from tumblehome.people.profile import meeting
from tumblehome.records import dataclass

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tumblehome.people.profile import Stretch

__all__ = ["Fault", "route_faults"]

_WIDE, _NARROW, _LONGEST, _APART = 36 * INCH, 32 * INCH, 24 * INCH, 48 * INCH
_TOUCH: Final = 1e-6
"""Lengths that differ by less than this are the same, mm."""


@dataclass(frozen=True)
class Fault:
    """What a route breaks between two stations, mm: it is too "narrow", a pinch is too "long", or two are too "near"."""

    kind: str
    start: float
    end: float

    def words(self, units: str) -> str:
        """Say it, lengths in the units asked for."""
        start, end, long = (shown(mm, units) for mm in (self.start, self.end, self.end - self.start))
        if self.kind == "narrow":
            return f"under {shown(_NARROW, units)} from {start} to {end}"
        if self.kind == "long":
            return f"under {shown(_WIDE, units)} for {long} from {start} on, more than {shown(_LONGEST, units)}"
        return f"two pinches only {long} apart at {start}, less than {shown(_APART, units)}"


def route_faults(widths: Sequence[Stretch]) -> list[Fault]:
    """Return what of ADA 2010 403.5.1 a route breaks.

    A route is 36 in wide; it may be 32 in for at most 24 in of its length, and such pinches lie at least 48 in apart.

    Parameters
    ----------
    widths : along the route
    """
    narrow = meeting([span for each in widths if (span := each.under(_NARROW - _TOUCH))])
    pinches = meeting([span for each in widths if (span := each.under(_WIDE - _TOUCH))])
    long = [(a, b) for a, b in pinches if b - a > _LONGEST + _TOUCH]
    near = [(b, c) for (_, b), (c, _) in pairwise(pinches) if c - b < _APART - _TOUCH]
    return [Fault(kind, a, b) for kind, spans in (("narrow", narrow), ("long", long), ("near", near)) for a, b in spans]
