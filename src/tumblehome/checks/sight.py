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

from tumblehome.lasting import kept
from tumblehome.room import DIRECTIONS

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import NDArray

    from tumblehome.fitout import Layout, Module
    from tumblehome.sweep import Prism

    Floats = NDArray[np.float64]
    Integers = NDArray[np.intp]

__all__ = ["Sight", "kin"]

_MARGIN: Final = 1.0
"""By this much corridors are taken to be wider and longer than they are, mm: far more than any tolerance of the checks."""

_NONE: Final = np.empty((0, 2, 3))
"""No boxes."""


class Sight:
    """How far off each of some modules is from each other one, in each of the corridors of what of it travels.

    Parameters
    ----------
    modules : of any number of layouts, told by their places here
    bodies : for each module the boxes about what travels, (k, 2, 3): least and greatest corner of each, mm
    """

    def __init__(self, modules: Sequence[Module], bodies: Sequence[Floats]) -> None:
        self._count = len(modules)
        boxes, owner = _joined(bodies)
        others, whose = _joined([_hull_boxes(m) if m.parent is None else _NONE for m in modules])
        box, direction, other, off = _ahead(boxes, others)
        order = np.argsort(owner[box], kind="stable")
        self._other, self._direction, self._off = whose[other[order]], direction[order], off[order]
        self._start = np.searchsorted(owner[box[order]], np.arange(len(bodies) + 1))

    def each_within(self, numbers: Integers, far: Floats) -> NDArray[np.bool_]:
        """Return which modules (k, n) some of them (k,) see within distances (k, 6) of each, in mm, one a direction."""
        start, end = self._start[numbers], self._start[numbers + 1]
        row = np.repeat(np.arange(len(numbers)), end - start)
        pair = np.arange(len(row)) + np.repeat(end - np.cumsum(end - start), end - start)
        is_seen = self._off[pair] < far[row, self._direction[pair]] + _MARGIN
        seen = np.zeros((len(numbers), self._count), dtype=bool)
        seen[row[is_seen], self._other[pair[is_seen]]] = True
        return seen

    @staticmethod
    def of_bodies(modules: Sequence[Module]) -> Sight:
        """Return how far off modules are from each other's bodies; what is pushed to a side has no end on that side.

        What is inside a module sees nothing beside what is inside it, too.
        """
        return Sight(modules, [_body_boxes(m) for m in modules])

    @staticmethod
    def of_zones(modules: Sequence[Module]) -> Sight:
        """Return how far off modules are from each other's zones."""
        return Sight(modules, [_zone_boxes(m) for m in modules])


def kin(layout: Layout) -> NDArray[np.bool_]:
    """Return which of a layout's modules (n, n) have a say in what is found of each, however far off.

    Itself, what it stands on or in, and what is inside the same one; never what is inside another one.
    """
    modules = layout.modules
    number = {module.name: i for i, module in enumerate(modules)}
    inside: dict[str, list[int]] = defaultdict(list)
    for i, module in enumerate(modules):
        if module.parent:
            inside[module.parent].append(i)
    near = np.eye(len(modules), dtype=bool)
    for i, module in enumerate(modules):
        near[i, [number[name] for name in (module.support, module.parent) if name in number]] = True
        near[i, inside.get(module.parent or "", ())] = True
    return near


@kept
def _body_boxes(module: Module) -> Floats:
    """Return the boxes about a module's prisms, without end on the side that it is pushed to."""
    boxes = _boxes((*module.body, *module.hull) if module.parent is None else ())
    if module.against is not None:
        axis, sense = DIRECTIONS[module.against]
        boxes[:, int(sense > 0), axis] = sense * np.inf
    return boxes


@kept
def _hull_boxes(module: Module) -> Floats:
    return _boxes(module.hull)


@kept
def _zone_boxes(module: Module) -> Floats:
    return _boxes(prism for zone in module.zones for prism in zone.prisms)


def _joined(boxes: Sequence[Floats]) -> tuple[Floats, Integers]:
    """Return all boxes in one, (n, 2, 3), and for each the number of the module that it belongs to."""
    return np.concatenate([*boxes, _NONE]), np.repeat(np.arange(len(boxes)), [len(each) for each in boxes])


def _boxes(prisms: Iterable[Prism]) -> Floats:
    return np.array([prism.bounds for prism in dict.fromkeys(prisms)], dtype=float).reshape(-1, 2, 3)


def _ahead(boxes: Floats, others: Floats) -> tuple[Integers, Integers, Integers, Floats]:
    """Return which of (n, 2, 3) boxes has ahead of it, in which of the six directions, which of (p, 2, 3), and how far off."""
    gaps = np.stack([boxes[:, None, 0] - others[:, 1], others[:, 0] - boxes[:, None, 1]])
    level = gaps.max(axis=0) <= _MARGIN
    beside = level[..., [1, 2, 0]] & level[..., [2, 0, 1]]
    sense, box, other, axis = np.nonzero(beside & (gaps[::-1] <= _MARGIN))
    return box, 2 * axis + sense, other, np.maximum(gaps[sense, box, other, axis], 0.0)
