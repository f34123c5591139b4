"""A study as a client sees it: how tall, where along the wall, and what the alternative would look like."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final, Literal

import shapely

from tumblehome.drawing.cutplane import CutPlane
from tumblehome.drawing.cutscene import CutScene
from tumblehome.drawing.model import Area, Dimension, Drawing, Label, Note, Path, Text
from tumblehome.drawing.palette import BODY, SMALL
from tumblehome.drawing.regions import joined, less, pieces, room_in
from tumblehome.drawing.section_drawing import draw_section
from tumblehome.drawing.sidenotes import SideNote, side_notes
from tumblehome.drawing.studychart import Chart, Scale, fitted
from tumblehome.drawing.text import text_width
from tumblehome.fitout.module import solid_of
from tumblehome.lengths import format_length, volume_words
from tumblehome.records import dataclass
from tumblehome.studies import is_barred, sentences
from tumblehome.tolerances import CONTACT, EDGE

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tumblehome.drawing.model import Item, Point
    from tumblehome.solids import Solid
    from tumblehome.studies import Place, Profile, Study
    from tumblehome.sweep import Prism

__all__ = ["draw_alternative", "draw_depth_by_height", "draw_slide"]

Units = Literal["mm", "in"]
Span = tuple[float, float]

_MOST_TIMES: Final = 5
"""The reach is drawn at most so many times as large as heights or stations."""
_TALL_SHARE: Final = 1.0
"""How wide a chart by height is at most, as a share of its height."""
_LONG_SHARE: Final = 0.6
"""How high a chart along the wall is at most, as a share of its length."""
_FARTHEST_OUT: Final = 350.0
"""Where a wall pushes a module further out than this, mm, a chart does not follow it."""
_ABOVE: Final = 7.0
_BODY: Final = 54.0
_BESIDE: Final = 16.0
_INSIDE: Final = 5.0
_NAME: Final = 2.5
"""Millimeters of paper: from a chart to a dimension beside it, how much of a module's body is shown, how much of the wall
and of the aisle beside a curve along the wall, from a module's foot or top to a dimension taken there, and from a member to
its name beside it."""
_NUMBER_WORDS: Final = {2: "twice", 3: "three times", 4: "four times", 5: "five times"}


def draw_depth_by_height(study: Study, units: Units, top: Span | None = None) -> Drawing:
    """Draw how far a module must stand out from the wall by the height of its top; of a scribed one, how deep it is.

    Parameters
    ----------
    study : Study
    units : "mm" or "in"
    top : mm, from which height of its top to which; by default from its foot to the roof

    Returns
    -------
    Drawing
        Heights keep their scale. The curve has the wall, members and recesses that cause it in their colors, with their
        names; the module as it stands is outlined in the accent color, as tall as the roof allows it is dashed.
    """
    tall = _ScribedByHeight(study, units, top) if study.module.kind == "scribed" else _RigidByHeight(study, units, top)
    return fitted(tall.drawing)


def draw_slide(study: Study, units: Units, span: Span | None = None) -> Drawing:
    """Draw how far a module's back can go as it is slid along its wall, by the station of its front end.

    Parameters
    ----------
    study : Study
    units : "mm" or "in"
    span : mm, from which station of its front end to which; by default the whole wall

    Returns
    -------
    Drawing
        Stations keep their scale. Recesses and members have their colors and names; each recess that it drops into tells
        the play that it has there, and its place of today is marked in the accent color.
    """
    return fitted(_Slide(study, units, span).drawing)


def _length(mm: float, units: Units) -> str:
    return format_length(mm, units) + (" mm" if units == "mm" else "")


def _notes(study: Study, units: Units) -> tuple[Note, ...]:
    """Return the study's sentences, first of all why a module was studied that fouls."""
    fouls = [Note(f"{study.reason}; studied all the same", "fouls")] if study.reason else []
    return (*fouls, *(Note(words) for words in sentences(study, units)))


def _times(size: float, room: float) -> int:
    """Return how many times as large the reach is drawn: as large as the room allows."""
    return max(1, min(_MOST_TIMES, int(room / size)))


