"""What a turning thing covers at some angle and at every angle, held against the thing itself at many angles."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely

from tumblehome.carrying.footprint import Body, Footprint
from tumblehome.errors import InputError
from tumblehome.sweep import Prism

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

OBLONG = np.array([(-270.0, -280.0), (270.0, -280.0), (270.0, 280.0), (-270.0, 280.0)])
ASIDE = OBLONG * 0.1 + (300.0, 50.0)
"""Far from the point that it turns about."""
WEDGE = np.array([(-665.0, -235.0), (665.0, -95.0), (665.0, 95.0), (-665.0, 235.0)])
SHAPES = {"oblong": OBLONG, "aside": ASIDE, "wedge": WEDGE}


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("span", [(0.0, 0.5), (0.3, 0.31), (2.0, 2.1), (-0.01, 0.01)])
def test_over_holds_it_at_every_angle_and_within_is_held(shape: str, span: tuple[float, float]) -> None:
    footprint = Footprint.of_points(SHAPES[shape])
    over = shapely.Polygon(footprint.over(*span)).buffer(1e-6)
    inner = footprint.within(*span)
    within = shapely.Polygon(inner) if inner is not None else shapely.Polygon()
    for angle in np.linspace(*span, 41):
        turned = shapely.Polygon(footprint.at(angle))
        assert over.covers(turned)
        assert within.is_empty or turned.buffer(1e-6).covers(within)
    if shape != "aside" or span[1] - span[0] < 0.2:
        assert not within.is_empty


def test_both_meet_the_thing_itself_as_the_interval_shrinks() -> None:
    footprint = Footprint.of_points(WEDGE)
    own = shapely.Polygon(WEDGE)
    for width in (1e-2, 1e-3, 1e-4):
        inner = footprint.within(0.0, width)
        assert inner is not None
        assert shapely.Polygon(footprint.over(0.0, width)).hausdorff_distance(own) <= footprint.radius * width
        assert shapely.Polygon(inner).hausdorff_distance(own) <= 4 * footprint.radius * width


@pytest.mark.parametrize("by", [-200.0, -10.0, 0.0, 25.0])
def test_grown_moves_every_side_of_a_rectangle(by: float) -> None:
    corners = Footprint.of_points(OBLONG).grown(by).outline
    assert corners.max(axis=0) == pytest.approx((270 + by, 280 + by))
    assert corners.min(axis=0) == pytest.approx((-270 - by, -280 - by))


def test_nothing_is_left_of_what_is_drawn_in_too_far() -> None:
    with pytest.raises(ValueError, match="nothing is left"):
        Footprint.of_points(OBLONG).grown(-270)
    with pytest.raises(InputError, match="without area"):
        Footprint.of_points([(0, 0), (1, 0), (2, 0)])


@pytest.mark.parametrize(
    ("outline", "turn"),
    [(OBLONG, np.pi), ([(0, 0), (2, 0), (2, 2), (0, 2)], np.pi / 2), (WEDGE, 2 * np.pi)],
)
def test_after_its_period_it_looks_the_same(outline: Floats, turn: float) -> None:
    body = Body.of_prisms([Prism(np.asarray(outline, dtype=float), 0.0, 1.0)])
    assert body.period == pytest.approx(turn)


def test_a_body_keeps_the_heights_of_its_parts() -> None:
    prisms = [Prism(OBLONG + 1000, 698.0, 724.0), Prism(ASIDE + 1000, 0.0, 698.0)]
    body = Body.of_prisms(prisms)
    assert body.heights == ((698.0, 724.0), (0.0, 698.0))
    assert (body.foot, body.top) == (0.0, 724.0)
    for part, prism in zip(body.parts, prisms, strict=True):
        apart = shapely.Polygon(part.outline + body.center).symmetric_difference(shapely.Polygon(prism.outline))
        assert apart.area < 1e-6
