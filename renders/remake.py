"""Remake every picture of this folder: python renders/remake.py"""

from __future__ import annotations

from pathlib import Path

import numpy as np

import tumblehome as th
from tumblehome.drawing.study_drawing import draw_depth_by_height, draw_slide
from tumblehome.studies import study

HERE = Path(__file__).resolve().parent
STATION = 2100.0


def main() -> None:
    """Draw the demo: three stills, a cross-section, the chart of widths."""
    layout = th.load_layout("long-heron")
    findings = th.check(layout)
    for still in th.render_stills(th.scene_of(layout), HERE, views=("corner", "above", "left side"), size=(1280, 800)):
        print(still.name)
    low, high = layout.shell.bounds
    chart = th.width_chart(layout.shell, np.arange(low[2], high[2], 10.0), np.arange(low[0], high[0], 10.0))
    th.save(th.draw_section(layout, station=STATION, findings=findings, paper="A4"), HERE / "section.png")
    th.save(th.draw_width_chart(chart, layout.shell), HERE / "widths.png")
    asked = study(layout, "refrigerator")
    th.save(draw_depth_by_height(asked, "mm"), HERE / "depth-by-height.png")
    th.save(draw_slide(asked, "mm"), HERE / "slide.png")


if __name__ == "__main__":
    main()
