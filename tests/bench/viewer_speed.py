"""Measure the served viewer in a real browser, drawing in software, and print one table; exit status 1 when a limit is broken.

    python tests/bench/viewer_speed.py

The limits are times, not ratios: what a hand on a slider waits for. Measure on an idle machine, twice.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
import time
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

import tumblehome as th

sys.path.insert(0, str(Path(__file__).parents[1]))
from chromium import CHROMIUM, FLAGS
from viewer.serving import serving

if TYPE_CHECKING:
    from collections.abc import Iterator

TIMES = 60
"""So often each thing is done."""
CRATES = 10
"""So many boxes are added to the demo's 20 modules."""


PAINTED = "requestAnimationFrame(() => setTimeout(done))"
"""The page's next frame has been painted."""


def replaced(name: str) -> str:
    """Return the script that waits until an element's children have been replaced and painted."""
    return f"""new Promise((done) => {{
        const watch = new MutationObserver(() => {{ watch.disconnect(); {PAINTED}; }});
        watch.observe(document.getElementById("{name}"), {{ childList: true }}); }})"""


ROUND = f"""new Promise((done) => {{
    const {{ view }} = round;
    const was = view.afterwards;
    view.afterwards = () => {{
        was();
        view.afterwards = was;
        view.gl.readPixels(0, 0, 1, 1, view.gl.RGBA, view.gl.UNSIGNED_BYTE, new Uint8Array(4));
        {PAINTED};
    }}; }})"""
"""Waits until the picture's pixels can be read back, and the frame after."""


def slid(page: Any, axis: str) -> str:
    """Return the script that slides to the i-th of many places, far from one another."""
    low, high = (float(page.get_attribute(f"#{axis}", end)) for end in ("min", "max"))
    return f"""{{ const range = document.getElementById("{axis}");
        range.value = {low + 50} + {high - low - 100} * ((i * 0.618) % 1);
        range.dispatchEvent(new Event("input")); }}"""


NUDGED = """document.getElementById("plan").dispatchEvent(
    new KeyboardEvent("keydown", { key: i % 20 < 10 ? "ArrowRight" : "ArrowLeft" }))"""


def timed(page: Any, act: str, seen: str, rest: int = 60) -> list[float]:
    """Return how many milliseconds pass from each of many acts until it is seen."""
    script = f"""async ([times, rest]) => {{
        const out = [];
        for (let i = 0; i < times; i++) {{
            const began = performance.now();
            const seen = {seen};
            {act};
            await seen;
            out.push(performance.now() - began);
            await new Promise((done) => setTimeout(done, rest));
        }}
        return out; }}"""
    measured: list[float] = page.evaluate(script, [TIMES, rest])
    return measured


@contextmanager
def van(crates: int) -> Iterator[Path]:
    """Yield the layout file of the demo in a folder of its own, with some boxes more."""
    with tempfile.TemporaryDirectory() as folder:
        shutil.copytree(th.bundled_shells()["long-heron"].parent, folder, dirs_exist_ok=True)
        file = Path(folder) / "layout.toml"
        text = file.read_text(encoding="utf-8")
        before, modes = text.split("[[modes]]", 1)
        boxes = "".join(
            f'[[modules]]\nname = "crate {i}"\nwide = 90\ndeep = 90\nhigh = 90\nfaces = "rear"\n'
            f"station = {600 + 210 * i}\nbreadth = -45\nhung = 1000\n\n"
            for i in range(crates)
        )
        file.write_text(f"{before}{boxes}[[modes]]{modes}", encoding="utf-8")
        yield file


def measure(page: Any, crate: str) -> Iterator[tuple[str, list[float], float]]:
    """Yield what was measured, the milliseconds, and the limit of their 95th percentile."""
    yield "height slider to new plan", timed(page, slid(page, "height"), replaced("plan")), 100
    yield "station slider to new cross-section", timed(page, slid(page, "station"), replaced("section")), 100
    for axis in ("height", "station"):
        page.select_option("#cut", axis)
        page.wait_for_timeout(500)
        yield f"{axis} slider to new cut in the round", timed(page, slid(page, axis), ROUND), 150
    page.select_option("#cut", "none")
    page.locator("#things button", has_text=crate).first.click()
    page.wait_for_timeout(500)
    yield "nudge to new findings, 30 modules", timed(page, NUDGED, replaced("things"), 300), 100


def first_picture(browser: Any, address: str) -> tuple[Any, float]:
    """Return a page with its picture, and after how many milliseconds it was there."""
    page = browser.new_context(viewport={"width": 1280, "height": 720}).new_page()
    began = time.perf_counter()
    page.goto(address)
    page.wait_for_selector('.stage[aria-busy="false"]', timeout=60_000)
    return page, (time.perf_counter() - began) * 1e3


def main() -> int:
    """Measure everything and print the table."""
    from playwright.sync_api import sync_playwright

    holds = True
    with van(CRATES) as file, serving(file) as served, sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        page, first = first_picture(browser, served.address)
        print(f"| {'what':42} | {'median':>8} | {'p95':>8} | limit |")
        print(f"|{'-' * 44}|{'-' * 10}|{'-' * 10}|-------|")
        for what, times, limit in [("first picture", [first], 4000.0), *measure(page, "crate 4")]:
            median, p95 = np.median(times), float(np.percentile(times, 95))
            holds = holds and p95 <= limit
            mark = "" if p95 <= limit else "  broken"
            print(f"| {what:42} | {median:5.0f} ms | {p95:5.0f} ms | {limit:5.0f} |{mark}")
        browser.close()
    return 0 if holds else 1


if __name__ == "__main__":
    raise SystemExit(main())
