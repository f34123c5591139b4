"""Where a mesh crosses itself, against exact whole-number arithmetic."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
import trimesh
from hypothesis import strategies as st

from references import torus
from strategies import law
from tumblehome.body.crossing import crossings

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Integers = NDArray[np.intp]
    Point = tuple[int, int, int]

BALLS = [trimesh.creation.icosphere(subdivisions=0), trimesh.creation.icosphere(subdivisions=1)]


def _turn(a: Point, b: Point, c: Point, d: Point) -> int:
    """Six times the volume of a tetrahedron: the determinant of its three edges from ``a``, exact in whole numbers."""
    (x1, y1, z1), (x2, y2, z2), (x3, y3, z3) = ((p[0] - a[0], p[1] - a[1], p[2] - a[2]) for p in (b, c, d))
    return x1 * (y2 * z3 - z2 * y3) - y1 * (x2 * z3 - z2 * x3) + z1 * (x2 * y3 - y2 * x3)


def _meets(a: Point, b: Point, triangle: list[Point]) -> bool:
    """Whether a segment that does not lie in a triangle's plane has a point in common with it, its border included.

    The signed volumes that the line makes with the three sides then agree (Segura and Feito, Algorithms to test
    ray-triangle intersection, WSCG 2001), and the segment's ends do not lie on one side.
    """
    p, q, r = triangle
    ends = _turn(p, q, r, a), _turn(p, q, r, b)
    if ends == (0, 0) or min(ends) > 0 or max(ends) < 0:
        return False
    sides = [_turn(a, b, u, v) for u, v in ((p, q), (q, r), (r, p))]
    return min(sides) >= 0 or max(sides) <= 0


def _exactly(points: list[Point], triangles: list[list[int]]) -> set[tuple[int, int]]:
    edges = {(t[i], t[j]) for t in triangles for i, j in ((0, 1), (1, 2), (2, 0)) if t[i] < t[j]}
    return {
        (a, b)
        for a, b in edges
        for t in triangles
        if a not in t and b not in t and _meets(points[a], points[b], [points[i] for i in t])
    }


def _crossed(points: Integers, triangles: Integers) -> set[tuple[int, int]]:
    edges, places = crossings(points.astype(np.float64), triangles)
    assert len(edges) == len(places)
    return {(a, b) for a, b in edges.tolist()}


@law(st.sampled_from(BALLS), st.integers(0, 2**32 - 1), st.sampled_from([5, 100]), st.floats(0.0, 0.8), examples=60)
def test_the_edges_that_cross_are_those_of_exact_arithmetic(
    ball: trimesh.Trimesh, seed: int, size: int, rough: float
) -> None:
    """A ball, its corners moved at random onto a grid: on the coarse one edges touch borders and corners."""
    moved = ball.vertices + rough * np.random.default_rng(seed).normal(size=ball.vertices.shape)
    points, triangles = np.round(moved * size).astype(np.intp), np.asarray(ball.faces, dtype=np.intp)
    corners = points[triangles]
    if not np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]).any(axis=1).all():
        return  # triangles without area are refused before
    exact = _exactly([(int(x), int(y), int(z)) for x, y, z in points], triangles.tolist())
    assert _crossed(points, triangles) == exact


@pytest.mark.parametrize(("rough", "crosses"), [(0.0, False), (0.8, True)])
def test_the_random_balls_hold_both_kinds(rough: float, crosses: bool) -> None:
    """A guard for the law above; a round ball is convex and crosses nothing."""
    moved = BALLS[1].vertices + rough * np.random.default_rng(1).normal(size=BALLS[1].vertices.shape)
    points, triangles = np.round(moved * 100).astype(np.intp), np.asarray(BALLS[1].faces, dtype=np.intp)
    assert bool(_exactly([(int(x), int(y), int(z)) for x, y, z in points], triangles.tolist())) == crosses
    assert bool(_crossed(points, triangles)) == crosses


def test_of_many_triangles_the_one_dent_that_comes_out_is_found() -> None:
    """A corner of a torus pulled through the tube's other side: what crosses lies there, within a step of the two turns."""
    solid, _ = torus(3000.0, 1000.0, 160, 80)
    vertices, triangles = solid.mesh()
    assert len(crossings(vertices, triangles)[0]) == 0
    top = int(np.argmax(vertices[:, 2]))
    vertices[top, 2] -= 2100.0
    edges, places = crossings(vertices, triangles)
    assert top in edges
    assert np.allclose(places[:, :2], vertices[top, :2], rtol=0, atol=2 * np.pi * 3000 / 160)
    assert np.allclose(places[:, 2], -1000.0, rtol=0, atol=10.0)


def test_nothing_crosses_nothing() -> None:
    edges, places = crossings(np.empty((0, 3)), np.empty((0, 3), dtype=np.intp))
    assert edges.shape == (0, 2)
    assert places.shape == (0, 3)