def _kept_off(study: Study, units: Units) -> str:
    gap = study.module.gap
    return f" Its back stays {_length(gap, units)} off what stops it." if gap > CONTACT else ""


def _no_further(study: Study, units: Units) -> Iterator[Note]:
    """Yield how tall it can be without coming out, where that is more than it is."""
    found = study.greatest_height()
    if found and found[0] > study.top - study.foot + study.layout.shell.measured_to:
        yield Note(f"Without coming further out it can be {_length(found[0], units)} high: {found[1]}.")


def _enlarged(times: int, what: str) -> str:
    return f" Depths are drawn {_NUMBER_WORDS[times]} as large as {what}." if times > 1 else ""


# ---- by height ----


@dataclass(frozen=True, eq=False)
class _RigidByHeight:
    """How far a rigid module is pushed out, by the height of its top."""

    study: Study
    units: Units
    top: Span | None

    @property
    def span(self) -> Span:
        """The heights that are shown, mm."""
        low, high = self.top or (self.study.foot, self.study.by_top.span[1])
        return max(low, self.study.foot), min(high, self.study.by_top.span[1])

    @property
    def needed(self) -> float:
        """The half-breadth that the wall must leave for its back where it stands, mm."""
        return self.study.back + self.study.module.gap

    @property
    def full(self) -> tuple[float, float, str] | None:
        """The full height, where it is shown."""
        full = self.study.full_height
        return full if full and full[0] <= self.span[1] + CONTACT else None

    def chart(self, mm: float) -> Chart:
        """Return the chart, wide enough for the alternative's back and some of its body."""
        study, high = self.study, self.span[1] - self.span[0]
        found = study.by_height.clipped(*self.span).pieces
        least = study.by_top.clipped(*self.span).pieces[-1].high
        out = self.full[1] if self.full else min(self.needed - least, study.aisle, _FARTHEST_OUT)
        far = max(self.needed, *(max(p.low, p.high) for p in found))
        size = max(1.1 * (far - self.needed + max(out, 0.0)), 0.04 * high)
        times = _times(size, _TALL_SHARE * high - _BODY * mm)
        near = self.needed - max(out, 0.0) - _BODY * mm / times
        scale = Scale(study.back, -1, "how much further out than its back stands today", "height of its top")
        return Chart(study, lambda s: s.by_height, True, self.span, (near, far + 0.09 * size), times, scale, self.units)

    def drawing(self, mm: float) -> Drawing:
        """Return the drawing, its words laid out for a scale."""
        chart, name = self.chart(mm), self.study.module.name
        wall = f"the {self.study.side} wall and what stands proud of it"
        words = f"The higher its top, the further {wall} push its back into the aisle."
        backs = {round(float((self.study.sign * prism.outline[:, 1]).max()), 3) for prism in self.study.body}
        stepped = " Its back is stepped, and the wall is drawn as its steps meet it." if len(backs) > 1 else ""
        return Drawing(
            title=f"How tall can it be: {name}",
            subtitle=words + stepped + _kept_off(self.study, self.units) + _enlarged(chart.times, "heights"),
            items=tuple(self._items(chart, mm)),
            notes=(*_notes(self.study, self.units), *_no_further(self.study, self.units)),
            rules=None,
        )

    def _items(self, chart: Chart, mm: float) -> Iterator[Item]:
        yield from chart.ticks(mm)
        yield from chart.ground()
        yield from self._today(chart, mm)
        if self.full:
            yield from self._taller(chart, *self.full[:2], mm)
        yield from (Path("air", line) for line in chart.line(self.study.by_top))
        yield from _causes(chart, self.study.by_top, mm)

    def _today(self, chart: Chart, mm: float) -> Iterator[Item]:
        """Yield the module as it stands; a low one is told above its top."""
        study = self.study
        for polygon in pieces(chart.box((study.foot, study.top), (chart.reach[0], study.back)) & chart.frame):
            yield Area.of_polygon("accent", polygon)
            low, high = polygon.bounds[1::2]
            up = (low + high) / 2 if high - low > 6 * SMALL * mm else high + 3 * SMALL * mm
            words = (
                f"{_length(study.top, self.units)} high",
                f"leaves {_length(study.aisle, self.units)} of the aisle",
            )
            yield from _told_at(
                chart.point(up, chart.reach[0] + _BODY * mm / chart.times / 2), ("as it stands", *words), mm
            )

    def _taller(self, chart: Chart, top: float, cost: float, mm: float) -> Iterator[Item]:
        """Yield the module run up to the roof, dashed, and what that costs above the chart."""
        study = self.study
        yield from _outlines("ghost", chart.box((study.foot, top), (chart.reach[0], study.back - cost)) & chart.frame)
        words = (f"{_length(top, self.units)} high", f"leaves {_left(study, cost, self.units)} of the aisle")
        at = chart.point((max(study.top, self.span[0]) + top) / 2, chart.reach[0] + _BODY * mm / chart.times / 2)
        yield from _told_at(at, ("run up", *words), mm)
        if cost > CONTACT:
            a, b = sorted(chart.point(top, back) for back in (study.back, study.back - cost))
            yield Dimension(a, b, "costs", _length(cost, self.units), offset=self.span[1] - top + _ABOVE * mm)


