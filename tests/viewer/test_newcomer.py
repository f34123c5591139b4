"""What somebody meets who opens the served page for the first time: their own unit, odd names and sizes, mistyped values.

Lengths are held against the library's; what fits on a page against the boxes that the browser itself measures.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

import tumblehome as th
from chromium import browser
from viewer.serving import serving, write_wedge
from viewer.test_view import shown, visit
from wedge import SHELL

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["browser"]


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
