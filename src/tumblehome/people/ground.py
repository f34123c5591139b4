"""Where can somebody walk, how narrow is it on the way from one place to another, and which two parts make it so?

Exact, without a search by sizes. Somebody who needs a width in each slab of heights may stand where the clearance is not negative:
twice the distance to what is nearest in a slab, less that slab's width, the least over all slabs. What joins two places as the
clearance falls are its saddles, and a saddle lies on the shortest line between two edges that nothing else comes near: a **gate**.
Two places are joined by a clearance exactly when no gate of less lies between them, so the plan cut along its gates, piece by
piece, answers for every pair of places at once.
"""

from __future__ import annotations

import heapq
import operator
from dataclasses import replace
from functools import cached_property, reduce
from typing import TYPE_CHECKING, Final

import numpy as np
import shapely
from manifold3d import CrossSection, FillRule

from tumblehome.carrying.freeplan import outside_of, regions_of, shadow_of, standing_in
from tumblehome.cuts import band
from tumblehome.lasting import kept
from tumblehome.records import dataclass
from tumblehome.solids import following, outline_of
from tumblehome.sweep import Prism
from tumblehome.tolerances import EDGE

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from tumblehome.body.parts import Doorway
    from tumblehome.body.shell import Shell
    from tumblehome.fitout import Layout, Module
    from tumblehome.people.gauge import Gauge, Slab

    Floats = NDArray[np.float64]
    Integers = NDArray[np.intp]
    Array = NDArray[np.object_]

__all__ = ["Floor", "Gate", "Ground"]

_FAR: Final = 400.0
"""How far before a doorway somebody is out, mm."""
_STEP: Final = 400.0
"""So far behind a doorway one has stepped in, mm; common practice, no published source."""
_NEAR: Final = 1e-3
"""A wall this near to a point is the one that made it, mm."""
_STRAIGHT: Final = 1e-6
"""An edge that bends by less than this counts as straight, mm."""
_SAME: Final = 1e-6
"""Clearances nearer than this are one and the same, mm."""
_WIDE: Final = 700.0
"""A gate with more clearance than this is no gate: nothing is told of it, mm."""
_GRID: Final = 1e-4
"""Lines are joined where they meet within this, mm."""
_OVERSHOOT: Final = 2e-3
"""A gate's line is longer by this than the gate, mm, so that it surely cuts; what is no longer than this of it parts nothing."""
_SIDE: Final = 0.02
"""So far at most to both sides of a gate the two pieces that it joins are looked for, mm."""
_FINE: Final = 64
"""Round corners are drawn with so many chords a quarter where it is asked whether a body stands: 0.05 mm off at 600 mm."""
_JAMB: Final = 150.0
"""Between the sides of a doorway, and no farther inside than this, one is in the doorway, mm."""
_AREA: Final = 100.0
"""A place shares a piece of floor when it has more of it than this, mm2."""


