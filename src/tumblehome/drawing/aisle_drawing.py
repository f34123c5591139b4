"""The aisle as a client sees it: the plan with where two can pass, and below it how wide the aisle is at each station."""

from __future__ import annotations

from functools import cached_property
from math import ceil, floor
from typing import TYPE_CHECKING, Final, Literal

import shapely

from tumblehome.drawing.cutplane import CutPlane
from tumblehome.drawing.cutscene import CutScene
from tumblehome.drawing.model import Area, Dimension, Drawing, Label, Note, Path, Text
from tumblehome.drawing.palette import BODY, FOOTNOTE, SMALL
from tumblehome.drawing.planview import members_within, shadow
from tumblehome.drawing.regions import joined, less, pieces, room_in
from tumblehome.drawing.sidenotes import lettered
from tumblehome.drawing.text import text_width
from tumblehome.lengths import format_length
from tumblehome.people.aisle import check_aisle, pinch_of, upright
from tumblehome.people.gauge import STEPPED_OVER, body, turned
from tumblehome.people.ground import Floor
from tumblehome.people.passing import check_passing, passing_places, passing_width
from tumblehome.people.profile import meeting, widths_along
from tumblehome.records import dataclass

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tumblehome.drawing.model import Item
    from tumblehome.fitout import Layout
    from tumblehome.people.person import Person
    from tumblehome.people.profile import Stretch

__all__ = ["draw_aisle"]

Units = Literal["mm", "in"]

_STEPS: Final = {"mm": (200.0, 1000.0), "in": (152.4, 914.4)}
"""Between the rules, and between the heavier ones, mm: those of all drawings."""
_TALLEST: Final = 1800.0
"""What is wider than this, mm, is not drawn: it is wide for everybody."""
_CUT: Final = 850.0
"""The height at which the walls of the plan are cut, mm: below counters and over seats."""
_LEAST: Final = 1e-3
"""Stretches shorter than this are none, mm."""
_BETWEEN: Final = 14.0
_KEY: Final = 9.0
_AWAY: Final = 2.4
_CLEAR: Final = 1.0
_LABELS: Final = 12.0
"""Millimeters of paper: between plan and chart, how long a line in the key is, from the chart to a label of a scale, what a name
keeps clear of the edges of its thing, and the least from one label of a scale to the next."""


def draw_aisle(layout: Layout, person: Person, units: Units = "mm") -> Drawing:
    """Draw the aisle of a layout in its mode.

    Parameters
    ----------
    layout : in one of its modes
    person : for whom it is
    units : "mm" or "in"

    Returns
    -------
    Drawing
        Above the plan: modules by what they cover from the step up to the shoulders, the aisle at hip height shaded, and the
        stretches in which two people pass marked. Below at the same scale the width of the aisle by station, at the feet, the hips
        and the shoulders, with what one who goes sideways, one who faces forward, and two who pass need.
    """
    picture = _Picture(layout, person, units)
    plain = Drawing(
        title=f"The aisle: {layout.title}",
        subtitle=picture.subtitle,
        items=tuple(picture.ground()),
        notes=tuple(picture.notes()),
        rules=None,
    )
    return lettered(plain, picture.items)


