"""Is a doorway as large as an exit should be, with what stands behind it?"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import shapely

from tumblehome.checks.finding import Finding
from tumblehome.lengths import shown
from tumblehome.people.gauge import INCH, STEPPED_OVER
from tumblehome.people.words import said

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tumblehome.body.parts import Doorway
    from tumblehome.people.ground import Floor

__all__ = ["check_egress", "free_through"]

_BOX: Final = (610.0, 1140.0, 300.0)
"""Breadth, height and depth of the box, mm."""
_ELLIPSOID: Final = (20 * INCH, 13 * INCH)
"""Breadth and height of the ellipsoid, mm."""
_SOURCE: Final = (
    "FMVSS 217 S5.4.2.1(a)(1): a box 114 x 61 x 30 cm, its lower face on the floor; S5.4.1: an ellipsoid of 20 x 13 in; "
    "guidance: local codes and licensed practice decide"
)


def free_through(floor: Floor, doorway: Doorway, heights: tuple[float, float], deep: float) -> float:
    """Return the breadth, mm, of the widest box that comes straight in by a doorway.

    Exact: what stands in the doorway's strip of ground is projected onto the doorway; the widest gap counts.

    Parameters
    ----------
    floor : with its doorways open
    heights, deep : of the box, mm; it comes in by its whole depth from where the lined wall is farthest out
    """
    filled = shapely.get_parts(shapely.difference(floor.inside(doorway, deep), floor.region(heights))).tolist()
    across = 1 if doorway.side == "rear" else 0
    spans = sorted((part.bounds[across], part.bounds[across + 2]) for part in filled if not part.is_empty)
    free, reached = 0.0, doorway.span[0]
    for start, end in (*spans, (doorway.span[1], doorway.span[1])):
        free, reached = max(free, start - reached), max(reached, end)
    return free


def check_egress(floor: Floor) -> Iterator[Finding]:
    """Yield for each doorway whether the box or the ellipsoid of a rule for buses passes it: guidance, so never at fault.

    The box stands on the doorway's lower edge, or on what is low enough to be stepped on. The ellipsoid may pass at any height,
    as over a bed; it is held for as large as the box about it.

    Parameters
    ----------
    floor : with its doorways open
    """
    yield from (_judged(floor, door) for door in floor.layout.shell.doorways)


def _judged(floor: Floor, door: Doorway) -> Finding:
    (wide, high, deep), foot = _BOX, max(door.heights[0], 0.0)
    up = door.heights[1] - foot
    free = free_through(floor, door, (max(foot, STEPPED_OVER), foot + min(high, up)), deep)
    passes = free >= wide and up >= high
    other = passes or _ellipsoid_passes(floor, door)

    def words(units: str) -> str:
        size = " × ".join(shown(mm, units) for mm in _BOX[:2])
        told = f"{shown(free, units)} wide at its floor and {shown(up, units)} high: a box {size} "
        if passes:
            return told + "passes"
        return f"{told}does not pass, an ellipsoid of 20 × 13 in {'does' if other else 'does not either'}"

    return Finding(
        door.name, "as an exit", "clear" if passes or other else "tight", free, wide, source=_SOURCE, said=said(words)
    )


def _ellipsoid_passes(floor: Floor, door: Doorway) -> bool:
    """Whether it passes on the doorway's lower edge, or over what stands behind it: room begins nowhere else."""
    wide, high = _ELLIPSOID
    x0, y0, x1, y1 = floor.inside(door, wide).bounds
    standing = (prism for module in floor.layout.modules if module.parent is None for prism in module.hull)
    behind = (p for p in standing if (p.bounds[0][:2] < (x1, y1)).all() and (p.bounds[1][:2] > (x0, y0)).all())
    feet = [door.heights[0], *(prism.top for prism in behind)]
    heights = {(foot, foot + high) for foot in feet if door.heights[0] <= foot <= door.heights[1] - high}
    return any(free_through(floor, door, each, wide) >= wide for each in sorted(heights))
