"""Reading shells: a TOML file, with its table of offsets as CSV or inline, or a closed mesh beside it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from tumblehome.body.offsetfile import OffsetFields, offset_body
from tumblehome.body.partfields import (
    MEMBERS,
    RECESSES,
    UNITS_TO_MM,
    Datum,
    DoorwayFields,
    MeshFields,
    solid_from,
)
from tumblehome.body.parts import Lined, Lining
from tumblehome.body.shell import Shell
from tumblehome.errors import InputError, KernelError, nearest
from tumblehome.files import TomlFile, is_there, read_toml
from tumblehome.lengths import told
from tumblehome.schema import Fields, choice, maybe, one_line, read_fields, size, table, tables, text, thickness
from tumblehome.tolerances import CONTACT, LEDGE, STANDS, WORST_MEASURED

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tumblehome.body.parts import Body, Doorway, Part
    from tumblehome.errors import Words
    from tumblehome.solids import Solid

__all__ = ["bundled_shells", "load_shell"]


_FLOOR_TOO_HIGH = (
    "leaves its finished floor at height {}, not at 0; where heights count from the bare floor, write "
    'heights_from = "bare floor", else let the mesh reach {} below height 0'
)

_FLOOR_TOO_LOW = (
    "leaves its finished floor at height {}, not at 0; put the mesh's datum on that floor, or state under lining.floor all that "
    "it is built up of"
)

_SIZES = (("long", 500.0, 18_750.0), ("wide", 500.0, 2_600.0), ("high", 500.0, 4_500.0))
"""The sizes of an interior below and above which it is none, mm. Nothing on the road may be longer than 18.75 m, wider than 2.60 m
or higher than 4.00 m (Council Directive 96/53/EC, Annex I); some lands allow it to be half a meter higher. Less than half a meter
holds nobody (common practice, no published source)."""


class _LiningFields(Fields):
    walls = thickness(0.0)
    roof = thickness(0.0)
    floor = thickness(0.0)


class _ShellHead(Fields):
    """Everything of a shell file but its parts, which are read one by one so that their kind can decide."""

    name = one_line()
    unit = maybe(choice(*UNITS_TO_MM))
    measured_to = size(most=WORST_MEASURED)
    note = text("")
    heights_from = choice("finished floor", "bare floor", default="finished floor")
    offsets = maybe(table(OffsetFields))
    mesh = maybe(table(MeshFields))
    lining = maybe(table(_LiningFields))
    members = tables()
    recesses = tables()
    doorways = tables()

    def check(self) -> None:
        """Raise ValueError unless the body is given once."""
        if (self.offsets is None) == (self.mesh is None):
            raise ValueError("give the body once: either a table [offsets] or a table [mesh]")


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
    head = read_fields(_ShellHead, file.data, file, unit=file.unit)
    lining = Lining(head.lining.walls, head.lining.roof, head.lining.floor) if head.lining else Lining()
    floor = lining.floor if head.heights_from == "bare floor" else 0.0
    lined = Lined(_body(head, file, lining), lining)
    _refuse_what_is_no_van(lined.bare, file, head)  # a slip of its unit would seem one of its lining's
    _refuse_what_fills_it(lined, file)
    _refuse_what_is_no_van(lined.solid, file, head)
    datum = Datum(floor, lining, file.path.parent, lined.bare.bounds)
    parts = tuple(_parts(head, file, datum))
    doorways = tuple(_doorways(head, file, datum))
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
    if is_there(path) and path.is_dir():
        return path / "shell.toml"
    if not is_there(path) and path.suffix != ".toml" and len(path.parts) == 1:
        bundled = bundled_shells()
        if path.name in bundled:
            return bundled[path.name]
        known = ", ".join(bundled)
        raise InputError(
            f"there is no file and no bundled shell '{path.name}'{nearest(path.name, bundled)}; bundled: {known}"
        )
    return path


def _body(head: _ShellHead, file: TomlFile, lining: Lining) -> Body:
    bare = head.heights_from == "bare floor"
    if head.mesh is not None:
        from tumblehome.body.closedmesh import MeshBody  # noqa: PLC0415  (only shells that come as meshes pay for it)

        try:
            mesh = solid_from(head.mesh, file.path.parent, None)
            return MeshBody(mesh.moved((0.0, 0.0, -lining.floor)) if bare else mesh)
        except InputError as fault:
            unit = file.unit or head.mesh.unit
            raise fault.at(file=file.path, line=file.line_of(("mesh",)), key="mesh", unit=unit) from fault
    assert head.offsets is not None
    return offset_body(head.offsets, file, unit=head.unit, from_bare=bare, floor=lining.floor)


def _refuse_what_fills_it(lined: Lined, file: TomlFile) -> None:
    """Refuse a lining that leaves nothing of the interior, or a mesh that ends above its floor."""
    try:
        empty = lined.solid.is_empty
    except InputError as fault:
        raise fault.at(file=file.path, line=file.line_of(("lining",)), key="lining", unit=file.unit) from fault
    except KernelError:
        empty = True
    if empty:
        words = "nothing of the interior is left within it; make it thinner"
        raise InputError(words, file=file.path, line=file.line_of(("lining",)), key="lining")
    foot = float(lined.solid.bounds[0][2])
    if foot > CONTACT:
        line = file.line_of(("lining", "floor"))
        high = told(_FLOOR_TOO_HIGH, foot, lined.lining.floor)
        raise InputError(high, file=file.path, line=line, key="lining.floor", unit=file.unit)
    level = _level_of_floor(lined.solid)
    if level is not None and level < -STANDS:
        raise InputError(
            told(_FLOOR_TOO_LOW, level), file=file.path, line=file.line_of(("mesh",)), key="mesh", unit=file.unit
        )


def _level_of_floor(interior: Solid) -> float | None:
    """Return at which height most of an interior's floor lies, mm, if more than half of it lies at one; wells are less."""
    surface = interior.surface
    heights, down = surface.triangles[:, :, 2], -surface.normals[:, 2]
    level = (np.ptp(heights, axis=1) < LEDGE) & (down > 0)
    at, which = np.unique(heights[level, 0].round(3), return_inverse=True)
    areas = np.bincount(which, down[level], len(at))
    return float(at[areas.argmax()]) if 2 * areas.max(initial=0.0) > down[down > 0].sum() else None


