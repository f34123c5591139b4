"""``tumblehome check``: what fits, what is tight, what fouls."""

import json
from collections import Counter
from typing import TYPE_CHECKING

import typer

import tumblehome as th
from tumblehome.cli.options import AsJson, Source, UnitsShown
from tumblehome.cli.sources import find
from tumblehome.cli.terminal import Progress, mark, say, table
from tumblehome.cli.wording import Shown, plural, rounded
from tumblehome.lengths import format_mass, format_volume

if TYPE_CHECKING:
    from tumblehome.checks.finding import Verdict

__all__ = ["check", "checked", "findings_words"]

_WORST_FIRST: "tuple[Verdict, ...]" = ("fouls", "tight", "clear")


def check(source: Source, as_json: AsJson = False, units: UnitsShown = None) -> None:
    """Prove what fits, what is tight, what fouls.

    Every module is held against the shell, its neighbors and the room that it needs to work. Each finding is clear,
    tight (the margin is within the measuring tolerance: measure again) or fouls. The exit status is 1 when something
    fouls, else 0.

    \b
        tumblehome check long-heron
        tumblehome check my-van/layout.toml --units in
    """  # noqa: D301
    file = find(source)
    layout = file.layout()
    findings = checked(layout)
    if as_json:
        say(json.dumps(_document(layout, findings), indent=2, allow_nan=False))
    else:
        say(findings_words(layout, findings, file.units(units)))
    raise typer.Exit(int(th.worst(findings) == "fouls"))


def checked(layout: "th.Layout") -> "list[th.Finding]":
    """Return all findings about a layout, saying on the way what takes long."""
    progress = Progress()
    try:
        return th.check(layout, progress=lambda name: progress(f"checking {name}"))
    finally:
        progress.done()


def findings_words(layout: "th.Layout", findings: "list[th.Finding]", units: Shown) -> str:
    """Return the table of findings, module by module as the file has them, the worst of each first; and the sums."""
    rows: list[tuple[str, ...]] = []
    subject = None
    for finding in _by_module(findings):
        named = finding.subject != subject or finding.verdict != "clear"
        subject = finding.subject
        verdict = f"{mark(finding.verdict)} {finding.verdict}"
        rows.append((verdict, subject if named else "", finding.question, finding.words(units)))
    found = [table(("verdict", "module", "question", "finding"), rows), ""] if rows else []
    return "\n".join([*found, _sums(layout, findings, units)])


def _by_module(findings: "list[th.Finding]") -> "list[th.Finding]":
    order = {name: i for i, name in enumerate(dict.fromkeys(finding.subject for finding in findings))}
    return sorted(findings, key=lambda finding: (order[finding.subject], _WORST_FIRST.index(finding.verdict)))


def _sums(layout: "th.Layout", findings: "list[th.Finding]", units: Shown) -> str:
    counts = _counts(findings)
    verdicts = ", ".join(f"{counts[verdict]} {verdict}" for verdict in _WORST_FIRST)
    mass = format_mass(layout.mass, "lb" if units == "in" else "kg")
    holds = sum(module.holds for module in layout.modules)
    full = f", and tanks for {format_volume(holds, 'gal' if units == 'in' else 'L')}" if holds else ""
    return f"{layout.name}: {verdicts}. {plural(len(layout.modules), 'module')}, {mass}{full}."


def _counts(findings: "list[th.Finding]") -> dict[str, int]:
    counted = Counter(finding.verdict for finding in findings)
    return {verdict: counted[verdict] for verdict in _WORST_FIRST}


def _document(layout: "th.Layout", findings: "list[th.Finding]") -> dict[str, object]:
    return {
        "layout": layout.name,
        "shell": layout.shell.name,
        "unit": "mm",
        "measured_to": layout.shell.measured_to,
        "verdict": th.worst(findings),
        "counts": _counts(findings),
        "mass": round(layout.mass, 6),
        "findings": [rounded(finding.as_dict()) for finding in findings],
    }
