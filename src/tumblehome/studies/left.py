"""What is left about a module: the largest boxes that are free in its own footprint and along its wall."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from tumblehome.records import dataclass
from tumblehome.room import DIRECTIONS
from tumblehome.studies.wall import Wall
from tumblehome.sweep import Prism
from tumblehome.tolerances import CONTACT

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tumblehome.fitout import Layout, Module
    from tumblehome.studies.profile import Piece, Profile

__all__ = ["LEAST_LITERS", "LeftOver", "largest_box", "left_over"]

LEAST_LITERS = 0.1
"""Volumes below this are not worth telling, L."""


@dataclass(frozen=True)
class LeftOver:
    """A box that is free beside a module, in its own footprint or along its wall: mm, and liters.

    ``deep`` counts from its face outward; above and below, where the wall leans over it, it may be less than the module's.
    """

    where: str
    wide: float
    deep: float
    high: float

    @property
    def liters(self) -> float:
        """Its volume, L."""
        return self.wide * self.deep * self.high / 1e6


def left_over(layout: Layout, module: Module, sign: float, ground: float, ceiling: float) -> tuple[LeftOver, ...]:
    """Return the largest boxes that are free above and below a module's footprint, and ahead of it and behind it.

    Parameters
    ----------
    layout, module : what stands where
    sign : -1 for the left wall, 1 for the right
    ground, ceiling : mm, between which heights its footprint is free of what reaches over the centerline

    Returns
    -------
    tuple of LeftOver
        Above and below the box is as long as the module and begins at its face; of its depth and height the best are told.
        Ahead and behind it has the module's own depth and height. Boxes no wider than the measuring are left out.
    """
    low, high = module.bounds
    wide, deep, tall = (float(v) for v in high - low)
    face, back = sorted(sign * float(y) for y in (low[1], high[1]))
    body = (Prism.box(low, high),)
    column = Prism.box([*low[:2], ground], [*high[:2], ceiling])
    barriers = Wall.crowded(layout, sign, column).by_height(body, ignoring={module.name})
    above = largest_box(barriers.upward(float(high[2]), ceiling), float(high[2]), face, back)
    below = largest_box(barriers.downward(ground, float(low[2])), float(low[2]), face, back)
    boxes = (
        LeftOver("above", wide, *above),
        LeftOver("below", wide, *below),
        LeftOver("ahead", _free_beside(layout, module, "front"), deep, tall),
        LeftOver("behind", _free_beside(layout, module, "rear"), deep, tall),
    )
    least = layout.shell.measured_to
    return tuple(b for b in boxes if b.liters >= LEAST_LITERS and min(b.wide, b.deep, b.high) > least)


def largest_box(curve: Profile, start: float, face: float, back: float) -> tuple[float, float]:
    """Return depth and height, mm, of the largest box that begins at a height and at a face, before a wall; 0, 0 for none.

    Parameters
    ----------
    curve : how far out the back of a box from ``start`` to each height can go; it only falls on the way from there
    start : mm, where the box begins; the curve lies above it, or below it
    face, back : mm, half-breadths between which the box must lie

    Notes
    -----
    On a straight stretch depth times height is a quadratic in the height, so the largest is at an end of a stretch, where
    the wall passes ``back``, or at the vertex of a quadratic.
    """
    sizes = [size for piece in curve.pieces for size in _sizes(piece, start, face, back)]
    return max(sizes, key=lambda size: size[0] * size[1], default=(0.0, 0.0))


def _sizes(piece: Piece, start: float, face: float, back: float) -> Iterator[tuple[float, float]]:
    """Yield depth and height of the boxes among which the largest within one straight stretch is."""
    slope = (piece.high - piece.low) / (piece.end - piece.start)
    heights = [piece.start, piece.end]
    if slope:
        heights += [piece.start + (level - piece.low) / slope for level in (back, face)]
        heights.append((start + heights[-1]) / 2)  # the vertex: halfway to where the wall meets the face
    for height in heights:
        if piece.start <= height <= piece.end:
            deep = min(piece.at(height), back) - face
            if deep > CONTACT:
                yield deep, abs(height - start)


def _free_beside(layout: Layout, module: Module, word: str) -> float:
    """Return how far the whole side of the box about it can travel, mm; 0 where something stands in that side."""
    axis, sense = DIRECTIONS[word]
    low, high = (np.array(corner) for corner in module.bounds)
    low[axis] = high[axis] = high[axis] if sense > 0 else low[axis]
    journey = layout.room.journey((Prism.box(low, high),), axis, ignoring={module.name})
    reached = journey.reach(sense)
    return 0.0 if journey.fouled or reached is None else reached.distance
