"""Has a module the room that it needs to work: its doors, drawers, lids, and a hand to its valves?"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from tumblehome.checks._standing import holders
from tumblehome.checks.finding import Finding, verdict_of
from tumblehome.room import DIRECTIONS, Reach
from tumblehome.sweep import Prism

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from tumblehome.checks._standing import Standing
    from tumblehome.fitout import Layout, Module, Zone
    from tumblehome.room import Room

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
    """Return the finding on a zone that nothing stands in, with what lies beyond it the way it opens."""
    way = _way(zone)
    beyond = room.journey(zone.prisms, way[0], ignoring=own).reach(way[1]) if way else None
    if beyond is None:
        return Finding(standing.module.name, zone.name, "clear")
    (word,) = [word for word, along in DIRECTIONS.items() if along == way]
    tolerance = standing.layout.shell.tolerance_of([beyond.part])
    return Finding(
        standing.module.name, zone.name, verdict_of(beyond.distance, tolerance), beyond.distance,
        where=(float(beyond.at[0]), float(beyond.at[1]), float(beyond.at[2])), direction=word, cause=beyond.part,
        tolerance=tolerance,
    )  # fmt: skip


def _blocked(
    standing: Standing, zone: Zone, room: Room, own: set[str], fouled: Sequence[tuple[str, Floats]]
) -> Finding:
    """Return the finding on a zone that something stands in; for a straight one, how far it opens and what ends that."""
    name, at = fouled[0]
    opened, limit = None, 0.0
    if zone.room and (stop := _stop(standing, zone, room, own)):
        name, at, opened, limit = stop.part, stop.at, stop.distance, zone.room
    return Finding(
        standing.module.name, zone.name, "fouls", opened, limit,
        where=(float(at[0]), float(at[1]), float(at[2])), cause=name, volume=_volume(standing, zone, name),
    )  # fmt: skip


def _stop(standing: Standing, zone: Zone, room: Room, own: set[str]) -> Reach | None:
    """Return what a straight zone meets first as it opens, at once if that stands at its module already, if it is along an axis."""
    way = _way(zone)
    if way is None:
        return None
    plate = _thinned(zone)
    journey = room.journey([plate], way[0], ignoring=own)
    inside = journey.fouled
    if not inside and not room.holds(plate.center, ignoring=own):
        inside = [(name, plate.center) for name in holders(standing.layout, plate.center, own)]
    return Reach(0.0, *inside[0]) if inside else journey.reach(way[1])


def _thinned(zone: Zone) -> Prism:
    """Return the side of a straight zone that is at its module, as a plate without thickness."""
    prism, out = zone.prisms[0], zone.outward
    if out[2] > 0:
        return Prism(prism.outline, prism.bottom, prism.bottom)
    along = prism.outline @ out[:2]
    return Prism(prism.outline - np.outer(along - along.min(), out[:2]), prism.bottom, prism.top)


def _way(zone: Zone) -> tuple[int, float] | None:
    """Return the axis along which a zone opens, and the sense, if it is along one."""
    axis = int(np.abs(zone.outward).argmax())
    along = float(zone.outward[axis])
    return (axis, float(np.sign(along))) if abs(abs(along) - 1.0) <= 1e-12 else None


def _volume(standing: Standing, zone: Zone, name: str) -> float:
    modules = {m.name: m for m in standing.layout.modules}
    if name in modules:
        return (zone.solid & modules[name].solid).volume / 1e6
    return (zone.solid - standing.layout.shell.void).volume / 1e6
