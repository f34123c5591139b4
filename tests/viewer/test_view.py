"""The served page in a real browser: what it shows is what the library says, and what is done on it is in the file.

Contrast, names and focus are held against axe-core's rules for WCAG 2.2 AA.
"""

from __future__ import annotations

import http.server
import io
import re
import shutil
import threading
from contextlib import contextmanager
from itertools import combinations
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from PIL import Image

import tumblehome as th
from chromium import browser
from page.test_browser import apart, changed, share_of
from tumblehome.drawing import palette
from tumblehome.lengths import format_length
from viewer.serving import BOX, Served, serving, write_wedge
from wedge import half_breadth

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

__all__ = ["browser"]

_SCREENS: dict[str, dict[str, Any]] = {
    "laptop": {"viewport": {"width": 1280, "height": 720}},
    "desktop": {"viewport": {"width": 1920, "height": 1080}},
    "tablet": {"viewport": {"width": 1024, "height": 768}, "has_touch": True},
    "upright": {"viewport": {"width": 820, "height": 1180}, "has_touch": True},
}
_QUIET = ("GPU stall", "WebGL-0x")  # software drawing complains of being read back


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    with serving(write_wedge(tmp_path_factory.mktemp("van"))) as running:
        yield running


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    folder = tmp_path_factory.mktemp("demo") / "van"
    shutil.copytree(th.bundled_shells()["long-heron"].parent, folder)
    with serving(folder / "layout.toml") as running:
        yield running


@pytest.fixture
def fresh(tmp_path: Path) -> Iterator[Served]:
    with serving(write_wedge(tmp_path)) as running:
        yield running


@contextmanager
def visit(
    browser: Any, served: Served, screen: str = "laptop", *, script: str = "", quiet: tuple[str, ...] = ()
) -> Iterator[Any]:
    """Open the page; nothing may be asked of another machine, and nothing may go wrong."""
    context = browser.new_context(**_SCREENS[screen], reduced_motion="reduce", accept_downloads=True)
    asked: list[str] = []
    wrong: list[str] = []
    page = context.new_page()
    context.on("request", lambda request: asked.append(request.url))
    page.on("websocket", lambda socket: asked.append(socket.url))
    page.on("console", lambda message: wrong.append(message.text) if message.type in {"error", "warning"} else None)
    page.on("pageerror", lambda error: wrong.append(str(error)))
    if script:
        page.add_init_script(script)
    page.goto(served.address)
    page.wait_for_selector('body[aria-busy="false"]')
    if not script:
        page.wait_for_selector(".stage[aria-busy]")
    settle(page)
    yield page
    context.close()
    here = f"127.0.0.1:{served.port}/{served.secret}/"
    away = [url for url in asked if not re.match(rf"(http|ws)://{re.escape(here)}|(blob|data):", url)]
    assert len(asked) >= 4
    assert away == []
    assert [text for text in wrong if not any(known in text for known in (*_QUIET, *quiet))] == []


_SETTLED = """async () => {
  const isQuiet = () => talk.waiting.size === 0 && changes.waiting.length === 0 && !changes.isBusy
    && (round.failed || document.querySelector(".stage").getAttribute("aria-busy") === "false");
  const end = performance.now() + 30000;
  for (let quiet = 0; quiet < 4; quiet = isQuiet() ? quiet + 1 : 0) {
    if (performance.now() > end) throw new Error("the page does not come to rest");
    await new Promise((done) => setTimeout(done, 25));
    await new Promise((done) => requestAnimationFrame(done));
  }
}"""
"""Waits in the page's own time, however loaded the machine is: what a new size asks for comes 60 ms after its frame."""


def settle(page: Any) -> None:
    """Wait until everything that was asked is answered and drawn, and nothing more is asked for a while."""
    page.evaluate(_SETTLED)


def slide(page: Any, axis: str, text: str) -> None:
    page.locator(f"#{axis}-text").fill(text)
    page.locator(f"#{axis}-text").press("Enter")
    settle(page)


def picture(page: Any) -> Any:
    """Return the pixels (h, w, 3) of the van in the round, names left out."""
    page.evaluate("document.getElementById('tags').hidden = true")
    shot = page.locator("#round").screenshot()
    page.evaluate("document.getElementById('tags').hidden = false")
    return np.asarray(Image.open(io.BytesIO(shot)).convert("RGB")).astype(int)


def shown(mm: float, units: str) -> str:
    return th.format_length(mm, units) + (" mm" if units == "mm" else "")


def choose(page: Any, name: str) -> None:
    page.locator("#things button", has_text=re.compile(f"^{name}")).click()
    settle(page)


def middle_of(page: Any, pane: str, name: str) -> tuple[float, float]:
    """Return the middle of the last shape of that name in a drawing, in one look: a drawing may be redrawn at any moment."""
    x, y = page.evaluate(
        """(selector) => {
          const box = [...document.querySelectorAll(selector)].at(-1).getBoundingClientRect();
          return [box.x + box.width / 2, box.y + box.height / 2];
        }""",
        f'#{pane} .over [data-name="{name}"]',
    )
    return x, y


