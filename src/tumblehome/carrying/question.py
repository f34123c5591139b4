"""Can one module be carried out by one doorway, what stops it, and what would have to go first?"""

from __future__ import annotations

from dataclasses import field
from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING, Final, Literal

import numpy as np
import shapely

from tumblehome.carrying.bracket import DECIDED, bracket
from tumblehome.carrying.footprint import Body
from tumblehome.carrying.freeplan import Grounds
from tumblehome.carrying.laying import Laying
from tumblehome.carrying.path import Mover, Path, Pose, route_of, way_within
from tumblehome.carrying.pinch import Pinch, pinch_of
from tumblehome.carrying.search import TOUCH, Answer, may_pass, search
from tumblehome.carrying.stances import Stances
from tumblehome.records import dataclass

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from tumblehome.body.parts import Doorway
    from tumblehome.carrying.search import Layers
    from tumblehome.fitout import Layout, Module

    Floats = NDArray[np.float64]

__all__ = ["Question", "Way"]

_STEP_HIGH: Final = 200.0
"""What ends no higher than this above the floor can be carried over, mm; what is higher stands in the way. About the riser of
a stair (IRC R311.7.5.1: at most 7 3/4 in; value from memory)."""
_LIFT: Final = 20.0
"""How high above sills and steps a foot is carried, mm; common practice, no published source."""
_MOST: Final = 300.0
"""Whether more than this on every side is to spare is not asked, mm."""
_LEAST: Final = 5.0
"""A thing with less than this to both sides of its middle is no thing any more, mm: none is built so thin."""


@dataclass(frozen=True, eq=False)
class Way:
    """What was found about one doorway.

    Attributes
    ----------
    doorway : Doorway
    outcome : "passes", "blocked" (proven) or "undecided" (it is within 1 mm of the size that passes)
    too_tall : mm by which it is taller than the doorway, which bars it at any place; else 0
    spare : (low, high) mm by which every side could lie further out: with ``low`` it passes, with ``high`` it surely does
        not (laid on a side, it was not shown to); negative where it is too big. None for ``low`` when nothing of its kind as
        small as ``high`` says passes, for ``high`` when it passes with all that was asked for.
    path : the roomiest way out; where it does not pass, that of the largest such thing that does, if any
    place_room : mm by which every side could lie further out in its place, where that, not the way, limits it most; else None
    pinch : the narrowest place on the way
    removals : when blocked, the smallest sets of other modules without which it passes, each by names, the lightest first
    slices : how many angles were looked at
    lying : the side on which it is laid on its way, or None where it stays upright; where "undecided" then, it would pass lying
        but no place was proven where it can be tipped
    """

    doorway: Doorway
    outcome: Literal["passes", "blocked", "undecided"]
    too_tall: float = 0.0
    spare: tuple[float | None, float | None] = (None, None)
    path: Path | None = None
    place_room: float | None = None
    pinch: Pinch | None = None
    removals: tuple[tuple[str, ...], ...] = ()
    slices: int = 0
    lying: str | None = None


