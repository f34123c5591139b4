"""Where is how much width? The usable width over stations and heights, as contour lines on the van's own profile."""

from __future__ import annotations

from dataclasses import field, replace
from functools import cached_property
from math import ceil, dist, floor
from typing import TYPE_CHECKING, Final, Literal

import numpy as np
import shapely
from contourpy import contour_generator

from tumblehome.cuts.width import width
from tumblehome.drawing.cutplane import CutPlane
from tumblehome.drawing.cutscene import SKIN
from tumblehome.drawing.model import Area, Drawing, Label, Path, Rules, Text
from tumblehome.drawing.palette import BODY, FOOTNOTE, SMALL
from tumblehome.drawing.regions import joined, less, pieces, room_in, shared
from tumblehome.drawing.sidenotes import SideNote, lettered, near_edge, side_notes
from tumblehome.drawing.text import text_width
from tumblehome.errors import InputError
from tumblehome.fitout import Layout
from tumblehome.lengths import format_length
from tumblehome.records import dataclass

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from tumblehome.body.shell import Shell
    from tumblehome.cuts import WidthChart
    from tumblehome.drawing.model import Item, Point
    from tumblehome.solids import Solid

    Floats = NDArray[np.float64]

__all__ = ["draw_width_chart"]

Units = Literal["mm", "in"]

_STEPS: Final = {"mm": (100.0, 50.0, 25.0), "in": (101.6, 50.8, 25.4)}
"""From one contour line to the next, mm: 100 mm or 4 in, or a half or a quarter of it where the walls are nearly upright."""
_LINES: Final = 3
"""So many lines at least lie between the widths that a quarter of the profile does not reach and a quarter exceeds."""
_STRAIGHT: Final = 0.5
"""A contour line is drawn to this, mm; less could not be seen on paper."""
_AT_LEAST: Final = 1e-3
"""A line encloses where the width is at least its value, to this, mm: it runs along the edge of where it stays at that, too."""
_SEAM: Final = 0.2
"""Seams up to twice as wide as this are closed, mm: triangles that share an edge may part by the grid of the overlay."""
_ALIKE: Final = 0.5
"""Parts that share more than this of their side view bear one name together."""

# Millimeters of paper: what stays clear about a name beside other lines, and about one that an area bears; how near lines may
# be; how short, or narrow, a thing is left out; how far apart the values on one line are, and how long a line that bears one is.
_CLEAR: Final = 0.8
_CLEAR_IN_AREA: Final = 2.0
_NEAR: Final = 1.2
_SHORT: Final = 5.0
_NARROW: Final = 1.0
_VALUE_EVERY: Final = 70.0
_VALUED: Final = 12.0
_SIDE: Final = CutPlane(axis=2, at=0.0)
"""The side view, in which names stand in rows as on a plan: station along, height in place of breadth."""


def draw_width_chart(chart: WidthChart, thing: Shell | Layout, *, units: Units = "mm") -> Drawing:
    """Draw the usable width of a shell as contour lines over station and height, on the van's profile at the centerline.

    Parameters
    ----------
    chart : WidthChart
        Of the same thing. Between its heights and stations the width is taken to run straight.
    thing : a shell, or a layout: then what stands on the centerline is drawn too
    units : "mm" (a line every 100 mm) or "in" (every 4 in)

    Raises
    ------
    InputError
        When the chart has fewer than two heights or two stations.
    """
    if min(chart.usable.shape) < 2:
        raise InputError("a width chart needs at least two heights and two stations")
    step = _step(chart, units)
    every = format_length(step, units) + (" mm" if units == "mm" else "")
    is_built = isinstance(thing, Layout)
    shell = thing.shell if isinstance(thing, Layout) else thing
    plain = Drawing(
        title="Usable width, built" if is_built else "Usable width",
        subtitle=(
            f"the free width about the centerline, a line every {every}; brown where a member takes width, tinted where a "
            f"recess gives it{', with all modules in their places' if is_built else ''} · seen from the left, the front at the "
            f"left · {f'{thing.name}, ' if is_built else ''}{shell.name}"
        ),
        items=tuple(_profile(shell)),
        rules=Rules(units),
    )
    return lettered(plain, lambda mm: _Lettering(chart, thing, shell, units, step, mm).items())


