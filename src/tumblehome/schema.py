"""What the fields of the data files are made of, and how a wrong one is told.

A file's text becomes numbers here and nowhere else: lengths to millimeters, masses to kilograms, volumes to liters. A bare
number takes the unit that the file declares. A kind of table is a class whose attributes are fields::

    class Rib(Fields):
        side = choice("left", "right", "both")
        depth = size()
        heights = maybe(span())

Reading one is a matter of microseconds, and so is importing this: a command that answers in a quarter of a second has no
time for more.
"""

from __future__ import annotations

from math import inf, isfinite
from typing import TYPE_CHECKING, Any, ClassVar, Final, Generic, Self, TypeVar, overload

from tumblehome.errors import InputError, LengthError, nearest
from tumblehome.lengths import length_words, parse_length, parse_mass, parse_volume
from tumblehome.tolerances import SMALLEST

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from tumblehome.files import KeyPath, TomlFile

__all__ = [
    "Field", "Fields", "checked", "choice", "degrees", "flag", "kilograms", "length", "liters", "maybe", "named", "number",
    "numbers", "one_line", "path_shown", "points", "read_fields", "several", "size", "span", "table", "tables", "tables_of", "text",
    "thickness",
]  # fmt: skip

T = TypeVar("T")
Table = TypeVar("Table", bound="Fields")
Word = TypeVar("Word", bound=str)

_CONTROLS: Final = frozenset((*range(32), *range(127, 160)))
"""The characters that steer a terminal instead of being shown."""
_LONGEST: Final = 40
"""Letters of a wrong value that a message shows."""


class _Missing:
    """Stands for a value that a file must give."""


_MISSING: Final = _Missing()


class _WrongError(ValueError):
    """A wrong value: what is wrong, and where below the field it stands."""

    def __init__(self, message: str, *below: str | int):
        super().__init__(message)
        self.below = below


class Field(Generic[T]):
    """One key of a table: how its value is read, and what holds when the file leaves it out."""

    def __init__(self, read: Callable[[Any, str | None], T], default: T | _Missing = _MISSING, *, key: str = ""):
        self.read, self.default, self.key = read, default, key

    def __set_name__(self, owner: type[Fields], name: str) -> None:
        self.name = name
        self.key = self.key or name

    @overload
    def __get__(self, table: None, owner: type[Fields]) -> Self: ...
    @overload
    def __get__(self, table: Fields, owner: type[Fields]) -> T: ...
    def __get__(self, table: Fields | None, owner: type[Fields]) -> Self | T:
        """Return the value in a table that was read, or the field itself from the class."""
        if table is None:
            return self
        value: T = table.values[self.name]
        return value

    def __set__(self, table: Fields, value: object) -> None:
        """Refuse to change a value: a table is fixed once it is read."""
        raise AttributeError(f"'{self.key}' of a table is fixed once it is read")


class Fields:
    """A table of a data file, read: unknown keys were refused, and ``check`` has found nothing."""

    fields: ClassVar[dict[str, Field[Any]]] = {}

    def __init_subclass__(cls) -> None:
        own = {name: field for name, field in vars(cls).items() if isinstance(field, Field)}
        cls.fields = {**cls.fields, **own}

    def __init__(self, values: dict[str, Any]):
        self.values = values

    def check(self) -> None:
        """Raise ValueError, with the mend, when values that are right one by one contradict each other.

        Where lengths are told, an InputError instead, so that they are told in the file's own unit.
        """

    @classmethod
    def known_keys(cls) -> list[str]:
        """Return the keys that a file may give."""
        return [field.key for field in cls.fields.values()]


def read_fields(
    kind: type[Table], data: Mapping[str, Any], file: TomlFile, where: KeyPath = (), unit: str | None = None
) -> Table:
    """Read one table of a file.

    Parameters
    ----------
    kind : the kind of table
    data : its keys and values
    file : the file it stands in, for the line of a fault
    where : the path of the table in the file, such as ("members", 2)
    unit : what a bare number means

    Raises
    ------
    InputError
        For the first fault, an unknown key before all others since it often explains a missing one: file, line, key,
        what was found, what is allowed.
    """
    try:
        return _read(kind, data, unit)
    except _WrongError as wrong:
        path = (*where, *wrong.below)
        raise InputError(str(wrong), file=file.path, line=file.line_of(path), key=path_shown(path)) from None


def path_shown(path: KeyPath) -> str:
    """Return the path of a key as messages show it, tables counted from 1."""
    return ".".join(_step_shown(step) for step in path)


def _step_shown(step: str | int) -> str:
    """Return a step of a path as a person counts, and a key that would break the line in quotes."""
    if isinstance(step, int):
        return f"{step + 1}"
    return step if step.isprintable() else repr(step)


