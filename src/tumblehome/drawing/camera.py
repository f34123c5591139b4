"""Where does a point land in a picture, and how must the picture be framed so that everything lands in it?

The eye of a view stays where it is, whatever the shape of the picture: framing zooms and shifts, as a view camera does,
so upright edges stay upright and the perspective is the same in landscape and portrait.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from tumblehome.errors import InputError
from tumblehome.records import dataclass

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from tumblehome.drawing.scene import View
    from tumblehome.drawing.text import Box

    Floats = NDArray[np.float64]

__all__ = ["Camera"]


@dataclass(frozen=True, eq=False)
class Camera:
    """An eye, its axes, and the window through which it looks.

    Attributes
    ----------
    eye : (3,) float, mm
    axes : (3, 3) float
        Unit rows: to the right of the picture, up, and into it.
    middle : (2,) float
        Slopes (right, up) of the sight line through the middle of the picture, against the third axis.
    half_height : float
        Slope from there to the upper edge.
    size : (width, height), pixels
    """

    eye: Floats
    axes: Floats
    middle: Floats
    half_height: float
    size: tuple[int, int]

    @classmethod
    def framing(cls, view: View, points: ArrayLike, frame: Box, size: tuple[int, int]) -> Camera:
        """Return the camera of a view that shows (n, 3) points as large as they fit into a frame of pixels, centered.

        Raises InputError when a point does not lie before the eye.
        """
        eye, axes = np.array(view.eye, dtype=float), _axes(view)
        u, v, depth = axes @ (np.asarray(points, dtype=float) - eye).T
        if not depth.min() > 0:
            raise InputError(f"view '{view.name}': the eye stands inside of what it should show")
        slopes = np.stack([u / depth, v / depth])
        low, high = slopes.min(axis=1), slopes.max(axis=1)
        room = np.array([frame.right - frame.left, frame.bottom - frame.top])
        per_pixel = float(np.max((high - low) / room))
        off = np.array([frame.center[0] - size[0] / 2, size[1] / 2 - frame.center[1]])
        return cls(eye, axes, (low + high) / 2 - off * per_pixel, size[1] / 2 * per_pixel, size)

    def project(self, points: ArrayLike) -> tuple[Floats, Floats]:
        """Return the pixels (n, 2), x right and y down from the upper left corner, and the depths (n,) in mm."""
        u, v, depth = self.axes @ (np.asarray(points, dtype=float).reshape(-1, 3) - self.eye).T
        per_pixel = 2 * self.half_height / self.size[1]
        x = self.size[0] / 2 + (u / depth - self.middle[0]) / per_pixel
        y = self.size[1] / 2 - (v / depth - self.middle[1]) / per_pixel
        return np.column_stack([x, y]), depth


def _axes(view: View) -> Floats:
    into = np.array(view.toward, dtype=float)
    into /= np.linalg.norm(into)
    right = np.cross(into, view.up)
    right /= np.linalg.norm(right)
    return np.stack([right, np.cross(right, into), into])
