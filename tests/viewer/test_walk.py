"""The first two minutes with the served page, by what it says and shows alone; every number is one of the library's.

All that is used is found by the words on it, or by the name that it has for a screen reader, and stands within the window.
"""

from __future__ import annotations

import re
import shutil
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

import tumblehome as th
from chromium import browser
from tumblehome.studies import sentences, study
from viewer.serving import Served, serving, write_wedge
from viewer.test_view import demo, settle, visit
from wedge import half_breadth

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

__all__ = ["browser", "demo"]

_IN_THE_RECESS = 'against = "left"\ngap = 10                              # air behind the condenser\n'
_IN_THE_AISLE = 'faces = "right"\nbreadth = -255\ngap = 10                              # air behind the condenser\n'


@pytest.fixture
def aisle(tmp_path: Path) -> Iterator[Served]:
    """The demo, its refrigerator moved out of its recess into the aisle, further forward."""
    shutil.copytree(th.bundled_shells()["long-heron"].parent, tmp_path / "van")
    file = tmp_path / "van" / "layout.toml"
    text = file.read_text(encoding="utf-8")
    assert text.count(_IN_THE_RECESS) == text.count("station = 1284\n") == 1
    text = text.replace(_IN_THE_RECESS, _IN_THE_AISLE).replace("station = 1284\n", "station = 700\n")
    file.write_text(text, encoding="utf-8")
    with serving(file) as running:
        yield running


_AGAIN = 20
"""So often a control that has just been replaced is looked for again."""
_IS_SEEN = """it => {
  if (!it.isConnected) return null;
  const box = it.getBoundingClientRect(), at = document.elementFromPoint(box.x + box.width / 2, box.y + box.height / 2);
  return it.contains(at) && box.bottom <= innerHeight;
}"""
"""Whether a control is whole in the window and nothing lies over its middle, in one look; null where it was replaced."""


def in_sight(control: Any) -> Any:
    """Return a control once it is there, seen as the page stands, without scrolling; fails for any other.

    The page may put a new one in its place at any moment, while findings follow: then it is looked for again.
    """
    for _ in range(_AGAIN):
        control.wait_for()
        if (is_seen := control.evaluate(_IS_SEEN)) is not None:
            break
    assert is_seen, control
    return control


def on_the_plan(page: Any, name: str) -> Any:
    plan = page.get_by_role("application", name=re.compile("^Plan at height"))
    return plan.locator("path", has=page.locator("title", has_text=re.compile(f"^{name}$"))).last


def listed(page: Any, name: str) -> Any:
    return page.get_by_role("region", name="What stands in it").get_by_role("button", name=re.compile(f"^{name} "))


def drag(page: Any, name: str, long: float, by: tuple[float, float]) -> None:
    """Drag a module in the plan by millimeters (right, down) of the van; how large it is drawn, a module tells that is so long."""
    box = in_sight(on_the_plan(page, name)).bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    for share in np.array([0.2, 0.4, 0.6, 0.8, 1.0]) * box["width"] / long:
        page.mouse.move(x + share * by[0], y + share * by[1])
        page.wait_for_timeout(30)
    page.mouse.up()
    settle(page)


def saved(page: Any, served: Served) -> th.Layout:
    in_sight(page.get_by_role("button", name="save", exact=True)).click()
    settle(page)
    return th.load_layout(served.file)


def test_a_walk_from_the_usable_width_to_a_gain_and_back(browser: Any, aisle: Served) -> None:
    begun = aisle.file.read_bytes()
    with visit(browser, aisle) as page:
        read_the_width_behind_the_doorway(page, aisle)
        in_sight(listed(page, "refrigerator")).click()
        settle(page)
        drag(page, "refrigerator", 540.0, (590, 700))  # beyond the wall by far, as a hand does
        assert "clear" in listed(page, "refrigerator").inner_text()
        in_sight(page.get_by_role("button", name="push it out to the left")).click()
        settle(page)
        see_what_it_gained(page, saved(page, aisle))
        undo = page.get_by_role("button", name="undo")
        for words in ("take back: push refrigerator to the left", "take back: move refrigerator"):
            assert in_sight(undo).get_attribute("title") == words
            undo.click()
            settle(page)
        assert undo.is_disabled()
        saved(page, aisle)
    assert aisle.file.read_bytes() == begun


def read_the_width_behind_the_doorway(page: Any, served: Served) -> None:
    """Type the height, and step the station slider until it is past the doorway; the width is the library's, as text."""
    height = in_sight(page.get_by_role("textbox", name="Height"))
    height.fill("1.2 m")
    height.press("Enter")
    layout = th.load_layout(served.file)
    (doorway,) = [each for each in layout.shell.doorways if each.side == "right"]
    slider = in_sight(page.get_by_role("slider", name="Station"))
    slider.press("Home")
    settle(page)
    while (station := th.parse_length(slider.get_attribute("aria-valuetext"))) <= doorway.span[1]:
        slider.press("PageUp")
        settle(page)
    usable = th.width(layout, height=1200.0, station=station).usable
    assert usable is not None
    told = in_sight(page.get_by_role("region", name="Usable width there").get_by_text("Usable width, furnished"))
    assert told.inner_text() == f"Usable width, furnished {th.format_length(usable, 'mm')} mm"


def see_what_it_gained(page: Any, layout: th.Layout) -> None:
    told = sentences(study(layout, "refrigerator"), "mm")
    assert told
    in_sight(page.get_by_role("heading", name="What its place gives it"))
    for sentence in told:
        in_sight(page.get_by_text(sentence, exact=True))
    (place,) = [f for f in th.check(layout) if (f.subject, f.question) == ("refrigerator", "place")]
    assert page.get_by_text(f"place: {place.words('mm')}", exact=True).count() == 1
    gains = [effect.gain for effect in study(layout, "refrigerator").effects.single]
    assert f"gives {max(gains):.0f} mm" in told[0]
    assert f"gives {max(gains):.0f} mm" in place.words("mm")


def test_after_a_push_the_gain_is_in_sight(browser: Any, demo: Served) -> None:
    """Pushing is done further down than what it gave is told."""
    with visit(browser, demo) as page:
        listed(page, "refrigerator").click()
        settle(page)
        page.get_by_role("button", name="push out to the left").click()
        settle(page)
        for sentence in sentences(study(th.load_layout(demo.file), "refrigerator"), "mm"):
            in_sight(page.get_by_text(sentence, exact=True))


def test_dragged_far_beyond_the_right_wall_it_stands_at_the_wall(browser: Any, tmp_path: Path) -> None:
    """In the wedge, whose wall leans in: its top meets it first, by the wedge's closed form."""
    with serving(write_wedge(tmp_path)) as running, visit(browser, running) as page:
        drag(page, "box", 400.0, (-100, -4000))
        layout = saved(page, running)
        low, high = layout.module("box").bounds
        assert high[1] == pytest.approx(half_breadth(1000), abs=1e-4)
        assert low[0] == pytest.approx(1900, abs=100)
        assert [f for f in th.check(layout) if f.verdict == "fouls"] == []
        assert "fouls" not in listed(page, "box").inner_text()
