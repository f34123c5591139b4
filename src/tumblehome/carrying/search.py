"""Is there a way, or surely none? Decided both ways by slicing the angle at which a thing stands.

At one angle the places where it is free are an exact region of the plan (a *slice*). Between two slices lies a *wedge*, an
interval of angles. What is left of the plan by all that the thing covers in turning through the wedge is surely free at every
angle of it (*certain*); what is left by only what it covers at every angle holds all that is free at any (*possible*). A
motion leaves a wedge through a slice, and each piece of a slice lies in one possible piece of each neighboring wedge. So
where no chain of possible pieces joins the start with the goal, there is no way; where a chain of certain ones does, there
is one, and it is the way. In between, the wedges along the most promising chain are halved.
"""

from __future__ import annotations

import heapq
from dataclasses import field
from functools import cached_property, reduce
from itertools import chain
from math import ceil, cos, hypot, pi, sin
from operator import xor
from typing import TYPE_CHECKING, Final, Literal

import shapely
from shapely.affinity import translate

from tumblehome.carrying.freeplan import regions_of
from tumblehome.records import dataclass

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    import numpy as np
    from numpy.typing import NDArray

    from tumblehome.carrying.footprint import Body
    from tumblehome.carrying.freeplan import FreePlan

    Floats = NDArray[np.float64]

__all__ = ["TOUCH", "Answer", "Certain", "Layers", "Link", "Region", "may_pass", "search"]

TOUCH: Final = 1e-5
"""So much may a thing sink into what it slides along, mm: far above the kernel's rounding, far below what is told."""
_ANYWHERE: Final = shapely.box(-1e6, -1e6, 1e6, 1e6)
_WIDEST: Final = pi / 6
"""No wedge is wider, radians; slices at the start's angle and square to it are always among the first."""
_FINEST: Final = 0.2
"""A wedge in which the farthest corner moves less than this, mm, is not halved any more."""
_TURNING: Final = 1e-3
"""What a radian of certain turning counts for, so that of two ways the one with less of it is taken."""
_HOPELESS: Final = 1000.0
"""What a wedge that cannot be halved counts for: no way leads through it as long as another one may be found."""


@dataclass(frozen=True)
class Link:
    """A layer in which a thing gets from one layer into another: where it is free all the way, lifted or tipped.

    ``offset`` is from where its center is in the one to where it is in the other, mm, at the angle 0.
    """

    via: int
    one: int
    other: int
    offset: tuple[float, float] = (0.0, 0.0)

    def shift(self, angle: float) -> tuple[float, float]:
        """Return that offset at an angle, radians."""
        (x, y), c, s = self.offset, cos(angle), sin(angle)
        return c * x - s * y, s * x + c * y


@dataclass(frozen=True, eq=False)
class Layers:
    """The plans of the heights at which a thing is carried: in each layer one for each of its parts, None for what is not in it.

    In the first it stands; in others it is lifted, or lies; ``feet`` are the heights of its foot in each, mm. ``links`` are the
    layers by which it gets from one into another, and in those ``laid`` it lies.
    """

    plans: tuple[tuple[FreePlan | None, ...], ...]
    feet: tuple[float, ...]
    links: tuple[Link, ...] = ()
    laid: frozenset[int] = frozenset()

    @cached_property
    def vias(self) -> frozenset[int]:
        """The layers by which it only gets from one into another."""
        return frozenset(link.via for link in self.links)

    def link(self, one: int, other: int) -> Link:
        """Return the link between two layers, whichever of them is the one; raises KeyError where nothing joins them."""
        for link in self.links:
            if {link.one, link.other} == {one, other}:
                return link
        raise KeyError((one, other))

    def places(self, layer: int, shapes: Sequence[Floats | None]) -> list[shapely.Polygon]:
        """Return the pieces of a layer where the common origin of the parts' shapes may be.

        A part without a shape does not count; without any shape that is anywhere. What is too small to hold the touch that
        is allowed for is rounding and left out.
        """
        pairs = zip(self.plans[layer], shapes, strict=True)
        found = [plan.places(shape) for plan, shape in pairs if plan is not None and shape is not None]
        pieces = regions_of(reduce(xor, found)) if found else [_ANYWHERE]
        return [piece for piece in pieces if piece.area > TOUCH**2]


@dataclass(frozen=True, eq=False)
class Region:
    """A piece of a slice or of a wedge: where the thing's center may be."""

    layer: int
    polygon: shapely.Polygon
    point: shapely.Point
    """A point well within."""
    is_goal: bool = False


@dataclass(frozen=True, eq=False)
class Certain(Region):
    """A piece of a wedge that is free at each of its angles, and the pieces of the slices on both sides that hold it."""

    low: Region = field(kw_only=True)
    high: Region = field(kw_only=True)
    turn: float = field(kw_only=True)
    """The angle from the one to the other, radians."""


@dataclass(frozen=True, eq=False)
class _Slice:
    angle: float
    regions: tuple[Region, ...]


