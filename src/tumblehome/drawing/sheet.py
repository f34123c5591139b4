"""Which paper, which way up, at which scale: where a drawing's millimeters come to lie on the sheet."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from tumblehome.drawing.model import Area, Dimension, Path
from tumblehome.drawing.palette import MARGIN
from tumblehome.drawing.surround import BASE_LABELS, SIDE_LABELS, header_height, notes_height
from tumblehome.drawing.text import Box
from tumblehome.errors import InputError, nearest
from tumblehome.records import dataclass

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import ArrayLike, NDArray

    from tumblehome.drawing.model import Drawing, Item, Point

__all__ = ["PAPERS", "SCALES", "Sheet", "dimension_line", "sheet_for"]

# Short and long side in millimeters: ISO 216 A4 and A3; ANSI/ASME Y14.1 sizes A (letter) and B (tabloid).
PAPERS: Final = {"A4": (210.0, 297.0), "A3": (297.0, 420.0), "letter": (215.9, 279.4), "tabloid": (279.4, 431.8)}
# Denominators: those of ISO 5455 with the usual steps between; in inches the architect's, a fraction of an inch to the
# foot (1:8 is 1 1/2 in to the foot, 1:12 one inch, 1:24 half an inch).
SCALES: Final = {"mm": (1, 2, 5, 10, 15, 20, 25, 50, 100), "in": (1, 2, 4, 8, 12, 16, 24, 48, 96)}

# The net of rules reaches at least this far beyond what is drawn. It is as wide as the sheet allows, but only so much
# higher and deeper than the drawing.
_CLEAR: Final = 6.0
_FARTHEST: Final = 12.0


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet of paper with a scale: model (x, y) lies at ``origin + (x, -y) / scale``.

    ``frame`` is the box of the drawing and its net of rules. All in millimeters, from the sheet's top left corner.
    """

    paper: str
    width: float
    height: float
    scale: float
    origin: Point
    frame: Box

    @property
    def statement(self) -> str:
        """The scale in words, for example "1:10 on A3"."""
        return f"1:{self.scale} on {self.paper}"

    def to_paper(self, points: ArrayLike) -> NDArray[np.float64]:
        """Return model points (k, 2) as points of the sheet."""
        return np.asarray(points, dtype=float) * (1.0 / self.scale, -1.0 / self.scale) + self.origin

    def to_model(self, points: ArrayLike) -> NDArray[np.float64]:
        """Return points of the sheet (k, 2) as model points."""
        return (np.asarray(points, dtype=float) - self.origin) * (self.scale, -self.scale)


def sheet_for(drawing: Drawing) -> Sheet:
    """Return the sheet that shows `drawing` largest, at the largest standard scale that fits on its paper.

    Where both ways to turn the paper give that scale, the paper lies broadside.

    Raises InputError when the paper is not a standard one, when nothing is drawn, or when no scale (or not the one
    that was asked for) is small enough.
    """
    if drawing.paper not in PAPERS:
        raise InputError(f"no paper '{drawing.paper}'; there are {', '.join(PAPERS)}{nearest(drawing.paper, PAPERS)}")
    low, high = _extent(drawing.items)
    short, long = PAPERS[drawing.paper]
    rooms = [(width, height, _room(drawing, width, height)) for width, height in ((long, short), (short, long))]
    fitting = [(scale, way) for way in rooms if (scale := _scale(drawing, _reduction(way[2], high - low)))]
    if not fitting:
        at_scale = f" at 1:{drawing.scale}" if drawing.scale else ""
        raise InputError(
            f"'{drawing.title}' does not fit on {drawing.paper}{at_scale}: take larger paper or a smaller scale"
        )
    scale, (width, height, room) = min(fitting, key=lambda fit: (fit[0], fit[1][1]))
    frame = _frame(room, (high - low) / scale)
    (x, y), (across, down) = (low + high) / 2 / scale, frame.center
    return Sheet(drawing.paper, width, height, scale, (across - x, down + y), frame)


def dimension_line(dimension: Dimension) -> NDArray[np.float64]:
    """Return the two ends (2, 2) of the dimension line, in model space; raises InputError when they are one point."""
    ends = np.array([dimension.a, dimension.b], dtype=float)
    along = ends[1] - ends[0]
    length = float(np.hypot(*along))
    if length == 0:
        raise InputError(f"the dimension '{dimension.string}' runs from a point to itself")
    left: NDArray[np.float64] = np.array([-along[1], along[0]]) * (dimension.offset / length)
    return ends + left


def _extent(items: Sequence[Item]) -> NDArray[np.float64]:
    """Return the lowest and the highest corner (2, 2) of all that is drawn, in model space."""
    rows = [row for item in items for row in _points(item) if len(row)]
    if not rows:
        raise InputError("nothing to draw: the drawing has no items")
    points = np.concatenate(rows)
    if not np.isfinite(points).all():
        raise InputError("a point of the drawing is not a finite number")
    return np.array([points.min(axis=0), points.max(axis=0)])


def _points(item: Item) -> Iterator[NDArray[np.float64]]:
    match item:
        case Area():
            yield from (np.asarray(ring, dtype=float) for ring in item.rings)
        case Path():
            yield np.asarray(item.points, dtype=float)
        case Dimension():
            yield np.array([item.a, item.b], dtype=float)
            yield dimension_line(item)
        case _:
            yield np.array([item.at], dtype=float)


def _room(drawing: Drawing, width: float, height: float) -> Box:
    """Return what header, notes, labels and margins leave of a sheet of that size."""
    side, base = (SIDE_LABELS, BASE_LABELS) if drawing.rules else (0.0, 0.0)
    return Box(
        MARGIN + side,
        MARGIN + header_height(drawing, width),
        width - MARGIN,
        height - MARGIN - notes_height(drawing, width) - base,
    )


def _reduction(room: Box, size: NDArray[np.float64]) -> float:
    """Return how many times smaller `size` must be drawn to fit into `room`; infinite when there is no room at all."""
    free = np.array([room.right - room.left, room.bottom - room.top]) - 2 * _CLEAR
    return float((size / free).max()) if (free > 0).all() else float("inf")


def _scale(drawing: Drawing, reduction: float) -> int | None:
    """Return the scale asked for, or else the largest standard one, that reduces enough; None if none does."""
    standard = SCALES[drawing.rules.units if drawing.rules else "mm"]
    asked = standard if drawing.scale is None else (drawing.scale,)
    return next((scale for scale in asked if scale >= reduction), None)


def _frame(room: Box, size: NDArray[np.float64]) -> Box:
    """Return the box of what is drawn and the rules around it, in the middle of `room`."""
    width = min(room.right - room.left, float(size[0]) + 2 * _FARTHEST)
    height = min(room.bottom - room.top, float(size[1]) + 2 * _FARTHEST)
    return Box.around(room.center, width, height)