def dragged(page: Any, pane: str, name: str, by: tuple[float, float]) -> None:
    x, y = middle_of(page, pane, name)
    page.mouse.move(x, y)
    page.mouse.down()
    for share in (0.25, 0.5, 0.75, 1.0):
        page.mouse.move(x + share * by[0], y + share * by[1])
        page.wait_for_timeout(30)
    page.mouse.up()
    settle(page)


# ---- looking ----


@pytest.mark.parametrize("screen", _SCREENS)
def test_it_opens_and_shows_the_van(browser: Any, demo: Served, screen: str) -> None:
    with visit(browser, demo, screen) as page:
        layout = th.load_layout(demo.file)
        assert page.title() == f"{layout.name}, {layout.shell.name}"
        assert page.evaluate("document.documentElement.scrollWidth") <= _SCREENS[screen]["viewport"]["width"]
        if screen in {"laptop", "desktop"}:  # all at one look
            assert page.evaluate("document.documentElement.scrollHeight") <= _SCREENS[screen]["viewport"]["height"]
        pixels = picture(page)
        assert 0.2 < share_of(pixels, palette.AIR) < 0.9
        assert len(np.unique(pixels.reshape(-1, 3), axis=0)) > 100
        for pane in ("section", "plan"):
            box = page.locator(f"#{pane} .under").bounding_box()
            assert min(box["width"], box["height"]) > 150
            assert page.locator(f"#{pane} .under path").count() > 20


@pytest.mark.parametrize("units", ["mm", "in"])
def test_sliders_and_typed_values_give_the_librarys_numbers(browser: Any, served: Served, units: str) -> None:
    layout = th.load_layout(served.file)
    with visit(browser, served) as page:
        page.check(f"#units-{units}", force=True)
        settle(page)
        for height, station in (
            ("500 mm", "2.2 m"),
            ("47 1/4 in", "2200mm"),
            ("85 cm", "1050 mm"),
            ("1600 mm", "1' 8\""),
        ):
            slide(page, "height", height)
            slide(page, "station", station)
            z, x = th.parse_length(height), th.parse_length(station)
            assert page.input_value("#height-text") == shown(z, units)
            assert page.inner_text("#section-title") == f"Station {shown(x, units)}"
            assert page.inner_text("#plan-title") == f"Plan at height {shown(z, units)}"
            assert page.get_attribute("#height", "aria-valuetext") == shown(z, units)
            for key, space in (("bare", layout.shell), ("fitted", layout)):
                found = th.width(space, height=z, station=x)
                if found.usable is None or found.left is None or found.right is None:
                    assert page.inner_text(f"#{key} .half") == f"on the centerline stands {found.blocked_by}"
                    continue
                assert page.inner_text(f"#{key} .sum b") == shown(found.usable, units)
                halves = [each.inner_text() for each in page.locator(f"#{key} .half").all()]
                assert halves == [
                    f"left {shown(found.left.half_breadth, units)} to {found.left.part}",
                    f"right {shown(found.right.half_breadth, units)} to {found.right.part}",
                ]
                if key == "fitted":
                    for pane in ("section", "plan"):
                        assert page.text_content(f"#{pane} .value") == shown(found.usable, units)


def test_a_wrong_value_is_told_with_its_mend(browser: Any, served: Served) -> None:
    with visit(browser, served) as page:
        slide(page, "height", "waist")
        with pytest.raises(th.errors.LengthError) as fault:
            th.parse_length("waist", unit="mm")
        assert page.inner_text("#height-text-wrong") == str(fault.value)
        slide(page, "height", "3 m")
        assert page.inner_text("#height-text-wrong") == "outside the van; it has heights 0 mm to 2000 mm"
        assert page.get_attribute("#height-text", "aria-invalid") == "true"
        slide(page, "height", "1 m")
        assert page.inner_text("#height-text-wrong") == ""
        assert page.inner_text("#bare .sum b") == shown(2 * half_breadth(1000), "mm")


def test_sliders_step_by_keys_and_buttons(browser: Any, served: Served) -> None:
    with visit(browser, served) as page:
        slide(page, "height", "1000")
        height = page.locator("#height")
        steps = [
            ("ArrowRight", 1001),
            ("Shift+ArrowRight", 1011),
            ("Shift+ArrowDown", 1001),
            ("PageUp", 1101),
            ("ArrowLeft", 1100),
        ]
        for key, mm in steps:
            height.press(key)
            settle(page)
            assert page.input_value("#height-text") == shown(mm, "mm")
        page.get_by_role("button", name="Height: more").click()
        settle(page)
        assert page.input_value("#height-text") == "1110 mm"
        page.check("#units-in", force=True)
        slide(page, "height", "40 in")
        height.press("ArrowRight")
        settle(page)
        height.press("Shift+ArrowRight")
        settle(page)
        assert page.input_value("#height-text") == shown(41.0625 * 25.4, "in")


