"""A drawing as SVG whose millimeters are millimeters of paper."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final
from xml.sax.saxutils import escape

from tumblehome.drawing import palette
from tumblehome.drawing.compose import compose

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    import numpy as np
    from numpy.typing import NDArray

    from tumblehome.drawing.compose import Composition
    from tumblehome.drawing.marks import Shape, Word
    from tumblehome.drawing.model import Drawing
    from tumblehome.drawing.palette import Style

__all__ = ["FONTS", "svg_of", "to_svg"]

# Everything outside the Char production of XML 1.0.
_NOT_IN_XML: Final = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")

FONTS: Final = "DejaVu Sans, Verdana, Helvetica, Arial, sans-serif"


def to_svg(drawing: Drawing) -> str:
    """Return `drawing` as one SVG document: ``width`` and ``height`` in mm, user units of 1 mm, a group for each layer.

    The same drawing always gives the same text. Raises what `compose` raises.
    """
    composition = compose(drawing)
    described = f"{drawing.subtitle} · {composition.sheet.statement}"
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{svg_of(composition, drawing.title, described)}'


def svg_of(composition: Composition, title: str, described: str) -> str:
    """Return what stands on a sheet as one ``svg`` element, with its title and a longer description."""
    sheet, layers = composition.sheet, list(composition.layers())
    width, height = _number(sheet.width), _number(sheet.height)
    hatches = {shape.style for _, shapes, _ in layers for shape in shapes if shape.style.hatch}
    size = f'width="{width}mm" height="{height}mm" viewBox="0 0 {width} {height}"'
    look = f'font-family="{FONTS}" stroke-linecap="butt" stroke-linejoin="miter" stroke-miterlimit="3" fill="none"'
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" {size} {look}>',
        f"<title>{_text(title)}</title>",
        f"<desc>{_text(described)}</desc>",
        *_definitions(hatches),
        f'<rect width="{width}" height="{height}" fill="{palette.PAPER}"/>',
    ]
    for layer, shapes, words in layers:
        lines += [f'<g id="layer-{layer}" data-layer="{layer}">', *_group(shapes, words), "</g>"]
    return "\n".join([*lines, "</svg>\n"])


def _definitions(styles: Iterable[Style]) -> list[str]:
    """Return the hatches in use: lines at 45 degrees, a fixed distance apart on paper."""
    side, middle = _number(palette.HATCH_SPACING), _number(palette.HATCH_SPACING / 2)
    patterns = (
        f'<pattern id="{_hatch_id(color)}" width="{side}" height="{side}" patternUnits="userSpaceOnUse" '
        f'patternTransform="rotate(45)"><path d="M{middle},0 {middle},{side}" stroke="{color}" '
        f'stroke-width="{palette.HATCH_WEIGHT}"/></pattern>'
        for color in sorted({style.hatch for style in styles if style.hatch})
    )
    return ["<defs>", *patterns, "</defs>"] if styles else []


def _hatch_id(color: str) -> str:
    return f"hatch-{color.lstrip('#')}"


def _group(shapes: Iterable[Shape], words: Iterable[Word]) -> Iterator[str]:
    for shape in shapes:
        path = "".join(_ring(ring, closed=shape.closed) for ring in shape.rings)
        style = shape.style
        if style.hatch:
            yield f'<path d="{path}" fill="{style.fill}" fill-rule="evenodd"/>'
        yield f'<path d="{path}"{_look(style)}/>'
    for word in words:
        yield from _word(word)


def _ring(ring: NDArray[np.float64], *, closed: bool) -> str:
    """Return a ring's path data, to nine digits: on a sheet that is a millionth of a millimeter."""
    row = " ".join(["%.9g,%.9g"] * len(ring))
    return f"M{row % tuple(ring.ravel().tolist())}{'Z' if closed else ''}"


def _look(style: Style) -> str:
    fill = f"url(#{_hatch_id(style.hatch)})" if style.hatch else style.fill
    look = f' fill="{fill}" fill-rule="evenodd"' if fill else ""
    if style.stroke:
        look += f' stroke="{style.stroke}" stroke-width="{_number(style.weight)}"'
    if style.stroke and style.dash:
        look += f' stroke-dasharray="{" ".join(map(_number, style.dash))}"'
    return look


def _word(word: Word) -> Iterator[str]:
    if word.patch:
        box, color = word.patch
        yield (
            f'<rect x="{_number(box.left)}" y="{_number(box.top)}" width="{_number(box.right - box.left)}" '
            f'height="{_number(box.bottom - box.top)}" fill="{color}"/>'
        )
    x, y = map(_number, word.at)
    anchor = f' text-anchor="{word.anchor}"' if word.anchor != "start" else ""
    weight = ' font-weight="bold"' if word.bold else ""
    turn = f' transform="rotate(-90 {x} {y})"' if word.turned else ""
    look = f'font-size="{_number(word.size)}" fill="{word.color}"'
    yield f'<text x="{x}" y="{y}" {look}{anchor}{weight}{turn}>{_text(word.string)}</text>'


def _number(value: float) -> str:
    return f"{value:.9g}"


def _text(string: str) -> str:
    """Return `string` escaped, with what XML cannot hold replaced."""
    return escape(_NOT_IN_XML.sub("\N{REPLACEMENT CHARACTER}", string))
