"""Which of many boxes overlap: all pairs, found by descending a tree of boxes against itself."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Integers = NDArray[np.intp]
    Booleans = NDArray[np.bool_]
    _Level = tuple[Floats, Floats]

__all__ = ["overlapping"]

_LEAF: Final = 8
"""Boxes a leaf: as many are compared with as many in one go."""
_PAIRS: Final = 1 << 17
"""The most pairs of nodes that are descended at once; the others wait, so that memory stays small for any boxes."""
_LEAVES: Final = 1 << 11
"""The most pairs of leaves whose boxes are compared at once: what then is compared stays in a processor's cache."""
_CLASSES: Final = 7
"""Boxes are sorted by the power of two of their length below the longest, down to so many, before their place: then a
large box does not lie in a leaf with small ones, which would make it as large."""
_BITS: Final = 20
"""Bits of a place along each axis; three of them and a class fill a key."""


def overlapping(low: Floats, high: Floats) -> Iterator[tuple[Integers, Integers]]:
    """Yield all pairs of boxes that overlap or touch, each once and none with itself, some hundred thousand at a time.

    Parameters
    ----------
    low, high : (n, 3) float, any unit
        Least and greatest corners.

    Yields
    ------
    two arrays (k,) of int, the numbers of the one box and of the other
    """
    if not len(low):
        return
    leaves = 1 << max(0, int(np.ceil(np.log2(len(low) / _LEAF))))
    order = np.full(leaves * _LEAF, -1, dtype=np.intp)
    order[: len(low)] = _along_a_curve(low, high)
    bottom = np.stack([_in_leaves(low, order, np.inf), _in_leaves(high, order, -np.inf)], axis=1)
    levels = _levels(bottom)
    waiting = [(0, np.zeros(1, dtype=np.intp), np.zeros(1, dtype=np.intp))]
    while waiting:
        depth, one, two = waiting.pop()
        if depth + 1 < len(levels):
            one, two = _descended(one, two, levels[depth + 1])
            waiting += [(depth + 1, one[i : i + _PAIRS], two[i : i + _PAIRS]) for i in range(0, len(one), _PAIRS)]
            continue
        for i in range(0, len(one), _LEAVES):
            yield _compared(one[i : i + _LEAVES], two[i : i + _LEAVES], bottom, order)


def _along_a_curve(low: Floats, high: Floats) -> Integers:
    """Return an order of boxes in which those that follow each other are as large and near each other.

    Equally large ones follow the curve of G. M. Morton (A computer oriented geodetic data base, IBM, 1966).
    """
    middle, length = (low + high) / 2, (high - low).max(axis=1)
    extent = np.ptp(middle, axis=0).max() or 1.0
    with np.errstate(divide="ignore"):
        below = np.log2(length.max() / length) if length.max() > 0 else np.zeros(len(length))
    key = np.minimum(below, _CLASSES).astype(np.uint64)
    place = ((middle - middle.min(axis=0)) * (((1 << _BITS) - 1) / extent)).astype(np.uint64)
    key <<= np.uint64(3 * _BITS)
    for axis in range(3):
        key |= _spread(place[:, axis]) << np.uint64(axis)
    return np.argsort(key)


def _spread(number: NDArray[np.uint64]) -> NDArray[np.uint64]:
    """Return numbers below 2**21 with two zeros put between their bits."""
    spread = number
    for shift, kept in (
        (32, 0x001F00000000FFFF), (16, 0x001F0000FF0000FF), (8, 0x100F00F00F00F00F),
        (4, 0x10C30C30C30C30C3), (2, 0x1249249249249249),
    ):  # fmt: skip
        spread = (spread | (spread << np.uint64(shift))) & np.uint64(kept)
    return spread


def _in_leaves(corner: Floats, order: Integers, nothing: float) -> Floats:
    """Return corners (n, 3) as (leaves, 3, boxes a leaf), ``nothing`` where a leaf has no box left."""
    placed = np.where(order[:, None] >= 0, corner[order], nothing)
    return placed.reshape(-1, _LEAF, 3).transpose(0, 2, 1)


def _levels(bottom: Floats) -> list[_Level]:
    """Return the boxes (3, nodes) about the nodes of each level, from the root down to the leaves."""
    low, high = bottom[:, 0].min(axis=2).T, bottom[:, 1].max(axis=2).T
    levels = [(low, high)]
    while low.shape[1] > 1:
        low, high = np.minimum(low[:, ::2], low[:, 1::2]), np.maximum(high[:, ::2], high[:, 1::2])
        levels.append((low, high))
    return levels[::-1]


def _descended(one: Integers, two: Integers, level: _Level) -> tuple[Integers, Integers]:
    """Return the children of pairs of nodes that overlap; of a node with itself its two and the pair of them."""
    first = np.concatenate([2 * one, 2 * one, 2 * one + 1, (2 * one + 1)[one != two]])
    second = np.concatenate([2 * two, 2 * two + 1, 2 * two + 1, (2 * two)[one != two]])
    met = np.ones(len(first), dtype=bool)
    low, high = level
    for axis in range(3):
        met &= low[axis][first] <= high[axis][second]
        met &= low[axis][second] <= high[axis][first]
    return first[met], second[met]


def _compared(one: Integers, two: Integers, bottom: Floats, order: Integers) -> tuple[Integers, Integers]:
    """Return the pairs of boxes that overlap of pairs of leaves, every box of the one with every box of the other."""
    (low, high), (least, most) = (np.ascontiguousarray(bottom[side].transpose(1, 2, 3, 0)) for side in (one, two))
    met = np.ones((_LEAF, _LEAF, len(one)), dtype=bool)
    for axis in range(3):
        met &= low[axis][:, None] <= most[axis]
        met &= least[axis] <= high[axis][:, None]
    met &= (np.arange(_LEAF)[:, None] < np.arange(_LEAF))[:, :, None] | (one != two)
    i, j, pair = np.nonzero(met)
    return order[one[pair] * _LEAF + i], order[two[pair] * _LEAF + j]