def test_a_field_that_is_told_anew_is_still_typed_over(browser: Any, served: Served) -> None:
    with visit(browser, served) as page:
        slide(page, "height", "1110 mm")
        page.locator("#height-text").select_text()
        page.evaluate("document.getElementById('units-in').click()")  # the focus stays
        settle(page)
        page.keyboard.type("40 in")
        page.keyboard.press("Enter")
        settle(page)
        assert page.input_value("#height-text") == shown(1016, "in")


def test_a_place_under_the_pointer_is_read(browser: Any, served: Served) -> None:
    """The floor's middle in the cross-section: height 0 and half-breadth 0, to within what a pixel is of the van."""
    with visit(browser, served) as page:
        slide(page, "station", "500")
        at = page.evaluate("""() => { const { origin, size } = panes.section.drawing;
            const box = panes.section.root.getBoundingClientRect();
            const dots = panes.section.dots(); return [box.left + (box.width - size[0] * dots) / 2 + origin[0] * dots,
            box.top + (box.height - size[1] * dots) / 2 + origin[1] * dots]; }""")
        page.mouse.move(*at)
        settle(page)
        told = page.inner_text("#section .told-here").splitlines()
        numbers = [float(re.findall(r"-?[\d.]+", line)[0]) for line in told]
        assert [line.split()[0] for line in told] == ["height", "station", "half-breadth"]
        mm = page.evaluate("panes.section.drawing.scale / panes.section.dots()")
        assert abs(numbers[0]) <= mm
        assert numbers[1] == 500
        assert numbers[2] <= mm


def test_the_van_is_cut_open_and_its_cut_faces_are_filled(browser: Any, served: Served) -> None:
    with visit(browser, served) as page:
        whole = share_of(picture(page), palette.STEEL)
        page.get_by_role("button", name="above", exact=True).click()
        settle(page)
        seen = []
        for height in ("1900", "600", "1200"):
            slide(page, "height", height)
            page.evaluate("document.activeElement.blur()")
            seen.append(picture(page))
        assert min(share_of(pixels, palette.STEEL) for pixels in seen) > whole + 0.01
        assert min(changed(one, other) for one, other in combinations(seen, 2)) > 0.01
        page.select_option("#cut", "none")
        settle(page)
        assert changed(seen[-1], picture(page)) > 0.01


def test_turning_and_views_change_the_picture(browser: Any, served: Served) -> None:
    with visit(browser, served) as page:
        seen = [picture(page)]
        page.focus("#round")
        for key in ("ArrowLeft", "+", "Shift+ArrowUp", "3"):
            page.keyboard.press(key)
            settle(page)
            seen.append(picture(page))
        assert min(changed(one, other) for one, other in combinations(seen, 2)) > 0.005
        page.keyboard.press("1")
        settle(page)
        assert changed(picture(page), seen[0]) < 0.001


def test_a_thing_is_chosen_wherever_it_is_pointed_at(browser: Any, served: Served) -> None:
    """In the round, where its name stands; in a drawing; in the list. A part of the van tells what it is."""
    finding = next(f for f in th.check(th.load_layout(served.file)) if f.question == "walls")
    with visit(browser, served) as page:
        tag = page.locator("#tags span", has_text="box").bounding_box()
        page.mouse.click(tag["x"] + tag["width"] / 2, tag["y"] + tag["height"] / 2)
        settle(page)
        assert page.inner_text("#chosen-name").startswith("box")
        assert f"{finding.question}: {finding.words('mm')}" in page.inner_text("#chosen")
        page.check("#units-in", force=True)
        settle(page)
        assert f"{finding.question}: {finding.words('in')}" in page.inner_text("#chosen")
        page.focus("#plan")
        page.keyboard.press("Escape")
        assert page.locator("#chosen").is_hidden()
        slide(page, "height", "500 mm")
        page.mouse.click(*middle_of(page, "plan", "box"))
        assert page.get_attribute('#things button[data-thing="box"]', "aria-pressed") == "true"
        assert "chosen" in (page.get_attribute('#plan .over [data-name="box"]', "class") or "")
        page.mouse.click(*middle_of(page, "plan", "rib left"))
        assert page.inner_text("#picked").startswith("rib left: stands out from the lining")


def test_modes_and_what_is_hidden(browser: Any, demo: Served) -> None:
    day, *_, road = th.load_modes(demo.file)
    assert "table" in {m.name for m in day.modules} - {m.name for m in road.modules}
    with visit(browser, demo) as page:
        slide(page, "height", "710 mm")
        before = picture(page)
        assert page.locator('#plan .over [data-name="table"]').count() == 1
        page.check('#modes input[value="road"]', force=True)
        settle(page)
        assert page.locator("#things li").count() == len(road.modules)
        assert page.locator('#plan .over [data-name="table"]').count() == 0
        without = picture(page)
        assert changed(before, without) > 0.001
        page.check('#modes input[value="day"]', force=True)
        settle(page)
        choose(page, "table")
        page.click("#hide")
        settle(page)
        assert page.locator('#plan .over [data-name="table"]').count() == 0
        assert "table (hidden)" in page.inner_text("#things")
        slide(page, "station", str(round(day.module("table").bounds[0][0] + 10)))
        assert "to table (hidden)" in page.inner_text("#fitted")
        page.click("#hide")
        settle(page)
        assert page.locator('#plan .over [data-name="table"]').count() == 1
        assert "to table" in page.inner_text("#fitted")
        assert "(hidden)" not in page.inner_text("#fitted")
        page.focus('#things button[data-thing="table"]')
        page.keyboard.press("Escape")
        assert page.locator("#chosen").is_hidden()
        assert page.evaluate("document.activeElement.dataset.thing") == "table"