@dataclass(frozen=True, eq=False)
class Floor:
    """A layout's floor: what is free in plan within heights, all doorways open, with the ground before them, or all closed.

    What ends low enough to be stepped on is not in the way of a slab that begins above it.
    """

    layout: Layout
    closed: bool = False

    @cached_property
    def _plans(self) -> dict[tuple[float, float], list[Floats]]:
        return {}

    @cached_property
    def _regions(self) -> dict[tuple[float, float], shapely.Geometry]:
        return {}

    @cached_property
    def _shell(self) -> Shell:
        if self.closed:
            return self.layout.shell
        return self.layout.shell.opened(*(door.name for door in self.layout.shell.doorways))

    def without(self, name: str) -> Floor:
        """Return the floor once a module is gone, with what it holds and what stands on it."""
        gone = {name}
        for module in self.layout.modules:
            if {module.parent, module.support} & gone:
                gone.add(module.name)
        kept = tuple(module for module in self.layout.modules if module.name not in gone)
        return Floor(replace(self.layout, modules=kept), self.closed)

    def inside(self, doorway: Doorway, deep: float = _STEP) -> shapely.Polygon:
        """Return the ground behind a doorway, as deep from the lined wall as one steps in, mm."""
        low, high = self.layout.shell.lined.solid.bounds
        a, b = doorway.span
        if doorway.side == "rear":
            return shapely.box(high[0] - deep, a, high[0], b)
        return (
            shapely.box(a, high[1] - deep, b, high[1])
            if doorway.side == "right"
            else shapely.box(a, low[1], b, low[1] + deep)
        )

    @property
    def _outside(self) -> list[shapely.Geometry]:
        return [_before(self.layout.shell, door) for door in self.layout.shell.doorways]

    def outside(self, doorway: Doorway) -> shapely.Geometry:
        """Return the ground before a doorway, mm."""
        return _before(self.layout.shell, doorway)

    def ground(self, gauge: Gauge) -> Ground:
        """Return it as a gauge sees it."""
        if gauge not in self._grounds:
            self._grounds[gauge] = Ground(self, gauge)
        return self._grounds[gauge]

    @cached_property
    def _grounds(self) -> dict[Gauge, Ground]:
        return {}

    def free(self, heights: tuple[float, float]) -> list[Floats]:
        """Return what is free throughout heights, as rings (k, 2) in mm with holes clockwise."""
        if heights not in self._plans:
            outside = () if self.closed else self._outside
            grounds = [shapely.get_coordinates(shapely.geometry.polygon.orient(ground))[:-1] for ground in outside]
            empty = CrossSection([*_band(self._shell, heights), *grounds], FillRule.Positive)
            shadows = [ring for m in self.layout.modules if m.parent is None for ring in _covered(m, heights)]
            left = empty - outline_of(shadows) if shadows else empty
            self._plans[heights] = left.simplify(_STRAIGHT).to_polygons()
        return self._plans[heights]

    def region(self, heights: tuple[float, float]) -> shapely.Geometry:
        """Return the same as one shape, prepared to be asked what lies in it."""
        if heights not in self._regions:
            self._regions[heights] = shapely.MultiPolygon(
                regions_of(CrossSection(self.free(heights), FillRule.Positive))
            )
            shapely.prepare(self._regions[heights])
        return self._regions[heights]

    def doorway_at(self, at: Floats) -> str | None:
        """Return the doorway in which a place (2,) lies, or before which."""
        for door in () if self.closed else self.layout.shell.doorways:
            along, across = (at[1], at[0]) if door.side == "rear" else (at[0], at[1])
            low, high = (shell_end[0 if door.side == "rear" else 1] for shell_end in self.layout.shell.bounds)
            beyond = across > high - _JAMB if door.side in ("rear", "right") else across < low + _JAMB
            if door.span[0] <= along <= door.span[1] and beyond:
                return door.name
        return None

    def name_at(self, at: Floats, heights: tuple[float, float]) -> str:
        """Return the module or part whose face stands at a point (2,) of the outline of what is free within heights."""
        low, high = heights
        stick = Prism.box([*(at - _NEAR), low + EDGE], [*(at + _NEAR), high - EDGE])
        for module in self.layout.modules:
            if module.parent is None and standing_in(module.solid.surface, stick) is not None:
                return module.name
        hit = standing_in(self._shell.void.surface, stick)
        return self._shell.name_at(*hit) if hit else "outside of the body"


@dataclass(frozen=True, eq=False)
class Gate:
    """A narrow place on the way: two points (2,) of two edges, mm, the width between them and the clearance there.

    ``slabs`` are those of the two edges; ``margin`` is what a gauge has to spare between them, negative where it does not pass;
    ``middle`` (2,) is where somebody who passes has that much on both sides.
    """

    ends: tuple[Floats, Floats]
    slabs: tuple[Slab, Slab]
    margin: float
    middle: Floats
    floor: Floor

    @property
    def width(self) -> float:
        """The exact distance between the two, mm."""
        return float(np.hypot(*(self.ends[1] - self.ends[0])))

    @property
    def at(self) -> tuple[float, float, float]:
        """The same place in the van, at the foot of the lower of its slabs, mm."""
        x, y = self.middle.tolist()
        return x, y, min(slab.low for slab in self.slabs)

    @cached_property
    def parts(self) -> tuple[str, str]:
        """The names of the two parts."""
        one, other = (
            self.floor.name_at(at, (slab.low, slab.high)) for at, slab in zip(self.ends, self.slabs, strict=True)
        )
        through = self.floor.doorway_at(self.middle)
        return (through, through) if through and one == other else (one, other)


