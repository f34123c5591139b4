"""Silhouettes of triangles, against shapely's unions and the winding of each triangle for itself."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely

from tumblehome.cuts.silhouette import borders
from tumblehome.solids import outline_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    Floats = NDArray[np.float64]


def grid(columns: int, rows: int) -> Floats:
    """Two triangles in each square of a grid, all of it 1 wide and high a square."""
    x, y = (v.ravel() for v in np.meshgrid(np.arange(columns), np.arange(rows)))
    at = np.stack([x, y], axis=1)[:, None].astype(float)
    return np.concatenate([at + np.array(corners) for corners in ([(0, 0), (1, 0), (1, 1)], [(0, 0), (1, 1), (0, 1)])])


def wound(rings: Sequence[Floats], points: Floats) -> NDArray[np.intp]:
    """How often rings wind about points: the sum of the angles under which their edges are seen."""
    total = np.zeros(len(points))
    for ring in rings:
        a, b = (v[None] - points[:, None] for v in (ring, np.roll(ring, -1, axis=0)))
        total += np.arctan2(a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0], (a * b).sum(axis=2)).sum(axis=1)
    return np.round(total / (2 * np.pi)).astype(np.intp)


def test_of_a_grid_only_its_rim_is_left() -> None:
    """A square with a hole: 2 (6 + 5) edges outside, 4 inside, and the areas of shapely's union."""
    triangles = grid(6, 5)
    kept = ~((triangles.mean(axis=1) > (2, 2)) & (triangles.mean(axis=1) < (3, 3))).all(axis=1)
    rings = borders(triangles[kept], [])
    assert sum(len(ring) for ring in rings) == 22 + 4
    assert sorted(shapely.Polygon(ring).area for ring in rings) == [1, 30]
    assert outline_of(rings).area() == pytest.approx(shapely.union_all(shapely.polygons(triangles[kept])).area)


def test_rings_wind_as_often_as_all_triangles_do() -> None:
    """Random triangles and polygons that share corners and edges, some of them twice."""
    rng = np.random.default_rng(5)
    for _ in range(40):
        corners = rng.integers(0, 7, (30, 3, 2)).astype(float)
        u, v = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
        twice = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
        triangles = np.where(twice[:, None, None] > 0, corners, corners[:, ::-1])[twice != 0]
        squares = list(rng.integers(0, 6, (4, 1, 2)) + np.array([(0.0, 0.0), (2.0, 0.0), (2.0, 1.0), (0.0, 1.0)]))
        points = rng.uniform(-1, 9, (200, 2))
        assert (wound(borders(triangles, squares), points) == wound([*triangles, *squares], points)).all()


def test_nothing_has_no_border() -> None:
    assert borders(np.empty((0, 3, 2)), []) == []
    there_and_back = np.array([[(0.0, 0.0), (1.0, 0.0), (0.0, 1.0)]])
    assert borders(np.concatenate([there_and_back, there_and_back[:, ::-1]]), []) == []