def test_the_person_is_a_measure_and_no_part_of_the_van(browser: Any, demo: Served) -> None:
    """What stands behind it is pointed at; where it stands on the centerline it is in the view from either side."""
    middle = """() => {
        const { view } = round;
        const { low, high } = view.visible().find((mesh) => mesh.kind === "person");
        const box = document.getElementById("round").getBoundingClientRect();
        const [x, y] = view.placed([0, 1, 2].map((k) => (low[k] + high[k]) / 2));
        return [box.left + x, box.top + y]; }"""
    halves = """() => [1, -1].map((side) => round.view.isLeft.call(
        Object.assign(Object.create(round.view), { cut: [0, side, 0, 0] }),
        { kind: "person", low: [0, -200, 0], high: [300, 200, 1755] }))"""
    with visit(browser, demo) as page:
        page.get_by_role("button", name="right side", exact=True).click()
        settle(page)
        page.mouse.click(*page.evaluate(middle))
        settle(page)
        assert "person" not in page.inner_text("#picked")
        assert page.evaluate(halves) == [True, True]


def test_a_hidden_module_hides_nothing_else_that_bears_its_name(browser: Any, demo: Served) -> None:
    with visit(browser, demo) as page:
        walls = page.evaluate("round.view.meshes.filter((mesh) => mesh.kind === 'shell').map((mesh) => mesh.name)")
        assert walls
        page.evaluate("(names) => round.hide(names)", [*walls, "table"])
        settle(page)
        seen = page.evaluate("round.view.visible().map((mesh) => mesh.name)")
        assert set(walls) <= set(seen)
        assert "table" not in seen
        page.evaluate("round.hide([])")
        assert "table" in page.evaluate("round.view.visible().map((mesh) => mesh.name)")


def test_what_its_place_gives_a_module(browser: Any, demo: Served) -> None:
    from tumblehome.studies import sentences, study

    told = sentences(study(th.load_layout(demo.file), "refrigerator"), "mm")
    with visit(browser, demo) as page:
        choose(page, "refrigerator")
        assert [each.inner_text() for each in page.locator("#gains li").all()] == told
        page.get_by_role("button", name="show the curves").click()
        page.wait_for_selector(".curve svg")
        assert page.locator(".curve svg").count() == 2
        assert page.locator(".curve svg text").count() > 20


@pytest.mark.parametrize("screen", ["laptop", "desktop", "upright"])
def test_no_word_stands_on_another(browser: Any, demo: Served, screen: str) -> None:
    boxes = """all => all.filter((e) => e.getAttribute("visibility") !== "hidden").map((e) => e.getBoundingClientRect())
        .map((r) => [r.left, r.top, r.right, r.bottom])"""
    with visit(browser, demo, screen) as page:
        counted = 0
        for view in ("corner", "above", "doorway", "left side"):
            page.get_by_role("button", name=view, exact=True).click()
            settle(page)
            counted += apart(page.eval_on_selector_all("#tags span", boxes), 0.0)
        for units, height, station in (
            ("mm", "400", "1500"),
            ("mm", "800", "1900"),
            ("in", "48 in", "1 m"),
            ("in", "1600 mm", "3.9 m"),
        ):
            page.check(f"#units-{units}", force=True)
            slide(page, "height", height)
            slide(page, "station", station)
            for pane in ("section", "plan"):
                counted += apart(page.eval_on_selector_all(f"#{pane} .words text, #{pane} .value", boxes), 1.5)
        assert counted > 100


def test_without_webgl_all_else_is_there(browser: Any, served: Served) -> None:
    with visit(browser, served, script="HTMLCanvasElement.prototype.getContext = () => null") as page:
        assert page.locator("#no-round").is_visible()
        slide(page, "height", "1000")
        assert page.inner_text("#bare .sum b") == "1600 mm"


# ---- changing ----


