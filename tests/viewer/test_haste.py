"""What is done faster than it is answered, left half done, or broken off: it is used where it was meant, and what holds is said.

Places are held against what the library reads from the saved file.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

import tumblehome as th
from chromium import browser
from viewer.serving import BOX, Served, serving, write_wedge
from viewer.test_view import choose, demo, dragged, fresh, middle_of, settle, slide, visit

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

__all__ = ["browser", "demo", "fresh"]

_CHEST = BOX.split("[[modules]]", 1)[1].replace('name = "box"', 'name = "chest"').replace('"2000 mm"', '"1000 mm"')
_SCRIBED = BOX.replace('breadth = "-700 mm"', 'against = "left"').replace(
    'name = "box"', 'name = "box"\nkind = "scribed"'
)


@pytest.fixture
def two(tmp_path: Path) -> Iterator[Served]:
    """A box, and a chest 1 m ahead of it."""
    with serving(write_wedge(tmp_path, f"{BOX}\n[[modules]]{_CHEST}")) as running:
        yield running


def station(served: Served, name: str = "box") -> float:
    """Return where a module begins in the file as it is saved."""
    return float(th.load_layout(served.file).module(name).bounds[0][0])


def saved(page: Any) -> str:
    """Save by the keys, wait, and return what the page says of it."""
    page.keyboard.press("Control+s")
    settle(page)
    return str(page.inner_text(".line.said"))


# ---- typed ----


def test_what_is_typed_goes_to_the_module_that_it_was_typed_for(browser: Any, two: Served) -> None:
    with visit(browser, two) as page:
        slide(page, "height", "500")
        choose(page, "box")
        page.locator("#at-x").press("Control+a")
        page.keyboard.type("1900")
        page.mouse.click(*middle_of(page, "plan", "chest"))
        settle(page)
        assert page.inner_text("#chosen-name").startswith("chest")
        assert page.input_value("#at-x") == "1000 mm"
        saved(page)
    assert (station(two), station(two, "chest")) == pytest.approx((1900, 1000))


def test_what_is_typed_is_saved_with_all_else(browser: Any, fresh: Served) -> None:
    with visit(browser, fresh) as page:
        choose(page, "box")
        page.locator("#at-x").press("Control+a")
        page.keyboard.type("1900")
        assert saved(page) == "saved in layout.toml"
        assert station(fresh) == pytest.approx(1900)
        page.locator("#at-x").press("Control+a")
        page.keyboard.type("waist")
        assert saved(page) == "saved in layout.toml; what is typed beside it was refused, and is not in it"
        assert page.input_value("#at-x") == "waist"
    assert station(fresh) == pytest.approx(1900)


def test_a_refused_entry_gives_way_to_what_holds_since(browser: Any, fresh: Served) -> None:
    with visit(browser, fresh) as page:
        slide(page, "height", "500")
        choose(page, "box")
        page.focus("#plan")
        page.keyboard.press("Shift+ArrowRight")
        settle(page)
        field, wrong = page.locator("#at-x"), page.locator("#at-x-wrong")
        for undone in (lambda: page.click("#undo"), lambda: dragged(page, "plan", "box", (-40, 0))):
            field.fill("waist")
            field.press("Enter")
            settle(page)
            assert "waist" in wrong.inner_text()
            undone()
            settle(page)
            assert (wrong.inner_text(), field.get_attribute("aria-invalid")) == ("", "false")
            assert field.input_value().endswith(" mm")
        page.keyboard.press("Control+z")
        settle(page)
        assert field.input_value() == "2000 mm"


def test_an_emptied_field_shows_again_what_holds(browser: Any, fresh: Served) -> None:
    with visit(browser, fresh) as page:
        choose(page, "box")
        for field, value in (("#at-x", "2000 mm"), ("#height-text", "1200 mm")):
            page.fill(field, " ")
            page.press(field, "Enter")
            settle(page)
            assert (page.input_value(field), page.inner_text(f"{field}-wrong")) == (value, "")


# ---- in haste ----


def test_saving_waits_for_the_steps_before_it(browser: Any, fresh: Served) -> None:
    with visit(browser, fresh) as page:
        choose(page, "box")
        page.focus("#plan")
        page.evaluate("""() => {
            const press = (key, ctrlKey) =>
                panes.plan.root.dispatchEvent(new KeyboardEvent("keydown", { key, ctrlKey, bubbles: true }));
            for (let i = 0; i < 15; i++) press("ArrowLeft", false);
            press("s", true);
        }""")
        settle(page)
        assert page.input_value("#at-x") == "1985 mm"
        assert page.inner_text("#save") == "saved"
    assert station(fresh) == pytest.approx(1985)


def test_a_drag_is_taken_back_at_once(browser: Any, fresh: Served) -> None:
    with visit(browser, fresh) as page:
        slide(page, "height", "500")
        x, y = middle_of(page, "plan", "box")
        page.evaluate(
            """([x, y]) => {
            const { root } = panes.plan;
            root.setPointerCapture = () => {};
            const point = (on, kind, dx) =>
                on.dispatchEvent(new PointerEvent(kind, { clientX: x + dx, clientY: y, bubbles: true }));
            point(document.elementFromPoint(x, y), "pointerdown", 0);
            for (const dx of [-10, -20, -40, -60]) point(root, "pointermove", dx);
            point(root, "pointerup", -60);
            document.dispatchEvent(new KeyboardEvent("keydown", { key: "z", ctrlKey: true }));
        }""",
            [x, y],
        )
        settle(page)
        assert page.input_value("#at-x") == "2000 mm"
        assert page.is_disabled("#undo")
        assert page.is_enabled("#redo")


# ---- broken off ----


def test_a_drag_that_came_to_nothing_takes_nothing_else_back(browser: Any, tmp_path: Path) -> None:
    """A scribed module's face cannot be beyond the centerline."""
    with serving(write_wedge(tmp_path, _SCRIBED)) as running, visit(browser, running) as page:
        slide(page, "station", "2200")
        choose(page, "box")
        page.focus("#plan")
        page.keyboard.press("Shift+ArrowRight")
        settle(page)
        x, y = middle_of(page, "section", "box")
        page.mouse.move(x, y)
        page.mouse.down()
        page.mouse.move(x + 400, y)
        settle(page)
        assert "centerline" in page.inner_text("#section .told-here")
        page.keyboard.press("Escape")
        page.mouse.up()
        settle(page)
        assert page.input_value("#at-x") == "2010 mm"
        assert page.locator("#section .told-here").is_hidden()


