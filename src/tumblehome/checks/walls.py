"""Does a module fit the shell: its walls and every member, its floor and roof, or the inside of its parent?"""

from __future__ import annotations

from typing import TYPE_CHECKING

from tumblehome.checks.finding import Finding, verdict_of
from tumblehome.fitout.module import solid_of
from tumblehome.lasting import remembered
from tumblehome.tolerances import CONTACT

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from tumblehome.body import Shell
    from tumblehome.checks._standing import Standing
    from tumblehome.fitout import Module
    from tumblehome.room import Reach
    from tumblehome.solids import Solid

__all__ = ["check_walls"]

_SIDEWAYS = {"front", "rear", "left", "right"}
_UPRIGHT = {"up", "down"}


def check_walls(standing: Standing) -> Iterator[Finding]:
    """Yield what a module fouls of the shell, or how far it is to the nearest part at its sides, and above and below.

    A side that it is pushed against, and what it stands on, are contacts by intent and are not judged.
    """
    module, shell = standing.module, standing.layout.shell
    bounding = _bounding_names(standing)
    question = "walls" if module.parent is None else f"inside {module.parent}"
    fouls = [name for name in standing.fouled if name in bounding]
    if fouls:
        for name in fouls:
            yield standing.foul(question, name, standing.fouled[name], _volume(standing, name))
        return
    if not standing.fouled and not standing.is_inside:
        yield Finding(module.name, question, "fouls")
        return
    intended = {module.against} if module.against else set()
    if module.support is not None or module.parent is not None:
        intended |= {"down"}
    for words, leaving in ((question, _UPRIGHT), ("floor and roof", _SIDEWAYS)):
        gaps = standing.gaps(bounding, leaving | intended)
        if gaps:
            yield _nearest(module.name, words, gaps, shell.tolerance_of)


def _bounding_names(standing: Standing) -> set[str]:
    """Return the names of what bounds its room, as told at any point, modules left out."""
    shell, module = standing.layout.shell, standing.module
    if module.parent is not None:
        return {module.parent}
    return {*shell.void.surface.names, *(door.name for door in shell.doorways)}


def _nearest(
    subject: str, question: str, gaps: list[tuple[str, Reach]], tolerance_of: Callable[[list[str]], float]
) -> Finding:
    """Return the finding on the gap, of some from the nearest on, that is least for how well its cause was measured."""
    scored = [(gap.distance - tolerance_of([gap.part]), word, gap) for word, gap in gaps]
    short = [entry for entry in scored if entry[0] < 0]
    _, word, gap = min(short, key=lambda entry: round(entry[0] / CONTACT)) if short else scored[0]
    tolerance = tolerance_of([gap.part])
    where = (float(gap.at[0]), float(gap.at[1]), float(gap.at[2]))
    return Finding(
        subject, question, verdict_of(gap.distance, tolerance), gap.distance, where=where, direction=word, cause=gap.part,
        tolerance=tolerance,
    )  # fmt: skip


def _volume(standing: Standing, name: str) -> float:
    """Return how much of a module lies in a part of the shell, or outside of its parent, L."""
    module = standing.module
    if module.parent is None:
        return _liters_in(standing.layout.shell, module, name)
    inner = standing.layout.module(module.parent).inner
    return (_whole(module) - inner).volume / 1e6 if inner else 0.0


@remembered
def _liters_in(shell: Shell, module: Module, name: str) -> float:
    members = {part.name for part in shell.parts if not part.gives}
    if name in members:
        return (_whole(module) & shell.solid_of(name)).volume / 1e6
    pieces = (_whole(module) - shell.without(*members).void).pieces()
    return sum(piece.volume for piece in pieces if name in _told(shell, piece)) / 1e6


def _told(shell: Shell, piece: Solid) -> set[str]:
    """Return what of the shell, as told at any point, a piece of a module that is outside of it lies behind."""
    surface = piece.surface
    middles = surface.triangles.mean(axis=1)
    return {shell.name_at(surface.names[p], at) for p, at in zip(surface.part.tolist(), middles, strict=True)}


def _whole(module: Module) -> Solid:
    """Return all of a module, also what was cut from it at the wall."""
    return module.solid if module.kind == "rigid" else solid_of(module.body, module.name)
