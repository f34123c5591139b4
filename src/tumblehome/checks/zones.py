"""Has a module the room that it needs to work: its doors, drawers, lids, and a hand to its valves?"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from tumblehome.checks._standing import holders
from tumblehome.checks.finding import Finding
from tumblehome.fitout.module import solid_of
from tumblehome.sweep import Prism

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from tumblehome.checks._standing import Standing
    from tumblehome.fitout import Layout, Module, Zone
    from tumblehome.room import Reach, Room

    Floats = NDArray[np.float64]

__all__ = ["check_zones", "left_out"]


def check_zones(standing: Standing) -> Iterator[Finding]:
    """Yield for each zone what stands in it, and how far it opens before that; or that it is clear, and what lies beyond.

    A zone is held against the shell and every module but its own, and the one that its own is inside of. What stands on its
    module is taken off before something is lifted, as a cushion off a lid.
    """
    module = standing.module
    room = standing.layout.room
    for zone in module.zones:
        own = left_out(standing.layout, module, zone)
        astray = [prism.center for prism in zone.prisms if not room.holds_center(prism, ignoring=own)]
        held = [(name, center) for center in astray for name in holders(standing.layout, center, own)]
        fouled = room.journey(zone.prisms, 2, ignoring=own).fouled or held
        if fouled:
            yield _blocked(standing, zone, room, own, fouled)
        elif astray:
            yield Finding(module.name, zone.name, "fouls")
        else:
            yield _open(standing, zone, room, own)


def left_out(layout: Layout, module: Module, zone: Zone) -> set[str]:
    """Return the names of the modules that do not bar a zone of a module."""
    own = set(layout.with_stack([module.name])) if zone.lifting else {module.name}
    return own | ({module.parent} if module.parent else set())


def _open(standing: Standing, zone: Zone, room: Room, own: set[str]) -> Finding:
    beyond = _outward(zone, room, own, zone.prisms)
    if beyond is None:
        return Finding(standing.module.name, zone.name, "clear")
    word, reached = beyond
    at = (float(reached.at[0]), float(reached.at[1]), float(reached.at[2]))
    return Finding(
        standing.module.name, zone.name, "clear", reached.distance, where=at, direction=word, cause=reached.part
    )


def _blocked(
    standing: Standing, zone: Zone, room: Room, own: set[str], fouled: Sequence[tuple[str, Floats]]
) -> Finding:
    """Return the finding on a zone that something stands in; for a straight one, how far it opens."""
    name, at = fouled[0]
    where = (float(at[0]), float(at[1]), float(at[2]))
    opens = _outward(zone, room, own, [_thinned(zone)]) if zone.room else None
    volume = _volume(standing, zone, name)
    return Finding(
        standing.module.name, zone.name, "fouls", opens[1].distance if opens else None, zone.room if opens else 0.0,
        where=where, cause=opens[1].part if opens else name, volume=volume,
    )  # fmt: skip


def _thinned(zone: Zone) -> Prism:
    """Return the side of a straight zone that is at its module, as a plate without thickness."""
    prism, out = zone.prisms[0], zone.outward
    if out[2] > 0:
        return Prism(prism.outline, prism.bottom, prism.bottom)
    along = prism.outline @ out[:2]
    return Prism(prism.outline - np.outer(along - along.min(), out[:2]), prism.bottom, prism.top)


def _outward(zone: Zone, room: Room, own: set[str], body: Sequence[Prism]) -> tuple[str, Reach] | None:
    """Return how far a body can go the way the zone opens, if that is along an axis."""
    axis = int(np.abs(zone.outward).argmax())
    if abs(abs(zone.outward[axis]) - 1.0) > 1e-12:
        return None
    sense = float(np.sign(zone.outward[axis]))
    word = {(0, -1.0): "front", (0, 1.0): "rear", (1, -1.0): "left", (1, 1.0): "right", (2, 1.0): "up"}[axis, sense]
    reached = room.journey(body, axis, ignoring=own).reach(sense)
    return None if reached is None else (word, reached)


def _volume(standing: Standing, zone: Zone, name: str) -> float:
    solid = solid_of(zone.prisms, "zone")
    modules = {m.name: m for m in standing.layout.modules}
    if name in modules:
        return (solid & modules[name].solid).volume / 1e6
    return (solid - standing.layout.shell.void).volume / 1e6
