"""A body from a table of offsets: half-breadths by height and station, lofted straight from station to station."""

from __future__ import annotations

from functools import cached_property
from itertools import pairwise
from math import hypot
from typing import TYPE_CHECKING

import numpy as np

from tumblehome.errors import InputError
from tumblehome.lengths import told
from tumblehome.records import dataclass
from tumblehome.solids import Solid, distinct

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

__all__ = ["OffsetBody"]

_Point = tuple[float, float]
"""Half-breadth and height, mm."""

_PARALLEL = 1e-9
"""Sine of the angle below which two edges of a profile count as one straight line: no corner to intersect."""


@dataclass(frozen=True, eq=False)
class OffsetBody:
    """The bare body between the first and the last station.

    Attributes
    ----------
    stations : (s,) float, mm, rising
    heights : (r,) float, mm above the finished floor, rising; the first is the bare floor, the last the top of the roof
    left, right : (s, r) float, mm, half-breadths, all above 0
    roof_row : int
        Rows from this one upwards carry roof; ``r - 1`` when only the flat top does.
    """

    stations: Floats
    heights: Floats
    left: Floats
    right: Floats
    roof_row: int

    @staticmethod
    def roof_row_of(heights: Floats, left: Floats, right: Floats) -> int:
        """Return the first row from which all strips lie flatter than 45 degrees, averaged over the stations."""
        run = (np.abs(np.diff(left, axis=1)) + np.abs(np.diff(right, axis=1))).mean(axis=0) / 2
        steep = np.flatnonzero(run <= np.diff(heights))
        return int(steep[-1]) + 1 if len(steep) else 0

    @cached_property
    def loft_deviation(self) -> float:
        """The most by which the flat triangles of the mesh leave the ruled surface between stations, mm, always inward.

        On a strip whose four corners are not in one plane the ruled surface is a hyperbolic paraboloid; its middle lies
        midway between the two diagonals, so the triangles over the inner one leave it by a quarter of the twist.
        """
        twists = [y[:-1, :-1] + y[1:, 1:] - y[1:, :-1] - y[:-1, 1:] for y in (self.left, self.right)]
        return float(max(np.abs(twist).max(initial=0.0) for twist in twists) / 4)

    def inset(self, walls: float, roof: float, floor: float) -> Solid:
        """Return the body with its skin moved inward, square to the skin in each station's cross-section.

        Parameters
        ----------
        walls, roof, floor : float, mm
            How far each moves in; negative moves it out. Corners stay sharp; a strip that the move consumes disappears.

        Returns
        -------
        Solid
            Faces named "left wall", "right wall", "roof", "floor", "front" and "rear".

        Raises
        ------
        InputError
            When nothing is left between the two sides.
        """
        grids = [
            np.array([self._profile(i, y[i], walls, roof, floor) for i in range(len(self.stations))])
            for y in (self.left, self.right)
        ]
        return self._loft(grids[0], grids[1])

    def _profile(self, station: int, breadths: Floats, walls: float, roof: float, floor: float) -> list[_Point]:
        """Return one side's moved profile at one station, r points of half-breadth and height."""
        points = list(zip(breadths.tolist(), self.heights.tolist(), strict=True))
        depths = [floor, *(walls if k < self.roof_row else roof for k in range(len(points) - 1)), roof]
        moved = _move_inward(points, depths)
        folded = any(b[1] < a[1] for a, b in pairwise(moved)) or moved[-1][1] <= moved[0][1]
        if folded or min(y for y, _ in moved) <= 0:
            raise InputError(
                told(
                    "nothing is left between the sides at station {} once the skin moves in by {} at the walls and {} at "
                    "the roof; make the lining or the part thinner",
                    float(self.stations[station]),
                    walls,
                    roof,
                )
            )
        return moved

    def _loft(self, left: Floats, right: Floats) -> Solid:
        """Return the solid between two grids (s, r, 2) of half-breadth and height."""
        x = np.repeat(self.stations, len(self.heights))
        vertices = np.concatenate(
            [
                np.column_stack([x, sign * grid[..., 0].ravel(), grid[..., 1].ravel()])
                for sign, grid in ((-1.0, left), (1.0, right))
            ]
        )
        triangles, names = self._faces
        unique, index = distinct(vertices)
        corners = index[triangles]
        real = (corners[:, 0] != corners[:, 1]) & (corners[:, 1] != corners[:, 2]) & (corners[:, 2] != corners[:, 0])
        return Solid.from_mesh(unique, corners[real], [n for n, keep in zip(names, real, strict=True) if keep])

    @cached_property
    def _faces(self) -> tuple[NDArray[np.intp], list[str]]:
        """The triangles of the two skins, by the numbers of their vertices, and of what closes them; and the name of each."""
        s, r = self.left.shape
        left = np.arange(s * r).reshape(s, r)
        right = left + s * r
        faces: list[tuple[NDArray[np.intp], str]] = []
        for k in range(r - 1):
            roof = k >= self.roof_row
            walls = ((left, self.left, "left wall"), (right, self.right, "right wall"))
            for grid, breadths, name in walls:
                strip = _strip(grid[:, k], grid[:, k + 1], _inner_diagonal(breadths, k))
                faces.append((strip if grid is right else strip[:, ::-1], "roof" if roof else name))
        faces.append((_strip(right[:, -1], left[:, -1]), "roof"))
        faces.append((_strip(left[:, 0], right[:, 0]), "floor"))
        faces.append((_strip(left[0], right[0])[:, ::-1], "front"))
        faces.append((_strip(left[-1], right[-1]), "rear"))
        return np.concatenate([f for f, _ in faces]), [name for f, name in faces for _ in range(len(f))]


