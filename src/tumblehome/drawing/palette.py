"""What everything looks like: the colors, the line weights, the text sizes, and one style for each layer.

Lengths are millimeters of paper. The line weights are steps that DXF knows, so that all writers draw the same line.
"""

from __future__ import annotations

from types import MappingProxyType
from typing import TYPE_CHECKING, Final

from tumblehome.errors import InputError, nearest
from tumblehome.records import dataclass

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = [
    "ACCENT",
    "AIR",
    "BODY",
    "CONTOUR",
    "CUT_EDGE",
    "DIMENSION",
    "FOOTNOTE",
    "HAIR",
    "HATCH_SPACING",
    "HATCH_WEIGHT",
    "HIDDEN",
    "INK",
    "LAYERS",
    "LINING",
    "LINING_HATCH",
    "MARGIN",
    "MEMBER",
    "MODULE",
    "MODULE_EDGE",
    "PAPER",
    "PERSON",
    "PERSON_EDGE",
    "QUIET",
    "RECESS",
    "RECESS_EDGE",
    "RULE",
    "SELECTED",
    "SMALL",
    "STEEL",
    "SWEPT",
    "SWEPT_EDGE",
    "TITLE",
    "VERDICTS",
    "WHITE",
    "Style",
    "VerdictStyle",
    "contrast",
    "style_of",
    "verdict_style",
]  # fmt: skip

PAPER: Final = "#F7F3EA"
AIR: Final = "#FFFDF7"
SWEPT: Final = "#DDE5E6"
SWEPT_EDGE: Final = "#8FA4A9"
INK: Final = "#23303B"
QUIET: Final = "#5B564B"
RULE: Final = "#B9B2A2"
STEEL: Final = "#46545E"
LINING: Final = "#D9C9A8"
LINING_HATCH: Final = "#B79F73"
MEMBER: Final = "#8C5B3F"
RECESS: Final = "#CFE0DA"
RECESS_EDGE: Final = "#3E7A73"
MODULE: Final = "#EFE7D6"
ACCENT: Final = "#C4572E"
PERSON: Final = "#F4EEE0"
PERSON_EDGE: Final = "#B4AB98"
WHITE: Final = "#FFFFFF"

# Line weights.
SELECTED: Final = 0.70
CUT_EDGE: Final = 0.50
MODULE_EDGE: Final = 0.40
CONTOUR: Final = 0.35
DIMENSION: Final = 0.30
HIDDEN: Final = 0.25
HAIR: Final = 0.13
HATCH_WEIGHT: Final = 0.25
HATCH_SPACING: Final = 1.85

# Text sizes: the height of the font, of which a capital takes 0.73.
TITLE: Final = 5.2
BODY: Final = 3.2
SMALL: Final = 2.7
FOOTNOTE: Final = 2.4

# The empty border of every sheet.
MARGIN: Final = 12.0


@dataclass(frozen=True, slots=True)
class Style:
    """How one layer is drawn.

    ``stroke`` and ``fill`` are None where there is no line and no filling; ``hatch`` is the color of 45-degree lines
    over the filling. ``inside`` colors words that lie on the filling, ``outside`` those that lie beside it.
    """

    stroke: str | None = INK
    weight: float = MODULE_EDGE
    fill: str | None = None
    hatch: str | None = None
    dash: tuple[float, ...] = ()
    inside: str = INK
    outside: str = INK


# In the order of painting: later layers lie on earlier ones.
LAYERS: Final[Mapping[str, Style]] = MappingProxyType(
    {
        "rule": Style(RULE, HAIR, outside=QUIET),
        "steel": Style(None, fill=STEEL, inside=WHITE, outside=STEEL),
        "lining": Style(INK, HIDDEN, fill=LINING, hatch=LINING_HATCH),
        "air": Style(INK, CUT_EDGE, fill=AIR),
        "swept": Style(SWEPT_EDGE, HIDDEN, fill=SWEPT),
        "recess": Style(RECESS_EDGE, MODULE_EDGE, fill=RECESS, inside=RECESS_EDGE, outside=RECESS_EDGE),
        "member": Style(INK, HIDDEN, fill=MEMBER, inside=WHITE, outside=MEMBER),
        "person": Style(PERSON_EDGE, HIDDEN, fill=PERSON, inside=QUIET, outside=QUIET),
        "module": Style(INK, MODULE_EDGE, fill=MODULE),
        "accent": Style(ACCENT, SELECTED, fill=MODULE),
        "contour": Style(STEEL, CONTOUR),
        "ghost": Style(INK, HIDDEN, dash=(0.9, 0.9)),
        "dimension": Style(INK, DIMENSION),
        "text": Style(None),
        "verdict": Style(None),
        "sheet": Style(None, outside=QUIET),
    }
)


@dataclass(frozen=True, slots=True)
class VerdictStyle:
    """The color of one verdict and the shape of its mark: told apart by shape and word, not by color alone."""

    color: str
    shape: str


VERDICTS: Final[Mapping[str, VerdictStyle]] = MappingProxyType(
    {
        "clear": VerdictStyle("#2B6B5A", "ring"),
        "tight": VerdictStyle("#8A5F00", "diamond"),
        "fouls": VerdictStyle("#A3262A", "crossed square"),
    }
)


def style_of(layer: str) -> Style:
    """Return the style of `layer`; raises InputError, naming the nearest layer, when there is none of that name."""
    if layer not in LAYERS:
        raise InputError(f"no drawing layer '{layer}'; there are {', '.join(LAYERS)}{nearest(layer, LAYERS)}")
    return LAYERS[layer]


def verdict_style(verdict: str) -> VerdictStyle:
    """Return the color and shape of `verdict`; raises InputError, naming the nearest, when it is not a verdict."""
    if verdict not in VERDICTS:
        raise InputError(f"no verdict '{verdict}'; there are {', '.join(VERDICTS)}{nearest(verdict, VERDICTS)}")
    return VERDICTS[verdict]


def contrast(one: str, other: str) -> float:
    """Return how well two colors, as "#RRGGBB", are told apart, 1 to 21: the contrast ratio of WCAG 2.2."""
    dark, light = sorted(map(_luminance, (one, other)))
    return (light + 0.05) / (dark + 0.05)


def _luminance(color: str) -> float:
    """Return the relative luminance of a color: WCAG 2.2, its definition there."""
    parts = [int(color[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue
