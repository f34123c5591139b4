"""Cuts through the void: sections, bands, widths, and how far a body can reach."""

from tumblehome.cuts.band import band
from tumblehome.cuts.reach import DIRECTIONS, Reach, Room, reach, room_of
from tumblehome.cuts.section import Section, section
from tumblehome.cuts.width import Limit, Space, Width, WidthChart, free_run, width, width_chart

__all__ = [
    "DIRECTIONS", "Limit", "Reach", "Room", "Section", "Space", "Width", "WidthChart", "band", "free_run", "reach", "room_of",
    "section", "width", "width_chart",
]  # fmt: skip