def _told_at(at: Point, lines: Sequence[str], mm: float) -> Iterator[Text]:
    """Yield lines about a point, the first one bold."""
    for i, line in enumerate(lines):
        up = at[1] + ((len(lines) - 1) / 2 - i) * 1.35 * SMALL * mm
        yield Text("dimension", (at[0], up), line, SMALL, bold=i == 0)


@dataclass(frozen=True, eq=False)
class _ScribedByHeight:
    """How deep a scribed cabinet is inside, by height."""

    study: Study
    units: Units
    top: Span | None

    @property
    def span(self) -> Span:
        """The heights that are shown, mm."""
        ends = self.study.by_height.clipped(self.study.foot, float("inf")).span
        low, high = self.top or ends
        return max(low, ends[0]), min(high, ends[1])

    @property
    def face(self) -> float:
        """The half-breadth of its face, mm."""
        return self.study.face

    def chart(self) -> Chart:
        """Return the chart, from before its face to the wall."""
        found = self.study.by_height.clipped(*self.span).pieces
        far = max(max(p.low, p.high) for p in found)
        reach = (self.face - 0.12 * (far - self.face), far + 0.08 * (far - self.face))
        times = _times(reach[1] - reach[0], _TALL_SHARE * (self.span[1] - self.span[0]))
        scale = Scale(self.face + self.study.module.gap + self.study.module.panel, 1, "how deep inside", "height")
        return Chart(self.study, lambda s: s.by_height, True, self.span, reach, times, scale, self.units)

    def drawing(self, mm: float) -> Drawing:
        """Return the drawing, its words laid out for a scale."""
        chart = self.chart()
        words = f"Its back follows the {self.study.side} wall. What a box can be deep at a height ends at the line."
        return Drawing(
            title=f"How deep is it at each height: {self.study.module.name}",
            subtitle=words + _enlarged(chart.times, "heights"),
            items=tuple(self._items(chart, mm)),
            notes=_notes(self.study, self.units),
            rules=None,
        )

    def _items(self, chart: Chart, mm: float) -> Iterator[Item]:
        study = self.study
        yield from chart.ticks(mm)
        yield from chart.ground()
        free = less(chart.box((study.foot, study.top), (self.face, chart.reach[1])), [chart.blocked]) & chart.frame
        for polygon in pieces(free)[:1]:
            inside = study.module.inner
            words = f"{volume_words(inside.volume / 1e6, self.units)} inside" if inside else ""
            yield Area.of_polygon("accent", polygon, Label("as it stands", words))
        yield from self._taller(chart, mm)
        yield from self._depths(chart, mm)
        yield from _causes(chart, study.by_height, mm)

    def _taller(self, chart: Chart, mm: float) -> Iterator[Item]:
        """Yield it run up to the roof, and how deep it is there."""
        run_up = self.study.scribed_height
        if run_up is None or run_up[0] > self.span[1] + CONTACT:
            return
        top, deep, _ = run_up
        free = less(chart.box((self.study.foot, top), (self.face, chart.reach[1])), [chart.blocked])
        yield from _outlines("ghost", pieces(free)[0])
        words, above = f"run up to {_length(top, self.units)}:", self.span[1] - top + _ABOVE * mm
        if deep:
            yield self._depth(chart, top, deep, words, above)
        else:
            yield Text("dimension", chart.point(top + above, self.face), f"{words} no depth left", SMALL)

    def _depths(self, chart: Chart, mm: float) -> Iterator[Dimension]:
        """Yield its least and its greatest depth."""
        study = self.study
        found = study.by_height.clipped(max(study.foot, self.span[0]), min(study.top, self.span[1])).pieces
        corners = [(v, t) for p in found for v, t in ((p.low, p.start), (p.high, p.end))]
        for _, height in sorted({min(corners), max(corners)}) if corners else ():
            deep = study.depth_at(height)
            if deep is not None and deep > CONTACT:
                aside = _INSIDE * mm * ((height < study.foot + CONTACT) - (height > study.top - CONTACT))
                yield self._depth(chart, height, deep, "deep", aside)

    def _depth(self, chart: Chart, height: float, deep: float, meaning: str, offset: float) -> Dimension:
        start = chart.scale.zero
        a, b = sorted(chart.point(height, reach) for reach in (start, start + deep))
        return Dimension(a, b, meaning, _length(deep, self.units), offset=offset)


