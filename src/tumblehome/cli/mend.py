"""Try the mend that a finding names: lower or move the one module, and ask everything again."""

from __future__ import annotations

from dataclasses import replace
from math import ceil, floor
from typing import TYPE_CHECKING, Final

from tumblehome.cli.wording import length_shown
from tumblehome.records import dataclass

if TYPE_CHECKING:
    import tumblehome as th
    from tumblehome.cli.wording import Shown
    from tumblehome.fitout import Module

__all__ = ["Mend", "mend_of"]

_WAYS = {
    "front": ("forward", (-1.0, 0.0, 0.0)),
    "rear": ("rearward", (1.0, 0.0, 0.0)),
    "left": ("to the left", (0.0, -1.0, 0.0)),
    "right": ("to the right", (0.0, 1.0, 0.0)),
    "up": ("up", (0.0, 0.0, 1.0)),
    "down": ("down", (0.0, 0.0, -1.0)),
}
_TAPE_MARKS: Final = {"mm": 1.0, "in": 25.4 / 16}


@dataclass(frozen=True)
class Mend:
    """One change to one module: its new height, or a move of so many mm one way."""

    subject: str
    height: float | None = None
    way: str = ""
    distance: float = 0.0

    def words(self, units: Shown) -> str:
        """Say what to do."""
        if self.height is not None:
            return f"make it {length_shown(self.height, units)} high"
        return f"move it {length_shown(self.distance, units)} {_WAYS[self.way][0]}"

    def applied(self, layout: th.Layout) -> th.Layout:
        """Return the layout with the module changed; its file stays as it is."""
        modules = tuple(self._changed(m) if m.name == self.subject else m for m in layout.modules)
        return replace(layout, modules=modules)

    def _changed(self, module: Module) -> Module:
        return _moved(module, self.way, self.distance) if self.height is None else _lowered(module, self.height)


def mend_of(finding: th.Finding, units: Shown) -> Mend | None:
    """Return the mend of what fouls: the greatest height that surely clears, by how well it was measured, else a shortest move.

    Both in marks that a tape measure has, whole millimeters or sixteenths of an inch.
    """
    step = _TAPE_MARKS[units]
    if finding.greatest_height is not None:
        return Mend(finding.subject, height=step * floor((finding.greatest_height - finding.tolerance) / step))
    if not finding.ways:
        return None
    distance, way = finding.ways[0]
    return Mend(finding.subject, way=way, distance=step * ceil(distance / step))


def _lowered(module: Module, height: float) -> Module:
    top = float(module.frame.origin[2]) + height
    body, hull = (
        [replace(p, top=min(p.top, top)) for p in prisms if p.bottom < top] for prisms in (module.body, module.hull)
    )
    solid = module.solid.trimmed(2, high=top).named(module.name)
    return replace(module, body=tuple(body), hull=tuple(hull), solid=solid, high=height)


def _moved(module: Module, way: str, distance: float) -> Module:
    vector = [distance * v for v in _WAYS[way][1]]
    body, hull = (tuple(prism.moved(vector) for prism in prisms) for prisms in (module.body, module.hull))
    zones = tuple(replace(z, prisms=tuple(prism.moved(vector) for prism in z.prisms)) for z in module.zones)
    solid, frame = module.solid.moved(vector), module.frame.moved(vector)
    return replace(module, body=body, hull=hull, solid=solid, zones=zones, frame=frame)
