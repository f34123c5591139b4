"""Who can get out: from each seat, bed and standing place to a doorway, or by what trapped?"""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, Final

import shapely

from tumblehome.checks.finding import Finding, verdict_of
from tumblehome.lengths import shown
from tumblehome.people.aisle import upright
from tumblehome.people.gauge import body, turned
from tumblehome.people.ground import Gate
from tumblehome.people.places import places_of
from tumblehome.people.rigid import turns_out
from tumblehome.people.words import between, joined, said
from tumblehome.records import dataclass

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    import numpy as np
    from numpy.typing import NDArray

    from tumblehome.body.parts import Doorway
    from tumblehome.checks.finding import Verdict
    from tumblehome.people.ground import Floor, Ground
    from tumblehome.people.person import Person
    from tumblehome.people.places import Place

__all__ = ["check_exits"]

_STOOP: Final = 0.75
"""Who has to stoops to this share of the stature to get out; common practice, no published source."""
_NEAR: Final = 700.0
"""What is farther from a seat or bed than this does not trap those in it by itself, mm: two steps."""
_CAUTION: Final = "guidance: local codes and licensed practice decide"


@dataclass(frozen=True, eq=False)
class _Route:
    """The best way by one doorway: how one goes there, and the narrowest gate; of no way, the least narrow.

    Where the posture changes on the way no such gate is told, but ``bars``: where one who keeps it does not pass.
    """

    doorway: Doorway
    how: str
    found: Gate | float | None
    bars: Gate | None = None

    @property
    def is_open(self) -> bool:
        """Whether one gets out there."""
        return _margin(self.found) >= 0

    @property
    def rank(self) -> tuple[bool, int, float]:
        """How good it is: upright before stooped, both facing before sideways, and by what is to spare."""
        return self.is_open, -_HOW.index(self.how) if self.is_open else 0, _margin(self.found)


_HOW: Final = (
    "", "stooped", "stooped in places", "only sideways", "only sideways and stooped", "only sideways and stooped in places",
)  # fmt: skip
"""How one gets out, the easiest first."""
_KEPT: Final = {_HOW[2]: _HOW[0], _HOW[5]: _HOW[3]}
"""How one would go who does not change posture on the way."""


_BENDS: Final = "where the shoulders must give round a corner"
"""What is said where a body that does not bend has no way."""


def _margin(found: Gate | float | None) -> float:
    if found is None:
        return float("-inf")
    return found.margin if isinstance(found, Gate) else found


@dataclass(frozen=True, eq=False)
class _Walk:
    """The floor of a layout for somebody who gets out."""

    floor: Floor
    person: Person

    @cached_property
    def _bodies(self) -> tuple[Person, Person]:
        """The person as tall as one walks there, and stooped."""
        tall = upright(self.person, self.floor)
        return tall, tall.scaled(min(1.0, _STOOP * self.person.stature / tall.stature))

    def gives_way(self, route: _Route, start: shapely.Geometry) -> bool:
        """Whether one who goes sideways must bend to get round a corner: a body that does not bend has no way."""
        postures = {_HOW[3]: self._bodies[0], _HOW[4]: self._bodies[1]}
        return route.how in postures and not turns_out(self.floor, postures[route.how], start, route.doorway)

    @cached_property
    def _grounds(self) -> dict[str, Ground]:
        tall, low = self._bodies
        gauges = (body(tall), body(low), turned(tall), turned(low))
        return {how: self.floor.ground(gauge) for how, gauge in zip((*_HOW[:2], *_HOW[3:5]), gauges, strict=True)}

    def routes(self, start: shapely.Geometry) -> list[_Route]:
        """Return the routes from a place by all doorways, the best first."""
        found = [self._route(start, door) for door in self.floor.layout.shell.doorways]
        return sorted(found, key=lambda route: route.rank, reverse=True)

    def _route(self, start: shapely.Geometry, door: Doorway) -> _Route:
        """Return the easiest way by a doorway from where there is room for the body."""
        tries: dict[str, _Route] = {}
        for how in _HOW:
            before = tries[_KEPT[how]].found if how in _KEPT else None
            bars = before if isinstance(before, Gate) else None
            tries[how] = _Route(door, how, self._way(how, start, self.floor.outside(door)), bars)
            if tries[how].is_open:
                return tries[how]
        return max(tries.values(), key=lambda route: _margin(route.found))

    def _way(self, how: str, start: shapely.Geometry, outside: shapely.Geometry) -> Gate | float | None:
        if how in self._grounds:
            way = self._grounds[how].narrowest(start, outside)
            return way if _margin(way) < 0 or self._grounds[how].has_room_in(start) else None
        mixed = self._mixed[how]
        joined = shapely.intersects(mixed, start) & shapely.intersects(mixed, outside)
        return 0.0 if joined.any() else None

    @cached_property
    def _mixed(self) -> dict[str, NDArray[np.object_]]:
        """The separate pieces of where the middle of somebody can be who changes posture on the way, where both have room."""
        kinds = {_HOW[2]: _HOW[:2], _HOW[5]: (*_HOW[:2], *_HOW[3:5])}
        grounds = {how: [self._grounds[each].standing for each in each_of] for how, each_of in kinds.items()}
        return {how: shapely.get_parts(shapely.union_all(standing)) for how, standing in grounds.items()}

    def barring(self, place: Place, *, alone: bool) -> list[str]:
        """Return the modules near a place that trap the one in it: without any one of them there is a way out."""
        near = shapely.box(*(end for corner in place.module.bounds for end in corner[:2])).buffer(_NEAR)
        own = {place.module.name, place.module.support}
        found = []
        for module in self.floor.layout.modules:
            low, high = module.bounds
            if module.parent is None and module.name not in own and near.intersects(shapely.box(*low[:2], *high[:2])):
                without = _Walk(self.floor.without(module.name), self.person)
                again = next(other for other in places_of(without.floor, self.person) if other.name == place.name)
                if without.routes(again.alone if alone else again.floor)[0].is_open:
                    found.append(module.name)
        return found


