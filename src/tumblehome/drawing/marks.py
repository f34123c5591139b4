"""What ink goes on the sheet: shapes and words in millimeters of paper, x right and y down from the top left corner."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, Literal

import numpy as np

from tumblehome.drawing import palette
from tumblehome.records import dataclass

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from tumblehome.drawing.model import Point
    from tumblehome.drawing.palette import Style
    from tumblehome.drawing.text import Box

__all__ = ["MARK_RADIUS", "Shape", "Word", "spans", "topmost", "verdict_shapes"]

MARK_RADIUS: Final = 1.6
_MARK_WEIGHT: Final = 0.6
_RING_SIDES: Final = 48


@dataclass(frozen=True, slots=True, eq=False)
class Shape:
    """Lines or a filled region: rings of (k, 2) points, drawn as `style` says; the even-odd rule makes holes."""

    layer: str
    rings: tuple[NDArray[np.float64], ...]
    closed: bool
    style: Style

    def covers(self, point: Point) -> bool:
        """Return whether `point` lies in the region of the rings."""
        return any(low <= point[0] <= high for low, high in spans(self.rings, point[1]))


@dataclass(frozen=True, slots=True)
class Word:
    """One line of text: `at` is the start, middle or end of its baseline; turned, it reads from the right of the sheet.

    `patch` is the ground painted under it, exactly as wide as the text.
    """

    layer: str
    at: Point
    string: str
    size: float
    color: str
    anchor: Literal["start", "middle", "end"] = "start"
    bold: bool = False
    turned: bool = False
    patch: tuple[Box, str] | None = None


def spans(rings: Sequence[NDArray[np.float64]], y: float) -> list[tuple[float, float]]:
    """Return the pieces of the horizontal line at `y` that lie in the even-odd region of `rings`, left to right."""
    crossings: list[float] = []
    for ring in rings:
        (x0, y0), (x1, y1) = ring.T, np.roll(ring, -1, axis=0).T
        cut = (y0 > y) != (y1 > y)
        crossings += (x0[cut] + (y - y0[cut]) * (x1[cut] - x0[cut]) / (y1[cut] - y0[cut])).tolist()
    crossings.sort()
    return list(zip(crossings[::2], crossings[1::2], strict=True))


def topmost(ground: Sequence[Shape], point: Point) -> Style | None:
    """Return the style of the last filling in `ground`, in painting order, that covers `point`; None on bare paper."""
    return next((shape.style for shape in reversed(ground) if shape.style.fill and shape.covers(point)), None)


def verdict_shapes(at: Point, verdict: str, layer: str) -> list[Shape]:
    """Return the mark of `verdict` about `at`: a ring, a diamond, or a filled square with a cross."""
    look = palette.verdict_style(verdict)
    line = palette.Style(look.color, _MARK_WEIGHT, fill=palette.AIR)
    if look.shape == "crossed square":
        half, arm = 0.9 * MARK_RADIUS, 0.45 * MARK_RADIUS
        cross = palette.Style(palette.WHITE, 0.5)
        bars = (((-arm, -arm), (arm, arm)), ((-arm, arm), (arm, -arm)))
        return [
            _about(
                at,
                [(-half, -half), (half, -half), (half, half), (-half, half)],
                layer,
                palette.Style(None, fill=look.color),
            ),
            Shape(layer, tuple(np.array(bar) + at for bar in bars), closed=False, style=cross),
        ]
    if look.shape == "diamond":
        reach = 1.15 * MARK_RADIUS
        return [_about(at, [(0, -reach), (reach, 0), (0, reach), (-reach, 0)], layer, line)]
    angles = np.arange(_RING_SIDES) * 2 * np.pi / _RING_SIDES
    circle = (MARK_RADIUS - _MARK_WEIGHT / 2) * np.column_stack([np.cos(angles), np.sin(angles)])
    return [_about(at, circle, layer, line)]


def _about(at: Point, offsets: object, layer: str, style: Style) -> Shape:
    return Shape(layer, (np.asarray(offsets, dtype=float) + at,), closed=True, style=style)
