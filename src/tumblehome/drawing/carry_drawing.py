"""A way out of the van as a client sees it: the plan, what the module sweeps, where it turns, and where it is narrow."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace
from itertools import pairwise
from math import pi
from typing import TYPE_CHECKING, Final, Literal

import numpy as np
import shapely

from tumblehome.carrying import Path as CarryPath
from tumblehome.carrying import as_told, headline, sentences
from tumblehome.carrying.laying import side_words
from tumblehome.carrying.path import Mover
from tumblehome.drawing.cutplane import CutPlane
from tumblehome.drawing.cutscene import CutScene
from tumblehome.drawing.model import Area, Dimension, Drawing, Label, Note, Path, Rules, Text, VerdictMark
from tumblehome.drawing.palette import BODY, SMALL
from tumblehome.drawing.planview import members_within, shadow
from tumblehome.drawing.regions import joined, less, pieces, room_in
from tumblehome.drawing.sidenotes import lettered
from tumblehome.drawing.text import text_width
from tumblehome.errors import InputError
from tumblehome.lengths import format_length
from tumblehome.records import dataclass

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from tumblehome.carrying import Carry, Pose, Way
    from tumblehome.drawing.model import Item, Point
    from tumblehome.fitout import Module

__all__ = ["draw_carry", "draw_stage"]

Units = Literal["mm", "in"]

_TURNED: Final = pi / 4
"""Between two key poses it turns at least this much, radians, or moves its own length."""
_APART: Final = 0.25
"""A key pose nearer to the one before than this share of the module's length bears no number."""
_ABOVE_NAME: Final = 6.0
"""How far above the middle of a module its mark stands, mm of paper."""
_STAGE_NOTES: Final = 2
"""So many of the sentences stand below a moving picture."""
_STAGE_SCALES: Final = range(15, 100, 5)
"""It is shown on a screen, as large as it fits: no scale of a drawing board is asked for."""
_CLEAR: Final = 1.0
"""What a name keeps clear of the edges of its thing, mm of paper."""


def draw_carry(carry: Carry, way: Way, units: Units = "mm") -> Drawing:
    """Draw the plan of a way out.

    Parameters
    ----------
    carry : Carry
    way : one of its ways
    units : "mm" or "in"

    Returns
    -------
    Drawing
        The van cut at the middle of the module's height; modules by what they cover within its heights. What the module
        sweeps is shaded, its key poses are outlined, and the narrowest place has a dimension. Where it does not pass, the
        module is outlined in its own size in the narrowest place that a smaller one could just pass, and what would have to go
        is marked.
    """
    picture = _Picture(carry, way, units)
    outcome = {"passes": "The way out", "blocked": "No way out", "undecided": "Perhaps a way out"}[way.outcome]
    laid = f", laid on its {side_words(way.lying)}" if way.lying else ""
    plain = Drawing(
        title=f"{outcome} by the {way.doorway.name}{laid}: {carry.module.name}",
        subtitle=picture.subtitle,
        items=tuple(picture.ground()),
        notes=tuple(picture.notes()),
        rules=Rules(units, "half-breadth", "station"),
    )
    return lettered(plain, picture.items)


def draw_stage(carry: Carry, way: Way, units: Units = "mm") -> Drawing:
    """Draw the same plan on smaller paper without the key poses: what stays while the module moves along its way."""
    picture = _Picture(carry, way, units, is_stage=True)
    full = draw_carry(carry, way, units)
    notes = full.notes[:_STAGE_NOTES]
    plain = replace(full, items=tuple(picture.ground()), notes=notes, paper="A4")
    for scale in _STAGE_SCALES:
        with suppress(InputError):
            return lettered(replace(plain, scale=scale), picture.items)
    return lettered(plain, picture.items)


