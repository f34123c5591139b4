"""The file's text on the served page, in a real browser: what is typed there is the file, and nothing typed is lost unasked.

Contrast, names and focus are held against axe-core's rules for WCAG 2.2 AA; that Tab leaves the text is its rule 2.1.2.
"""

from __future__ import annotations

from contextlib import ExitStack
from itertools import combinations
from typing import TYPE_CHECKING, Any

import pytest

import tumblehome as th
from chromium import browser
from viewer.serving import BOX, Served, serving, write_wedge
from viewer.test_view import choose, demo, fresh, settle, visit
from wedge import SHELL

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["browser", "demo", "fresh"]

MOVED = BOX.replace('"2000 mm"', '"1800 mm"')
WRONG = BOX.replace('deep = "400 mm"', 'deep = "4OO mm"')
FOREIGN = "The text was changed elsewhere since you began to type. Applying puts yours in its place."


def opened(page: Any) -> None:
    page.click("#text-open")
    settle(page)


def typed(page: Any, text: str) -> None:
    page.fill("#text", text)
    page.locator("#text").press("Control+Enter")
    settle(page)


def pushed(page: Any) -> None:
    """Move the chosen module by 10 mm."""
    page.focus("#plan")
    page.keyboard.press("Shift+ArrowRight")
    settle(page)


def questions(page: Any) -> Any:
    """Have every question noted from now on; return how to read them."""
    page.evaluate(
        "() => { const { ask } = talk; window.asked = []; "
        "talk.ask = (what, ...more) => { window.asked.push(what); ask.call(talk, what, ...more); }; }"
    )
    return lambda: page.evaluate("window.asked.splice(0)")


# ---- to see ----


def test_it_is_closed_at_first_and_its_text_travels_only_while_it_is_open(browser: Any, fresh: Served) -> None:
    with visit(browser, fresh) as page:
        assert page.get_attribute("#text-open", "aria-expanded") == "false"
        assert page.locator("#text").is_hidden()
        assert page.evaluate("document.getElementById('text').value") == ""
        asked = questions(page)
        choose(page, "box")
        pushed(page)
        assert "edit" in (closed := asked())
        assert "text" not in closed
        opened(page)
        assert "text" in asked()
        assert page.get_attribute("#text-open", "aria-expanded") == "true"
        assert page.input_value("#text") == BOX.replace("2000 mm", "2010 mm")
        pushed(page)
        assert "text" in asked()
        assert page.input_value("#text") == BOX.replace("2000 mm", "2020 mm")
        page.click("#text-open")
        pushed(page)
        assert "text" not in asked()
        opened(page)
        assert page.input_value("#text") == BOX.replace("2000 mm", "2030 mm")


def test_its_lines_are_numbered(browser: Any, demo: Served) -> None:
    lines = demo.file.read_text().count("\n") + 1
    with visit(browser, demo) as page:
        opened(page)
        assert page.text_content("#text-lines").split() == [str(n + 1) for n in range(lines)]
        page.locator("#text").press("Control+End")
        page.wait_for_function(
            "() => { const [at, numbers] = ['text', 'text-lines'].map((id) => document.getElementById(id).scrollTop);"
            "return at > 0 && at === numbers; }"
        )


def test_a_bare_shell_is_shown_and_not_changed(browser: Any, tmp_path: Path) -> None:
    file = write_wedge(tmp_path).with_name("shell.toml")
    with serving(file) as running, visit(browser, running) as page:
        opened(page)
        assert page.input_value("#text") == SHELL.format(unit="mm")
        assert not page.locator("#text").is_editable()
        assert page.locator("#text-apply").is_hidden()
        assert "bare shell" in page.inner_text("#text-told")
        file.write_text(SHELL.format(unit="mm").replace('"Wedge"', '"Chisel"'))
        page.wait_for_function("() => document.getElementById('text').value.includes('Chisel')")
        assert page.inner_text("#title") == "Chisel"


# ---- to change ----


@pytest.mark.parametrize("by", ["button", "keys"])
def test_what_is_applied_is_the_plan_and_undo_takes_it_back(browser: Any, fresh: Served, by: str) -> None:
    with visit(browser, fresh) as page:
        choose(page, "box")
        opened(page)
        assert page.locator("#text-apply").is_disabled()
        page.fill("#text", MOVED)
        assert page.inner_text("#text-mark") == "not applied yet"
        assert page.input_value("#at-x") == "2000 mm"
        if by == "keys":
            page.locator("#text").press("Control+Enter")
        else:
            page.click("#text-apply")
        settle(page)
        assert page.input_value("#at-x") == "1800 mm"
        assert (page.input_value("#text"), page.inner_text("#text-mark")) == (MOVED, "")
        assert page.get_attribute("#undo", "title") == "take back: edit the text"
        page.click("#save")
        settle(page)
        assert fresh.file.read_bytes() == MOVED.encode()
        page.click("#undo")
        settle(page)
        assert page.input_value("#text") == BOX
        assert page.input_value("#at-x") == "2000 mm"
        page.click("#redo")
        settle(page)
        assert page.input_value("#text") == MOVED