def test_a_refused_drag_says_what_holds(browser: Any, tmp_path: Path) -> None:
    with serving(write_wedge(tmp_path, _SCRIBED)) as running, visit(browser, running) as page:
        slide(page, "station", "2200")
        deep = page.evaluate("modules()[0].size[1]")
        x, y = middle_of(page, "section", "box")
        page.mouse.move(x, y)
        page.mouse.down()
        for by in (10, 20, 400):
            page.mouse.move(x + by, y)
            settle(page)
        told = page.inner_text("#section .told-here")
        assert "between the centerline" in told
        assert told.endswith("; it stays at the last place where it can be")
        assert page.evaluate("modules()[0].size[1]") > deep
        page.mouse.up()
        settle(page)
        assert page.locator("#section .told-here").is_hidden()
        assert page.inner_text(".line.said span") == told


def test_what_is_gone_is_told_of_no_more(browser: Any, demo: Served) -> None:
    with visit(browser, demo) as page:
        slide(page, "height", "710 mm")
        page.mouse.click(*middle_of(page, "plan", "table"))
        settle(page)
        assert page.text_content("#picked").startswith("table: ")
        page.check('#modes input[value="road"]', force=True)
        settle(page)
        assert page.text_content("#picked") == ""
        page.check('#modes input[value="day"]', force=True)
        settle(page)
        page.mouse.click(*middle_of(page, "plan", "table"))
        page.get_by_role("button", name="remove").click()
        settle(page)
        assert page.text_content("#picked") == ""
        page.click("#undo")
        settle(page)


# ---- elsewhere ----


def test_what_the_disk_brought_is_told_until_the_next_change(browser: Any, fresh: Served) -> None:
    with visit(browser, fresh) as page:
        fresh.file.write_text(BOX.replace('"2000 mm"', '"1900 mm"'))
        page.wait_for_selector(".line.said")
        assert page.inner_text(".line.said span") == "taken from the disk"
        fresh.file.unlink()
        page.wait_for_function(
            "() => document.querySelector('.line.said span').textContent.startsWith('the file is gone')"
        )
        assert page.inner_text(".line.said span") == "the file is gone from the disk; saving writes it anew"
        page.wait_for_timeout(4500)
        assert page.locator(".line.said").is_visible()
        assert saved(page) == "saved in layout.toml"


def test_what_must_be_decided_stays_however_often_it_is_escaped(browser: Any, fresh: Served) -> None:
    with visit(browser, fresh) as page:
        choose(page, "box")
        page.focus("#plan")
        page.keyboard.press("ArrowRight")
        settle(page)
        fresh.file.write_text(BOX.replace('"2000 mm"', '"1700 mm"'))
        page.wait_for_selector("dialog[open]")
        for _ in range(4):
            page.keyboard.press("Escape")
            page.wait_for_timeout(60)
            assert page.locator("dialog[open]").count() == 1
        page.get_by_role("button", name="take what is on the disk").click()
        page.wait_for_selector("dialog:not([open])", state="attached")
        settle(page)
        assert page.input_value("#at-x") == "1700 mm"


def test_a_fault_is_blamed_on_what_has_it(browser: Any, fresh: Served) -> None:
    wrong = BOX.replace('"2000 mm"', '"two"')
    with visit(browser, fresh) as page:
        page.click("#text-open")
        settle(page)
        page.fill("#text", wrong)
        page.click("#text-apply")
        settle(page)
        assert page.inner_text(".line.fault").startswith("The text typed here cannot be read as it is now")
        saved(page)
        assert page.inner_text(".line.fault").startswith("The file cannot be read as it is now")
