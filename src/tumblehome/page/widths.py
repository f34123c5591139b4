"""How wide is the van at every crossing of the page's heights and stations, empty and furnished, and why no wider?"""

from __future__ import annotations

from typing import TYPE_CHECKING

from tumblehome.cuts import width
from tumblehome.page.wording import NOTHING, packed

if TYPE_CHECKING:
    from tumblehome.cuts import Limit
    from tumblehome.cuts.width import Space
    from tumblehome.fitout import Layout
    from tumblehome.page.flat import Steps
    from tumblehome.page.wording import Pool

__all__ = ["width_tables"]

_COLUMNS = ("usable", "left", "right", "why_left", "why_right")


def width_tables(layout: Layout, steps: Steps, pool: Pool) -> dict[str, object]:
    """Return the widths of the empty van ("bare") and between its modules ("fitted"), and the names of what limits them.

    Every table is (heights, stations), packed row by row: "usable", "left" and "right" hold numbers of texts in the pool,
    "why_left" and "why_right" numbers of names. Where the centerline is not free there is no width, and both name what
    stands there.
    """
    names: dict[str, int] = {}
    spaces: dict[str, Space] = {"bare": layout.shell, "fitted": layout}
    tables: dict[str, object] = {key: _table(space, steps, pool, names) for key, space in spaces.items()}
    return tables | {"names": list(names)}


def _table(space: Space, steps: Steps, pool: Pool, names: dict[str, int]) -> dict[str, str]:
    crossings = [(height, station) for height in steps.heights for station in steps.stations]
    rows = [_crossing(space, height, station, pool, names) for height, station in crossings]
    return {key: packed(column, "u2") for key, column in zip(_COLUMNS, zip(*rows, strict=True), strict=True)}


def _crossing(space: Space, height: float, station: float, pool: Pool, names: dict[str, int]) -> tuple[int, ...]:
    """Return the numbers for one crossing, in the order of the columns."""
    found = width(space, height=height, station=station)
    if found.left is None or found.right is None or found.usable is None:
        stands = names.setdefault(found.blocked_by or "", len(names))
        return NOTHING, NOTHING, NOTHING, stands, stands
    lengths = (found.usable, found.left.half_breadth, found.right.half_breadth)
    return *map(pool.number, lengths), *(_number_of(side, names) for side in (found.left, found.right))


def _number_of(side: Limit, names: dict[str, int]) -> int:
    return names.setdefault(side.part, len(names))
