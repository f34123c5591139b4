"""A drawing as DXF in model space: one unit is one millimeter of the thing drawn."""

from __future__ import annotations

from contextlib import contextmanager
from dataclasses import replace
from io import StringIO
from typing import TYPE_CHECKING, Final

from tumblehome.drawing import palette
from tumblehome.drawing._packages import load
from tumblehome.drawing.compose import compose
from tumblehome.drawing.model import Dimension
from tumblehome.drawing.shapes import TICK

if TYPE_CHECKING:
    from collections.abc import Iterator

    from ezdxf._options import Options
    from ezdxf.document import Drawing as Document

    from tumblehome.drawing.marks import Shape, Word
    from tumblehome.drawing.model import Drawing, Point
    from tumblehome.drawing.palette import Style
    from tumblehome.drawing.sheet import Sheet
    from tumblehome.drawing.text import Place

__all__ = ["to_dxf"]

# $INSUNITS 4 is millimeters, $MEASUREMENT 1 is metric (DXF reference, HEADER section).
_MILLIMETERS: Final = 4
_METRIC: Final = 1
# DXF gives the height of capitals, a font size is larger: DejaVu Sans's capitals are 0.729 of it.
_CAPITALS: Final = 0.729
_TEXT_STYLE: Final = "DRAWING"
_BOLD_STYLE: Final = "DRAWING_BOLD"
_DIMENSION_STYLE: Final = "DRAWING"
# The hatch pattern's lines lie 3.175 mm apart at scale 1 (ANSI31 in millimeters).
_ANSI31_SPACING: Final = 3.175


def to_dxf(drawing: Drawing) -> str:
    """Return `drawing` as the text of a DXF file (R2010), its model space at true scale, layer by layer.

    Areas are closed polylines, their holes too, with a hatch where they are filled. Texts are as high as on the sheet.
    Dimensions are dimension entities that show the caller's own text. The same drawing always gives the same text.
    Raises PictureError when the package that writes DXF is not installed, and what `compose` raises.
    """
    ezdxf = load("ezdxf", "DXF")
    composition = compose(drawing)
    with _without_dates(ezdxf.options):
        document = ezdxf.new("R2010", units=_MILLIMETERS)
        writer = _Writer(document, composition.sheet)
        for _, shapes, words in composition.layers(dimensions=False):
            for shape in shapes:
                writer.add_shape(shape)
            for word in words:
                writer.add_word(word)
        for each in composition.placed:
            if isinstance(each.item, Dimension):
                writer.add_dimension(each.item, each.place)
        stream = StringIO()
        document.write(stream)
    return stream.getvalue()


@contextmanager
def _without_dates(options: Options) -> Iterator[None]:
    """Have the DXF package write no dates and no random marks, and leave its option as it was."""
    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before


