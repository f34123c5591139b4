"""How numbers are worded: lengths, areas and volumes in the unit that is shown, and plain data for programs."""

from __future__ import annotations

from math import ceil, floor
from typing import TYPE_CHECKING, Final, Literal, TypeAlias

import tumblehome as th
from tumblehome.lengths import shown

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = [
    "Shown",
    "Span",
    "area_shown",
    "length_shown",
    "plural",
    "rounded",
    "span_shown",
    "volume_shown",
    "within_shown",
]

Shown: TypeAlias = Literal["mm", "in"]
Span: TypeAlias = tuple[float, float]

_FOOT: Final = 304.8  # mm
_HAIR: Final = 1e-6  # of a mark, by which an end may miss it
_NOTHING: Final = "-"


def length_shown(mm: float | None, units: Shown) -> str:
    """Return a length with its unit, or a dash for none."""
    return _NOTHING if mm is None else shown(mm, units)


def span_shown(span: Span, units: Shown) -> str:
    """Return an interval of lengths, or the one length that both its ends are."""
    low, high = span
    return (
        length_shown(high, units) if low == high else f"{th.format_length(low, units)} to {length_shown(high, units)}"
    )


def within_shown(span: Span, units: Shown) -> str:
    """Return what is allowed: the ends of an interval, each drawn in to a mark that is shown, so that it is allowed too."""
    mark = 25.4 / 16 if units == "in" else 0.1
    return span_shown((ceil(span[0] / mark - _HAIR) * mark, floor(span[1] / mark + _HAIR) * mark), units)


def area_shown(mm2: float, units: Shown) -> str:
    """Return an area in square meters or square feet."""
    return f"{mm2 / _FOOT**2:.2f} sq ft" if units == "in" else f"{mm2 / 1e6:.3f} m²"


def volume_shown(liters: float, units: Shown) -> str:
    """Return a volume in cubic meters or cubic feet."""
    return f"{liters * 1e6 / _FOOT**3:.0f} cu ft" if units == "in" else f"{liters / 1e3:.2f} m³"


def plural(count: int, noun: str) -> str:
    """Return a count with its noun: "1 module", "2 modules"."""
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"


def rounded(facts: Mapping[str, object]) -> dict[str, object]:
    """Return plain data with every float to 1e-6, finer than anything is promised."""
    return {key: round(value, 6) if isinstance(value, float) else value for key, value in facts.items()}