def _read(kind: type[Table], data: Any, unit: str | None) -> Table:
    if not isinstance(data, dict):
        raise _WrongError(f"found {_shown(data)}; write a table")
    known = kind.known_keys()
    for key in data:
        if key not in known:
            raise _WrongError(f"unknown key{nearest(key, known)}; allowed: {', '.join(known)}", key)
    values = {name: _value(field, data, unit) for name, field in kind.fields.items()}
    read = kind(values)
    try:
        read.check()
    except ValueError as fault:
        raise _WrongError(str(fault)) from None
    except InputError as fault:
        raise _WrongError(fault.at(unit=unit).message) from None
    return read


def _value(field: Field[T], data: Mapping[str, Any], unit: str | None) -> T:
    if field.key not in data:
        if isinstance(field.default, _Missing):
            raise _WrongError("missing; this table needs it", field.key)
        return field.default
    try:
        return field.read(data[field.key], unit)
    except _WrongError as wrong:
        raise _WrongError(str(wrong), field.key, *wrong.below) from None


def maybe(field: Field[T]) -> Field[T | None]:
    """Return the field as one that a file may leave out."""
    return Field(field.read, None, key=field.key)


def checked(field: Field[T], check: Callable[[T], object]) -> Field[T]:
    """Return the field with one more condition, which raises ValueError with the mend."""

    def read(value: Any, unit: str | None) -> T:
        found = field.read(value, unit)
        try:
            check(found)
        except ValueError as fault:
            raise _WrongError(str(fault)) from None
        return found

    return Field(read, field.default, key=field.key)


def named(key: str, field: Field[T]) -> Field[T]:
    """Return the field under a key that cannot be the name of an attribute."""
    return Field(field.read, field.default, key=key)


def text(default: str | _Missing = _MISSING) -> Field[str]:
    """Return a field of text that is not empty."""

    def read(value: Any, _: str | None) -> str:
        if not isinstance(value, str):
            raise _WrongError(f"found {_shown(value)}; write a text in quotes")
        if not value and isinstance(default, _Missing):
            raise _WrongError("found ''; write at least 1 letter")
        return value

    return Field(read, default)


def one_line() -> Field[str]:
    """Return a field of text that fits into one line of a table."""
    return checked(text(), _refuse_broken)


def _refuse_broken(name: str) -> None:
    if not name.strip() or len(name.splitlines()) > 1 or any(map(_CONTROLS.__contains__, map(ord, name))):
        raise ValueError(
            f"found {_shown(name)}; write at least 1 letter, and no line end, tab or other control character"
        )


def choice(*words: Word, default: Word | _Missing = _MISSING, hinted: bool = True) -> Field[Word]:
    """Return a field of one of some words; a wrong one is told the nearest, unless two are as near and mean opposites."""

    def read(value: Any, _: str | None) -> Word:
        for word in words:
            if value == word:
                return word
        hint = nearest(str(value), words) if hinted else ""
        raise _WrongError(f"found {_shown(value)}; allowed: {', '.join(words)}{hint}")

    return Field(read, default)


def flag(*, default: bool = False) -> Field[bool]:
    """Return a field that is true or false."""

    def read(value: Any, _: str | None) -> bool:
        if not isinstance(value, bool):
            raise _WrongError(f"found {_shown(value)}; write true or false")
        return value

    return Field(read, default)


def number(least: int, most: int, default: int | _Missing = _MISSING) -> Field[int]:
    """Return a field of a whole number without a unit."""

    def read(value: Any, _: str | None) -> int:
        if not isinstance(value, int) or isinstance(value, bool) or not least <= value <= most:
            raise _WrongError(f"found {_shown(value)}; write a whole number from {least} to {most}")
        return value

    return Field(read, default)


def several(field: Field[T]) -> Field[list[T]]:
    """Return a field that is a list of what one field takes, none when left out."""

    def read(value: Any, unit: str | None) -> list[T]:
        return [_within(i, field.read, entry, unit) for i, entry in enumerate(_listed(value, 1))]

    return Field(read, [])


def length(default: float | _Missing = _MISSING) -> Field[float]:
    """Return a field of any length, mm; negative is left of the centerline or below the floor."""
    return Field(_length, default)


def size(default: float | _Missing = _MISSING, most: float = inf) -> Field[float]:
    """Return a field of a length above 0 and at most so much, mm."""

    def read(value: Any, unit: str | None) -> float:
        found = _size(value, unit)
        if found > most:
            raise _WrongError(
                f"found {_shown(value)}; it is at most {length_words(most, unit)}; check its unit and digits"
            )
        return found

    return Field(read, default)


def thickness(default: float | _Missing = _MISSING) -> Field[float]:
    """Return a field of a length of 0 or more, mm."""
    return Field(lambda value, unit: _not_negative(value, _length(value, unit)), default)


def kilograms(default: float | _Missing = _MISSING) -> Field[float]:
    """Return a field of a mass of 0 or more, kg."""
    return Field(lambda value, _: _not_negative(value, _parsed(parse_mass, value)), default)


def liters(default: float | _Missing = _MISSING) -> Field[float]:
    """Return a field of a volume of 0 or more, L."""
    return Field(lambda value, _: _not_negative(value, _parsed(parse_volume, value)), default)