def _refuse_what_is_no_van(interior: Solid, file: TomlFile, head: _ShellHead) -> None:
    """Refuse an interior of a size that none has: a slip of the unit, or of full widths for half-breadths."""
    key, declared = ("mesh", f" '{head.mesh.unit}' of the mesh") if head.mesh else ("offsets", "")
    low, high = interior.bounds
    for size_found, (word, least, most) in zip((high - low).tolist(), _SIZES, strict=True):
        if not least <= size_found <= most:
            words = told(
                f"the interior is {{}} {word}, and a van's is {{}} to {{}}; check the unit{declared} and the numbers",
                size_found,
                least,
                most,
            )
            raise InputError(words, file=file.path, line=file.line_of((key,)), key=key, unit=file.unit)


def _parts(head: _ShellHead, file: TomlFile, datum: Datum) -> Iterator[Part]:
    for listed, kinds, default in (("members", MEMBERS, None), ("recesses", RECESSES, "recess")):
        for i, data in enumerate(getattr(head, listed)):
            kind = data.get("kind", default)
            where = (listed, i)
            if not isinstance(kind, str) or kind not in kinds:
                words = "missing" if kind is None else f"found {kind!r}"
                hint = nearest(str(kind), kinds)
                line = file.line_of((*where, "kind")) or file.line_of(where)
                raise InputError(
                    f"{words}; allowed: {', '.join(kinds)}{hint}",
                    file=file.path,
                    line=line,
                    key=f"{listed}.{i + 1}.kind",
                )
            fields: Any = read_fields(kinds[kind], data, file, where, head.unit)
            try:
                yield fields.part(datum)
            except InputError as fault:
                raise _stray(fault, file, where, fields.name) from fault


