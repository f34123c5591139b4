"""Where in plan is there room for a thing of some heights, and where may its center be?"""

from __future__ import annotations

from dataclasses import field
from functools import cached_property
from typing import TYPE_CHECKING, Final

import numpy as np
import shapely
from manifold3d import CrossSection, FillRule

from tumblehome.cuts import band
from tumblehome.records import dataclass
from tumblehome.solids import following, outline_of
from tumblehome.sweep import Prism
from tumblehome.tolerances import EDGE

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from numpy.typing import NDArray

    from tumblehome.body.parts import Doorway
    from tumblehome.body.shell import Shell
    from tumblehome.fitout import Module
    from tumblehome.solids import Solid, Surface

    Floats = NDArray[np.float64]

__all__ = ["OUTSIDE", "FreePlan", "Grounds", "outside_of", "regions_of", "shadow_of", "standing_in"]

_NEAR: Final = 1e-3
"""A wall this near to a point of an outline, mm, is the one that made it."""
_STRAIGHT: Final = 1e-6
"""An edge that bends by less than this, mm, counts as straight: a tenth of what a thing may sink into what it slides along."""
_BESIDE_DOOR: Final = 2.0
"""The ground outside of a doorway runs so many lengths of the thing to both sides of it, and 1.5 times as far out."""
_WALL: Final = 1.0
"""A wall is taken to be at least this thick, mm, so that it stands between inside and outside even where none is known."""
OUTSIDE: Final = "outside of the body"
"""By what name the far side of a wall is told."""


@dataclass(frozen=True, eq=False)
class FreePlan:
    """The room that a thing of some heights has in plan.

    Attributes
    ----------
    rings : closed rings (k, 2) in mm, outer ones counterclockwise, holes clockwise, the first point not repeated
    name_at : how what bounds it is called at a point (2,) of its outline, "" where nothing bounds it
    """

    rings: tuple[Floats, ...]
    name_at: Callable[[Floats], str] = field(default=lambda _: "wall")

    @classmethod
    def of_polygons(
        cls, polygons: Iterable[shapely.Polygon], name_at: Callable[[Floats], str] | None = None
    ) -> FreePlan:
        """Return the plan that some polygons which do not overlap make."""
        oriented = (shapely.geometry.polygon.orient(polygon) for polygon in polygons)
        rings = tuple(shapely.get_coordinates(r)[:-1] for p in oriented for r in (p.exterior, *p.interiors))
        return cls(rings, name_at) if name_at else cls(rings)

    @cached_property
    def region(self) -> shapely.Geometry:
        """It as one shape, prepared to be asked what lies in it."""
        region = shapely.MultiPolygon(regions_of(CrossSection(list(self.rings), FillRule.Positive)))
        shapely.prepare(region)
        return region

    @cached_property
    def _simple(self) -> tuple[list[Floats], Floats, Floats]:
        """Its rings without the points that bend them by next to nothing, and the starts and runs (m, 2) of their edges."""
        rings = CrossSection(list(self.rings), FillRule.Positive).simplify(_STRAIGHT).to_polygons()
        return (rings, *_edges_of(rings))

    def places(self, shape: Floats) -> CrossSection:
        """Return where the origin of a convex shape (k, 2, counterclockwise) may be for the shape to be free.

        Exact: the plan less, for each of its edges, what the shape turned by half a turn sweeps along that edge. Such a sweep
        is the shape with each corner at the edge's start or end, whichever lies further the way the corner looks.
        """
        rings, starts, runs = self._simple
        if not rings:
            return CrossSection()
        middle = shape.mean(axis=0)
        mirrored = middle - shape
        sides = following(mirrored) - mirrored
        looks = np.column_stack([sides[:, 1], -sides[:, 0]])
        ahead = np.stack([runs @ np.roll(looks, 1, axis=0).T, runs @ looks.T], axis=2) > 0
        ends = np.where(ahead[..., None], (starts + runs)[:, None, None, :], starts[:, None, None, :])
        swept = (mirrored[None, :, None, :] + ends).reshape(len(starts), -1, 2)
        free = CrossSection([*rings, *swept[:, ::-1]], FillRule.Positive)
        return free.translate(tuple(-middle))

    @cached_property
    def walls(self) -> dict[str, shapely.Geometry]:
        """What bounds it: for each name its edges as one shape."""
        starts, runs = _edges_of(self.rings)
        named: dict[str, list[Floats]] = {}
        for start, run in zip(starts, runs, strict=True):
            named.setdefault(self.name_at(start + run / 2), []).append(np.array([start, start + run]))
        named.pop("", None)
        return {name: shapely.MultiLineString(lines) for name, lines in named.items()}


def shadow_of(solid: Solid, heights: tuple[float, float]) -> list[Floats]:
    """Return what a solid covers in plan within heights, as rings (k, 2) with holes clockwise; what touches them counts not."""
    low, high = heights[0] + EDGE, heights[1] - EDGE
    ends = [float(end[2]) for end in solid.bounds]
    if ends[1] <= low or ends[0] >= high:
        return []
    rings: list[Floats] = solid.trimmed(2, low, high).kernel.project().to_polygons()
    return rings


def regions_of(outline: CrossSection) -> list[shapely.Polygon]:
    """Return the separate pieces of a cross-section with their holes."""
    pieces = (part.to_polygons() for part in outline.decompose())
    return [_region(rings) for rings in pieces if rings]