@dataclass(frozen=True)
class _Run:
    """A stretch of a curve because of one part: from where to where, and its reach there, mm."""

    name: str
    start: float
    end: float
    low: float
    high: float


def _runs(chart: Chart, profile: Profile) -> list[_Run]:
    """Return the seen stretches of a curve, neighbors of one cause made one."""
    runs: list[_Run] = []
    for piece in profile.clipped(*chart.span).pieces:
        name = chart.study.name_of(piece)
        if piece.low < chart.reach[0]:
            continue
        if runs and runs[-1].name == name and piece.start - runs[-1].end <= CONTACT:
            runs[-1] = replace(runs[-1], end=piece.end, high=piece.high)
        else:
            runs.append(_Run(name, piece.start, piece.end, piece.low, piece.high))
    return runs


def _causes(chart: Chart, profile: Profile, mm: float) -> Iterator[Item]:
    """Yield what causes a curve by height, beside the wall, each name with a line to its stretch."""
    parts = {part.name: part for part in chart.study.layout.shell.parts}
    notes = []
    for run in _runs(chart, profile):
        middle = (run.start + run.end) / 2
        value = profile.value(middle)
        seen = value if value is not None and value >= chart.reach[0] else run.low
        across, up = chart.point(middle if seen == value else run.start, seen)
        layer = ("recess" if parts[run.name].gives else "member") if run.name in parts else "dimension"
        notes.append(SideNote(run.name + _out(chart, run), across, up, int(chart.study.sign), layer))
    x0, _, x1, _ = chart.frame.bounds
    yield from side_notes(notes, chart.plane, (x0, x1), mm)


def _out(chart: Chart, run: _Run) -> str:
    """Say from which height on a stretch above a module's top counts, and how much further out than today it pushes a rigid one."""
    study = chart.study
    if run.start < study.top - CONTACT:
        return ""
    since = f" from {format_length(run.start, chart.units)} up" if run.start > study.top + CONTACT else ""
    if chart.scale.sense > 0:
        return since
    today = study.back + study.module.gap
    least, most = (format_length(today - reach, chart.units) for reach in (run.low, run.high))
    if run.high < chart.reach[0]:
        return f"{since}: {least} out and more"
    return f"{since}: {least} out" if least == most else f"{since}: {least} to {most} out"


def _outlines(layer: str, shape: shapely.Geometry | None) -> Iterator[Path]:
    for polygon in pieces(shape) if shape else ():
        yield Path(layer, list(polygon.exterior.coords)[:-1], closed=True)


# ---- along the wall ----


