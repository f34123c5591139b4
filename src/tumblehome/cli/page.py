"""``tumblehome page``: one file that a client opens, on a desktop or a phone, with no network."""

from pathlib import Path
from typing import Annotated

import typer

import tumblehome as th
from tumblehome.cli.check import checked
from tumblehome.cli.options import InMode, UnitsShown
from tumblehome.cli.sources import find
from tumblehome.cli.terminal import Progress, say
from tumblehome.files import output_file, replace_file

__all__ = ["page"]


def page(
    layout: Annotated[
        str, typer.Argument(metavar="LAYOUT", help="A layout file, a folder, or the name of a bundled shell.")
    ],
    out: Annotated[
        str,
        typer.Option(
            "-o", "--out", metavar="FILE", help="The page, such as plan.html; its folder is made when it is not there."
        ),
    ],
    mode: InMode = None,
    units: UnitsShown = None,
) -> None:
    """Write one file for the client, to be opened in any browser.

    The van in the round to turn and cut open, plans and sections at every 50 mm (or 2 in), the usable width there, and
    the findings in plain words. It needs no network. The exit status is 1 when something in it fouls, else 0.

    \b
        tumblehome page long-heron -o plan.html
        tumblehome page my-van -o plan.html --units in
    """  # noqa: D301
    from tumblehome.page import build_page  # noqa: PLC0415  (loads what only this command needs)

    _refuse_other_suffix(out)
    file = find(layout)
    shown, plan = file.units(units), file.layout(mode)
    with output_file(out):  # told before the work, not after it
        findings = checked(plan)
        progress = Progress()
        try:
            text = build_page(plan, findings, shown, progress=progress)
        finally:
            progress.done()
        replace_file(out, text)
    say(out)
    raise typer.Exit(int(th.worst(findings) == "fouls"))


def _refuse_other_suffix(out: str) -> None:
    """Refuse a name that a browser would not know as a page's."""
    path = Path(out)
    if path.suffix.lower() not in {".html", ".htm"}:
        named = path / "plan.html" if out.endswith(("/", "\\")) or path.is_dir() else path.with_suffix(".html")
        raise th.InputError(f"a page's name ends in .html; name it {named}", file=out)