def test_a_drag_moves_the_files_module_by_its_length(browser: Any, fresh: Served) -> None:
    before = th.load_layout(fresh.file).module("box").bounds[0]
    with visit(browser, fresh) as page:
        slide(page, "height", "500")
        mm = page.evaluate("panes.plan.drawing.scale / panes.plan.dots()")
        within = page.evaluate("12 / panes.plan.dots() * panes.plan.drawing.scale")
        dragged(page, "plan", "box", (-40, -20))
        assert page.get_attribute("#undo", "title") == "take back: move box"
        place = [float(page.input_value(f"#at-{axis}").removesuffix(" mm")) for axis in "xyz"]
        page.keyboard.press("Control+s")
        settle(page)
        after = th.load_layout(fresh.file).module("box").bounds[0]
        assert after == pytest.approx(place, abs=0.05)  # a length is shown to 0.1 mm
        by = after - before
        assert by[0] == pytest.approx(-40 * mm, abs=within + mm)
        assert by[1] == pytest.approx(20 * mm, abs=within + mm)
        assert abs(by[0]) > 10 * mm
        assert by[2] == 0
        assert "# the last line is a remark\n" in fresh.file.read_text()
        assert page.inner_text("#save") == "saved"
        page.keyboard.press("Control+z")
        settle(page)
        assert page.locator("#undo").is_disabled()
        page.click("#save")
        settle(page)
    assert fresh.file.read_bytes() == BOX.encode()


def test_escape_lets_go_of_a_drag(browser: Any, fresh: Served) -> None:
    with visit(browser, fresh) as page:
        slide(page, "height", "500")
        x, y = middle_of(page, "plan", "box")
        page.mouse.move(x, y)
        page.mouse.down()
        page.mouse.move(x - 30, y, steps=3)
        page.wait_for_timeout(200)
        page.focus("#plan")
        page.keyboard.press("Escape")
        page.mouse.up()
        settle(page)
        assert page.input_value("#at-x") == "2000 mm"
        assert page.locator("#save").is_disabled()
        assert page.locator("#redo").is_disabled()  # what was broken off is nothing to do again


def test_arrow_keys_move_by_exact_steps(browser: Any, fresh: Served) -> None:
    with visit(browser, fresh) as page:
        choose(page, "box")
        page.focus("#plan")
        for key in ("ArrowRight", "Shift+ArrowRight", "ArrowUp", "Shift+ArrowUp", "ArrowUp"):
            page.keyboard.press(key)
        settle(page)
        page.focus("#section")
        page.keyboard.press("Shift+ArrowUp")
        settle(page)
        page.check("#units-in", force=True)
        settle(page)
        page.focus("#plan")
        page.keyboard.press("ArrowLeft")
        page.keyboard.press("Shift+ArrowLeft")
        settle(page)
        page.click("#save")
        settle(page)
    moved = th.load_layout(fresh.file).module("box").bounds[0] - (2000, -700, 0)
    assert moved == pytest.approx((11 - 25.4 - 25.4 / 16, 12, 10))


def test_typed_places_and_sizes_pushing_turning_copies(browser: Any, fresh: Served) -> None:
    with visit(browser, fresh) as page:
        choose(page, "box")

        def typed(key: str, text: str) -> None:
            page.locator(f"#at-{key}").fill(text)
            page.locator(f"#at-{key}").press("Enter")
            settle(page)

        typed("x", "70 in")
        typed("high", "900")
        typed("y", "nowhere")
        assert "nowhere" in page.inner_text("#at-y-wrong")
        assert page.input_value("#at-x") == shown(70 * 25.4, "mm")
        page.get_by_role("button", name="push out to the left").click()
        settle(page)
        page.click("#save")
        settle(page)
        box = th.load_layout(fresh.file).module("box")
        assert box.against == "left"
        assert box.bounds[0][1] == pytest.approx(
            -half_breadth(900), abs=1e-3
        )  # the wall leans in: its top meets it first
        assert page.inner_text("#gains h3") == "What its place gives it" or page.locator("#gains button").count()
        page.get_by_role("button", name="duplicate").click()
        settle(page)
        assert page.locator("#things li").count() == 2
        page.get_by_role("button", name="remove").click()
        settle(page)
        assert page.locator("#things li").count() == 1
        choose(page, "box")
        page.get_by_role("button", name="turn 90 degrees to the left").click()
        settle(page)
        page.click("#save")
        settle(page)
        low, high = th.load_layout(fresh.file).module("box").bounds
        across = box.bounds[1] - box.bounds[0]
        assert high - low == pytest.approx((across[1], across[0], across[2]))
        assert across[0] != across[1]


def test_a_finding_offers_the_move_that_mends_it(browser: Any, tmp_path: Path) -> None:
    with (
        serving(write_wedge(tmp_path, BOX.replace('"-700 mm"', '"-850 mm"'))) as running,
        visit(browser, running) as page,
    ):
        (fouls,) = [f for f in th.check(th.load_layout(running.file)) if f.verdict == "fouls" and f.question == "walls"]
        choose(page, "box")
        mend = f"move it {th.format_length(fouls.moves['right'] or 0.0, 'mm')} mm to the right"
        page.get_by_role("button", name=mend).click()
        settle(page)
        assert "fouls" not in page.inner_text("#things")
        low = page.input_value("#at-y")
        assert float(low.removesuffix(" mm")) == pytest.approx(-half_breadth(1000), abs=0.05)