@dataclass(eq=False)
class _Wedge:
    low: _Slice
    high: _Slice
    end: float
    possible: tuple[Region, ...]
    joints: tuple[tuple[Region, Region], ...]
    certain: tuple[Certain, ...] | None = None
    hopeless: bool = False

    @property
    def start(self) -> float:
        return self.low.angle


@dataclass(frozen=True, eq=False)
class Answer:
    """What a search has found.

    ``verdict`` says whether there is a way. With one, ``route`` are the regions that it leads through in turn, those of
    slices and the certain ones between them, and ``angles`` the angle of each slice's region. Without one, ``reached``
    are all regions that any motion from the start could get to.
    """

    verdict: Literal["passes", "blocked", "undecided"]
    route: tuple[Region, ...] = ()
    reached: tuple[Region, ...] = ()
    slices: int = 0


def search(layers: Layers, body: Body, start: shapely.Geometry, goal: Floats) -> Answer:
    """Decide whether a body that may move and turn can get from a start to a goal.

    Parameters
    ----------
    layers : Layers
    body : Body, at the angle at which it stands at the start
    start : shape of the places from which it may start, at that angle, as it stands
    goal : (2,) mm, a place where it is free at every angle

    Returns
    -------
    Answer
        "undecided" only where the corners of neighboring slices lie within 0.2 mm and it still could be either.
    """
    return _Search(layers, body.grown(-TOUCH), start, shapely.Point(goal)).answer()


def may_pass(layers: Layers, body: Body, start: shapely.Geometry, goal: Floats) -> bool:
    """Whether a body may get from a start to a goal, for all that the discs tell which it holds however it is turned.

    False proves that there is no way, at a small part of the price of a search; parameters as of `search`. Nothing is said
    where the thing is lifted or laid on the way.
    """
    if len(layers.plans) > 1:
        return True
    discs = [part.disc for part in body.grown(-TOUCH).parts]
    pieces = layers.places(0, discs)
    return any(piece.intersects(start) and piece.intersects(shapely.Point(goal)) for piece in pieces)


