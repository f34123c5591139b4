"""What stops a module: the wall always, and of what stands in the van only what reaches beyond the module's face.

A module is put in its place as it stands. A block before its face takes no depth from it, though it may bar the way there:
that is a question of carrying. What lies beyond the face as it stands, in whole or in part, keeps its back from the wall by
all of it, its foremost point first.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from tumblehome.records import dataclass
from tumblehome.studies.profile import Profile, lower_envelope
from tumblehome.tolerances import CONTACT, EDGE

if TYPE_CHECKING:
    from collections.abc import Iterable

    from tumblehome.studies.profile import Piece

__all__ = ["Barriers", "Thing"]


@dataclass(frozen=True)
class Thing:
    """Something that stands in the van, as functions of one length.

    ``near`` is how far out it lets a back go, ``beyond`` how far outboard of the module's face it reaches, mm.
    """

    near: Profile
    beyond: Profile

    def counted(self, low: float, high: float) -> list[tuple[float, float]]:
        """Return the stretches between two places in which it reaches beyond the face."""
        return self.beyond.clipped(low, high).stretches_above(2 * CONTACT)


@dataclass(frozen=True)
class Barriers:
    """All that can stop a module, as functions of one length: ``wall`` always, each of ``things`` where it counts.

    No answer is below 0: where something reaches over the centerline nothing passes, and the stretch is barred.
    """

    wall: Profile
    things: tuple[Thing, ...] = ()

    def each(self) -> Profile:
        """Return how far out a back can go at each place by itself."""
        near = [t.near.clipped(a, b) for t in self.things for a, b in t.counted(-np.inf, np.inf)]
        return _least_of([self.wall, *near]).floored()

    def upward(self, low: float, high: float) -> Profile:
        """Return how far out the back of what reaches from ``low`` up to each place can go."""
        return self._running(low, high, backward=False)

    def downward(self, low: float, high: float) -> Profile:
        """Return how far out the back of what reaches from ``high`` down to each place can go."""
        return self._running(low, high, backward=True)

    def least(self, low: float, high: float) -> tuple[float, Piece] | None:
        """Return how far out the back of what reaches from one place to another can go, and the stretch that stops it."""
        if not self.things or high - low <= EDGE:
            return self.each().least(low, high)
        curve = self.upward(low, high)
        return None if curve.is_empty else (curve.pieces[-1].high, curve.pieces[-1])

    def _running(self, low: float, high: float, *, backward: bool) -> Profile:
        curves = [self.wall.clipped(low, high)]
        for thing in self.things:
            runs = thing.counted(low, high)
            if runs:  # from where some of it is beyond the face, all of it counts
                start, end = (low, runs[-1][1]) if backward else (runs[0][0], high)
                curves.append(thing.near.clipped(low, high).running_least(backward=backward).clipped(start, end))
        return _least_of(curves).running_least(backward=backward).floored()


def _least_of(profiles: Iterable[Profile]) -> Profile:
    """Return the least of some profiles at each place."""
    some = [profile for profile in profiles if not profile.is_empty]
    if len(some) < 2:
        return some[0] if some else Profile(())
    rows = np.array([(p.start, p.end, p.low, p.high, p.cause) for profile in some for p in profile.pieces])
    return lower_envelope(*rows.T)
