"""What each part of the shell adds to a scribed cabinet, or takes from it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tumblehome.lasting import remembered
from tumblehome.solids import Solid, unite

if TYPE_CHECKING:
    from tumblehome.body import Shell
    from tumblehome.fitout import Module

__all__ = ["liters_of"]


@remembered
def liters_of(shell: Shell, module: Module, least: float) -> tuple[tuple[str, float], ...]:
    """Return what each recess adds to a scribed module (positive) or each member takes from it (negative), L.

    What is free behind its face as the shell stands, less what would be without that part: what a member takes of the room that
    no other member takes too, and what a recess adds that no other one has, members left out. The greatest first, those below
    the ``least`` left out. All of it is cut to the module's own stations and heights before it is reckoned; a part of which less
    than the least lies there can change no more.
    """
    low, high = (corner.copy() for corner in module.bounds)
    behind, end = (high, 1) if module.against == "right" else (low, 0)
    behind[1] = shell.bounds[end][1]
    whole = Solid.box(low, high, module.name)
    near = {part.name: shell.cutter_of(part) for part in shell.parts if shell.cutter_of(part).comes_near(whole)}
    near = {name: solid & whole for name, solid in near.items()}
    asked = [name for name, solid in near.items() if solid.volume / 1e6 >= least]
    if not asked:
        return ()
    doors = [door.passage(shell.lined) for door in shell.doorways if door.name in shell.open_doorways]
    given = {name: solid for name, solid in near.items() if shell.part(name).gives}
    taken = {name: solid for name, solid in near.items() if name not in given}
    lined = unite([shell.lined.solid, *doors]) & whole
    room = unite([lined, *given.values()])
    changed = []
    for name in asked:
        own = near[name] - unite([lined, *_others(given, name)]) if name in given else near[name] & room
        if own.volume / 1e6 < least:
            continue
        liters = (own - unite(_others(taken, name))).volume / 1e6
        changed.append((name, liters if name in given else -liters))
    return tuple(sorted((c for c in changed if abs(c[1]) >= least), key=lambda change: -abs(change[1])))


def _others(solids: dict[str, Solid], name: str) -> list[Solid]:
    return [solid for other, solid in solids.items() if other != name]