@dataclass(frozen=True, eq=False)
class Question:
    """One module, what else stands in the van (``others``), one doorway, and ``hand`` mm kept free on every side.

    With a side on which it is ``lying`` it is tipped onto that side wherever there is room, and carried on so.
    """

    layout: Layout
    module: Module
    others: tuple[Module, ...]
    doorway: Doorway
    hand: float
    lying: str | None = None
    _answers: dict[float, Answer] = field(default_factory=dict, repr=False)

    @cached_property
    def body(self) -> Body:
        """The module's own parts, as it stands."""
        return Body.of_prisms(self.module.hull)

    @cached_property
    def stances(self) -> Stances:
        """How it is held on its way."""
        roof = float(self.layout.shell.heights[1])
        laying = None if self.lying is None else Laying(self.module, self.lying, self.body, roof)
        return Stances(self.body, laying, self.lift, self._grounds)

    @cached_property
    def lift(self) -> float | None:
        """The height of its foot above everything low, mm, or None where nothing low is higher than its foot."""
        shell = self.layout.shell
        members = (shell.solid_of(part.name) for part in shell.parts if not part.gives)
        solids = [*(solid for solid in members if not solid.is_empty), *(m.solid for m in self.others)]
        tops = [self.doorway.heights[0], *(float(solid.bounds[1][2]) for solid in solids)]
        low = max((top for top in tops if TOUCH < top <= _STEP_HIGH), default=0.0)
        return low + _LIFT if low + _LIFT > self.body.foot and low > 0 else None

    # ---- plans ----

    @cached_property
    def _made(self) -> dict[tuple[float, float], Grounds]:
        return {}

    def _grounds(self, heights: tuple[float, float]) -> Grounds:
        if heights not in self._made:
            self._made[heights] = Grounds(self.layout.shell, self.doorway, heights, self.stances.far)
        return self._made[heights]

    def layers(self, gone: frozenset[str] = frozenset(), *, surely: bool = True) -> Layers:
        """Return the plans that are left when some modules are gone; see `Stances.layers`."""
        return self.stances.layers([m for m in self.others if m.name not in gone], surely=surely)

    @cached_property
    def _layers(self) -> Layers:
        return self.layers()

    @property
    def goal(self) -> Floats:
        """A place (2,) outside."""
        return self._grounds(self.body.heights[0]).goal

    # ---- one decision ----

    def _standing(self, layers: Layers, by: float) -> shapely.Polygon:
        """Return where it can be pulled to from its place without turning, with every side so many mm further out."""
        pieces = layers.places(0, [part.at(0.0) for part in self.stances.carried.grown(by - TOUCH).parts])
        return min(pieces, key=lambda piece: piece.distance(self._place), default=shapely.Polygon())

    @property
    def _place(self) -> shapely.Point:
        return shapely.Point(self.body.center)

    def start(self, layers: Layers, by: float) -> shapely.Geometry:
        """Return the places from which it may start with every side so many mm further out.

        Smaller or as it is, it starts in its place, or at the nearest free one where it fouls. Larger, it starts where it
        covers its place; but where its place, not the way, would limit it, it starts wherever it can be pulled to without
        turning and with the room that its place has, at most by its own length.
        """
        if by > 0 and self._is_pulled:
            return self._standing(layers, self.place_room or 0.0).intersection(self._place.buffer(self.stances.far))
        own = self._standing(layers, by)
        if by > 0 or own.is_empty:
            return own.intersection(self._covering(by))
        return shapely.Point(shapely.get_coordinates(shapely.shortest_line(own, self._place))[0])

    def _covering(self, by: float) -> shapely.Polygon:
        """Return where its center may be for it to cover its place when every side lies so many mm further out."""
        frame = self.module.frame
        corners = [by * (u * frame.right + v * frame.away) for u, v in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
        return shapely.Polygon(self.body.center + np.array(corners))

    @cached_property
    def place_room(self) -> float | None:
        """How much further out every side could lie for it to stand where it covers its place, mm; None where it fouls."""

        def fits(by: float) -> str:
            pieces = self._layers.places(0, [part.at(0.0) for part in self.stances.carried.grown(by - TOUCH).parts])
            covering = self._place if by == 0 else self._covering(by)
            return "passes" if any(piece.intersects(covering) for piece in pieces) else "blocked"

        return bracket(fits, 0.0, 0.0, _MOST)[0]

    @cached_property
    def _is_pulled(self) -> bool:
        """Whether its place limits it more than its way: it then counts from where it has been pulled out."""
        room = self.place_room
        if room is None or self.hand > room:
            return True
        if room == 0.0:
            return self.decide(0.0).verdict == "passes"
        start = self._standing(self._layers, room).intersection(self._covering(room))
        return search(self._layers, self.stances.carried.grown(room), start, self.goal).verdict == "passes"

    def decide(self, by: float, layers: Layers | None = None) -> Answer:
        """Return whether it passes with every side so many mm further out."""
        layers = layers or self._layers
        start = self.start(layers, by)
        if start.is_empty:
            return Answer("blocked")
        return search(layers, self.stances.carried.grown(by), start, self.goal)

    def _ask(self, by: float) -> str:
        if by not in self._answers:
            self._answers[by] = self.decide(by)
        return self._answers[by].verdict

    # ---- all about it ----

    @cached_property
    def outcome(self) -> str:
        """Whether it passes as it is, hand room included: "passes", "blocked" or "undecided"."""
        return "blocked" if self._too_tall > TOUCH else self._ask(self.hand)

    @property
    def _too_tall(self) -> float:
        return self.stances.high - (self.doorway.heights[1] - self.doorway.heights[0])

    def way(self, *, mend: bool = True) -> Way:
        """Return everything about this doorway; what would have to go only where a mend is wanted."""
        if self._too_tall > TOUCH:
            return Way(self.doorway, "blocked", self._too_tall, lying=self.lying)
        if self.lying and (perhaps := self.decide(self.hand, self.layers(surely=False))).verdict == "blocked":
            return Way(self.doorway, "blocked", slices=perhaps.slices, lying=self.lying)
        self._ask(self.hand)
        answer = self._answers[self.hand]
        if self.lying and answer.verdict != "passes":
            return Way(self.doorway, "undecided", slices=answer.slices, lying=self.lying)
        low, high = bracket(self._ask, self.hand, _LEAST - self.stances.carried.narrowest, self.hand + _MOST)
        path = None if low is None else self._path(low, self._answers[low])
        spare = (None if low is None else low - self.hand, None if high is None else high - self.hand)
        removals = tuple(self._removals(answer)) if mend and answer.verdict == "blocked" else ()
        slices = sum(found.slices for found in self._answers.values())
        outcome = answer.verdict if path is None or path.is_free else "undecided"
        limits = (
            low is not None and outcome == "passes" and self._is_pulled and (self.place_room or 0.0) + DECIDED < low
        )
        room = self.place_room if limits else None
        pinch = pinch_of(path) if path else None
        return Way(self.doorway, outcome, 0.0, spare, path, room, pinch, removals, slices, self.lying)

    def _path(self, by: float, answer: Answer) -> Path:
        """Return the way of a body made larger by so many mm, as a way of the body itself; of a smaller one, its own way."""
        start = answer.route[0].polygon.intersection(self.start(self._layers, by).buffer(TOUCH))
        begin = shapely.get_coordinates(shapely.shortest_line(start, self._place))[0]
        larger = Mover(self._layers, self.stances.carried.grown(by))
        bare = Mover(self._layers, self.stances.carried.grown(min(by, 0.0)))
        way = larger.shortened(route_of(answer.route, begin, self.goal, self._layers.links))
        pulled = self._pulled(bare, begin, by)
        return Path(bare, tuple(_distinct([*pulled, *way])), len(pulled) - 1)

    def _pulled(self, bare: Mover, begin: Floats, by: float) -> list[Pose]:
        """Return the poses by which it is pulled out of its place, to where it would start if it were larger."""
        if by <= 0:
            return [Pose(float(begin[0]), float(begin[1]), 0.0)]
        room = self.place_room or 0.0
        own = self._standing(self._layers, min(by, room))
        start = own.intersection(self._covering(room)) if room else own
        near = shapely.get_coordinates(shapely.shortest_line(start, self._place))[0]
        roomy = Mover(self._layers, self.stances.carried.grown(min(by, room)))
        out = roomy.shortened([Pose(float(x), float(y), 0.0) for x, y in way_within(own, near, begin)])
        stands = Pose(self._place.x, self._place.y, 0.0)
        return [stands, *out] if bare.is_free(stands, out[0]) else out

    # ---- what would have to go ----

    def _removals(self, answer: Answer) -> Iterator[tuple[str, ...]]:
        """Yield the single modules without which it passes, or else the lightest such pair.

        A module that comes nowhere near what can be reached does not help by going, so that only those that do are tried.
        """
        near = self._near(answer, frozenset())
        tried = {name: self.decide(self.hand, self.layers(self._with_stack(name))) for name in near}
        single = [name for name, found in tried.items() if found.verdict == "passes"]
        yield from ((name,) for name in single)
        if single:
            return
        pairs = {frozenset((a, b)) for a in near for b in self._near(tried[a], self._with_stack(a))}
        for pair in sorted(pairs, key=lambda names: (self._mass(names), sorted(names))):
            layers = self.layers(frozenset(n for name in pair for n in self._with_stack(name)))
            if self._may_pass(layers) and self.decide(self.hand, layers).verdict == "passes":
                yield tuple(sorted(pair))
                return

    def _may_pass(self, layers: Layers) -> bool:
        """Whether a search is worth its while: False proves that it does not pass."""
        return may_pass(layers, self.stances.carried.grown(self.hand), self.start(layers, self.hand), self.goal)

    def _with_stack(self, name: str) -> frozenset[str]:
        return frozenset(self.layout.with_stack([name]))

    @cached_property
    def _fixed(self) -> frozenset[str]:
        return frozenset(module.name for module in self.others if module.fixed)

    def _mass(self, names: frozenset[str]) -> float:
        gone = {n for name in names for n in self._with_stack(name)}
        return sum(m.mass for m in self.others if m.name in gone)

    def _near(self, answer: Answer, gone: frozenset[str]) -> list[str]:
        """Return the modules that are near what can be reached, or carry what is, the lightest first."""
        reached = shapely.union_all([region.polygon for region in answer.reached], grid_size=1e-3)
        around = (
            reached.buffer(self.body.radius + self.hand + 1.0)
            if answer.reached
            else self._place.buffer(self.stances.far)
        )
        near = {m.name for m in self.others if m.name not in gone and self._shadow(m).intersects(around)}
        stacks = {m.name: self._with_stack(m.name) for m in self.others if m.name not in gone}
        names = [name for name, stack in stacks.items() if not near.isdisjoint(stack) and self._fixed.isdisjoint(stack)]
        return sorted(names, key=lambda name: (self._mass(frozenset((name,))), name))

    def _shadow(self, module: Module) -> shapely.Geometry:
        rings = [ring for grounds in self._made.values() for ring in grounds.shadow(module)]
        return shapely.union_all([shapely.Polygon(ring) for ring in rings], grid_size=1e-3)


def _distinct(poses: Sequence[Pose]) -> Iterator[Pose]:
    """Yield poses without repeating one."""
    yield poses[0]
    yield from (after for before, after in pairwise(poses) if after != before)