@dataclass(frozen=True, eq=False)
class _Picture:
    """What is drawn of one way; on a stage the module's place is only outlined, and none of its poses."""

    carry: Carry
    way: Way
    units: Units
    is_stage: bool = False

    @property
    def _heights(self) -> tuple[float, float]:
        low, high = self.carry.module.bounds
        return float(low[2]), float(high[2])

    @property
    def _scene(self) -> CutScene:
        shell = self.carry.layout.shell
        middle = min(max(sum(self._heights) / 2, shell.heights[0]), shell.heights[1])
        return CutScene(shell, (), CutPlane.through(shell, middle, None, self.units))

    @property
    def subtitle(self) -> str:
        """What is seen."""
        low, high = (format_length(v, self.units) for v in self._heights)
        view = "Looking down, the front at the left, the van's right side at the top."
        return f"{view} What stands in its way between heights {low} and {high}. {self.carry.layout.title}."

    def notes(self) -> Iterator[Note]:
        """Yield the verdict on this way, and all else that was found about the module."""
        way, carry = self.way, self.carry
        verdict = {"passes": "clear", "blocked": "fouls", "undecided": "tight"}[way.outcome]
        first = headline(carry, way, self.units)
        yield Note(first, carry.verdict if way is carry.best else verdict)
        if way is carry.best:
            others = {headline(carry, other, self.units) for other in carry.ways}
            yield from (Note(words) for words in sentences(carry, self.units) if words not in others)

    # ---- what is drawn ----

    def ground(self) -> Iterator[Item]:
        """Yield the walls, the swept ground and what stands about."""
        scene = self._scene
        for layer, polygons in (("steel", scene.steel), ("lining", scene.lining), ("air", scene.void)):
            yield from (Area.of_polygon(layer, polygon) for polygon in polygons)
        for polygons in scene.openings.values():
            yield from (Path("ghost", _ring(polygon), closed=True) for polygon in polygons)
        for polygon in pieces(self.swept):
            yield Area.of_polygon("swept", polygon)

    @property
    def path(self) -> CarryPath | None:
        """The way, where it passes."""
        return self.way.path if self.way.outcome == "passes" else None

    @property
    def swept(self) -> shapely.Geometry:
        """What the module sweeps on its way."""
        return self.path.swept if self.path else shapely.Polygon()

    def items(self, mm: float) -> Iterator[Item]:
        """Yield everything at a scale."""
        yield from self.ground()
        yield from self._parts(mm)
        yield from self._others(mm)
        yield from self._poses(mm)
        yield from self._pinch()

    def _parts(self, mm: float) -> Iterator[Item]:
        """Yield what recesses give at the cut, and what parts take at any of the heights, as far as it lies in the interior."""
        scene, shell = self._scene, self.carry.layout.shell
        hidden = [shadow(m.solid, self._heights) for m in self._standing]
        for name in (part.name for part in shell.parts if part.gives):
            yield from (Area.of_polygon("recess", polygon) for polygon in scene.parts.get(name, ()))
        for name, polygons in members_within(scene, self._heights):
            for polygon in polygons:
                seen = pieces(less(polygon, hidden))
                at = _room(name, seen[0], mm) if seen else None
                yield Area.of_polygon("member", polygon, Label(name, at=at) if at else None)

    @property
    def _standing(self) -> list[Module]:
        """The modules that stand in the van meanwhile, the highest first."""
        gone = {*self.carry.removed, *self.carry.taken_off, self.carry.module.name}
        standing = (m for m in self.carry.layout.modules if m.parent is None and m.name not in gone)
        return sorted(standing, key=lambda module: -float(module.bounds[1][2]))

    def _others(self, mm: float) -> Iterator[Item]:
        """Yield the modules that stand in the van by what is seen of them, and those that are taken out, dashed."""
        low = [module for module in self._standing if self._is_below(module)]
        gone = [m for m in self.carry.layout.modules if m.name in {*self.carry.removed, *self.carry.taken_off}]
        for module in (*gone, *low):
            yield from self._dashed(module)
        covered: shapely.Geometry = shapely.Polygon()
        for module in (m for m in self._standing if m not in low):
            shape = shadow(module.solid, self._heights)
            for i, polygon in enumerate(pieces(less(shape, [covered]))):
                yield from [Area.of_polygon("module", polygon)] if i else _named("module", module.name, polygon, mm)
                if not i and module.name in {name for names in self.way.removals[:1] for name in names}:
                    yield VerdictMark(_beside_center(polygon, mm), "fouls")
            covered = joined([covered, shape])

    def _is_below(self, module: Module) -> bool:
        """Whether it is carried over a module."""
        lift, layers = self.carry.lift, self.path.mover.layers if self.path else None
        lifted = self.path is not None and any(layers and layers.feet[pose.layer] == lift for pose in self.path.poses)
        return lifted and lift is not None and float(module.bounds[1][2]) <= lift

    def _dashed(self, module: Module) -> Iterator[Item]:
        for i, polygon in enumerate(pieces(shadow(module.solid, self._heights))):
            yield Path("ghost", _ring(polygon), closed=True)
            if i == 0:
                yield Text("rule", _point(polygon), module.name, SMALL)

    def _poses(self, mm: float) -> Iterator[Item]:
        """Yield where it stands, filled, with its name; then its key poses in order."""
        place = joined(shapely.Polygon(prism.outline) for prism in self.carry.module.hull)
        for polygon in pieces(place)[:1]:
            if self.is_stage:
                yield Path("ghost", _ring(polygon), closed=True)
                continue
            yield from _named("accent", self.carry.module.name, polygon, mm)
        if self.path is None:
            return
        yield Path("ghost", [(pose.x, pose.y) for pose in self.path.poses])
        if self.is_stage:
            return
        told, number = self.path.poses[0], 0
        for pose in _key_poses(self.path):
            shape = joined(self.path.shapes(pose))
            yield from (Path("contour", _ring(polygon), closed=True) for polygon in pieces(shape))
            if np.hypot(*(pose.at - told.at)) > _APART * _length(self.path, pose):
                told, number = pose, number + 1
                yield Text("contour", (pose.x, pose.y), str(number), BODY, bold=True, background=True)

    def _pinch(self) -> Iterator[Item]:
        pinch, path = self.way.pinch, self.way.path
        if pinch is None or path is None:
            return
        yield Dimension(*pinch.at, "", format_length(as_told(pinch.opening, self.units), self.units))
        if self.path is None:
            mover = Mover(path.mover.layers, path.mover.body.grown(-(self.way.spare[0] or 0.0)))
            full = joined(CarryPath(mover, (pinch.pose,)).shapes(pinch.pose))
            yield from (Path("accent", _ring(polygon), closed=True) for polygon in pieces(full))
            yield VerdictMark((pinch.pose.x, pinch.pose.y), "fouls")


