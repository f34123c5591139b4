"""What can be taken away from the page: the drawings that it shows, a module on its way out, one page for the client."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final, Literal

from tumblehome.drawing import to_dxf, to_pdf, to_svg
from tumblehome.drawing.section_drawing import draw_section
from tumblehome.errors import InputError
from tumblehome.page import build_page
from tumblehome.records import dataclass
from tumblehome.viewer.told import findings_in, layout_in

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from tumblehome.drawing.model import Drawing
    from tumblehome.viewer.desk import Shown

__all__ = ["File", "taken"]

Units = Literal["mm", "in"]

_WRITERS: Final[Mapping[str, tuple[str, Callable[[Drawing], str | bytes]]]] = {
    "svg": ("image/svg+xml", to_svg),
    "pdf": ("application/pdf", lambda drawing: to_pdf([drawing])),
    "dxf": ("application/dxf", to_dxf),
}


@dataclass(frozen=True)
class File:
    """A file to be handed over: its name, its media type, what is in it, and of a picture in words what it shows."""

    name: str
    kind: str
    data: bytes
    words: str = ""


def taken(shown: Shown, name: str, asked: Mapping[str, str]) -> File:
    """Return what is called "plan.pdf", "section.dxf", "carry.gif", "client.html" and the like.

    Parameters
    ----------
    shown : what it is taken from
    asked : "units", "mode", for a drawing "at", the height or station in mm, for a section "height",
        that of its width in mm, and "hidden", a module a line, and for "carry.gif" the "module"

    Raises
    ------
    InputError
        For another name, for a place outside the van, for a client's page of a bare shell; and, in a client's words, for a
        module that does not come out.
    """
    units: Units = "in" if asked.get("units") == "in" else "mm"
    what, _, kind = name.rpartition(".")
    if name == "client.html":
        return _page(shown, asked.get("mode"), units)
    if name == "carry.gif":
        return _on_its_way(shown, asked, units)
    if what not in {"plan", "section"} or kind not in _WRITERS:
        raise InputError(f"there is no '{name}' to take away")
    media, write = _WRITERS[kind]
    data = write(_drawing(shown, what, asked, units))
    return File(name, media, data.encode() if isinstance(data, str) else data)


def _drawing(shown: Shown, what: str, asked: Mapping[str, str], units: Units) -> Drawing:
    at = _number(asked.get("at", ""))
    layout = layout_in(shown, asked.get("mode"))
    return draw_section(
        layout or shown.shell,
        height=at if what == "plan" else None,
        station=None if what == "plan" else at,
        width_at=_number(asked["height"]) if "height" in asked else None,
        hidden=asked.get("hidden", "").splitlines(),
        findings=findings_in(shown, layout.mode) if layout else (),
        units=units,
    )


def _page(shown: Shown, mode: str | None, units: Units) -> File:
    layout = layout_in(shown, mode)
    if layout is None:
        raise InputError("a page for the client needs a layout; this is a bare shell")
    return File("plan.html", "text/html", build_page(layout, findings_in(shown, layout.mode), units).encode())


def _on_its_way(shown: Shown, asked: Mapping[str, str], units: Units) -> File:
    from tumblehome.carrying import carry, sentences  # noqa: PLC0415  (loads what only this needs)
    from tumblehome.drawing.carry_film import film_carry  # noqa: PLC0415  (as above)

    layout = layout_in(shown, asked.get("mode"))
    if layout is None:
        raise InputError("nothing is built into a bare shell that could be carried out")
    found = carry(layout, asked.get("module", ""))
    words = " ".join(sentences(found, units))
    if found.best.outcome != "passes":
        raise InputError(words)
    return File(f"{found.module.name} comes out.gif", "image/gif", film_carry(found, found.best, units), words)


def _number(text: str) -> float:
    try:
        number = float(text)
    except ValueError:
        number = math.nan
    if not math.isfinite(number):
        raise InputError(f"'{text}' is no place to cut at")
    return number
