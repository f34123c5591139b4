"""How does a stack of boxes lie on one of its sides, and what does it sweep while it is tipped onto it?"""

from __future__ import annotations

from functools import cached_property
from itertools import pairwise
from math import sqrt
from typing import TYPE_CHECKING, Final

import numpy as np
import shapely

from tumblehome.carrying.footprint import Body, Footprint
from tumblehome.records import dataclass

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from tumblehome.fitout import Module
    from tumblehome.sweep import Prism

    Floats = NDArray[np.float64]

__all__ = ["Laying", "side_words"]

_LEVELS: Final = 5
"""Into so many slabs of heights the round part of what is swept is divided; each is as long as at its foot, where it is longest."""
_SQUARE: Final = 1e-6
"""A part whose outline fills less of its box than all but this share is no box."""
_LEAST: Final = 1.0
"""Between the highest slab and the roof of the van lies at least this, mm."""

_TIPS: Final = {"back": (1, 1.0), "face": (1, -1.0), "right": (0, 1.0), "left": (0, -1.0)}
"""Along which axis of the module's own plan, (u, v), it is tipped onto a side, and in which sense."""


def side_words(side: str) -> str:
    """Return how a side of a module is called: "back", "face", "left side" or "right side"."""
    return side if side in ("back", "face") else f"{side} side"


@dataclass(frozen=True, eq=False)
class Laying:
    """A module that is tipped onto a side, a quarter turn about the lower edge of that side.

    Attributes
    ----------
    module : one of `is_possible`
    side : "back", "face", "left" or "right"
    body : Body, the module as it stands
    roof : mm, the height above which nothing of the van is
    """

    module: Module
    side: str
    body: Body
    roof: float

    @staticmethod
    def is_possible(module: Module) -> bool:
        """Whether a module is a stack of boxes, all square to its face: only of such a one it is known how it lies."""
        for prism in module.hull:
            plan = _own(module, prism.outline)
            polygon = shapely.Polygon(plan)
            if polygon.area < (1 - _SQUARE) * float(np.prod(np.ptp(plan, axis=0))):
                return False
        return True

    @cached_property
    def lying(self) -> Body:
        """The module as it lies where it has been tipped from its place, about its own middle."""
        return Body.of_prisms([self._laid(prism) for prism in self.module.hull])

    @property
    def offset(self) -> Floats:
        """From the middle of the module that stands to its middle once it lies, (2,) mm, at the angle at which it stands."""
        moved: Floats = self.lying.center - self.body.center
        return moved

    @cached_property
    def tipped(self) -> Body:
        """The module as it lies, about the point about which it turns while it stands."""
        return self._about([self._laid(prism) for prism in self.module.hull])

    @cached_property
    def swept(self) -> Body:
        """What the box about it sweeps in plan, slab by slab of heights, about that same point; never less than it does sweep.

        A box of depth b and height h that is tipped about a lower edge stays within the circle through its far corner, of the
        radius r of its diagonal: at a height z it reaches back to sqrt(r2 - max(z, h)2), ahead to sqrt(r2 - max(z, b)2).
        """
        return self._about(list(self._slabs()))

    # ---- its own plan: s along the way that it is tipped, from the edge about which; t along that edge ----

    @cached_property
    def _ends(self) -> tuple[float, float, float, float]:
        """Its depth along s and its height, and its ends along t, mm."""
        points = np.concatenate([self._st(prism.outline) for prism in self.module.hull])
        (s0, t0), (_, t1) = points.min(axis=0), points.max(axis=0)
        return -float(s0), self.body.top - self.body.foot, float(t0), float(t1)

    @cached_property
    def _edge(self) -> float:
        """Where the edge about which it is tipped lies, along the axis."""
        axis, sense = _TIPS[self.side]
        points = np.concatenate([_own(self.module, prism.outline) for prism in self.module.hull])[:, axis]
        return float(points.max() if sense > 0 else points.min())

    def _st(self, outline: Floats) -> Floats:
        """Return points (k, 2) of the van's plan as (s, t)."""
        axis, sense = _TIPS[self.side]
        own = _own(self.module, outline)
        return np.column_stack([sense * (own[:, axis] - self._edge), own[:, 1 - axis]])

    def _prism(self, s: tuple[float, float], t: tuple[float, float], w: tuple[float, float]) -> Prism:
        """Return a box between values of s and t, and between heights above its foot, in the van."""
        axis, sense = _TIPS[self.side]
        along = sorted(sense * value + self._edge for value in s)
        u, v = (along, t) if axis == 0 else (t, along)
        return self.module.frame.box((u[0], u[1]), (v[0], v[1]), w)

    def _laid(self, prism: Prism) -> Prism:
        """Return one of its boxes after a quarter turn about the edge: what was high lies ahead, what was ahead lies low."""
        (s0, t0), (s1, t1) = (f(self._st(prism.outline), axis=0).tolist() for f in (np.min, np.max))
        low, high = prism.bottom - self.body.foot, prism.top - self.body.foot
        return self._prism((low, high), (t0, t1), (-s1, -s0))

    def _slabs(self) -> Iterator[Prism]:
        deep, high, t0, t1 = self._ends
        far = sqrt(deep**2 + high**2)
        levels = np.linspace(min(deep, high), far, _LEVELS + 1).tolist()
        below = [z for z in levels[:-1] if self.body.foot + z < self.roof - _LEAST]
        for low, top in pairwise([0.0, *below, far]):
            ends = (-sqrt(far**2 - max(low, high) ** 2), sqrt(far**2 - max(low, deep) ** 2))
            yield self._prism(ends, (t0, t1), (low, top))

    def _about(self, prisms: list[Prism]) -> Body:
        """Return the body of prisms about the middle of the module that stands."""
        parts = tuple(Footprint.of_points(prism.outline - self.body.center) for prism in prisms)
        return Body(parts, tuple((prism.bottom, prism.top) for prism in prisms), self.body.center)


def _own(module: Module, outline: Floats) -> Floats:
    """Return points (k, 2) of the van's plan in the module's own, (u, v)."""
    frame = module.frame
    own: Floats = (outline - frame.origin[:2]) @ np.column_stack([frame.right, frame.away])
    return own
