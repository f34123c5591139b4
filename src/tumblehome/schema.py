"""What the fields of the data files are made of, and how a wrong one is told.

A file's text becomes numbers here and nowhere else: lengths to millimeters, masses to kilograms, volumes to liters. A bare
number takes the unit that the file declares.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any, TypeVar

from pydantic import BaseModel, BeforeValidator, ConfigDict, ValidationError, ValidationInfo

from tumblehome.errors import InputError, LengthError, nearest
from tumblehome.lengths import parse_length, parse_mass, parse_volume
from tumblehome.tolerances import SMALLEST

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from pydantic_core import ErrorDetails

    from tumblehome.files import TomlFile

__all__ = ["Degrees", "Fields", "Length", "Mass", "Size", "SpanOf", "Thickness", "Volume", "read_fields"]

Model = TypeVar("Model", bound="Fields")


class Fields(BaseModel):
    """A table of a data file: unknown keys are refused, values are fixed once read."""

    model_config = ConfigDict(extra="forbid", frozen=True, hide_input_in_errors=True)


def _reader(parse: Callable[..., float], least: str | None = None) -> BeforeValidator:
    def read(value: Any, info: ValidationInfo) -> float:
        unit = info.context["unit"] if info.context and parse is parse_length else None
        return _checked(parse, value, unit, least)

    return BeforeValidator(read)


def _checked(parse: Callable[..., float], value: Any, unit: str | None, least: str | None) -> float:
    if not isinstance(value, (str, int, float)) or isinstance(value, bool):
        raise ValueError(f'found {_shown(value)}; write a number with its unit, such as "570 mm"')  # noqa: TRY004
    try:
        number = parse(value, unit=unit, positive=least == "positive")
    except LengthError as fault:
        raise ValueError(fault.message) from fault
    if least == "positive" and parse is parse_length and number < SMALLEST:
        raise ValueError(f"found {_shown(value)}; a size is at least {SMALLEST:g} mm")
    if least == "zero" and number < 0:
        raise ValueError(f"found {_shown(value)}; it may be 0 but not negative")
    return number


def _span(value: Any, info: ValidationInfo) -> tuple[float, float]:
    if not isinstance(value, list) or len(value) != 2:
        raise ValueError(f"found {_shown(value)}; write two lengths, the lesser first, such as [300, 900]")
    low, high = (_checked(parse_length, v, info.context["unit"] if info.context else None, None) for v in value)
    if not high - low >= SMALLEST:
        raise ValueError(f"found {_shown(value)}; the second must be greater than the first")
    return low, high


def _degrees(value: Any) -> float:
    if not isinstance(value, (int, float)) or isinstance(value, bool) or not -360 <= value <= 360:
        raise ValueError(f"found {_shown(value)}; write degrees as a number from -360 to 360")
    return float(value)


Length = Annotated[float, _reader(parse_length)]
"""Any length, mm; negative is left of the centerline or below the floor."""
Size = Annotated[float, _reader(parse_length, "positive")]
"""A length above 0, mm."""
Thickness = Annotated[float, _reader(parse_length, "zero")]
"""A length of 0 or more, mm."""
Mass = Annotated[float, _reader(parse_mass, "zero")]
"""A mass of 0 or more, kg."""
Volume = Annotated[float, _reader(parse_volume, "zero")]
"""A volume of 0 or more, L."""
SpanOf = Annotated[tuple[float, float], BeforeValidator(_span)]
"""Two lengths, rising, mm."""
Degrees = Annotated[float, BeforeValidator(_degrees)]
"""An angle in degrees."""


def read_fields(
    model: type[Model],
    data: Mapping[str, Any],
    file: TomlFile,
    where: tuple[str | int, ...] = (),
    unit: str | None = None,
) -> Model:
    """Read one table of a file.

    Parameters
    ----------
    model : the kind of table
    data : its keys and values
    file : the file it stands in, for the line of a fault
    where : the path of the table in the file, such as ("members", 2)
    unit : what a bare number means

    Raises
    ------
    InputError
        For the first fault: file, line, key, what was found, what is allowed.
    """
    try:
        return model.model_validate(data, context={"unit": unit})
    except ValidationError as refused:
        fault = _foremost(refused.errors())
        raise _told(fault, model, file, where) from None


def _foremost(faults: list[ErrorDetails]) -> ErrorDetails:
    """Choose the fault to tell: an unknown key often explains a missing one."""
    return next((f for f in faults if f["type"] == "extra_forbidden"), faults[0])


def _told(fault: ErrorDetails, model: type[Fields], file: TomlFile, where: tuple[str | int, ...]) -> InputError:
    path = (*where, *fault["loc"])
    key = ".".join(f"{p}" if isinstance(p, str) else f"{p + 1}" for p in path)
    return InputError(_words(fault, model), file=file.path, line=file.line_of(path), key=key)


def _words(fault: ErrorDetails, model: type[Fields]) -> str:
    kind, found = fault["type"], fault.get("input")
    if kind == "extra_forbidden":
        return _unknown(str(fault["loc"][-1]), _table_of(model, fault["loc"][:-1]))
    if kind == "missing":
        return "missing; this table needs it"
    if kind == "literal_error":
        allowed = [word.strip().strip("'") for word in str(fault["ctx"]["expected"]).replace(" or ", ", ").split(",")]
        return f"found {_shown(found)}; allowed: {', '.join(allowed)}{nearest(str(found), allowed)}"
    if kind == "value_error":
        return str(fault["ctx"]["error"])
    wanted = {
        "string_type": "a text in quotes",
        "list_type": "a list in [ ]",
        "dict_type": "a table",
        "bool_type": "true or false",
    }
    wanted |= {"model_type": "a table", "model_attributes_type": "a table", "tuple_type": "a list in [ ]"}
    wanted |= dict.fromkeys(("float_type", "float_parsing", "finite_number"), "a finite number")
    if kind in {"too_short", "too_long", "string_too_short"}:
        limits = fault["ctx"]
        wanted[kind] = f"at least {limits['min_length']}" if "min_length" in limits else f"at most {limits['max_length']}"
        wanted[kind] += " letter" if kind == "string_too_short" else " entries"
    return f"found {_shown(found)}; write {wanted.get(kind, fault['msg'])}"


def _unknown(key: str, model: type[Fields] | None) -> str:
    allowed = [field.alias or name for name, field in model.model_fields.items()] if model else []
    return f"unknown key{nearest(key, allowed)}" + (f"; allowed: {', '.join(allowed)}" if allowed else "")


def _table_of(model: type[Fields], path: tuple[str | int, ...]) -> type[Fields] | None:
    """Return the kind of the table at a path below a model."""
    for step in path:
        if isinstance(step, int):
            continue
        field = next((f for n, f in model.model_fields.items() if step in (n, f.alias)), None)
        inner = _inner_model(field.annotation) if field else None
        if inner is None:
            return None
        model = inner
    return model


def _inner_model(annotation: Any) -> type[Fields] | None:
    if isinstance(annotation, type) and issubclass(annotation, Fields):
        return annotation
    return next((m for m in map(_inner_model, getattr(annotation, "__args__", ())) if m), None)


def _shown(value: Any) -> str:
    text = (
        "nothing"
        if value is None
        else {True: "true", False: "false"}.get(value, repr(value))
        if isinstance(value, bool)
        else repr(value)
    )
    return text if len(text) <= 40 else text[:37] + "..."
