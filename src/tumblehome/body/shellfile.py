"""Reading shells: a TOML file, with its table of offsets as CSV or inline, or a closed mesh beside it."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal

import numpy as np
from pydantic import Field, model_validator

from tumblehome.body.closedmesh import MeshBody, read_mesh
from tumblehome.body.offsets import OffsetBody
from tumblehome.body.parts import (
    Block,
    Bulkhead,
    Doorway,
    Housing,
    Lined,
    Lining,
    MeshMember,
    Recess,
    Sheet,
    Well,
)
from tumblehome.body.shell import Shell
from tumblehome.errors import InputError, LengthError, nearest
from tumblehome.files import TomlFile, inside, read_text, read_toml
from tumblehome.lengths import parse_length
from tumblehome.schema import Fields, Length, Size, SpanOf, Thickness, read_fields

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from numpy.typing import NDArray

    from tumblehome.body.parts import Body, Part

    Floats = NDArray[np.float64]

__all__ = ["bundled_shells", "load_shell"]

_UNITS_TO_MM = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "ft": 304.8}
Unit = Literal["mm", "cm", "m", "in", "ft"]
Side = Literal["left", "right"]
Axis = Literal["+x", "-x", "+y", "-y", "+z", "-z"]


class _Offsets(Fields):
    """Half-breadths for both sides or each, or full widths; each a CSV file's name or the table itself."""

    half_breadths: str | None = None
    left: str | None = None
    right: str | None = None
    widths: str | None = None
    roof_from: Length | None = None

    @model_validator(mode="after")
    def _one_way(self) -> _Offsets:
        given = {n for n in ("half_breadths", "left", "right", "widths") if getattr(self, n) is not None}
        if given not in ({"half_breadths"}, {"widths"}, {"left", "right"}):
            found = ", ".join(sorted(given)) or "none of them"
            raise ValueError(f"found {found}; give half_breadths, or widths, or left and right together")
        return self


class _Mesh(Fields):
    """A closed mesh: its file, unit, and which of its axes point rearward, right and up."""

    file: str
    unit: Unit
    rearward: Axis
    right: Axis
    up: Axis
    datum: Annotated[list[float], Field(min_length=3, max_length=3)] = [0.0, 0.0, 0.0]


class _Lining(Fields):
    walls: Thickness = 0.0
    roof: Thickness = 0.0
    floor: Thickness = 0.0


class _ShellHead(Fields):
    """Everything of a shell file but its parts, which are read one by one so that their kind can decide."""

    name: Annotated[str, Field(min_length=1)]
    unit: Unit | None = None
    measured_to: Size
    note: str = ""
    heights_from: Literal["finished floor", "bare floor"] = "finished floor"
    offsets: _Offsets | None = None
    mesh: _Mesh | None = None
    lining: _Lining = _Lining()
    members: list[dict[str, Any]] = []
    recesses: list[dict[str, Any]] = []
    doorways: list[dict[str, Any]] = []

    @model_validator(mode="after")
    def _one_body(self) -> _ShellHead:
        if (self.offsets is None) == (self.mesh is None):
            raise ValueError("give the body once: either a table [offsets] or a table [mesh]")
        return self


class _PartFields(Fields):
    """What every part has."""

    name: Annotated[str, Field(min_length=1)]
    measured_to: Size | None = None


class _Rib(_PartFields):
    kind: Literal["rib", "pillar"]
    side: Literal["left", "right", "both"]
    stations: SpanOf
    heights: SpanOf | None = None
    depth: Size

    def part(self, raised: _Raise) -> Part:
        sides: tuple[Side, ...] = ("left", "right") if self.side == "both" else (self.side,)
        return Sheet(self.name, self.kind, self.measured_to, self.stations, self.depth, sides, False, raised.span(self.heights))


class _Hoop(_PartFields):
    kind: Literal["hoop"]
    stations: SpanOf
    heights: SpanOf | None = None
    depth: Size

    def part(self, raised: _Raise) -> Part:
        both: tuple[Side, ...] = ("left", "right")
        return Sheet(self.name, self.kind, self.measured_to, self.stations, self.depth, both, True, raised.span(self.heights))


class _Bow(_PartFields):
    kind: Literal["bow"]
    stations: SpanOf
    depth: Size

    def part(self, raised: _Raise) -> Part:
        del raised
        return Sheet(self.name, self.kind, self.measured_to, self.stations, self.depth, (), True, None)


