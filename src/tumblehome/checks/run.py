"""All checks of a layout, in the order of its modules."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tumblehome.checks._standing import Standing
from tumblehome.checks.neighbors import check_neighbors
from tumblehome.checks.place import check_place
from tumblehome.checks.walls import check_walls
from tumblehome.checks.zones import check_zones

if TYPE_CHECKING:
    from collections.abc import Callable

    from tumblehome.checks.finding import Finding
    from tumblehome.fitout import Layout

__all__ = ["check"]


def check(layout: Layout, *, progress: Callable[[str], None] | None = None) -> list[Finding]:
    """Return every finding about every module of a layout.

    Parameters
    ----------
    layout : Layout
    progress : called with each module's name before it is checked
    """
    findings: list[Finding] = []
    standing_free = [module for module in layout.modules if module.parent is None]
    layout.room.prepare([*(m.body for m in standing_free), *(m.hull for m in standing_free if m.hull is not m.body)])
    for module in layout.modules:
        if progress:
            progress(module.name)
        standing = Standing(layout, module)
        for question in (check_walls, check_neighbors, check_zones, check_place):
            findings += question(standing)
    return findings
