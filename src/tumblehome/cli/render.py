"""``tumblehome render``: everything that is drawn of a layout."""

from enum import StrEnum
from typing import Annotated

import typer

import tumblehome as th
from tumblehome.cli.check import checked
from tumblehome.cli.options import InMode, UnitsShown, picture_size
from tumblehome.cli.pictures import write_drawings, write_stills
from tumblehome.cli.sources import find
from tumblehome.cli.terminal import say
from tumblehome.files import output_folder

__all__ = ["render"]


_VIEWS = "One still: corner, doorway, above, left side or right side; may be repeated. [default: all]"


class _Format(StrEnum):
    SVG = "svg"
    PDF = "pdf"
    PNG = "png"
    DXF = "dxf"


def render(
    layout: Annotated[
        str, typer.Argument(metavar="LAYOUT", help="A layout file, a folder, or the name of a bundled shell.")
    ],
    out: Annotated[str, typer.Option("-o", "--out", metavar="FOLDER", help="Where to; made when it is not there.")],
    size: Annotated[str, typer.Option(metavar="WxH", help="Of each still, in pixels.")] = "1600x1000",
    view: Annotated[list[str] | None, typer.Option(metavar="NAME", help=_VIEWS)] = None,
    kind: Annotated[_Format, typer.Option("--format", help="Of the drawings.")] = _Format.SVG,
    stills: Annotated[bool, typer.Option("--stills/--no-stills", help="Draw the stills too.")] = True,
    mode: InMode = None,
    units: UnitsShown = None,
) -> None:
    """Draw a layout for the client.

    Sections and plans to scale, and stills of the van cut open. The exit status is 1 when something in it fouls, else 0.

    \b
        tumblehome render long-heron -o pictures
        tumblehome render my-van -o pictures --view corner --view above --format pdf
    """  # noqa: D301
    pixels = picture_size(size)
    if view and not stills:
        raise th.InputError("names a still; leave this out, or --no-stills", key="--view")
    file = find(layout)
    shown, plan = file.units(units), file.layout(mode)
    fault, paths = None, []
    with output_folder(out):  # told before the work, not after it
        findings = checked(plan)
        try:
            paths += write_stills(plan, out, units=shown, size=pixels, views=view or ()) if stills else []
        except th.PictureError as undrawn:  # the drawings need no display: they are written all the same
            fault = th.PictureError(f"{undrawn}; or leave the stills out with --no-stills")
        paths += write_drawings(plan, findings, out, units=shown, suffix=kind.value)
    say("\n".join(map(str, paths)) or "nothing to draw: no module is placed yet")
    if fault:
        raise fault
    raise typer.Exit(int(th.worst(findings) == "fouls"))