class _Rail(_PartFields):
    kind: Literal["rail"]
    side: Literal["left", "right", "both"]
    stations: SpanOf | None = None
    heights: SpanOf
    depth: Size

    def part(self, raised: _Raise) -> Part:
        sides: tuple[Side, ...] = ("left", "right") if self.side == "both" else (self.side,)
        stations = self.stations or raised.stations
        return Sheet(self.name, self.kind, self.measured_to, stations, self.depth, sides, False, raised.span(self.heights))


class _Housing(_PartFields):
    kind: Literal["housing"]
    side: Side
    stations: SpanOf
    height: Size
    depth: Size
    bevel: Thickness = 0.0
    radius: Thickness = 0.0

    @model_validator(mode="after")
    def _fits(self) -> _Housing:
        if self.bevel and self.radius:
            raise ValueError("give its upper edges a bevel or a radius, not both")
        cut = max(self.bevel, self.radius)
        if cut > min(self.height, (self.stations[1] - self.stations[0]) / 2):
            raise ValueError(f"a bevel or radius of {cut:g} mm does not fit its height and half its length")
        return self

    def part(self, raised: _Raise) -> Part:
        top = raised.height(self.height)
        return Housing(self.name, self.kind, self.measured_to, self.side, self.stations, top, self.depth, self.bevel, self.radius)


class _Block(_PartFields):
    kind: Literal["block"]
    stations: SpanOf
    breadths: SpanOf
    heights: SpanOf

    def part(self, raised: _Raise) -> Part:
        return Block(self.name, self.kind, self.measured_to, self.stations, self.breadths, raised.need(self.heights))


class _Step(_PartFields):
    kind: Literal["step"]
    stations: SpanOf
    breadths: SpanOf | None = None
    height: Size

    def part(self, raised: _Raise) -> Part:
        breadths = self.breadths or raised.breadths
        return Block(self.name, self.kind, self.measured_to, self.stations, breadths, (0.0, raised.height(self.height)))


class _Bulkhead(_PartFields):
    kind: Literal["bulkhead"]
    station: Length
    top_station: Length | None = None
    heights: SpanOf | None = None

    def part(self, raised: _Raise) -> Part:
        top = self.station if self.top_station is None else self.top_station
        return Bulkhead(self.name, self.kind, self.measured_to, self.station, top, raised.span(self.heights) or raised.full_height)


class _MeshMember(_PartFields):
    kind: Literal["mesh"]
    file: str
    unit: Unit
    rearward: Axis = "+x"
    right: Axis = "+y"
    up: Axis = "+z"
    datum: Annotated[list[float], Field(min_length=3, max_length=3)] = [0.0, 0.0, 0.0]

    def part(self, raised: _Raise) -> Part:
        return MeshMember(self.name, self.kind, self.measured_to, _solid_from(self, raised.folder, self.name))


class _Recess(_PartFields):
    kind: Literal["recess"] = "recess"
    side: Side
    stations: SpanOf
    heights: SpanOf
    depth: Size | None = None
    lining: Thickness | None = None
    corner: Thickness = 0.0
    bevel: Thickness = 0.0

    @model_validator(mode="after")
    def _one_depth(self) -> _Recess:
        if (self.depth is None) == (self.lining is None):
            raise ValueError("give its depth behind the lining, or the lining that it has of its own, one of the two")
        return self

    def part(self, raised: _Raise) -> Part:
        depth = raised.lining.walls - self.lining if self.lining is not None else self.depth or 0.0
        if depth <= 0:
            raise InputError(f"its own lining of {self.lining:g} mm is not thinner than the walls' {raised.lining.walls:g} mm")
        heights = raised.need(self.heights)
        return Recess(self.name, self.kind, self.measured_to, self.side, self.stations, heights, depth, self.corner, self.bevel)


class _Well(_PartFields):
    kind: Literal["well"]
    stations: SpanOf
    breadths: SpanOf
    depth: Size

    def part(self, raised: _Raise) -> Part:
        depth = self.depth if raised.floor == 0 else self.depth + raised.floor
        return Well(self.name, self.kind, self.measured_to, self.stations, self.breadths, depth)


