"""How findings about people are worded."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tumblehome.lengths import format_length

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

__all__ = ["between", "joined", "said", "shown"]


def shown(mm: float, units: str) -> str:
    """Return a length with its unit."""
    return format_length(mm, units) if units == "in" else f"{format_length(mm, units)} mm"


def between(parts: tuple[str, str]) -> str:
    """Say between which two parts a gate is, or in which doorway, or between which part's two sides."""
    one, other = parts
    return f"between {one} and {other}" if one != other else f"between the two sides of {one}"


def joined(names: Sequence[str], last: str = "and") -> str:
    """Return names as a sentence lists them."""
    return f" {last} ".join(filter(None, [", ".join(names[:-1]), names[-1]])) if names else ""


def said(words: Callable[[str], str]) -> dict[str, str]:
    """Return a sentence in each of the units."""
    return {units: words(units) for units in ("mm", "in")}
