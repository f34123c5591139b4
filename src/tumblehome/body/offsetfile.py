"""Reading tables of offsets: half-breadths or full widths by height and station, as CSV or inline."""

from __future__ import annotations

import csv
import re
from functools import partial
from typing import TYPE_CHECKING, Final

import numpy as np

from tumblehome.body.offsets import OffsetBody
from tumblehome.errors import InputError, LengthError
from tumblehome.files import inside, read_text
from tumblehome.lengths import parse_length, told
from tumblehome.schema import Fields, length, maybe, text
from tumblehome.tolerances import LEDGE

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from numpy.typing import NDArray

    from tumblehome.errors import Words
    from tumblehome.files import TomlFile

    Floats = NDArray[np.float64]

__all__ = ["OffsetFields", "offset_body"]

_WITH_COMMA: Final = re.compile(r"\d+(?:,\d+)+")
_THOUSANDS: Final = re.compile(r"[1-9]\d{0,2}(?:,\d{3})+")


class OffsetFields(Fields):
    """Half-breadths for both sides or each, or full widths; each a CSV file's name or the table itself."""

    half_breadths = maybe(text())
    left = maybe(text())
    right = maybe(text())
    widths = maybe(text())
    roof_from = maybe(length())

    def check(self) -> None:
        """Raise ValueError unless the body is given in one of the three ways."""
        given = {n for n in ("half_breadths", "left", "right", "widths") if getattr(self, n) is not None}
        if given not in ({"half_breadths"}, {"widths"}, {"left", "right"}):
            found = ", ".join(sorted(given)) or "none of them"
            raise ValueError(f"found {found}; give half_breadths, or widths, or left and right together")


def offset_body(
    offsets: OffsetFields, file: TomlFile, *, unit: str | None, from_bare: bool, floor: float
) -> OffsetBody:
    """Read the tables that a shell file names and return the body that they describe.

    Parameters
    ----------
    offsets : the table [offsets]
    file : the file it stands in
    unit : what a bare number means
    from_bare : whether heights count from the bare floor, else from the finished one
    floor : thickness of the finished floor, mm

    Raises
    ------
    InputError
        With file and line, for a table that is no table of offsets.
    """
    stations, heights, left, right = _both_sides(offsets, file, unit)
    row = None if offsets.roof_from is None else int(np.searchsorted(heights, offsets.roof_from - LEDGE))
    if from_bare:
        heights = heights - floor
    elif floor > 0:
        heights, left, right = _down_to_bare_floor(heights, left, right, floor)
        row = None if row is None else row + 1
    if row is None:
        row = OffsetBody.roof_row_of(heights, left, right)
    return OffsetBody(stations, heights, left, right, min(row, len(heights) - 1))


def _both_sides(offsets: OffsetFields, file: TomlFile, unit: str | None) -> tuple[Floats, Floats, Floats, Floats]:
    tables = {n: _table(n, getattr(offsets, n), file, unit) for n in ("half_breadths", "left", "right", "widths")}
    given = {n: t for n, t in tables.items() if t is not None}
    if "left" not in given:
        ((name, (stations, heights, breadths)),) = given.items()
        half = breadths / 2 if name == "widths" else breadths
        return stations, heights, half, half
    stations, heights, left = given["left"]
    others, levels, right = given["right"]
    if not (np.array_equal(stations, others) and np.array_equal(heights, levels)):
        words = "the tables left and right differ in their stations or heights; give both the same first row and column"
        raise InputError(words, file=file.path, line=file.line_of(("offsets",)), key="offsets")
    return stations, heights, left, right


def _down_to_bare_floor(heights: Floats, left: Floats, right: Floats, floor: float) -> tuple[Floats, Floats, Floats]:
    """Run the lowest row straight down by the floor's thickness."""
    heights = np.concatenate([[heights[0] - floor], heights])
    left, right = (np.column_stack([side[:, :1], side]) for side in (left, right))
    return heights, left, right


def _table(key: str, text: str | None, file: TomlFile, unit: str | None) -> tuple[Floats, Floats, Floats] | None:
    """Read a table of offsets: heights down its first column, stations along its first row."""
    if text is None:
        return None
    inline, named = "\n" in text, f"offsets.{key}"
    first = (file.line_of(("offsets", key)) or 0) if inline else 0
    try:
        path = file.path if inline else inside(file.path.parent, text)
        rows = _rows(text if inline else read_text(path, "table of offsets"), first + 1, path)
    except InputError as fault:
        raise fault.at(file=file.path, line=file.line_of(("offsets", key)), key=named) from fault
    return _numbers(_without_empty_end(rows), path, unit, "width" if key == "widths" else "half-breadth")


def _rows(text: str, first: int, path: Path) -> list[tuple[int, list[str]]]:
    """Return the number and the cells of each row.

    Where semicolons stand between the cells, as spreadsheets write them in many countries, or tabs, as they are copied from one,
    a comma in a cell is a decimal point.
    """
    lines = [(number, line) for number, line in enumerate(text.splitlines(), first) if _is_row(line)]
    mark = next((mark for mark in ";,\t" if lines and mark in lines[0][1]), ",")
    rows = [(number, _cells(number, line, mark, path)) for number, line in lines]
    return rows if mark == "," else _with_points(rows, path)