class _Doorway(Fields):
    name: Annotated[str, Field(min_length=1)]
    side: Literal["left", "right", "rear"]
    stations: SpanOf | None = None
    breadths: SpanOf | None = None
    heights: SpanOf

    @model_validator(mode="after")
    def _one_span(self) -> _Doorway:
        wanted, other = ("breadths", "stations") if self.side == "rear" else ("stations", "breadths")
        if getattr(self, wanted) is None or getattr(self, other) is not None:
            raise ValueError(f"a doorway at the {self.side} is told by its {wanted} and heights, not by its {other}")
        return self

    def doorway(self, raised: _Raise) -> Doorway:
        return Doorway(self.name, self.side, self.stations or self.breadths or (0.0, 0.0), raised.need(self.heights))


_MEMBERS: dict[str, type[_PartFields]] = {
    "rib": _Rib,
    "pillar": _Rib,
    "hoop": _Hoop,
    "bow": _Bow,
    "rail": _Rail,
    "housing": _Housing,
    "block": _Block,
    "step": _Step,
    "bulkhead": _Bulkhead,
    "mesh": _MeshMember,
}
_RECESSES: dict[str, type[_PartFields]] = {"recess": _Recess, "well": _Well}


class _Raise:
    """Turns the file's heights into heights above the finished floor, and knows what a part may leave to the shell."""

    def __init__(self, floor: float, lining: Lining, folder: Path, bare: tuple[Floats, Floats]):
        self.floor, self.lining, self.folder = floor, lining, folder
        (x0, y0, z0), (x1, y1, z1) = bare
        self.stations, self.breadths, self.full_height = (x0, x1), (y0, y1), (min(z0, 0.0), z1)

    def height(self, z: float) -> float:
        return z - self.floor

    def need(self, span: tuple[float, float]) -> tuple[float, float]:
        return span[0] - self.floor, span[1] - self.floor

    def span(self, span: tuple[float, float] | None) -> tuple[float, float] | None:
        return None if span is None else self.need(span)


def load_shell(source: Path | str) -> Shell:
    """Read a shell.

    Parameters
    ----------
    source : path of a shell file, of a folder that holds ``shell.toml``, or the name of a bundled shell

    Raises
    ------
    InputError
        For anything at fault in the file: where, what was found, what is allowed.
    MeshError
        For a mesh that is not one sound closed solid.
    """
    file = read_toml(_shell_path(source), "shell file")
    head = read_fields(_ShellHead, file.data, file, unit=_declared_unit(file))
    lining = Lining(head.lining.walls, head.lining.roof, head.lining.floor)
    floor = lining.floor if head.heights_from == "bare floor" else 0.0
    lined = Lined(_body(head, file, lining), lining)
    raised = _Raise(floor, lining, file.path.parent, lined.bare.bounds)
    parts = tuple(_parts(head, file, raised))
    doorways = tuple(_doorways(head, file, raised))
    _refuse_twins(file, head)
    shell = Shell(head.name, head.measured_to, lined, parts, doorways, file=file.path, note=head.note)
    _refuse_strays(shell, file, head)
    return shell


def bundled_shells() -> dict[str, Path]:
    """Return the bundled shells' names and files, in the order of their names."""
    here = Path(__file__).resolve().parents[1]
    places = [here / "shells", here.parents[1] / "shells"]
    files = [file for place in places if place.is_dir() for file in sorted(place.glob("*/shell.toml"))]
    return {file.parent.name: file for file in files}


def _shell_path(source: Path | str) -> Path:
    path = Path(source)
    if path.is_dir():
        return path / "shell.toml"
    if not path.exists() and path.suffix != ".toml" and len(path.parts) == 1:
        bundled = bundled_shells()
        if path.name in bundled:
            return bundled[path.name]
        known = ", ".join(bundled)
        raise InputError(f"there is no file and no bundled shell '{path.name}'{nearest(path.name, bundled)}; bundled: {known}")
    return path


def _declared_unit(file: TomlFile) -> str | None:
    unit = file.data.get("unit")
    return unit if isinstance(unit, str) and unit in _UNITS_TO_MM else None


