"""Where on its way does a thing have the least play between two walls, and whose are they?"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np
import shapely

from tumblehome.carrying.freeplan import OUTSIDE
from tumblehome.carrying.search import TOUCH
from tumblehome.records import dataclass

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from tumblehome.carrying.footprint import Footprint
    from tumblehome.carrying.path import Path, Pose

    Floats = NDArray[np.float64]

__all__ = ["Pinch", "pinch_of"]

_STEP: Final = 10.0
"""Poses are looked at so far apart, mm of the farthest corner's travel."""
_NEAR: Final = 60.0
"""A wall that is more than this farther away than the nearest one does not pinch, mm."""
_NARROW: Final = 200.0
"""With more play than this, mm, a place is not narrow."""
_OPPOSED: Final = -0.5
"""Two walls pinch when the directions to them differ by at least 120 degrees: the cosine of that angle."""
_DRAWN_IN: Final = 0.25
"""Directions are taken from the body drawn in by this share of its least breadth, so that they are known in contact too."""


@dataclass(frozen=True)
class Pinch:
    """The place of least play.

    Attributes
    ----------
    pose : Pose there
    parts : the names of the two parts, which may be one part's two sides
    at : the points (2,) on them, mm
    opening : mm between the two there
    play : mm, how far the body is from the one and the other together, in that pose
    """

    pose: Pose
    parts: tuple[str, str]
    at: tuple[tuple[float, float], tuple[float, float]]
    opening: float
    play: float


def pinch_of(path: Path) -> Pinch | None:
    """Return the pinch of a way after it has come free of its place, or None where it has over 200 mm of play throughout.

    Poses 10 mm apart are compared, so that its play is told to about as much; what is proven is the way's room, not this.
    """
    poses = path.sampled(_STEP, path.free_from)
    edges = {layer: list(_edges(path, layer)) for layer in dict.fromkeys(pose.layer for pose in poses)}
    found = (_play(pose, edges[pose.layer]) for pose in poses)
    narrow = (pinch for pinch in found if pinch and pinch.play <= _NARROW)
    return min(narrow, key=lambda pinch: (round(pinch.play, 1), pinch.parts.count(OUTSIDE)), default=None)


_Edges = tuple["Footprint", list[str], "NDArray[np.object_]"]
"""A part of the body with the edges of its plan: their names, and their lines (n,)."""


def _edges(path: Path, layer: int) -> Iterator[_Edges]:
    """Yield the parts that are in a layer with the edges of their plans."""
    for part, plan in path.mover.parts(layer):
        named = [(name, edge) for name, wall in plan.walls.items() for edge in wall.geoms]
        if named:
            yield part, [name for name, _ in named], np.array([edge for _, edge in named])


def _play(pose: Pose, edges: Sequence[_Edges]) -> Pinch | None:
    """Return the pair of opposed walls between which the body has least play in a pose."""
    near: list[tuple[float, str, shapely.Geometry, Floats]] = []
    for part, names, lines in edges:
        shape = shapely.Polygon(part.at(pose.angle) + pose.at)
        distance = shapely.distance(shape, lines)
        core = shapely.Polygon(part.grown(-2 * _DRAWN_IN * part.narrowest).at(pose.angle) + pose.at)
        for j in np.flatnonzero(distance <= distance.min() + _NEAR).tolist():
            ends = shapely.get_coordinates(shapely.shortest_line(core, lines[j]))
            near.append((float(distance[j]), names[j], lines[j], ends[1] - ends[0]))
    return _opposed(pose, sorted(near, key=_aslant))


def _aslant(wall: tuple[float, str, shapely.Geometry, Floats]) -> float:
    """Return how far a wall is from standing square to the way to it: of two that meet in a corner the squarer one counts."""
    _, _, line, way = wall
    ends = shapely.get_coordinates(line)
    return float(abs((ends[1] - ends[0]) @ way) / (line.length * np.hypot(*way) + TOUCH))


def _opposed(pose: Pose, near: Sequence[tuple[float, str, shapely.Geometry, Floats]]) -> Pinch | None:
    best: Pinch | None = None
    for i, (a, one, first, u) in enumerate(near):
        for b, other, second, v in near[:i]:
            size = float(np.hypot(*u) * np.hypot(*v))
            if size == 0 or float(u @ v) > _OPPOSED * size or (best and a + b >= best.play - TOUCH):
                continue
            line = shapely.shortest_line(first, second)
            if line.length > 0:
                (p, q), (r, s) = shapely.get_coordinates(line).tolist()
                best = Pinch(pose, (one, other), ((p, q), (r, s)), float(line.length), a + b)
    return best
