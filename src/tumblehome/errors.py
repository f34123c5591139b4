"""Everything that can go wrong, as one small tree.

TumblehomeError            anything this library raises on purpose; its text is one clear line
|-- InputError             a file, key or argument is at fault; says where, what was found, what is allowed
|   |-- LengthError        text that should be a length, mass or volume and is not
|   |-- MeshError          a mesh that is not one closed, outward, simple solid
|   `-- LayoutError        modules that contradict each other (names, rings, missing supports)
|-- KernelError            the solid kernel refused an operation
`-- PictureError           this machine cannot draw (no display library, unwritable folder)
"""

from __future__ import annotations

from difflib import get_close_matches
from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from pathlib import Path

__all__ = [
    "InputError",
    "KernelError",
    "LayoutError",
    "LengthError",
    "MeshError",
    "PictureError",
    "TumblehomeError",
    "Words",
    "nearest",
]

Words: TypeAlias = "str | Callable[[str | None], str]"
"""A sentence, or one with lengths in it: then it is told in the unit that the file at fault declares (None: millimeters)."""


class TumblehomeError(Exception):
    """Anything this library raises on purpose. Its text is one line that names the mend."""


class InputError(TumblehomeError):
    """What the user gave is at fault.

    Parameters
    ----------
    words : Words
        What was found, what is allowed, and the nearest right word where there is one.
    file, line, key
        Where: the file as the user named it, its line counted from 1, and the dotted key; each may be unknown.
    unit
        The unit in which lengths are told, as the file declares it; may be unknown.
    """

    def __init__(
        self,
        words: Words,
        *,
        file: Path | str | None = None,
        line: int | None = None,
        key: str | None = None,
        unit: str | None = None,
    ):
        self.words, self.file, self.line, self.key, self.unit = words, file, line, key, unit
        self.message = words if isinstance(words, str) else words(unit)
        super().__init__(self._text())

    def _text(self) -> str:
        place = "" if self.file is None else f"{self.file}:{self.line}: " if self.line else f"{self.file}: "
        return place + (f"{self.key}: " if self.key else "") + self.message

    def at(
        self,
        *,
        file: Path | str | None = None,
        line: int | None = None,
        key: str | None = None,
        unit: str | None = None,
    ) -> InputError:
        """Return the same fault with what is now known of its place; what it already knew is kept, and its own file's line."""
        elsewhere = self.file is not None and self.file != file
        known = self.line if elsewhere else self.line or line
        file, key, unit = self.file or file, self.key or key, self.unit or unit
        return type(self)(self.words, file=file, line=known, key=key, unit=unit)


class LengthError(InputError):
    """Text that should be a length, mass or volume and is not."""


class MeshError(InputError):
    """A mesh that is not one closed, outward-facing solid that does not cross itself."""


class LayoutError(InputError):
    """Modules that contradict each other: twice one name, a missing support, a ring."""


class KernelError(TumblehomeError):
    """The solid kernel refused an operation; the text says which and why."""


class PictureError(TumblehomeError):
    """A picture cannot be drawn on this machine; the text says what to install or where to write instead."""


def nearest(word: str, allowed: Iterable[str]) -> str:
    """Return ``"; did you mean 'x'?"`` for the closest allowed word, or an empty string when none is close."""
    close = get_close_matches(word, list(allowed), n=1, cutoff=0.6)
    return f"; did you mean '{close[0]}'?" if close else ""
