"""By which motions does a thing get from one place to another, is each of them free, and how near does it pass?"""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property
from itertools import pairwise
from math import ceil, pi
from typing import TYPE_CHECKING, Final

import numpy as np
import shapely
from shapely.affinity import translate

from tumblehome.carrying.search import TOUCH, Certain
from tumblehome.records import dataclass

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from tumblehome.carrying.footprint import Body, Footprint
    from tumblehome.carrying.freeplan import FreePlan
    from tumblehome.carrying.search import Layers, Link, Region

    Floats = NDArray[np.float64]

__all__ = ["Mover", "Passed", "Path", "Pose", "route_of"]

_STEP: Final = pi / 36
"""A turn is looked at in steps of at most this, radians; where that is too coarse to prove it free they are halved."""
_FINEST: Final = 0.05
"""A step of a turn in which the farthest corner moves less than this, mm, is not halved any more; and the error of margins."""
_FAR: Final = 500.0
"""Margins above this are not told, mm."""


@dataclass(frozen=True)
class Pose:
    """Where a thing is: its center (x, y) in mm, the angle in radians that it has turned, and in which layer it is carried."""

    x: float
    y: float
    angle: float
    layer: int = 0

    @property
    def at(self) -> Floats:
        """Its center (2,)."""
        return np.array([self.x, self.y])

    def moved_to(self, at: Sequence[float] | Floats) -> Pose:
        """Return the pose with another center."""
        return replace(self, x=float(at[0]), y=float(at[1]))


@dataclass(frozen=True, eq=False)
class Mover:
    """A body and the layers that it moves in."""

    layers: Layers
    body: Body

    @cached_property
    def _tight(self) -> Body:
        return self.body.grown(-2 * TOUCH)

    def is_free(self, a: Pose, b: Pose) -> bool:
        """Whether the body is free in two poses and everywhere between: proven by what it sweeps, not by samples.

        Between two poses it moves straight or turns or is lifted or tipped, one at a time; two poses that differ by more than
        one of these are not joined.
        """
        if a.layer != b.layer:
            return a.angle == b.angle and self._changes_free(a, b)
        if a.angle != b.angle:
            return (a.x, a.y) == (b.x, b.y) and self._turns_free(a, a.angle, b.angle)
        return self._sweeps_free(a, b, a.layer)

    def _changes_free(self, a: Pose, b: Pose) -> bool:
        """Whether it gets from one layer into another, where the one ends where the other begins."""
        link = self.layers.link(a.layer, b.layer)
        one, other = (a, b) if a.layer == link.one else (b, a)
        apart = other.at - one.at - link.shift(one.angle)
        return bool(np.hypot(*apart) < TOUCH) and self._sweeps_free(one, one, link.via)

    def _sweeps_free(self, a: Pose, b: Pose, layer: int) -> bool:
        ends = (part.at(a.angle) for part in self._tight.parts)
        swept = (np.concatenate([outline + a.at, outline + b.at]) for outline in ends)
        return self._holds(layer, swept)

    def _turns_free(self, pose: Pose, start: float, end: float) -> bool:
        low, high = min(start, end), max(start, end)
        if high - low < _STEP and self._holds(
            pose.layer, (part.over(low, high) + pose.at for part in self._tight.parts)
        ):
            return True
        middle = (low + high) / 2
        if (high - low) * self.body.radius < _FINEST:
            return False
        return self._turns_free(pose, low, middle) and self._turns_free(pose, middle, high)

    def _holds(self, layer: int, shapes: Iterator[Floats]) -> bool:
        plans = self.layers.plans[layer]
        pairs = zip(plans, shapes, strict=True)
        there = ((plan, shape) for plan, shape in pairs if plan is not None)
        return all(plan.region.covers(shapely.convex_hull(shapely.MultiPoint(shape))) for plan, shape in there)

    def parts(self, layer: int) -> list[tuple[Footprint, FreePlan]]:
        """Return the parts of the body that are in a layer, each with its plan."""
        pairs = zip(self.body.parts, self.layers.plans[layer], strict=True)
        return [(part, plan) for part, plan in pairs if plan is not None]

    def joined(self, a: Pose, b: Pose) -> list[Pose] | None:
        """Return the poses after ``a`` by which the body gets to ``b`` with one straight move and one turn, if it can."""
        if a.layer != b.layer:
            return None
        for between in (a.moved_to(b.at), b.moved_to(a.at)):
            if self.is_free(a, between) and self.is_free(between, b):
                return [pose for before, pose in pairwise((a, between, b)) if pose != before]
        return None

    def shortened(self, poses: Sequence[Pose]) -> list[Pose]:
        """Return a way through fewer poses, from the same first to the same last."""
        kept, i = [poses[0]], 0
        while i < len(poses) - 1:
            step, found = 1, [poses[i + 1]]
            while i + 2 * step < len(poses) and (way := self.joined(poses[i], poses[i + 2 * step])) is not None:
                step, found = 2 * step, way
            last = len(poses) - 1
            if step > 1 and i + 2 * step >= len(poses) and (way := self.joined(poses[i], poses[last])) is not None:
                step, found = last - i, way
            kept += found
            i += step
        return kept


