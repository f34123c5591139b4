"""The options that commands share, and how their text becomes numbers."""

import re
from enum import StrEnum
from typing import Annotated, Final

import typer

import tumblehome as th
from tumblehome.errors import LengthError

__all__ = ["AsJson", "InMode", "Source", "Units", "UnitsShown", "length", "picture_size", "span", "whole"]


class Units(StrEnum):
    """What lengths are shown in."""

    MM = "mm"
    IN = "in"


UnitsShown = Annotated[
    Units | None, typer.Option("--units", help="Show lengths in this unit. [default: the one that the file declares]")
]
AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON document, lengths in mm.")]
InMode = Annotated[
    str | None,
    typer.Option("--mode", metavar="NAME", help="In this state of the van, as night. [default: the first in the file]"),
]
Source = Annotated[
    str, typer.Argument(metavar="SHELL|LAYOUT", help="A file, a folder, or the name of a bundled shell.")
]

_BARE: Final = re.compile(r"[\d\s./:+-]+")


def length(option: str, given: str | None) -> float | None:
    """Return what an option's text means in mm; raises LengthError, naming the option. A bare number is refused."""
    if given is None:
        return None
    _refuse_bare(option, given, "48 in", "1220mm")
    try:
        return th.parse_length(given)
    except LengthError as fault:
        raise fault.at(key=option) from fault


def span(option: str, given: str | None) -> tuple[float, float] | None:
    """Return the interval that an option's text means in mm; raises LengthError, naming the option."""
    if given is None:
        return None
    _refuse_bare(option, given, "30:48 in", "760:1220mm")
    try:
        return th.parse_span(given)
    except LengthError as fault:
        raise fault.at(key=option) from fault


def _refuse_bare(option: str, given: str, *examples: str) -> None:
    if _BARE.fullmatch(given):
        shown = " or ".join(f'{option} "{example}"' for example in examples)
        raise LengthError(f"'{given}' has no unit; write it, as in {shown}", key=option)


def whole(option: str, given: str, example: int, least: int, most: int) -> int:
    """Return the whole number within a range that an option's text means; raises InputError, naming the option."""
    if not re.fullmatch(r"[0-9]{1,6}", given.strip()) or not least <= int(given) <= most:
        mend = f"write a whole number from {least} to {most}, as in {option} {example}"
        raise th.InputError(f"found '{given}'; {mend}", key=option)
    return int(given)


def picture_size(given: str) -> tuple[int, int]:
    """Return the width and height in pixels that "1600x1000" means; raises InputError."""
    found = re.fullmatch(r"(\d{1,6})\s*[x×]\s*(\d{1,6})", given.strip())
    if found is None:
        raise th.InputError(f"found '{given}'; write width and height in pixels, as in 1600x1000", key="--size")
    return int(found[1]), int(found[2])