def _step(chart: WidthChart, units: Units) -> float:
    low, high = np.nanpercentile(chart.usable, (25, 75)) if np.isfinite(chart.usable).any() else (0.0, 0.0)
    return next((step for step in _STEPS[units] if high - low >= _LINES * step), _STEPS[units][-1])


def _profile(shell: Shell) -> Iterator[Area]:
    """Yield the cut along the centerline; ahead of the first station lies the cab: no skin there."""
    bare, lined, void = (_lengthwise(solid) for solid in (shell.lined.bare, shell.lined.solid, shell.void))
    low, high = shell.lined.around
    cab = shapely.box(low[0], low[2], float(shell.lined.bare.bounds[0][0]), high[2])
    skin = less(bare.buffer(SKIN, join_style="mitre", mitre_limit=2.0), [bare, cab])
    for layer, shape in (("steel", skin), ("lining", less(bare, [lined, void])), ("air", void)):
        yield from (Area.of_polygon(layer, piece) for piece in pieces(shape))


def _lengthwise(solid: Solid) -> shapely.Geometry:
    """Return the cut along the centerline, in stations and heights."""
    rings = [shapely.LinearRing(ring[:, ::-1]) for ring in solid.slice(1, 0.0).to_polygons()]
    holes = [shapely.Polygon(ring) for ring in rings if ring.is_ccw]
    return less(joined(shapely.Polygon(ring) for ring in rings if not ring.is_ccw), holes)


@dataclass(frozen=True)
class _Region:
    """Where parts that are alike from the side take width, or give it."""

    names: tuple[str, ...]
    layer: str
    shapes: tuple[shapely.Geometry, ...]

    @cached_property
    def shape(self) -> shapely.Geometry:
        return joined(self.shapes)

    @property
    def words(self) -> tuple[str, str]:
        """Their name together and what adds to it: of a left and a right one "rib 3" and "left and right"."""
        first, *others = self.names
        if first.endswith(" left") and [first.replace("left", "right")] == others:
            return first.removesuffix(" left"), "left and right"
        return ", ".join(self.names), ""

    def is_like(self, layer: str, shape: shapely.Geometry) -> bool:
        return layer == self.layer and shared(self.shape, shape).area > _ALIKE * joined([*self.shapes, shape]).area


def _regions(shell: Shell, narrowest: float) -> list[_Region]:
    """Return the regions of all parts that are not narrower than some length, mm, in the order of painting."""
    profile = joined(_lengthwise(solid) for solid in (shell.lined.solid, shell.void))
    regions: list[_Region] = []
    for part in shell.parts:
        shape, layer = shared(_side_view(shell.solid_of(part.name)), profile), "recess" if part.gives else "member"
        if shape.buffer(-narrowest / 2).is_empty:
            continue
        like = next((i for i, region in enumerate(regions) if region.is_like(layer, shape)), len(regions))
        old = regions[like] if like < len(regions) else _Region((), layer, ())
        regions[like:] = [_Region((*old.names, part.name), layer, (*old.shapes, shape)), *regions[like + 1 :]]
    return sorted(regions, key=lambda region: -region.shape.area if region.layer == "recess" else 0.0)


def _side_view(solid: Solid) -> shapely.Geometry:
    """Return the shadow of a solid seen from the side, in stations and heights, the seams of its triangles closed."""
    corners = solid.surface.triangles[solid.surface.normals[:, 1] > 0][..., (0, 2)]
    open_seams = joined(shapely.polygons(corners))
    return open_seams.buffer(_SEAM, join_style="mitre").buffer(-_SEAM, join_style="mitre")


