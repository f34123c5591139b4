"""``tumblehome people``: can people pass, get out, sleep, sit and reach?"""

from typing import TYPE_CHECKING, Annotated

import typer

import tumblehome as th
from tumblehome.cli.check import Only, counted, findings_table
from tumblehome.cli.options import AsJson, UnitsShown, whole
from tumblehome.cli.sources import find
from tumblehome.cli.terminal import Progress, say, say_data
from tumblehome.cli.wording import Shown, rounded

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tumblehome.people.gauge import Gauge
    from tumblehome.people.person import Person

__all__ = ["people"]


def people(
    layout: Annotated[str, typer.Argument(help="A layout file, a folder, or the name of a bundled shell.")],
    mode: Only = None,
    percentile: Annotated[
        str, typer.Option(metavar="N", help="How large the people are: 1, 5, 50, 95 or 99 of a hundred.")
    ] = "95",
    gauge: Annotated[
        list[str] | None,
        typer.Option(
            metavar="NAME",
            help="Hold the aisle against a rule, as bus-aisle, dual-panel or route; may be repeated.",
        ),
    ] = None,
    start: Annotated[
        str | None,
        typer.Option("--from", metavar="PLACE", help='Only the way from here: a module, a doorway, or "2100mm, 0mm".'),
    ] = None,
    end: Annotated[str | None, typer.Option("--to", metavar="PLACE", help="... to there.")] = None,
    chart: Annotated[
        str | None, typer.Option(metavar="FILE", help="Draw how wide the aisle is along the van, in the first mode.")
    ] = None,
    as_json: AsJson = False,
    units: UnitsShown = None,
) -> None:
    """Can people pass, get out, sleep, sit and reach?

    How narrow the aisle is at the hips and at the shoulders, and between which two parts; where two people can pass; from where
    one gets out, by which doorway, or by what one is trapped; beds, seats, table, bath and headroom. What people do at a module is
    told in its file by `use`. The exit status is 1 when something cannot work, else 0. Guidance only: local codes and
    licensed practice decide about exits and seats.

    \b
        tumblehome people long-heron
        tumblehome people long-heron --mode supper --units in
        tumblehome people box-otter --from galley --to "sliding door" --gauge bus-aisle
        tumblehome people long-heron --chart aisle.svg
    """  # noqa: D301
    from tumblehome.people.gauge import gauge_named  # noqa: PLC0415  (loads what only this command needs)
    from tumblehome.people.person import Person  # noqa: PLC0415

    if (start is None) != (end is None):
        raise th.InputError("a way has two ends; give both --from and --to")
    person = Person.of(whole("--percentile", percentile, 95, 0, 99))
    gauges = [gauge_named(name) for name in gauge or []]
    file = find(layout)
    shown, layouts = file.units(units), file.layouts(mode)
    progress = Progress()
    try:
        if start is not None and end is not None:
            findings = _way(layouts, person, gauges, start, end)
        else:
            from tumblehome.people.run import people as asked  # noqa: PLC0415

            findings = asked(layouts, person, gauges, progress=progress)
    finally:
        progress.done()
    if as_json:
        say_data(_document(layouts, findings, person.percentile))
    else:
        say(_words(layouts, findings, shown))
    if chart is not None:
        from tumblehome.drawing.aisle_drawing import draw_aisle  # noqa: PLC0415

        th.save(draw_aisle(layouts[0], person, shown), chart)
        if not as_json:
            say(f"\n{chart}")
    raise typer.Exit(int(th.worst(findings) == "fouls"))


def _way(
    layouts: "Sequence[th.Layout]", person: "Person", gauges: "Sequence[Gauge]", start: str, end: str
) -> "list[th.Finding]":
    from tumblehome.checks import in_modes  # noqa: PLC0415  (as above)
    from tumblehome.people.ground import Floor  # noqa: PLC0415
    from tumblehome.people.way import check_way  # noqa: PLC0415

    return in_modes({each.mode: list(check_way(Floor(each), person, start, end, gauges)) for each in layouts})


def _words(layouts: "Sequence[th.Layout]", findings: "list[th.Finding]", units: Shown) -> str:
    counts = counted(findings)
    sums = ", ".join(f"{count} {verdict}" for verdict, count in counts.items())
    modes = f" in {len(layouts)} modes" if len(layouts) > 1 else ""
    told = findings_table(findings, len(layouts), units, of="place")
    return "\n".join(
        [told, "", f"{layouts[0].name}: {sums}{modes}. Guidance only: local codes and licensed practice decide."]
    )


def _document(layouts: "Sequence[th.Layout]", findings: "list[th.Finding]", percentile: int) -> dict[str, object]:
    return {
        "layout": layouts[0].name,
        "unit": "mm",
        "percentile": percentile,
        "modes": [each.mode for each in layouts if each.mode],
        "verdict": th.worst(findings),
        "counts": counted(findings),
        "findings": [rounded(finding.as_dict()) for finding in findings],
    }
