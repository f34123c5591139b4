"""A chart of one curve of a study: what stops a module, drawn as the wall, its members and its recesses stop it.

The curve's own length (a height, or a station) keeps its scale; the reach towards the wall is drawn so many times as large
that differences of a finger's breadth are seen.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property
from math import ceil, floor
from typing import TYPE_CHECKING, Final, Literal

import numpy as np
import shapely

from tumblehome.drawing.cutplane import CutPlane
from tumblehome.drawing.model import Area, Path, Text
from tumblehome.drawing.palette import FOOTNOTE
from tumblehome.drawing.regions import joined, less, pieces
from tumblehome.drawing.sheet import sheet_for
from tumblehome.lengths import format_length
from tumblehome.records import dataclass

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from tumblehome.drawing.model import Drawing, Item, Point
    from tumblehome.studies import Profile, Study

__all__ = ["Chart", "Scale", "fitted"]

Units = Literal["mm", "in"]

_STEPS: Final = {"mm": (200.0, 1000.0), "in": (152.4, 914.4)}
"""Between the rules of the curve's own length, and between the heavier ones, mm: those of all drawings."""
_FINE: Final = {"mm": (10.0, 20.0, 50.0, 100.0, 200.0), "in": (12.7, 25.4, 50.8, 101.6, 152.4)}
"""Between the rules of the reach, mm: the first that leaves room for their labels."""
_LABEL_ROOM: Final = 11.0
_TICK: Final = 1.4
_AWAY: Final = 2.4
"""Millimeters of paper: between labels of the reach, how long a tick is, and from the chart to a tick's label."""


def fitted(drawn: Callable[[float], Drawing]) -> Drawing:
    """Return a drawing at the scale at which it fits: ``drawn`` makes it for so many millimeters to one of paper."""
    mm = 1.0
    while True:
        drawing = drawn(mm)
        needed = float(sheet_for(drawing).scale)
        if needed <= mm:
            return drawing
        mm = needed


@dataclass(frozen=True)
class Scale:
    """What the labels count: of the reach from where, mm of half-breadth, and which way; and the words for both scales."""

    zero: float
    sense: int
    reach_words: str
    length_words: str


