"""How is a length written in the way in which its file writes lengths?"""

from __future__ import annotations

import re
import tomllib
from fractions import Fraction
from math import lcm
from typing import Final

from tumblehome.lengths import UNITS, parse_length
from tumblehome.viewer.draft import quoted

__all__ = ["angle_literal", "length_literal"]

_AS_MEANT: Final = Fraction(2, 10**8)
"""What is written is within this of what is meant, mm: below ``CONTACT``, so that what touches goes on touching, and far above
the noise of computed places, so that a round number is written as one."""

_TAPE: Final = 16
"""Fractions of an inch are written to this part of it, the finest mark on a common tape measure, or to those the file has."""

_FINEST: Final = 12
"""The most decimals that are written."""

_TYPED: Final = 4
"""Up to so many decimals are somebody's way of writing; more are a length that had no shorter one, and no way of writing."""

_WITH_UNIT: Final = re.compile(r"(?P<number>.*[\d.¼-¾⅐-⅞])(?P<unit>\D*)", re.DOTALL)
_FEET_AND_INCHES: Final = re.compile(
    r"[^\d]*\d+(?P<feet>\s*(?:[^\W\d_]+|['’′ʹ])[\s-]*)(?P<number>[\d./⁄ ¼-¾⅐-⅞-]*[\d¼-¾⅐-⅞])(?P<inches>\s*[^\d\s].*)"
)


def length_literal(mm: float, sample: str | None, unit: str | None) -> str:
    """Return a length as a TOML literal, in the unit and style of another one.

    Whole numbers and, in inches, fractions to 1/16 are written so where they are what is meant; all else has as many decimals
    as it takes to be within 2e-8 mm.

    Parameters
    ----------
    mm : the length
    sample : the literal whose style is taken, or None
    unit : what a bare number means in this file; a file that declares none has its units in the texts
    """
    length = Fraction(repr(float(mm)))
    if sample is None:
        return _bare(length, "0", unit) if unit else quoted(f"{_number(length, Fraction(1), 1)} mm")
    value = tomllib.loads(f"x = {sample}")["x"]
    if not isinstance(value, str):
        return _bare(length, sample, unit or "mm")
    pair = _FEET_AND_INCHES.fullmatch(value)
    if pair:
        return quoted(_feet(length, value, pair), sample)
    found = _WITH_UNIT.fullmatch(value)
    suffix = found["unit"] if found else ""
    if not suffix.strip():
        return _bare(length, sample, unit or "mm")
    factor = _factor(suffix, unit)
    return quoted(_number(length, factor, _parts_of(value, factor), "-" if _joins(value) else " ") + suffix, sample)


def angle_literal(degrees: float) -> str:
    """Return an angle as a TOML literal, to a millionth of a degree."""
    shown = f"{degrees:.6f}".rstrip("0").rstrip(".")
    return "0" if shown == "-0" else shown


def _bare(length: Fraction, sample: str, unit: str) -> str:
    """Return a length in the file's unit: a number where it is whole or has decimals, a text where it has a fraction."""
    text = _number(length, UNITS[unit], _parts_of(sample, UNITS[unit]), "-" if _joins(sample) else " ")
    return quoted(text, sample) if "/" in text else text


def _factor(suffix: str, unit: str | None) -> Fraction:
    return Fraction(repr(parse_length(f"1{suffix}", unit=unit)))


def _parts_of(text: str, factor: Fraction) -> int:
    """Return into how many parts the unit is divided by fractions: those of a tape in inches, and those that a text has."""
    plain = re.sub(r"\s*[/⁄]\s*", "/", text)
    own = [int(number) for number in re.findall(r"/(\d+)", plain)]
    if re.search(rf"\.\d{{1,{_TYPED}}}(?!\d)", plain):
        return 1
    tape = [_TAPE] if factor == UNITS["in"] else []
    return lcm(*tape, *(number for number in own if 0 < number <= 1000))


def _joins(text: str) -> bool:
    """Return whether a text joins whole and fraction by a dash, as in 22-1/2."""
    return bool(re.search(r"\d-\d+/", text))


def _number(length: Fraction, factor: Fraction, parts: int, join: str = " ") -> str:
    """Return a length in a unit: whole, with a fraction in so many parts, or else with the fewest decimals that say it."""
    value, near = abs(length) / factor, _AS_MEANT / factor
    sign = "-" if length < 0 else ""
    counted = round(value * parts)
    if abs(Fraction(counted, parts) - value) <= near:
        whole, rest = divmod(Fraction(counted, parts), 1)
        shown = join.join([*([str(whole)] if whole or not rest else []), *([str(rest)] if rest else [])])
        return shown if not counted else sign + shown
    return sign + _decimals(value, near)


def _decimals(value: Fraction, near: Fraction) -> str:
    for places in range(1, _FINEST + 1):
        tenths = round(value * 10**places)
        if abs(Fraction(tenths, 10**places) - value) <= near:
            break
    whole, rest = divmod(tenths, 10**places)
    return f"{whole}.{rest:0{places}d}"


def _feet(length: Fraction, text: str, pair: re.Match[str]) -> str:
    """Return a length in feet and inches, with the marks that a text has."""
    parts = _parts_of(pair["number"], UNITS["in"])
    inches = abs(length) / UNITS["in"]
    counted = Fraction(round(inches * parts), parts)
    if abs(counted - inches) <= _AS_MEANT / UNITS["in"]:
        inches = counted
    feet, rest = divmod(inches, 12)
    join = "-" if _joins(text) else " "
    shown = _number(rest * UNITS["in"], UNITS["in"], parts, join)
    if "/" in shown and rest < 1:  # 6' 1/2" is easily read as half a foot
        shown = f"0{join}{shown}"
    return f"{'-' if length < 0 else ''}{feet}{pair['feet']}{shown}{pair['inches']}"
