"""What does the page show of one cut? The drawing as the files have it, where a place on it lies, and what can be taken hold of.

A pane keeps its scale and its place whatever the cut, so that nothing jumps while a slider moves. Its lengths are
millimeters of paper, of which the page shows each as `DOTS` pixels.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, Literal

import numpy as np

from tumblehome.body.shell import OUTSIDE
from tumblehome.cuts import width
from tumblehome.drawing.compose import compose
from tumblehome.drawing.cutplane import CutPlane
from tumblehome.drawing.cutscene import SKIN, CutScene
from tumblehome.drawing.section_drawing import pane_drawing, without
from tumblehome.drawing.sheet import Sheet
from tumblehome.drawing.surround import BASE_LABELS, SIDE_LABELS
from tumblehome.drawing.svg import svg_of
from tumblehome.drawing.text import Box
from tumblehome.errors import PictureError
from tumblehome.lengths import shown
from tumblehome.records import dataclass

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    import shapely

    from tumblehome.body import Shell
    from tumblehome.checks import Finding
    from tumblehome.cuts import Limit
    from tumblehome.fitout import Layout, Module

    Polygons = Sequence[shapely.Polygon]

__all__ = ["DOTS", "Cut", "Pane", "drawn_cut", "measured", "told_place"]

Units = Literal["mm", "in"]

DOTS: Final = 4.0
"""Pixels of the page to a millimeter of paper: letters are then 10 to 13 pixels high."""
_LEAST: Final = (60.0, 45.0)
_MOST: Final = (500.0, 400.0)
"""The smallest and the largest pane, mm: a narrower one has no room for labels, no screen has a wider one."""
_EDGE: Final = 3.0
_CLEAR: Final = 2.0
"""Millimeters of paper: the pane's empty border, and between the body and the edge of the net."""
_LARGER: Final = 1.3
"""Where labels have no room on a pane it is laid out so many times larger, with letters that much smaller."""
_TRIES: Final = 5


@dataclass(frozen=True)
class Pane:
    """A place on the page for plans (``axis`` 2) or cross-sections (``axis`` 0): its size in pixels."""

    axis: int
    wide: float
    tall: float

    def sheet(self, shell: Shell, larger: float = 1.0) -> Sheet:
        """Return the sheet that it is: the whole body in its middle, as large as it goes."""
        size = np.clip(np.array([self.wide, self.tall]) / DOTS, _LEAST, _MOST) * larger
        frame = Box(SIDE_LABELS, _EDGE + _CLEAR, float(size[0]) - _EDGE, float(size[1]) - BASE_LABELS)
        low, high = shell.lined.bare.bounds
        x0, y0, x1, y1 = CutPlane(self.axis, 0.0).box(low - SKIN, high + SKIN).bounds
        free = np.array([frame.right - frame.left, frame.bottom - frame.top]) - 2 * _CLEAR
        scale = float((np.array([x1 - x0, y1 - y0]) / free).max())
        across, down = frame.center
        origin = (across - (x0 + x1) / 2 / scale, down + (y0 + y1) / 2 / scale)
        return Sheet("this pane", float(size[0]), float(size[1]), scale, origin, frame)


@dataclass(frozen=True)
class Cut:
    """Which cut of what is wanted: at a height or station ``at``, mm; of hidden modules only the outlines, as they still count."""

    pane: Pane
    at: float
    units: Units
    hidden: frozenset[str] = frozenset()


