"""What a builder wants on paper of one cut: walls, parts, modules, and the few dimensions that matter."""

from __future__ import annotations

from dataclasses import field, replace
from typing import TYPE_CHECKING, Final, Literal

import numpy as np
import shapely

from tumblehome.checks.finding import VERDICTS
from tumblehome.cuts import width
from tumblehome.drawing.cutplane import CutPlane
from tumblehome.drawing.cutscene import SKIN, CutScene
from tumblehome.drawing.model import Area, Dimension, Drawing, Label, Note, Path, Rules, Text, VerdictMark
from tumblehome.drawing.palette import BODY, SMALL
from tumblehome.drawing.regions import joined, less, pieces, room_in
from tumblehome.drawing.sidenotes import SideNote, lettered, near_edge, side_notes
from tumblehome.drawing.telling import telling_heights, telling_stations
from tumblehome.drawing.text import text_width
from tumblehome.fitout import Layout
from tumblehome.lengths import format_length
from tumblehome.records import dataclass

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Sequence

    from tumblehome.body.shell import Shell
    from tumblehome.checks import Finding
    from tumblehome.drawing.model import Item
    from tumblehome.fitout import Module

    Polygons = Sequence[shapely.Polygon]

__all__ = ["draw_section", "pane_drawing", "standard_drawings", "without"]

Units = Literal["mm", "in"]

_WORTH_NOTING: Final = 100.0
"""A clear margin above this needs no note, and a gap above this no dimension, mm."""
_TOUCHES: Final = 1.0
"""A gap up to this is none that a builder could see, mm."""
_TURNED: Final = 1e-3
"""A module whose sides run no further off along and across the van than this, per unit of length, is not turned."""
_FAR: Final = 1e6
"""Beyond every van, mm."""
_NOTES: Final = 6
"""The most findings that are noted on one sheet."""
_STEPS: Final = {"mm": 10.0, "in": 25.4}
"""The standard drawings are cut at whole multiples of these, mm."""

# Millimeters of paper: how clear a name stays of the edges of its thing, where a dimension runs above the roof, how near two
# lines may be before the hidden one is left out, and how much is kept clear about a dimension's value.
_CLEAR: Final = 2.0
_CLEAR_SMALL: Final = 0.8
_ABOVE_ROOF: Final = 6.0
_SLIVER: Final = 3.0
_ABOUT_VALUE: Final = 2.2

_VIEW: Final = {
    True: "looking down, the front at the left, the van's right side at the top",
    False: "looking forward, the van's left side at the left",
}


def draw_section(
    thing: Shell | Layout,
    *,
    height: float | None = None,
    station: float | None = None,
    width_at: float | None = None,
    hidden: Collection[str] = (),
    findings: Sequence[Finding] = (),
    units: Units = "mm",
    paper: str = "A3",
    scale: int | None = None,
) -> Drawing:
    """Draw the cut at one height (a plan, looking down, the front at the left) or one station (looking forward).

    Parameters
    ----------
    thing : Shell | Layout
        With a layout its modules are drawn, with their zones on plans.
    height, station : float, mm, one of the two; on a ledge the cut is the one just above, or just behind
    width_at : float, mm, the height at which a cross-section tells the usable width; None for a telling one
    hidden : names of modules that are only outlined; what is measured counts them
    findings : about the layout's modules; those of the modules cut are noted, the worst first, and fouls are marked
    units : "mm" or "in"
    paper, scale : as in `Drawing`

    Raises
    ------
    InputError
        When the cut lies outside the interior, with the range; unless exactly one of height and station is given.
    """
    shell, modules = (thing.shell, thing.modules) if isinstance(thing, Layout) else (thing, ())
    plane = CutPlane.through(shell, height, station, units)
    whole = CutScene(shell, modules, plane)
    scene = CutScene(shell, without(modules, hidden), plane) if hidden else whole
    name = f"{thing.title} · {shell.name}" if isinstance(thing, Layout) else shell.name
    found = tuple(findings)
    plain = replace(_plain(scene, name, findings, units), paper=paper, scale=scale)
    return lettered(plain, lambda mm: _Lettering(scene, found, units, mm, width_at=width_at, whole=whole).items())


def pane_drawing(
    scene: CutScene, findings: Sequence[Finding], units: Units, mm: float, *, whole: CutScene | None = None
) -> Drawing:
    """Return a cut as it is drawn on a pane of a screen, where one millimeter is so many of the van.

    Nothing stands beside the body, and the pane itself shows the width: words without room on their things are left to
    whoever points at them. ``whole`` is the cut with the modules that the picture leaves out: it is what is measured.
    """
    plain = _plain(scene, scene.shell.name, (), units)
    lettering = _Lettering(scene, tuple(findings), units, mm, is_pane=True, whole=whole)
    return replace(plain, items=tuple(lettering.items()))


