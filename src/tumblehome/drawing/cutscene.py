"""What does one cut through a van show: what is cut, what is seen behind it, and what should not be where it is?"""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING, Final

import numpy as np
import shapely

from tumblehome.drawing.cutplane import aisle, outer_edge, wall_gap
from tumblehome.drawing.person import person_outline
from tumblehome.drawing.regions import joined, less, pieces, shared
from tumblehome.fitout.module import solid_of
from tumblehome.records import dataclass

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from tumblehome.body.parts import Doorway
    from tumblehome.body.shell import Shell
    from tumblehome.drawing.cutplane import CutPlane, Gap
    from tumblehome.fitout import Module, Zone

    Polygons = Sequence[shapely.Polygon]

__all__ = ["SKIN", "CutScene"]

SKIN: Final = 12.0
"""Thickness that the steel is drawn with outside of the bare body, mm: seen, not measured."""
_AHEAD: Final = 900.0
"""How far ahead of a cross-section modules are seen, mm; what is farther away tells nothing about this place."""
_STATURES: Final = (1755.0, 1626.0)
"""Statures that are tried for scale, mm: the medians that `person_outline` is drawn from."""
_SINKS: Final = 0.1
"""How far the outline of a person may sink into the floor that it stands on, mm."""


@dataclass(frozen=True, eq=False)
class CutScene:
    """A shell and modules, cut by one plane."""

    shell: Shell
    modules: tuple[Module, ...]
    plane: CutPlane

    @cached_property
    def void(self) -> Polygons:
        """What is cut of the void."""
        return self.plane.polygons(self.shell.void)

    @cached_property
    def _free(self) -> shapely.Geometry:
        return joined(self.void)

    @cached_property
    def parts(self) -> dict[str, Polygons]:
        """What is cut of each part, by name; parts that are not cut are left out."""
        cuts = ((part.name, self.plane.polygons(self.shell.solid_of(part.name))) for part in self.shell.parts)
        return {name: polygons for name, polygons in cuts if polygons}

    @cached_property
    def cut(self) -> dict[str, Polygons]:
        """What is cut of each module, by name, those that stand in others last."""
        cuts = ((m, self.plane.polygons(m.solid)) for m in sorted(self.modules, key=self._depth))
        return {module.name: polygons for module, polygons in cuts if polygons}

    @cached_property
    def by_name(self) -> dict[str, Module]:
        """All modules, by name."""
        return {module.name: module for module in self.modules}

    def _depth(self, module: Module) -> int:
        return 0 if module.parent is None else 1 + self._depth(self.by_name[module.parent])

    @cached_property
    def outer(self) -> dict[str, Polygons]:
        """What is cut of the modules that stand in no other one."""
        return {name: polygons for name, polygons in self.cut.items() if self.by_name[name].parent is None}

    @cached_property
    def _filled(self) -> shapely.Geometry:
        """All that is cut of modules."""
        return joined(polygon for polygons in self.outer.values() for polygon in polygons)

    def seen_of(self, name: str) -> Polygons:
        """Return what is seen of a cut part or module: the part beside the modules, the module beside what is in it."""
        if name in self.parts:
            return pieces(less(joined(self.parts[name]), [self._filled]))
        nested = [p for m in self.modules if m.parent == name for p in self.cut.get(m.name, ())]
        return pieces(less(joined(self.cut[name]), nested)) if nested else self.cut[name]

    # ---- walls ----

    @cached_property
    def _wall(self) -> tuple[shapely.Geometry, shapely.Geometry, shapely.Geometry]:
        """The interior without members, the bare body, and the body with its skin."""
        gives = [p for name, polygons in self.parts.items() if self.shell.part(name).gives for p in polygons]
        lined = joined([*self.plane.polygons(self.shell.lined.solid), *gives])
        bare = joined([*self.plane.polygons(self.shell.lined.bare), lined])
        return lined, bare, bare.buffer(SKIN, join_style="mitre", mitre_limit=2.0)

    @property
    def interior(self) -> shapely.Geometry:
        """What is cut of the interior as it would be without members."""
        return self._wall[0]

    @cached_property
    def steel(self) -> Polygons:
        """The skin outside of the bare body. Ahead of the first station lies the cab: no skin there."""
        _, bare, skin = self._wall
        return pieces(less(skin, [bare, *self._cab(), *self._openings]))

    @cached_property
    def lining(self) -> Polygons:
        """What lies between the bare body and the interior, members not counted."""
        lined, bare, _ = self._wall
        return pieces(less(bare, [lined, *self._openings]))

    @cached_property
    def openings(self) -> dict[str, Polygons]:
        """Each doorway's way through the wall, by name."""
        lined, _, skin = self._wall
        wall = less(skin, [lined, *self._cab()])
        return {door.name: pieces(shared(wall, box)) for door, box in zip(self.doorways, self._openings, strict=True)}

    def _cab(self) -> Polygons:
        low, high = self.shell.lined.around
        first = float(self.shell.lined.bare.bounds[0][0])
        return [self.plane.box(low, (first, high[1], high[2]))] if self.plane.is_plan else []

    @cached_property
    def doorways(self) -> list[Doorway]:
        """The doorways that the plane passes through."""
        at, doors = self.plane.at, self.shell.doorways
        if self.plane.is_plan:
            return [door for door in doors if door.heights[0] < at < door.heights[1]]
        return [door for door in doors if door.side != "rear" and door.span[0] < at < door.span[1]]

    @cached_property
    def _openings(self) -> list[shapely.Polygon]:
        """Each doorway's clear opening in the plane, from the interior to well beyond the skin.

        Below or above the interior a wall begins nowhere: floor and roof are not opened.
        """
        edges = self.plane.edges(pieces(self.interior))
        return [self._opening(door, edges) for door in self.doorways]

    def _opening(self, door: Doorway, edges: NDArray[np.float64]) -> shapely.Polygon:
        low, high = self.shell.lined.around
        sign = -1 if door.side == "left" else 1
        out, middle = (edges[..., ::-1], sum(self.shell.stations) / 2) if door.side == "rear" else (edges, 0.0)
        inner = outer_edge(out, sign, door.span if self.plane.is_plan else door.heights, middle)
        if inner is None:
            return shapely.Polygon()
        far = high[0] if door.side == "rear" else float(max(sign * low[1], sign * high[1]))
        beyond = (min(sign * inner, sign * far), max(sign * inner, sign * far))
        x, y = (beyond, door.span) if door.side == "rear" else (door.span, beyond)
        return self.plane.box(*zip(x, y, door.heights, strict=True))

    # ---- what is free ----

    def aisle(self, along: float) -> Gap | None:
        """Return the aisle, where it is equally narrow in many places the place nearest to a coordinate along."""
        return aisle(self.plane, self.void, list(self.outer.values()), along)

    def wall_gap(self, name: str, sign: int) -> Gap | None:
        """Return where a cut module comes nearest to the wall on its left (sign -1) or right (1)."""
        others = [p for other, polygons in self.outer.items() if other != name for p in polygons]
        return wall_gap(self.plane, self.void, self.cut[name], others, sign)

    @cached_property
    def person(self) -> shapely.Polygon | None:
        """A standing person in the aisle of a cross-section, or about the centerline, where one fits."""
        if self.plane.is_plan:
            return None
        free = less(self._free, [self._filled]).buffer(_SINKS)
        way = self.aisle(0.0)
        middles = ([(way.low + way.high) / 2] if way else []) + [0.0]
        figures = (
            shapely.Polygon(np.add(person_outline(stature), (middle, 0.0)))
            for stature in _STATURES
            for middle in middles
        )
        return next((figure for figure in figures if free.contains(figure)), None)

    # ---- what is hidden ----

    def fouled(self) -> Polygons:
        """Return what modules have outside of the interior, and in one another; of scribed ones what must be free counts."""
        void, bodies = self._free, [self._must_be_free(name) for name in self.outer]
        found = [less(body, [void]) for body in bodies]
        found += [shared(one, other) for i, one in enumerate(bodies) for other in bodies[:i]]
        return [piece for region in found for piece in pieces(region)]

    def foul(self, subject: str, question: str, cause: str | None) -> Polygons:
        """Return what the cut shows of a foul: of a module, or of the zone that is the question, within its cause."""
        module = self.by_name[subject]
        if question in {zone.name for zone in module.zones}:
            mine = joined(
                p for zone, shown in self.zones() if zone in module.zones and zone.name == question for p in shown
            )
        else:
            mine = self._must_be_free(subject)
        if cause in self.by_name:
            return pieces(shared(mine, self._must_be_free(cause)))
        member = next((part.name for part in self.shell.parts if part.name == cause and not part.gives), None)
        if member:
            return pieces(shared(mine, joined(self.parts.get(member, ()))))
        return pieces(less(mine, self.void))

    def _must_be_free(self, name: str) -> shapely.Geometry:
        """Return what is cut of a module's body."""
        return joined(self.plane.polygons(solid_of(self.by_name[name].body, name)))

    def behind(self) -> Iterator[tuple[str, Polygons]]:
        """Yield what is seen of each module behind the cut, the nearest first."""
        yield from self._behind

    @cached_property
    def _behind(self) -> list[tuple[str, Polygons]]:
        before, void, axis = [p for polygons in self.outer.values() for p in polygons], self._free, self.plane.axis
        reach = np.inf if self.plane.is_plan else _AHEAD
        outer = (module for module in self.modules if module.parent is None and module.name not in self.cut)
        behind = [module for module in outer if self.plane.at - reach < module.bounds[1][axis] <= self.plane.at]
        seen: list[tuple[str, Polygons]] = []
        for module in sorted(behind, key=lambda m: -m.bounds[1][axis]):
            shape = shared(self._silhouette(module), void)
            seen.append((module.name, pieces(less(shape, [one for one in before if one.intersects(shape)]))))
            before += shape.geoms
        return seen

    def _silhouette(self, module: Module) -> shapely.Geometry:
        """Return the outline of a module seen along the cut's axis; of a scribed one, of its end next to the cut."""
        if module.kind == "scribed":
            near = float(module.solid.bounds[1][self.plane.axis])
            return joined(replace(self.plane, at=near, below=True).polygons(module.solid))
        if self.plane.is_plan:
            return joined(shapely.Polygon(prism.outline) for prism in module.hull)
        return joined(self.plane.box(*prism.bounds) for prism in module.hull)

    def zones(self) -> Iterator[tuple[Zone, Polygons]]:
        """Yield the zones that hold the height of a plan, of modules that stand in no other one, with their outlines."""
        if not self.plane.is_plan:
            return
        for zone in (zone for module in self.modules if module.parent is None for zone in module.zones):
            held = [prism for prism in zone.prisms if prism.bottom <= self.plane.at <= prism.top]
            if held:
                yield zone, pieces(joined(shapely.Polygon(prism.outline) for prism in held))
