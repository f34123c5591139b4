"""Which other modules can bear on what is found of a module?

A module is asked how far it, and the zones that it needs, can travel along the three axes, and what it or they hold. Each
journey sweeps a corridor, and where a point of it lies inside a solid, that solid reaches into the corridor: so nothing outside
the corridors has a say, and nothing in them that is further off than what the answer names. Boxes about the modules decide;
too many may be named, never too few.
"""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING, Final

import numpy as np

from tumblehome.cuts.reach import DIRECTIONS

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from numpy.typing import NDArray

    from tumblehome.fitout import Layout, Module
    from tumblehome.sweep import Prism

    Floats = NDArray[np.float64]
    Integers = NDArray[np.intp]

__all__ = ["Sight"]

_MARGIN: Final = 1.0
"""By this much corridors are taken to be wider and longer than they are, mm: far more than any tolerance of the checks."""


class Sight:
    """How far off each module of a layout is from each other one, in each of the corridors of what of it travels.

    Parameters
    ----------
    layout : Layout
    bodies : for each module the boxes about what travels, least and greatest corner of each, mm
    """

    def __init__(self, layout: Layout, bodies: Sequence[Sequence[tuple[Floats, Floats]]]) -> None:
        self._number = {module: i for i, module in enumerate(layout.modules)}
        self._kin = list(_kin(layout))
        seeable = np.array([module.parent is None for module in layout.modules])
        boxes = np.array([box for body in bodies for box in body], dtype=float).reshape(-1, 2, 3)
        owner = np.repeat(np.arange(len(bodies)), [len(body) for body in bodies])
        box, direction, other, off = _ahead(boxes, np.array([m.bounds for m in layout.modules]).reshape(-1, 2, 3))
        kept = np.flatnonzero(seeable[other])
        kept = kept[np.argsort(owner[box[kept]], kind="stable")]
        self._direction, self._other, self._off = direction[kept], other[kept], off[kept]
        self._start = np.searchsorted(owner[box[kept]], np.arange(len(bodies) + 1)).tolist()

    def within(self, module: Module, far: Floats) -> NDArray[np.bool_]:
        """Return which of the layout's modules (n,) a module sees within distances (6,), in mm, one a direction; itself too.

        Always what it stands on or in, and what is inside the same one; never what is inside another one.
        """
        number = self._number[module]
        own = slice(self._start[number], self._start[number + 1])
        seen = np.zeros(len(self._number), dtype=bool)
        seen[self._other[own][self._off[own] < far[self._direction[own]] + _MARGIN]] = True
        seen[self._kin[number]] = True
        return seen

    @staticmethod
    def of_bodies(layout: Layout) -> Sight:
        """Return how far off modules are from each other's bodies; what is pushed to a side has no end on that side.

        What is inside a module sees nothing beside what is inside it, too.
        """
        return Sight(
            layout,
            [_open_to(m.against, _boxes((*m.body, *m.hull))) if m.parent is None else [] for m in layout.modules],
        )

    @staticmethod
    def of_zones(layout: Layout) -> Sight:
        """Return how far off modules are from each other's zones."""
        return Sight(layout, [_boxes(prism for zone in m.zones for prism in zone.prisms) for m in layout.modules])


def _kin(layout: Layout) -> Iterator[list[int]]:
    """Yield for each module the numbers of itself, of what it stands on or in, and of what is inside the same one."""
    number = {module.name: i for i, module in enumerate(layout.modules)}
    inmates: dict[str, list[int]] = defaultdict(list)
    for i, module in enumerate(layout.modules):
        if module.parent:
            inmates[module.parent].append(i)
    for i, module in enumerate(layout.modules):
        near = [number[name] for name in (module.support, module.parent) if name in number]
        yield [i, *near, *inmates.get(module.parent or "", ())]


def _boxes(prisms: Iterable[Prism]) -> list[tuple[Floats, Floats]]:
    return [(prism.bounds[0].copy(), prism.bounds[1].copy()) for prism in dict.fromkeys(prisms)]


def _open_to(side: str | None, boxes: list[tuple[Floats, Floats]]) -> list[tuple[Floats, Floats]]:
    if side is not None:
        axis, sense = DIRECTIONS[side]
        for low, high in boxes:
            (high if sense > 0 else low)[axis] = sense * np.inf
    return boxes


def _ahead(boxes: Floats, others: Floats) -> tuple[Integers, Integers, Integers, Floats]:
    """Return which of (n, 2, 3) boxes has ahead of it, in which of the six directions, which of (p, 2, 3), and how far off."""
    gaps = np.stack([boxes[:, None, 0] - others[:, 1], others[:, 0] - boxes[:, None, 1]])
    level = gaps.max(axis=0) <= _MARGIN
    found = []
    for direction, (axis, sense) in enumerate(DIRECTIONS.values()):
        toward, back = gaps[::-1, ..., axis] if sense > 0 else gaps[..., axis]
        box, other = np.nonzero(level[..., (axis + 1) % 3] & level[..., (axis + 2) % 3] & (back <= _MARGIN))
        found.append((box, np.full(len(box), direction), other, np.maximum(toward[box, other], 0.0)))
    box, way, other, off = (np.concatenate(each) for each in zip(*found, strict=True))
    return box, way, other, off
