"""Where along the aisle can two people pass?"""

from __future__ import annotations

from itertools import pairwise, product
from typing import TYPE_CHECKING, Final

from tumblehome.checks.finding import Finding
from tumblehome.lengths import shown
from tumblehome.people.gauge import body, turned
from tumblehome.people.person import Person
from tumblehome.people.profile import Stretch, abreast, meeting, widths_along
from tumblehome.people.words import joined, said

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tumblehome.checks.finding import Verdict
    from tumblehome.people.gauge import Slab
    from tumblehome.people.ground import Floor

__all__ = ["check_passing", "passing_places", "passing_width"]

_MEDIAN: Final = 50
_SOURCE: Final = "common practice, no published source: an aisle lets two people pass where a van is for a couple"


def passing_places(floor: Floor, person: Person) -> list[tuple[float, float]]:
    """Return the stretches of stations, mm, in which two people pass, one facing the way, one turned.

    At every station of such a stretch the two stand side by side: hips and shoulders of each above one another, clear of what is at
    the left and at the right within the same heights, and clear of the other. A stretch counts that is at least as long as the
    shoulders of the one who is turned.

    Parameters
    ----------
    floor : with its doorways closed
    person : both of them
    """
    facing, aside = body(person).slabs, turned(person).slabs
    along = [widths_along(floor, (slab.low, slab.high)) for slab in facing]
    spans: list[tuple[float, float]] = []
    for across in abreast(*along):
        for at_left, at_right in ((facing, aside), (aside, facing)):
            spans += _side_by_side(across, at_left, at_right)
    return [(a, b) for a, b in meeting(spans) if b - a >= person.shoulder_breadth]


def _side_by_side(
    across: Sequence[Stretch], at_left: Sequence[Slab], at_right: Sequence[Slab]
) -> list[tuple[float, float]]:
    """Return the part, if any, of a stretch in which one body fits at the left of another.

    Parameters
    ----------
    across : how wide it is there, slab by slab
    at_left, at_right : the slabs of the two
    """
    apart = _apart(at_left, at_right)
    spans = [(across[0].start, across[0].end)]
    lefts, rights = zip(across, at_left, strict=True), zip(across, at_right, strict=True)
    for (one, slab), (other, next_slab) in product(lefts, rights):
        between = Stretch(one.start, one.end, one.left, other.right)
        span = between.at_least(apart + (slab.width + next_slab.width) / 2)
        spans = meeting(spans, [span]) if span else []
    return spans


def _apart(one: Sequence[Slab], other: Sequence[Slab]) -> float:
    """Return how far the middles of two are from each other at least, mm."""
    return max(a.width + b.width for a, b in zip(one, other, strict=True)) / 2


def passing_width(person: Person) -> float:
    """Return how wide an aisle between upright walls must be for two to pass, mm: less than twice the breadth of the shoulders."""
    facing, aside = body(person).slabs, turned(person).slabs
    return _apart(facing, aside) + sum(max(slab.width for slab in slabs) for slabs in (facing, aside)) / 2


def check_passing(floor: Floor, person: Person) -> Iterator[Finding]:
    """Yield where two people can pass, and how far apart such places are; where none can, whether two of the median could.

    In a van for two it is at fault when not even those can.

    Parameters
    ----------
    floor : with its doorways closed
    person : both of them
    """
    sleepers = sum(m.use.people for m in floor.layout.modules if m.use and m.use.kind == "bed")
    places = passing_places(floor, person)
    median = [] if places else passing_places(floor, Person.of(_MEDIAN))

    def words(units: str) -> str:
        if places:
            return f"two people can pass {_listed(places, units)}"
        if median:
            return f"two of percentile {person.percentile} can pass nowhere, two of the median {_listed(median, units)}"
        return "two people can pass nowhere" + (", and it is a van for two" if sleepers > 1 else "")

    verdict: Verdict = "clear" if places or sleepers < 2 else "tight" if median else "fouls"
    source = _SOURCE if sleepers > 1 else body(person).source
    yield Finding("aisle", "passing", verdict, source=source, said=said(words))


def _listed(places: list[tuple[float, float]], units: str) -> str:
    where = [f"from {shown(a, units)} to {shown(b, units)}" for a, b in places]
    apart = [c - b for (_, b), (c, _) in pairwise(places)]
    more = f", {shown(max(apart), units)} at most between such places" if apart else ""
    return f"{joined(where)}{more}"