def test_two_pages_stay_in_step(browser: Any, fresh: Served) -> None:
    with visit(browser, fresh) as one, visit(browser, fresh) as other:
        choose(one, "box")
        choose(other, "box")
        one.focus("#plan")
        one.keyboard.press("Shift+ArrowRight")
        settle(one)
        settle(other)
        assert other.input_value("#at-x") == one.input_value("#at-x") == "2010 mm"
        other.click("#undo")
        settle(other)
        settle(one)
        assert one.input_value("#at-x") == "2000 mm"
        assert one.locator("#undo").is_disabled()


# ---- keeping ----


def test_a_change_on_the_disk_is_seen_and_asked_about(browser: Any, fresh: Served) -> None:
    with visit(browser, fresh) as page:
        choose(page, "box")
        fresh.file.write_text(BOX.replace('"2000 mm"', '"1900 mm"'))
        page.wait_for_function("() => document.getElementById('at-x').value === '1900 mm'")
        page.focus("#plan")
        page.keyboard.press("ArrowRight")
        settle(page)
        fresh.file.write_text(BOX.replace('"2000 mm"', '"1700 mm"'))
        page.wait_for_selector("dialog[open]")
        assert page.inner_text("#box-title") == "The file has changed on the disk"
        page.keyboard.press("Escape")  # it has to be decided
        assert page.locator("dialog[open]").count() == 1
        page.get_by_role("button", name="keep what is here").click()
        page.wait_for_selector("dialog:not([open])", state="attached")
        settle(page)
        page.click("#save")
        settle(page)
    assert th.load_layout(fresh.file).module("box").bounds[0][0] == pytest.approx(1901)


def test_a_plan_that_becomes_wrong_keeps_its_last_good_picture(browser: Any, fresh: Served) -> None:
    with visit(browser, fresh) as page:
        before = picture(page)
        fresh.file.write_text(BOX.replace('"2000 mm"', '"two"'))
        page.wait_for_selector(".line.fault")
        settle(page)
        assert "'two'" in page.inner_text(".line.fault") or "`two`" in page.inner_text(".line.fault")
        assert "layout.toml:" in page.inner_text(".line.fault")
        assert page.locator("#things li").count() == 1
        assert share_of(picture(page), palette.AIR) == pytest.approx(share_of(before, palette.AIR), abs=0.2)
        fresh.file.write_text(BOX)
        page.wait_for_selector(".line.fault", state="detached")


def test_unsaved_work_outlives_the_program(browser: Any, tmp_path: Path) -> None:
    file = write_wedge(tmp_path)
    with serving(file) as first, visit(browser, first, quiet=("WebSocket",)) as page:
        choose(page, "box")
        page.focus("#plan")
        page.keyboard.press("Shift+ArrowRight")
        settle(page)
        first.process.kill()
        page.wait_for_selector(".line.lost")
        assert "unsaved work is kept" in page.inner_text(".line.lost")
    assert file.read_bytes() == BOX.encode()
    with serving(file) as second, visit(browser, second) as page:
        page.wait_for_selector("dialog[open]")
        assert re.search(r"last change is of \d{4}-\d\d-\d\d at \d\d:\d\d:\d\d\.", page.inner_text("#box"))
        page.get_by_role("button", name="take it up again").click()
        page.wait_for_selector("dialog:not([open])", state="attached")
        settle(page)
        choose(page, "box")
        assert page.input_value("#at-x") == "2010 mm"
        page.click("#save")
        settle(page)
    assert th.load_layout(file).module("box").bounds[0][0] == pytest.approx(2010)


def test_a_second_program_offers_the_work_of_the_first_only_once_that_was_killed(browser: Any, tmp_path: Path) -> None:
    """Killed twice over, both pieces are offered, the newest first, and joined."""
    file = write_wedge(tmp_path)
    for key in ("Shift+ArrowRight", "Shift+ArrowUp"):
        with serving(file) as running, visit(browser, running, quiet=("WebSocket",)) as page:
            page.evaluate("decided()")  # put aside by force: it asks again with the next change
            choose(page, "box")
            page.focus("#plan")
            page.keyboard.press(key)
            settle(page)
            with serving(file) as beside, visit(browser, beside) as other:
                settle(other)
                assert other.locator("dialog[open]").count() == 0
            running.process.kill()
            page.wait_for_selector(".line.lost")
    with serving(file) as last, visit(browser, last) as page:
        for _ in range(2):
            page.wait_for_selector("dialog[open]")
            assert "joined with what is here" in page.inner_text("#box")
            page.get_by_role("button", name="take it up again").click()
            settle(page)
        assert page.locator("dialog[open]").count() == 0
        choose(page, "box")
        assert page.input_value("#at-x") == "2010 mm"
        assert page.input_value("#at-y") != "-700 mm"


# ---- taking away ----