def _region(rings: Sequence[Floats]) -> shapely.Polygon:
    outer = max(range(len(rings)), key=lambda i: np.ptp(rings[i][:, 0])) if len(rings) > 1 else 0
    return shapely.Polygon(rings[outer], [ring for i, ring in enumerate(rings) if i != outer])


def _edges_of(rings: Sequence[Floats]) -> tuple[Floats, Floats]:
    """Return the starts and runs (m, 2) of all edges of rings."""
    if not rings:
        return np.empty((0, 2)), np.empty((0, 2))
    return np.concatenate(rings), np.concatenate([following(ring) - ring for ring in rings])


@dataclass(frozen=True, eq=False)
class Grounds:
    """A shell, one of its doorways open, and the ground before it: what a thing of some heights may move in.

    Attributes
    ----------
    shell : Shell; doorway : Doorway of it
    heights : (float, float), mm, of the thing's foot and top as it is carried
    far : float, mm, how far outside of the doorway it is out
    """

    shell: Shell
    doorway: Doorway
    heights: tuple[float, float]
    far: float

    @cached_property
    def _open(self) -> Shell:
        return self.shell.opened(self.doorway.name)

    @cached_property
    def _outside(self) -> tuple[shapely.Polygon, Floats]:
        return outside_of(self.shell, self.doorway, self.heights, self.far)

    @property
    def goal(self) -> Floats:
        """A place (2,) outside, as far from the doorway as the thing is out."""
        return self._outside[1]

    @cached_property
    def _empty(self) -> CrossSection:
        """The band of the heights through the opened shell, with the ground outside."""
        ground = shapely.get_coordinates(shapely.geometry.polygon.orient(self._outside[0]))[:-1]
        return CrossSection([*band(self._open, heights=self.heights).rings, ground], FillRule.Positive)

    @cached_property
    def _shadows(self) -> dict[str, list[Floats]]:
        return {}

    def shadow(self, module: Module) -> list[Floats]:
        """Return what a module covers in plan within the heights, as rings; what only touches them covers nothing."""
        if module.name not in self._shadows:
            self._shadows[module.name] = shadow_of(module.solid, self.heights)
        return self._shadows[module.name]

    def plan(self, modules: Sequence[Module]) -> FreePlan:
        """Return the room that is left by some modules: the band of the heights through the void less them."""
        rings = [ring for module in modules for ring in self.shadow(module)]
        free = self._empty - outline_of(rings) if rings else self._empty
        return FreePlan(tuple(free.to_polygons()), _Names(self, tuple(modules)))


class _Names:
    """How what bounds a plan is called."""

    def __init__(self, grounds: Grounds, modules: tuple[Module, ...]) -> None:
        self._grounds, self._modules = grounds, modules

    def __call__(self, at: Floats) -> str:
        """Return the module, part or doorway whose face stands at a point (2,) of the outline."""
        low, high = self._grounds.heights
        stick = Prism.box([*(at - _NEAR), low + EDGE], [*(at + _NEAR), high - EDGE])
        shell = self._grounds._open  # noqa: SLF001  (of one family)
        for surface in (*(module.solid.surface for module in self._modules), shell.void.surface):
            hit = standing_in(surface, stick)
            if hit is not None:
                name, point = hit
                return name if surface is not shell.void.surface else shell.name_at(name, point)
        ground, _ = self._grounds._outside  # noqa: SLF001
        return OUTSIDE if _is_near_side(ground, self._grounds.doorway, at) else ""


def standing_in(surface: Surface, stick: Prism) -> tuple[str, Floats] | None:
    """Return the name and a point of the first triangle of a surface that has a piece in a stick."""
    low, high = stick.bounds
    corners = surface.triangles
    near = np.flatnonzero(((corners.min(axis=1) <= high) & (corners.max(axis=1) >= low)).all(axis=1))
    for index in near.tolist():
        piece = stick.piece_of(corners[index])
        if len(piece):
            return surface.names[surface.part[index]], piece.mean(axis=0)
    return None


def outside_of(
    shell: Shell, doorway: Doorway, heights: tuple[float, float], far: float
) -> tuple[shapely.Polygon, Floats]:
    """Return the ground before a doorway, free for things up to a length ``far`` in mm, and the place (2,) where one is out.

    It begins where the body is widest within the heights, or ends rearmost; nothing is known of what stands there.
    """
    low, high = shell.lined.bare.trimmed(2, *heights).bounds
    a, b = doorway.span[0] - _BESIDE_DOOR * far, doorway.span[1] + _BESIDE_DOOR * far
    middle, deep = sum(doorway.span) / 2, 1.5 * _BESIDE_DOOR * far
    if doorway.side == "rear":
        edge = float(high[0]) + _WALL
        return shapely.box(edge, a, edge + deep, b), np.array([edge + far, middle])
    edge, sign = (float(high[1]) + _WALL, 1.0) if doorway.side == "right" else (float(low[1]) - _WALL, -1.0)
    return shapely.box(a, min(edge, edge + sign * deep), b, max(edge, edge + sign * deep)), np.array(
        [middle, edge + sign * far]
    )


def _is_near_side(ground: shapely.Polygon, doorway: Doorway, at: Floats) -> bool:
    """Whether a point lies on the side of the ground that is next to the body."""
    x0, y0, x1, y1 = ground.bounds
    near = {"rear": at[0] - x0, "right": at[1] - y0, "left": at[1] - y1}[doorway.side]
    return bool(abs(near) < _NEAR) and x1 > x0
