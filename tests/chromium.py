"""A real browser, drawing in software; where none is installed its tests say so and skip, but never in CI."""

from __future__ import annotations

import os
import shutil
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from collections.abc import Iterator

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
FLAGS = [
    "--headless=new", "--no-sandbox", "--use-angle=swiftshader", "--enable-unsafe-swiftshader",
    "--disable-background-networking", "--disable-component-update", "--disable-sync", "--no-first-run",
    "--disable-gpu-rasterization", "--disable-gpu-compositing",
]  # fmt: skip


def why_no_browser() -> str:
    if CHROMIUM is None:
        return "no Chromium is installed"
    try:
        import playwright.sync_api  # noqa: F401
    except ImportError:
        return "the package playwright is not installed"
    return ""


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    why = why_no_browser()
    if why and os.environ.get("CI") == "true":
        pytest.fail(f"{why}: here these tests must run")
    if why:
        pytest.skip(why)
    from playwright.sync_api import sync_playwright

    with sync_playwright() as driver:
        opened = driver.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield opened
        opened.close()
