"""Text to millimeters, kilograms and liters, and back: the one place where a unit is read or written.

The grammar, over exact fractions, after typographic primes, dashes and fraction characters became plain ones::

    quantity = [sign] number [unit]  |  [sign] whole ft number [in]  |  [sign] whole lb number [oz]
    number   = whole ("-" or " ") fraction  |  fraction  |  decimal

A sign holds for the whole quantity: ``-5' 3"`` is 63 in to the left. Nothing is guessed: a bare number takes the unit
that the caller declares, and is refused where none is declared.
"""

from __future__ import annotations

import re
from fractions import Fraction
from math import ceil, floor, isfinite
from numbers import Real
from types import MappingProxyType
from typing import TYPE_CHECKING, TypeAlias
from unicodedata import normalize

from tumblehome.errors import LengthError, nearest
from tumblehome.records import dataclass

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

__all__ = [
    "MASS_UNITS",
    "UNITS",
    "VOLUME_UNITS",
    "format_feet",
    "format_length",
    "format_mass",
    "format_volume",
    "length_words",
    "millimeters",
    "parse_length",
    "parse_mass",
    "parse_span",
    "parse_volume",
    "rounded_down",
    "rounded_up",
    "shown",
    "span_words",
    "told",
    "volume_words",
]

_INCH = Fraction("25.4")
_POUND = Fraction("0.45359237")

UNITS: Mapping[str, Fraction] = MappingProxyType(
    {"mm": Fraction(1), "cm": Fraction(10), "m": Fraction(1000), "in": _INCH, "ft": 12 * _INCH}
)
"""Millimeters in each unit of length; the inch is 25.4 mm exactly (NIST Handbook 44, Appendix C)."""

MASS_UNITS: Mapping[str, Fraction] = MappingProxyType(
    {"kg": Fraction(1), "g": Fraction(1, 1000), "lb": _POUND, "oz": _POUND / 16}
)
"""Kilograms in each unit of mass; the avoirdupois pound is 0.45359237 kg exactly (NIST Handbook 44, Appendix C)."""

VOLUME_UNITS: Mapping[str, Fraction] = MappingProxyType(
    {"L": Fraction(1), "ml": Fraction(1, 1000), "gal": 231 * _INCH**3 / 10**6}
)
"""Liters in each unit of volume; the US gallon is 231 cubic inches (NIST Handbook 44, Appendix C)."""

_LONGEST = 64  # characters; the longest sensible text, 5 feet 3 and 11/16 inches spelled out, needs half of that
_LARGEST = 10**6  # mm, kg or L: a kilometer or a thousand tonnes is a slip of the unit, and never a part of a van
_SHOWN = 40  # characters of a wrong text that an error repeats
_SMALL = 0.1  # liters or gallons, below which a volume is told in the next smaller unit, so that it never reads 0
_SIXTEENTHS = 16  # the finest mark on a common tape measure

_Held: TypeAlias = "str | float | Sequence[float]"  # what a sentence tells: a text, a length, an interval, a point
_Term: TypeAlias = "tuple[Fraction, str | None]"  # a number and the unit written after it


@dataclass(frozen=True)
class _Kind:
    """What may be measured: its noun, units, spellings of them, the two units that are written together."""

    noun: str
    units: Mapping[str, Fraction]
    spellings: Mapping[str, str]
    pair: tuple[str, str] | None
    example: str
    signed: bool = False

    def unit(self, word: str) -> str:
        """Return the unit that a word spells; raise LengthError with the nearest right one."""
        plain = word.casefold().rstrip(".")
        if plain in self.spellings:
            return self.spellings[plain]
        allowed = ", ".join(self.units)
        hint = nearest(plain, self.spellings)
        raise LengthError(f"unknown unit {_shown(word)} for a {self.noun}; the units are {allowed}{hint}")


def _spelled(*rows: str) -> Mapping[str, str]:
    """Map every word of a row, and the row's first word itself, to that first word."""
    return {word.casefold(): row.split()[0] for row in rows for word in row.split()}