def check_exits(floor: Floor, person: Person) -> Iterator[Finding]:
    """Yield for each seat, bed, counter and bath by which doorway one gets out, how narrow it is, or by what one is trapped.

    A way is walked upright, or as the roof lets one, or else stooped, all along or in places; facing forward, or else sideways,
    where a body is taken to be as wide as it is deep; whether one that does not bend gets round the corners is then proven, and
    said where it does not. What ends within 200 mm of the floor is stepped over; heads duck. Who sits or lies gets up to floor
    within half a step that nothing bars at the height of the trunk, and on which there is room for the body. Where that needs a
    neighbor on the same seat to rise first, or one to climb over the other in bed, it is said. A bed with fewer than two ways
    out is told of. Guidance only.

    Parameters
    ----------
    floor : with its doorways open
    person : who gets out
    """
    walk = _Walk(floor, person)
    ways: dict[str, set[str]] = {}
    for place in places_of(floor, person):
        if not floor.layout.shell.doorways:
            yield _doorless(place)
            continue
        alone = walk.routes(place.alone)
        routes = alone if alone[0].is_open else walk.routes(place.floor)
        yield _told(place, routes, walk, shared=routes[0].is_open and not alone[0].is_open)
        if place.kind == "bed":
            reached = [route.doorway.name for route in (*alone, *walk.routes(place.floor)) if route.is_open]
            ways.setdefault(place.module.name, set()).update(reached)
    yield from (_second(bed, sorted(doors)) for bed, doors in ways.items())


def _told(place: Place, routes: list[_Route], walk: _Walk, *, shared: bool) -> Finding:
    """Return what is found about a place; ``shared`` says that only a neighbor who moves lets one out."""
    best, tolerance = routes[0], walk.floor.layout.shell.measured_to
    narrow = best.found if isinstance(best.found, Gate) else None
    if not best.is_open:
        return _trapped(place, best, walk)
    by = joined([route.doorway.name for route in routes if route.is_open])
    first = f"{_until(place, walk)}, then " if shared else ""
    bends = [_BENDS] if walk.gives_way(best, place.floor if shared else place.alone) else []

    def words(units: str) -> str:
        parts = [f"{first}out by {by}", *filter(None, [best.how]), *bends]
        if best.bars:
            parts.append(f"as {between(best.bars.parts)}, {shown(best.bars.width, units)}")
        if narrow:
            parts.append(f"narrowest {shown(narrow.width, units)} {between(narrow.parts)}")
            parts.append(f"{shown(narrow.margin, units)} to spare")
        return ", ".join(parts)

    verdict = "tight" if best.how or shared else verdict_of(_margin(best.found), tolerance)
    return _finding(place, verdict, narrow, walk, words)


def _until(place: Place, walk: _Walk) -> str:
    """Say what holds one who can only leave when a neighbor moves."""
    if place.kind == "bed":
        return "climbs over the other"
    barred = walk.barring(place, alone=True)
    return f"trapped by {joined(barred, 'or')} until the neighbor rises" if barred else "waits until the neighbor rises"


def _trapped(place: Place, best: _Route, walk: _Walk) -> Finding:
    narrow = best.found if isinstance(best.found, Gate) else None
    barred = [] if narrow else walk.barring(place, alone=False)

    def words(units: str) -> str:
        if narrow:
            gap = f"only {shown(narrow.width, units)} {between(narrow.parts)}"
            return f"trapped: {gap} on the way to {best.doorway.name} ({_CAUTION})"
        by = f"trapped by {joined(barred, 'or')}" if barred else "trapped"
        return f"{by}: no room to stand from which floor leads to a doorway ({_CAUTION})"

    return _finding(place, "fouls", narrow, walk, words, " or ".join(barred) or None)


def _finding(
    place: Place,
    verdict: Verdict,
    narrow: Gate | None,
    walk: _Walk,
    words: Callable[[str], str],
    cause: str | None = None,
) -> Finding:
    return Finding(
        place.name, "getting out", verdict, narrow.width if narrow else None,
        limit=narrow.width - narrow.margin if narrow else 0.0, where=narrow.at if narrow else None,
        cause=" and ".join(narrow.parts) if narrow else cause, source=f"{body(walk.person).source}; {_CAUTION}",
        tolerance=walk.floor.layout.shell.measured_to, said=said(words),
    )  # fmt: skip


def _second(bed: str, ways: list[str]) -> Finding:
    words = f"two ways out: {joined(ways)}" if len(ways) > 1 else f"one way out, {ways[0]}" if ways else "no way out"
    verdict: Verdict = "clear" if len(ways) > 1 else "tight" if ways else "fouls"
    more = "" if len(ways) > 1 else f" ({_CAUTION})"
    return Finding(bed, "second way out", verdict, source=_CAUTION, said=dict.fromkeys(("mm", "in"), words + more))


def _doorless(place: Place) -> Finding:
    return Finding(
        place.name, "getting out", "fouls", source=_CAUTION,
        said=dict.fromkeys(("mm", "in"), "the shell states no doorway; add [[doorways]] to its file"),
    )  # fmt: skip
