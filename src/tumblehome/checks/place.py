"""What does a module's place against its wall give it, and what does it cost?"""

from __future__ import annotations

from typing import TYPE_CHECKING

from tumblehome.checks.finding import Finding
from tumblehome.studies import PlaceWords, Study

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tumblehome.checks._standing import Standing

__all__ = ["check_place"]


def check_place(standing: Standing) -> Iterator[Finding]:
    """Yield what gives a module that stands against the left or right wall the most, what costs it the most, and a better place.

    No place is at fault, so it is always clear; nothing is said of what does not exceed the measuring tolerance, of a
    module inside another one, or of one that is not inside the interior at all.
    """
    module = standing.module
    if module.parent is not None or module.against not in {"left", "right"} or not standing.is_inside:
        return
    place = PlaceWords.of(Study(standing.layout, module, module.against))
    said = {units: place.words(units) for units in ("mm", "in")}
    if said["mm"]:
        yield Finding(
            module.name, "place", "clear", place.effects[0].gain if place.effects else None,
            cause=" and ".join(place.parts) or None, tolerance=standing.layout.shell.tolerance_of(place.parts), said=said,
        )  # fmt: skip