def _inner_diagonal(breadths: Floats, k: int) -> NDArray[np.bool_]:
    """Return for each quad of strip k whether the diagonal from its lower front corner is the inner one."""
    rising = breadths[:-1, k] + breadths[1:, k + 1]
    falling = breadths[1:, k] + breadths[:-1, k + 1]
    inner: NDArray[np.bool_] = rising <= falling
    return inner


def _strip(low: NDArray[np.intp], high: NDArray[np.intp], rising: NDArray[np.bool_] | None = None) -> NDArray[np.intp]:
    """Return two triangles for each quad between two rows of vertex numbers."""
    a, b, c, d = low[:-1], low[1:], high[1:], high[:-1]
    up = np.ones(len(a), dtype=bool) if rising is None else rising
    first = np.where(up[:, None], np.column_stack([a, c, b]), np.column_stack([a, d, b]))
    second = np.where(up[:, None], np.column_stack([a, d, c]), np.column_stack([b, d, c]))
    return np.concatenate([first, second])


def _move_inward(points: list[_Point], depths: list[float]) -> list[_Point]:
    """Move each edge of an upward profile inward by its own depth and intersect neighbors again.

    The floor and the flat of the roof are the profile's first and last neighbor, so there is one more depth than there
    are points. An edge that has turned round is consumed: the one that vanishes first is taken out and the rest
    intersected anew, until none is left turned.
    """
    edges = [(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(points)]
    lengths = [hypot(*edge) for edge in edges]
    along = [(1.0, 0.0), *((y / n, z / n) for (y, z), n in zip(edges, lengths, strict=True)), (-1.0, 0.0)]
    starts = [points[0], *points]
    bases = [(y - v * d, z + u * d) for (y, z), (u, v), d in zip(starts, along, depths, strict=True)]
    alive = list(range(len(along)))
    while True:
        moved: list[_Point] = []
        for a, b in pairwise(alive):
            corner = _meet(bases[a], along[a], bases[b], along[b])
            if corner is None:
                corner = _beside(points[b - 1], along[a], max(depths[a], depths[b]))
            moved += [corner] * (b - a)
        runs = [_forward(moved[k - 1], moved[k], along[k]) for k in range(1, len(points))]
        turned = [k for k in alive[1:-1] if runs[k - 1] < 0]
        if not turned:
            top = bases[-1][1]
            return [*moved[: alive[-2]], *((y, top) for y, _ in moved[alive[-2] :])]
        alive.remove(min(turned, key=lambda k: lengths[k - 1] / (lengths[k - 1] - runs[k - 1])))


def _meet(base: _Point, along: _Point, other: _Point, other_along: _Point) -> _Point | None:
    """Return where two lines meet, or None for lines in one direction."""
    cross = along[0] * other_along[1] - along[1] * other_along[0]
    if abs(cross) < _PARALLEL:
        return None
    gap = other[0] - base[0], other[1] - base[1]
    share = (gap[0] * other_along[1] - gap[1] * other_along[0]) / cross
    return base[0] + along[0] * share, base[1] + along[1] * share


def _beside(point: _Point, along: _Point, depth: float) -> _Point:
    return point[0] - along[1] * depth, point[1] + along[0] * depth


def _forward(a: _Point, b: _Point, along: _Point) -> float:
    return (b[0] - a[0]) * along[0] + (b[1] - a[1]) * along[1]
