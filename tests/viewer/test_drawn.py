"""What a cut shows of modules that are hidden: not them, but what they leave free."""

from __future__ import annotations

import pytest

from tumblehome.viewer.drawn import Cut, Pane, drawn_cut
from vans import BOX, layout, module, van

FITTED = layout(van(BOX), *(module(side, 600, 450, 1500, against=side, station=1000) for side in ("left", "right")))


@pytest.mark.parametrize(("axis", "at", "size"), [(0, 1300.0, (700, 520)), (2, 1200.0, (1100, 500))])
def test_what_is_hidden_is_left_out_and_still_counts(axis: int, at: float, size: tuple[int, int]) -> None:
    """Between the two of them are 1600 - 2 * 450 = 700."""
    pane = Pane(axis, *size)
    for hidden in (frozenset[str](), frozenset({"left"}), frozenset({"left", "right"})):
        drawn = drawn_cut(FITTED.shell, FITTED.modules, (), Cut(pane, at, "mm", hidden))
        svg, things = str(drawn["svg"]), drawn["things"]
        assert isinstance(things, list)
        assert ">aisle 700<" in svg
        assert {name for kind, name, _ in things if kind == "module"} == {"left", "right"} - hidden
        assert {name for name in ("left", "right") if f">{name} (hidden)<" in svg} == hidden
