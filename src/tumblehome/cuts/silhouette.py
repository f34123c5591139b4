"""What do many triangles cover together, seen from one side: by their silhouettes alone?"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from tumblehome.solids import distinct, following

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Integers = NDArray[np.intp]

__all__ = ["borders"]


def borders(triangles: Floats, polygons: Sequence[Floats]) -> list[Floats]:
    """Return closed rings (k, 2) that wind about each point as often as triangles and polygons together do.

    Where two of them run along an edge in opposite directions it borders nothing and is left out; of a closed surface, seen
    from one side, the silhouettes remain.

    Parameters
    ----------
    triangles : (n, 3, 2) float; polygons : each (k, 2) float; counterclockwise
    """
    start = np.concatenate([triangles.reshape(-1, 2), *polygons])
    end = np.concatenate([triangles[:, [1, 2, 0]].reshape(-1, 2), *map(following, polygons)])
    points, number = distinct(np.concatenate([start, end]))
    a, b = number[: len(start)], number[len(start) :]
    edges, which = np.unique(np.minimum(a, b) * len(points) + np.maximum(a, b), return_inverse=True)
    net = np.bincount(which, np.sign(b - a), len(edges)).astype(np.intp)
    low, high = np.divmod(np.repeat(edges, np.abs(net)), len(points))
    is_rising = np.repeat(net > 0, np.abs(net))
    return [points[ring] for ring in _rings(np.where(is_rising, low, high), np.where(is_rising, high, low))]


def _rings(starts: Integers, ends: Integers) -> Iterator[list[int]]:
    """Yield the closed rings of directed edges, as many of which leave each point as come to it."""
    ways: dict[int, list[int]] = {}
    for start, end in zip(starts.tolist(), ends.tolist(), strict=True):
        ways.setdefault(start, []).append(end)
    for first, leaving in ways.items():
        while leaving:
            ring, at = [first], leaving.pop()
            while at != first:
                ring.append(at)
                at = ways[at].pop()
            yield ring
