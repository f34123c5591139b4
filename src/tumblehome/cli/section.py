"""``tumblehome section``: one cut, at a height or a station, as a drawing or in a few numbers."""

from typing import Annotated

import typer

import tumblehome as th
from tumblehome.cli.options import InMode, Source, UnitsShown, length, whole
from tumblehome.cli.sources import find
from tumblehome.cli.terminal import say
from tumblehome.cli.widths import centerline_run, free_run_words, inside, over_heights, widths_table
from tumblehome.cli.wording import Shown, area_shown, length_shown, plural

__all__ = ["section"]


def section(
    source: Source,
    height: Annotated[str | None, typer.Option(help='Cut level at this height, as "48 in": a plan.')] = None,
    station: Annotated[str | None, typer.Option(help="Cut across at this station, as 2100mm, looking forward.")] = None,
    out: Annotated[
        str | None, typer.Option("-o", "--out", metavar="FILE", help="Draw it: .svg, .png, .pdf or .dxf.")
    ] = None,
    paper: Annotated[str | None, typer.Option(help="A4, A3, letter or tabloid. [default: A3]")] = None,
    scale: Annotated[
        str | None, typer.Option(metavar="N", help="1 to N. [default: the largest standard one that fits]")
    ] = None,
    mode: InMode = None,
    units: UnitsShown = None,
) -> None:
    """Cut the van once, in numbers or as a drawing.

    The numbers are those of the empty shell; a drawing shows what is built into it as well.

    \b
        tumblehome section long-heron --station 2100mm
        tumblehome section long-heron --height "48 in" -o plan.svg
    """  # noqa: D301
    z, x = length("--height", height), length("--station", station)
    if (z is None) == (x is None):
        raise th.InputError('give a height or a station, one of the two, as in --height "48 in"')
    one_to = None if scale is None else whole("--scale", scale, 20, 1, 999_999)
    if out is None:
        _refuse_undrawn(("--paper", paper), ("--scale", scale), ("--mode", mode))
    file = find(source)
    shown = file.units(units)
    thing = file.layout(mode) if file.is_layout or mode else file.shell()
    shell = thing.shell if isinstance(thing, th.Layout) else thing
    z = None if z is None else inside("height", (z, z), shell.heights, shown)[0]
    x = None if x is None else inside("station", (x, x), shell.stations, shown)[0]
    if out is None:
        say(_plan_words(shell, z, shown) if z is not None else _cross_section_words(shell, x or 0.0, shown))
        return
    findings = th.check(thing) if isinstance(thing, th.Layout) else ()
    drawing = th.draw_section(
        thing, height=z, station=x, findings=findings, units=shown, paper=paper or "A3", scale=one_to
    )
    th.save(drawing, out)
    say(f"wrote {out}")


def _refuse_undrawn(*options: tuple[str, str | None]) -> None:
    """Refuse what is said of a drawing where none is asked for."""
    for option, given in options:
        if given is not None:
            raise th.InputError("is for a drawing; name its file with -o, or leave this out", key=option)


def _plan_words(shell: "th.Shell", height: float, units: Shown) -> str:
    cut = th.section(shell, height=height)
    run = centerline_run(shell, (height, height))
    words = [f"{shell.name}, height {length_shown(height, units)}", *_size_words(cut, units)]
    return "\n".join([*words, free_run_words(run, units) if run else "the centerline is nowhere free"])


def _cross_section_words(shell: "th.Shell", station: float, units: Shown) -> str:
    cut = th.section(shell, station=station)
    rows = over_heights(shell, (station, station), units, every=2)
    table = widths_table("height", [(length_shown(place.heights[0], units), place) for place in rows], units)
    return "\n".join([f"{shell.name}, station {length_shown(station, units)}", *_size_words(cut, units), "", table])


def _size_words(cut: "th.Section", units: Shown) -> list[str]:
    pieces = cut.polygons
    return [f"area {area_shown(cut.area, units)} in {plural(len(pieces), 'piece')}"]