_LENGTH = _Kind(
    noun="length",
    units=UNITS,
    spellings=_spelled(
        "mm millimeter millimeters millimetre millimetres",
        "cm centimeter centimeters centimetre centimetres",
        "m meter meters metre metres",
        'in inch inches "',
        "ft foot feet '",
    ),
    pair=("ft", "in"),
    example="22 1/2 in, 5' 3-1/2\" or 570 mm",
    signed=True,
)
_MASS = _Kind(
    noun="mass",
    units=MASS_UNITS,
    spellings=_spelled("kg kilogram kilograms", "g gram grams", "lb lbs pound pounds", "oz ounce ounces"),
    pair=("lb", "oz"),
    example="27 1/2 lb or 12.5 kg",
)
_VOLUME = _Kind(
    noun="volume",
    units=VOLUME_UNITS,
    spellings=_spelled("L liter liters litre litres", "ml milliliter milliliters", "gal gallon gallons"),
    pair=None,
    example="20 gal (US) or 75 L",
)

_FRACTIONS = "½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅐⅛⅜⅝⅞⅑⅒"
_PLAIN = {ord(c): normalize("NFKC", c).replace("⁄", "/") + " " for c in _FRACTIONS} | str.maketrans(
    "′’ʹ″”ʺ−–‐‑⁄∕", "'''\"\"\"----//"
)
_FRACTION_AFTER_DIGIT = re.compile(f"(?<=[0-9])(?=[{_FRACTIONS}])")

_SURE = 5
"""Decimals of a mark to which a length is sure: what lies beyond a mark by less lies on it."""
_PLAIN_NUMBER = re.compile(r"[0-9]{1,7}(?:\.[0-9]{1,9})?")
_NUMBER = r"(?:[0-9]+[ -])?[0-9]+/[0-9]+|[0-9]*\.?[0-9]+"
_UNIT = r"""['"]|[^\W\d_]+\.?"""
_QUANTITY = re.compile(
    rf"(?P<sign>[+-]?) ?(?P<number>{_NUMBER}) ?(?P<unit>{_UNIT})?"
    rf"(?:(?: - |[ -]?)(?P<rest>{_NUMBER}) ?(?P<rest_unit>{_UNIT})?)?"
)


def parse_length(given: str | float, *, unit: str | None = None, positive: bool = False) -> float:
    """Read a length.

    Parameters
    ----------
    given : str or int or float
        Such as ``22 1/2 in``, ``22-1/2"``, ``5' 3-1/2"``, ``5 ft 3 in``, ``570 mm``, ``-1.9 m``, or a bare number.
    unit : str, optional
        What a bare number means, one of `UNITS`. None refuses bare numbers.
    positive : bool
        Refuse zero and negative lengths: for sizes, where a place may be negative.

    Returns
    -------
    float
        Millimeters, the float nearest to the exact value.

    Raises
    ------
    LengthError
        With the mend, for anything that is not one finite length below a kilometer.
    """
    return _parse(given, _LENGTH, unit, positive=positive)


def parse_mass(given: str | float, *, unit: str | None = None, positive: bool = False) -> float:
    """Read a mass such as ``27 1/2 lb``, ``5 lb 3 oz`` or ``12.5 kg``; return kilograms.

    A bare number takes `unit`, one of `MASS_UNITS`. Raises LengthError as `parse_length` does, and for a mass
    below zero; `positive` refuses zero as well.
    """
    return _parse(given, _MASS, unit, positive=positive)


def parse_volume(given: str | float, *, unit: str | None = None, positive: bool = False) -> float:
    """Read a volume such as ``20 gal`` (US) or ``75 L``; return liters.

    A bare number takes `unit`, one of `VOLUME_UNITS`. Raises LengthError as `parse_length` does, and for a volume
    below zero; `positive` refuses zero as well.
    """
    return _parse(given, _VOLUME, unit, positive=positive)


def parse_span(text: object, *, unit: str | None = None) -> tuple[float, float]:
    """Read an interval ``A:B`` of two lengths, as in ``30:48 in`` or ``2' 6":4'``.

    Parameters
    ----------
    text : str
        Anything but text is refused. A bare first part takes the unit of the second; two bare parts take `unit`.
    unit : str, optional
        What two bare numbers mean, one of `UNITS`.

    Returns
    -------
    (float, float)
        Millimeters, the first at most the second. Both may be the same: a span of zero.

    Raises
    ------
    LengthError
        With the mend; also when only the second part is bare, and when the first is the larger.
    """
    parts = text.split(":") if isinstance(text, str) else []
    if len(parts) != 2:
        raise LengthError(f"cannot read {_shown(text)} as a span; write two lengths, as in 30:48 in")
    first, second = (_terms(part, _LENGTH) for part in parts)
    if _is_bare(second) and not _is_bare(first):
        raise LengthError(f"{_shown(text)} has no unit after its second length; write it, as in 30:48 in")
    if _is_bare(first) and len(second) > 1:
        raise LengthError(f"{_shown(text)} has no unit after its first length; write it, as in 4':5' 3\"")
    low = _total(parts[0], first, _LENGTH, second[0][1] or unit)
    high = _total(parts[1], second, _LENGTH, unit)
    if low > high:
        raise LengthError(f"{_shown(text)} runs backwards; write the smaller length first")
    return float(low), float(high)