def route_of(
    route: Sequence[Region],
    start: Sequence[float] | Floats,
    goal: Sequence[float] | Floats,
    links: Sequence[Link] = (),
) -> list[Pose]:
    """Return the poses of a route: straight moves within the slices' regions, turns, lifts and tips between them."""
    poses = [Pose(float(start[0]), float(start[1]), 0.0)]
    for before, region, after in zip(route, route[1:], route[2:], strict=False):
        if isinstance(region, Certain):
            _go(poses, before.polygon, _nearest_in(region.polygon, poses[-1]))
            turn = region.turn if before is region.low else -region.turn
            poses.append(replace(poses[-1], angle=poses[-1].angle + turn))
        elif link := next((link for link in links if link.via == region.layer), None):
            ahead, angle = before.layer == link.one, poses[-1].angle
            there = region.polygon if ahead else translate(region.polygon, *link.shift(angle))
            _go(poses, before.polygon, _nearest_in(there, poses[-1]))
            shift = np.array(link.shift(angle)) * (1 if ahead else -1)
            poses.append(replace(poses[-1].moved_to(poses[-1].at + shift), layer=after.layer))
    _go(poses, route[-1].polygon, goal)
    return poses


def _nearest_in(region: shapely.Polygon, pose: Pose) -> tuple[float, float]:
    """Return the point of a region that is nearest to a pose's center."""
    point = shapely.Point(pose.at)
    near = shapely.get_coordinates(shapely.shortest_line(point, region))[-1]
    return float(near[0]), float(near[1])


def _go(poses: list[Pose], region: shapely.Polygon, goal: Sequence[float] | Floats) -> None:
    """Append the poses of straight moves within a region to a goal in it."""
    here = poses[-1]
    poses.extend(here.moved_to(at) for at in way_within(region, here.at, np.asarray(goal, dtype=float))[1:])


def way_within(region: shapely.Polygon, start: Floats, goal: Floats) -> list[Floats]:
    """Return the corners of a way between two points of a region: straight, or through its triangles."""
    if np.array_equal(start, goal):
        return [start]
    if region.buffer(TOUCH).covers(shapely.LineString([start, goal])):
        return [start, goal]
    triangles = list(shapely.constrained_delaunay_triangles(region).geoms)
    tree = shapely.STRtree(triangles)
    first, last = (int(tree.nearest(shapely.Point(at))) for at in (start, goal))
    return [start, *_through(triangles, first, last), goal]


def _through(triangles: list[shapely.Polygon], first: int, last: int) -> list[Floats]:
    """Return the middles of the sides that the shortest chain of neighboring triangles crosses."""
    sides: dict[frozenset[tuple[float, float]], list[int]] = {}
    for i, triangle in enumerate(triangles):
        for ends in pairwise(triangle.exterior.coords):
            sides.setdefault(frozenset(ends), []).append(i)
    neighbors: dict[int, list[tuple[int, Floats]]] = {i: [] for i in range(len(triangles))}
    for side, both in sides.items():
        if len(both) == 2:
            middle = np.mean(list(side), axis=0)
            neighbors[both[0]].append((both[1], middle))
            neighbors[both[1]].append((both[0], middle))
    before: dict[int, tuple[int, Floats]] = {}
    queue, seen = [first], {first}
    for at in queue:
        for other, middle in neighbors[at]:
            if other not in seen:
                seen.add(other)
                before[other] = (at, middle)
                queue.append(other)
    chain: list[Floats] = []
    at = last
    while at != first:
        at, middle = before[at]
        chain.append(middle)
    return chain[::-1]


@dataclass(frozen=True)
class Passed:
    """How near a thing passes a part: the least margin in mm, in which pose, and the points (2,) of the body and of the part."""

    name: str
    margin: float
    pose: Pose
    on_body: tuple[float, float]
    on_part: tuple[float, float]