def test_a_text_that_is_no_layout_tells_its_line_and_keeps_the_picture(browser: Any, fresh: Served) -> None:
    line = BOX.splitlines().index('deep = "400 mm"') + 1
    with visit(browser, fresh) as page:
        opened(page)
        typed(page, WRONG)
        assert f"layout.toml:{line}: " in page.inner_text(".line.fault")
        assert page.locator("#things li").count() == 1
        assert page.locator("#plan .under path").count() > 10
        assert page.get_attribute("#text", "aria-invalid") == "true"
        assert page.inner_text("#text-lines b") == str(line)
        page.get_by_role("button", name=f"go to line {line}").click()
        assert (
            page.evaluate(
                "() => { const a = document.activeElement; return a.value.slice(a.selectionStart, a.selectionEnd); }"
            )
            == 'deep = "4OO mm"'
        )
        page.click("#undo")
        settle(page)
        assert page.input_value("#text") == BOX
        assert page.locator(".line.fault").count() == page.locator("#text-lines b").count() == 0
        assert page.locator("#text-line").is_hidden()
        typed(page, WRONG)
        typed(page, MOVED)
        assert page.locator(".line.fault").count() == 0
        assert page.get_attribute("#text", "aria-invalid") == "false"


def test_the_line_ends_of_a_file_are_kept(browser: Any, tmp_path: Path) -> None:
    """A text area has line feeds alone (HTML Living Standard, API value of textarea); the file has both."""
    file = write_wedge(tmp_path)
    file.write_bytes(BOX.replace("\n", "\r\n").encode())
    with serving(file) as running, visit(browser, running) as page:
        opened(page)
        assert page.inner_text("#text-mark") == ""
        typed(page, MOVED)
        assert page.inner_text("#text-mark") == ""
        page.keyboard.press("Control+s")
        settle(page)
    assert file.read_bytes() == MOVED.replace("\n", "\r\n").encode()


# ---- to follow ----


def test_it_follows_other_pages_and_the_disk(browser: Any, fresh: Served) -> None:
    with ExitStack() as stack:
        one, other = (stack.enter_context(visit(browser, fresh)) for _ in range(2))
        opened(one)
        choose(other, "box")
        pushed(other)
        settle(one)
        assert one.input_value("#text") == BOX.replace("2000 mm", "2010 mm")
        other.click("#undo")
        settle(other)
        fresh.file.write_text(MOVED)
        one.wait_for_function("text => document.getElementById('text').value === text", arg=MOVED)
        assert one.inner_text("#text-told") == ""


def test_what_was_typed_is_kept_when_the_text_changes_elsewhere_and_can_be_dropped(browser: Any, fresh: Served) -> None:
    mine, theirs = BOX + "# mine\n", BOX.replace("2000 mm", "2010 mm")
    with visit(browser, fresh) as page:
        choose(page, "box")
        opened(page)
        page.fill("#text", mine)
        assert page.inner_text("#text-told") == ""
        pushed(page)
        assert page.input_value("#text") == mine
        assert page.inner_text("#text-told") == FOREIGN
        page.get_by_role("button", name="drop what I typed").click()
        assert page.input_value("#text") == theirs
        assert page.inner_text("#text-told") == page.inner_text("#text-mark") == ""
        assert page.locator("#text-drop").is_hidden()
        page.fill("#text", mine)
        pushed(page)
        page.click("#text-open")
        assert page.inner_text("#text-mark") == "not applied yet"  # closed, too
        opened(page)
        assert page.input_value("#text") == mine
        page.click("#text-apply")
        settle(page)
        assert page.inner_text("#text-told") == ""
        page.click("#undo")
        settle(page)
        assert page.input_value("#text") == BOX.replace("2000 mm", "2020 mm")


def test_what_is_typed_on_while_it_is_applied_is_not_taken_for_anothers(browser: Any, fresh: Served) -> None:
    with visit(browser, fresh) as page:
        opened(page)
        page.fill("#text", MOVED)
        page.evaluate("() => { textBox.apply(); textBox.area.value += '# more\\n'; textBox.show(); }")
        settle(page)
        assert page.input_value("#text") == MOVED + "# more\n"
        assert (page.inner_text("#text-mark"), page.inner_text("#text-told")) == ("not applied yet", "")


def test_saving_says_what_is_not_in_the_file(browser: Any, fresh: Served) -> None:
    with visit(browser, fresh) as page:
        opened(page)
        typed(page, MOVED)
        page.fill("#text", MOVED + "# more\n")
        page.locator("#text").press("Control+s")
        settle(page)
        assert "not applied yet" in page.inner_text(".line.said")
    assert fresh.file.read_bytes() == MOVED.encode()


# ---- for everybody ----