class _Writer:
    """One DXF document and the sheet that its texts and line patterns take their sizes from."""

    def __init__(self, document: Document, sheet: Sheet) -> None:
        self._document, self._space, self._sheet = document, document.modelspace(), sheet
        document.header["$MEASUREMENT"] = _METRIC
        document.styles.add(_TEXT_STYLE, font="DejaVuSans.ttf")
        document.styles.add(_BOLD_STYLE, font="DejaVuSans-Bold.ttf")
        self._add_dimension_style()
        for layer, style in palette.LAYERS.items():
            line = self._line(replace(style, stroke=style.stroke or style.fill or style.outside))
            document.layers.add(layer).update_dxf_attribs(line)

    def add_shape(self, shape: Shape) -> None:
        """Add polylines, closed or open, and the hatch that fills them."""
        rings = [[(x, y) for x, y in self._sheet.to_model(ring).tolist()] for ring in shape.rings]
        style = shape.style
        if style.fill:
            self._add_hatch(shape, rings)
        line = self._line(style) if style.stroke else self._line(replace(style, stroke=style.fill))
        for ring in rings:
            self._space.add_lwpolyline(ring, close=shape.closed, dxfattribs={"layer": shape.layer, **line})

    def _add_hatch(self, shape: Shape, rings: list[list[Point]]) -> None:
        colors = [(shape.style.fill, False), (shape.style.hatch, True)]
        for color, is_pattern in colors:
            if color is None:
                continue
            hatch = self._space.add_hatch(dxfattribs={"layer": shape.layer, "true_color": _rgb(color)})
            if is_pattern:
                scale = palette.HATCH_SPACING * self._sheet.scale / _ANSI31_SPACING
                hatch.set_pattern_fill("ANSI31", scale=scale)
                hatch.rgb = _channels(color)
            for ring in rings:
                hatch.paths.add_polyline_path(ring, is_closed=True)

    def add_word(self, word: Word) -> None:
        """Add a text that is as high in model space as its letters are on the sheet."""
        alignments = load("ezdxf.enums", "DXF").TextEntityAlignment
        align = {"start": alignments.LEFT, "middle": alignments.CENTER, "end": alignments.RIGHT}[word.anchor]
        at = self._sheet.to_model([word.at])[0].tolist()
        text = self._space.add_text(
            _one_line(word.string),
            height=_CAPITALS * word.size * self._sheet.scale,
            rotation=90.0 if word.turned else 0.0,
            dxfattribs={
                "layer": word.layer,
                "style": _BOLD_STYLE if word.bold else _TEXT_STYLE,
                "true_color": _rgb(word.color),
            },
        )
        text.set_placement(at, align=align)

    def add_dimension(self, item: Dimension, place: Place | None) -> None:
        """Add a dimension entity; its value stands where it stands on the sheet."""
        entity = self._space.add_aligned_dim(
            item.a,
            item.b,
            distance=item.offset,
            text=_one_line(item.string) or " ",
            dimstyle=_DIMENSION_STYLE,
            override={"dimse1": int(item.offset == 0), "dimse2": int(item.offset == 0)},
            dxfattribs={"layer": item.layer},
        )
        if place is not None:
            entity.set_location(self._sheet.to_model([place.box.center])[0].tolist(), leader=place.moved)
        entity.render()

    def _add_dimension_style(self) -> None:
        style = self._document.dimstyles.duplicate_entry("Standard", _DIMENSION_STYLE)
        sizes = {"dimtxt": _CAPITALS * palette.BODY, "dimtsz": TICK, "dimexo": 1.0, "dimexe": 0.0, "dimgap": 0.8}
        style.update_dxf_attribs({key: size * self._sheet.scale for key, size in sizes.items()})
        style.update_dxf_attribs({"dimtad": 0, "dimtxsty": _TEXT_STYLE, "dimscale": 1.0, "dimlwd": 30, "dimlwe": 18})

    def _line(self, style: Style) -> dict[str, object]:
        """Return color, line weight (1/100 mm) and line type; dashes are as long as on the sheet."""
        attributes: dict[str, object] = {"lineweight": round(100 * style.weight)}
        if style.stroke:
            attributes["true_color"] = _rgb(style.stroke)
        if style.dash:
            attributes["linetype"] = self._line_type(style.dash)
        return attributes

    def _line_type(self, dash: tuple[float, ...]) -> str:
        name = "DASH_" + "_".join(f"{length:g}" for length in dash).replace(".", "-")
        if name not in self._document.linetypes:
            steps = [length * self._sheet.scale * (-1) ** turn for turn, length in enumerate(dash)]
            self._document.linetypes.add(name, [sum(map(abs, steps)), *steps])
        return name


def _channels(color: str) -> tuple[int, int, int]:
    return int(color[1:3], 16), int(color[3:5], 16), int(color[5:7], 16)


def _rgb(color: str) -> int:
    """Return "#RRGGBB" as the 24-bit number that DXF takes for a true color."""
    return int(color[1:], 16)


def _one_line(string: str) -> str:
    """Return `string` without line breaks and control characters, which would break the file's own lines."""
    return " ".join("".join(sign if sign.isprintable() else " " for sign in string).split())
