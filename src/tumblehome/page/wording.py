"""How the page's lengths are worded: once, by the library, in both units, each text only once in the file."""

from __future__ import annotations

import base64
from typing import TYPE_CHECKING, Final

import numpy as np

from tumblehome.lengths import format_length

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

__all__ = ["NOTHING", "Pool", "in_both", "packed"]

NOTHING: Final = 65535
"""The number that stands for no text where numbers of texts are packed."""


class Pool:
    """Texts in both units, numbered in the order in which they were first needed."""

    def __init__(self) -> None:
        self.words: list[tuple[str, str]] = []
        self._numbers: dict[tuple[str, str], int] = {}
        self._seen: dict[float, int] = {}

    def number(self, mm: float) -> int:
        """Return the number of a length's text."""
        if mm not in self._seen:
            self._seen[mm] = self._number_of(in_both(mm))
        return self._seen[mm]

    def _number_of(self, text: tuple[str, str]) -> int:
        if text not in self._numbers:
            self._numbers[text] = len(self.words)
            self.words.append(text)
        return self._numbers[text]


def in_both(mm: float) -> tuple[str, str]:
    """Return a length with its unit, in millimeters and in inches."""
    return f"{format_length(mm, 'mm')} mm", format_length(mm, "in")


def packed(values: ArrayLike, kind: str) -> str:
    """Return whole numbers, row by row, as base64 of little-endian ones of a NumPy kind ("u2", "i2", ...)."""
    return base64.b64encode(np.ascontiguousarray(values).astype(f"<{kind}").tobytes()).decode()
