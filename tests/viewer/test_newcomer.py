"""What somebody meets who opens the served page for the first time: their own unit, odd names and sizes, mistyped values.

Lengths are held against the library's; what fits on a page against the boxes that the browser itself measures.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

import pytest
import shapely

import tumblehome as th
from chromium import browser
from page.test_browser import FARTHEST
from viewer.serving import BOX, Served, serving, write_wedge
from viewer.test_view import choose, demo, fresh, middle_of, settle, shown, slide, visit
from wedge import SHELL

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["browser", "demo", "fresh"]


# ---- units ----


@pytest.mark.parametrize(
    ("layout", "shell", "options", "units"),
    [
        ("in", "mm", (), "in"),
        ("ft", "mm", (), "in"),
        ("mm", "in", (), "mm"),
        (None, "in", (), "in"),
        (None, "cm", (), "mm"),
        ("in", "in", ("--units", "mm"), "mm"),
    ],
)
def test_it_opens_in_the_unit_that_its_file_declares_at_round_numbers(
    browser: Any, tmp_path: Path, layout: str | None, shell: str, options: tuple[str, ...], units: str
) -> None:
    """A layout that declares none is its shell's; 48 inches is what 1200 mm is nearest to in whole feet."""
    file = write_wedge(tmp_path)
    declared = f'unit = "{layout}"\n' if layout else ""
    file.write_text(file.read_text().replace('unit = "mm"\n', declared))
    (tmp_path / "shell.toml").write_text(SHELL.format(unit=shell))
    height, step = {"mm": (1200.0, 100.0), "in": (48 * 25.4, 6 * 25.4)}[units]
    with serving(file, *options) as running, visit(browser, running) as page:
        assert page.is_checked(f"#units-{units}")
        assert page.input_value("#height-text") == shown(height, units)
        station = th.parse_length(page.input_value("#station-text"))
        assert station / step == pytest.approx(round(station / step), abs=1e-9)
        assert abs(station - 1500) <= step / 2
        usable = th.width(th.load_layout(file), height=height, station=station).usable
        assert usable is not None
        assert page.inner_text("#fitted .sum b") == shown(usable, units)


# ---- the width in a drawing ----


@pytest.mark.parametrize(("pane", "station"), [("plan", 2100), ("plan", 2300), ("section", 2900)])
def test_the_width_stands_on_no_outline_of_a_module(browser: Any, tmp_path: Path, pane: str, station: float) -> None:
    """The box stands across the centerline, its outline where the middle of the free width is, as its corners say."""
    file = write_wedge(tmp_path, BOX.replace('"-700 mm"', '"-200 mm"'))
    low, high = th.load_layout(file).module("box").bounds
    keep = [0, 1] if pane == "plan" else [1, 2]
    with serving(file) as running, visit(browser, running) as page:
        slide(page, "height", "1010 mm")
        slide(page, "station", f"{station} mm")
        left, top, right, bottom = page.evaluate(
            """(pane) => { const { origin, scale } = panes[pane].drawing;
            const box = panes[pane].over.querySelector(".patch");
            const [x, y, w, h] = ["x", "y", "width", "height"].map((key) => Number(box.getAttribute(key)));
            return [x - origin[0], origin[1] - y, x + w - origin[0], origin[1] - y - h].map((mm) => mm * scale); }""",
            pane,
        )
        box = shapely.box(left, bottom, right, top)
        outline = shapely.box(*low[keep], *high[keep]).exterior
        assert box.area > 0
        assert not box.intersects(outline)


# ---- what is typed wrong ----


def test_a_mistyped_place_is_told_until_it_is_mended(browser: Any, fresh: Served) -> None:
    with pytest.raises(th.errors.LengthError) as fault:
        th.parse_length("waist", unit="mm")
    with visit(browser, fresh) as page:
        text, wrong = page.locator("#height-text"), page.locator("#height-text-wrong")
        slide(page, "height", "waist")
        page.get_by_role("button", name="Station: more", exact=True).click()
        settle(page)
        assert (text.input_value(), wrong.inner_text()) == ("waist", str(fault.value))
        assert text.get_attribute("aria-describedby") == wrong.get_attribute("id")
        page.get_by_role("button", name="Height: more", exact=True).click()
        settle(page)
        assert (text.input_value(), wrong.inner_text()) == ("1210 mm", "")
        assert text.get_attribute("aria-invalid") == "false"
        slide(page, "height", "waist")
        text.press("Escape")
        assert (text.input_value(), wrong.inner_text()) == ("1210 mm", "")


