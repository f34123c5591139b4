"""``tumblehome check``: what fits, what is tight, what fouls."""

from collections import Counter
from typing import TYPE_CHECKING, Annotated

import typer

import tumblehome as th
from tumblehome.cli.options import AsJson, Source, UnitsShown
from tumblehome.cli.sources import find
from tumblehome.cli.terminal import Progress, mark, say, say_data, table
from tumblehome.cli.wording import Shown, plural, rounded
from tumblehome.lengths import format_mass, format_volume

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tumblehome.checks.finding import Verdict

__all__ = ["Only", "check", "checked", "counted", "findings_table", "findings_words"]

_WORST_FIRST: "tuple[Verdict, ...]" = ("fouls", "tight", "clear")


Only = Annotated[
    str | None,
    typer.Option("--mode", metavar="NAME", help="Only this state of the van, as night. [default: all of them]"),
]


def check(source: Source, mode: Only = None, as_json: AsJson = False, units: UnitsShown = None) -> None:
    """Prove what fits, what is tight, what fouls.

    Every module is held against the shell, its neighbors and the room that it needs to work. Each finding is clear,
    tight (the margin is within the measuring tolerance: measure again) or fouls. A plan with modes is checked in each of
    them, and on the ways between them that are straight or a turn. The exit status is 1 when something fouls, else 0.

    \b
        tumblehome check long-heron
        tumblehome check my-van/layout.toml --mode night --units in
    """  # noqa: D301
    file = find(source)
    layouts = file.layouts(mode)
    findings = checked(*layouts)
    if as_json:
        say_data(_document(layouts, findings))
    else:
        say(findings_words(layouts, findings, file.units(units)))
    raise typer.Exit(int(th.worst(findings) == "fouls"))


def checked(*layouts: "th.Layout") -> "list[th.Finding]":
    """Return all findings about a layout in one mode or several, saying on the way what takes long."""
    progress = Progress()
    try:
        return th.check_modes(layouts, progress=lambda name: progress(f"checking {name}"))
    finally:
        progress.done()


def findings_words(layouts: "Sequence[th.Layout]", findings: "list[th.Finding]", units: Shown) -> str:
    """Return the table of findings and the sums."""
    found = [findings_table(findings, len(layouts), units), ""] if findings else []
    return "\n".join([*found, _sums(layouts, findings, units)])


def findings_table(findings: "list[th.Finding]", modes: int, units: Shown, *, of: str = "module") -> str:
    """Return a table of findings, subject by subject in their order, the worst of each first.

    Where there are several modes, it tells of what does not hold in all of them in which it does.
    """
    rows: list[tuple[str, ...]] = []
    subject = None
    heads = ("verdict", of, "question", *(["mode"] if modes > 1 else []), "finding")
    for finding in _by_module(findings):
        named = finding.subject != subject or finding.verdict != "clear"
        subject = finding.subject
        verdict = f"{mark(finding.verdict)} {finding.verdict}"
        held = ["" if len(finding.modes) == modes else ", ".join(finding.modes)] if modes > 1 else []
        rows.append((verdict, subject if named else "", finding.question, *held, finding.words(units)))
    return table(heads, rows)


def _by_module(findings: "list[th.Finding]") -> "list[th.Finding]":
    order = {name: i for i, name in enumerate(dict.fromkeys(finding.subject for finding in findings))}
    return sorted(findings, key=lambda finding: (order[finding.subject], _WORST_FIRST.index(finding.verdict)))


def _sums(layouts: "Sequence[th.Layout]", findings: "list[th.Finding]", units: Shown) -> str:
    counts = counted(findings)
    verdicts = ", ".join(f"{counts[verdict]} {verdict}" for verdict in _WORST_FIRST)
    modules = {module.name: module for layout in layouts for module in layout.modules}
    mass = format_mass(sum(module.mass for module in modules.values()), "lb" if units == "in" else "kg")
    holds = sum(module.holds for module in modules.values())
    full = f", and tanks for {format_volume(holds, 'gal' if units == 'in' else 'L')}" if holds else ""
    modes = f" in {len(layouts)} modes" if len(layouts) > 1 else ""
    return f"{layouts[0].name}: {verdicts}{modes}. {plural(len(modules), 'module')}, {mass}{full}."


def counted(findings: "list[th.Finding]") -> dict[str, int]:
    """Return how many findings there are of each verdict, the worst first."""
    counts = Counter(finding.verdict for finding in findings)
    return {verdict: counts[verdict] for verdict in _WORST_FIRST}


def _document(layouts: "Sequence[th.Layout]", findings: "list[th.Finding]") -> dict[str, object]:
    layout = layouts[0]
    modules = {module.name: module.mass for each in layouts for module in each.modules}
    return {
        "layout": layout.name,
        "shell": layout.shell.name,
        "unit": "mm",
        "measured_to": layout.shell.measured_to,
        "modes": [each.mode for each in layouts if each.mode],
        "verdict": th.worst(findings),
        "counts": counted(findings),
        "mass": round(sum(modules.values()), 6),
        "findings": [rounded(finding.as_dict()) for finding in findings],
    }
