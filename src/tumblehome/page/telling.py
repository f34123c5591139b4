"""What does the page say about each module, in plain words and both units?"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from tumblehome.checks import worst
from tumblehome.checks.finding import VERDICTS
from tumblehome.errors import InputError
from tumblehome.lengths import format_length, format_mass, format_volume
from tumblehome.page.wording import in_both
from tumblehome.studies import sentences, study

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from tumblehome.checks import Finding
    from tumblehome.fitout import Layout, Module

__all__ = ["facts", "told_modules"]

_MASS: Final = {"mm": "kg", "in": "lb"}
_VOLUME: Final = {"mm": "L", "in": "gal"}


def told_modules(layout: Layout, findings: Sequence[Finding]) -> list[dict[str, object]]:
    """Return the modules in the order of the file, each with its size, place, findings (the worst first) and studies.

    Texts that hold lengths are pairs: in millimeters, in inches.
    """
    return [_told(layout, m, [f for f in findings if f.subject == m.name]) for m in layout.modules]


def _told(layout: Layout, module: Module, findings: list[Finding]) -> dict[str, object]:
    ordered = sorted(findings, key=lambda f: -VERDICTS.index(f.verdict))
    return {
        "name": module.name,
        "verdict": worst(findings),
        "facts": _pairs(facts(module, units) for units in ("mm", "in")),
        "findings": [[f.verdict, f.question, [f.words("mm"), f.words("in")]] for f in ordered],
        "told": _pairs(_studied(layout, module, units) for units in ("mm", "in")),
    }


def _pairs(texts: Iterable[list[str]]) -> list[tuple[str, ...]]:
    """Return lists of one text each, one list a unit, as pairs."""
    return list(zip(*texts, strict=True))


def facts(module: Module, units: str) -> list[str]:
    """Return its size, where it stands, and what it weighs and holds."""
    i = 1 if units == "in" else 0
    size = " × ".join(format_length(v, units) for v in (module.wide, module.deep, module.high))
    low, high = module.bounds
    span = f"{format_length(float(low[0]), units)} to {in_both(float(high[0]))[i]}"
    where = f"inside {module.parent}" if module.parent else f"against the {module.against}" if module.against else ""
    place = f"Stations {span}, top at {in_both(float(high[2]))[i]}" + (f", {where}" if where else "")
    weight = [format_mass(module.mass, _MASS[units])] if module.mass else []
    weight += [f"holds {format_volume(module.holds, _VOLUME[units])}"] if module.holds else []
    weight += [module.contents] if module.contents else []
    unit = "" if units == "in" else " mm"
    return [f"{size}{unit}, wide × deep × high", place, *(["; ".join(weight)] if weight else [])]


def _studied(layout: Layout, module: Module, units: str) -> list[str]:
    """Return what its place against the wall gives it and costs it; nothing where it stands free or inside another one."""
    try:
        return sentences(study(layout, module.name), units)
    except InputError:
        return []