@dataclass(eq=False)
class _Search:
    layers: Layers
    body: Body
    start: shapely.Geometry
    goal: shapely.Point
    wedges: list[_Wedge] = field(default_factory=list)
    slices: int = 0
    goals: set[Region] = field(default_factory=set)
    joined: dict[Region, dict[_Slice | _Wedge, list[tuple[Region, float]]]] = field(default_factory=dict)
    """For each region what each slice or wedge joins it with, and what that counts for."""

    def answer(self) -> Answer:
        first = self._first_wedges()
        starts = [r for r in first.regions if r.layer == 0 and r.polygon.intersects(self.start)]
        while True:
            way, cost, reached = self._cheapest(starts)
            if not way:
                return Answer("blocked", reached=tuple(reached), slices=self.slices)
            if cost >= _HOPELESS:
                return Answer("undecided", slices=self.slices)
            mixed = self._mixed(way)
            if not mixed:
                return Answer("passes", tuple(way), slices=self.slices)
            for wedge in mixed:
                self._refine(wedge)

    # ---- slices and wedges ----

    def _first_wedges(self) -> _Slice:
        """Slice the whole turn and return the slice at the start's angle."""
        period = self.body.period
        count = ceil(period / _WIDEST - 1e-9)
        slices = [self._slice(i * period / count) for i in range(count)]
        ends = [*(s.angle for s in slices[1:]), period]
        self.wedges = [self._wedge(s, slices[(i + 1) % count], ends[i]) for i, s in enumerate(slices)]
        for wedge in self.wedges:
            self._join(wedge, _links(wedge))
        return slices[0]

    def _regions(self, shapes: Sequence[Floats | None]) -> Iterator[Region]:
        for layer in range(len(self.layers.plans)):
            for polygon in self.layers.places(layer, shapes):
                yield Region(layer, polygon, polygon.representative_point(), polygon.intersects(self.goal))

    def _slice(self, angle: float) -> _Slice:
        self.slices += 1
        regions = tuple(self._regions([part.at(angle) for part in self.body.parts]))
        self.goals.update(region for region in regions if region.is_goal)
        cut = _Slice(angle, regions)
        self._join(cut, ((one, other, 0.0) for one, other in self._lifts(regions, angle, 0.0)))
        return cut

    def _wedge(self, low: _Slice, high: _Slice, end: float) -> _Wedge:
        possible = tuple(self._regions([part.within(low.angle, end) for part in self.body.parts]))
        sides = (*low.regions, *high.regions)
        joints = [joint for side in sides for joint in _holders(side, possible, side.layer)]
        half = (end - low.angle) / 2
        return _Wedge(low, high, end, possible, (*joints, *self._lifts(possible, low.angle + half, half)))

    def _refine(self, wedge: _Wedge) -> None:
        """Look for what is certain in a wedge, or, where that has been done, halve it and look in both halves."""
        self._part(wedge)
        refined = [wedge]
        if wedge.certain is None:
            wedge.certain = tuple(self._certain(wedge))
        elif (wedge.end - wedge.start) * self.body.radius < _FINEST:
            wedge.hopeless = True
        else:
            middle = self._slice((wedge.start + wedge.end) / 2)
            refined = [self._wedge(wedge.low, middle, middle.angle), self._wedge(middle, wedge.high, wedge.end)]
            for half in refined:
                half.certain = tuple(self._certain(half))
            at = self.wedges.index(wedge)
            self.wedges[at : at + 1] = refined
        for part in refined:
            self._join(part, _links(part))

    def _certain(self, wedge: _Wedge) -> Iterator[Certain]:
        for region in self._regions([part.over(wedge.start, wedge.end) for part in self.body.parts]):
            low, high = (_holder(region, side.regions) for side in (wedge.low, wedge.high))
            if low and high and region.layer not in self.layers.vias:  # where it is lifted it need not turn
                yield Certain(
                    region.layer, region.polygon, region.point, low=low, high=high, turn=wedge.end - wedge.start
                )

    # ---- the graph ----

    def _join(self, by: _Slice | _Wedge, links: Iterable[tuple[Region, Region, float]]) -> None:
        """Join regions as a slice or a wedge does."""
        for one, other, price in links:
            self.joined.setdefault(one, {}).setdefault(by, []).append((other, price))
            self.joined.setdefault(other, {}).setdefault(by, []).append((one, price))

    def _part(self, by: _Wedge) -> None:
        """Part what a wedge joins."""
        for one, other, _ in _links(by):
            self.joined[one].pop(by, None)
            self.joined[other].pop(by, None)

    def _lifts(self, regions: Sequence[Region], angle: float, half: float) -> Iterator[tuple[Region, Region]]:
        """Yield the regions of the layers between with those of the layers that they join, at angles up to a half more or less.

        Where its center is elsewhere in the other layer, a region may be joined with all that it comes near at any such angle.
        """
        for link in self.layers.links:
            slack = hypot(*link.offset) * half
            for region in (region for region in regions if region.layer == link.via):
                yield from _holders(region, regions, link.one)
                if slack == 0.0:
                    yield from _holders(region, regions, link.other, link.shift(angle))
                    continue
                there = translate(region.polygon, *link.shift(angle))
                near = (r for r in regions if r.layer == link.other and r.polygon.distance(there) <= slack)
                yield from ((region, other) for other in near)

    def _cheapest(self, starts: Sequence[Region]) -> tuple[list[Region], float, list[Region]]:
        """Return the chain of regions from a start to the goal that counts least, its price, and all that is reached."""
        best: dict[Region, float] = dict.fromkeys(starts, 0.0)
        before: dict[Region, Region] = {}
        heap = [(0.0, i, region) for i, region in enumerate(starts)]
        turn = len(heap)
        while heap:
            price, _, region = heapq.heappop(heap)
            if region in self.goals:
                return _back(region, before), price, list(best)
            if price > best[region]:
                continue
            for other, more in chain.from_iterable(self.joined.get(region, {}).values()):
                if price + more < best.get(other, float("inf")):
                    best[other], before[other] = price + more, region
                    heapq.heappush(heap, (price + more, turn, other))
                    turn += 1
        return [], 0.0, list(best)

    def _mixed(self, way: Sequence[Region]) -> list[_Wedge]:
        """Return the wedges through whose possible regions a chain leads."""
        used = set(way)
        return [wedge for wedge in self.wedges if not used.isdisjoint(wedge.possible)]


def _links(wedge: _Wedge) -> Iterator[tuple[Region, Region, float]]:
    """Yield what a wedge joins with what, and what it counts for: next to nothing where it is certain."""
    price = _HOPELESS if wedge.hopeless else 1.0
    yield from ((one, other, price) for one, other in wedge.joints)
    for certain in wedge.certain or ():
        yield certain.low, certain, _TURNING * certain.turn
        yield certain, certain.high, 0.0


def _back(region: Region, before: dict[Region, Region]) -> list[Region]:
    way = [region]
    while way[-1] in before:
        way.append(before[way[-1]])
    return way[::-1]


def _holder(region: Region, others: Sequence[Region]) -> Region | None:
    """Return the region among others of the same layer that a region lies in, if any."""
    return next((r for r in others if r.layer == region.layer and r.polygon.intersects(region.point)), None)


def _holders(
    region: Region, others: Sequence[Region], layer: int, shift: tuple[float, float] = (0.0, 0.0)
) -> Iterator[tuple[Region, Region]]:
    """Yield a region with the one of a layer that it lies in once it is shifted, up to rounding."""
    wanted = [r for r in others if r.layer == layer]
    if len(wanted) > 1:
        point = translate(region.point, *shift)
        yield region, min(wanted, key=lambda r: r.polygon.distance(point))
    elif wanted:
        yield region, wanted[0]
