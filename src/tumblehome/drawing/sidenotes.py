"""Where do the words stand that have no room on their own things? Beside the body, in order, none on another.

On a cross-section they stand in a column left and right of the body, on a plan in a row before and behind it, or in two where
one has no room for all; a line joins each to its thing.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np
import shapely

from tumblehome.drawing.model import Path, Text
from tumblehome.drawing.palette import SMALL
from tumblehome.drawing.regions import shared
from tumblehome.drawing.sheet import sheet_for
from tumblehome.drawing.text import text_width, wrapped
from tumblehome.records import dataclass

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Sequence

    from numpy.typing import NDArray

    from tumblehome.drawing.cutplane import CutPlane
    from tumblehome.drawing.model import Drawing, Item

    Floats = NDArray[np.float64]

__all__ = ["SideNote", "lettered", "near_edge", "side_notes", "spread"]

# Millimeters of paper: from the body to the column or row, from a line to its words, between two words of a row, how wide
# the words of a column may run, and how far at most a line runs into its thing.
_AWAY: Final = 5.0
_TOUCH: Final = 1.0
_BETWEEN: Final = 2.5
_COLUMN: Final = 25.0
_INTO: Final = 8.0
# A row is no longer than the stretch that its words speak of and this much, and need not be shorter than that.
_OVERHANG: Final = 50.0
_SHORT_ROW: Final = 200.0
# From one line to the next, and from one note to the next, in heights of the font.
_LEADING: Final = 1.32
_PITCH: Final = 1.6
_FAR: Final = 1e6
"""Beyond every van, mm."""


@dataclass(frozen=True)
class SideNote:
    """Words about the point (breadth, along), to stand left (sign -1) or right (1) of the centerline.

    ``layer`` gives them their color; without a ``leader`` they stand beside the body with no line to their thing.
    """

    string: str
    breadth: float
    along: float
    sign: int
    layer: str
    leader: bool = True


def lettered(plain: Drawing, items: Callable[[float], Iterable[Item]]) -> Drawing:
    """Return a drawing with its words: their room depends on the scale, and the scale on the room that they take.

    ``items`` gives everything drawn for a number of millimeters of the model that one of paper is. Raises what
    `sheet_for` raises.
    """
    mm = float(sheet_for(plain).scale)
    while True:
        drawing = replace(plain, items=tuple(items(mm)))
        needed = float(sheet_for(drawing).scale)
        if needed <= mm:
            return drawing
        mm = needed


def side_notes(notes: Sequence[SideNote], plane: CutPlane, edges: tuple[float, float], mm: float) -> Iterator[Item]:
    """Yield the words and lines of notes.

    Parameters
    ----------
    edges : the body's least and greatest breadth, mm
    mm : how many millimeters of the model one of paper is
    """
    for sign, edge in zip((-1, 1), edges, strict=True):
        mine = sorted((note for note in notes if note.sign == sign), key=lambda note: note.along)
        if not mine:
            continue
        wanted = np.array([note.along for note in mine])
        sizes = np.array([text_width(n.string, SMALL) + _BETWEEN if plane.is_plan else _height(n) for n in mine]) * mm
        rows = _rows(wanted, sizes, mm) if plane.is_plan else 1
        at = spread(wanted, sizes) if rows == 1 else _apart(wanted, np.maximum(sizes[1:], sizes[:-1]) / 2)
        for i, (note, along) in enumerate(zip(mine, at.tolist(), strict=True)):
            away = _AWAY + i % rows * _PITCH * SMALL
            yield from _line(note, along, edge, away, plane, mm)
            outward = -1 if along < at.mean() else 1
            yield from _words(note, along, edge + note.sign * (away + _TOUCH) * mm, outward, plane, mm)


def _rows(wanted: Floats, sizes: Floats, mm: float) -> int:
    """Return in how many rows words stand: in two by turns, so that the line of each of the outer row passes between inner ones."""
    longest = max(float(np.ptp(wanted)) + _OVERHANG * mm, _SHORT_ROW * mm)
    return 1 if sizes.sum() <= longest else 2


def _line(note: SideNote, along: float, edge: float, away: float, plane: CutPlane, mm: float) -> Iterator[Path]:
    if note.leader:
        bend, port, end = (edge + note.sign * far * mm for far in (1.0, _AWAY, away))
        line = [(note.breadth, note.along), (bend, note.along), (port, along), (end, along)]
        yield Path("dimension", [plane.point(*point) for point in line[: 4 if away > _AWAY else 3]])


def _words(note: SideNote, along: float, away: float, outward: int, plane: CutPlane, mm: float) -> Iterator[Text]:
    """Yield the words: one line in a row, as many as they need in a column.

    Each is told by its end away from the body, or from the row's middle (``outward``), so that the sheet has room for it.
    """
    if plane.is_plan:
        end = along + outward * text_width(note.string, SMALL) / 2 * mm
        at = plane.point(away + note.sign * 0.5 * SMALL * mm, end)
        yield Text(note.layer, at, note.string, SMALL, "start" if outward < 0 else "end")
        return
    lines = _lines(note)
    for i, line in enumerate(lines):
        up = along + ((len(lines) - 1) / 2 - i) * _LEADING * SMALL * mm
        far = away + note.sign * text_width(line, SMALL) * mm
        yield Text(note.layer, plane.point(far, up), line, SMALL, "start" if note.sign < 0 else "end")


def _lines(note: SideNote) -> list[str]:
    return wrapped(note.string, SMALL, _COLUMN)


def _height(note: SideNote) -> float:
    return (_PITCH + _LEADING * (len(_lines(note)) - 1)) * SMALL


def near_edge(piece: shapely.Polygon, plane: CutPlane, sign: int, mm: float) -> tuple[float, float]:
    """Return a point (breadth, along) of a piece that a line from its left (sign -1) or right (1) side soon reaches."""
    low, high = piece.bounds[1:4:2] if plane.is_plan else piece.bounds[0:4:2]
    strip = (high - _INTO * mm, high) if sign > 0 else (low, low + _INTO * mm)
    ends = [plane.point(strip[0], -_FAR), plane.point(strip[1], _FAR)]
    at = shared(piece, shapely.box(*np.min(ends, axis=0), *np.max(ends, axis=0))).representative_point()
    return (at.y, at.x) if plane.is_plan else (at.x, at.y)


def spread(wanted: Floats, sizes: Floats) -> Floats:
    """Return positions for things of some sizes, in their order, none on another, as near to the wanted ones as can be."""
    return _apart(wanted, (sizes[1:] + sizes[:-1]) / 2)


def _apart(wanted: Floats, gaps: Floats) -> Floats:
    """Return positions in order, each at least a gap (k - 1,) from the one before, as near to the wanted ones (k,) as can be.

    The least sum of squared shifts: isotonic regression by pooling neighbors that would overlap (Ayer, Brunk, Ewing, Reid
    and Silverman, Annals of Mathematical Statistics 26, 1955).
    """
    offsets = np.concatenate([[0.0], np.cumsum(gaps)])
    pools: list[tuple[float, int]] = []
    for value in (wanted - offsets).tolist():
        mean, count = value, 1
        while pools and pools[-1][0] >= mean:
            before, many = pools.pop()
            mean, count = (before * many + mean * count) / (many + count), many + count
        pools.append((mean, count))
    pooled: Floats = np.repeat([mean for mean, _ in pools], [count for _, count in pools]) + offsets
    return pooled