@dataclass(frozen=True, eq=False)
class _Slide:
    """How far a module's back can go, by the station of its front end."""

    study: Study
    units: Units
    along: Span | None

    @property
    def span(self) -> Span:
        """The stations that are shown, mm."""
        ends = self.study.slide.span
        low, high = self.along or ends
        return max(low, ends[0]), min(high, ends[1])

    @property
    def here(self) -> float:
        """The station of its front end, mm."""
        return float(self.study.module.bounds[0][0])

    @property
    def today(self) -> float:
        """The half-breadth that its back needs; of a scribed module, that a straight back would have where it stands."""
        straight = self.study.slide.value(self.here) if self.study.module.kind == "scribed" else None
        return self.study.back + self.study.module.gap if straight is None else straight

    def chart(self, mm: float) -> Chart:
        """Return the chart, so high that what pushes the module out by a sensible amount is seen."""
        values = [v for p in self.study.slide.clipped(*self.span).pieces for v in (p.low, p.high)]
        near = min(v for v in (*values, self.today) if v >= self.today - _FARTHEST_OUT)
        far = max([*values, self.today])
        size = max(far - near, 0.02 * (self.span[1] - self.span[0]))
        times = _times(size, _LONG_SHARE * (self.span[1] - self.span[0]) - 2 * _BESIDE * mm)
        reach = (near - _BESIDE * mm / times, far + _BESIDE * mm / times)
        scale = Scale(self.today, -1, "further out than today", "station of its front end")
        return Chart(self.study, lambda s: s.slide, False, self.span, reach, times, scale, self.units)

    def drawing(self, mm: float) -> Drawing:
        """Return the drawing, its words laid out for a scale."""
        chart, module = self.chart(mm), self.study.module
        whose = "A straight back in its place" if module.kind == "scribed" else "Its back"
        words = (
            f"{whose}, slid along the {self.study.side} wall, can go as far as the line, by the station of its front end: "
            "what is brown pushes it out into the aisle, what is green lets it in."
        )
        return Drawing(
            title=f"Where along the wall: {module.name}",
            subtitle=words + _kept_off(self.study, self.units) + _enlarged(chart.times, "stations"),
            items=tuple(self._items(chart, mm)),
            notes=_notes(self.study, self.units),
            rules=None,
        )

    def _items(self, chart: Chart, mm: float) -> Iterator[Item]:
        yield from chart.ticks(mm)
        yield from chart.ground()
        barred = {
            self.study.name_of(piece) for piece in self.study.slide.clipped(*self.span).pieces if is_barred(piece)
        }
        for name, polygons in chart.bumps():
            told = f"{name}: barred" if name in barred else name
            yield from self._named(chart, told, polygons[0], mm) if polygons else ()
        yield Path("ghost", [chart.point(t, self.today) for t in self.span])
        yield from (Path("air", line) for line in chart.line(self.study.slide))
        yield from self._plays(chart, mm)
        yield from self._marks(chart, mm)

    def _named(self, chart: Chart, name: str, bump: shapely.Polygon, mm: float) -> Iterator[Item]:
        """Yield the name of a member: on it, or where it is too narrow before it, clear of what stands beside it."""
        wide = text_width(name, BODY, bold=True)
        at = room_in(bump, (wide + 2) * mm, (BODY + 2) * mm)
        if at:
            yield Area.of_polygon("member", bump, Label(name, at=at))
            return
        low, _, high, _ = bump.bounds
        if high > self.span[1] - mm and low > self.span[0] + mm:  # at the chart's end: beyond it
            yield Text("member", (self.span[1] + _NAME * mm, bump.centroid.y), name, SMALL, "start", background=True)
            return
        wide = text_width(name, SMALL) * mm
        places = (((low + high) / 2, 0.5), (high, 1.0), (low, 0.0))
        starts = [self._kept_inside(at, share, wide, mm) for at, share in places]
        reach, _, start = max((self._clear(chart, start, start + wide), -i, start) for i, start in enumerate(starts))
        if reach <= chart.reach[0]:  # it fills the chart: beside it
            start, reach = (
                (high + mm if high + mm + wide < self.span[1] else low - mm - wide),
                reach + 6 * mm / chart.times,
            )
        own = self._clear(chart, low + EDGE, high - EDGE)
        reach -= _NAME * mm / chart.times
        if own - reach > 2 * _NAME * mm / chart.times:
            yield Path(
                "dimension", [chart.point((low + high) / 2, t) for t in (own, reach + 0.5 * SMALL * mm / chart.times)]
            )
        yield Text("member", chart.point(start, reach), name, SMALL, "start", background=True)

    def _clear(self, chart: Chart, start: float, end: float) -> float:
        """Return how far out a name over some stations may stand without lying on the curve."""
        least = self.study.slide.least(start, end)
        return self.today if least is None else max(least[0], chart.reach[0])

    def _drops(self) -> list[Place]:
        """Return the recesses that it drops into, as far as they are shown."""
        low, high = self.span
        return [
            place
            for place in self.study.drops
            if low - CONTACT <= place.start and place.end <= high + CONTACT and place.play > CONTACT
        ]

    def _plays(self, chart: Chart, mm: float) -> Iterator[Item]:
        """Yield the play in each recess, behind it."""
        for drop in self._drops():
            reach = drop.back + 0.5 * _ABOVE * mm / chart.times
            a, b = sorted(chart.point(t, reach) for t in (drop.start, drop.end))
            yield Dimension(a, b, "", "", layer="recess")
            words = f"{drop.part}: play {_length(drop.play, self.units)}"
            start = self._kept_inside((drop.start + drop.end) / 2, 0.5, text_width(words, SMALL) * mm, mm)
            at = chart.point(start, reach + 0.6 * _ABOVE * mm / chart.times)
            yield Text("recess", at, words, SMALL, "start", background=True)

    def _kept_inside(self, at: float, share: float, wide: float, mm: float) -> float:
        """Return where words begin that have so much of their width before a place, moved so that they stay in the chart."""
        return min(max(at - share * wide, self.span[0] + mm), self.span[1] - wide - mm)

    def _marks(self, chart: Chart, mm: float) -> Iterator[Item]:
        """Yield where it stands, and where it would gain nearby."""
        near, study = chart.reach[0], self.study
        places = [("accent", self.here, "stands here")]
        if study.better_nearby:
            better = study.better_nearby
            places.append(("ghost", self.here + better.move, f"gains {_length(better.gain, self.units)} here"))
        for layer, at, words in places:
            reach = study.slide.value(at)
            if reach is None or not self.span[0] <= at <= self.span[1]:
                continue
            yield Path(layer, [chart.point(at, near), chart.point(at, reach)])
            wide = text_width(words, SMALL) * mm
            start = self._kept_inside(at + 1.5 * mm, 0.0, wide, mm)
            if start < at or any(at < other < start + wide for _, other, _ in places):
                start = at - 1.5 * mm - wide
            yield Text(layer, chart.point(start, near + 3.0 * mm / chart.times), words, SMALL, "start")


