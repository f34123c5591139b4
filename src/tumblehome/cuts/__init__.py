"""Cuts through the void: sections, bands, widths, and how far a body can reach."""

from tumblehome.cuts.band import band
from tumblehome.cuts.reach import reach
from tumblehome.cuts.section import Section, section
from tumblehome.cuts.width import Limit, Space, Width, WidthChart, free_run, width, width_chart

__all__ = [
    "Limit",
    "Section",
    "Space",
    "Width",
    "WidthChart",
    "band",
    "free_run",
    "reach",
    "section",
    "width",
    "width_chart",
]