def test_a_mistyped_place_of_a_module_is_told_beside_it_and_changes_nothing(browser: Any, fresh: Served) -> None:
    with visit(browser, fresh) as page:
        choose(page, "box")
        text, wrong = page.locator("#at-x"), page.locator("#at-x-wrong")
        for typed, told in (("waist", "cannot read `waist`"), ("9 m", "stands outside the van at stations 9000")):
            text.fill(typed)
            text.press("Enter")
            settle(page)
            assert told in wrong.inner_text()
            assert str(fresh.file) not in wrong.inner_text()
            assert (text.input_value(), text.get_attribute("aria-invalid")) == (typed, "true")
            assert page.is_disabled("#undo")
        text.press("Escape")
        assert (text.input_value(), wrong.inner_text(), text.get_attribute("aria-invalid")) == ("2000 mm", "", "false")


def test_a_field_shows_what_keys_make_of_it_and_keeps_the_focus(browser: Any, fresh: Served) -> None:
    with visit(browser, fresh) as page:
        choose(page, "box")
        page.focus("#at-x")
        for key, mm in (("ArrowUp", "2001 mm"), ("Shift+ArrowDown", "1991 mm")):
            page.keyboard.press(key)
            settle(page)
            assert page.input_value("#at-x") == mm
        page.fill("#at-x", "1.9 m")
        page.keyboard.press("Enter")
        settle(page)
        assert page.input_value("#at-x") == "1900 mm"
        assert page.evaluate("document.activeElement.id") == "at-x"


# ---- where one was ----


def test_loaded_again_it_shows_what_was_looked_at(browser: Any, demo: Served) -> None:
    looked = """() => [state.units, state.mode, state.chosen, [...state.hidden], document.getElementById("height-text").value,
        document.querySelector("#units input:checked").value, document.querySelector("#modes input:checked").value]"""
    with visit(browser, demo) as page:
        page.check("#units-in", force=True)
        page.check('#modes input[value="supper"]', force=True)
        slide(page, "height", "40 in")
        choose(page, "refrigerator")
        page.click("#hide")
        settle(page)
        page.wait_for_timeout(600)
        before = page.evaluate(looked)
        assert before == ["in", "supper", "refrigerator", ["refrigerator"], '40"', "in", "supper"]
        page.reload()
        page.wait_for_selector('body[aria-busy="false"]')
        settle(page)
        assert page.evaluate(looked) == before
        assert page.locator('#plan .over [data-name="refrigerator"]').count() == 0
        assert not page.locator("#tags span", has_text=re.compile("^refrigerator$")).count()


def test_seen_from_above_it_is_cut_where_one_asked(browser: Any, fresh: Served) -> None:
    with visit(browser, fresh) as page:
        above = page.get_by_role("button", name="above", exact=True)
        above.click()
        settle(page)
        assert 1200 < th.parse_length(page.input_value("#height-text")) < 1400  # higher than it begins: two thirds up
        slide(page, "height", "700 mm")
        above.click()
        settle(page)
        assert page.input_value("#height-text") == "700 mm"
        assert page.evaluate("round.view.cut") == [0, 0, 1, 700]


# ---- odd sizes and names ----


def test_on_the_narrowest_page_nothing_runs_over_its_edge(browser: Any, demo: Served) -> None:
    """320 pixels: WCAG 2.2, 1.4.10 Reflow."""
    with visit(browser, demo) as page:
        page.set_viewport_size({"width": 320, "height": 640})
        settle(page)
        choose(page, "refrigerator")
        assert page.evaluate("document.documentElement.scrollWidth") == 320
        assert page.locator("#height").bounding_box()["width"] > 200


def test_in_a_low_window_nothing_lies_on_another(browser: Any, demo: Served) -> None:
    with visit(browser, demo) as page:
        page.set_viewport_size({"width": 1280, "height": 420})
        settle(page)
        parts = [".stage", ".shown", ".toggles", "#plan-pane", "#section-pane", ".margins", ".widths"]
        boxes = [page.locator(part).bounding_box() for part in parts]
        areas = [shapely.box(b["x"], b["y"], b["x"] + b["width"], b["y"] + b["height"]).buffer(-1) for b in boxes]
        assert min(area.area for area in areas) > 0
        assert [1 for i, one in enumerate(areas) for other in areas[:i] if one.intersects(other)] == []