@dataclass(frozen=True, eq=False)
class Path:
    """A way that a body is carried: poses, between any two of which it moves straight, turns, is lifted or tipped.

    ``free_from`` is the number of the pose from which on it has come free of its place.
    """

    mover: Mover
    poses: tuple[Pose, ...]
    free_from: int = 0

    @cached_property
    def is_free(self) -> bool:
        """Whether every pose and all motion between is free."""
        return all(self.mover.is_free(a, b) for a, b in pairwise(self.poses))

    @cached_property
    def swept(self) -> shapely.Geometry:
        """All that the body covers in plan on its way."""
        shapes = [shape for a, b in pairwise(self.poses) for shape in self._swept(a, b)]
        return shapely.union_all(shapes, grid_size=1e-3)

    def _swept(self, a: Pose, b: Pose) -> Iterator[shapely.Geometry]:
        if a.layer != b.layer:
            link = self.mover.layers.link(a.layer, b.layer)
            a = b = a if a.layer == link.one else b
            parts = self.mover.parts(link.via)
        else:
            parts = self.mover.parts(a.layer)
        count = max(1, ceil(abs(b.angle - a.angle) / _STEP))
        angles = np.linspace(a.angle, b.angle, count + 1)
        for part, _ in parts:
            for start, end in pairwise(sorted(angles.tolist())):
                yield shapely.Polygon(part.over(start, end) + a.at)
            ends = np.concatenate([part.at(a.angle) + a.at, part.at(a.angle) + b.at])
            yield shapely.convex_hull(shapely.MultiPoint(ends))

    @property
    def length(self) -> float:
        """How far its center travels, mm."""
        return float(sum(np.hypot(*(b.at - a.at)) for a, b in pairwise(self.poses)))

    def shapes(self, pose: Pose) -> list[shapely.Polygon]:
        """Return what each of the body's parts covers in a pose."""
        return [shapely.Polygon(part.at(pose.angle) + pose.at) for part, _ in self.mover.parts(pose.layer)]

    def sampled(self, step: float, start: int = 0) -> list[Pose]:
        """Return poses along it, between neighbors of which no corner moves further than a step in mm."""
        found = [self.poses[start]]
        for a, b in pairwise(self.poses[start:]):
            count = max(1, ceil(self.travel(a, b) / step)) if a.layer == b.layer else 1
            found += [_between(a, b, i / count) for i in range(1, count + 1)]
        return found

    @cached_property
    def passed(self) -> tuple[Passed, ...]:
        """What it passes nearer than 500 mm, the nearest first; margins are lower bounds, less than 0.1 mm below the true ones."""
        layers = dict.fromkeys(pose.layer for pose in self.poses)
        names = dict.fromkeys(n for layer in layers for _, plan in self.mover.parts(layer) for n in plan.walls)
        found = (self._least(name) for name in names)
        return tuple(sorted((p for p in found if p), key=lambda p: p.margin))

    def margins(self, poses: Sequence[Pose], name: str) -> Floats:
        """Return how far the body is from a named part in each pose, mm; infinite where the part is not in its plan."""
        least = np.full(len(poses), np.inf)
        for layer in dict.fromkeys(pose.layer for pose in poses):
            mine = [i for i, pose in enumerate(poses) if pose.layer == layer]
            for part, plan in self.mover.parts(layer):
                if name in plan.walls:
                    shapes = np.array([shapely.Polygon(part.at(poses[i].angle) + poses[i].at) for i in mine])
                    least[mine] = np.minimum(least[mine], shapely.distance(shapes, plan.walls[name]))
        return least

    def _least(self, name: str) -> Passed | None:
        """Return the least margin to a part: the motions are halved where less than the least known could still lie.

        A pose is at most as far from any pose of its motion as the farthest corner travels.
        """
        spans = [(a, b) for a, b in pairwise(self.poses) if a.layer == b.layer]
        best, where, floor = np.inf, self.poses[0], np.inf
        while spans:
            middles = [_between(a, b, 0.5) for a, b in spans]
            margins = self.margins(middles, name)
            i = int(margins.argmin())
            if margins[i] < best:
                best, where = float(margins[i]), middles[i]
            reach = np.array([self.travel(a, b) for a, b in spans]) / 2
            if best - reach.max() > _FAR or not np.isfinite(best):
                return None
            bound = np.maximum(margins - reach, 0.0)
            fine = max(_FINEST, 0.01 * best)
            floor = min(floor, float(bound[(reach <= fine)].min(initial=np.inf)))
            kept = np.flatnonzero((reach > fine) & (bound < best))
            spans = [half for k in kept for half in ((spans[k][0], middles[k]), (middles[k], spans[k][1]))]
        if best > _FAR:
            return None
        on_body, on_part = self.witness(where, name)
        return Passed(name, min(best, floor), where, on_body, on_part)

    def travel(self, a: Pose, b: Pose) -> float:
        """Return how far the farthest corner travels at most between two poses, mm."""
        return float(np.hypot(*(b.at - a.at))) + abs(b.angle - a.angle) * self.mover.body.radius

    def witness(self, pose: Pose, name: str) -> tuple[tuple[float, float], tuple[float, float]]:
        """Return the points of the body and of a part that are nearest to each other in a pose."""
        plans = (plan for _, plan in self.mover.parts(pose.layer))
        pairs = [(s, p.walls[name]) for s, p in zip(self.shapes(pose), plans, strict=True) if name in p.walls]
        lines = [shapely.shortest_line(shape, wall) for shape, wall in pairs]
        (a, b), (c, d) = shapely.get_coordinates(min(lines, key=lambda line: line.length)).tolist()
        return (a, b), (c, d)


def _between(a: Pose, b: Pose, share: float) -> Pose:
    def mix(p: float, q: float) -> float:
        return p + share * (q - p)

    return Pose(mix(a.x, b.x), mix(a.y, b.y), mix(a.angle, b.angle), a.layer if share < 1 else b.layer)
