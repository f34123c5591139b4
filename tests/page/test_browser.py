"""The client's page in a real browser, opened from the disk with the network off, on a desktop and on a phone held upright."""

from __future__ import annotations

import io
import re
from contextlib import contextmanager
from itertools import combinations
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
import shapely
from PIL import Image

import tumblehome as th
from chromium import browser
from page.conftest import Parsed, wedge_in
from tumblehome.drawing import palette
from tumblehome.page import build_page

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

__all__ = ["browser"]

_DEVICES: dict[str, dict[str, Any]] = {
    "desktop": {"viewport": {"width": 1280, "height": 720}},
    "phone": {"viewport": {"width": 390, "height": 844}, "is_mobile": True, "has_touch": True},
}
_VIEWS = ("corner", "above", "doorway", "left side", "right side")


@contextmanager
def visit(browser: Any, file: Path, device: str = "desktop", **more: Any) -> Iterator[Any]:
    """Open a file with no network; afterwards nothing may have been asked for but it, and nothing gone wrong."""
    context = browser.new_context(**_DEVICES[device], reduced_motion="reduce", **more)
    context.set_offline(True)
    asked: list[str] = []
    wrong: list[str] = []
    page = context.new_page()
    page.on("request", lambda request: asked.append(request.url))
    page.on("console", lambda message: wrong.append(message.text) if message.type in {"error", "warning"} else None)
    page.on("pageerror", lambda error: wrong.append(str(error)))
    page.on("dialog", lambda dialog: wrong.append(dialog.message))
    page.goto(file.as_uri())
    settle(page)
    yield page
    context.close()
    assert [url for url in asked if not url.startswith("data:")] == [file.as_uri()]
    assert not [text for text in wrong if "GPU stall" not in text]  # software drawing complains of being read back


def settle(page: Any) -> None:
    """Wait until the picture shows what was asked for last, names and all."""
    page.wait_for_timeout(40)
    page.wait_for_selector('.stage[aria-busy="false"]')


def picture(page: Any) -> Any:
    """Return the pixels (h, w, 3) of the van in the round, names left out."""
    page.evaluate("document.getElementById('tags').hidden = true")
    shot = page.locator("#round").screenshot()
    page.evaluate("document.getElementById('tags').hidden = false")
    return np.asarray(Image.open(io.BytesIO(shot)).convert("RGB")).astype(int)


def share_of(pixels: Any, color: str) -> float:
    """Return the share of pixels that are of a color, to within what smoothing does."""
    wanted = np.array([int(color[i : i + 2], 16) for i in (1, 3, 5)])
    return float((np.abs(pixels - wanted).max(axis=2) <= 2).mean())


def changed(one: Any, other: Any) -> float:
    return float((np.abs(one - other).max(axis=2) > 8).mean())