def without(modules: Sequence[Module], hidden: Collection[str]) -> tuple[Module, ...]:
    """Return the modules but those that are hidden and what stands in them."""
    gone = set(hidden)
    while inmates := {m.name for m in modules if m.parent in gone} - gone:
        gone |= inmates
    return tuple(m for m in modules if m.name not in gone)


def _plain(scene: CutScene, name: str, findings: Sequence[Finding], units: Units) -> Drawing:
    """Return the drawing of a cut with nothing but its walls."""
    plane = scene.plane
    return Drawing(
        title=f"{'Plan at height' if plane.is_plan else 'Station'} {format_length(plane.at, units)}",
        subtitle=f"{_VIEW[plane.is_plan]} · {name}",
        items=tuple(_walls(scene)),
        notes=tuple(_notes(scene, findings, units)),
        rules=Rules(units, "half-breadth", "station") if plane.is_plan else Rules(units, "height", "half-breadth"),
    )


def standard_drawings(layout: Layout, findings: Sequence[Finding], units: Units = "mm") -> dict[str, Drawing]:
    """Return the plans and cross-sections that tell a layout best, by names such as "plan-850" and "section-1880".

    At most two plans (through the counter, through the most modules) and three cross-sections (through what fouls, the
    counter, the tallest module). In inches the names end in "in".
    """
    step = _STEPS[units]
    drawings = {}
    for at in telling_heights(layout, step):
        drawings[_name("plan", at, units)] = draw_section(layout, height=at, findings=findings, units=units)
    for at in telling_stations(layout, findings, step):
        drawings[_name("section", at, units)] = draw_section(layout, station=at, findings=findings, units=units)
    return drawings


def _name(kind: str, at: float, units: Units) -> str:
    return f"{kind}-{at:.0f}" if units == "mm" else f"{kind}-{at / 25.4:.0f}in"


def _walls(scene: CutScene) -> Iterator[Item]:
    for layer, polygons in (("steel", scene.steel), ("lining", scene.lining), ("air", scene.void)):
        yield from (Area.of_polygon(layer, polygon) for polygon in polygons)
    for polygons in scene.openings.values():
        for polygon in polygons:
            yield from _outlines(polygon)


