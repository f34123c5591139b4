"""How large is a standing person, drawn beside the furniture for scale?"""

from __future__ import annotations

import math
from dataclasses import fields
from typing import TYPE_CHECKING, Final

import numpy as np

from tumblehome.errors import InputError
from tumblehome.records import dataclass

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["person_outline"]


@dataclass(frozen=True, slots=True)
class _Body:
    """Median body sizes in millimeters."""

    stature: float
    acromial_height: float
    bideltoid_breadth: float
    forearm_forearm_breadth: float
    waist_breadth: float
    hip_breadth: float


# ANSUR II (2012 Anthropometric Survey of U.S. Army Personnel), report NATICK/TR-15/007, public data files: the 50th
# percentiles. Soldiers are leaner than the general population.
_WOMAN: Final = _Body(1626.0, 1332.0, 450.0, 492.0, 298.0, 353.0)
_MAN: Final = _Body(1755.0, 1439.0, 509.0, 579.0, 325.0, 344.0)

# Points between two given ones, and the exponent of the centripetal Catmull-Rom spline that runs through them.
_STEPS: Final = 8
_CENTRIPETAL: Final = 0.5


def person_outline(stature: float) -> NDArray[np.float64]:
    """Return the closed outline (k, 2) of a person standing with arms at the sides, seen from the front.

    Points are (y, z) in millimeters, y to the right of the body's middle plane, z above the feet; they turn clockwise
    from the crown, and the left half mirrors the right. Stature, the height of the acromion and the breadths over
    deltoids, forearms, waist and hips follow ANSUR II medians: between a woman's and a man's median stature the
    proportions pass from the one to the other, beyond they stay. What lies between is drawn by eye. Raises InputError
    unless `stature` is a positive finite length.
    """
    if not (math.isfinite(stature) and stature > 0):
        raise InputError(f"a person's stature is a positive length, not {stature}")
    right = np.array(_right_half(_body(stature)))
    left = right[-2:0:-1] * (-1.0, 1.0)
    outline = _smooth(np.concatenate([right, left]))
    return np.clip(outline, (-np.inf, 0.0), (np.inf, stature))


def _body(stature: float) -> _Body:
    def size(name: str) -> float:
        ratios = [getattr(body, name) / body.stature for body in (_WOMAN, _MAN)]
        return stature * float(np.interp(stature, (_WOMAN.stature, _MAN.stature), ratios))

    return _Body(**{field.name: size(field.name) for field in fields(_Body)})


def _right_half(body: _Body) -> list[tuple[float, float]]:
    """Return the points that the right half passes through, from the crown down to the crotch."""
    s, shoulder, waist, hip = body.stature, body.acromial_height, body.waist_breadth / 2, body.hip_breadth / 2
    head = [(0.0, s), (0.023 * s, 0.992 * s), (0.0385 * s, 0.971 * s), (0.0425 * s, 0.944 * s), (0.0385 * s, 0.913 * s)]
    neck = [(0.029 * s, 0.884 * s), (0.0285 * s, 0.866 * s), (0.036 * s, 0.85 * s), (0.066 * s, shoulder + 0.017 * s)]
    trunk = [(waist + 0.005 * s, 0.67 * s), (waist, 0.61 * s), (0.45 * waist + 0.55 * hip, 0.545 * s), (hip, 0.485 * s)]
    return [*head, *neck, *_arm(body), *trunk, *_leg(s, hip)]


def _arm(body: _Body) -> list[tuple[float, float]]:
    """Return the points from the shoulder down to the fingertips and up again to the armpit."""
    s, shoulder, waist = body.stature, body.acromial_height, body.waist_breadth / 2
    deltoid, elbow = body.bideltoid_breadth / 2, body.forearm_forearm_breadth / 2
    return [
        (0.8 * deltoid, shoulder - 0.001 * s),
        (0.95 * deltoid, shoulder - 0.026 * s),
        (deltoid, shoulder - 0.07 * s),
        (deltoid + 0.45 * (elbow - deltoid), shoulder - 0.14 * s),
        (elbow, 0.6 * s),
        (elbow + 0.006 * s, 0.5 * s),
        (elbow + 0.008 * s, 0.43 * s),
        (elbow + 0.001 * s, 0.395 * s),
        (elbow - 0.01 * s, 0.386 * s),
        (elbow - 0.021 * s, 0.4 * s),
        (elbow - 0.025 * s, 0.45 * s),
        (elbow - 0.225 * deltoid, 0.54 * s),
        (elbow - 0.345 * deltoid, 0.62 * s),
        (0.5 * (waist + 0.005 * s + elbow - 0.355 * deltoid), shoulder - 0.11 * s),
    ]


def _leg(s: float, hip: float) -> list[tuple[float, float]]:
    """Return the points from below the hip down to the sole and up again to the crotch; `s` is the stature."""
    return [
        (hip - 0.005 * s, 0.42 * s),
        (0.083 * s, 0.27 * s),
        (0.07 * s, 0.12 * s),
        (0.066 * s, 0.055 * s),
        (0.075 * s, 0.022 * s),
        (0.079 * s, 0.008 * s),
        (0.073 * s, 0.0),
        (0.036 * s, 0.0),
        (0.03 * s, 0.008 * s),
        (0.0305 * s, 0.022 * s),
        (0.034 * s, 0.055 * s),
        (0.029 * s, 0.12 * s),
        (0.018 * s, 0.27 * s),
        (0.006 * s, 0.425 * s),
        (0.0, 0.455 * s),
    ]


def _smooth(points: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the closed centripetal Catmull-Rom spline through `points` (k, 2), the points among its own."""
    p0, p1, p2, p3 = (np.roll(points, shift, axis=0)[:, None, :] for shift in (1, 0, -1, -2))
    gaps = [np.linalg.norm(b - a, axis=2, keepdims=True) ** _CENTRIPETAL for a, b in ((p0, p1), (p1, p2), (p2, p3))]
    t1, t2, t3 = gaps[0], gaps[0] + gaps[1], gaps[0] + gaps[1] + gaps[2]
    t = t1 + (t2 - t1) * (np.arange(_STEPS) / _STEPS)[None, :, None]
    a1, a2, a3 = _mix(p0, p1, 0 * t1, t1, t), _mix(p1, p2, t1, t2, t), _mix(p2, p3, t2, t3, t)
    smooth: NDArray[np.float64] = _mix(_mix(a1, a2, 0 * t1, t2, t), _mix(a2, a3, t1, t3, t), t1, t2, t)
    return smooth.reshape(-1, 2)


def _mix(
    a: NDArray[np.float64],
    b: NDArray[np.float64],
    start: NDArray[np.float64],
    end: NDArray[np.float64],
    t: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Return the point between `a` (at `start`) and `b` (at `end`) at the parameter `t`."""
    mixed: NDArray[np.float64] = ((end - t) * a + (t - start) * b) / (end - start)
    return mixed
