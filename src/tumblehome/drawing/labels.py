"""Where do an item's words stand, on what ground, and do they need a leader?"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np

from tumblehome.drawing import palette
from tumblehome.drawing.marks import Shape, Word, spans, topmost
from tumblehome.drawing.model import Area, Dimension, Text
from tumblehome.drawing.sheet import dimension_line
from tumblehome.drawing.text import ASCENT, DESCENT, Box, Wish, text_width, wrapped
from tumblehome.records import dataclass

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from tumblehome.drawing.model import Item, Label, Point
    from tumblehome.drawing.palette import Style
    from tumblehome.drawing.sheet import Sheet
    from tumblehome.drawing.text import Place

__all__ = ["Tag", "tag_of"]

_LEADER: Final = palette.Style(palette.QUIET, 0.18)
# Millimeters of paper: the ground painted under a text reaches this far beyond its ends.
_PATCH: Final = 0.8
# From a dimension line to a value that found no room on it; and how much of the line shows on both sides of a value.
_ASIDE: Final = 0.8
_LINE_SHOWN: Final = 2.0
# From one line of a label to the next, as a share of the font size.
_LEADING: Final = 1.25
# A label in an area stays this far from the area's edge, and is tried on so many rows where the middle has no room.
_PADDING: Final = 0.8
_ROWS: Final = 15
_READABLE: Final = 4.5
"""The least contrast between words and what they stand on: WCAG 2.2, success criterion 1.4.3."""


@dataclass(frozen=True, slots=True)
class Tag:
    """The words of one item, which keep together: what they look like, and where they would like to stand.

    ``moved_color`` is theirs when they had to leave their spots, and ``patch`` asks for the ground to be painted.
    """

    lines: tuple[Word, ...]
    wish: Wish
    moved_color: str
    patch: bool = False

    def settle(self, spot: Place, ground: Sequence[Shape]) -> tuple[tuple[Word, ...], tuple[Shape, ...]]:
        """Return the words at `spot` and their leader, if they moved; `ground` is what is painted, lowest first."""
        words, top = [], spot.box.top
        for line in self.lines:
            color = self.moved_color if spot.moved else line.color
            word = replace(line, at=_baseline(line, spot.box, top), color=color)
            words.append(replace(word, patch=_patch(word, ground)) if self.patch or spot.moved else word)
            top += _LEADING * line.size
        return tuple(words), (self._leader(spot.box),) if spot.moved else ()

    def _leader(self, box: Box) -> Shape:
        line = np.array([self.wish.about, box.nearest_to(self.wish.about)])
        return Shape("text", (line,), closed=False, style=_LEADER)


def tag_of(item: Item, sheet: Sheet) -> Tag | None:
    """Return the words of `item` as they want to stand on `sheet`; None when it has none."""
    match item:
        case Text() if item.string:
            return _text(item, sheet)
        case Dimension() if item.string:
            return _value(item, sheet)
        case Area() if item.label and item.rings:
            return _label(item, item.label, sheet)
        case _:
            return None


def _text(item: Text, sheet: Sheet) -> Tag:
    color = palette.style_of(item.layer).outside
    word = Word("text", (0.0, 0.0), item.string, item.size, color, "middle", item.bold)
    about = _point(sheet.to_paper([item.at])[0])
    width, height = _size((word,))
    x, y = about[0] + {"start": width / 2, "middle": 0.0, "end": -width / 2}[item.anchor], about[1]
    spots = [(x, y), (x, y - height), (x, y + height)]
    return Tag((word,), Wish(item.string, width, height, spots, about, firm=True), color, item.background)


def _value(item: Dimension, sheet: Sheet) -> Tag:
    """Return a dimension's words: on its line where it is long enough, else beside it or beyond its ends."""
    start, end = sheet.to_paper(dimension_line(item))
    length = float(np.hypot(*(end - start)))
    along = (end - start) / length
    turned = abs(along[0]) < abs(along[1]) * 0.2
    color = palette.style_of(item.layer).outside
    word = Word(item.layer, (0.0, 0.0), item.string, palette.BODY, color, "middle", turned=turned)
    width, height = _size((word,))
    taken = abs(along[0]) * width + abs(along[1]) * height
    aside = np.array([along[1], -along[0]]) * (_ASIDE + (abs(along[1]) * width + abs(along[0]) * height) / 2)
    beyond = along * (taken / 2 + _LINE_SHOWN)
    middle = (start + end) / 2
    on_line = [start + (end - start) * share for share in (1 / 2, 1 / 3, 2 / 3, 1 / 5, 4 / 5)]
    spots = [spot for spot in on_line if _clears_the_ends(spot, start, end, taken)]
    spots += [middle - aside, middle + aside, end + beyond, start - beyond]
    wish = Wish(item.string, width, height, [_point(at) for at in spots], _point(middle), firm=True)
    return Tag((word,), wish, color, patch=True)


