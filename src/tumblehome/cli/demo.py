"""``tumblehome demo``: one van from end to end, its fault found, mended and drawn."""

from pathlib import Path
from typing import Annotated

import typer

import tumblehome as th
from tumblehome.cli.check import checked, findings_words
from tumblehome.cli.mend import mend_of
from tumblehome.cli.options import UnitsShown
from tumblehome.cli.pictures import write_drawings, write_stills
from tumblehome.cli.sources import find
from tumblehome.cli.story import tell_carrying, tell_getting_out
from tumblehome.cli.terminal import complain, mark, say
from tumblehome.cli.wording import Shown, plural
from tumblehome.files import output_folder

__all__ = ["demo"]

_SHOWN = "long-heron"
_SIZE = (1600, 1000)


def demo(
    out: Annotated[
        str, typer.Option("-o", "--out", metavar="FOLDER", help="Where the pictures go; made when it is not there.")
    ] = "tumblehome-demo",
    units: UnitsShown = None,
) -> None:
    """Show a finished van: its fault, mend, pictures.

    All of it is checked, the fault that is in it on purpose is mended and checked again, and it is drawn.

    \b
        tumblehome demo -o pictures
    """  # noqa: D301
    file = find(_SHOWN)
    layouts, shown = file.layouts(), file.units(units)
    layout, findings = layouts[0], checked(*layouts)
    say(f"{layout.name}, in the {layout.shell.name}. {layout.note}\n")
    say(findings_words(layouts, findings, shown))
    mended = _mended(layout, checked(layout), shown)
    target = Path(out)
    tell_getting_out(layouts, shown)
    with output_folder(target):
        carried = tell_carrying(layouts, target, shown)
    paths = write_drawings(layout, findings, target / "as-found", units=shown, suffix="svg")
    paths += write_drawings(mended, checked(mended), target / "as-mended", units=shown, suffix="svg")
    try:
        paths += write_stills(mended, target, units=shown, size=_SIZE)
    except th.PictureError as undrawn:  # it is a show: what can be drawn is drawn
        complain(str(undrawn))
    paths += carried
    say(f"\nDrawn, {plural(len(paths), 'picture')}: sections as found and as mended, stills as mended, the way out")
    for path in paths:
        say(f"  {path}")


def _mended(layout: "th.Layout", findings: "list[th.Finding]", units: Shown) -> "th.Layout":
    """Tell what fouls and its mend, and prove the mend by asking everything again; return the layout as mended."""
    for finding in findings:
        mend = mend_of(finding, units) if finding.verdict == "fouls" else None
        if mend is None:
            continue
        say(
            f"\nThe fault that is in it on purpose\n  {mark('fouls')} {finding.subject}, {finding.question}: into {finding.cause}"
        )
        say(f"Its mend\n  {mend.words(units)}")
        layout = mend.applied(layout)
        say("Proof, all questions asked again with that change")
        for answer in checked(layout):
            if answer.subject == mend.subject:
                say(f"  {mark(answer.verdict)} {answer.verdict}  {answer.question}: {answer.words(units)}")
        say(f"  {_count_of_fouls(layout)}")
    return layout


def _count_of_fouls(layout: "th.Layout") -> str:
    fouls = sum(finding.verdict == "fouls" for finding in th.check(layout))
    return "nothing fouls any more" if not fouls else f"{plural(fouls, 'fault')} left"
