"""Where along the aisle can two people pass?"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Final

from tumblehome.checks.finding import Finding
from tumblehome.people.gauge import body, turned
from tumblehome.people.person import Person
from tumblehome.people.profile import meeting, widths_along
from tumblehome.people.words import joined, said, shown

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tumblehome.checks.finding import Verdict
    from tumblehome.people.ground import Floor

__all__ = ["check_passing", "passing_places"]

_MEDIAN: Final = 50
_SOURCE: Final = "common practice, no published source: an aisle lets two people pass where a van is for a couple"


def passing_places(floor: Floor, person: Person) -> list[tuple[float, float]]:
    """Return the stretches of stations, mm, in which two people pass, one facing the way, one turned.

    The aisle must hold the breadth of the one and the depth of the other side by side, at the hips and at the shoulders, over as
    much of its length as the shoulders of the one who is turned take.

    Parameters
    ----------
    floor : with its doorways closed
    person : both of them
    """
    spans = []
    for facing, aside in zip(body(person).slabs, turned(person).slabs, strict=True):
        stretches = widths_along(floor, (facing.low, facing.high))
        wide = (stretch.at_least(facing.width + aside.width) for stretch in stretches)
        spans.append(meeting([span for span in wide if span]))
    return [(a, b) for a, b in meeting(*spans) if b - a >= person.shoulder_breadth]


def check_passing(floor: Floor, person: Person) -> Iterator[Finding]:
    """Yield where two people can pass, and how far apart such places are; where none can, whether two of the median could.

    In a van for two it is at fault when not even those can.
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
