"""Who can get out: from each seat, bed and standing place to a doorway, or by what trapped?"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Final

from tumblehome.checks.finding import Finding, verdict_of
from tumblehome.people.gauge import body, turned
from tumblehome.people.ground import Gate, Ground
from tumblehome.people.places import places_of
from tumblehome.people.words import between, joined, said, shown

if TYPE_CHECKING:
    from collections.abc import Iterator

    import shapely

    from tumblehome.body.parts import Doorway
    from tumblehome.checks.finding import Verdict
    from tumblehome.people.ground import Floor
    from tumblehome.people.person import Person
    from tumblehome.people.places import Place

__all__ = ["STOOP", "check_exits", "stooping"]

STOOP: Final = 0.75
"""Who has to get out stoops to this share of the stature; common practice, no published source."""
_HEAD: Final = 0.98
"""In a van lower than that, to this share of the room below its roof."""
_CAUTION: Final = "guidance: local codes and licensed practice decide"


def stooping(person: Person, floor: Floor) -> Person:
    """Return the person as low as one goes to get out: stooped, and lower still in a van that is lower."""
    top = floor.layout.shell.heights[1]
    return person.scaled(min(STOOP, _HEAD * top / person.stature))


@dataclass(frozen=True, eq=False)
class _Route:
    """The best way by one doorway: facing or sideways, and its narrowest gate."""

    doorway: Doorway
    facing: Gate | float | None
    sideways: Gate | float | None

    @cached_property
    def rank(self) -> tuple[int, float]:
        """How good it is: facing before sideways before not at all, and by what is to spare."""
        if _margin(self.facing) >= 0:
            return 2, _margin(self.facing)
        return (1, _margin(self.sideways)) if _margin(self.sideways) >= 0 else (0, _margin(self.sideways))


def _margin(found: Gate | float | None) -> float:
    if found is None:
        return float("-inf")
    return found.margin if isinstance(found, Gate) else found


def check_exits(floor: Floor, person: Person) -> Iterator[Finding]:
    """Yield for each seat, bed, counter and bath by which doorway one gets out, how narrow it is, or by what one is trapped.

    A way is walked stooped, facing forward or else sideways; what ends within 200 mm of the floor is stepped over. Who sits or lies
    gets up to floor within half a step that nothing bars at the height of the trunk; the neighbor on the same seat may have to
    rise first, which is said. A bed with fewer than two ways out is told of. Guidance only.
    """
    low = stooping(person, floor)
    facing, sideways = Ground(floor, body(low)), Ground(floor, turned(low))
    doors = floor.layout.shell.doorways
    for place in places_of(floor):
        if not doors:
            yield _doorless(place)
            continue
        alone = _best(place.alone, floor, facing, sideways)
        routes = alone if alone[0].rank[0] else _best(place.floor, floor, facing, sideways)
        yield _told(place, routes, floor, rises=not alone[0].rank[0] and routes[0].rank[0] > 0, person=person)
        if place.kind == "bed":
            yield _second(place, routes)


def _best(start: shapely.Geometry, floor: Floor, facing: Ground, sideways: Ground) -> list[_Route]:
    """Return the routes by all doorways, the best first."""
    routes = []
    for door in floor.layout.shell.doorways:
        outside = floor.outside(door)
        ahead = facing.narrowest(start, outside)
        aside = None if _margin(ahead) >= 0 else sideways.narrowest(start, outside)
        routes.append(_Route(door, ahead, aside))
    return sorted(routes, key=lambda route: route.rank, reverse=True)


def _told(place: Place, routes: list[_Route], floor: Floor, *, rises: bool, person: Person) -> Finding:
    best, tolerance = routes[0], floor.layout.shell.measured_to
    gate = best.facing if best.rank[0] == 2 else best.sideways
    narrow = gate if isinstance(gate, Gate) else None
    if best.rank[0] == 0:
        return _trapped(place, best, tolerance)
    also = [route.doorway.name for route in routes[1:] if route.rank[0]]
    by = joined([best.doorway.name, *also])

    def words(units: str) -> str:
        parts = [f"out by {by}" + ("" if best.rank[0] == 2 else ", only sideways")]
        if rises:
            parts.append("once the neighbor rises")
        if narrow:
            parts.append(f"narrowest {shown(narrow.width, units)} {between(narrow.parts)}")
            parts.append(f"{shown(narrow.margin, units)} to spare")
        return ", ".join(parts)

    verdict = "tight" if best.rank[0] == 1 or rises else verdict_of(best.rank[1], tolerance)
    return Finding(
        place.name, "getting out", verdict, narrow.width if narrow else None,
        limit=narrow.width - narrow.margin if narrow else 0.0,
        where=narrow.at if narrow else None,
        cause=" and ".join(narrow.parts) if narrow else None, source=f"{body(person).source}; {_CAUTION}",
        tolerance=tolerance, said=said(words),
    )  # fmt: skip


def _trapped(place: Place, best: _Route, tolerance: float) -> Finding:
    narrow = best.sideways if isinstance(best.sideways, Gate) else None

    def words(units: str) -> str:
        if narrow is None:
            return f"trapped: no floor leads to a doorway ({_CAUTION})"
        gap = f"only {shown(narrow.width, units)} {between(narrow.parts)}"
        return f"trapped: {gap} on the way to {best.doorway.name} ({_CAUTION})"

    return Finding(
        place.name, "getting out", "fouls", narrow.width if narrow else None,
        limit=narrow.width - narrow.margin if narrow else 0.0,
        where=narrow.at if narrow else None,
        cause=" and ".join(narrow.parts) if narrow else None, source=_CAUTION, tolerance=tolerance, said=said(words),
    )  # fmt: skip


def _second(place: Place, routes: list[_Route]) -> Finding:
    ways = [route.doorway.name for route in routes if route.rank[0]]
    words = f"two ways out: {joined(ways)}" if len(ways) > 1 else f"one way out, {ways[0]}" if ways else "no way out"
    verdict: Verdict = "clear" if len(ways) > 1 else "tight" if ways else "fouls"
    more = "" if len(ways) > 1 else f" ({_CAUTION})"
    return Finding(
        place.name, "second way out", verdict, source=_CAUTION, said=dict.fromkeys(("mm", "in"), words + more)
    )


def _doorless(place: Place) -> Finding:
    return Finding(
        place.name, "getting out", "fouls", source=_CAUTION,
        said=dict.fromkeys(("mm", "in"), "the shell states no doorway; add [[doorways]] to its file"),
    )  # fmt: skip
