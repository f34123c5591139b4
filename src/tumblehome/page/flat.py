"""What do the plan and the cross-section show at each step of the sliders? Outlines in whole millimeters, and room for names.

In a plan the page's x is the station and its y the half-breadth, the van's right side on top; in a cross-section x is the
half-breadth, the van's left side at the left, and y runs down from the floor.
"""

from __future__ import annotations

from itertools import product
from typing import TYPE_CHECKING, Final

import numpy as np

from tumblehome.drawing.cutplane import CutPlane
from tumblehome.drawing.cutscene import SKIN, CutScene
from tumblehome.drawing.regions import room_in
from tumblehome.drawing.text import text_width
from tumblehome.records import dataclass

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    import shapely
    from numpy.typing import NDArray

    from tumblehome.body import Shell
    from tumblehome.checks import Finding
    from tumblehome.fitout import Layout

    Polygons = Sequence[shapely.Polygon]

__all__ = ["Steps", "flat_drawings", "steps_through"]

_SIMPLE: Final = 0.8
"""Outlines are drawn this near to the cut, mm: less than a screen shows."""
_NEAR: Final = 100.0
"""A finding whose point is nearer to the cut than this is marked in it, mm."""
_LETTERS: Final = {0: 70.0, 2: 125.0}
"""Size of the letters of names on a cross-section and on a plan, mm of the van: about 11 pixels on a phone."""
_SHARES: Final = (1.0, 0.64)
"""Names without room for the usual letters may have room for the smaller ones of a wide page."""
_LEADING: Final = 1.15
_CLEAR: Final = 0.35
"""How clear a name stays of its thing's edges, in sizes of its letters."""
_WHOLE: Final = 1e-6


@dataclass(frozen=True)
class Steps:
    """Where the page cuts: heights and stations, rising, mm."""

    heights: tuple[float, ...]
    stations: tuple[float, ...]


def steps_through(shell: Shell, step: float) -> Steps:
    """Return the whole multiples of a step, mm, that lie within the interior."""
    return Steps(_within(shell.heights, step), _within(shell.stations, step))


def _within(ends: tuple[float, float], step: float) -> tuple[float, ...]:
    first, last = np.floor(ends[0] / step + _WHOLE) + 1, np.ceil(ends[1] / step - _WHOLE) - 1
    inside = tuple(float(n * step) for n in np.arange(first, last + 1))
    return inside or (sum(ends) / 2,)


def flat_drawings(
    layout: Layout, findings: Sequence[Finding], steps: Steps, progress: Callable[[str], None]
) -> dict[str, object]:
    """Return a plan for each height and a cross-section for each station, with the box that each kind of drawing fills.

    A drawing is its areas (kind, number of the name or -1, path), its names (x, y, size, lines) and its marks (x, y,
    verdict). A name has room for letters of its size, a share of the usual one.
    """
    names: dict[str, int] = {}
    drawn: dict[str, object] = {}
    for key, axis, values in (("plans", 2, steps.heights), ("sections", 0, steps.stations)):
        progress(f"drawing {len(values)} {key}")
        planes = [CutPlane.through(layout.shell, *_at(axis, value), "mm") for value in values]
        drawn[key] = [_drawing(layout, findings, plane, names) for plane in planes]
    drawn["boxes"] = [_box(layout.shell, axis) for axis in (2, 0)]
    drawn["letters"] = [_LETTERS[2], _LETTERS[0]]
    drawn["names"] = list(names)
    return drawn


def _at(axis: int, value: float) -> tuple[float | None, float | None]:
    return (value, None) if axis == 2 else (None, value)


def _box(shell: Shell, axis: int) -> list[float]:
    """Return the left, top, right and bottom edge of the whole skin in a drawing, mm."""
    low, high = shell.lined.bare.bounds
    x0, y0, x1, y1 = CutPlane(axis, 0.0).box(low - SKIN, high + SKIN).bounds
    return [round(float(v)) for v in (x0, -y1, x1, -y0)]


def _drawing(layout: Layout, findings: Sequence[Finding], plane: CutPlane, names: dict[str, int]) -> dict[str, object]:
    scene = CutScene(layout.shell, layout.modules, plane)
    areas = [
        [kind, names.setdefault(name, len(names)) if name else -1, path]
        for kind, name, polygons in _areas(scene)
        if (path := "".join(map(_path, polygons)))
    ]
    tags = [tag for name in scene.cut if (tag := _tag(scene, name))]
    marks = [
        [*_flipped(plane.flat(f.where)), f.verdict]
        for f in findings
        if f.verdict == "fouls" and f.where and abs(f.where[plane.axis] - plane.at) <= _NEAR
    ]
    return {"a": areas, "n": tags, "m": marks}


def _areas(scene: CutScene) -> Iterator[tuple[str, str, Polygons]]:
    """Yield what is drawn, in the order of painting: its kind, its name where it has one, and its outlines."""
    yield "steel", "", scene.steel
    yield "lining", "", scene.lining
    yield "air", "", scene.void
    for polygons in scene.openings.values():
        yield "opening", "", polygons
    for name, polygons in scene.parts.items():
        yield "recess" if scene.shell.part(name).gives else "member", name, polygons
    if scene.person is not None:
        yield "person", "", [scene.person]
    for name, polygons in reversed(list(scene.behind())):
        yield "behind", name, polygons
    for name in scene.cut:
        yield "module", name, scene.seen_of(name)
    yield "foul", "", scene.fouled()


def _path(polygon: shapely.Polygon) -> str:
    """Return a polygon as path data, each step relative to the one before, in whole mm; empty when it is a sliver."""
    slim = polygon.simplify(_SIMPLE)
    rings = [slim.exterior, *slim.interiors] if not slim.is_empty else []
    return "".join(_ring(np.round(np.asarray(ring.coords)[:-1]).astype(int)) for ring in rings)


def _ring(points: NDArray[np.intp]) -> str:
    """Return a closed ring of whole mm as path data; empty when it has no area."""
    points = points * (1, -1)
    steps = np.diff(points, axis=0)
    steps = steps[(steps != 0).any(axis=1)]
    if len(steps) < 2:
        return ""
    drawn = " ".join(f"{x} {y}" for x, y in steps.tolist()).replace(" -", "-")
    return f"M{points[0, 0]} {points[0, 1]}l{drawn}z"


def _flipped(point: Sequence[float]) -> tuple[int, int]:
    return round(point[0]), -round(point[1])


def _tag(scene: CutScene, name: str) -> list[object] | None:
    """Return where a cut module's name stands on it, on one line or on two; None without room."""
    seen = scene.seen_of(name)
    for share, lines in product(_SHARES if seen else (), _broken(name)):
        size = share * _LETTERS[scene.plane.axis]
        wide = max(text_width(line, size) for line in lines) + 2 * _CLEAR * size
        at = room_in(seen[0], wide, (_LEADING * len(lines) + 2 * _CLEAR) * size)
        if at:
            return [*_flipped(at), share, list(lines)]
    return None


def _broken(name: str) -> list[tuple[str, ...]]:
    """Return a name on one line, and broken where its two lines are most alike in length."""
    words = name.split()
    halves = [(" ".join(words[:i]), " ".join(words[i:])) for i in range(1, len(words))]
    best = min(halves, key=lambda half: max(map(len, half)), default=None)
    return [(name,), *([best] if best else [])]
