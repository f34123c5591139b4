"""Does a module stand on what it is said to stand on?"""

from __future__ import annotations

from typing import TYPE_CHECKING

from tumblehome.checks.finding import Finding
from tumblehome.lengths import shown
from tumblehome.tolerances import STANDS

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tumblehome.checks._standing import Standing

__all__ = ["check_support"]


def check_support(standing: Standing) -> Iterator[Finding]:
    """Yield how far below a module that is said to stand on something what it would fall on is.

    Nothing is said of one that stands, were it by an edge, that hangs or is inside another one, or that fouls something.
    """
    module = standing.module
    if module.support is None or standing.fouled or not standing.is_inside:
        return
    below = standing.below
    if below is None or below.distance <= STANDS:
        return
    yield Finding(
        module.name, "support", "fouls", below.distance,
        where=(float(below.at[0]), float(below.at[1]), float(below.at[2])), direction="down", cause=below.part,
        said={u: f"stands on nothing: {below.part} is {shown(below.distance, u)} below it" for u in ("mm", "in")},
    )  # fmt: skip