@dataclass(frozen=True, eq=False)
class _Picture:
    layout: Layout
    person: Person
    units: Units

    # ---- what is known ----

    @cached_property
    def _floor(self) -> Floor:
        return Floor(self.layout, closed=True)

    @cached_property
    def _opened(self) -> Floor:
        return Floor(self.layout)

    @cached_property
    def _heights(self) -> tuple[float, float]:
        """From the step up to the shoulders."""
        slabs = body(upright(self.person, self._floor)).slabs
        return slabs[0].low, slabs[-1].high

    @cached_property
    def _curves(self) -> dict[str, tuple[str, list[Stretch]]]:
        """For feet, hips and shoulders the layer of the curve, and the widths along the aisle."""
        hip, shoulder = body(upright(self.person, self._floor)).slabs
        heights = ((0.0, STEPPED_OVER), (hip.low, hip.high), (shoulder.low, shoulder.high))
        named = zip(("feet", "hips", "shoulders"), ("ghost", "contour", "accent"), heights, strict=True)
        return {name: (layer, self._within(widths_along(self._floor, span))) for name, layer, span in named}

    def _within(self, stretches: list[Stretch]) -> list[Stretch]:
        """Return what of stretches lies along the aisle."""
        return [
            each.between(max(each.start, a), min(each.end, b))
            for each in stretches
            for a, b in self._aisle
            if min(each.end, b) - max(each.start, a) > _LEAST
        ]

    @cached_property
    def _aisle(self) -> list[tuple[float, float]]:
        """The stations at which somebody can be between what stands left and right, at least sideways."""
        hip, deep = body(upright(self.person, self._floor)).slabs[0], self.person.body_depth
        wide = (each.at_least(deep) for each in widths_along(self._floor, (hip.low, hip.high)))
        return [(a, b) for a, b in meeting([span for span in wide if span]) if b - a >= deep]

    @property
    def _top(self) -> float:
        """The width that the chart ends at, mm."""
        step, _ = _STEPS[self.units]
        widest = max((w for _, found in self._curves.values() for each in found for w in each.widths), default=step)
        return min(ceil(widest / step) * step, _TALLEST)

    @cached_property
    def _needs(self) -> list[tuple[str, float]]:
        """What somebody needs, in words, and how wide it is, mm."""
        deep, broad = (max(slab.width for slab in each(self.person).slabs) for each in (turned, body))
        return [("one goes sideways", deep), ("one walks", broad), ("two pass", passing_width(self.person))]

    @cached_property
    def _passing(self) -> list[tuple[float, float]]:
        return passing_places(self._floor, self.person)

    @property
    def subtitle(self) -> str:
        """What is seen."""
        low, high = (self._length(v) for v in self._heights)
        return (
            "Looking down, the front at the left, the van's right side at the top. "
            f"What stands in the way between heights {low} and {high}. "
            f"Below, how wide the aisle is by station; bodies of percentile {self.person.percentile}."
        )

    def notes(self) -> Iterator[Note]:
        """Yield what was found about the aisle."""
        for found in (*check_aisle(self._opened, self.person), *check_passing(self._floor, self.person)):
            yield Note(f"{found.question}: {found.words(self.units)}", found.verdict)

    def _length(self, mm: float) -> str:
        return format_length(mm, self.units) + (" mm" if self.units == "mm" else "")

    # ---- the plan ----

    def ground(self) -> Iterator[Item]:
        """Yield the walls and the aisle, and the frame of the chart."""
        shell = self.layout.shell
        scene = CutScene(shell, (), CutPlane.through(shell, min(_CUT, shell.heights[1] - 1.0), None, self.units))
        for layer, polygons in (("steel", scene.steel), ("lining", scene.lining), ("air", scene.void)):
            yield from (Area.of_polygon(layer, polygon) for polygon in polygons)
        for polygons in scene.openings.values():
            yield from (Path("ghost", polygon.exterior.coords[:-1], closed=True) for polygon in polygons)
        _, hips = self._curves["hips"]
        yield from (Area.of_polygon("swept", polygon) for polygon in pieces(_run(hips)))
        for span in self._passing:
            stretches = [
                each.between(max(each.start, span[0]), min(each.end, span[1])) for each in hips if _meets(each, span)
            ]
            yield from (Area.of_polygon("recess", polygon) for polygon in pieces(_run(stretches)))
        for _, polygons in members_within(scene, self._heights):
            yield from (Area.of_polygon("member", polygon) for polygon in polygons)
        yield Path("contour", self._frame(1.0).exterior.coords[:-1], closed=True)

    def items(self, mm: float) -> Iterator[Item]:
        """Yield everything at a scale."""
        *plan, _ = self.ground()
        yield from plan
        yield from self._modules(mm)
        yield from self._pinch()
        yield from self._chart(mm)

    def _modules(self, mm: float) -> Iterator[Item]:
        """Yield the modules by what is seen of them, the highest first, each with its name where there is room."""
        standing = [module for module in self.layout.modules if module.parent is None]
        covered: shapely.Geometry = shapely.Polygon()
        for module in sorted(standing, key=lambda each: -float(each.bounds[1][2])):
            shape = shadow(module.solid, self._heights)
            for i, polygon in enumerate(pieces(less(shape, [covered]))):
                yield Area.of_polygon("module", polygon, None if i else _label(module.name, polygon, mm))
            covered = joined([covered, shape])

    def _pinch(self) -> Iterator[Item]:
        """Yield the narrowest place for somebody who walks."""
        gate = pinch_of(self._opened, self.person)
        if gate is not None:
            (ax, ay), (bx, by) = (end.tolist() for end in gate.ends)
            yield Dimension((ax, ay), (bx, by), "", format_length(gate.width, self.units))

    # ---- the chart ----

    def _frame(self, mm: float) -> shapely.Polygon:
        (start, end), top = self.layout.shell.stations, float(self.layout.shell.lined.around[0][1])
        top -= _BETWEEN * mm
        return shapely.box(start, top - self._top, end, top)

    def _chart(self, mm: float) -> Iterator[Item]:
        """Yield the widths by station, with what they are held against."""
        frame = self._frame(mm)
        x0, y0, x1, y1 = frame.bounds
        yield from self._scales(frame, mm)
        for start, end in self._passing:
            yield Area.of_polygon("recess", shapely.box(start, y0, end, y1))
            words = f"two pass along {self._length(end - start)}"
            yield Text("recess", ((start + end) / 2, y0 + (SMALL / 2 + _CLEAR) * mm), words, SMALL)
        for words, needed in self._needs:
            yield Path("person", [(x0, y0 + needed), (x1, y0 + needed)])
            at = (x1 - _CLEAR * mm, y0 + needed + (SMALL / 2 + _CLEAR / 2) * mm)
            yield Text("rule", at, f"{words}: {self._length(needed)}", SMALL, "end", background=True)
        for i, (name, (layer, stretches)) in enumerate(self._curves.items()):
            yield from self._curve(layer, stretches, frame)
            x, y = x1 - (3 - i) * (_KEY * 3) * mm, y1 + FOOTNOTE * mm
            yield Path(layer, [(x, y), (x + _KEY * mm, y)])
            yield Text("rule", (x + (_KEY + _CLEAR) * mm, y), name, FOOTNOTE, "start")
        yield Path("contour", frame.exterior.coords[:-1], closed=True)

    def _scales(self, frame: shapely.Polygon, mm: float) -> Iterator[Item]:
        """Yield the rules and their labels: widths up the side, stations along the base."""
        x0, y0, x1, y1 = frame.bounds
        step, heavy = _STEPS[self.units]
        for width in _multiples(0.0, self._top, step):
            yield Path("rule", [(x0, y0 + width), (x1, y0 + width)])
            yield Text("rule", (x0 - _AWAY * mm, y0 + width), format_length(width, self.units), FOOTNOTE, "end")
        for station in _multiples(x0, x1, step):
            yield Path("rule", [(station, y0), (station, y1)])
            if step / mm >= _LABELS or abs(station / heavy - round(station / heavy)) < 1e-6:
                at = (station, y0 - (_AWAY + 0.5 * FOOTNOTE) * mm)
                yield Text("rule", at, format_length(station, self.units), FOOTNOTE)
        yield Text("rule", ((x0 + x1) / 2, y0 - (_AWAY + 2.2 * FOOTNOTE) * mm), "station", FOOTNOTE)
        yield Text("rule", (x0, y1 + FOOTNOTE * mm), "width of the aisle", FOOTNOTE, "start")

    def _curve(self, layer: str, stretches: list[Stretch], frame: shapely.Polygon) -> Iterator[Item]:
        """Yield a curve of widths, with its jumps, where it lies in the frame."""
        base = frame.bounds[1]
        for start, end in self._aisle:
            along = [each for each in stretches if start - _LEAST < each.start and each.end < end + _LEAST]
            points = [(at, base + w) for s in along for at, w in zip((s.start, s.end), s.widths, strict=True)]
            if len(points) > 1:
                seen = shapely.intersection(shapely.LineString(points), frame)
                lines = shapely.get_parts(shapely.line_merge(seen) if seen.geom_type == "MultiLineString" else seen)
                yield from (Path(layer, line.coords) for line in lines.tolist() if line.geom_type == "LineString")


def _label(name: str, polygon: shapely.Polygon, mm: float) -> Label | None:
    """Return a name on its thing, on one line or on two, where it has room."""
    first, _, rest = name.partition(" ")
    for line, note in ((name, ""), (first, rest)):
        wide = max(text_width(line, BODY, bold=True), text_width(note, SMALL)) + 2 * _CLEAR
        high = BODY + (1.25 * SMALL if note else 0.0) + 2 * _CLEAR
        at = room_in(polygon, wide * mm, high * mm)
        if at:
            return Label(line, note, at)
    return None


def _run(stretches: list[Stretch]) -> shapely.Geometry:
    """Return the runs of stretches in plan."""
    corners = (
        [(s.start, s.left[0]), (s.end, s.left[1]), (s.end, s.right[1]), (s.start, s.right[0])] for s in stretches
    )
    return joined(shapely.Polygon(ring) for ring in corners)


def _meets(stretch: Stretch, span: tuple[float, float]) -> bool:
    return min(stretch.end, span[1]) - max(stretch.start, span[0]) > _LEAST


def _multiples(low: float, high: float, step: float) -> list[float]:
    return [i * step for i in range(ceil(low / step - 1e-6), floor(high / step + 1e-6) + 1)]
