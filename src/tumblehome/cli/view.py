"""``tumblehome view``: the van on a page of this machine, to turn, cut, measure and change."""

from typing import Annotated

import typer

from tumblehome.cli.options import Source, UnitsShown
from tumblehome.cli.sources import find
from tumblehome.cli.terminal import say

__all__ = ["view"]


def view(
    source: Source,
    port: Annotated[
        int,
        typer.Option(min=0, max=65535, metavar="N", show_default=False, help="Serve on this port, not on a free one."),
    ] = 0,
    no_browser: Annotated[bool, typer.Option("--no-browser", help="Only print the address.")] = False,
    units: UnitsShown = None,
) -> None:
    """Cut the van with two sliders, and move what stands in it, on a page in your browser.

    The page is served to this machine alone, at an address that is new for each run. Changes are written to the file only
    when you save. Ctrl-C ends it.

    \b
        tumblehome view long-heron
        tumblehome view my-van --port 8080 --no-browser
    """  # noqa: D301
    from tumblehome.viewer.desk import Desk  # noqa: PLC0415  (loads what only this command needs)
    from tumblehome.viewer.server import serve  # noqa: PLC0415

    file = find(source)
    desk = Desk(file.path)
    try:
        serve(desk, file.units(units), port=port, opens=not no_browser, tell=_tell)
    finally:
        desk.leave()


def _tell(address: str) -> None:
    say(f"{address}\nCtrl-C ends it")