def drawn_cut(shell: Shell, modules: Sequence[Module], findings: Sequence[Finding], cut: Cut) -> dict[str, object]:
    """Return one cut for the page.

    Parameters
    ----------
    shell, modules : what is cut
    findings : about the modules; fouls in the cut or near it are marked
    cut : which

    Returns
    -------
    dict
        "svg" the drawing; "at" the cut, mm, and "scale" and "origin", by which a place (x, y) of the van in the plane lies
        at ``origin + (x, -y) / scale`` on the pane; "size" of the pane; "things" that can be pointed at, the uppermost
        last: [kind, name, path]; "taken" the boxes of the words on it.

    Raises
    ------
    InputError
        When the cut lies outside the interior.
    """
    height, station = (cut.at, None) if cut.pane.axis == 2 else (None, cut.at)
    plane = CutPlane.through(shell, height, station, cut.units)
    whole = CutScene(shell, tuple(modules), plane)
    scene = CutScene(shell, without(modules, cut.hidden), plane) if cut.hidden else whole
    sheet, svg, taken = _laid_out(scene, whole, findings, cut)
    return {
        "svg": svg,
        "at": plane.at,
        "scale": sheet.scale,
        "origin": sheet.origin,
        "size": (sheet.width, sheet.height),
        "frame": (sheet.frame.left, sheet.frame.top, sheet.frame.right, sheet.frame.bottom),
        "things": [[kind, name, path] for kind, name, shapes in _things(scene) if (path := _path(shapes, sheet))],
        "taken": taken,
    }


def _laid_out(
    scene: CutScene, whole: CutScene, findings: Sequence[Finding], cut: Cut
) -> tuple[Sheet, str, list[list[float]]]:
    """Return the sheet, the drawing on it, and where its words stand."""
    told = [finding for finding in findings if finding.subject not in cut.hidden]
    for turn in range(_TRIES):
        sheet = cut.pane.sheet(scene.shell, _LARGER**turn)
        drawing = pane_drawing(scene, told, cut.units, sheet.scale, whole=whole)
        try:
            composition = compose(drawing, sheet)
        except PictureError:
            if turn == _TRIES - 1:
                raise
            continue
        boxes = [placed.place.box for placed in composition.placed if placed.place]
        svg = svg_of(composition, drawing.title, drawing.subtitle)
        return sheet, svg, [[round(v, 2) for v in (b.left, b.top, b.right, b.bottom)] for b in boxes]
    raise AssertionError


def _things(scene: CutScene) -> Iterator[tuple[str, str, Polygons]]:
    """Yield what can be pointed at, in the order of painting: what kind of thing it is, its name, its outlines."""
    for name, polygons in reversed(list(scene.behind())):
        yield "behind", name, polygons
    for name in scene.parts:
        yield "recess" if scene.shell.part(name).gives else "member", name, scene.seen_of(name)
    for name in scene.cut:
        yield "module", name, scene.seen_of(name)


def _path(polygons: Polygons, sheet: Sheet) -> str:
    rings = (ring for polygon in polygons for ring in (polygon.exterior, *polygon.interiors))
    return "".join(_ring(sheet.to_paper(np.asarray(ring.coords)[:-1])) for ring in rings)


def _ring(points: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> str:
    return "M" + " ".join(["%.2f,%.2f"] * len(points)) % tuple(points.ravel().tolist()) + "z"


def measured(space: Layout | Shell, height: float, station: float, units: Units) -> dict[str, object]:
    """Return the free width at a height and a station in words, with the half-breadths in mm; raises InputError."""
    found = width(space, height=height, station=station)
    if found.left is None or found.right is None or found.usable is None:
        return {"usable": None, "blocked": _blocked(found.blocked_by or "")}
    return {
        "usable": shown(found.usable, units),
        "left": _side(found.left, units),
        "right": _side(found.right, units),
        "breadths": [-found.left.half_breadth, found.right.half_breadth],
    }


def _blocked(by: str) -> str:
    return "the centerline is outside the van there" if by == OUTSIDE else f"on the centerline stands {by}"


def _side(limit: Limit, units: Units) -> dict[str, str]:
    return {"half": shown(limit.half_breadth, units), "part": limit.part}


def told_place(point: dict[str, float], units: Units) -> list[str]:
    """Return the height, the station and the half-breadth of a place in words, of those that are known."""
    words = []
    if "height" in point:
        words.append(f"height {shown(point['height'], units)}")
    if "station" in point:
        words.append(f"station {shown(point['station'], units)}")
    if "breadth" in point:
        side = "left" if point["breadth"] < 0 else "right"
        words.append(f"half-breadth {shown(abs(point['breadth']), units)} {side}")
    return words
