"""Everything that is drawn of a layout, into one folder: the drawings to scale first, then the stills."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

import tumblehome as th
from tumblehome.cli.terminal import Progress
from tumblehome.files import output_folder

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from tumblehome.cli.wording import Shown

__all__ = ["write_drawings", "write_stills"]

_UNITS = {"mm": "millimeters", "in": "inches"}


def write_drawings(
    layout: th.Layout, findings: Sequence[th.Finding], folder: Path | str, *, units: Shown, suffix: str
) -> list[Path]:
    """Write the standard drawings of a layout and return their paths."""
    progress, paths = Progress(), []
    with output_folder(folder) as target:
        try:
            for name, drawing in th.standard_drawings(layout, findings, units).items():
                path = target / f"{name.replace(' ', '-')}.{suffix}"
                progress(f"drawing {path.name}")
                th.save(drawing, path)
                paths.append(path)
        finally:
            progress.done()
    return paths


def write_stills(
    layout: th.Layout, folder: Path | str, *, units: Shown, size: tuple[int, int], views: Sequence[str] = ()
) -> list[Path]:
    """Draw views of a layout, all of them unless some are named, and return the paths of the pictures."""
    progress = Progress()
    progress("building the scene")
    title = f"{layout.title}, {layout.shell.name}"
    try:
        draw = partial(
            th.render_stills,
            th.scene_of(layout),
            folder,
            size=size,
            title=title,
            units=_UNITS[units],
            progress=progress,
        )
        return draw(views=views) if views else draw()
    finally:
        progress.done()