@pytest.mark.parametrize("name", ["W" * 60, "a very long name that goes on and on until it has sixty letters"])
def test_a_long_name_leaves_its_verdict_and_its_buttons_in_sight(browser: Any, tmp_path: Path, name: str) -> None:
    file = write_wedge(tmp_path, BOX.replace('name = "box"', f'name = "{name}"'))
    with serving(file) as running, visit(browser, running) as page:
        for width in (1280, 390):
            page.set_viewport_size({"width": width, "height": 720})
            settle(page)
            if page.locator("#chosen").is_hidden():
                choose(page, name)
            side = page.locator("#list-side").bounding_box()
            assert page.evaluate("document.documentElement.scrollWidth") == width
            for part in ("#things .told", "#chosen-name .told", "#hide"):
                box = page.locator(part).bounding_box()
                assert box["x"] + box["width"] <= side["x"] + side["width"] + 0.5, part


def test_beside_the_text_of_the_file_the_captions_are_whole(browser: Any, demo: Served) -> None:
    with visit(browser, demo) as page:
        page.check("#units-in", force=True)
        slide(page, "station", "172 1/4")
        page.click("#text-open")
        for units in ("in", "mm"):
            page.check(f"#units-{units}", force=True)
            settle(page)
            for caption in page.locator("figcaption .readout").all():
                assert caption.evaluate("(it) => it.scrollWidth <= it.clientWidth"), caption.inner_text()


def test_an_empty_plan_says_how_to_begin(browser: Any, tmp_path: Path) -> None:
    with (
        serving(write_wedge(tmp_path, 'name = "Empty"\nshell = "shell.toml"\n')) as running,
        visit(browser, running) as page,
    ):
        assert page.inner_text("#verdict") == ""
        assert page.inner_text("#things-sum").startswith("Nothing is built in yet. Begin with a first [[modules]]")


_WELL = """
[[recesses]]
kind = "well"
name = "well"
stations = ["1000 mm", "1600 mm"]
breadths = ["-300 mm", "300 mm"]
depth = "120 mm"
"""


def test_where_the_van_ends_it_says_why_there_is_no_width(browser: Any, tmp_path: Path) -> None:
    """Below the floor the van is only where its well is."""
    file = write_wedge(tmp_path)
    with file.with_name("shell.toml").open("a", encoding="utf-8") as shell:
        shell.write(_WELL)
    found = th.width(th.load_layout(file), height=-50.0, station=500.0)
    assert (found.usable, found.blocked_by) == (None, "outside the shell")
    with serving(file) as running, visit(browser, running) as page:
        slide(page, "height", "-50 mm")
        slide(page, "station", "500 mm")
        assert page.inner_text("#fitted .half") == "the centerline is outside the van there"


def test_of_a_bare_shell_it_says_why_there_is_no_page_for_the_client(browser: Any, tmp_path: Path) -> None:
    with serving(write_wedge(tmp_path).with_name("shell.toml")) as running, visit(browser, running) as page:
        page.click("#take")
        assert page.get_by_role("button", name="make the page").is_disabled()
        assert "a bare shell has nothing to show on it" in page.inner_text("#box")


# ---- moving ----


def test_what_others_find_because_of_it_is_told_at_it(browser: Any, tmp_path: Path) -> None:
    """Two that stand in each other are told at one of them; whoever moved the other one has to learn it, too."""
    other = BOX.split("[[modules]]", 1)[1].replace('name = "box"', 'name = "chest"')
    file = write_wedge(tmp_path, f"{BOX}\n[[modules]]{other}")
    (found,) = [f for f in th.check(th.load_layout(file)) if f.question == "neighbors" and f.verdict == "fouls"]
    assert {found.subject, found.cause} == {"box", "chest"}
    assert found.cause
    with serving(file) as running, visit(browser, running) as page:
        choose(page, found.cause)
        assert f"{found.subject} neighbors: {found.words('mm')}" in page.inner_text("#chosen-wrong")
        page.locator("#chosen-wrong").get_by_role("button", name=found.subject, exact=True).click()
        settle(page)
        assert page.inner_text("#chosen-name").startswith(found.subject)