@dataclass(eq=False)
class _Lettering:
    """Everything that one cut shows, at a scale: ``mm`` is how many millimeters of the van one of paper is."""

    scene: CutScene
    findings: tuple[Finding, ...]
    units: Units
    mm: float
    is_pane: bool = False
    """Whether it stands on a pane of a screen, with nothing beside the body."""
    width_at: float | None = None
    """The height at which a cross-section tells the usable width, mm; None for a telling one."""
    whole: CutScene | None = None
    """The cut with the modules that are left out of the picture, which is measured; None where none is left out."""
    beside: list[SideNote] = field(default_factory=list)
    """Words that found no room on their own things."""
    taken: list[shapely.Geometry] = field(default_factory=list)
    """Where quiet names must not stand."""

    def items(self) -> Iterator[Item]:
        """Yield what is filled, then what is drawn over it."""
        yield from _walls(self.scene)
        yield from self._things()
        yield from self._dimensions()
        yield from self._left_out()
        yield from self._hidden()
        yield from self._doors_within() if self.is_pane else (*self._rear_doors(), *self._side_notes())
        yield from self._marks()

    def _side_notes(self) -> Iterator[Item]:
        self.beside += [*self._gaps(), *self._side_doors()]
        x0, y0, x1, y1 = _skin_box(self.scene)
        edges = (y0, y1) if self.scene.plane.is_plan else (x0, x1)
        yield from side_notes(self.beside, self.scene.plane, edges, self.mm)

    def _things(self) -> Iterator[Item]:
        """Yield parts, the person and modules, with names on them where there is room."""
        scene = self.scene
        for name in scene.parts:
            yield from self._thing(name, "recess" if scene.shell.part(name).gives else "member", scene.parts[name])
        person = (self.whole or scene).person
        if person is not None:
            self.taken.append(person)
            yield Area.of_polygon("person", person)
        for name in scene.cut:
            yield from self._thing(name, "module", scene.seen_of(name), self._size(scene.by_name[name]))

    def _thing(self, name: str, layer: str, shown: Polygons, note: str = "") -> Iterator[Item]:
        """Yield a thing's areas and its name: on it, small on it, or beside; nothing names what is all covered."""
        seen = self.scene.seen_of(name)
        label = self._label(name, note, seen[0]) if seen else None
        small = (
            self._room(seen[0], text_width(name, SMALL), SMALL, _CLEAR_SMALL) if seen and layer != "member" else None
        )
        if seen and not label and not small:
            label = self._beside(name, layer, seen[0])
        for i, polygon in enumerate(shown):
            yield Area.of_polygon(layer, polygon, None if i else label)
        if small and not label:
            yield Text(layer, small, name, SMALL)

    def _beside(self, name: str, layer: str, piece: shapely.Polygon) -> Label | None:
        """Have a thing's name stand beside the body; where modules stand between, return it to stand near the thing."""
        if self.is_pane:
            return None
        plane = self.scene.plane
        low, high = piece.bounds[1:4:2] if plane.is_plan else piece.bounds[0:4:2]
        sign = 1 if low + high > -_TOUCHES else -1
        breadth, along = near_edge(piece, plane, sign, self.mm)
        way = shapely.LineString([plane.point(breadth, along), plane.point(sign * _FAR, along)])
        others = [p for other, cut in self.scene.outer.items() if other != name for p in cut]
        if layer == "module" and self.scene.by_name[name].parent is None and way.intersects(joined(others)):
            return Label(name)
        self.beside.append(SideNote(name, breadth, along, sign, layer))
        return None

    def _label(self, name: str, note: str, piece: shapely.Polygon) -> Label | None:
        """Return the name, and the note where it fits too, to stand on a piece; None without room."""
        for words in (note, "") if note else ("",):
            wide = max(text_width(name, BODY, bold=True), text_width(words, SMALL))
            at = self._room(piece, wide, BODY + (1.25 * SMALL if words else 0.0), _CLEAR)
            if at:
                return Label(name, words, at)
        return None

    def _room(self, piece: shapely.Polygon, wide: float, high: float, clear: float) -> tuple[float, float] | None:
        return room_in(piece, (wide + 2 * clear) * self.mm, (high + 2 * clear) * self.mm)

    def _size(self, module: Module) -> str:
        """Return a module's size as it is cut: across the sheet by up it, turned its own; or how deep it is scribed."""
        low_x, low_y, high_x, high_y = shapely.total_bounds(list(self.scene.cut[module.name]))
        across, up = high_x - low_x, high_y - low_y
        if module.kind == "scribed":
            return f"scribed, {format_length(up if self.scene.plane.is_plan else across, self.units)} deep"
        if self.scene.plane.is_plan and min(np.abs(module.frame.right)) > _TURNED:
            across, up = module.wide, module.deep
        return f"{format_length(across, self.units)} × {format_length(up, self.units)}"

    # ---- dimensions ----

    def _dimensions(self) -> Iterator[Dimension]:
        if not self.scene.plane.is_plan and not self.is_pane:
            yield from self._width()
        plane, shell = self.scene.plane, self.scene.shell
        low, high = shell.stations if plane.is_plan else shell.heights
        way = (self.whole or self.scene).aisle((low + high) / 2 if plane.is_plan else low + (high - low) / 3)
        if way:
            a, b = plane.point(way.low, way.along), plane.point(way.high, way.along)
            self.taken.append(shapely.LineString([a, b]).buffer(_ABOUT_VALUE * self.mm))
            yield Dimension(a, b, "aisle", format_length(way.size, self.units))

    def _width(self) -> Iterator[Dimension]:
        """Yield the usable width at the height that was asked for, or a telling one, above the roof."""
        shell = self.scene.shell
        at = _telling_height(shell, self.units) if self.width_at is None else self.width_at
        found = width(shell, height=at, station=self.scene.plane.at)
        if found.left and found.right and found.usable is not None:
            top = _skin_box(self.scene)[3] + _ABOVE_ROOF * self.mm
            a, b = (-found.left.half_breadth, at), (found.right.half_breadth, at)
            meaning = f"width at {format_length(at, self.units)}:"
            yield Dimension(a, b, meaning, format_length(found.usable, self.units), offset=top - at)

    def _gaps(self) -> Iterator[SideNote]:
        """Yield the gaps between rigid modules and the wall beside them; the same gap twice is told once."""
        told: set[tuple[int, str]] = set()
        for name in self.scene.outer:
            for sign in (-1, 1) if self.scene.by_name[name].kind == "rigid" else ():
                gap = self.scene.wall_gap(name, sign)
                words = f"gap {format_length(gap.size, self.units)}" if gap else ""
                if gap and _TOUCHES < gap.size <= _WORTH_NOTING and (sign, words) not in told:
                    told.add((sign, words))
                    yield SideNote(words, (gap.low + gap.high) / 2, gap.along, sign, "dimension")

    # ---- outlines and marks ----

    def _hidden(self) -> Iterator[Item]:
        """Yield outlines of what fouls, of the zones, and of the modules behind the cut, with names where they fit."""
        for polygon in self.scene.fouled():
            yield from _outlines(polygon)
        for zone, polygons in self.scene.zones():
            yield from self._ghost(zone.name, polygons)
        for name, polygons in self.scene.behind():
            yield from self._ghost(name, [p for p in polygons if not p.buffer(-_SLIVER * self.mm / 2).is_empty])

    def _left_out(self) -> Iterator[Item]:
        """Yield outlines of the modules that are left out of the picture, as what is measured may end at them."""
        for name, polygons in self.whole.outer.items() if self.whole else ():
            if name not in self.scene.by_name:
                yield from self._ghost(f"{name} (hidden)", polygons)

    def _ghost(self, name: str, polygons: Polygons) -> Iterator[Item]:
        for polygon in polygons:
            yield from _outlines(polygon)
        wide = text_width(name, SMALL)
        for piece in pieces(less(joined(polygons), self.taken))[:1]:
            at = self._room(piece, wide, SMALL, _CLEAR_SMALL)
            if at:
                words = shapely.box(-wide, -SMALL, wide, SMALL)
                self.taken.append(shapely.transform(words, lambda xy: xy * self.mm / 2 + at))  # noqa: B023 : called at once
                yield Text("rule", at, name, SMALL)

    def _side_doors(self) -> Iterator[SideNote]:
        """Yield the names of the side doorways, beside them."""
        for door in self.scene.doorways if self.scene.plane.is_plan else ():
            if door.side != "rear":
                sign = 1 if door.side == "right" else -1
                yield SideNote(door.name, 0.0, sum(door.span) / 2, sign, "rule", leader=False)

    def _doors_within(self) -> Iterator[Text]:
        """Yield the names of the side doorways of a plan, just inside of them."""
        for door in self.scene.doorways if self.scene.plane.is_plan else ():
            ways = self.scene.openings[door.name]
            if door.side != "rear" and ways:
                sign = 1 if door.side == "right" else -1
                inner = min(sign * y for way in ways for y in way.bounds[1:4:2])
                yield Text("rule", (sum(door.span) / 2, sign * (inner - SMALL * self.mm)), door.name, SMALL)

    def _rear_doors(self) -> Iterator[Text]:
        far = _skin_box(self.scene)[2] + 2 * self.mm
        for door in self.scene.doorways:
            if door.side == "rear":
                at = (far + text_width(door.name, SMALL) * self.mm, sum(door.span) / 2 + SMALL * self.mm)
                yield Text("rule", at, door.name, SMALL, "end")

    def _marks(self) -> Iterator[VerdictMark]:
        """Yield a mark for each foul that the cut passes through, on what it shows of it."""
        for finding in self.findings:
            if finding.verdict == "fouls" and finding.where and finding.subject in self.scene.by_name:
                shown = self.scene.foul(finding.subject, finding.question, finding.cause)
                where = shapely.Point(self.scene.plane.flat(finding.where))
                nearest = min(shown, key=where.distance, default=None)
                if nearest is not None:
                    x, y = shapely.get_coordinates(shapely.shortest_line(nearest, where))[0].tolist()
                    yield VerdictMark((x, y), "fouls")


