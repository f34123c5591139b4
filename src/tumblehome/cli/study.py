"""``tumblehome study``: how far, how tall, at what price: one module against its wall."""

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

import tumblehome as th
from tumblehome.cli.options import AsJson, InMode, UnitsShown, span
from tumblehome.cli.sources import find
from tumblehome.cli.terminal import Progress, say, say_data
from tumblehome.cli.wording import Shown, Span, length_shown, within_shown
from tumblehome.files import output_folder

if TYPE_CHECKING:
    from collections.abc import Callable

    from tumblehome.drawing import Drawing
    from tumblehome.studies import Study

__all__ = ["study"]


class _Format(StrEnum):
    SVG = "svg"
    PDF = "pdf"
    PNG = "png"


def study(
    layout: Annotated[str, typer.Argument(help="A layout file, a folder, or the name of a bundled shell.")],
    module: Annotated[str, typer.Argument(help="The name of a module that stands against the left or right wall.")],
    top: Annotated[
        str | None, typer.Option(metavar="A:B", help="Heights of its top. [default: from its foot to the roof]")
    ] = None,
    slide: Annotated[
        str | None, typer.Option(metavar="A:B", help="Stations of its front end. [default: the whole wall]")
    ] = None,
    mode: InMode = None,
    as_json: AsJson = False,
    units: UnitsShown = None,
    out: Annotated[
        str | None, typer.Option("-o", "--out", metavar="FOLDER", help="Draw it there; made when it is not there.")
    ] = None,
    kind: Annotated[_Format, typer.Option("--format", help="Of the drawings.")] = _Format.SVG,
) -> None:
    """Study one module against its wall: how far, how tall, at what price.

    What each part of the van gives it and costs it, how far it stands out by the height of its top, where along the walls
    it fits, and what is left beside it. A scribed cabinet is also told by how deep it is inside.

    \b
        tumblehome study long-heron refrigerator
        tumblehome study long-heron galley --units in
        tumblehome study long-heron refrigerator --top "1400:1950 mm" -o pictures
    """  # noqa: D301
    heights, stations = span("--top", top), span("--slide", slide)
    file = find(layout)
    shown = file.units(units)
    found = _studied(file.layout(mode), module)
    shell = found.layout.shell
    heights = _within("--top", heights, (found.foot, found.by_top.span[1]), shell.heights, shown)
    stations = _within("--slide", stations, found.slide.span, shell.stations, shown)
    if as_json:
        from tumblehome.cli.studydocument import document  # noqa: PLC0415  (loads the studies, which few commands need)

        say_data(document(found, heights, stations, shown))
    else:
        from tumblehome.cli.studytables import study_words  # noqa: PLC0415  (as above)

        say(study_words(found, heights, stations, shown))
    paths = _draw(found, heights, stations, shown, out, kind.value) if out else []
    if paths and not as_json:
        say("\n".join(["", *map(str, paths)]))


def _studied(layout: "th.Layout", name: str) -> "Study":
    from tumblehome.studies import study as of  # noqa: PLC0415  (loads what only this command needs)

    return of(layout, name)


def _within(option: str, asked: Span | None, ends: Span, van: Span, units: Shown) -> Span:
    """Return the asked interval as far as it has an answer, or all of it; raises InputError, with the range, for none."""
    if asked is None:
        return ends
    low, high = max(asked[0], ends[0]), min(asked[1], ends[1])
    outside = asked[0] < van[0] or asked[1] > van[1]
    if low < high and not outside:
        return low, high
    why = "lies outside the van" if outside else "is empty" if asked[0] == asked[1] else "is no place for this module"
    shown = " to ".join(length_shown(end, units) for end in asked)
    raise th.InputError(f"{shown} {why}; allowed: {within_shown(ends, units)}", key=option)


def _draw(found: "Study", heights: Span, stations: Span, units: Shown, folder: str, suffix: str) -> list[Path]:
    """Write the pictures of a study and return their paths."""
    from tumblehome.drawing.study_drawing import (  # noqa: PLC0415  (loads what only pictures need)
        draw_alternative,
        draw_depth_by_height,
        draw_slide,
    )

    drawn: dict[str, Callable[[], Drawing]] = {
        "depth-by-height": lambda: draw_depth_by_height(found, units, heights),
        "slide": lambda: draw_slide(found, units, stations),
        "alternative": lambda: draw_alternative(found, units),
    }
    progress, paths = Progress(), []
    with output_folder(folder) as target:
        try:
            for name, draw in drawn.items():
                path = target / f"{_file_name(found.module.name)}-{name}.{suffix}"
                progress(f"drawing {path.name}")
                th.save(draw(), path)
                paths.append(path)
        finally:
            progress.done()
    return paths


def _file_name(name: str) -> str:
    """Return a module's name as part of a file's name: whatever is not a letter or digit becomes a dash."""
    return "".join(c if c.isalnum() else "-" for c in name).strip("-") or "module"