def span() -> Field[tuple[float, float]]:
    """Return a field of two lengths, rising, mm."""
    return Field(_span)


def degrees(
    default: float | _Missing = _MISSING,
    holds: Callable[[float], bool] = lambda angle: -360 <= angle <= 360,
    rule: str = "from -360 to 360",
) -> Field[float]:
    """Return a field of an angle in degrees for which a rule holds."""

    def read(value: Any, _: str | None) -> float:
        if not isinstance(value, (int, float)) or isinstance(value, bool) or not holds(value):
            raise _WrongError(f"found {_shown(value)}; write degrees as a number {rule}")
        return float(value)

    return Field(read, default)


def numbers(default: tuple[float, float, float]) -> Field[tuple[float, float, float]]:
    """Return a field of three finite numbers without a unit."""

    def read(value: Any, _: str | None) -> tuple[float, float, float]:
        x, y, z = (_finite(number, i) for i, number in enumerate(_listed(value, 3, 3)))
        return x, y, z

    return Field(read, default)


def points(least: int) -> Field[list[tuple[float, float]]]:
    """Return a field of at least so many points, each of two lengths, mm."""

    def read(value: Any, unit: str | None) -> list[tuple[float, float]]:
        return [_within(i, _point, point, unit) for i, point in enumerate(_listed(value, least))]

    return Field(read)


def table(kind: type[Table]) -> Field[Table]:
    """Return a field that is a table of a kind."""
    return Field(lambda value, unit: _read(kind, value, unit))


def tables_of(kind: type[Table]) -> Field[list[Table]]:
    """Return a field that is a list of tables of one kind, at least one."""

    def read(value: Any, unit: str | None) -> list[Table]:
        return [_within(i, _read, kind, entry, unit) for i, entry in enumerate(_listed(value, 1))]

    return Field(read)


def tables() -> Field[list[dict[str, Any]]]:
    """Return a field that is a list of tables to be read later, each by its own kind; none when left out."""

    def read(value: Any, _: str | None) -> list[dict[str, Any]]:
        for i, entry in enumerate(_listed(value, 0)):
            if not isinstance(entry, dict):
                raise _WrongError(f"found {_shown(entry)}; write a table", i)
        listed: list[dict[str, Any]] = value
        return listed

    return Field(read, [])


def _within(step: str | int, read: Callable[..., T], *arguments: Any) -> T:
    """Read what stands one step below, so that a fault there knows its place."""
    try:
        return read(*arguments)
    except _WrongError as wrong:
        raise _WrongError(str(wrong), step, *wrong.below) from None


def _parsed(parse: Callable[..., float], value: Any, unit: str | None = None, *, positive: bool = False) -> float:
    if not isinstance(value, (str, int, float)) or isinstance(value, bool):
        raise _WrongError(f'found {_shown(value)}; write a number with its unit, such as "22 1/2 in" or "570 mm"')
    try:
        return parse(value, unit=unit, positive=positive)
    except LengthError as fault:
        raise _WrongError(fault.message) from None


def _length(value: Any, unit: str | None) -> float:
    return _parsed(parse_length, value, unit)


def _size(value: Any, unit: str | None) -> float:
    number = _parsed(parse_length, value, unit, positive=True)
    if number < SMALLEST:
        raise _WrongError(f"found {_shown(value)}; a size is at least {length_words(SMALLEST, unit)}")
    return number


def _not_negative(value: Any, number: float) -> float:
    if number < 0:
        raise _WrongError(f"found {_shown(value)}; it may be 0 but not negative")
    return number


def _span(value: Any, unit: str | None) -> tuple[float, float]:
    if not isinstance(value, list) or len(value) != 2:
        raise _WrongError(f"found {_shown(value)}; write two lengths, the lesser first, such as [300, 900]")
    low, high = (_length(end, unit) for end in value)
    if not high - low >= SMALLEST:
        raise _WrongError(f"found {_shown(value)}; the second must be greater than the first")
    return low, high


def _point(value: Any, unit: str | None) -> tuple[float, float]:
    x, y = (_within(i, _length, number, unit) for i, number in enumerate(_listed(value, 2, 2)))
    return x, y


def _listed(value: Any, least: int, most: int | None = None) -> list[Any]:
    if not isinstance(value, list):
        raise _WrongError(f"found {_shown(value)}; write a list in [ ]")
    if len(value) < least:
        raise _WrongError(f"found {_shown(value)}; write at least {least} entries")
    if most is not None and len(value) > most:
        raise _WrongError(f"found {_shown(value)}; write at most {most} entries")
    return value


def _finite(value: Any, i: int) -> float:
    if not isinstance(value, (int, float)) or isinstance(value, bool) or not isfinite(value):
        raise _WrongError(f"found {_shown(value)}; write a finite number", i)
    return float(value)


def _shown(value: Any) -> str:
    shown = str(value).lower() if isinstance(value, bool) else "nothing" if value is None else repr(value)
    return shown if len(shown) <= _LONGEST else shown[: _LONGEST - 3] + "..."