# ---- the alternative ----


def draw_alternative(study: Study, units: Units) -> Drawing:
    """Draw the cross-section at a module's middle station, with it run up to the roof ghosted in.

    Parameters
    ----------
    study : Study
    units : "mm" or "in"

    Returns
    -------
    Drawing
        What the alternative costs of the aisle has a dimension; for a scribed module, which costs none, how deep it would
        be at its top. A module that is under the roof already is drawn as it stands.
    """
    station = float(study.module.center[0])
    plain = draw_section(study.layout, station=station, units=units)
    shell = study.layout.shell
    scene = CutScene(shell, study.layout.modules, CutPlane.through(shell, None, station, units))
    taller = _taller_body(study)
    ghost = joined(scene.plane.polygons(taller)) if taller else None
    kept = [each for item in plain.items if _is_kept(item, ghost) for each in _relabeled(item, study, ghost)]
    ours = [*_outlines("accent", joined(scene.cut[study.module.name])), *_outlines("ghost", ghost)]
    return replace(
        plain,
        title=f"What if it were taller: {study.module.name}",
        subtitle=f"{_told(study, units)} {plain.title}, {plain.subtitle}",
        items=(*kept, *ours, *_measured(study, units)),
        notes=(*_notes(study, units), *_in_its_way(study, taller)),
    )


def _taller_body(study: Study) -> Solid | None:
    """Return the module run up to the roof: pushed out from the wall as far as that costs, or scribed to the wall."""
    if study.scribed_height:
        return study.layout.shell.void & solid_of(_raised(study, study.scribed_height[0]), "")
    if study.full_height is None:
        return None
    top, cost, _ = study.full_height
    return solid_of([p.moved((0.0, -study.sign * cost, 0.0)) for p in _raised(study, top)], "")


