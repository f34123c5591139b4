"""Which cuts tell a layout best: two heights and three stations at most."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Final

from tumblehome.fitout.module import solid_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from tumblehome.checks import Finding
    from tumblehome.fitout import Layout, Module

__all__ = ["telling_heights", "telling_stations"]

_COUNTER: Final = 900.0
"""Height of a kitchen's counter, mm; common practice, no published source."""
_BELOW_COUNTER: Final = 60.0
"""How far below its top the counter's cabinet is cut, mm: below the board, above what stands lower."""
_KNEE: Final = 300.0
"""A plan lower than this, mm, shows feet and not furniture."""
_APART: Final = 100.0
"""Two cuts nearer to each other than this, mm, tell the same twice."""
_TRIED: Final = 10
"""So many steps to either side a cut gives way to the faces of modules."""
_HEIGHTS: Final = 2
_STATIONS: Final = 3


def telling_heights(layout: Layout, step: float) -> list[float]:
    """Return a height through the counter and one through the most modules, rising, in whole steps (mm) where they can be."""
    counter = _counter(layout)
    wanted = [] if counter is None else [_within(layout, counter.bounds[1][2] - _BELOW_COUNTER, counter, 2, step)]
    busiest = _busiest(layout, step)
    return _apart([*wanted, *busiest], _HEIGHTS)


def telling_stations(layout: Layout, findings: Sequence[Finding], step: float) -> list[float]:
    """Return stations through what fouls, the counter, the tallest module, then the last, rising, likewise."""
    wanted = [at for finding in findings if (at := _foul_station(layout, finding, step)) is not None]
    tallest = max(layout.modules, key=lambda m: (float(m.bounds[1][2] - m.bounds[0][2]), m.name), default=None)
    modules = (module for module in (_counter(layout), tallest, *layout.modules[-1:]) if module is not None)
    wanted += [_within(layout, float(module.center[0]), module, 0, step) for module in modules]
    return _apart(wanted, _STATIONS)


def _counter(layout: Layout) -> Module | None:
    """Return the longest module that stands on the floor and is about as high as a counter."""
    low = (m for m in layout.modules if m.parent is None and m.bounds[0][2] < 1.0)
    near = [m for m in low if abs(float(m.bounds[1][2]) - _COUNTER) <= 0.15 * _COUNTER]
    return max(near, key=lambda m: (m.wide, m.name), default=None)


def _busiest(layout: Layout, step: float) -> list[float]:
    """Return heights midway between where modules begin and end, those that cut the most modules first, of equals the highest."""
    modules = [m for m in layout.modules if m.parent is None]
    ends = sorted({_KNEE, *(float(bound[2]) for m in modules for bound in m.bounds if bound[2] > _KNEE)})
    spans = [(a, b, sum(m.bounds[0][2] <= a and m.bounds[1][2] >= b for m in modules)) for a, b in pairwise(ends)]
    spans.sort(key=lambda span: (-span[2], -span[0]))
    return [_rounded((a + b) / 2, a, b, step) for a, b, count in spans if count]


def _foul_station(layout: Layout, finding: Finding, step: float) -> float | None:
    """Return a station through the middle of what fouls."""
    if finding.verdict != "fouls" or finding.where is None:
        return None
    module = layout.module(finding.subject)
    outside = solid_of(module.body, module.name) - layout.shell.void
    if module.parent is not None or outside.is_empty or finding.question in {zone.name for zone in module.zones}:
        return finding.where[0]
    low, high = outside.pieces()[0].bounds
    return _rounded(float(low[0] + high[0]) / 2, float(low[0]), float(high[0]), step)


def _within(layout: Layout, at: float, module: Module, axis: int, step: float) -> float:
    """Return a whole number of steps near a coordinate that cuts a module and runs along no module's face, else the coordinate."""
    low, high = (float(bound[axis]) for bound in module.bounds)
    faces = [float(bound[axis]) for m in layout.modules for bound in m.bounds]
    near = sorted((round(at / step) + k for k in range(-_TRIED, _TRIED + 1)), key=lambda n: abs(n * step - at))
    clear = (n * step for n in near if low < n * step < high and all(abs(n * step - f) >= step / 2 for f in faces))
    return next(clear, _rounded(min(max(at, low), high), low, high, step))


def _rounded(at: float, low: float, high: float, step: float) -> float:
    """Return a whole number of steps near a coordinate if that stays within its span, else the coordinate."""
    whole = round(at / step) * step
    return whole if low < whole < high else at


def _apart(wanted: Iterable[float], most: int) -> list[float]:
    """Return the first few that are not near an earlier one, rising."""
    kept: list[float] = []
    for at in wanted:
        if len(kept) < most and all(abs(at - other) >= _APART for other in kept):
            kept.append(at)
    return sorted(kept)
