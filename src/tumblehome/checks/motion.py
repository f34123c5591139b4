"""Is the way free by which a module gets from its place in the first mode to that in another?"""

from __future__ import annotations

from itertools import pairwise
from math import acos, ceil, cos, pi
from typing import TYPE_CHECKING, Final

import numpy as np

from tumblehome.checks.finding import Finding
from tumblehome.errors import LayoutError
from tumblehome.lasting import remembered
from tumblehome.lengths import volume_words
from tumblehome.solids import Solid, unite
from tumblehome.tolerances import CONTACT

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from tumblehome.body import Shell
    from tumblehome.fitout import Layout, Module
    from tumblehome.sweep import Prism

    Floats = NDArray[np.float64]

__all__ = ["check_motions", "swept"]

_PLAY: Final = 0.5
"""A module is drawn in by this on every side before it moves, mm: what it glides along is no fault."""
_BULGE: Final = 0.25
"""The most by which what a turn is reckoned to sweep reaches beyond what it does, mm; less than the play."""
_LEAST_VOLUME: Final = 1.0
"""An overlap of less than this is the kernel's noise, mm3."""
_UP: Final = np.array([0.0, 0.0, 1.0])
_Foul = tuple[float, str, tuple[float, float, float]]
"""What lies in a region that is swept: liters, name and place."""


def check_motions(layouts: Sequence[Layout]) -> dict[str, list[Finding]]:
    """Return by mode whether each module that slides, turns or folds into its place there finds its way free.

    Parameters
    ----------
    layouts : one a mode; the ways begin in the first

    Notes
    -----
    A straight slide sweeps the convex hull of its ends; a turn is followed in steps, each held by the hull of its ends and of
    the points where their tangents meet. Only what stays as it is in both modes is in the way: what else moves may move first.

    Raises
    ------
    LayoutError
        For a way of a module that has no place in the first mode, that changes its shape, or that does not turn.
    """
    first = layouts[0]
    return {layout.mode: [_way(first, layout, name) for name in _on_their_way(first, layout)] for layout in layouts}


def _on_their_way(first: Layout, layout: Layout) -> Iterator[str]:
    if layout is not first:
        yield from (name for name, way in layout.ways.items() if way != "carried")


def _way(first: Layout, layout: Layout, name: str) -> Finding:
    way = layout.ways[name]
    before = next((module for module in first.modules if module.name == name), None)
    if before is None:
        raise LayoutError(
            f"'{name}' has no place in mode '{first.mode}' from which it {way}; write way = \"carried\"",
            file=layout.file,
        )
    try:
        tried = [_fouled(first, layout, region) for region in swept(before, layout.module(name), way)]
    except LayoutError as fault:
        raise fault.at(file=layout.file, key=f"mode '{layout.mode}'") from fault
    fouls = min(tried, key=lambda found: sum(volume for volume, _, _ in found))
    question = f"way to {layout.mode}"
    if not fouls:
        return Finding(
            name, question, "clear", said=dict.fromkeys(("mm", "in"), f"{way} there from {first.mode}, free")
        )
    volume, cause, at = max(fouls)
    names = " and ".join(dict.fromkeys(cause for _, cause, _ in sorted(fouls, reverse=True)))
    words = f"{way} into {names} on its way from {first.mode}, by"
    said = {units: f"{words} {volume_words(volume, units)}" for units in ("mm", "in")}
    return Finding(name, question, "fouls", where=at, cause=cause, volume=volume, said=said)


def _fouled(first: Layout, layout: Layout, region: Solid) -> list[_Foul]:
    """Return what lies in a region that is swept."""
    stood = {module.name: module for module in first.modules}
    staying = [m for m in layout.modules if m.parent is None and m.name in stood and _stays(stood[m.name], m)]
    return [found for module in staying for found in _in_module(module, region)] + _in_shell(layout.shell, region)


@remembered
def _in_module(module: Module, region: Solid) -> list[_Foul]:
    return _told(module.name, module.solid & region) if module.solid.comes_near(region) else []


@remembered
def _in_shell(shell: Shell, region: Solid) -> list[_Foul]:
    """Return which members lie in a region, and what of it lies outside of the body."""
    members = [part for part in shell.parts if not part.gives and shell.cutter_of(part).comes_near(region)]
    found = [foul for part in members for foul in _told(part.name, shell.solid_of(part.name) & region)]
    outside = region - shell.base
    return found + (_told(_wall_at(shell, outside), outside) if outside.volume > _LEAST_VOLUME else [])


def _told(name: str, shared: Solid) -> list[_Foul]:
    return [(shared.volume / 1e6, name, _middle(shared))] if shared.volume > _LEAST_VOLUME else []


def _stays(before: Module, after: Module) -> bool:
    """Whether a module stands as it did."""
    return before is after or bool(np.abs(np.subtract(before.bounds, after.bounds)).max() <= CONTACT)


def _wall_at(shell: Shell, outside: Solid) -> str:
    """Return the name of the skin that a solid beyond it is nearest to."""
    surface = shell.base.surface
    middles = surface.triangles.mean(axis=1)
    nearest = int(np.linalg.norm(middles - np.array(_middle(outside)), axis=1).argmin())
    return shell.name_at(surface.names[surface.part[nearest]], middles[nearest])


def _middle(solid: Solid) -> tuple[float, float, float]:
    low, high = solid.bounds
    x, y, z = ((low + high) / 2).tolist()
    return x, y, z