def millimeters(what: str, value: object) -> float:
    """Return a length that is given as a number, mm; raises LengthError, which names ``what`` it is of, for anything else."""
    if isinstance(value, bool) or not isinstance(value, Real):
        mend = f"parse_length({value!r}) turns a text into them" if isinstance(value, str) else "as 1219.2"
        raise LengthError(f"the {what} is {value!r}; give millimeters as a number: {mend}")
    return float(value)


def format_length(mm: float, units: str) -> str:
    """Write a length.

    Parameters
    ----------
    mm : float
        Millimeters, finite.
    units : str
        ``"mm"`` gives ``1660`` or ``742.5``, at most one decimal and no unit; ``"in"`` gives ``65 3/8"``, the nearest
        sixteenth (a tie goes to the even one), reduced.

    Raises
    ------
    LengthError
        When `mm` is not finite or `units` is neither word.
    """
    if _choice(units, "mm", "in") == "mm":
        return _decimal(_exact(mm))
    sign, sixteenths = _sixteenths(mm)
    return f'{sign}{_mixed(sixteenths)}"'


def shown(mm: float, units: str) -> str:
    """Write a length as `format_length` does, with its unit: ``742.5 mm``, ``65 3/8"``; raises LengthError as that does."""
    return format_length(mm, units) + ("" if units == "in" else " mm")


def rounded_down(mm: float, mark: float) -> float:
    """Return a length rounded down to a whole number of marks, mm: for what must not be exceeded, and a room that is short."""
    return mark * floor(round(mm / mark, _SURE))


def rounded_up(mm: float, mark: float) -> float:
    """Return a length rounded up to a whole number of marks, mm: for what is needed."""
    return mark * ceil(round(mm / mark, _SURE))


def format_feet(mm: float) -> str:
    """Write a length in millimeters as feet and inches to the nearest sixteenth: ``5' 3 1/2"``, ``-0' 6"``, ``3' 0"``.

    Raises LengthError when `mm` is not finite.
    """
    sign, sixteenths = _sixteenths(mm)
    feet, rest = divmod(sixteenths, 12 * _SIXTEENTHS)
    return f"{sign}{feet}' {'0 ' if 0 < rest < _SIXTEENTHS else ''}{_mixed(rest)}\""


def format_mass(kg: float, units: str) -> str:
    """Write a mass in kilograms as ``12.5 kg`` or ``27.6 lb``, `units` being "kg" or "lb": at most one decimal.

    Raises LengthError when `kg` is not finite or `units` is neither word.
    """
    return f"{_decimal(_exact(kg) / MASS_UNITS[_choice(units, 'kg', 'lb')])} {units}"


def format_volume(liters: float, units: str) -> str:
    """Write a volume in liters as ``75.7 L`` or ``20 gal`` (US), `units` being "L" or "gal": at most one decimal.

    Raises LengthError when `liters` is not finite or `units` is neither word.
    """
    return f"{_decimal(_exact(liters) / VOLUME_UNITS[_choice(units, 'L', 'gal')])} {units}"


def length_words(mm: float, unit: str | None) -> str:
    """Write a length with its unit, one of `UNITS` (None: mm): ``742.5 mm``, ``74.25 cm``, ``65 3/8"``, ``5' 3 1/2"``.

    To the nearest tenth of a millimeter or sixteenth of an inch; only what would then read as nothing is told finer.
    Raises LengthError when `mm` is not finite.
    """
    return " ".join(filter(None, _number_and_sign(mm, unit)))


def span_words(span: tuple[float, float], unit: str | None) -> str:
    """Write an interval of lengths as `length_words` writes one: ``300 to 900 mm``, ``12" to 3/4"``."""
    low, _ = _number_and_sign(span[0], unit)
    return f"{low} to {length_words(span[1], unit)}"


def told(words: str, *holds: _Held) -> Callable[[str | None], str]:
    """Return a sentence that is told in the unit of the file that is at fault.

    Parameters
    ----------
    words : str
        With a ``{}`` for each of what it holds.
    holds : texts; lengths, intervals of two and points of three, mm
    """
    return lambda unit: words.format(*(_held_words(held, unit) for held in holds))


