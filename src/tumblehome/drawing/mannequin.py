"""How big is a person beside it: a calm standing mannequin as one closed solid."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from tumblehome.errors import InputError
from tumblehome.solids import Solid, unite

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Floats = NDArray[np.float64]

__all__ = ["EYE_HEIGHT", "STATURE", "person"]

# Median men of ANSUR II (NATICK/TR-15/007): stature; its eyes lie as far below the crown standing as sitting
# (sitting height 918 less sitting eye height 804).
STATURE = 1755.0
EYE_HEIGHT = STATURE - (918.0 - 804.0)

_AROUND = 32  # corners of every horizontal section
_STEPS = 6  # sections between two rows of a table below

# Horizontal ellipses from the top down, each row: height, center forward, center left, half-depth, half-breadth.
# The body is that of the median man of ANSUR II: acromial height 1439, chest depth 253, waist height 1055, waist 325
# wide and 234 deep, hips 344 wide, buttocks 246 deep, shoulder to elbow 363. Head, neck, arms, legs and feet are drawn
# by eye to go with them.
_TRUNK = (
    (1545, 8, 0, 50, 50), (1510, 4, 0, 55, 55), (1482, 0, 0, 62, 68), (1464, -4, 0, 72, 100), (1448, -5, 0, 82, 136),
    (1425, -4, 0, 95, 170), (1385, -2, 0, 110, 187), (1300, 4, 0, 126, 184), (1180, 4, 0, 120, 166),
    (1070, 0, 0, 115, 158), (970, -4, 0, 121, 169), (900, -6, 0, 119, 171), (850, -5, 0, 104, 152),
    (820, -4, 0, 70, 96), (808, -4, 0, 24, 30),
)  # fmt: skip
_HEAD = (
    (1755, 8, 0, 1, 1), (1752, 8, 0, 26, 20), (1744, 8, 0, 50, 39), (1728, 8, 0, 72, 56), (1700, 9, 0, 90, 70),
    (1660, 10, 0, 98, 77), (1620, 12, 0, 93, 75), (1580, 16, 0, 79, 67), (1550, 19, 0, 65, 58), (1530, 21, 0, 50, 47),
    (1516, 21, 0, 30, 30),
)  # fmt: skip
_ARM = (
    (1444, -4, 172, 6, 8), (1440, -4, 176, 28, 26), (1428, -4, 184, 44, 38), (1400, -3, 196, 56, 49),
    (1360, -2, 204, 59, 51), (1290, 0, 210, 55, 46), (1180, -2, 221, 48, 41), (1085, -2, 229, 44, 38),
    (1020, 4, 234, 43, 39), (900, 18, 241, 34, 30), (830, 26, 244, 30, 24), (780, 32, 245, 40, 22),
    (720, 38, 245, 41, 20), (672, 42, 245, 28, 16), (655, 42, 245, 6, 5),
)  # fmt: skip
_LEG = (
    (985, -4, 70, 60, 60), (930, -5, 82, 104, 80), (860, -4, 86, 103, 85), (780, -2, 88, 95, 81), (650, 2, 92, 80, 69),
    (530, 4, 94, 63, 56), (470, 2, 95, 58, 53), (380, -10, 97, 61, 53), (300, -12, 98, 54, 47), (180, -8, 99, 39, 36),
    (100, -2, 100, 38, 34), (40, 0, 100, 44, 37), (-30, 0, 100, 40, 34),
)  # fmt: skip
_FOOT = (
    (98, 14, 101, 6, 6), (92, 16, 101, 36, 28), (72, 28, 102, 62, 38), (50, 42, 103, 92, 44), (28, 54, 105, 116, 48),
    (10, 56, 105, 122, 49), (-20, 56, 105, 122, 49),
)  # fmt: skip


def person(stature: float = STATURE, *, at: ArrayLike = (0.0, 0.0), facing: float = 0.0, floor: float = 0.0) -> Solid:
    """Return a standing mannequin without a face, every part in proportion to the stature.

    Parameters
    ----------
    stature : float, mm
        From the sole to the crown, exactly.
    at : (2,) float, mm
        Station and half-breadth of the middle of the body.
    facing : float, degrees
        0 looks to the front of the van, 90 to its right side.
    floor : float, mm
        Height of what it stands on.

    Raises
    ------
    InputError
        When the stature is not a positive number.
    """
    if not (np.isfinite(stature) and stature > 0):
        raise InputError(f"a person's stature must be a length above 0, found {stature}")
    x, y = (float(v) for v in np.asarray(at, dtype=float))
    turn, scale = np.radians(180.0 - facing), stature / STATURE
    c, s = scale * np.cos(turn), scale * np.sin(turn)
    return _mannequin().transformed([[c, -s, 0, x], [s, c, 0, y], [0, 0, scale, floor]])


@cache
def _mannequin() -> Solid:
    """Return the median man in his own frame: x forward, y to his left, soles at 0."""
    limbs = [_loft(rows, side) for rows in (_ARM, _LEG, _FOOT) for side in (1, -1)]
    return unite([_loft(_TRUNK), _loft(_HEAD), *limbs]).trimmed(2, low=0.0)


def _loft(rows: ArrayLike, side: int = 1) -> Solid:
    """Return the closed solid through horizontal ellipses; ``side`` -1 puts it on the right of the body."""
    z, forward, left, deep, broad = _smooth(np.asarray(rows, dtype=float)).T
    angle = np.linspace(0, 2 * np.pi, _AROUND, endpoint=False)
    x = forward[:, None] + deep[:, None] * np.cos(angle)
    y = side * left[:, None] + broad[:, None] * np.sin(angle)
    rings = np.stack([x, y, np.broadcast_to(z[:, None], x.shape)], axis=-1)
    poles = np.stack([rings[0].mean(axis=0), rings[-1].mean(axis=0)])
    return Solid.from_mesh(np.concatenate([rings.reshape(-1, 3), poles]), _skin(len(z)), "person")


def _skin(count: int) -> NDArray[np.intp]:
    """Return the triangles over ``count`` rings from the top down, closed by a fan at either end."""
    i = np.arange(_AROUND)
    j = (i + 1) % _AROUND
    top, last = count * _AROUND, (count - 1) * _AROUND
    upper = (np.arange(count - 1) * _AROUND)[:, None]
    lower = upper + _AROUND
    quads = [np.stack([lower + i, lower + j, upper + j], axis=-1), np.stack([lower + i, upper + j, upper + i], axis=-1)]
    poles = np.full_like(i, top), np.full_like(i, top + 1)
    fans = [np.stack([i, j, poles[0]], axis=-1), np.stack([last + j, last + i, poles[1]], axis=-1)]
    return np.concatenate([part.reshape(-1, 3) for part in (*quads, *fans)])


def _smooth(rows: Floats) -> Floats:
    """Return the rows with more between them on a Catmull-Rom curve; half-widths stay above zero."""
    before, after = 2 * rows[0] - rows[1], 2 * rows[-1] - rows[-2]
    p = np.concatenate([[before], rows, [after]])
    a, b, c, d = p[:-3, None], p[1:-2, None], p[2:-1, None], p[3:, None]
    t = np.linspace(0, 1, _STEPS, endpoint=False)[None, :, None]
    curve = 0.5 * (2 * b + (c - a) * t + (2 * a - 5 * b + 4 * c - d) * t**2 + (3 * b - a - 3 * c + d) * t**3)
    dense = np.concatenate([curve.reshape(-1, rows.shape[1]), rows[-1:]])
    dense[:, 3:] = np.maximum(dense[:, 3:], 1.0)
    dense[:, 0] = np.minimum.accumulate(dense[:, 0])
    return dense
