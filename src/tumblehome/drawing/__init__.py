"""Drawings at a true scale: what is drawn (`model`), how it looks (`palette`), and one writer for each kind of file."""

from __future__ import annotations

from pathlib import Path as _Path
from typing import TYPE_CHECKING

from tumblehome.drawing.dxf import to_dxf
from tumblehome.drawing.model import Area, Dimension, Drawing, Label, Note, Path, Rules, Text, VerdictMark
from tumblehome.drawing.pages import to_pdf, to_png
from tumblehome.drawing.person import person_outline
from tumblehome.drawing.svg import to_svg
from tumblehome.errors import InputError, nearest
from tumblehome.files import replace_file

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = [
    "Area", "Dimension", "Drawing", "Label", "Note", "Path", "Rules", "Text", "VerdictMark",
    "person_outline", "save", "to_dxf", "to_pdf", "to_png", "to_svg",
]  # fmt: skip

_WRITERS: dict[str, Callable[[Drawing], str | bytes]] = {
    ".svg": to_svg,
    ".png": to_png,
    ".pdf": lambda drawing: to_pdf([drawing]),
    ".dxf": to_dxf,
}


def save(drawing: Drawing, path: _Path | str) -> None:
    """Write `drawing` to `path`, as its suffix says: .svg, .png, .pdf or .dxf.

    The file is replaced in one step, so a fault leaves the old one as it was. Raises InputError on another suffix, and
    what the writer raises.
    """
    suffix = _Path(path).suffix.lower()
    if suffix not in _WRITERS:
        found = f"not '{suffix}'" if suffix else "and this name has no suffix"
        hint = nearest(suffix, _WRITERS)
        raise InputError(f"a drawing is written as {', '.join(_WRITERS)}, {found}{hint}", file=path)
    replace_file(_Path(path), _WRITERS[suffix](drawing))