def _is_row(line: str) -> bool:
    return bool(line.strip(" \t;,")) and not line.lstrip().startswith("#")


def _cells(number: int, line: str, mark: str, path: Path) -> list[str]:
    try:
        return [cell.strip() for cell in next(csv.reader([line], delimiter=mark))]
    except csv.Error as fault:
        raise InputError(f"no row of cells: {fault}", file=path, line=number, key="table of offsets") from fault


def _without_empty_end(rows: list[tuple[int, list[str]]]) -> list[tuple[int, list[str]]]:
    """Return rows without the columns at their end that are empty in all of them, as a spreadsheet may write them."""
    width = max((i for _, cells in rows for i, cell in enumerate(cells, 1) if cell), default=0)
    return [(number, cells[:width]) for number, cells in rows]


def _with_points(rows: list[tuple[int, list[str]]], path: Path) -> list[tuple[int, list[str]]]:
    """Return rows with points for decimal commas; raises InputError where all commas may as well stand between thousands."""
    found = [(line, number) for line, cells in rows for cell in cells for number in _WITH_COMMA.findall(cell)]
    if found and all(_THOUSANDS.fullmatch(number) for _, number in found):
        line, number = found[0]
        words = f"`{number}` may mean {number.replace(',', '')} or {number.replace(',', '.')}"
        mend = "write decimals with a point, and nothing between thousands"
        raise InputError(f"{words}; {mend}", file=path, line=line, key="table of offsets")
    return [(line, [_with_point(cell) for cell in cells]) for line, cells in rows]


def _with_point(cell: str) -> str:
    return cell.replace(",", ".") if cell.count(",") == 1 and "." not in cell else cell


def _numbers(
    rows: list[tuple[int, list[str]]], path: Path, unit: str | None, what: str
) -> tuple[Floats, Floats, Floats]:
    def fault(line: int, words: Words) -> InputError:
        return InputError(words, file=path, line=line, key="table of offsets", unit=unit)

    _refuse_ragged(rows, fault)
    grid = []
    for i, (number, cells) in enumerate(rows):
        first = 0 if i else 1
        grid.append([_cell(cell, k, unit, partial(fault, number)) for k, cell in enumerate(cells[first:], first + 1)])
    stations, heights = np.array(grid[0]), np.array([row[0] for row in grid[1:]])
    offsets = np.array([row[1:] for row in grid[1:]]).T
    _refuse_unsorted(stations, heights, offsets, rows, what, fault)
    return stations, heights, offsets


def _refuse_ragged(rows: list[tuple[int, list[str]]], fault: Callable[[int, Words], InputError]) -> None:
    """Refuse rows that are too few or too short, or that differ in length."""
    if len(rows) < 3:
        raise fault(rows[-1][0] if rows else 1, "needs a row of stations and at least two heights below it")
    (line, head), *below = rows
    if len(head) < 3:
        found = "one station" if len(head) == 2 else "no station"
        mend = "at least two are needed to loft between, with a comma, a semicolon or a tab before each"
        raise fault(line, f"found {found}; {mend}")
    if {len(cells) for _, cells in below} == {len(head) + 1}:
        raise fault(line, "its first cell is missing; begin the first row with the word height, above the heights")
    for number, cells in below:
        if len(cells) != len(head):
            words = (
                f"found {len(cells)} cells where the first row has {len(head)}; every row needs one for each station"
            )
            points = ", and decimals a point instead of a comma" if len(cells) > len(head) else ""
            raise fault(number, words + points)


def _cell(text: str, column: int, unit: str | None, fault: Callable[[Words], InputError]) -> float:
    try:
        return parse_length(text, unit=unit)
    except LengthError as refused:
        raise fault(f"column {column}: {refused.message}") from refused


def _refuse_unsorted(
    stations: Floats,
    heights: Floats,
    offsets: Floats,
    rows: list[tuple[int, list[str]]],
    what: str,
    fault: Callable[[int, Words], InputError],
) -> None:
    for i in np.flatnonzero(np.diff(stations) <= 0)[:1]:
        after, before = stations[i + 1], stations[i]
        how = "station {} stands twice" if after == before else "station {} follows {}"
        raise fault(rows[0][0], told(f"{how}; stations must rise from front to rear", after, before))
    for i in np.flatnonzero(np.diff(heights) <= 0)[:1]:
        words = told("height {} follows {}; heights must rise from row to row", heights[i + 1], heights[i])
        raise fault(rows[i + 2][0], words)
    if heights[0] != 0:
        words = told("the lowest height is {}; the first row must stand at the floor, height 0", heights[0])
        raise fault(rows[1][0], words)
    for _, k in np.argwhere(offsets <= 0)[:1]:
        raise fault(
            rows[k + 1][0],
            f"a {what} must be above 0; give the flat of the roof its own {what} in the top row",
        )