def test_words_beside_the_pointer_stay_on_the_drawing(browser: Any, tmp_path: Path) -> None:
    text = "".join(
        f'[[modules]]\nname = "a crate with a rather long name, number {i}"\nwide = 200\ndeep = 200\nhigh = 200\n'
        f"station = {1100 + 250 * i}\nbreadth = 0\n\n"
        for i in range(7)
    )
    file = write_wedge(tmp_path, f'name = "Row"\nshell = "shell.toml"\nunit = "mm"\n\n{text}')
    with serving(file) as running, visit(browser, running) as page:
        slide(page, "height", "100 mm")
        x, y = middle_of(page, "plan", "a crate with a rather long name, number 3")
        page.mouse.move(x, y)
        page.mouse.down()
        for up in (2, 5, 8, 3, 1):
            page.mouse.move(x, y - up)
            settle(page)
        told, pane = page.locator("#plan .told-here"), page.locator("#plan").bounding_box()
        assert "in line with" in told.inner_text()
        box = told.bounding_box()
        page.mouse.up()
        assert pane["x"] <= box["x"]
        assert box["x"] + box["width"] <= pane["x"] + pane["width"]


# ---- on a phone and a tablet ----


_PHONE = {"width": 390, "height": 844}


def is_in_sight(page: Any, selector: str) -> bool:
    box = page.locator(selector).bounding_box()
    return bool(box and box["y"] >= 0 and box["y"] + min(box["height"], 40) <= page.viewport_size["height"])


@pytest.mark.parametrize("screen", [_PHONE, {"width": 820, "height": 560}])
def test_what_is_told_of_a_listed_module_comes_into_sight(browser: Any, demo: Served, screen: dict[str, int]) -> None:
    with visit(browser, demo) as page:
        page.set_viewport_size(screen)
        settle(page)
        for name in ("wet bath", "cello case"):
            choose(page, name)
            assert is_in_sight(page, "#chosen-name"), name
            assert page.inner_text("#chosen-name").startswith(name)


def test_choosing_in_a_drawing_or_the_picture_leaves_the_page_where_it_is(browser: Any, demo: Served) -> None:
    module = th.load_layout(demo.file).module("mattress")
    with visit(browser, demo) as page:
        page.set_viewport_size(_PHONE)
        settle(page)
        page.locator("#plan").scroll_into_view_if_needed()
        at = page.evaluate("scrollY")
        page.mouse.click(*middle_of(page, "plan", "mattress"))
        settle(page)
        assert page.inner_text("#chosen-name").startswith("mattress")
        assert page.evaluate("scrollY") == at
        page.locator("#round").scroll_into_view_if_needed()
        top = shown(float(module.bounds[1][2]), "mm")
        assert page.inner_text("#picked").startswith("mattress: clear\nStations")
        assert f"top at {top}" in page.inner_text("#picked")
        page.check("#units-in", force=True)
        settle(page)
        assert f"top at {shown(float(module.bounds[1][2]), 'in')}" in page.inner_text("#picked")
        page.set_viewport_size({"width": 1280, "height": 720})
        assert page.locator("#picked").is_hidden()  # all of it stands beside the picture


def test_the_curves_can_be_read_on_a_phone(browser: Any, demo: Served) -> None:
    """Drawn as large as on a desk, 10 pixels a letter, and moved across with a finger or by keys."""
    with visit(browser, demo) as page:
        page.set_viewport_size(_PHONE)
        settle(page)
        choose(page, "refrigerator")
        page.get_by_role("button", name="show the curves").click()
        page.wait_for_selector("dialog[open] .curve")
        sizes = page.locator(".curve text").evaluate_all(
            """(all) => all.map((it) => parseFloat(getComputedStyle(it).fontSize) * it.getScreenCTM().a)"""
        )
        assert len(sizes) > 20
        assert min(sizes) >= 9
        assert page.evaluate("document.documentElement.scrollWidth") == 390
        curve = page.locator(".curve").first
        curve.focus()
        page.keyboard.press("ArrowRight")
        page.wait_for_function("() => document.querySelector('.curve').scrollLeft > 0")


def test_a_view_is_whole_again_when_the_page_is_turned(browser: Any, demo: Served) -> None:
    with visit(browser, demo) as page:
        for width, height in ((844, 390), (390, 844), (320, 640), (1280, 720)):
            page.set_viewport_size({"width": width, "height": height})
            settle(page)
            assert page.inner_text('#views [aria-pressed="true"]') == "corner"
            assert 0.4 < page.evaluate(FARTHEST) < 0.5
        page.focus("#round")
        page.keyboard.press("ArrowLeft")
        settle(page)
        camera = page.evaluate("round.view.camera")
        page.set_viewport_size(_PHONE)
        settle(page)
        assert page.evaluate("round.view.camera") == camera


