"""Rows of widths, as text and as plain data: what ``width`` and ``section`` show alike."""

from __future__ import annotations

from math import ceil, floor
from typing import TYPE_CHECKING, Final

import tumblehome as th
from tumblehome.cli.terminal import table
from tumblehome.cli.wording import length_shown, rounded, span_shown, within_shown
from tumblehome.records import dataclass
from tumblehome.tolerances import CONTACT

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tumblehome.cli.wording import Shown, Span

__all__ = [
    "Place",
    "centerline_run",
    "free_run_words",
    "inside",
    "over_heights",
    "over_stations",
    "widths_table",
]

_STEPS: Final = {"mm": 200.0, "in": 152.4}
"""Between the round stations and heights of a table, mm: the same as the rules of the drawings."""


@dataclass(frozen=True, eq=False)
class Place:
    """An interval of heights and one of stations, each perhaps a single one, and the free width throughout them."""

    heights: Span
    stations: Span
    width: th.Width

    @classmethod
    def of(cls, space: th.Shell | th.Layout, heights: Span, stations: Span) -> Place:
        """Ask the space."""
        return cls(heights, stations, th.width(space, heights=heights, stations=stations))

    def as_dict(self) -> dict[str, object]:
        """Return it as plain data, lengths in mm, angles in degrees."""
        sides = {
            side: _limit_as_dict(limit) for side, limit in (("left", self.width.left), ("right", self.width.right))
        }
        usable = None if self.width.usable is None else round(self.width.usable, 6)
        spans = {"heights": list(self.heights), "stations": list(self.stations)}
        return {**spans, "usable": usable, **sides, "blocked_by": self.width.blocked_by}

    def cells(self, units: Shown) -> tuple[str, ...]:
        """Return the usable width, then for each side the half-breadth, the lean and what limits it."""
        if self.width.left is None or self.width.right is None:
            return ("-", "", "", f"nothing free: {self.width.blocked_by}", "", "", "")
        limits = (self.width.left, self.width.right)
        sides = [(length_shown(limit.half_breadth, units), _lean(limit), limit.part) for limit in limits]
        return (length_shown(self.width.usable, units), *sides[0], *sides[1])


def inside(word: str, asked: Span, ends: Span, units: Shown) -> Span:
    """Return the interval of heights or stations that is asked for, a rounding beyond the interior's ends taken off.

    Raises InputError, with the ends, for one that leaves the interior by more; ``word`` is "height" or "station".
    """
    low, high = (min(max(at, ends[0]), ends[1]) for at in asked)
    if max(low - asked[0], asked[1] - high) > CONTACT:
        at, there = span_shown(asked, units), within_shown(ends, units)
        raise th.InputError(f"there is no interior at {word} {at}; it has {word}s {there}")
    return low, high


def _lean(limit: th.Limit) -> str:
    return f"{round(limit.lean, 1) + 0.0:.1f}°"  # adding zero takes the sign off a negative one


def _lean_words(limit: th.Limit) -> str:
    """Say how a wall leans; below half of the tenth of a degree that is shown it stands upright."""
    if abs(limit.lean) < 0.05:
        return "upright"
    return f"leaning {'in' if limit.lean > 0 else 'out'} by {abs(limit.lean):.1f}°"


def _limit_as_dict(limit: th.Limit | None) -> dict[str, object] | None:
    if limit is None:
        return None
    at = [round(float(v), 6) for v in limit.at]
    return rounded({"half_breadth": limit.half_breadth, "part": limit.part, "at": at, "lean": limit.lean})


def over_stations(space: th.Shell | th.Layout, heights: Span, units: Shown) -> list[Place]:
    """Return the widths at the round stations of the space."""
    return [Place.of(space, heights, (x, x)) for x in _round_places(space.stations, _STEPS[units])]


def over_heights(space: th.Shell | th.Layout, stations: Span, units: Shown, every: int = 1) -> list[Place]:
    """Return the widths at the round heights of the shell from its floor up, ``every`` so many steps."""
    above_floor = (max(0.0, space.heights[0]), space.heights[1])
    return [Place.of(space, (z, z), stations) for z in _round_places(above_floor, every * _STEPS[units])]


def _round_places(span: Span, step: float) -> list[float]:
    return [i * step for i in range(ceil(span[0] / step - 1e-9), floor(span[1] / step + 1e-9) + 1)]


def centerline_run(space: th.Shell | th.Layout, heights: Span) -> Place | None:
    """Return the width throughout the longest stretch of stations that is free on the centerline, or None."""
    low, high = heights
    run = th.free_run(space, low) if low == high else _run_in_band(space, heights)
    return None if run is None else Place.of(space, heights, run)


def _run_in_band(space: th.Shell | th.Layout, heights: Span) -> Span | None:
    from shapely import LineString  # noqa: PLC0415  (only this question needs it)

    low, high = space.stations
    centerline = LineString([(low - 1.0, 0.0), (high + 1.0, 0.0)])
    pieces = [piece.intersection(centerline) for piece in th.band(space, heights=heights).polygons]
    runs = [
        (part.bounds[0], part.bounds[2]) for piece in pieces for part in getattr(piece, "geoms", [piece]) if part.length
    ]
    return max(runs, key=lambda run: run[1] - run[0], default=None)


def widths_table(first: str, rows: Sequence[tuple[str, Place]], units: Shown) -> str:
    """Return a table of widths; each row begins with the words for where it was taken."""
    header = (first, "usable", "left", "lean", "left limit", "right", "lean", "right limit")
    return table(header, [(words, *place.cells(units)) for words, place in rows], right=(0, 1, 2, 3, 5, 6))


def free_run_words(run: Place, units: Shown) -> str:
    """Say how wide a straight way down the centerline is throughout its free run, and what makes it no wider."""
    words = [
        f"free run, stations {span_shown(run.stations, units)}: {length_shown(run.width.usable, units)} throughout"
    ]
    for side, limit in (("left", run.width.left), ("right", run.width.right)):
        if limit is not None:
            where = f"{limit.part} at station {length_shown(float(limit.at[0]), units)}, {_lean_words(limit)}"
            words.append(f"  {side} {length_shown(limit.half_breadth, units)}: {where}")
    return "\n".join(words)
