"""What of the picture in the round is sent again: what changed, and the person only when it has to step aside."""

from __future__ import annotations

import base64
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from tumblehome.drawing.mannequin import person
from tumblehome.drawing.van import standing_place
from tumblehome.viewer.rounded import RoundNews, RoundShell
from vans import BOX, layout, module, van

if TYPE_CHECKING:
    from tumblehome.fitout import Layout

PLAN = layout(
    van(BOX),
    module("person", 400, 400, 500, station=200, against="left"),
    module("crate", 300, 300, 300, station=3400, against="right"),
    module("chest", 400, 300, 500, station=2500, against="left"),
)
SHELL = RoundShell(PLAN.shell)


def _with(**places: dict[str, Any]) -> Layout:
    """Return the plan with some of its modules made anew, as a box elsewhere."""
    fresh = layout(van(BOX), *(module(name, 300, 300, 300, **place) for name, place in places.items()))
    modules = tuple(fresh.module(m.name) if m.name in places else m for m in PLAN.modules)
    return replace(PLAN, modules=modules)


def _since(news: RoundNews, one: Layout) -> Any:
    return news.since(SHELL, one)


def _people(told: dict[str, Any]) -> list[str]:
    return [mesh["name"] for mesh in told["meshes"] if mesh["kind"] == "person"]


def test_the_person_is_sent_again_only_when_it_has_to_step_aside() -> None:
    news = RoundNews()
    (name,) = _people(_since(news, PLAN))
    place = standing_place(PLAN)
    assert place is not None
    aside = _since(news, _with(crate={"station": 3200, "against": "right"}))
    assert (_people(aside), name in aside["gone"]) == ([], False)
    barred = _with(crate={"station": place[0] - 150, "breadth": place[1] - 150})
    told = _since(news, barred)
    assert (_people(told), name in told["gone"]) == ([name], True)
    back = _since(news, PLAN)
    assert (_people(back), name in back["gone"]) == ([], False)


def test_it_stays_where_it_stood_only_as_long_as_no_place_is_freer() -> None:
    place = standing_place(PLAN)
    assert place is not None
    stood = place[0] - 200, place[1]
    assert standing_place(PLAN, stood) == stood
    beside_the_chest = 2700.0, -150.0  # 350 from it, where elsewhere 400 are free on all sides
    assert standing_place(PLAN, beside_the_chest) == pytest.approx(place)


def test_a_module_that_bears_its_name_is_not_taken_for_it() -> None:
    news = RoundNews()
    told = _since(news, PLAN)
    (name,) = _people(told)
    assert name not in {m.name for m in PLAN.modules}
    place = standing_place(PLAN)
    assert place is not None
    after = _since(news, _with(crate={"station": place[0] - 150, "breadth": place[1] - 150}))
    assert "person" not in after["gone"]


def test_the_figure_is_the_mannequin_but_for_what_no_client_measures() -> None:
    """Its corners lie within 3 mm of the box about the mannequin, and it fills 98 % of it: the kernel's own volume."""
    mesh = next(m for m in _since(RoundNews(), PLAN)["meshes"] if m["kind"] == "person")
    corners = np.frombuffer(base64.b64decode(mesh["corners"]), dtype="<i2").reshape(-1, 3) * SHELL.packing.grain
    place = standing_place(PLAN)
    assert place is not None
    low, high = person(at=place).bounds
    assert np.abs(corners.min(axis=0) - low).max() < 3 + SHELL.packing.grain
    assert np.abs(corners.max(axis=0) - high).max() < 3 + SHELL.packing.grain
    faces = np.frombuffer(base64.b64decode(mesh["seams"][0][1]), dtype="<u4").reshape(-1, 3)
    a, b, c = corners[faces].swapaxes(0, 1)
    volume = np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6
    assert 0.98 * person().volume < volume < 1.02 * person().volume