@dataclass(frozen=True, eq=False)
class Ground:
    """A floor as a gauge sees it, cut along its gates into pieces."""

    floor: Floor
    gauge: Gauge

    @cached_property
    def region(self) -> shapely.Geometry:
        """Where all slabs are free, mm."""
        outlines = [CrossSection(self.floor.free((s.low, s.high)), FillRule.Positive) for s in self.gauge.slabs]
        return shapely.MultiPolygon(regions_of(reduce(operator.xor, outlines)))  # the kernel's sign for what is in both

    @cached_property
    def _edges(self) -> tuple[Floats, Floats, Integers]:
        """Starts and ends (n, 2) of all edges of all slabs, and their slabs' numbers."""
        starts, ends, slabs = [np.empty((0, 2))], [np.empty((0, 2))], [np.empty(0, dtype=np.intp)]
        for k, slab in enumerate(self.gauge.slabs):
            for ring in self.floor.free((slab.low, slab.high)):
                starts.append(ring)
                ends.append(following(ring))
                slabs.append(np.full(len(ring), k, dtype=np.intp))
        return np.concatenate(starts), np.concatenate(ends), np.concatenate(slabs)

    @cached_property
    def gates(self) -> list[Gate]:
        """The gates, the narrowest first."""
        starts, ends, slab = self._edges
        one, other = np.triu_indices(len(starts), 1)
        near = _boxes_apart(starts, ends, one, other) < _WIDE + max(s.width for s in self.gauge.slabs)
        one, other = one[near], other[near]
        a, b = _shortest(starts[one], ends[one], starts[other], ends[other])
        widths = np.array([s.width for s in self.gauge.slabs])
        gap = np.hypot(*(b - a).T)
        apart = (gap > 3 * _NEAR) & (gap < _WIDE + widths.max())
        one, other, a, b, gap = (v[apart] for v in (one, other, a, b, gap))
        share = _balanced(gap, widths[slab[one]], widths[slab[other]])
        margin = np.minimum(2 * share * gap - widths[slab[one]], 2 * (1 - share) * gap - widths[slab[other]])
        middle = a + share[:, None] * (b - a)
        chosen = np.flatnonzero((margin < _WIDE) & self._is_saddle(middle, margin)).tolist()
        found = [self._gate((a[i], one[i]), (b[i], other[i]), float(margin[i]), middle[i]) for i in chosen]
        return sorted(found, key=lambda gate: gate.margin)

    def _gate(self, one: tuple[Floats, int], other: tuple[Floats, int], margin: float, middle: Floats) -> Gate:
        """Return the gate between points of two edges, the left one first."""
        left, right = sorted((one, other), key=lambda end: (end[0][1], end[0][0]))
        slabs = self.gauge.slabs[self._edges[2][left[1]]], self.gauge.slabs[self._edges[2][right[1]]]
        return Gate((left[0], right[0]), slabs, margin, middle, self.floor)

    def _is_saddle(self, at: Floats, margin: Floats) -> NDArray[np.bool_]:
        """Return at which points (n, 2) no edge comes nearer than the two whose clearance is given."""
        points = shapely.points(at)
        found = np.ones(len(at), dtype=bool)
        for slab in self.gauge.slabs:
            region = self.floor.region((slab.low, slab.high))
            border = shapely.boundary(region)
            shapely.prepare(border)
            found &= shapely.contains_properly(region, points)
            found[found] &= ~shapely.dwithin(
                border, points[found], np.maximum((slab.width + margin[found]) / 2 - _SAME, 0)
            )
        return found

    @cached_property
    def standing(self) -> shapely.Geometry:
        """Where the middle of who needs the gauge can be, mm."""
        shrunk = [
            shapely.buffer(self.floor.region((s.low, s.high)), _SAME - s.width / 2, quad_segs=_FINE)
            for s in self.gauge.slabs
        ]
        standing = reduce(shapely.intersection, shrunk)
        shapely.prepare(standing)
        return standing

    def has_room_in(self, place: shapely.Geometry) -> bool:
        """Whether somebody who needs the gauge can stand with the middle of the body in a place, a shape in plan."""
        return bool(shapely.intersects(self.standing, place))

    @cached_property
    def _lines(self) -> Array:
        """The gates as lines across the region, a hair longer, so that they cut it; as far as it goes on both sides of them."""
        ends = np.array([gate.ends for gate in self.gates]).reshape(-1, 2, 2)
        way = ends[:, 1] - ends[:, 0]
        way *= _OVERSHOOT / 2 / np.hypot(*way.T)[:, None]
        whole = shapely.linestrings(np.stack([ends[:, 0] - way, ends[:, 1] + way], axis=1))
        seen: Array = shapely.intersection(whole, shapely.buffer(self.region, _OVERSHOOT / 2, join_style="mitre"))
        for i in np.flatnonzero(shapely.get_num_geometries(seen) > 1).tolist():
            parts = shapely.get_parts(seen[i])
            seen[i] = parts[np.argmin(shapely.distance(parts, shapely.Point(self.gates[i].middle)))]
        return seen

    @cached_property
    def _pieces(self) -> tuple[Array, shapely.STRtree, dict[int, list[tuple[int, Gate]]]]:
        """The pieces of floor, a tree of them, and for each piece the gates to others."""
        noded = shapely.union_all([shapely.boundary(self.region), *self._lines], grid_size=_GRID)
        pieces = shapely.get_parts(shapely.polygonize(shapely.get_parts(noded).tolist()))
        inner = shapely.buffer(self.region, -_GRID * 5)
        shapely.prepare(inner)
        pieces = pieces[shapely.intersects(inner, shapely.point_on_surface(pieces))]
        tree = shapely.STRtree(pieces)
        joined: dict[int, list[tuple[int, Gate]]] = {}
        for one, other, gate in self._links(shapely.get_parts(noded), tree):
            joined.setdefault(one, []).append((other, gate))
            joined.setdefault(other, []).append((one, gate))
        return pieces, tree, joined

    def _links(self, noded: Array, tree: shapely.STRtree) -> Iterable[tuple[int, int, Gate]]:
        """Yield the pairs of pieces that lie on both sides of a gate, with the narrowest that parts them there."""
        if not self.gates:
            return
        which, part = shapely.STRtree(noded).query(self._lines, predicate="dwithin", distance=3 * _GRID)
        ends = shapely.get_coordinates(shapely.line_interpolate_point(noded, [[0.4], [0.6]], normalized=True))
        start, end = ends.reshape(2, -1, 2)
        run, middle = end - start, (start + end) / 2
        on = shapely.dwithin(shapely.points(middle[part]), self._lines[which], 3 * _GRID)
        length = 5 * np.hypot(*run.T)
        on &= length[part] > _OVERSHOOT
        beyond = np.minimum(_SIDE, length / 10) / np.maximum(length / 5, _GRID)
        across = np.column_stack([-run[:, 1], run[:, 0]]) * beyond[:, None]
        beside = [np.full(len(noded), -1, dtype=np.intp) for _ in range(2)]
        for side, sign in zip(beside, (1, -1), strict=True):
            point, piece = tree.query(shapely.points(middle + sign * across), predicate="within")
            side[point] = piece
        narrowest = dict(sorted(zip(part[on].tolist(), which[on].tolist(), strict=True), reverse=True))
        for i, gate in narrowest.items():
            one, other = int(beside[0][i]), int(beside[1][i])
            if one != other and min(one, other) >= 0:
                yield one, other, self.gates[gate]

    def pieces_of(self, place: shapely.Geometry) -> list[int]:
        """Return the pieces of floor that a place, a shape in plan, has a share of."""
        if place not in self._shares:
            pieces, tree, _ = self._pieces
            near = tree.query(place, predicate="intersects")
            shares = shapely.area(shapely.intersection(pieces[near], place, grid_size=_GRID))
            self._shares[place] = near[shares > _AREA].tolist()
        return self._shares[place]

    @cached_property
    def _shares(self) -> dict[shapely.Geometry, list[int]]:
        return {}

    def _joins(self, start: shapely.Geometry, end: shapely.Geometry) -> bool:
        """Whether a part of the floor reaches from one place to another at all."""
        return bool((shapely.intersects(self._parts, start) & shapely.intersects(self._parts, end)).any())

    @cached_property
    def _parts(self) -> Array:
        parts: Array = shapely.get_parts(self.region)
        shapely.prepare(parts)
        return parts

    def narrowest(self, start: shapely.Geometry, end: shapely.Geometry) -> Gate | float | None:
        """Return the narrowest gate on the widest way from one place to another.

        Parameters
        ----------
        start, end : shapes in plan, mm; somebody may set out anywhere in the one and arrive anywhere in the other

        Returns
        -------
        Gate, or the clearance in mm that it has at least where no gate is so narrow; None where no floor joins the two.
        """
        if not self._joins(start, end):
            return None
        _, _, joined = self._pieces
        ends = set(self.pieces_of(end))
        best: dict[int, float] = {}
        queue: list[tuple[float, int, int, Gate | None]] = [(-_WIDE, i, i, None) for i in self.pieces_of(start)]
        heapq.heapify(queue)
        count = len(queue)
        while queue:
            known, _, at, narrow = heapq.heappop(queue)
            if at in best:
                continue
            best[at] = -known
            if at in ends:
                return -known if narrow is None else narrow
            for other, gate in joined.get(at, ()):
                if other not in best:
                    count += 1
                    tighter = gate if gate.margin < -known else narrow
                    heapq.heappush(queue, (-min(gate.margin, -known), count, other, tighter))
        return None


