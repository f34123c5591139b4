"""Where on the sheet does every line and every word of a drawing go? The SVG and the DXF writer both ask here."""

from __future__ import annotations

from itertools import chain
from typing import TYPE_CHECKING, Final

import numpy as np

from tumblehome.drawing import palette
from tumblehome.drawing.labels import tag_of
from tumblehome.drawing.marks import MARK_RADIUS, Shape, Word, topmost
from tumblehome.drawing.model import Dimension, Text, VerdictMark
from tumblehome.drawing.shapes import shapes_of
from tumblehome.drawing.sheet import sheet_for
from tumblehome.drawing.surround import header, net, notes
from tumblehome.drawing.text import Box, Ink, place
from tumblehome.records import dataclass

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tumblehome.drawing.model import Drawing, Item, Point
    from tumblehome.drawing.sheet import Sheet
    from tumblehome.drawing.text import Place

__all__ = ["Composition", "Placed", "compose"]

_LAYER_ORDER: Final = {layer: turn for turn, layer in enumerate(palette.LAYERS)}


@dataclass(frozen=True, slots=True)
class Placed:
    """An item on the sheet: its shapes (a leader among them), its words, and the place they took."""

    item: Item
    shapes: tuple[Shape, ...]
    words: tuple[Word, ...] = ()
    place: Place | None = None

    @property
    def marks(self) -> tuple[Shape | Word, ...]:
        """Its shapes, then its words."""
        return (*self.shapes, *self.words)


@dataclass(frozen=True, slots=True)
class Composition:
    """A drawing on its sheet: what stands around it, then its items."""

    sheet: Sheet
    around: tuple[Shape | Word, ...]
    placed: tuple[Placed, ...]

    def layers(self, *, dimensions: bool = True) -> Iterator[tuple[str, list[Shape], list[Word]]]:
        """Yield each layer that is used, in the order of painting, with its shapes and its words.

        Without `dimensions`, what the dimensions draw is left out.
        """
        placed = [each for each in self.placed if dimensions or not isinstance(each.item, Dimension)]
        shapes: dict[str, list[Shape]] = {layer: [] for layer in palette.LAYERS}
        words: dict[str, list[Word]] = {layer: [] for layer in palette.LAYERS}
        for mark in chain(self.around, *(each.marks for each in placed)):
            if isinstance(mark, Shape):
                shapes[mark.layer].append(mark)
            else:
                words[mark.layer].append(mark)
        yield from ((layer, shapes[layer], words[layer]) for layer in palette.LAYERS if shapes[layer] or words[layer])


def compose(drawing: Drawing, pane: Sheet | None = None) -> Composition:
    """Lay `drawing` out on its sheet, or on a pane of a screen: there neither title nor notes stand around it.

    Raises InputError for an unknown layer, verdict or paper and for a drawing that does not fit, PictureError when its
    labels do not.
    """
    sheet = pane or sheet_for(drawing)
    words = () if pane else (*header(drawing, sheet), *notes(drawing, sheet))
    around = (*words, *(net(drawing.rules, sheet) if drawing.rules else ()))
    drawn = [Placed(item, shapes_of(item, sheet)) for item in drawing.items]
    return Composition(sheet, around, tuple(_with_words(drawn, sheet)))


def _with_words(drawn: list[Placed], sheet: Sheet) -> list[Placed]:
    """Return the items with their words, which choose their places in turn: dimensions, texts, then names of areas."""
    ground = sorted((shape for each in drawn for shape in each.shapes), key=lambda shape: _LAYER_ORDER[shape.layer])
    tags = {index: tag for index, each in enumerate(drawn) if (tag := tag_of(each.item, sheet))}
    turns = sorted(tags, key=lambda index: _turn(drawn[index].item))
    marks = [_mark_box(each.item, sheet) for each in drawn if isinstance(each.item, VerdictMark)]
    places = place([tags[index].wish for index in turns], sheet.frame, marks, _ink(ground, sheet))
    complete = list(drawn)
    for index, spot in zip(turns, places, strict=True):
        words, leader = tags[index].settle(spot, ground)
        complete[index] = Placed(drawn[index].item, (*drawn[index].shapes, *leader), words, spot)
    return complete


def _turn(item: Item) -> int:
    return 0 if isinstance(item, Dimension) else 1 if isinstance(item, Text) else 2


def _mark_box(item: VerdictMark, sheet: Sheet) -> Box:
    x, y = sheet.to_paper([item.at])[0]
    return Box.around((float(x), float(y)), 2.4 * MARK_RADIUS, 2.4 * MARK_RADIUS)


def _ink(ground: Sequence[Shape], sheet: Sheet) -> Ink:
    def is_hatched(point: Point) -> bool:
        style = topmost(ground, point)
        return style is not None and style.hatch is not None

    ink = Ink(sheet.width, sheet.height, is_hatched)
    for shape in ground:
        for ring in shape.rings:
            ink.draw(np.concatenate([ring, ring[:1]]) if shape.closed else ring)
    return ink
