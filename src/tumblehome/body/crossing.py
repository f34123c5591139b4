"""Where a closed mesh crosses itself: its edges that pierce or touch triangles with which they share no corner."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from tumblehome.body.boxes import overlapping

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Integers = NDArray[np.intp]
    Booleans = NDArray[np.bool_]

__all__ = ["crossings"]

_ROUNDING: Final = 1e-9
"""Share of a triangle's height by which rounding may put a point on its edge outside it."""
_EDGES: Final = ((0, 1), (1, 2), (2, 0))


def crossings(vertices: Floats, triangles: Integers) -> tuple[Integers, Floats]:
    """Return the edges of a closed mesh that meet triangles with which they share no corner, and where.

    Parameters
    ----------
    vertices : (n, 3) float, mm
    triangles : (m, 3) int
        Every edge is run along once each way round, as in any closed mesh.

    Returns
    -------
    edges : (k, 2) int, the corners of the edges, a row for each triangle that is met
    places : (k, 3) float, mm
    """
    points, numbers = np.ascontiguousarray(vertices.T), np.ascontiguousarray(triangles.T)
    corners = points[:, numbers]
    normals = _cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    edges, places = [np.empty((2, 0), dtype=np.intp)], [np.empty((3, 0))]
    for one, two in overlapping(corners.min(axis=1).T, corners.max(axis=1).T):
        edge, triangle = _apart(numbers[:, one], numbers[:, two], one, two)
        edge, triangle, place = _straddling(edge, triangle, points, corners[:, 0], normals)
        met = _inside(place, triangle, corners, normals)
        edges.append(edge[:, met])
        places.append(place[:, met])
    return np.concatenate(edges, axis=1).T, np.concatenate(places, axis=1).T


def _apart(own: Integers, other: Integers, one: Integers, two: Integers) -> tuple[Integers, Integers]:
    """Return the edges (2, k) of each triangle of some pairs that have no corner in common with the other, and that, (k,).

    Each edge is taken from the one of its two triangles that runs along it to the corner of the greater number.
    """
    same = [[a == b for b in other] for a in own]
    held = [a | b | c for a, b, c in same], [a | b | c for a, b, c in zip(*same, strict=True)]
    found = []
    for corner, shared, against in ((own, held[0], two), (other, held[1], one)):
        for i, j in _EDGES:
            apart = np.flatnonzero((corner[i] < corner[j]) & ~(shared[i] | shared[j]))
            found.append((corner[i, apart], corner[j, apart], against[apart]))
    start, end, triangle = (np.concatenate(each) for each in zip(*found, strict=True))
    return np.stack([start, end]), triangle


def _straddling(
    edge: Integers, triangle: Integers, points: Floats, apex: Floats, normals: Floats
) -> tuple[Integers, Integers, Floats]:
    """Return those edges whose ends do not lie on one side of a triangle's plane, with the triangle, and where they meet it."""
    normal, origin = normals[:, triangle], apex[:, triangle]
    a, b = (_dot(points[:, end] - origin, normal) for end in edge)
    through = np.flatnonzero((a * b <= 0) & (a != b))
    edge, a, b = edge[:, through], a[through], b[through]
    start, end = (points[:, corner] for corner in edge)
    return edge, triangle[through], start + (end - start) * (a / (a - b))


def _inside(place: Floats, triangle: Integers, corners: Floats, normals: Floats) -> Integers:
    """Return the numbers of those places (3, k), on the planes of triangles, that lie in them, edges included."""
    left = np.arange(len(triangle))
    for i, j in _EDGES:
        which = triangle[left]
        start, normal = corners[:, i, which], normals[:, which]
        side = _dot(_cross(corners[:, j, which] - start, place[:, left] - start), normal)
        left = left[side >= -_ROUNDING * _dot(normal, normal)]
    return left


def _dot(a: Floats, b: Floats) -> Floats:
    product: Floats = a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
    return product


def _cross(a: Floats, b: Floats) -> Floats:
    return np.stack([a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]])