@kept
def _band(shell: Shell, heights: tuple[float, float]) -> list[Floats]:
    """Return what is free of a shell throughout heights, as rings; all modes of a plan have the same shell."""
    return band(shell, heights=heights).rings


@kept
def _before(shell: Shell, doorway: Doorway) -> shapely.Geometry:
    """Return the ground before a doorway of a shell, between its sides."""
    low, high = doorway.heights
    ground, _ = outside_of(shell, doorway, (max(low, EDGE), high), _FAR)
    a, b = doorway.span
    strip = (-1e6, a, 1e6, b) if doorway.side == "rear" else (a, -1e6, b, 1e6)
    return shapely.intersection(ground, shapely.box(*strip))


def _covered(module: Module, heights: tuple[float, float]) -> list[Floats]:
    """Return what a module covers in plan within heights; what touches them counts not."""
    if module.kind != "rigid":
        return _shadow(module, heights)
    low, high = heights[0] + EDGE, heights[1] - EDGE
    return [prism.outline for prism in module.body if prism.top > low and prism.bottom < high]


@kept
def _shadow(module: Module, heights: tuple[float, float]) -> list[Floats]:
    """Return the shadow of a module within heights; what a mode does not change is the same module in all."""
    return shadow_of(module.solid, heights)


def _balanced(gap: Floats, one: Floats, other: Floats) -> Floats:
    """Return how far from the first of two edges, as a share of the gap, the clearance from both is the same.

    Where one slab is so much wider that this lies beyond an edge, the place of most clearance is at that edge, a hair before it.
    """
    hair = _NEAR / gap
    return np.clip((2 * gap + one - other) / (4 * gap), hair, 1 - hair)