def test_a_still_of_the_view_is_as_large_as_asked(browser: Any, served: Served) -> None:
    with visit(browser, served) as page:
        page.evaluate("document.title = 'x'")
        before = picture(page)
        for wide, tall in ((1280, 720), (3840, 2160)):
            page.click("#take")
            with page.expect_download() as taking:
                page.get_by_role("button", name=f"{wide} × {tall}").click()
            still = Image.open(taking.value.path())
            assert (still.format, still.size) == ("PNG", (wide, tall))
            band = np.asarray(still.convert("L"))[int(tall * (1 - 2.2 / 45)) :, wide // 8 :]
            assert band.min() == band.max()  # the title stands below the van, not on it
            pixels = np.asarray(still.convert("RGB")).astype(int)
            assert 0.2 < share_of(pixels, palette.AIR) < 0.9
            assert len(np.unique(pixels[::7, ::7].reshape(-1, 3), axis=0)) > 40
            page.keyboard.press("Escape")
        settle(page)
        assert changed(before, picture(page)) < 0.001


def test_drawings_and_the_clients_page_are_taken_away(browser: Any, served: Served) -> None:
    with visit(browser, served) as page:
        slide(page, "height", "1234")
        page.click("#take")
        for label, name, begins in (
            ("Plan at height 1234 mm as SVG", "layout-plan-height-1234mm.svg", b"<?xml"),
            ("Station 1500 mm as PDF", "layout-section-station-1500mm.pdf", b"%PDF-"),
            ("Station 1500 mm as DXF", "layout-section-station-1500mm.dxf", b"  0"),
            ("make the page", "layout-page.html", b"<!DOCTYPE html>"),
        ):
            with page.expect_download(timeout=60_000) as taking:
                page.get_by_role("button", name=label).click()
            assert taking.value.suggested_filename == name
            with open(taking.value.path(), "rb") as file:
                data = file.read()
            assert data.startswith(begins)
            assert not name.endswith(".svg") or b"Plan at height 1234" in data


def test_a_section_taken_away_is_the_one_on_the_screen(browser: Any, served: Served) -> None:
    with visit(browser, served) as page:
        slide(page, "station", "2300 mm")
        page.get_by_label("inches").check()
        slide(page, "height", "1200 mm")
        choose(page, "box")
        page.click("#hide")
        page.click("#take")
        with page.expect_download(timeout=60_000) as taking:
            page.locator("#box .actions", has_text="Station").get_by_role("button", name="SVG").click()
        with open(taking.value.path(), encoding="utf-8") as file:
            drawing = file.read()
        assert f"width at {format_length(1200, 'in')}" in drawing
        assert "box (hidden)" in drawing


def test_a_module_is_shown_on_its_way_out_or_told_what_bars_it(browser: Any, demo: Served) -> None:
    from tumblehome.carrying import carry, sentences

    free = carry(th.load_layout(demo.file), "refrigerator")
    assert free.best.outcome == "passes"
    barred = carry(th.load_layout(demo.file, "supper"), "refrigerator")
    assert barred.verdict == "fouls"
    with visit(browser, demo, quiet=("422",)) as page:
        choose(page, "refrigerator")
        page.get_by_role("button", name="does it come out?").click()
        page.wait_for_function(
            "() => { const it = document.querySelector('#box img'); return it && it.naturalWidth > 600; }"
        )
        words = " ".join(sentences(free, "mm"))
        assert page.inner_text("#box p") == words
        assert (page.get_attribute("#box img", "alt") or "").endswith(words)
        page.keyboard.press("Escape")
        page.get_by_label("supper").check()
        settle(page)
        page.get_by_role("button", name="does it come out?").click()
        page.wait_for_selector("#box p", timeout=60_000)
        assert page.locator("#box p").inner_text() == " ".join(sentences(barred, "mm"))


# ---- safe ----


def test_a_page_elsewhere_gets_nothing(browser: Any, served: Served) -> None:
    """Even one on this machine that knows the whole address."""

    class Foreign(http.server.SimpleHTTPRequestHandler):
        def do_GET(self) -> None:
            self.send_response(200)
            self.send_header("Content-Type", "text/html")
            self.end_headers()
            self.wfile.write(b"<title>elsewhere</title>")

        def log_message(self, *_: object) -> None:
            pass

    with http.server.ThreadingHTTPServer(("127.0.0.1", 0), Foreign) as elsewhere:
        threading.Thread(target=elsewhere.serve_forever, daemon=True).start()
        context = browser.new_context()
        page = context.new_page()
        page.goto(f"http://127.0.0.1:{elsewhere.server_port}/")
        heard = page.evaluate(
            """async (address) => {
            const got = await fetch(address).then((a) => a.text(), () => "refused");
            const blind = await fetch(address, { mode: "no-cors" }).then((a) => a.type, () => "refused");
            const talk = await new Promise((done) => { const s = new WebSocket(address.replace("http", "ws") + "talk");
                s.onopen = () => done("open"); s.onerror = () => done("refused"); });
            const framed = await new Promise((done) => { const f = document.createElement("iframe"); f.src = address;
                f.onload = () => { try { done(f.contentDocument ? "seen" : "blank"); } catch { done("blank"); } };
                document.body.append(f); });
            const script = await new Promise((done) => { const s = document.createElement("script"); s.src = address + "view.js";
                s.onload = () => done("ran"); s.onerror = () => done("refused"); document.head.append(s); });
            return [got, blind, talk, framed, script]; }""",
            served.address,
        )
        context.close()
        elsewhere.shutdown()
    assert heard[0] == "refused"
    assert heard[1] in {"refused", "opaque"}
    assert heard[2:] == ["refused", "blank", "refused"]


def test_the_policy_lets_nothing_in_or_out(browser: Any, served: Served) -> None:
    with visit(browser, served, quiet=("Content Security Policy", "Content-Security-Policy", "Failed to load")) as page:
        assert page.evaluate("fetch('data:text/plain,x').then(() => 'sent', () => 'refused')") == "refused"
        assert (
            page.evaluate("""() => { const s = document.createElement("script"); s.textContent = "window.ran = 1";
            document.body.append(s); return typeof window.ran; }""")
            == "undefined"
        )


def test_the_secret_is_not_sent_on(browser: Any, served: Served) -> None:
    with visit(browser, served) as page:
        assert page.evaluate("document.referrer") == ""
        assert page.evaluate("document.cookie") == ""
        assert page.evaluate("document.querySelectorAll('a[href^=http]').length") == 0


# ---- for everybody ----


@pytest.mark.parametrize("screen", ["laptop", "upright"])
def test_axe_finds_nothing_serious(browser: Any, demo: Served, screen: str) -> None:
    axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()
    rules = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}

    def faults(page: Any) -> list[str]:
        found = axe.run(page, options=rules).response["violations"]
        return [f"{v['id']}: {v['nodes'][0]['html'][:120]}" for v in found if v["impact"] in {"serious", "critical"}]

    with visit(browser, demo, screen) as page:
        assert faults(page) == []
        choose(page, "refrigerator")
        page.check("#units-in", force=True)
        settle(page)
        slide(page, "height", "waist")
        assert faults(page) == []
        slide(page, "height", "1 m")
        page.click("#take")
        assert faults(page) == []


