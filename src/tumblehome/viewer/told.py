"""What does the page say about the plan on the workbench? Everything in words was worded here, in both units."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING, Final, Literal

from tumblehome.checks import worst
from tumblehome.checks.finding import VERDICTS, move_words
from tumblehome.lengths import shown
from tumblehome.page.telling import facts
from tumblehome.room import DIRECTIONS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tumblehome.body import Shell
    from tumblehome.checks import Finding
    from tumblehome.fitout import Layout, Module
    from tumblehome.viewer.desk import Desk, Shown

__all__ = ["Teller", "findings_in", "layout_in"]

Units = Literal["mm", "in"]

_UNITS: Final[tuple[Units, Units]] = ("mm", "in")
_BEGIN: Final[tuple[tuple[float, float], ...]] = ((1200.0, 100.0), (48 * 25.4, 6 * 25.4))
"""The height at which the page begins, and the station to the nearest multiple of which, mm: round in each unit. A standing
person's elbows are about as high; common practice, no published source."""
_BESIDE: Final = 50.0
"""How far beside a doorway a stop lies, mm."""


def layout_in(desk: Desk | Shown, mode: str | None) -> Layout | None:
    """Return the layout in a mode, the first where there is none of that name; None for a bare shell."""
    named = (layout for layout in desk.layouts if layout.mode == mode)
    return next(named, desk.layouts[0] if desk.layouts else None)


def findings_in(desk: Desk | Shown, mode: str | None) -> list[Finding]:
    """Return the findings that hold in a mode."""
    return [finding for finding in desk.findings if not finding.modes or mode in finding.modes]


class _Words(dict[tuple[str, "Module"], tuple[list["Finding"], dict[str, object]]]):
    """What is told of a module in a mode, and the findings that this rests on."""


class Teller:
    """Tells of one desk again and again, and words anew only what has changed."""

    def __init__(self) -> None:
        self._known = _Words()
        self._shell: tuple[Shell, dict[str, object]] | None = None

    def told(self, desk: Desk) -> dict[str, object]:
        """Return all that the page shows of a plan but its pictures: plain data, texts with lengths as pairs of mm and inches."""
        first, fresh = layout_in(desk, None), _Words()
        layouts = [self._layout(layout, findings_in(desk, layout.mode), fresh) for layout in desk.layouts]
        self._known = fresh
        if self._shell is None or self._shell[0] is not desk.shell:
            self._shell = (desk.shell, _told_shell(desk.shell))
        return self._shell[1] | {
            "revision": desk.revision,
            "is_layout": desk.is_layout,
            "fault": desk.fault,
            "is_fault_typed": desk.fault_line is not None and not desk.is_saved,
            "can_undo": desk.can_undo,
            "can_redo": desk.can_redo,
            "undo_words": desk.undo_words,
            "is_saved": desk.is_saved,
            "has_recovery": desk.has_recovery,
            "recovery": _told_recovery(desk),
            "file": desk.path.name,
            "title": first.name if first else desk.shell.name,
            "note": first.note if first else "",
            "changed": sorted(desk.changed),
            "layouts": layouts,
        }

    def _layout(
        self,
        layout: Layout,
        findings: Sequence[Finding],
        fresh: _Words,
    ) -> dict[str, object]:
        about: dict[str, list[Finding]] = {module.name: [] for module in layout.modules}
        for finding in findings:
            about.setdefault(finding.subject, []).append(finding)
        for module in layout.modules:
            key, found = (layout.mode, module), about[module.name]
            known = self._known.get(key)
            fresh[key] = known if known and known[0] == found else (found, _told_module(module, found))
        told = [fresh[layout.mode, module][1] for module in layout.modules]
        return {"mode": layout.mode, "verdict": worst(list(findings)), "modules": told}


def _told_recovery(desk: Desk) -> dict[str, object] | None:
    """Return of which moment unsaved work is, in local time, and whether it takes the place of what is here."""
    if not desk.has_recovery:
        return None
    when = datetime.fromtimestamp(desk.recovery_time).astimezone()
    return {"when": f"{when:%Y-%m-%d at %H:%M:%S}", "replaces": desk.recovery_replaces}


def _told_shell(shell: Shell) -> dict[str, object]:
    return {
        "van": shell.name,
        "heights": list(shell.heights),
        "stations": list(shell.stations),
        "ends": {"height": _span(shell.heights), "station": _span(shell.stations)},
        "begin": [_begin(shell, *begin) for begin in _BEGIN],
        "stops": _stops(shell),
    }


def _span(ends: tuple[float, float]) -> list[str]:
    return [f"{shown(ends[0], units)} to {shown(ends[1], units)}" for units in _UNITS]


def _begin(shell: Shell, begin: float, step: float) -> list[float]:
    """Return the height and station at which the page begins."""
    low, high = shell.heights
    middle = sum(shell.stations) / 2
    return [begin if low < begin < high else (low + high) / 2, round(middle / step) * step]


def _stops(shell: Shell) -> list[tuple[str, float]]:
    """Return stations worth going to, with their names, rising: just behind and ahead of each doorway, and through each part."""
    first, last = shell.stations
    stops: list[tuple[str, float]] = []
    for door in shell.doorways:
        if door.side != "rear":
            stops += [(f"ahead of {door.name}", door.span[0] - _BESIDE), (f"middle of {door.name}", sum(door.span) / 2)]
            stops += [(f"behind {door.name}", door.span[1] + _BESIDE)]
        else:
            stops += [(f"just ahead of {door.name}", last - _BESIDE)]
    for part in shell.parts:
        low, high = shell.solid_of(part.name).bounds
        stops.append((f"through {part.name}", float(low[0] + high[0]) / 2))
    return sorted(((words, at) for words, at in stops if first <= at <= last), key=lambda stop: stop[1])


def _told_module(module: Module, findings: list[Finding]) -> dict[str, object]:
    ordered = sorted(findings, key=lambda finding: -VERDICTS.index(finding.verdict))
    low, high = module.bounds
    return {
        "name": module.name,
        "verdict": worst(findings),
        "kind": module.kind,
        "against": module.against,
        "parent": module.parent,
        "low": low.tolist(),
        "high": high.tolist(),
        "size": [module.wide, module.deep, module.high],
        "place": [[shown(v, units) for units in _UNITS] for v in low.tolist()],
        "sizes": [[shown(v, units) for units in _UNITS] for v in (module.wide, module.deep, module.high)],
        "facts": list(zip(*(facts(module, units) for units in _UNITS), strict=True)),
        "findings": [_told_finding(finding) for finding in ordered],
    }


def _told_finding(finding: Finding) -> dict[str, object]:
    return {
        "verdict": finding.verdict,
        "question": finding.question,
        "words": [finding.words(units) for units in _UNITS],
        "margin": finding.margin,
        "cause": finding.cause,
        "mends": _mends(finding),
        "where": finding.where,
        "source": finding.source,
    }


def _mends(finding: Finding) -> list[dict[str, object]]:
    """Return the moves that a builder could use and that clear what fouls, the shortest first."""
    return [
        {
            "words": [move_words(mm, way, units) for units in _UNITS],
            "axis": "xyz"[DIRECTIONS[way][0]],
            "mm": DIRECTIONS[way][1] * mm,
        }
        for mm, way in finding.ways[:2]
    ]
