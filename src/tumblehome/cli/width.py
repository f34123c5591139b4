"""``tumblehome width``: how wide is it, and what makes it no wider?"""

from typing import Annotated

import typer

import tumblehome as th
from tumblehome.cli.options import AsJson, InMode, Source, UnitsShown, length, span
from tumblehome.cli.sources import find
from tumblehome.cli.terminal import say, say_data
from tumblehome.cli.widths import (
    Place,
    centerline_run,
    free_run_words,
    inside,
    over_heights,
    over_stations,
    widths_table,
)
from tumblehome.cli.wording import Shown, Span, span_shown

__all__ = ["width"]

_CHART = "Draw all widths of the shell, with --built of what the layout leaves: .svg, .png, .pdf or .dxf."
_FINENESS = 20.0
"""Between the heights and between the stations of the width chart, mm."""


def width(
    source: Source,
    height: Annotated[str | None, typer.Option(help='At one height, as "36 in" or 914mm.')] = None,
    station: Annotated[str | None, typer.Option(help="At one station, measured rearward.")] = None,
    heights: Annotated[str | None, typer.Option(metavar="A:B", help='Throughout heights, as "30:48 in".')] = None,
    stations: Annotated[str | None, typer.Option(metavar="A:B", help="Throughout stations, as 1200:2100mm.")] = None,
    chart: Annotated[str | None, typer.Option(metavar="FILE", help=_CHART)] = None,
    built: Annotated[
        bool, typer.Option("--built", help="Between what the layout builds in, not of the empty shell.")
    ] = False,
    mode: InMode = None,
    as_json: AsJson = False,
    units: UnitsShown = None,
) -> None:
    """Tell how wide the van is, and why.

    Widths are taken about the centerline, with what limits each side and by how many degrees that leans in. Leave out
    the station to go along the van, or the height to go up its walls.

    \b
        tumblehome width long-heron --height "36 in" --station 2100mm
        tumblehome width long-heron --heights 0:914mm
        tumblehome width long-heron --station 2100mm --units in
        tumblehome width long-heron --height "36 in" --built
        tumblehome width long-heron --chart widths.svg
    """  # noqa: D301
    z = _one_of(("--height", height), ("--heights", heights))
    x = _one_of(("--station", station), ("--stations", stations))
    if z is None and x is None and chart is None:
        raise th.InputError('give a height, a station or both, as in --height "36 in" --station 2100mm')
    file = find(source)
    space, shown = file.layout(mode) if built or mode else file.shell(), file.units(units)
    z = z and inside("height", z, space.heights, shown)
    x = x and inside("station", x, space.stations, shown)
    places = [] if z is None and x is None else _places(space, z, x, shown)
    run = centerline_run(space, z) if z is not None and x is None else None
    if chart is not None:
        _draw_chart(space, chart, shown)
    if as_json:
        say_data(_document(space, places, run))
    elif places:
        say(_words(places, run, shown))
    if chart is not None and not as_json:
        say(f"wrote {chart}")


def _one_of(one: tuple[str, str | None], two: tuple[str, str | None]) -> Span | None:
    """Return the interval that either option gives, a single length as both its ends; raises InputError for both."""
    at, between = length(*one), span(*two)
    if at is not None and between is not None:
        raise th.InputError(f"give {one[0]} or {two[0]}, not both")
    return between if at is None else (at, at)


def _places(space: "th.Shell | th.Layout", z: Span | None, x: Span | None, units: Shown) -> list[Place]:
    if z is not None and x is not None:
        return [Place.of(space, z, x)]
    return over_stations(space, z, units) if z is not None else over_heights(space, x or space.stations, units)


def _document(space: "th.Shell | th.Layout", places: list[Place], run: Place | None) -> dict[str, object]:
    return {
        "of": space.name,
        "unit": "mm",
        "measured_to": space.measured_to,
        "widths": [place.as_dict() for place in places],
        "free_run": run.as_dict() if run else None,
    }


def _words(places: list[Place], run: Place | None, units: Shown) -> str:
    along = run is not None or len({place.stations for place in places}) > 1
    first = "station" if along or len(places) == 1 else "height"
    rows = [(span_shown(place.stations if first == "station" else place.heights, units), place) for place in places]
    text = [_heading(places, first, units), "", widths_table(first, rows, units)]
    if run is not None:
        text += ["", free_run_words(run, units)]
    return "\n".join(text)


def _heading(places: list[Place], first: str, units: Shown) -> str:
    fixed = places[0].heights if first == "station" else places[0].stations
    what = "height" if first == "station" else "station"
    return f"{what} {span_shown(fixed, units)}" + (", throughout" if fixed[0] < fixed[1] else "")


def _draw_chart(space: "th.Shell | th.Layout", path: str, units: Shown) -> None:
    grid = [_grid(ends) for ends in (space.heights, space.stations)]
    th.save(th.draw_width_chart(th.width_chart(space, *grid), space, units=units), path)


def _grid(ends: Span) -> list[float]:
    low, high = ends
    steps = max(int((high - low) / _FINENESS), 1)
    return [low + (high - low) * i / steps for i in range(steps + 1)]
