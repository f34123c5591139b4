"""How wide is a text, and where can it stand so that no two lie on top of one another?

Everything here is in millimeters of paper, x to the right and y *down* the sheet.
"""

from __future__ import annotations

import math
import re
from functools import lru_cache
from typing import TYPE_CHECKING, Final

import numpy as np

from tumblehome.drawing._advances import BOLD, REGULAR, UNITS_PER_EM
from tumblehome.errors import PictureError
from tumblehome.records import dataclass

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Sequence

    from numpy.typing import NDArray

    from tumblehome.drawing.model import Point

__all__ = ["ASCENT", "DESCENT", "Box", "Ink", "Place", "Wish", "place", "text_width", "wrapped"]

# What letters need above and below the baseline, as a share of the font size (DejaVu Sans: "l" 0.76, "g" 0.21).
ASCENT: Final = 0.77
DESCENT: Final = 0.23
# A glyph that is not in the table counts as a wide one, so that a label is rather given too much room than too little.
_DEFAULT_ADVANCE: Final = 2048
# Labels keep this distance from each other, and this one from what stands in the same line: more than a space between words,
# so that no two names read as one.
_GAP: Final = 0.8
_BESIDE: Final = 2.4
# Where a line may end: at space that does not lead to a fraction.
_BREAK: Final = re.compile(r"\s+(?!\d+/\d)")
# Around a point, candidate places lie in this many directions, on rings this far apart.
_DIRECTIONS: Final = 16
_RING: Final = 2.0


@lru_cache(maxsize=8192)
def _advance(string: str, *, bold: bool) -> int:
    table = BOLD if bold else REGULAR
    return sum(table.get(glyph, _DEFAULT_ADVANCE) for glyph in string)


def text_width(string: str, size: float, *, bold: bool = False) -> float:
    """Return how wide `string` runs at font size `size`, in the unit of `size`."""
    return _advance(string, bold=bold) * size / UNITS_PER_EM


def wrapped(string: str, size: float, width: float) -> list[str]:
    """Return `string` as lines no wider than `width`, broken at spaces; a single longer word keeps its own line.

    A fraction stays with the number before it.
    """
    lines = [""]
    for word in _BREAK.split(string.strip()):
        longer = f"{lines[-1]} {word}".strip()
        if lines[-1] and text_width(longer, size) > width:
            lines.append(word)
        else:
            lines[-1] = longer
    return lines


@dataclass(frozen=True, slots=True)
class Box:
    """An upright rectangle on the sheet; `top` is less than `bottom`."""

    left: float
    top: float
    right: float
    bottom: float

    @classmethod
    def around(cls, center: Point, width: float, height: float) -> Box:
        """Return the box of that size about `center`."""
        x, y = center
        return cls(x - width / 2, y - height / 2, x + width / 2, y + height / 2)

    @property
    def center(self) -> Point:
        """The middle of the box."""
        return (self.left + self.right) / 2, (self.top + self.bottom) / 2

    def overlaps(self, other: Box) -> bool:
        """Return whether the two share more than an edge."""
        return (
            self.left < other.right and other.left < self.right and self.top < other.bottom and other.top < self.bottom
        )

    def contains(self, other: Box) -> bool:
        """Return whether `other` lies in this box, edges included."""
        return (
            self.left <= other.left
            and other.right <= self.right
            and self.top <= other.top
            and other.bottom <= self.bottom
        )

    def grown(self, by: float) -> Box:
        """Return the box with `by` more on every side."""
        return Box(self.left - by, self.top - by, self.right + by, self.bottom + by)

    def alone(self) -> Box:
        """Return the box with half of the distance that a label keeps from the next one, on every side."""
        return Box(self.left - _BESIDE / 2, self.top - _GAP / 2, self.right + _BESIDE / 2, self.bottom + _GAP / 2)

    def nearest_to(self, point: Point) -> Point:
        """Return the point of the box that lies nearest to `point`."""
        return min(max(point[0], self.left), self.right), min(max(point[1], self.top), self.bottom)