def _clears_the_ends(
    spot: NDArray[np.float64], start: NDArray[np.float64], end: NDArray[np.float64], taken: float
) -> bool:
    return min(float(np.hypot(*(spot - start))), float(np.hypot(*(spot - end)))) >= taken / 2 + _LINE_SHOWN


def _label(item: Area, label: Label, sheet: Sheet) -> Tag:
    """Return an area's name and note: in its middle where that is wide enough, else elsewhere in it."""
    style = palette.style_of(item.layer)
    rings = [sheet.to_paper(ring) for ring in item.rings if len(ring)]
    middle = _point(sheet.to_paper([label.at])[0]) if label.at else _centroid(rings[0])
    about = next(iter(_spots_inside(rings, middle, 0.0, 0.0)), middle)
    for lines in _ways_to_write(label, style):
        width, height = _size(lines)
        spots = _spots_inside(rings, middle, width + 2 * _PADDING, height + 2 * _PADDING)
        if spots:
            break
    return Tag(lines, Wish(label.name, width, height, spots, about), style.outside)


def _ways_to_write(label: Label, style: Style) -> Iterator[tuple[Word, ...]]:
    """Yield a label's lines, wide first: its note on one line, then on as many as its words need."""
    name = Word("text", (0.0, 0.0), label.name, palette.BODY, style.inside, "middle", bold=True)
    quiet = palette.QUIET if style.inside == palette.INK else style.inside
    note = replace(name, size=palette.SMALL, color=quiet, bold=False)
    full = text_width(label.note, palette.SMALL)
    for width in (full + 1.0, 0.6 * full, 0.4 * full) if label.note else (1.0,):
        yield (name, *(replace(note, string=line) for line in wrapped(label.note, palette.SMALL, width) if line))


def _spots_inside(rings: Sequence[NDArray[np.float64]], middle: Point, width: float, height: float) -> list[Point]:
    """Return centers of boxes of that size that lie in the region of `rings`, those nearest to `middle` first."""
    low, high = rings[0][:, 1].min() + height / 2, rings[0][:, 1].max() - height / 2
    spots = []
    for y in (middle[1], *np.linspace(low, high, _ROWS)) if low <= high else ():
        free = spans(rings, y - height / 2)
        for level in (y, y + height / 2):
            free = _shared(free, spans(rings, level))
        spots += [(min(max(middle[0], a + width / 2), b - width / 2), float(y)) for a, b in free if b - a > width]
    return sorted(spots, key=lambda spot: math.dist(spot, middle))


def _shared(first: list[tuple[float, float]], second: list[tuple[float, float]]) -> list[tuple[float, float]]:
    pieces = ((max(a, c), min(b, d)) for a, b in first for c, d in second)
    return [(low, high) for low, high in pieces if low < high]


def _centroid(ring: NDArray[np.float64]) -> Point:
    """Return the center of the area in `ring`, or the mean of its points when it has no area."""
    after = np.roll(ring, -1, axis=0)
    cross = ring[:, 0] * after[:, 1] - after[:, 0] * ring[:, 1]
    if not cross.sum():
        return _point(ring.mean(axis=0))
    return _point(((ring + after) * cross[:, None]).sum(axis=0) / (3 * cross.sum()))


def _size(lines: Sequence[Word]) -> tuple[float, float]:
    """Return the width and height of lines one below the other, as they stand on the sheet."""
    width = max(text_width(line.string, line.size, bold=line.bold) for line in lines)
    height = sum(_LEADING * line.size for line in lines[:-1]) + (ASCENT + DESCENT) * lines[-1].size
    return (height, width) if lines[0].turned else (width, height)


def _baseline(word: Word, box: Box, top: float) -> Point:
    """Return the middle of the baseline of a line whose letters begin at `top` (at the left, when it is turned)."""
    across, down = box.center
    return (box.left + ASCENT * word.size, down) if word.turned else (across, top + ASCENT * word.size)


def _patch(word: Word, ground: Sequence[Shape]) -> tuple[Box, str]:
    """Return the ground under a word anchored in its middle: as wide as its text, in the color that lies there.

    Where the word could not be read on that it is the color of what is free.
    """
    width, height = _size((word,))
    x, y = word.at
    lift = (ASCENT - DESCENT) / 2 * word.size
    box = Box.around((x - lift, y) if word.turned else (x, y - lift), width, height)
    under = topmost(ground, box.center)
    pad = (0.0, _PATCH) if word.turned else (_PATCH, 0.0)
    box = Box(box.left - pad[0], box.top - pad[1], box.right + pad[0], box.bottom + pad[1])
    color = under.fill if under and under.fill else palette.PAPER
    if palette.contrast(word.color, color) < min(_READABLE, palette.contrast(word.color, palette.AIR)):
        color = palette.AIR
    return box, color


def _point(values: NDArray[np.float64]) -> Point:
    return float(values[0]), float(values[1])