def _notes(scene: CutScene, findings: Sequence[Finding], units: Units) -> Iterator[Note]:
    """Yield the findings of the modules that are cut, the worst first; clear ones only where something is near."""
    told = [f for f in findings if f.subject in scene.cut and (f.verdict != "clear" or _is_close(f))]
    told.sort(key=lambda f: (-VERDICTS.index(f.verdict), f.margin if f.margin is not None else 0.0))
    for finding in told[:_NOTES]:
        zones = {zone.name for zone in scene.by_name[finding.subject].zones}
        about = f", {finding.question}" if finding.question in zones else ""
        yield Note(f"{finding.subject}{about}: {finding.words(units)}", finding.verdict)


def _is_close(finding: Finding) -> bool:
    return finding.cause is not None and finding.margin is not None and finding.margin <= _WORTH_NOTING


def _telling_height(shell: Shell, units: Units) -> float:
    """Return 1200 mm (48 in), or where the roof is lower than 1700 mm a round height at three fifths of it."""
    top = shell.heights[1]
    step, usual = (100.0, 1200.0) if units == "mm" else (50.8, 1219.2)
    return usual if top > 1700.0 else step * float(np.floor(0.6 * top / step))


def _skin_box(scene: CutScene) -> tuple[float, ...]:
    """Return the least and the greatest coordinates of the whole body's skin in the plane: x, y, x, y."""
    low, high = scene.shell.lined.bare.bounds
    return tuple(map(float, scene.plane.box(low - SKIN, high + SKIN).bounds))


def _outlines(polygon: shapely.Polygon) -> Iterator[Path]:
    for ring in (polygon.exterior, *polygon.interiors):
        yield Path("ghost", np.asarray(ring.coords)[:-1], closed=True)
