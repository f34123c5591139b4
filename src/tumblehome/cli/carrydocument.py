"""What was found about carrying a module, as plain data: lengths in mm, angles in degrees, mass in kg."""

from __future__ import annotations

from math import degrees
from typing import TYPE_CHECKING, Any

from tumblehome.carrying import sentences
from tumblehome.cli.wording import rounded

if TYPE_CHECKING:
    from tumblehome.carrying import Carry, Path, Pinch, Pose, Way
    from tumblehome.carrying.search import Layers
    from tumblehome.cli.wording import Shown

__all__ = ["document"]


def document(carry: Carry, units: Shown) -> dict[str, object]:
    """Return everything that was found, the best way first."""
    return {
        "layout": carry.layout.name,
        "mode": carry.layout.mode,
        "shell": carry.layout.shell.name,
        "unit": "mm",
        "measured_to": carry.layout.measured_to,
        "module": carry.module.name,
        "verdict": carry.verdict,
        **rounded({"hand": carry.hand, "foot": carry.foot, "lift": carry.lift, "mass": carry.module.mass}),
        "removed": list(carry.removed),
        "taken_off": list(carry.taken_off),
        "fouls": list(carry.fouls),
        "words": sentences(carry, units),
        "ways": [_way(way) for way in carry.ways],
    }


def _way(way: Way) -> dict[str, object]:
    low, high = way.spare
    facts = {"passes_with": low, "blocked_with": high, "too_tall": way.too_tall, "place_room": way.place_room}
    return {
        "doorway": way.doorway.name,
        "outcome": way.outcome,
        "lying": way.lying,
        **rounded(facts),
        "removals": [list(names) for names in way.removals],
        "pinch": _pinch(way.pinch),
        "path": _path(way.path) if way.path and way.outcome == "passes" else None,
    }


def _pinch(pinch: Pinch | None) -> dict[str, object] | None:
    if pinch is None:
        return None
    points = [[round(v, 6) for v in point] for point in pinch.at]
    return {"parts": list(pinch.parts), "at": points, **rounded({"opening": pinch.opening, "play": pinch.play})}


def _path(path: Path) -> dict[str, Any]:
    return {
        **rounded({"length": path.length}),
        "poses": [_pose(pose, path.mover.layers) for pose in path.poses],
        "passed": [rounded({"part": p.name, "margin": p.margin}) for p in path.passed],
    }


def _pose(pose: Pose, layers: Layers) -> dict[str, object]:
    facts = {"station": pose.x, "breadth": pose.y, "turned": degrees(pose.angle), "foot": layers.feet[pose.layer]}
    return rounded({**facts, "lies": pose.layer in layers.laid})
