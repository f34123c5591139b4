"""How wide is the aisle at each station, floor to shoulder: exact, straight between the stations where it bends."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Final

import numpy as np

from tumblehome.records import dataclass
from tumblehome.solids import following

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from tumblehome.people.ground import Floor

    Floats = NDArray[np.float64]
    _Run = tuple[tuple[float, float], tuple[float, float]]

__all__ = ["Stretch", "abreast", "meeting", "widths_along"]

_SAME: Final = 1e-6
"""Stations nearer than this are one, mm."""


@dataclass(frozen=True)
class Stretch:
    """A stretch of stations over which the widest free run across the van changes evenly: mm.

    ``left`` and ``right`` are the breadths of its sides at its start and its end.
    """

    start: float
    end: float
    left: tuple[float, float]
    right: tuple[float, float]

    @property
    def widths(self) -> tuple[float, float]:
        """The width at its start and at its end."""
        return self.right[0] - self.left[0], self.right[1] - self.left[1]

    def between(self, start: float, end: float) -> Stretch:
        """Return the part of it from one station to another within it, mm."""
        shares = [(at - self.start) / (self.end - self.start) for at in (start, end)]
        left, right = ([_between(side, share) for share in shares] for side in (self.left, self.right))
        return Stretch(start, end, (left[0], left[1]), (right[0], right[1]))

    def at_least(self, width: float) -> tuple[float, float] | None:
        """Return the part of it, mm, in which it is so wide, or None."""
        a, b = (w - width for w in self.widths)
        return self._where(a, b) if max(a, b) >= 0 else None

    def under(self, width: float) -> tuple[float, float] | None:
        """Return the part of it, mm, in which it is narrower than that, or None."""
        a, b = (width - w for w in self.widths)
        return self._where(a, b) if max(a, b) > 0 else None

    def _where(self, a: float, b: float) -> tuple[float, float]:
        """Return where what changes evenly from ``a`` to ``b``, the greater not negative, is not negative."""
        turn = self.start if min(a, b) >= 0 else self.start + (self.end - self.start) * a / (a - b)
        return (self.start, self.end if min(a, b) >= 0 else turn) if a >= b else (turn, self.end)


def widths_along(floor: Floor, heights: tuple[float, float]) -> list[Stretch]:
    """Return the widest run that is free throughout heights, station by station, of a floor whose doorways are closed.

    Each side of the floor's outline is straight between two of its corners, so the width is, too; where another run becomes
    the widest in between, the stretch is cut there.
    """
    rings = floor.free(heights)
    if not rings:
        return []
    starts, ends = np.concatenate(rings), np.concatenate([following(ring) for ring in rings])
    stations = np.unique(starts[:, 0])
    kept = np.concatenate([stations[:1], stations[1:][np.diff(stations) > _SAME]])
    runs = _runs(starts, ends, kept)
    return [s for i, (a, b) in enumerate(pairwise(kept.tolist())) for s in _widest(runs.get(i, []), a, b)]


def _runs(starts: Floats, ends: Floats, stations: Floats) -> dict[int, list[_Run]]:
    """Return for each stretch between two stations its free runs, each with the breadths of its sides at both.

    Parameters
    ----------
    starts, ends : (n, 2) of all edges, none of which has a corner between two of the stations
    stations : (m,) rising, mm
    """
    middles = (stations[:-1] + stations[1:])[:, None] / 2
    stretch, edge = np.nonzero((starts[:, 0] < middles) != (ends[:, 0] < middles))
    p, run = starts[edge], ends[edge] - starts[edge]
    slope = run[:, 1] / run[:, 0]
    sides = [p[:, 1] + slope * (stations[stretch + i] - p[:, 0]) for i in (0, 1)]
    order = np.lexsort((sides[0] + sides[1], stretch))
    told = list(zip(*(side[order].tolist() for side in sides), strict=True))
    found: dict[int, list[_Run]] = {}
    for i, left, right in zip(stretch[order][::2].tolist(), told[::2], told[1::2], strict=True):
        found.setdefault(i, []).append((left, right))
    return found


def _widest(runs: list[_Run], a: float, b: float) -> Iterator[Stretch]:
    """Yield the stretches in which one run is the widest."""
    cuts = {a, b}
    sizes = [tuple(right[i] - left[i] for i in (0, 1)) for left, right in runs]
    for i, one in enumerate(sizes):
        for other in sizes[:i]:
            start, end = one[0] - other[0], one[1] - other[1]
            if start * end < 0:
                cuts.add(a + (b - a) * start / (start - end))
    for low, high in pairwise(sorted(cuts)):
        if runs and high - low > _SAME:
            middle = ((low + high) / 2 - a) / (b - a)
            left, right = max(runs, key=lambda run: _between(run[1], middle) - _between(run[0], middle))
            yield Stretch(a, b, left, right).between(low, high)


def _between(ends: tuple[float, float], share: float) -> float:
    return ends[0] + share * (ends[1] - ends[0])


def abreast(*along: Sequence[Stretch]) -> Iterator[list[Stretch]]:
    """Yield for several lists of stretches, each in the order of its stations, what of one of each lies abreast."""
    at = [0] * len(along)
    while all(i < len(stretches) for i, stretches in zip(at, along, strict=True)):
        across = [stretches[i] for i, stretches in zip(at, along, strict=True)]
        start, end = max(s.start for s in across), min(s.end for s in across)
        if start < end:
            yield [stretch.between(start, end) for stretch in across]
        at = [i + (s.end <= end) for i, s in zip(at, across, strict=True)]


def meeting(*spans: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return the stations that lie in one span of each of several lists, joined where they touch."""
    found = list(spans[0])
    for others in spans[1:]:
        found = [(max(a, c), min(b, d)) for a, b in found for c, d in others if min(b, d) - max(a, c) > 0]
    joined: list[tuple[float, float]] = []
    for a, b in sorted(found):
        if joined and a - joined[-1][1] <= _SAME:
            joined[-1] = (joined[-1][0], max(b, joined[-1][1]))
        else:
            joined.append((a, b))
    return joined