def _body(head: _ShellHead, file: TomlFile, lining: Lining) -> Body:
    if head.mesh is not None:
        try:
            return MeshBody(_solid_from(head.mesh, file.path.parent, None))
        except InputError as fault:
            raise fault.at(file=file.path, line=file.line_of(("mesh",)), key="mesh") from fault
    assert head.offsets is not None  # noqa: S101  (the file's own check has seen to it)
    return _offset_body(head, head.offsets, file, lining)


def _solid_from(source: _Mesh | _MeshMember, folder: Path, name: str | None) -> Any:
    return read_mesh(
        inside(folder, source.file),
        name,
        millimeters=_UNITS_TO_MM[source.unit],
        axes=(source.rearward, source.right, source.up),
        datum=np.array(source.datum),
    )


def _offset_body(head: _ShellHead, offsets: _Offsets, file: TomlFile, lining: Lining) -> OffsetBody:
    tables = {n: _table(n, getattr(offsets, n), file, head.unit) for n in ("half_breadths", "left", "right", "widths")}
    given = {n: t for n, t in tables.items() if t is not None}
    if "widths" in given:
        stations, heights, left = given["widths"]
        left = right = left / 2
    elif "half_breadths" in given:
        stations, heights, left = given["half_breadths"]
        right = left
    else:
        stations, heights, left = given["left"]
        others, levels, right = given["right"]
        if not (np.array_equal(stations, others) and np.array_equal(heights, levels)):
            raise InputError("the tables left and right differ in their stations or heights", file=file.path, key="offsets")
    raised = heights - lining.floor if head.heights_from == "bare floor" else heights
    if head.heights_from == "finished floor" and lining.floor > 0:
        raised, left, right = _down_to_bare_floor(raised, left, right, lining.floor)
    row = OffsetBody.roof_row_of(raised, left, right)
    if offsets.roof_from is not None:
        row = int(np.searchsorted(heights, offsets.roof_from - 1e-6)) + len(raised) - len(heights)
    return OffsetBody(stations, raised, left, right, min(row, len(raised) - 1))


def _down_to_bare_floor(heights: Floats, left: Floats, right: Floats, floor: float) -> tuple[Floats, Floats, Floats]:
    """Run the lowest row straight down by the floor's thickness."""
    heights = np.concatenate([[heights[0] - floor], heights])
    left, right = (np.column_stack([side[:, :1], side]) for side in (left, right))
    return heights, left, right


def _table(key: str, text: str | None, file: TomlFile, unit: str | None) -> tuple[Floats, Floats, Floats] | None:
    """Read a table of offsets: heights down its first column, stations along its first row."""
    if text is None:
        return None
    inline = "\n" in text
    path = file.path if inline else inside(file.path.parent, text)
    first = (file.line_of(("offsets", key)) or 0) if inline else 0
    rows = list(_rows(text if inline else read_text(path, "table of offsets"), first + 1))
    return _numbers(rows, path, unit)


def _rows(text: str, first: int) -> Iterator[tuple[int, list[str]]]:
    for number, line in enumerate(text.splitlines(), first):
        if line.strip() and not line.lstrip().startswith("#"):
            yield number, [cell.strip() for cell in next(csv.reader([line]))]


def _numbers(rows: list[tuple[int, list[str]]], path: Path, unit: str | None) -> tuple[Floats, Floats, Floats]:
    def fault(line: int, words: str) -> InputError:
        return InputError(words, file=path, line=line, key="table of offsets")

    if len(rows) < 3:
        line = rows[-1][0] if rows else 1
        raise fault(line, "needs a row of stations and at least two heights below it")
    line, head = rows[0]
    if len(head) < 3:
        raise fault(line, f"found {len(head) - 1} station; at least two are needed to loft between")
    grid = []
    for number, cells in rows:
        if len(cells) != len(head):
            raise fault(number, f"found {len(cells)} cells where the first row has {len(head)}; every row needs one for each station")
        read = cells[1:] if number == line else cells
        grid.append([_cell(cell, unit, lambda w, n=number: fault(n, w)) for cell in read])
    stations, heights = np.array(grid[0]), np.array([row[0] for row in grid[1:]])
    offsets = np.array([row[1:] for row in grid[1:]]).T
    _refuse_unsorted(stations, heights, offsets, rows, fault)
    return stations, heights, offsets


def _cell(text: str, unit: str | None, fault: Callable[[str], InputError]) -> float:
    try:
        return parse_length(text, unit=unit)
    except LengthError as refused:
        raise fault(refused.message) from refused