def test_on_a_phone_nothing_lies_on_the_picture_or_on_what_is_dragged(browser: Any, demo: Served) -> None:
    with visit(browser, demo) as page:
        page.set_viewport_size(_PHONE)
        slide(page, "height", "710 mm")
        page.locator("#plan").scroll_into_view_if_needed()
        x, y = middle_of(page, "plan", "table")
        page.mouse.move(x, y)
        page.mouse.down()
        page.mouse.move(x + 14, y + 3, steps=3)
        settle(page)
        told = page.locator("#plan .told-here").bounding_box()
        table = page.locator('#plan .over [data-name="table"]').last.bounding_box()
        assert told["y"] >= table["y"] + table["height"] or told["y"] + told["height"] <= table["y"]
        page.mouse.up()
        settle(page)
        page.click("#undo")
        settle(page)
        stage, picked = page.locator(".stage").bounding_box(), page.locator("#picked").bounding_box()
        assert page.inner_text("#picked").startswith("table: ")
        assert picked["y"] >= stage["y"] + stage["height"]


# ---- by touch, by ear, in other colors ----


def test_a_finger_drags_what_was_tapped_and_nothing_else(browser: Any, fresh: Served) -> None:
    with visit(browser, fresh, "upright") as page:
        slide(page, "height", "500")
        page.locator("#plan").scroll_into_view_if_needed()
        hand = page.context.new_cdp_session(page)

        def swipe(by: float) -> None:
            x, y = middle_of(page, "plan", "box")
            hand.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": [{"x": x, "y": y}]})
            for share in (0.25, 0.5, 0.75, 1.0):
                points = [{"x": x - share * by, "y": y}]
                hand.send("Input.dispatchTouchEvent", {"type": "touchMove", "touchPoints": points})
                page.wait_for_timeout(30)
            hand.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
            settle(page)

        swipe(60)
        assert page.is_disabled("#undo")
        assert page.locator("#chosen").is_hidden()
        page.touchscreen.tap(*middle_of(page, "plan", "box"))
        settle(page)
        assert page.inner_text("#chosen-name").startswith("box")
        page.locator("#plan").scroll_into_view_if_needed()
        swipe(60)
        assert page.get_attribute("#undo", "title") == "take back: move box"
        assert th.parse_length(page.input_value("#at-x")) < 1950


def test_what_a_change_came_to_is_said(browser: Any, fresh: Served) -> None:
    with visit(browser, fresh) as page:
        choose(page, "box")
        page.focus("#plan")
        page.keyboard.press("Shift+ArrowRight")
        settle(page)
        news = page.locator('#news[role="status"]')
        page.wait_for_function("() => document.getElementById('news').textContent")
        assert news.text_content() == "move box. box clear. Stations 2010 to 2410 mm, top at 1000 mm"
        page.get_by_role("button", name="remove").click()
        settle(page)
        assert page.evaluate("document.activeElement.id") == "undo"
        page.wait_for_function("() => document.getElementById('news').textContent === 'remove box'")
        page.keyboard.press("Enter")
        settle(page)
        page.wait_for_function("() => document.getElementById('news').textContent.startsWith('taken back')")


def test_in_forced_colors_what_is_pressed_differs(browser: Any, demo: Served) -> None:
    """WCAG 2.2, 4.1.2: the state of a control; the system's own two colors are the only ones left."""
    with visit(browser, demo) as page:
        page.emulate_media(forced_colors="active")
        color = "(it) => getComputedStyle(it).backgroundColor"
        for on, off in (
            ("#units-mm + span", "#units-in + span"),
            ('#views [aria-pressed="true"]', '#views [aria-pressed="false"]'),
        ):
            assert page.locator(on).first.evaluate(color) != page.locator(off).first.evaluate(color)


def test_the_widths_are_never_cut_off(browser: Any, demo: Served) -> None:
    """Words that take more lines on a narrow page push on what is below; a place that scrolls would need a focus of its own."""
    with visit(browser, demo) as page:
        for width in (320, 390, 1280):
            page.set_viewport_size({"width": width, "height": 700})
            settle(page)
            box = page.locator(".widths").bounding_box()
            last = page.locator("#bare").bounding_box()
            assert last["y"] + last["height"] <= box["y"] + box["height"] + 0.5