def _held_words(held: _Held, unit: str | None) -> str:
    if isinstance(held, str):
        return held
    if isinstance(held, (int, float)):
        return length_words(held, unit)
    if len(held) == 2:
        return span_words((held[0], held[1]), unit)
    numbers, signs = zip(*(_number_and_sign(mm, unit) for mm in held), strict=True)
    return f"({', '.join(numbers)}) {signs[0]}".rstrip()


def volume_words(liters: float, unit: str | None) -> str:
    """Write a volume beside lengths in a unit: ``4.5 L`` or ``20 ml``, beside inches and feet ``1.2 gal`` or ``12 cu in``."""
    if unit in {"in", "ft"}:
        small = abs(liters) < _SMALL * float(VOLUME_UNITS["gal"])
        return f"{liters * 1e6 / float(_INCH) ** 3:.0f} cu in" if small else format_volume(liters, "gal")
    return f"{1e3 * liters:.0f} ml" if abs(liters) < _SMALL else format_volume(liters, "L")


def _number_and_sign(mm: float, unit: str | None) -> tuple[str, str]:
    """Return a length in a unit, and the sign of the unit where the number does not hold it."""
    if unit in {"in", "ft"}:
        tiny = mm and not _sixteenths(mm)[1]
        return f'{_finely(mm, "in")}"' if tiny else format_feet(mm) if unit == "ft" else format_length(mm, "in"), ""
    tenths = round(10 * _exact(mm))
    shown = (
        f"{float(Fraction(tenths, 10) / UNITS[unit or 'mm']):.10g}" if tenths or not mm else _finely(mm, unit or "mm")
    )
    return shown, unit or "mm"


def _finely(mm: float, unit: str) -> str:
    return f"{mm / float(UNITS[unit]):.8f}".rstrip("0").rstrip(".")


def _parse(given: str | float, kind: _Kind, unit: str | None, *, positive: bool) -> float:
    plain = _plain_number(given) if unit == next(iter(kind.units)) else None
    value = _total(given, _terms(given, kind), kind, unit) if plain is None else plain
    if positive and value <= 0:
        raise LengthError(f"{_shown(given)} is not a size; write a {kind.noun} above zero")
    if value < 0 and not kind.signed:
        raise LengthError(f"{_shown(given)} is below zero; write a {kind.noun} without the minus sign")
    return float(value)


def _plain_number(given: object) -> float | None:
    """Return what is a plain decimal number already, as most are in files; in the base unit that is what it means."""
    number = float(given) if isinstance(given, str) and _PLAIN_NUMBER.fullmatch(given) else given
    if not isinstance(number, (int, float)) or isinstance(number, bool):
        return None
    return number if abs(number) <= _LARGEST else None


def _total(given: object, terms: list[_Term], kind: _Kind, unit: str | None) -> Fraction:
    """Add up the terms in the kind's base unit; a bare one takes the declared `unit`."""
    if _is_bare(terms) and unit is None:
        once = ', or declare the unit of bare numbers once: unit = "in"' if kind.signed else ""
        raise LengthError(f"{_shown(given)} has no unit; write one, as in {kind.example}{once}")
    total = sum((number * kind.units[kind.unit(word or unit or "")] for number, word in terms), Fraction(0))
    if abs(total) > _LARGEST:
        written = kind.unit(terms[0][1] or unit or "")
        most = f"{int(_LARGEST / kind.units[written])} {written}"
        raise LengthError(f"{_shown(given)} is over {most}, too large for a van; check its unit and digits")
    return total


def _is_bare(terms: list[_Term]) -> bool:
    return terms[0][1] is None


def _terms(given: object, kind: _Kind) -> list[_Term]:
    """Split what was given into one term, or two where feet and inches (pounds and ounces) go together."""
    if isinstance(given, str):
        return _terms_of_text(given, kind)
    if isinstance(given, bool) or not isinstance(given, (int, float)):
        raise LengthError(f"{_shown(given)} is no {kind.noun}; write text such as {kind.example}, or a number")
    return [(_exact(given), None)]