def _refuse_unsorted(stations: Floats, heights: Floats, offsets: Floats, rows: Any, fault: Callable[[int, str], InputError]) -> None:
    for i in np.flatnonzero(np.diff(stations) <= 0)[:1]:
        same = stations[i] == stations[i + 1]
        words = f"station {stations[i]:g} mm stands twice" if same else f"station {stations[i + 1]:g} mm follows {stations[i]:g} mm"
        raise fault(rows[0][0], f"{words}; stations must rise from front to rear")
    for i in np.flatnonzero(np.diff(heights) <= 0)[:1]:
        raise fault(rows[i + 2][0], f"height {heights[i + 1]:g} mm follows {heights[i]:g} mm; heights must rise from row to row")
    if heights[0] != 0:
        raise fault(rows[1][0], f"the lowest height is {heights[0]:g} mm; the first row must stand at the floor, height 0")
    for _, k in np.argwhere(offsets <= 0)[:1]:
        raise fault(rows[k + 1][0], "a half-breadth must be above 0; give the flat of the roof its own half-breadth in the top row")


def _parts(head: _ShellHead, file: TomlFile, raised: _Raise) -> Iterator[Part]:
    for table, kinds, default in (("members", _MEMBERS, None), ("recesses", _RECESSES, "recess")):
        for i, data in enumerate(getattr(head, table)):
            kind = data.get("kind", default)
            where = (table, i)
            if kind not in kinds:
                words = "missing" if kind is None else f"found {kind!r}"
                hint = nearest(str(kind), kinds)
                line = file.line_of((*where, "kind")) or file.line_of(where)
                raise InputError(f"{words}; allowed: {', '.join(kinds)}{hint}", file=file.path, line=line, key=f"{table}.{i + 1}.kind")
            fields: Any = read_fields(kinds[kind], data, file, where, head.unit)
            try:
                yield fields.part(raised)
            except InputError as fault:
                raise fault.at(file=file.path, line=file.line_of(where), key=f"{table}.{i + 1} '{fields.name}'") from fault


def _doorways(head: _ShellHead, file: TomlFile, raised: _Raise) -> Iterator[Doorway]:
    for i, data in enumerate(head.doorways):
        yield read_fields(_Doorway, data, file, ("doorways", i), head.unit).doorway(raised)


def _refuse_twins(file: TomlFile, head: _ShellHead) -> None:
    seen = {n: "the shell itself" for n in ("left wall", "right wall", "roof", "floor", "front", "rear")}
    for table in ("members", "recesses", "doorways"):
        for i, data in enumerate(getattr(head, table)):
            name = data["name"]
            if name in seen:
                line = file.line_of((table, i, "name"))
                raise InputError(f"the name '{name}' is taken by {seen[name]}", file=file.path, line=line, key=f"{table}.{i + 1}.name")
            seen[name] = f"another part ({table}.{i + 1})"


def _refuse_strays(shell: Shell, file: TomlFile, head: _ShellHead) -> None:
    """Refuse a part that takes nothing from the interior and gives nothing to it, and a doorway that leads nowhere."""
    places = [(table, i) for table in ("members", "recesses") for i in range(len(getattr(head, table)))]
    for part, where in zip(shell.parts, places, strict=True):
        try:
            empty = shell.solid_of(part.name).is_empty
        except InputError as fault:
            raise _stray(fault, file, where, part.name) from fault
        if empty:
            low, high = shell.lined.solid.bounds
            words = f"lies outside the interior (stations {low[0]:g} to {high[0]:g}, heights {low[2]:g} to {high[2]:g} mm)"
            raise _stray(InputError(words), file, where, part.name)
    for i, door in enumerate(shell.doorways):
        try:
            inside_the_skin = door.passage(shell.lined) & shell.lined.solid
        except InputError as fault:
            raise _stray(fault, file, ("doorways", i), door.name) from fault
        if inside_the_skin.is_empty:
            raise _stray(InputError("does not open into the interior"), file, ("doorways", i), door.name)


def _stray(fault: InputError, file: TomlFile, where: tuple[str, int], name: str) -> InputError:
    return InputError(fault.message).at(file=file.path, line=file.line_of(where), key=f"{where[0]}.{where[1] + 1} '{name}'")