def _named(layer: str, name: str, polygon: shapely.Polygon, mm: float) -> Iterator[Item]:
    """Yield a thing with its name: on it, small on it, or where that finds its own place."""
    at = _room(name, polygon, mm)
    small = None if at else room_in(polygon, (text_width(name, SMALL) + _CLEAR) * mm, (SMALL + _CLEAR) * mm)
    yield Area.of_polygon(layer, polygon, None if small else Label(name, at=at))
    if small:
        yield Text("module", small, name, SMALL)


def _room(name: str, polygon: shapely.Polygon, mm: float) -> Point | None:
    return room_in(polygon, (text_width(name, BODY, bold=True) + 2 * _CLEAR) * mm, (BODY + 2 * _CLEAR) * mm)


def _point(polygon: shapely.Polygon) -> Point:
    at = polygon.representative_point()
    return float(at.x), float(at.y)


def _beside_center(polygon: shapely.Polygon, mm: float) -> Point:
    """Return a place for a mark, above where the name stands."""
    x, y = _point(polygon)
    return x, min(y + _ABOVE_NAME * mm, float(polygon.bounds[3]))


def _ring(polygon: shapely.Polygon) -> NDArray[np.float64]:
    return np.asarray(polygon.exterior.coords)[:-1]


def _key_poses(path: CarryPath) -> list[Pose]:
    """Return the poses that tell the way: each turned or moved on well from the one before, or lying; and the last."""
    poses, laid = path.sampled(20.0), path.mover.layers.laid
    kept = [poses[0]]
    for before, pose in pairwise(poses):
        moved = float(np.hypot(*(pose.at - kept[-1].at)))
        if (before.layer in laid) != (pose.layer in laid):
            kept += [before, pose]
        elif moved / _length(path, pose) + abs(pose.angle - kept[-1].angle) / _TURNED > 1:
            kept.append(pose)
    return [*kept[1:], poses[-1]]


def _length(path: CarryPath, pose: Pose) -> float:
    """Return how long the module is in plan as it is carried in a pose, mm."""
    return 2 * max(part.radius for part, _ in path.mover.parts(pose.layer))