@dataclass(frozen=True, eq=False)
class Chart:
    """One curve of a study over a span of heights (``upright``) or stations, and a span of half-breadths.

    ``curve`` picks it from a study: asked of the shell without its members, and without its recesses too, it tells what
    each of them costs and gives.
    """

    study: Study
    curve: Callable[[Study], Profile]
    upright: bool
    span: tuple[float, float]
    reach: tuple[float, float]
    times: int
    scale: Scale
    units: Units

    # ---- where things lie ----

    def point(self, t: float, reach: float) -> Point:
        """Return where a height or station and a half-breadth lie in the drawing."""
        across = self.study.sign * self.times * reach
        return (across, t) if self.upright else (t, across)

    def box(self, t: tuple[float, float], reach: tuple[float, float]) -> shapely.Polygon:
        """Return a rectangle of the drawing."""
        (a, b), (c, d) = self.point(t[0], reach[0]), self.point(t[1], reach[1])
        return shapely.box(min(a, c), min(b, d), max(a, c), max(b, d))

    @property
    def plane(self) -> CutPlane:
        """The plane in which notes beside it stand: breadth is the reach as drawn, along is the curve's own length."""
        return CutPlane(0 if self.upright else 2, 0.0)

    @cached_property
    def frame(self) -> shapely.Polygon:
        """All of the chart."""
        return self.box(self.span, self.reach)

    # ---- what is drawn ----

    @cached_property
    def _without(self) -> tuple[Study, Study]:
        """The study in the shell without members, and without recesses too."""
        shell = self.study.layout.shell
        members = [part.name for part in shell.parts if not part.gives]
        recesses = [part.name for part in shell.parts if part.gives]
        bare, plain = (
            replace(self.study, layout=replace(self.study.layout, shell=shell.without(*names)))
            for names in (members, [*members, *recesses])
        )
        return bare, plain

    @cached_property
    def profile(self) -> Profile:
        """The curve."""
        return self.curve(self.study).clipped(*self.span)

    @cached_property
    def blocked(self) -> shapely.Geometry:
        """Where the module cannot go, as drawn."""
        return self._beyond(self.study)

    @cached_property
    def _wall(self) -> shapely.Geometry:
        return self._beyond(self._without[0])

    def _beyond(self, study: Study, causes: Iterable[str] | None = None) -> shapely.Geometry:
        """Return what lies beyond a curve, of all its stretches or of those with some causes."""
        found = self.curve(study).clipped(*self.span).pieces
        kept = [p for p in found if causes is None or study.name_of(p) in causes]
        far = max(self.reach[1], *(max(p.low, p.high) for p in found)) + 1.0
        corners = [[(p.start, p.low), (p.end, p.high), (p.end, far), (p.start, far)] for p in kept]
        return joined(shapely.Polygon([self.point(*corner) for corner in ring]) for ring in corners) & self.frame

    def pockets(self) -> Iterator[tuple[str, list[shapely.Polygon]]]:
        """Yield what each recess gives, as drawn, by name, where no member stands before it."""
        bare, plain = self._without
        given = less(self._beyond(plain), [self._wall])
        for name in self._causes(bare, gives=True):
            strip = joined(
                self.box((p.start, p.end), self.reach) for p in self.curve(bare).pieces if bare.name_of(p) == name
            )
            yield name, pieces(less(given & strip, [self.blocked]))

    def bumps(self) -> Iterator[tuple[str, list[shapely.Polygon]]]:
        """Yield what each member takes, as drawn, by name."""
        for name in self._causes(self.study, gives=False):
            yield name, pieces(less(self._beyond(self.study, {name}), [self._wall]))

    def _causes(self, study: Study, *, gives: bool) -> list[str]:
        causes = dict.fromkeys(study.name_of(piece) for piece in self.curve(study).clipped(*self.span).pieces)
        return [part.name for part in self.study.layout.shell.parts if part.gives == gives and part.name in causes]

    def ground(self) -> Iterator[Item]:
        """Yield the wall, what is free before it, its recesses and its members."""
        yield from (Area.of_polygon("lining", polygon) for polygon in pieces(self._wall))
        yield from (Area.of_polygon("air", polygon) for polygon in pieces(less(self.frame, [self._wall])))
        for layer, found in (("recess", self.pockets()), ("member", self.bumps())):
            yield from (Area.of_polygon(layer, polygon) for _, polygons in found for polygon in polygons)

    def ticks(self, mm: float) -> Iterator[Item]:
        """Yield the scales: the curve's own length at the open side's edge or along the base, the reach at the other one."""
        x0, y0, x1, _ = self.frame.bounds
        step, heavy = _STEPS[self.units]
        at_right = self.upright and self.study.sign < 0
        for t in _multiples(*self.span, step):
            crowded = step / mm < _LABEL_ROOM and abs(t / heavy - round(t / heavy)) > 1e-6
            words = "" if crowded else format_length(t, self.units)
            yield from (
                self._side(words, t, x1 if at_right else x0, mm) if self.upright else self._base(words, t, y0, mm)
            )
        for shown, reach in self._reaches(mm):
            x, y = self.point(0.0, reach)
            words = format_length(shown, self.units)
            yield from self._base(words, x, y0, mm) if self.upright else self._side(words, y, x0, mm)
        yield from self._words(mm, at_right=at_right)

    def _side(self, words: str, up: float, edge: float, mm: float) -> Iterator[Item]:
        """Yield a tick at an upright edge and its label."""
        way = 1 if edge > self.frame.centroid.x else -1
        yield Path("contour", [(edge, up), (edge + way * _TICK * mm, up)])
        yield Text("rule", (edge + way * _AWAY * mm, up), words, FOOTNOTE, "start" if way > 0 else "end")

    def _base(self, words: str, across: float, edge: float, mm: float) -> Iterator[Item]:
        """Yield a tick at the base and its label."""
        yield Path("contour", [(across, edge), (across, edge - _TICK * mm)])
        yield Text("rule", (across, edge - (_AWAY + 0.5 * FOOTNOTE) * mm), words, FOOTNOTE)

    def _words(self, mm: float, *, at_right: bool) -> Iterator[Text]:
        """Yield what the two scales are, in words."""
        x0, y0, x1, y1 = self.frame.bounds
        base, side = (self.scale.reach_words, self.scale.length_words)[:: 1 if self.upright else -1]
        yield Text("rule", ((x0 + x1) / 2, y0 - (_AWAY + 2.2 * FOOTNOTE) * mm), base, FOOTNOTE)
        above = y1 + 1.5 * FOOTNOTE * mm
        yield Text("rule", (x1 if at_right else x0, above), side, FOOTNOTE, "end" if at_right else "start")

    def _reaches(self, mm: float) -> list[tuple[float, float]]:
        """Return the ticks of the reach from its zero on: what each is labeled, and where it lies."""
        zero, sense = self.scale.zero, self.scale.sense
        step = next((s for s in _FINE[self.units] if s * self.times / mm >= _LABEL_ROOM), _FINE[self.units][-1])
        most = max(sense * (reach - zero) for reach in self.reach)
        return [(shown, zero + sense * shown) for shown in _multiples(0.0, most, step)]

    def line(self, profile: Profile) -> list[list[Point]]:
        """Return a curve as the lines that are seen of it, with its jumps."""
        corners = [(t, v) for p in profile.clipped(*self.span).pieces for t, v in ((p.start, p.low), (p.end, p.high))]
        if len(corners) < 2:
            return []
        seen = shapely.LineString([self.point(*corner) for corner in corners]) & self.frame
        parts = shapely.get_parts(shapely.line_merge(seen) if seen.geom_type == "MultiLineString" else seen)
        return [
            np.asarray(part.coords).tolist()
            for part in parts.tolist()
            if part.geom_type == "LineString" and part.length
        ]


def _multiples(low: float, high: float, step: float) -> list[float]:
    return [i * step for i in range(ceil(low / step - 1e-6), floor(high / step + 1e-6) + 1)]