@dataclass(eq=False)
class _Lettering:
    """Everything in the chart, at a scale: ``mm`` is how many millimeters of the van one of paper is."""

    chart: WidthChart
    thing: Shell | Layout
    shell: Shell
    units: Units
    step: float
    mm: float
    taken: list[shapely.Geometry] = field(default_factory=list)
    """Where no value must stand."""

    def items(self) -> Iterator[Item]:
        """Yield walls, regions with their names, contour lines, and the values on them."""
        yield from _profile(self.shell)
        regions = _regions(self.shell, _NARROW * self.mm)
        if isinstance(self.thing, Layout):
            yield from self._on_the_centerline(self.thing)
            before = [_lengthwise(module.solid) for module in self.thing.modules]
            regions = [replace(each, shapes=(less(each.shape, before),)) for each in regions]
        yield from self._named(regions)
        lines = self._lines(regions, self.taken)
        self.taken.append(_lengthwise(self.shell.void).boundary)
        for level, parts in lines.items():
            yield from (Path("contour", np.asarray(part.coords)) for part in parts)
            yield from self._values(level, lines)

    # ---- regions ----

    def _named(self, regions: Sequence[_Region]) -> Iterator[Item]:
        """Yield the regions, with their names on them where there is room, else above the roof or below the floor."""
        beside = []
        for turn, region in enumerate(regions):
            edges = [shape.boundary.buffer(_CLEAR / 2 * self.mm) for shape in region.shapes if len(region.shapes) > 1]
            seen = pieces(less(region.shape, [*(other.shape for other in regions[turn + 1 :]), *edges])) or pieces(
                region.shape
            )
            label = self._label(region, seen[0])
            for i, piece in enumerate(piece for shape in region.shapes for piece in pieces(shape)):
                yield Area.of_polygon(region.layer, piece, None if i else label)
            small = (
                None
                if label or region.layer == "member"
                else self._room(seen[0], " ".join(region.words), SMALL, _CLEAR)
            )
            if small:
                yield Text(region.layer, small, " ".join(region.words).strip(), SMALL)
            elif label is None:
                beside.append(self._beside(region, seen[0]))
        low, high = (float(bound[2]) for bound in self.shell.lined.bare.bounds)
        yield from side_notes(beside, _SIDE, (low - SKIN, high + SKIN), self.mm)

    def _label(self, region: _Region, piece: shapely.Polygon) -> Label | None:
        """Return a region's name and how much is free there, as far as there is room on a piece."""
        name, sides = region.words
        for note in dict.fromkeys((", ".join(filter(None, (sides, self._free(region)))), sides)):
            wide = max(text_width(name, BODY, bold=True), text_width(note, SMALL))
            high = BODY + (1.25 * SMALL if note else 0.0)
            at = self._room(piece, wide, high, _CLEAR_IN_AREA)
            if at:
                return Label(name, note, at)
        return None

    def _room(self, piece: shapely.Polygon, words: str | float, high: float, clear: float) -> Point | None:
        """Return where words, or something of a width, have room on a piece, and keep the place from values."""
        wide = text_width(words, high) if isinstance(words, str) else words
        at = room_in(piece, (wide + 2 * clear) * self.mm, (high + 2 * clear) * self.mm)
        if at:
            self.taken.append(_box(at, wide + 2 * clear, high + 2 * clear, self.mm))
        return at

    def _on_the_centerline(self, layout: Layout) -> Iterator[Area]:
        """Yield the modules that stand on the centerline, where no width is left."""
        for module in (module for module in layout.modules if module.parent is None):
            for i, piece in enumerate(pieces(_lengthwise(module.solid))):
                at = None if i else self._room(piece, module.name, SMALL, _CLEAR)
                yield Area.of_polygon("module", piece, Label(module.name, at=at) if at else None)

    def _free(self, region: _Region) -> str:
        """Say how much is free beside members, all along and all up; what a recess gives, the lines tell."""
        x0, z0, x1, z1 = region.shape.bounds
        found = width(self.thing, heights=(z0, z1), stations=(x0, x1)).usable if region.layer == "member" else None
        return "" if found is None else f"{format_length(found, self.units)} free"

    def _beside(self, region: _Region, piece: shapely.Polygon) -> SideNote:
        low, high = (float(bound[2]) for bound in self.shell.lined.solid.bounds)
        sign = 1 if high - piece.bounds[3] < piece.bounds[1] - low else -1
        return SideNote(" ".join(region.words).strip(), *near_edge(piece, _SIDE, sign, self.mm), sign, region.layer)

    # ---- contour lines ----

    def _lines(
        self, regions: Sequence[_Region], names: Sequence[shapely.Geometry]
    ) -> dict[float, list[shapely.LineString]]:
        """Return the contour lines of each width; none over members and names, at edges where it may jump, too near others."""
        chart = self.chart
        cell = max(float(np.diff(chart.stations).max()), float(np.diff(chart.heights).max()))
        edges = [
            region.shape.buffer(cell) if region.layer == "member" else region.shape.boundary.buffer(1.5 * cell)
            for region in regions
        ]
        ends = shapely.box(chart.stations[0], chart.heights[0], chart.stations[-1], chart.heights[-1]).boundary
        hidden = joined([*edges, *names, ends.buffer(_STRAIGHT)])
        contours = contour_generator(chart.stations, chart.heights, np.ma.masked_invalid(chart.usable))
        lines: dict[float, list[shapely.LineString]] = {}
        for level in self._levels():
            drawn = [line for line in contours.lines(level - _AT_LEAST) if len(line) > 1]
            line = shapely.MultiLineString(drawn).simplify(_STRAIGHT)
            kept = shapely.get_parts(shapely.line_merge(shapely.difference(line, hidden))).tolist()
            lines[level] = [part for part in kept if part.length >= _SHORT * self.mm]
            hidden = shapely.union(hidden, shapely.MultiLineString(lines[level]).buffer(_NEAR * self.mm))
        return lines

    def _levels(self) -> list[float]:
        """Return the widths that have a line: the coarser ones first, since they stay where lines are too near."""
        low, high, coarse = np.nanmin(self.chart.usable), np.nanmax(self.chart.usable), _STEPS[self.units][0]
        counts = range(ceil(low / self.step), floor(high / self.step) + 1)
        return sorted((count * self.step for count in counts), key=lambda level: (level % coarse > _STRAIGHT, -level))

    def _values(self, level: float, lines: dict[float, list[shapely.LineString]]) -> Iterator[Text]:
        """Yield a width on its lines, where no other line and no name is near."""
        words = format_length(level, self.units)
        wide = text_width(words, FOOTNOTE) + 2 * _CLEAR
        for line in lines[level]:
            others = [other for parts in lines.values() for other in parts if other is not line]
            for at in self._spots(line, wide, others) if line.length >= _VALUED * self.mm else ():
                self.taken.append(_box(at, wide, FOOTNOTE, self.mm))
                yield Text("contour", at, words, FOOTNOTE, background=True)

    def _spots(self, line: shapely.LineString, wide: float, others: Sequence[shapely.Geometry]) -> list[Point]:
        """Return points of a line, far from one another, about which a value of some width meets nothing else."""
        count = max(round(line.length / (_SHORT * self.mm)), 2)
        points = [line.interpolate((i + 0.5) / count, normalized=True) for i in range(count)]
        blocked = shapely.union_all([*others, *self.taken])
        shapely.prepare(blocked)
        free = [
            (p.x, p.y) for p in points if not blocked.intersects(_box((p.x, p.y), wide, FOOTNOTE + _CLEAR, self.mm))
        ]
        chosen: list[Point] = []
        for spot in sorted(free, key=lambda spot: abs(spot[0] - line.centroid.x)):
            if all(dist(spot, other) > _VALUE_EVERY * self.mm for other in chosen):
                chosen.append(spot)
        return chosen


def _box(at: Point, wide: float, high: float, mm: float) -> shapely.Polygon:
    across, up = wide / 2 * mm, high / 2 * mm
    return shapely.box(at[0] - across, at[1] - up, at[0] + across, at[1] + up)