def _terms_of_text(text: str, kind: _Kind) -> list[_Term]:
    if not text.strip():
        raise LengthError(f"the {kind.noun} is empty; write it like {kind.example}")
    if len(text) > _LONGEST:
        raise LengthError(f"{_shown(text)} is too long; write a {kind.noun} in at most {_LONGEST} characters")
    found = _QUANTITY.fullmatch(_plain(text))
    if found is None or (found["rest"] and not found["unit"]):
        mend = "use a point for decimals and nothing for thousands" if "," in text else f"write it like {kind.example}"
        raise LengthError(f"cannot read {_shown(text)} as a {kind.noun}; {mend}")
    sign = -1 if found["sign"] == "-" else 1
    pairs = [(found["number"], found["unit"])] + ([(found["rest"], found["rest_unit"])] if found["rest"] else [])
    terms = [(_number(number, text), word and kind.unit(word)) for number, word in pairs]
    if len(terms) > 1:
        if kind.pair and (terms[0][1], terms[1][1]) == (kind.pair[0], None):
            terms[1] = terms[1][0], kind.pair[1]  # after feet a bare number is inches, as one writes them down
        _check_pair(terms, kind, text)
    return [(sign * number, word) for number, word in terms]


def _check_pair(terms: list[_Term], kind: _Kind, text: str) -> None:
    """Refuse two terms unless they are whole feet and fewer than twelve inches, or the like of pounds and ounces."""
    (large, large_unit), (small, small_unit) = terms
    if kind.pair is None or (large_unit, small_unit) != kind.pair:
        raise LengthError(f"{_shown(text)} mixes units; write the {kind.noun} in one unit, like {kind.example}")
    limit = kind.units[kind.pair[0]] / kind.units[kind.pair[1]]
    if large.denominator != 1 or small >= limit:
        rule = f"write whole {large_unit} and fewer than {limit} {small_unit}, or {small_unit} alone"
        raise LengthError(f"{_shown(text)} splits its units wrongly; {rule}")


def _plain(text: str) -> str:
    """Return the text with plain primes, dashes, slashes and fractions, and single spaces."""
    plain = _FRACTION_AFTER_DIGIT.sub(" ", text).translate(_PLAIN).replace("''", '"')
    return " ".join(plain.split()).replace(" /", "/").replace("/ ", "/")


def _number(plain: str, text: str) -> Fraction:
    """Return ``22``, ``22.5``, ``1/2`` or ``22 1/2`` exactly."""
    *whole, last = re.split("[ -]", plain)
    try:
        fraction = Fraction(last)
    except ZeroDivisionError:
        raise LengthError(f"{_shown(text)} divides by zero; write a fraction such as 1/2") from None
    if whole and fraction >= 1:
        raise LengthError(f"{_shown(text)} has a fraction that is not below one; write one such as 22 1/2")
    return fraction + sum(map(int, whole))


def _exact(number: float) -> Fraction:
    """Return the decimal fraction that a number is written as, so that 22.1 and ``"22.1"`` are the same."""
    if isinstance(number, int):
        return Fraction(number)
    if not isfinite(number):
        raise LengthError(f"{number} is not a finite number; write one such as 22.5")
    return Fraction(repr(float(number)))


def _shown(given: object) -> str:
    """Return what was given on one line, cut short, in marks that no length holds."""
    if isinstance(given, int) and abs(given) > _LARGEST:
        return "the number"
    text = "".join(c if c.isprintable() else "?" for c in str(given))
    return f"`{text[:_SHOWN]}...`" if len(text) > _SHOWN else f"`{text}`"


def _choice(units: str, *allowed: str) -> str:
    if units not in allowed:
        raise LengthError(f"cannot write in {_shown(units)}; choose {' or '.join(allowed)}")
    return units


def _decimal(number: Fraction) -> str:
    """Write at most one decimal, no trailing zero, no negative zero."""
    tenths = round(10 * number)
    whole, tenth = divmod(abs(tenths), 10)
    return ("-" if tenths < 0 else "") + (f"{whole}.{tenth}" if tenth else f"{whole}")


def _sixteenths(mm: float) -> tuple[str, int]:
    """Round to whole sixteenths of an inch before anything is split off, so that 35.99 in carries into 3 ft."""
    sixteenths = round(_exact(mm) * _SIXTEENTHS / _INCH)
    return "-" if sixteenths < 0 else "", abs(sixteenths)


def _mixed(sixteenths: int) -> str:
    """Write whole sixteenths as ``65``, ``3/8`` or ``65 3/8``."""
    whole, rest = divmod(sixteenths, _SIXTEENTHS)
    if not rest:
        return str(whole)
    return f"{whole} {Fraction(rest, _SIXTEENTHS)}" if whole else str(Fraction(rest, _SIXTEENTHS))
