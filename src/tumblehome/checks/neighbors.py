"""Does a module stand clear of the others?"""

from __future__ import annotations

from typing import TYPE_CHECKING

from tumblehome.checks._standing import nearest_gaps
from tumblehome.checks.finding import Finding, verdict_of
from tumblehome.tolerances import CONTACT

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tumblehome.checks._standing import Standing
    from tumblehome.fitout import Module

__all__ = ["check_neighbors"]

_LEAST_VOLUME = 1.0
"""Scribed modules overlap when they share more than this, mm3: the cut of two to one wall leaves the kernel's noise."""


def check_neighbors(standing: Standing) -> Iterator[Finding]:
    """Yield what a module fouls of the modules around it, or how far it is to the nearest one.

    An overlap of two is told once, of the one that the file names later. Contact is no fault: one is built to the other.
    """
    module = standing.module
    others = {m.name: m for m in standing.layout.modules if m.parent == module.parent and m is not module}
    fouls = [(name, at) for name, at in _overlapped(standing).items() if name in others]
    told = [(name, at) for name, at in fouls if _is_earlier(standing, others[name])]
    for name, at in told:
        yield standing.foul("neighbors", name, at, (module.solid & others[name].solid).volume / 1e6)
    if fouls:
        return
    apart = {name for name in others if name != module.support and others[name].support != module.name}
    gaps = nearest_gaps(standing.around, apart)
    if gaps:
        word, gap = gaps[0]
        touching = gap.distance <= CONTACT
        tolerance = standing.layout.shell.measured_to
        yield Finding(
            module.name, "neighbors", "clear" if touching else verdict_of(gap.distance, tolerance), gap.distance,
            where=(float(gap.at[0]), float(gap.at[1]), float(gap.at[2])), direction=word, cause=gap.part,
            tolerance=tolerance, touching=touching,
        )  # fmt: skip


def _overlapped(standing: Standing) -> dict[str, tuple[float, float, float]]:
    """Return the modules that it overlaps, with a place; a scribed one is held against their true shapes."""
    if standing.module.kind == "rigid":
        return standing.fouled
    found = dict(standing.fouled)
    modules = {m.name: m for m in standing.layout.modules}
    for journey in standing.around:
        for name, at in journey.among(modules).fouled:
            found.setdefault(name, (float(at[0]), float(at[1]), float(at[2])))
    return {n: at for n, at in found.items() if n in modules and _share(standing.module, modules[n]) > _LEAST_VOLUME}


def _share(one: Module, other: Module) -> float:
    return (one.solid & other.solid).volume


def _is_earlier(standing: Standing, other: Module) -> bool:
    modules = standing.layout.modules
    return modules.index(other) < modules.index(standing.module)