def test_it_is_reached_and_left_by_keyboard(browser: Any, fresh: Served) -> None:
    with visit(browser, fresh) as page:
        page.focus("#text-open")
        page.keyboard.press("Enter")
        settle(page)
        page.keyboard.press("Tab")
        assert page.evaluate("document.activeElement.id") == "text"
        page.keyboard.press("Control+Home")
        page.keyboard.type("#")
        page.keyboard.press("Tab")
        assert page.evaluate("document.activeElement.id") == "text-apply"
        page.keyboard.press("Tab")
        assert page.evaluate("document.activeElement.id") == "text-drop"
        page.keyboard.press("Tab")
        assert page.evaluate("!document.getElementById('text-box').contains(document.activeElement)")
        page.keyboard.press("Shift+Tab")
        page.keyboard.press("Enter")
        assert page.input_value("#text") == BOX


@pytest.mark.parametrize("screen", ["laptop", "tablet", "upright"])
def test_nothing_lies_on_another_and_axe_finds_nothing_serious(browser: Any, demo: Served, screen: str) -> None:
    axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()
    rules = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}

    def check(page: Any) -> None:
        found = axe.run(page, options=rules).response["violations"]
        faults = [f"{v['id']}: {v['nodes'][0]['html'][:120]}" for v in found if v["impact"] in {"serious", "critical"}]
        assert faults == []
        size = page.viewport_size
        assert page.evaluate("document.documentElement.scrollWidth") <= size["width"]
        if screen == "laptop":
            assert page.evaluate("document.documentElement.scrollHeight") <= size["height"]
        apart = [".stage", "#plan", "#section", "#things", ".typing", "#text-work", "#text-open", ".shown", "#toggles"]
        boxes = {name: page.locator(name).bounding_box() for name in apart}
        for one, other in combinations(boxes, 2):
            assert not _overlap(boxes[one], boxes[other]), (one, other)
        assert boxes[".typing"]["width"] > 280
        assert boxes[".typing"]["height"] > 70
        assert min(boxes[name]["width"] for name in (".stage", "#plan", "#section")) > 300
        assert _stuck_out(page) == []

    with visit(browser, demo, screen) as page:
        opened(page)
        check(page)
        text = page.input_value("#text")
        choose(page, "refrigerator")
        typed(page, text.replace("panel = 18", "panel = 18 mm"))
        assert page.locator("#text-line").is_visible()
        assert page.locator("#text-told").is_visible() == (screen != "laptop")  # else the line above is far from here
        assert "layout.toml:8: " in (page.text_content("#text-told") or "")
        check(page)
        page.click("#undo")
        settle(page)
        page.fill("#text", text + "#")
        pushed(page)
        assert page.inner_text("#text-told") == FOREIGN
        check(page)
        page.click("#undo")
        settle(page)


def _overlap(one: dict[str, float], other: dict[str, float]) -> bool:
    return all(
        one[at] < other[at] + other[size] - 0.5 and other[at] < one[at] + one[size] - 0.5
        for at, size in (("x", "width"), ("y", "height"))
    )


def _stuck_out(page: Any) -> list[str]:
    """Return what of the box stands beyond its column or the end of the page."""
    out: list[str] = page.evaluate(
        "() => { const left = document.querySelector('.left').getBoundingClientRect();"
        "return [...document.querySelectorAll('#text-body, #text-body *')].filter((e) => e.offsetParent && !e.closest('pre'))"
        ".filter((e) => { const r = e.getBoundingClientRect(); return r.right > left.right + 1 || r.bottom > left.bottom + 1; })"
        ".map((e) => e.id || e.tagName); }"
    )
    return out


def test_a_plan_of_a_new_shell_is_drawn_and_cut_anew(browser: Any, fresh: Served) -> None:
    """Half-breadth 900 - z / 10 becomes 800 - z / 10 in a van that is 500 longer."""
    shell = fresh.file.with_name("shell.toml")
    text = shell.read_text()
    with visit(browser, fresh) as page:
        end = float(page.get_attribute("#station", "max"))
        page.locator("#height-text").fill("1000 mm")
        page.locator("#height-text").press("Enter")
        settle(page)
        assert page.inner_text("#bare .sum b") == "1600 mm"
        wide = text.replace("900 mm, 900 mm", "800 mm, 800 mm").replace("700 mm, 700 mm", "600 mm, 600 mm")
        longer = wide.replace(f"{end:g} mm", f"{end + 500:g} mm")
        assert len({text, wide, longer}) == 3
        shell.write_text(longer)
        page.wait_for_function("() => document.querySelector('#bare .sum b').textContent === '1400 mm'")
        settle(page)
        assert float(page.get_attribute("#station", "max")) == end + 500
        shell.write_text(longer.replace("depth", "dept"))
        page.wait_for_selector(".line.fault")
        assert "shell.toml:" in page.inner_text(".line.fault")
        settle(page)
        assert page.inner_text("#bare .sum b") == "1400 mm"
        shell.write_text(text)
        page.wait_for_selector(".line.fault", state="detached")
        settle(page)
        assert page.inner_text("#bare .sum b") == "1600 mm"
        assert th.width(th.load_shell(shell), height=1000, station=1500).usable == pytest.approx(1600)