def _raised(study: Study, top: float) -> list[Prism]:
    """Return the module's prisms, those that reach its top run up to another one."""
    return [replace(p, top=top) if p.top > study.top - CONTACT else p for p in study.body]


def _is_kept(item: Item, ghost: shapely.Geometry | None) -> bool:
    """Whether an item of the section stays: not its dashed outlines, its width, nor a person who stands in the way."""
    if isinstance(item, Path):
        return item.layer != "ghost"
    if isinstance(item, Text):
        return item.layer != "rule"
    if isinstance(item, Dimension):
        return item.meaning == "aisle"
    if isinstance(item, Area) and item.layer == "person":
        return ghost is None or not ghost.intersects(shapely.Polygon(item.rings[0]))
    return True


def _relabeled(item: Item, study: Study, ghost: shapely.Geometry | None) -> Iterator[Item]:
    """Yield an item of the section, the module's own name moved clear of the dashed outline."""
    if not isinstance(item, Area) or not item.label or item.label.name != study.module.name or ghost is None:
        yield item
        return
    own = shapely.Polygon(item.rings[0], list(item.rings[1:]))
    widest = max(pieces(less(own, [ghost])) + pieces(own & ghost), key=lambda p: p.bounds[2] - p.bounds[0])
    yield replace(item, label=None)
    yield Text("module", (widest.centroid.x, widest.centroid.y), item.label.name, BODY, bold=True, background=True)


def _left(study: Study, cost: float, units: Units) -> str:
    """Return what is left of what is free before its face, once it has come so much further out."""
    left = study.aisle - cost
    return _length(left, units) if left > CONTACT else "none"


def _told(study: Study, units: Units) -> str:
    """Say in a sentence what the alternative costs."""
    if study.full_height:
        top, cost, part = study.full_height
        if cost <= CONTACT:
            return f"Dashed: {_length(top, units)} high, it would come no further out."
        left, aisle = _left(study, cost, units), _length(study.aisle, units)
        words = f"would come {_length(cost, units)} further out and leave {left} of the {aisle} before it"
        return f"Dashed: {_length(top, units)} high, it {words}, because of the {part}."
    if study.module.kind == "scribed":
        return _told_scribed(study, units)
    if study.roof_at:
        up, part = _length(study.roof_at[0], units), study.roof_at[1]
        return (
            f"No taller one is drawn: run up to {up}, where the {part} begins, its face would come over the centerline."
        )
    return "There is no taller alternative to draw: the roof or a bow stops it at its height already."


def _told_scribed(study: Study, units: Units) -> str:
    if study.scribed_height is None:
        return f"No taller one is drawn: at {_length(study.scribed_end[0], units)} the {study.scribed_end[1]} ends it."
    top, deep, part = study.scribed_height
    up = f"Dashed: {_length(top, units)} high, up to where the {part}"
    if not deep:
        return f"{up} meets its face and leaves it no depth."
    return f"{up} begins; it follows the wall and would be {_length(deep, units)} deep there."


def _measured(study: Study, units: Units) -> Iterator[Dimension]:
    """Yield what the alternative costs, before its face, or how deep a scribed one is at its top."""
    face = study.sign * study.face
    if study.full_height and study.full_height[1] > CONTACT:
        up = study.foot + 0.75 * (study.top - study.foot)
        a, b = sorted([(face, up), (face - study.sign * study.full_height[1], up)])
        yield Dimension(a, b, "costs", format_length(study.full_height[1], units))
    if study.scribed_height and study.scribed_height[1]:
        top, deep, _ = study.scribed_height
        start = face + study.sign * study.module.panel
        a, b = sorted([(start, top), (start + study.sign * deep, top)])
        yield Dimension(a, b, "deep", format_length(deep, units))


def _in_its_way(study: Study, taller: Solid | None) -> Iterator[Note]:
    """Yield what stands where the alternative would."""
    others = [m for m in study.layout.modules if m is not study.module and m.parent is None]
    names = [m.name for m in others if taller and not (m.solid & taller).is_empty]
    if names:
        yield Note(f"In its way, run up: {', '.join(names)}.")
