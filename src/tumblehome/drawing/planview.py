"""What do things cover in a plan that is told within heights: seen from above, whatever of them lies between two of them?"""

from __future__ import annotations

from typing import TYPE_CHECKING

from tumblehome.carrying.freeplan import regions_of, shadow_of
from tumblehome.drawing.regions import joined, pieces, shared
from tumblehome.solids import outline_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    import shapely

    from tumblehome.drawing.cutscene import CutScene
    from tumblehome.solids import Solid

    Span = tuple[float, float]

__all__ = ["members_within", "shadow"]


def shadow(solid: Solid, heights: Span) -> shapely.Geometry:
    """Return what a solid covers in plan within heights, mm."""
    return joined(regions_of(outline_of(shadow_of(solid, heights))))


def members_within(scene: CutScene, heights: Span) -> Iterator[tuple[str, Sequence[shapely.Polygon]]]:
    """Yield what each member of a plan's shell takes of the cut interior at any of some heights, mm, by name."""
    for part in scene.shell.parts:
        if not part.gives:
            covered = shared(shadow(scene.shell.solid_of(part.name), heights), scene.interior)
            yield part.name, pieces(covered)