def _doorways(head: _ShellHead, file: TomlFile, datum: Datum) -> Iterator[Doorway]:
    for i, data in enumerate(head.doorways):
        yield read_fields(DoorwayFields, data, file, ("doorways", i), head.unit).doorway(datum)


def _refuse_twins(file: TomlFile, head: _ShellHead) -> None:
    seen = dict.fromkeys(("left wall", "right wall", "roof", "floor", "front", "rear"), "the shell itself")
    for listed in ("members", "recesses", "doorways"):
        for i, data in enumerate(getattr(head, listed)):
            name = data["name"]
            if name in seen:
                line = file.line_of((listed, i, "name"))
                raise InputError(
                    f"the name '{name}' is taken by {seen[name]}",
                    file=file.path,
                    line=line,
                    key=f"{listed}.{i + 1}.name",
                )
            seen[name] = f"another part ({listed}.{i + 1})"


def _refuse_strays(shell: Shell, file: TomlFile, head: _ShellHead) -> None:
    """Refuse a part that takes nothing from the interior and gives nothing to it, and a doorway that leads nowhere."""
    places = [(listed, i) for listed in ("members", "recesses") for i in range(len(getattr(head, listed)))]
    for part, where in zip(shell.parts, places, strict=True):
        try:
            shell.cutter_of(part)
        except InputError as fault:
            raise _stray(fault, file, where, part.name) from fault
    seen, is_whole = shell.void.surface.names_present, shell.void.is_whole
    for part, where in zip(shell.parts, places, strict=True):
        if (part.name not in seen and shell.solid_of(part.name).is_empty) or (not is_whole and _is_apart(shell, part)):
            stations, _, heights = zip(*shell.lined.solid.bounds, strict=True)
            words = told("lies outside the interior (stations {}, heights {})", stations, heights)
            raise _stray(InputError(words), file, where, part.name)
    for i, door in enumerate(shell.doorways):
        try:
            inside_the_skin = door.passage(shell.lined) & shell.lined.solid
        except InputError as fault:
            raise _stray(fault, file, ("doorways", i), door.name) from fault
        if inside_the_skin.is_empty:
            raise _stray(InputError("does not open into the interior"), file, ("doorways", i), door.name)
        if beyond := _beyond(door, shell):
            raise _stray(InputError(beyond), file, ("doorways", i), door.name)


def _beyond(door: Doorway, shell: Shell) -> Words | None:
    """Say how a doorway reaches beyond the body by more than the tape may be off; its sill may lie below the floor."""
    corners = zip(*shell.lined.bare.bounds, strict=True)
    stations, breadths, (_, top) = ((float(low), float(high)) for low, high in corners)
    word, (low, high) = ("breadths", breadths) if door.side == "rear" else ("stations", stations)
    off = shell.measured_to
    if door.span[0] < low - off or door.span[1] > high + off:
        return told(f"opens at {word} {{}}, and the body has {{}}; check the unit and digits", door.span, (low, high))
    if door.heights[1] > top + off:
        return told(
            "opens up to {} above the finished floor, and the roof is at {}; check the unit and digits",
            door.heights[1],
            top,
        )
    return None


def _is_apart(shell: Shell, part: Part) -> bool:
    """Whether a part that gives room does not open into the interior."""
    return part.gives and (shell.cutter_of(part) & shell.lined.solid).is_empty


def _stray(fault: InputError, file: TomlFile, where: tuple[str, int], name: str) -> InputError:
    """Return the fault with the part that it belongs to."""
    key = f"{where[0]}.{where[1] + 1} '{name}'"
    return fault.at(file=file.path, line=file.line_of(where), key=key, unit=file.unit)
