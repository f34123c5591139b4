"""``tumblehome carry``: can a module come out of the van, by which doorway, past what, with how much to spare?"""

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

import tumblehome as th
from tumblehome.cli.options import AsJson, InMode, UnitsShown, length
from tumblehome.cli.sources import find
from tumblehome.cli.terminal import Progress, mark, say, say_data, table
from tumblehome.cli.wording import Shown
from tumblehome.files import output_folder, replace_file

if TYPE_CHECKING:
    from tumblehome.carrying import Carry

__all__ = ["carry"]


class _Format(StrEnum):
    SVG = "svg"
    PDF = "pdf"
    PNG = "png"


def carry(
    layout: Annotated[str, typer.Argument(help="A layout file, a folder, or the name of a bundled shell.")],
    module: Annotated[str, typer.Argument(help="The name of a rigid module.")],
    out: Annotated[
        str | None, typer.Option("-o", "--out", metavar="FOLDER", help="Draw it there; made when it is not there.")
    ] = None,
    hand: Annotated[
        str | None,
        typer.Option(
            metavar="LENGTH", help="Kept free on every side for hands, as 20mm; no published value. [default: none]"
        ),
    ] = None,
    without: Annotated[
        list[str] | None, typer.Option(metavar="MODULE", help="Taken out first; may be repeated.")
    ] = None,
    through: Annotated[
        str | None, typer.Option(metavar="DOORWAY", help="The doorway. [default: the best of all]")
    ] = None,
    mode: InMode = None,
    as_json: AsJson = False,
    units: UnitsShown = None,
    kind: Annotated[_Format, typer.Option("--format", help="Of the drawings.")] = _Format.SVG,
) -> None:
    """Carry a module out of the van: by which doorway, past what, with how much to spare.

    It may turn; where it does not pass upright it is laid on a side, if its file allows one (lies_on). A way that is told
    is proven free, and so is "no way out", which names what would have to go first. With a folder each way is drawn, and
    shown moving (GIF). The exit status is 1 when there is no way, else 0.

    \b
        tumblehome carry low-plover refrigerator
        tumblehome carry long-heron refrigerator --without "wet bath" --hand 20mm
        tumblehome carry long-heron refrigerator --mode road
        tumblehome carry long-heron table --through "rear doors" -o pictures
    """  # noqa: D301
    room = length("--hand", hand)
    file = find(layout)
    shown = file.units(units)
    found = _carried(file.layout(mode), module, room or 0.0, without or [], through)
    if as_json:
        from tumblehome.cli.carrydocument import document  # noqa: PLC0415  (loads what few commands need)

        say_data(document(found, shown))
    else:
        say(_words(found, shown))
    paths = _draw(found, shown, out, kind.value) if out else []
    if paths and not as_json:
        say("\n".join(["", *map(str, paths)]))
    raise typer.Exit(int(found.verdict == "fouls"))


def _carried(layout: "th.Layout", name: str, hand: float, without: list[str], through: str | None) -> "Carry":
    from tumblehome.carrying import carry as of  # noqa: PLC0415  (loads what only this command needs)

    progress = Progress()
    try:
        return of(layout, name, hand=hand, without=without, through=through, progress=progress)
    finally:
        progress.done()


def _words(found: "Carry", units: Shown) -> str:
    """Return the verdict, the sentences, and what the way passes."""
    from tumblehome.carrying import sentences  # noqa: PLC0415  (as above)

    verdict = f"{mark(found.verdict)} {found.verdict}"
    told = [f"{verdict}  {found.module.name}, {found.layout.title}", *(f"  {line}" for line in sentences(found, units))]
    way = found.best
    passed = way.path.passed if way.path and way.outcome == "passes" else ()
    rows = [(th.format_length(p.margin, units), p.name) for p in passed]
    return "\n".join([*told, *(["", table((f"passes at, {units}", "part"), rows, right=[0])] if rows else [])])


def _draw(found: "Carry", units: Shown, folder: str, suffix: str) -> list[Path]:
    """Write a picture for each doorway, and a moving one for each way out, and return their paths."""
    from tumblehome.drawing.carry_drawing import draw_carry  # noqa: PLC0415  (loads what only pictures need)
    from tumblehome.drawing.carry_film import film_carry  # noqa: PLC0415  (likewise)

    progress, paths = Progress(), []
    with output_folder(folder) as target:
        try:
            for way in (way for way in found.ways if way.path or not way.lying):
                laid = f"-on-its-{way.lying}" if way.lying else ""
                path = target / f"{_file_name(found.module.name)}{laid}-by-{_file_name(way.doorway.name)}.{suffix}"
                progress(f"drawing {path.name}")
                th.save(draw_carry(found, way, units), path)
                paths.append(path)
                if way.outcome == "passes":
                    film = path.with_suffix(".gif")
                    progress(f"drawing {film.name}")
                    replace_file(film, film_carry(found, way, units))
                    paths.append(film)
        finally:
            progress.done()
    return paths


def _file_name(name: str) -> str:
    """Return a name as part of a file's name: whatever is not a letter or digit becomes a dash."""
    return "".join(c if c.isalnum() else "-" for c in name).strip("-") or "module"
