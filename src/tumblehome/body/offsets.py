"""A body from a table of offsets: half-breadths by height and station, lofted straight from station to station."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from tumblehome.errors import InputError
from tumblehome.solids import Solid

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

__all__ = ["OffsetBody"]

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

    def _profile(self, station: int, breadths: Floats, walls: float, roof: float, floor: float) -> Floats:
        """Return one side's moved profile at one station, (r, 2) of half-breadth and height."""
        points = np.column_stack([breadths, self.heights])
        edges = np.diff(points, axis=0)
        depth = np.where(np.arange(len(edges)) < self.roof_row, walls, roof)
        moved = _move_inward(points, edges, depth, floor, roof)
        if not (moved[:, 0] > 0).all() or (np.diff(moved[:, 1]) < 0).any():
            raise InputError(
                f"nothing is left between the sides at station {self.stations[station]:g} mm once the skin moves in by "
                f"{walls:g} mm at the walls and {roof:g} mm at the roof; make the lining or the part thinner"
            )
        return moved

    def _loft(self, left: Floats, right: Floats) -> Solid:
        """Return the solid between two grids (s, r, 2) of half-breadth and height."""
        s, r, _ = left.shape
        x = np.repeat(self.stations, r)
        vertices = np.concatenate(
            [
                np.column_stack([x, sign * grid[..., 0].ravel(), grid[..., 1].ravel()])
                for sign, grid in ((-1.0, left), (1.0, right))
            ]
        )
        triangles, names = self._faces(s, r)
        unique, index = np.unique(vertices, axis=0, return_inverse=True)
        corners = index.reshape(-1)[triangles]
        real = (corners[:, 0] != corners[:, 1]) & (corners[:, 1] != corners[:, 2]) & (corners[:, 2] != corners[:, 0])
        return Solid.from_mesh(unique, corners[real], [n for n, keep in zip(names, real, strict=True) if keep])

    def _faces(self, s: int, r: int) -> tuple[NDArray[np.intp], list[str]]:
        """Return the triangles of the two skins and what closes them, and the name of each."""
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


def _move_inward(points: Floats, edges: Floats, depth: Floats, floor: float, roof: float) -> Floats:
    """Move each edge of an upward profile inward by its own depth and intersect neighbors again.

    The floor and the flat of the roof are the profile's first and last neighbor. An edge that has turned round is consumed:
    the one that vanishes first is taken out and the rest intersected anew, until none is left turned.
    """
    length = np.hypot(edges[:, 0], edges[:, 1])
    along = np.vstack([[1.0, 0.0], edges / length[:, None], [-1.0, 0.0]])
    offset = np.concatenate([[floor], depth, [roof]])
    start = np.vstack([points[:1], points])
    inward = np.column_stack([-along[:, 1], along[:, 0]])
    base = start + inward * offset[:, None]
    alive = list(range(len(along)))
    while True:
        corner = [_meet(base, along, offset, points, a, b) for a, b in pairwise(alive)]
        moved = np.empty_like(points)
        for (a, b), where in zip(pairwise(alive), corner, strict=True):
            moved[a:b] = where
        run = np.einsum("ij,ij->i", np.diff(moved, axis=0), along[1:-1])
        turned = [k for k in alive[1:-1] if run[k - 1] < 0]
        if not turned:
            moved[alive[-2] :, 1] = base[-1, 1]
            return moved
        alive.remove(min(turned, key=lambda k: length[k - 1] / (length[k - 1] - run[k - 1])))


def _meet(base: Floats, along: Floats, offset: Floats, points: Floats, a: int, b: int) -> Floats:
    """Return where the moved edges a and b meet; edges in one straight line meet where their common corner moved."""
    cross = along[a, 0] * along[b, 1] - along[a, 1] * along[b, 0]
    if abs(cross) < _PARALLEL:
        inward = np.array([-along[a, 1], along[a, 0]])
        straight: Floats = points[b - 1] + inward * max(offset[a], offset[b])
        return straight
    gap = base[b] - base[a]
    where: Floats = base[a] + along[a] * ((gap[0] * along[b, 1] - gap[1] * along[b, 0]) / cross)
    return where