@remembered
def swept(before: Module, after: Module, way: str) -> list[Solid]:
    """Return what a rigid module sweeps on its way from one place to another; two solids where it may turn either way.

    Parameters
    ----------
    before, after : the module in both places
    way : "slides" in a straight line, "turns" about an upright axis or "folds" about a level one

    Raises
    ------
    LayoutError
        For a scribed module, one that changes its shape, or a turn between places that none joins.
    """
    if before.kind != "rigid" or after.kind != "rigid":
        raise LayoutError(f"'{after.name}' is scribed to the wall, so it stays; write way = \"carried\"")
    if way == "slides":
        return [_slid(before, after)]
    if way == "turns":
        return [_turned(before, turn) for turn in _turns(before, after)]
    return [_turned(before, _fold(before, after))]


def _slid(before: Module, after: Module) -> Solid:
    if [len(p.outline) for p in before.body] != [len(p.outline) for p in after.body]:
        raise LayoutError(f"'{after.name}' changes its shape on its way; a slide keeps its boxes")
    ends = zip(before.body, after.body, strict=True)
    return unite(Solid.hull(np.concatenate([_corners(a), _corners(b)]), after.name) for a, b in ends)


def _corners(prism: Prism) -> Floats:
    """Return the corners of a prism drawn in by the play, (2 k, 3)."""
    middle = prism.outline.mean(axis=0)
    half = np.ptp(prism.outline, axis=0) / 2
    inner = middle + (prism.outline - middle) * np.clip(1 - _PLAY / half, 0.5, 1.0)
    tall = min(_PLAY, (prism.top - prism.bottom) / 4)
    ends = [np.full((len(inner), 1), z) for z in (prism.bottom + tall, prism.top - tall)]
    return np.concatenate([np.hstack([inner, end]) for end in ends])


class _Turn:
    """A turn about an axis through a (3,) center, along a (3,) unit vector, by radians."""

    def __init__(self, center: Floats, axis: Floats, angle: float):
        self.center, self.axis, self.angle = center, axis, angle

    def turned(self, points: Floats, share: float, stretch: float = 1.0) -> Floats:
        """Return (k, 3) points after a share of the turn, their distance from the axis stretched."""
        arms = points - self.center
        along = np.outer(arms @ self.axis, self.axis)
        arms, angle = arms - along, share * self.angle
        moved = arms * np.cos(angle) + np.cross(self.axis, arms) * np.sin(angle)
        result: Floats = self.center + along + stretch * moved
        return result

    def radius(self, points: Floats) -> float:
        """Return the greatest distance of (k, 3) points from the axis, mm."""
        arms = points - self.center
        return float(np.linalg.norm(arms - np.outer(arms @ self.axis, self.axis), axis=1).max())


def _turned(before: Module, turn: _Turn) -> Solid:
    return unite(step for prism in before.body for step in _steps(_corners(prism), turn, before.name))


def _steps(points: Floats, turn: _Turn, name: str) -> Iterator[Solid]:
    radius = max(turn.radius(points), _BULGE)
    count = max(1, ceil(abs(turn.angle) / (2 * acos(radius / (radius + _BULGE)))))
    stretch = 1 / cos(turn.angle / count / 2)
    for start, end in pairwise(np.linspace(0.0, 1.0, count + 1).tolist()):
        ends = [turn.turned(points, start), turn.turned(points, end)]
        yield Solid.hull(np.concatenate([*ends, turn.turned(points, (start + end) / 2, stretch)]), name)


def _turns(before: Module, after: Module) -> list[_Turn]:
    """Return the turns about an upright axis that take a module from one place to the other, one or two."""
    one, other = before.frame, after.frame
    if abs(one.origin[2] - other.origin[2]) > _PLAY or not np.allclose(_own_size(before), _own_size(after), atol=_PLAY):
        raise LayoutError(f"'{after.name}' changes its height or shape on its way; a turn keeps both")
    cosine, sine = float(one.right @ other.right), float(one.right[0] * other.right[1] - one.right[1] * other.right[0])
    angle = float(np.arctan2(sine, cosine))
    if abs(angle) < 1e-6:
        raise LayoutError(
            f"'{after.name}' faces the same way in both places, so it does not turn; write way = \"slides\""
        )
    rotation = np.array([[cosine, -sine], [sine, cosine]])
    center = np.linalg.solve(np.eye(2) - rotation, other.origin[:2] - rotation @ one.origin[:2])
    angles = (angle, -angle) if abs(abs(angle) - pi) < 1e-6 else (angle,)
    return [_Turn(np.append(center, 0.0), _UP, each) for each in angles]


def _own_size(module: Module) -> tuple[float, float, float]:
    return module.wide, module.deep, module.high


def _fold(before: Module, after: Module) -> _Turn:
    """Return the quarter turn about a level axis along the face that takes one box to another, the nearer of the two."""
    right, away = np.append(before.frame.right, 0.0), np.append(before.frame.away, 0.0)
    low, high = (np.array([before.deep, before.high]), np.array([after.deep, after.high]))
    along = float((after.center - before.center) @ right)
    if not np.allclose(low, high[::-1], atol=_PLAY) or abs(along) > _PLAY or abs(before.wide - after.wide) > _PLAY:
        raise LayoutError(
            f"'{after.name}' does not fold from one place to the other: its depth there must be its height here, and its "
            "height there its depth here, at the same place along its face"
        )
    a, b = (np.array([module.center @ away, module.center @ _UP]) for module in (before, after))
    tried = []
    for angle in (pi / 2, -pi / 2):
        rotation = np.array([[0.0, -np.sign(angle)], [np.sign(angle), 0.0]])
        hinge = np.linalg.solve(np.eye(2) - rotation, b - rotation @ a)
        beyond = float(np.linalg.norm(np.maximum(np.abs(hinge - a) - low / 2, 0.0)))
        center = before.center @ right * right + hinge[0] * away + hinge[1] * _UP
        tried.append((beyond, _Turn(center, right, angle)))
    return min(tried, key=lambda entry: entry[0])[1]
