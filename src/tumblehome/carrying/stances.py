"""How is a module held while it is carried: standing, lifted, tipped, lying? And in which plans does it move then?"""

from __future__ import annotations

from functools import cache, cached_property
from typing import TYPE_CHECKING

from tumblehome.carrying.search import Layers, Link
from tumblehome.records import dataclass

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from tumblehome.carrying.footprint import Body
    from tumblehome.carrying.freeplan import FreePlan, Grounds
    from tumblehome.carrying.laying import Laying
    from tumblehome.fitout import Module

__all__ = ["Stances"]

_STANDING, _LYING, _SWEPT, _TIPPED = range(4)


@dataclass(frozen=True, eq=False)
class Stances:
    """The stances of a module that is carried.

    Attributes
    ----------
    body : Body, the module as it stands
    laying : how it is laid on a side, or None where it stays upright
    lift : mm, the height to which its foot may be lifted, or None
    grounds : returns what a thing of some heights may move in
    """

    body: Body
    laying: Laying | None
    lift: float | None
    grounds: Callable[[tuple[float, float]], Grounds]

    @cached_property
    def bodies(self) -> tuple[Body, ...]:
        """It as it stands; laid on a side, as it lies about its own middle, what it sweeps when tipped, and as it lies then."""
        laying = self.laying
        return (self.body, laying.lying, laying.swept, laying.tipped) if laying else (self.body,)

    @cached_property
    def carried(self) -> Body:
        """The parts of all of them, in their order."""
        return self.body.joined(*self.bodies[1:])

    @property
    def high(self) -> float:
        """How high it is as it leaves, mm."""
        leaving = self.bodies[_LYING if self.laying else _STANDING]
        return leaving.top - leaving.foot

    @property
    def far(self) -> float:
        """How long it is in plan, across its middle, mm."""
        return 2 * max(body.radius for body in self.bodies[: _LYING + 1])

    def layers(self, kept: Sequence[Module], *, surely: bool = True) -> Layers:
        """Return the plans that are left by some modules: it stands; it lies; each of the two lifted.

        Where it is tipped, all that it sweeps must ``surely`` be free; or else only itself before and after, without which it
        cannot be tipped at all.
        """

        @cache
        def plan(heights: tuple[float, float]) -> FreePlan:
            return self.grounds(heights).plan(kept)

        def row(stances: Sequence[int], low: float = 0.0, high: float = 0.0) -> tuple[FreePlan | None, ...]:
            spans = [(a + low, b + high, i in stances) for i, body in enumerate(self.bodies) for a, b in body.heights]
            return tuple(plan((a, b)) if is_there else None for a, b, is_there in spans)

        foot = self.body.foot
        rows, feet, links, laid = [row([_STANDING])], [foot], list[Link](), set[int]()
        if self.laying:
            rows += [row([_LYING]), row([_STANDING, _SWEPT if surely else _TIPPED])]
            x, y = self.laying.offset.tolist()
            feet, links, laid = [foot] * 3, [Link(2, 0, 1, (x, y))], {1}
        for stance in (_STANDING, _LYING) if self.laying else (_STANDING,):
            if self.lift is not None:
                raised, last = self.lift - foot, len(rows)
                rows += [row([stance], raised, raised), row([stance], 0.0, raised)]
                feet, links = [*feet, self.lift, foot], [*links, Link(last + 1, stance, last)]
                laid |= {last} if stance == _LYING else set()
        return Layers(tuple(rows), tuple(feet), tuple(links), frozenset(laid))
