"""Drawings as PDF pages and as pictures, each page exactly as large as its paper and at its true scale."""

from __future__ import annotations

import shutil
from importlib.util import find_spec
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Literal

from tumblehome.drawing._packages import load
from tumblehome.drawing.sheet import sheet_for
from tumblehome.drawing.svg import to_svg
from tumblehome.errors import InputError, PictureError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tumblehome.drawing.model import Drawing

__all__ = ["to_pdf", "to_png"]

# Beyond this an A3 picture no longer fits into memory comfortably.
_FINEST = 1200
_FONTS = ("DejaVuSans.ttf", "DejaVuSans-Bold.ttf")


def to_pdf(drawings: Sequence[Drawing]) -> bytes:
    """Return one PDF with a page for each drawing, every page of its own paper size.

    The same drawings always give the same bytes. Raises InputError when there are none, PictureError when the
    typesetter is not installed or refuses, and what `to_svg` raises.
    """
    if not drawings:
        raise InputError("nothing to draw: a PDF needs at least one drawing")
    return _typeset(drawings, "pdf")


def to_png(drawing: Drawing, ppi: float = 200.0) -> bytes:
    """Return `drawing` as a PNG picture of `ppi` pixels to the inch of paper; raises as `to_pdf` does."""
    if not 0 < ppi <= _FINEST:
        raise InputError(f"a picture has more than 0 and at most {_FINEST} pixels an inch, not {ppi}")
    return _typeset([drawing], "png", ppi)


def _typeset(drawings: Sequence[Drawing], form: Literal["pdf", "png"], ppi: float | None = None) -> bytes:
    typst = load("typst", "a PDF or PNG")
    source = "#set document(date: none)\n" + "\n#pagebreak()\n".join(map(_page, drawings))
    with TemporaryDirectory() as folder:
        _bring_fonts(folder)
        try:
            made = typst.compile(source.encode(), format=form, ppi=ppi, font_paths=[folder], timestamp=0)
        except typst.TypstError as refused:
            raise PictureError(f"the typesetter refused the drawing: {refused}") from refused
    if not isinstance(made, bytes):
        raise PictureError("the typesetter made another number of pages than were asked for")
    return made


def _page(drawing: Drawing) -> str:
    """Return the source of one page that the drawing fills edge to edge at 1:1."""
    sheet = sheet_for(drawing)
    size = f"width: {sheet.width}mm, height: {sheet.height}mm"
    svg = to_svg(drawing).replace("\\", "\\\\").replace('"', '\\"')
    return f'#set page({size}, margin: 0mm)\n#image(bytes("{svg}"), format: "svg", {size})'


def _bring_fonts(folder: str) -> None:
    """Copy the fonts of all drawings, which come with matplotlib, into a folder when it is installed, without loading it.

    Only these: beside them lies one that stands in for every letter there is, and would for all of a name that has one
    letter which they lack.
    """
    spec = find_spec("matplotlib")
    if spec is None or spec.origin is None:
        return
    for name in _FONTS:
        shutil.copy(Path(spec.origin).parent / "mpl-data" / "fonts" / "ttf" / name, folder)