def test_every_control_has_a_name_and_shows_its_focus(browser: Any, served: Served) -> None:
    """In the order of reading: units, changes, list, picture, views, cut, what is shown, sliders, drawings."""
    with visit(browser, served) as page:
        names = page.evaluate("""() => [...document.querySelectorAll("button, input, select, canvas, [tabindex]")]
            .filter((e) => e.offsetParent).map((e) => (e.getAttribute("aria-label") || (e.getAttribute("aria-labelledby")
            && document.getElementById(e.getAttribute("aria-labelledby")).textContent) || (e.labels && e.labels[0]
            && e.labels[0].textContent) || e.textContent).trim())""")
        assert len(names) > 25
        assert all(names)
        page.evaluate("document.activeElement.blur()")
        order = []
        for _ in range(60):
            page.keyboard.press("Tab")
            if page.evaluate("document.activeElement === document.body"):
                break
            order.append(page.evaluate("document.activeElement.id || document.activeElement.textContent"))
            outline = page.evaluate("""() => { const e = document.activeElement;
                const near = [e, e.parentElement, e.nextElementSibling, e.parentElement.querySelector("span")];
                return near.some((x) => x && getComputedStyle(x).outlineStyle === "solid"); }""")
            assert outline, order[-1]
        wanted = [
            "units-mm",
            "take",
            "round",
            "cut",
            "show-roof",
            "height",
            "height-text",
            "station",
            "station-text",
            "stops",
            "section",
            "plan",
        ]
        places = [order.index(each) for each in wanted]
        assert places == sorted(places)


def test_a_shell_of_a_million_triangles_opens(browser: Any, tmp_path: Path) -> None:
    """Four triangles for each mesh of the grid, two on either side; the width is that of the table, interpolated."""
    stations, rows = np.linspace(0, 4000, 501), np.linspace(0, 1900, 512)
    assert 4 * (len(stations) - 1) * (len(rows) - 1) > 1_000_000
    half = (880 - 180 * (rows / 1900) ** 3)[:, None] * (1 - 0.03 * np.cos(stations / 900))[None]
    table = [", ".join(["", *(f"{x:.3f}" for x in stations)]), *(
        ", ".join([f"{z:.3f}", *(f"{y:.3f}" for y in row)]) for z, row in zip(rows, half, strict=True))]  # fmt: skip
    (tmp_path / "offsets.csv").write_text("\n".join(table) + "\n")
    shell = tmp_path / "shell.toml"
    shell.write_text(
        'name = "Dense"\nunit = "mm"\nmeasured_to = 3\n[offsets]\nhalf_breadths = "offsets.csv"\nroof_from = 1900\n'
    )
    usable = 2 * np.interp(1000.0, rows, half[:, 250])  # column 250 is station 2000
    with serving(shell) as running:
        context = browser.new_context(**_SCREENS["laptop"], reduced_motion="reduce")
        page = context.new_page()
        page.goto(running.address)
        page.wait_for_selector('body[aria-busy="false"]', timeout=60_000)
        page.wait_for_selector('.stage[aria-busy="false"]', timeout=120_000)
        slide(page, "height", "1000")
        assert page.inner_text("#fitted .sum b") == shown(round(usable, 1), "mm")
        assert 0.2 < share_of(picture(page), palette.AIR) < 0.95
        context.close()