class Ink:
    """Which square millimeters of the sheet carry a line; labels that move aside look for clean ones."""

    def __init__(self, width: float, height: float, is_hatched: Callable[[Point], bool] = lambda _: False) -> None:
        """Begin with a clean sheet of that size; `is_hatched` says where hatching lies open to view."""
        self._is_hatched = is_hatched
        self._cells: NDArray[np.bool_] = np.zeros((math.ceil(height) + 1, math.ceil(width) + 1), dtype=bool)

    def draw(self, points: NDArray[np.float64]) -> None:
        """Mark the cells under the line through `points` (k, 2); sampled every half millimeter."""
        start, step = points[:-1], np.diff(points, axis=0)
        counts = np.ceil(np.hypot(step[:, 0], step[:, 1]) * 2).astype(int) + 1
        which = np.repeat(np.arange(len(counts)), counts)
        along = (np.arange(len(which)) - np.repeat(np.cumsum(counts) - counts, counts)) / counts[which]
        x, y = (start[which] + along[:, None] * step[which]).T
        rows, columns = self._cells.shape
        on_sheet = (x >= 0) & (x < columns) & (y >= 0) & (y < rows)
        self._cells[y[on_sheet].astype(int), x[on_sheet].astype(int)] = True

    def crosses(self, box: Box) -> bool:
        """Return whether a line runs through `box`, to the millimeter, or its middle lies on hatching."""
        rows = slice(max(int(box.top), 0), max(math.ceil(box.bottom), 0))
        columns = slice(max(int(box.left), 0), max(math.ceil(box.right), 0))
        return bool(self._cells[rows, columns].any()) or self._is_hatched(box.center)


@dataclass(frozen=True, slots=True)
class Wish:
    """A label that wants a place: its size, the centers it likes best first, and the point it speaks of.

    A firm wish stands on its own spots even where a line runs through them, as a value does on its dimension line.
    """

    name: str
    width: float
    height: float
    spots: Sequence[Point]
    about: Point
    firm: bool = False


@dataclass(frozen=True, slots=True)
class Place:
    """Where a label stands; `moved` when none of its own spots was free, so that a leader must tell what it means."""

    box: Box
    moved: bool


def place(wishes: Sequence[Wish], bounds: Box, taken: Iterable[Box], ink: Ink) -> list[Place]:
    """Return a place inside `bounds` for each wish, in order, none on another nor on a box of `taken`.

    The wishes that come first choose first. Each tries its own spots, then rings around the point that it speaks of
    where no line runs, then anything free. The same wishes always get the same places. Raises PictureError when the
    sheet has no room left.
    """
    occupied = [box.grown(_GAP / 2) for box in taken]
    places = []
    for wish in wishes:
        found = _first_free(wish, bounds, occupied, ink)
        occupied.append(found.box.alone())
        places.append(found)
    return places


def _first_free(wish: Wish, bounds: Box, occupied: Sequence[Box], ink: Ink) -> Place:
    for center, moved, on_lines in _candidates(wish, bounds):
        box = Box.around(center, wish.width, wish.height)
        if not bounds.contains(box) or any(box.alone().overlaps(other) for other in occupied):
            continue
        if on_lines or not ink.crosses(box.grown(_GAP)):
            return Place(box, moved)
    raise PictureError(f"the sheet has no room left for the label '{wish.name}': take larger paper or fewer labels")


def _candidates(wish: Wish, bounds: Box) -> Iterator[tuple[Point, bool, bool]]:
    """Yield centers, best first: each with whether it is off the wish's own spots, and whether it may lie on lines."""
    for on_lines in (False, True):
        for spot in wish.spots:
            yield spot, False, on_lines or wish.firm
        for spot in _rings(wish, bounds):
            yield spot, True, on_lines


def _rings(wish: Wish, bounds: Box) -> Iterator[Point]:
    x, y = wish.about
    farthest = math.hypot(bounds.right - bounds.left, bounds.bottom - bounds.top)
    for ring in range(1, math.ceil(farthest / _RING) + 1):
        for turn in range(_DIRECTIONS):
            angle = math.tau * turn / _DIRECTIONS
            yield (
                x + (wish.width / 2 + ring * _RING) * math.cos(angle),
                y + (wish.height / 2 + ring * _RING) * math.sin(angle),
            )