@pytest.fixture(scope="module")
def wedge_file(wedge_page: str, tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("page") / "plan of the wedge.html"
    file.write_text(wedge_page, encoding="utf-8")
    return file


@pytest.fixture(scope="module")
def demo_file(demo_page: str, tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("page") / "demo.html"
    file.write_text(demo_page, encoding="utf-8")
    return file


@pytest.mark.parametrize("device", _DEVICES)
def test_it_opens_and_shows_the_van(browser: Any, demo_file: Path, device: str) -> None:
    with visit(browser, demo_file, device) as page:
        assert page.title() == "Two players and a cello, day"
        wide = _DEVICES[device]["viewport"]["width"]
        assert page.evaluate("document.documentElement.scrollWidth") == wide
        pixels = picture(page)
        ground = share_of(pixels, palette.AIR)
        assert 0.2 < ground < 0.8
        assert len(np.unique(pixels.reshape(-1, 3), axis=0)) > 100
        ys, xs = np.nonzero(np.abs(pixels - pixels[2, 2]).max(axis=2) > 8)
        assert np.ptp(xs) > 0.5 * pixels.shape[1]  # it fills the picture
        assert np.ptp(ys) > 0.5 * pixels.shape[0]
        assert page.locator("#no-round").is_hidden()


@pytest.mark.parametrize("device", _DEVICES)
def test_sliders_show_the_librarys_numbers(browser: Any, wedge_file: Path, wedge: th.Layout, device: str) -> None:
    data = Parsed(wedge_file.read_text(encoding="utf-8")).data
    heights, stations = data["heights"]["at"], data["stations"]["at"]
    with visit(browser, wedge_file, device) as page:
        for height, station in ((500.0, 2200.0), (1200.0, 2200.0), (850.0, 1050.0), (1600.0, 500.0)):
            for key, value in (("height", heights.index(height)), ("station", stations.index(station))):
                page.locator(f"#{key}").fill(str(value))
            assert page.inner_text("#section-title") == f"Station {th.format_length(station, 'mm')} mm"
            assert page.inner_text("#plan-title") == f"Plan at height {th.format_length(height, 'mm')} mm"
            for key, space in (("bare", wedge.shell), ("fitted", wedge)):
                said = page.inner_text(f"#{key}")
                found = th.width(space, height=height, station=station)
                if found.usable is None or found.left is None or found.right is None:
                    assert said.endswith(f"none; on the centerline stands {found.blocked_by}.")
                    continue
                wanted = [f"{th.format_length(mm, 'mm')} mm" for mm in (
                    found.usable, found.left.half_breadth, found.right.half_breadth)]  # fmt: skip
                assert page.inner_text(f"#{key} b") == wanted[0]
                assert f"left {wanted[1]} to {found.left.part}, right {wanted[2]} to {found.right.part}." in said
                if key == "fitted":
                    assert page.locator("#section text", has_text=wanted[0]).count() == 1
                    assert page.locator("#plan text", has_text=wanted[0]).count() == 1


def test_sliders_move_by_keys_and_say_where_they_are(browser: Any, wedge_file: Path) -> None:
    with visit(browser, wedge_file) as page:
        page.locator("#height").fill("20")
        page.locator("#height").press("ArrowRight")
        assert page.locator("#height").get_attribute("aria-valuetext") == "1100 mm"
        assert page.inner_text("#height-shown") == "1100 mm"
        page.check("#units-in")
        assert page.locator("#height").get_attribute("aria-valuetext") == th.format_length(1100, "in")
        assert page.inner_text("#bare b") == th.format_length(2 * (900 - 110), "in")


def test_turning_changes_the_picture(browser: Any, wedge_file: Path) -> None:
    with visit(browser, wedge_file) as page:
        seen = [picture(page)]
        box = page.locator("#round").bounding_box()
        x, y = box["x"] + box["width"] / 2, box["y"] + 20
        page.mouse.move(x, y)
        page.mouse.down()
        page.mouse.move(x + 160, y + 30, steps=4)
        page.mouse.up()
        settle(page)
        seen.append(picture(page))
        page.mouse.move(x, y)
        page.mouse.wheel(0, -300)
        settle(page)
        seen.append(picture(page))
        page.focus("#round")
        page.keyboard.press("ArrowLeft")
        settle(page)
        seen.append(picture(page))
        page.keyboard.press("1")
        settle(page)
        back = picture(page)
        assert min(changed(one, other) for one, other in combinations(seen, 2)) > 0.02
        assert changed(back, seen[0]) < 0.001


def test_two_fingers_come_nearer(browser: Any, wedge_file: Path) -> None:
    with visit(browser, wedge_file, "phone") as page:
        before = share_of(picture(page), palette.AIR)
        page.evaluate("""() => {
            const canvas = document.getElementById("round");
            canvas.setPointerCapture = () => {};
            const at = canvas.getBoundingClientRect();
            const [x, y] = [at.x + at.width / 2, at.y + at.height / 2];
            const send = (type, id, dx) => canvas.dispatchEvent(new PointerEvent(type, {
                pointerId: id, pointerType: "touch", clientX: x + dx, clientY: y, bubbles: true }));
            send("pointerdown", 1, -40);
            send("pointerdown", 2, 40);
            for (let i = 1; i < 6; i++) { send("pointermove", 1, -40 - 6 * i); send("pointermove", 2, 40 + 6 * i); }
            send("pointerup", 1, -70);
            send("pointerup", 2, 70);
        }""")
        settle(page)
        assert share_of(picture(page), palette.AIR) < before - 0.1


def test_cut_faces_are_filled(browser: Any, wedge_file: Path) -> None:
    """A cut across the walls shows their steel, and the box's inside; a slider moves the cut."""
    with visit(browser, wedge_file) as page:
        whole = share_of(picture(page), palette.STEEL)
        for button in page.locator("#views button").all():
            if button.inner_text() == "above":
                button.click()
        settle(page)
        page.locator("#height").fill("12")
        settle(page)
        page.evaluate("document.activeElement.blur()")
        low = picture(page)
        assert share_of(low, palette.STEEL) > whole + 0.02
        page.locator("#height").fill("25")
        settle(page)
        assert changed(low, picture(page)) > 0.02
        page.select_option("#cut", "none")
        settle(page)
        assert changed(low, picture(page)) > 0.02


@pytest.mark.parametrize("device", _DEVICES)
def test_a_module_tells_about_itself(browser: Any, wedge_file: Path, wedge: th.Layout, device: str) -> None:
    """A tap on it, where its name stands in the picture, or in a drawing, or in the list."""
    finding = next(f for f in th.check(wedge) if f.question == "walls")
    with visit(browser, wedge_file, device) as page:
        tag = page.locator("#tags span", has_text="box").bounding_box()
        at = (tag["x"] + tag["width"] / 2, tag["y"] + tag["height"] / 2)
        (page.touchscreen.tap if device == "phone" else page.mouse.click)(*at)
        page.wait_for_selector("#card b")
        assert page.inner_text("#card b") == "box"
        assert "600 × 400 × 1000 mm" in page.inner_text("#card")
        detail = page.inner_text(".detail")
        assert f"{finding.question}: {finding.words('mm')}" in detail
        assert "20 kg" in detail
        assert page.get_attribute("#thing-0", "aria-expanded") == "true"
        page.check("#units-in")
        assert finding.words("in") in page.inner_text(".detail")
        page.locator("#height").fill("10")
        chosen = page.locator("#plan .module")
        assert "chosen" in (chosen.get_attribute("class") or "")
        chosen.click()
        assert page.locator(".detail").count() == 0


@pytest.mark.parametrize("device", _DEVICES)
def test_no_name_stands_on_another(browser: Any, demo_file: Path, device: str) -> None:
    boxes = "all => all.map((e) => e.getBoundingClientRect()).map((r) => [r.left, r.top, r.right, r.bottom])"
    with visit(browser, demo_file, device) as page:
        counted = 0
        for view in _VIEWS:
            page.locator("#views button").filter(has_text=re.compile(f"^{view}$")).click()
            settle(page)
            counted += apart(page.eval_on_selector_all("#tags span", boxes), 0.0)
        for height, station in ((8, 30), (16, 37), (20, 60), (28, 75)):
            page.locator("#height").fill(str(height))
            page.locator("#station").fill(str(station))
            for drawing in ("#section", "#plan"):
                counted += apart(page.eval_on_selector_all(f"{drawing} text", boxes), 1.0)
        assert counted > 100


def apart(boxes: list[list[float]], lap: float) -> int:
    """Return how many boxes there are, none of which overlaps another by more than so many pixels either way."""
    for a, b in combinations(boxes, 2):
        assert min(a[2], b[2]) - max(a[0], b[0]) <= lap or min(a[3], b[3]) - max(a[1], b[1]) <= lap, (a, b)
    return len(boxes)


def test_every_control_has_a_name_and_shows_its_focus(browser: Any, wedge_file: Path) -> None:
    """In the order of reading: units, picture, views, cut, what is shown, sliders, modules."""
    with visit(browser, wedge_file) as page:
        controls = page.locator("button, input, select, canvas").all()
        assert len(controls) > 15
        named = page.evaluate("""() => [...document.querySelectorAll("button, input, select, canvas")].map((e) =>
            (e.getAttribute("aria-label") || (e.labels && e.labels[0] && e.labels[0].textContent) || e.textContent).trim())""")
        assert all(named)
        page.evaluate("document.activeElement.blur()")
        order = []
        for _ in range(16):
            page.keyboard.press("Tab")
            order.append(page.evaluate("document.activeElement.id || document.activeElement.textContent"))
        assert order[:7] == ["units-mm", "round", *_VIEWS]
        toggles = [f"show-{key}" for key in ("roof", "near", "module", "member", "shell", "names")]
        assert order[7:] == ["cut", *toggles, "height", "station"]
        outline = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
        assert outline == "solid"


def test_without_webgl_all_else_is_there(browser: Any, wedge_file: Path) -> None:
    context = browser.new_context(viewport={"width": 1280, "height": 720})
    page = context.new_page()
    page.add_init_script("HTMLCanvasElement.prototype.getContext = () => null")
    page.goto(wedge_file.as_uri())
    assert page.locator("#no-round").is_visible()
    page.locator("#height").fill("9")
    assert page.inner_text("#bare b") == "1700 mm"
    context.close()


def test_the_policy_lets_nothing_out(browser: Any, wedge_file: Path) -> None:
    context = browser.new_context()
    page = context.new_page()
    page.goto(wedge_file.as_uri())
    refused = "(url) => fetch(url).then(() => 'sent', () => 'refused')"
    assert page.evaluate(refused, "data:text/plain,x") == "refused"
    assert (
        page.evaluate("""() => { const s = document.createElement("script"); s.textContent = "window.ran = 1";
        document.body.append(s); return typeof window.ran; }""")
        == "undefined"
    )
    context.close()


def test_a_long_name_stays_within_a_phone(browser: Any, tmp_path: Path) -> None:
    """WCAG 2.2, 1.4.10 Reflow: nothing is scrolled across, not even for a name of sixty letters without a gap."""
    van = wedge_in(tmp_path, lambda text: text.replace('name = "box"', f'name = "{"W" * 60}"'))
    file = tmp_path / "plan.html"
    file.write_text(build_page(van, th.check(van)), encoding="utf-8")
    with visit(browser, file, "phone") as page:
        assert page.evaluate("document.documentElement.scrollWidth") == _DEVICES["phone"]["viewport"]["width"]
        page.locator("#things button").first.click()
        box = page.locator("#things .told").first.bounding_box()
        assert box["x"] + box["width"] < _DEVICES["phone"]["viewport"]["width"]


FARTHEST = """() => {
    const view = round.view || round;
    const far = (at, k) => Math.abs(at / view.extent()[k] - 0.5);
    const placed = (mesh, i) => view.placed(cornerOf(mesh, i, view.told.grain)).map(far);
    const corners = (mesh) => Array.from({ length: mesh.corners.length / 3 }, (_, i) => placed(mesh, i));
    return view.visible().flatMap(corners).flat().reduce((most, far) => Math.max(most, far)); }"""
"""How far from the middle of the picture the van reaches: one half is the picture's edge."""


def test_a_view_is_whole_again_when_the_page_is_turned(browser: Any, demo_file: Path) -> None:
    with visit(browser, demo_file) as page:
        for width, height in ((844, 390), (390, 844), (320, 640), (1280, 720)):
            page.set_viewport_size({"width": width, "height": height})
            page.wait_for_timeout(300)
            settle(page)
            assert page.inner_text('#views [aria-pressed="true"]') == "corner"
            assert 0.4 < page.evaluate(FARTHEST) < 0.5


def test_seen_from_above_it_is_cut_where_the_visitor_asked(browser: Any, demo_file: Path) -> None:
    with visit(browser, demo_file) as page:
        height = page.locator("#height")
        begun = height.input_value()
        page.get_by_role("button", name="above", exact=True).click()
        settle(page)
        assert int(height.input_value()) > int(begun)  # two thirds up, where most of it is seen
        height.fill(begun)
        page.get_by_role("button", name="above", exact=True).click()
        settle(page)
        assert height.input_value() == begun


@pytest.mark.parametrize(
    ("pane", "heights", "stations"), [("plan", (1050, 1450), (2100, 2300)), ("section", (950, 1000), (2600, 2900))]
)
def test_the_width_stands_on_no_outline_of_a_module(
    browser: Any, tmp_path: Path, pane: str, heights: tuple[int, ...], stations: tuple[int, ...]
) -> None:
    """The box stands across the centerline, its outline where the middle of the free width is, as its corners say."""
    van = wedge_in(tmp_path, lambda text: text.replace('"-700 mm"', '"-200 mm"'))
    file = tmp_path / "plan.html"
    text = build_page(van, th.check(van))
    file.write_text(text, encoding="utf-8")
    data = Parsed(text).data
    low, high = van.module("box").bounds
    keep = [0, 1] if pane == "plan" else [1, 2]
    outline = shapely.box(*low[keep], *high[keep]).exterior
    with visit(browser, file) as page:
        for height in heights:
            for station in stations:
                page.locator("#height").fill(str(data["heights"]["at"].index(height)))
                page.locator("#station").fill(str(data["stations"]["at"].index(station)))
                patch = page.locator(f"#{pane} .patch")
                x, y, wide, tall = (float(patch.get_attribute(key) or "nan") for key in ("x", "y", "width", "height"))
                assert not shapely.box(x, -y - tall, x + wide, -y).intersects(outline)