def _boxes_apart(starts: Floats, ends: Floats, one: Integers, other: Integers) -> Floats:
    """Return how far apart the boxes about pairs of edges are, mm."""
    low, high = np.minimum(starts, ends), np.maximum(starts, ends)
    apart = np.maximum(np.maximum(low[one] - high[other], low[other] - high[one]), 0.0)
    distance: Floats = np.hypot(*apart.T)
    return distance


def _shortest(p: Floats, q: Floats, r: Floats, s: Floats) -> tuple[Floats, Floats]:
    """Return the ends (n, 2) of the shortest lines between segments p-q and r-s that do not cross."""
    tries = [(p, _onto(p, r, s)), (q, _onto(q, r, s)), (_onto(r, p, q), r), (_onto(s, p, q), s)]
    lengths = np.array([np.hypot(*(b - a).T) for a, b in tries])
    best = lengths.argmin(axis=0)[:, None]
    one, other = (np.stack([pair[i] for pair in tries]) for i in (0, 1))
    return tuple(np.take_along_axis(v, best[None], axis=0)[0] for v in (one, other))


def _onto(point: Floats, start: Floats, end: Floats) -> Floats:
    """Return the points of segments that are nearest to points, (n, 2)."""
    run = end - start
    length = np.maximum((run**2).sum(axis=1), _NEAR**2 * _NEAR)
    share = np.clip(((point - start) * run).sum(axis=1) / length, 0.0, 1.0)
    nearest: Floats = start + share[:, None] * run
    return nearest
