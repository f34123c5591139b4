"""Reading layouts: a TOML file that names its shell and places modules as a builder would say it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal

import numpy as np
import shapely
from pydantic import Field, field_validator, model_validator

from tumblehome.body.shellfile import bundled_shells, load_shell
from tumblehome.cuts.reach import DIRECTIONS, Room, room_of
from tumblehome.errors import InputError, KernelError, LayoutError, nearest
from tumblehome.files import TomlFile, inside, is_there, read_toml
from tumblehome.fitout.layout import Layout
from tumblehome.fitout.module import FINISHES, Frame, Module, Zone, convex_pieces, sector, solid_of
from tumblehome.schema import Degrees, Fields, Length, Mass, Size, Thickness, Volume, read_fields
from tumblehome.sweep import Prism
from tumblehome.tolerances import SMALLEST

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from numpy.typing import NDArray

    from tumblehome.body.shell import Shell
    from tumblehome.cuts.reach import Journey
    from tumblehome.solids import Solid

    Floats = NDArray[np.float64]

__all__ = ["load_layout"]

_PANEL = 18.0
"""Thickness of a cabinet's panels where the file states none, mm; common practice, no published source."""
_ANGLE = {"rear": 0.0, "right": 90.0, "front": 180.0, "left": 270.0}
_OPPOSITE = {"left": "right", "right": "left", "front": "rear", "rear": "front"}
Unit = Literal["mm", "cm", "m", "in", "ft"]
Side = Literal["left", "right", "front", "rear"]


class _LayoutHead(Fields):
    """Everything of a layout file but its modules."""

    name: Annotated[str, Field(min_length=1)]
    shell: Annotated[str, Field(min_length=1)]
    unit: Unit | None = None
    note: str = ""
    panel: Size = _PANEL
    modules: list[dict[str, Any]] = []


class _BoxFields(Fields):
    """One box of a stack."""

    wide: Size
    deep: Size
    high: Size
    left: Length = 0.0
    fore: Length = 0.0
    up: Thickness = 0.0


def _stretch(zone: str, key: str, start: float, size: float | None, whole: float) -> tuple[float, float]:
    """Return where a zone begins and ends along one side of its module: by default it runs to the side's end."""
    if size is None and whole - start < SMALLEST:
        raise LayoutError(f"zone '{zone}' begins at {start:g} mm of {whole:g} mm; say how {key} it is")
    return start, whole if size is None else start + size


class _SwingFields(Fields):
    name: Annotated[str, Field(min_length=1)]
    kind: Literal["swing"]
    hinge: Literal["left", "right"]
    radius: Size | None = None
    angle: Degrees = 90.0
    up: Thickness = 0.0
    high: Size | None = None

    @field_validator("angle")
    @classmethod
    def _turns(cls, angle: float) -> float:
        if not 0 < angle <= 180:
            raise ValueError(f"found {angle:g}; a door swings by more than 0 and at most 180 degrees")
        return angle

    def zone(self, frame: Frame, wide: float, deep: float, high: float) -> Zone:
        del deep
        left = self.hinge == "left"
        swept = sector((0.0 if left else wide, 0.0), self.radius or wide, self.angle, from_left=left)
        prism = frame.prism(swept, *_stretch(self.name, "high", self.up, self.high, high))
        return Zone(self.name, (prism,), np.append(-frame.away, 0.0))


class _BoxZoneFields(Fields):
    name: Annotated[str, Field(min_length=1)]
    kind: Literal["box"] = "box"
    at: Literal["face", "back", "left", "right", "top"] = "face"
    room: Size
    wide: Size | None = None
    deep: Size | None = None
    high: Size | None = None
    left: Length = 0.0
    fore: Length = 0.0
    up: Thickness = 0.0

    def zone(self, frame: Frame, wide: float, deep: float, high: float) -> Zone:
        u = _stretch(self.name, "wide", self.left, self.wide, wide)
        v = _stretch(self.name, "deep", self.fore, self.deep, deep)
        w = _stretch(self.name, "high", self.up, self.high, high)
        spans = {
            "face": (u, (-self.room, 0.0), w),
            "back": (u, (deep, deep + self.room), w),
            "left": ((-self.room, 0.0), v, w),
            "right": ((wide, wide + self.room), v, w),
            "top": (u, v, (high, high + self.room)),
        }
        away, right = np.append(frame.away, 0.0), np.append(frame.right, 0.0)
        outward = {"face": -away, "back": away, "left": -right, "right": right, "top": np.array([0.0, 0.0, 1.0])}
        return Zone(self.name, (frame.box(*spans[self.at]),), outward[self.at], self.room)


class _ModuleFields(Fields):
    """A module as the file states it."""

    name: Annotated[str, Field(min_length=1)]
    kind: Literal["rigid", "scribed"] = "rigid"
    wide: Size | None = None
    deep: Size | None = None
    high: Size | None = None
    boxes: Annotated[list[_BoxFields], Field(min_length=1)] | None = None
    outline: Annotated[list[Annotated[list[Length], Field(min_length=2, max_length=2)]], Field(min_length=3)] | None = (
        None
    )
    face: Thickness | None = None
    against: Side | None = None
    gap: Thickness = 0.0
    station: Length | None = None
    breadth: Length | None = None
    faces: Side | None = None
    yaw: Degrees = 0.0
    on: str | None = None
    hung: Length | None = None
    in_: Annotated[str | None, Field(alias="in")] = None
    panel: Size | None = None
    mass: Mass = 0.0
    contents: str = ""
    holds: Volume = 0.0
    finish: str = "birch"
    zones: list[dict[str, Any]] = []

    @field_validator("finish")
    @classmethod
    def _known_finish(cls, finish: str) -> str:
        if finish not in FINISHES:
            raise ValueError(f"found '{finish}'; allowed: {', '.join(FINISHES)}{nearest(finish, FINISHES)}")
        return finish

    @field_validator("outline")
    @classmethod
    def _simple(cls, outline: list[list[float]] | None) -> list[list[float]] | None:
        if outline is not None:
            convex_pieces(outline)
        return outline

    @model_validator(mode="after")
    def _one_shape(self) -> _ModuleFields:
        if self.kind == "scribed":
            self._check_scribed()
        elif self.face is not None:
            raise ValueError(
                "'face' is for scribed modules; a rigid one is pushed against a wall or placed by its breadth"
            )
        elif self.boxes is not None:
            self._check_only("boxes", ("wide", "deep", "high", "outline"))
        elif self.outline is not None:
            self._check_only("outline", ("wide", "deep"))
            self._check_has(("high",), "an upright prism")
        else:
            self._check_has(("wide", "deep", "high"), "a rigid module without boxes or outline")
        self._check_place()
        return self

    def _check_scribed(self) -> None:
        self._check_has(("wide", "high"), "a scribed module")
        if (self.deep is None) == (self.face is None):
            raise ValueError("a scribed module states how deep it is, or the half-breadth of its face, one of the two")
        if self.against not in ("left", "right"):
            raise ValueError(
                'a scribed module stands against the left or the right wall; write against = "left" or "right"'
            )
        self._check_only('kind = "scribed"', ("boxes", "outline", "in_", "faces"))
        if self.yaw:
            raise ValueError("a scribed module follows the wall; it takes no yaw")

    def _check_only(self, what: str, others: tuple[str, ...]) -> None:
        wrong = [name.rstrip("_") for name in others if getattr(self, name) is not None]
        if wrong:
            raise ValueError(f"{what} does not go with {', '.join(wrong)}; remove one")

    def _check_has(self, names: tuple[str, ...], what: str) -> None:
        absent = [name for name in names if getattr(self, name) is None]
        if absent:
            raise ValueError(f"{what} needs {', '.join(absent)}")

    def _check_place(self) -> None:
        pushed = {"left": "breadth", "right": "breadth", "front": "station", "rear": "station"}.get(self.against or "")
        for name in ("station", "breadth"):
            given = getattr(self, name) is not None
            if name == pushed and given:
                raise ValueError(f"'{name}' is found by pushing it against the {self.against}; remove one of the two")
            if name != pushed and not given:
                raise ValueError(f"needs '{name}' to say where it stands")
        if sum(value is not None for value in (self.on, self.hung, self.in_)) > (
            1 + (self.in_ is not None and self.hung is not None)
        ):
            raise ValueError("stands on something, hangs at a height, or is in another module: state one")

    @property
    def leans_on(self) -> tuple[str, ...]:
        """The names that its place depends on."""
        return tuple(name for name in (self.on, self.in_) if name is not None and name != "floor")


@dataclass(frozen=True, eq=False)
class _Shape:
    """Convex outlines (k, 2) of (u, v), each with its least and greatest height above the foot."""

    pieces: tuple[tuple[Floats, float, float], ...]

    @classmethod
    def of(cls, fields: _ModuleFields) -> _Shape:
        if fields.boxes is not None:
            return cls(tuple((_rectangle(b.left, b.fore, b.wide, b.deep), b.up, b.up + b.high) for b in fields.boxes))
        high = fields.high or 0.0
        if fields.outline is not None:
            return cls(tuple((piece, 0.0, high) for piece in convex_pieces(fields.outline)))
        return cls(((_rectangle(0.0, 0.0, fields.wide or 0.0, fields.deep or 0.0), 0.0, high),))

    @property
    def size(self) -> tuple[float, float, float]:
        plan = np.concatenate([outline for outline, _, _ in self.pieces])
        wide, deep = plan.max(axis=0)
        return float(wide), float(deep), max(high for _, _, high in self.pieces)

    def prisms(self, frame: Frame) -> tuple[Prism, ...]:
        return tuple(frame.prism(outline, low, high) for outline, low, high in self.pieces)


def _rectangle(left: float, fore: float, wide: float, deep: float) -> Floats:
    right, back = left + wide, fore + deep
    return np.array([(left, fore), (right, fore), (right, back), (left, back)])


def load_layout(source: Path | str) -> Layout:
    """Read a layout and its shell, and put every module in its place.

    Parameters
    ----------
    source : path of a layout file, of a folder that holds ``layout.toml``, or the name of a bundled shell for its demo

    Raises
    ------
    InputError
        For anything at fault in the files: where, what was found, what is allowed.
    LayoutError
        For modules that contradict each other.
    """
    file = read_toml(_layout_path(source), "layout file")
    unit = file.data.get("unit")
    head = read_fields(_LayoutHead, file.data, file, unit=unit if isinstance(unit, str) else None)
    shell = _shell_of(head, file)
    read = [_read_module(data, i, file, head) for i, data in enumerate(head.modules)]
    order = _in_order(read, shell, file)
    placed: dict[str, Module] = {}
    builder = _Builder(shell, head.panel, room_of(shell), placed)
    for i in order:
        try:
            placed[read[i].name] = builder.place(read[i], _zones(read[i], i, file, head))
        except InputError as fault:
            raise fault.at(
                file=file.path, line=file.line_of(("modules", i)), key=f"modules.{i + 1} '{read[i].name}'"
            ) from fault
        except KernelError as fault:
            raise LayoutError(
                f"has no volume, or is too thin for one ({fault})",
                file=file.path, line=file.line_of(("modules", i)), key=f"modules.{i + 1} '{read[i].name}'",
            ) from fault  # fmt: skip
    return Layout(head.name, shell, tuple(placed[m.name] for m in read), head.note, file.path)


def _layout_path(source: Path | str) -> Path:
    path = Path(source)
    if is_there(path) and path.is_dir():
        return path / "layout.toml"
    bundled = bundled_shells()
    if not is_there(path) and str(source) in bundled:
        return bundled[str(source)].parent / "layout.toml"
    return path


def _shell_of(head: _LayoutHead, file: TomlFile) -> Shell:
    line = file.line_of(("shell",))
    try:
        bundled = bundled_shells()
        beside = inside(file.path.parent, head.shell)
        if head.shell in bundled and not is_there(beside):
            return load_shell(bundled[head.shell])
        if not is_there(beside) and not head.shell.endswith(".toml"):
            known = ", ".join(bundled)
            words = f"there is no file and no bundled shell '{head.shell[:40]}'{nearest(head.shell, bundled)}; bundled: {known}"
            raise InputError(words)
        return load_shell(beside)
    except InputError as fault:
        raise fault.at(file=file.path, line=line, key="shell") from fault


def _read_module(data: Mapping[str, Any], i: int, file: TomlFile, head: _LayoutHead) -> _ModuleFields:
    return read_fields(_ModuleFields, data, file, ("modules", i), head.unit)


def _zones(fields: _ModuleFields, i: int, file: TomlFile, head: _LayoutHead) -> list[_SwingFields | _BoxZoneFields]:
    kinds: dict[str, type[_SwingFields | _BoxZoneFields]] = {"swing": _SwingFields, "box": _BoxZoneFields}
    read: list[_SwingFields | _BoxZoneFields] = []
    for j, data in enumerate(fields.zones):
        where = ("modules", i, "zones", j)
        kind = data.get("kind", "box")
        if not isinstance(kind, str) or kind not in kinds:
            line = file.line_of((*where, "kind")) or file.line_of(where)
            key = f"modules.{i + 1}.zones.{j + 1}.kind"
            raise InputError(
                f"found {kind!r}; allowed: swing, box{nearest(str(kind), kinds)}", file=file.path, line=line, key=key
            )
        read.append(read_fields(kinds[kind], data, file, where, head.unit))
    return read


def _in_order(read: list[_ModuleFields], shell: Shell, file: TomlFile) -> Iterator[int]:
    """Yield the numbers of the modules so that each follows what it stands on or in."""
    index = _names(read, shell, file)
    members = [part.name for part in shell.parts if not part.gives]
    done: set[int] = set()

    def visit(i: int, chain: tuple[int, ...]) -> Iterator[int]:
        if i in done:
            return
        if i in chain:
            ring = " -> ".join(f"'{read[k].name}'" for k in (*chain[chain.index(i) :], i))
            raise LayoutError(
                f"stands on or in itself: {ring}",
                file=file.path,
                line=file.line_of(("modules", i)),
                key=f"modules.{i + 1}",
            )
        for key, name in (("on", read[i].on), ("in", read[i].in_)):
            if name is None or (key == "on" and name in {"floor", *members}):
                continue
            if name not in index:
                known = [*index, "floor", *members] if key == "on" else list(index)
                line = file.line_of(("modules", i, key))
                raise LayoutError(
                    f"there is no '{name}'{nearest(name, known)}",
                    file=file.path,
                    line=line,
                    key=f"modules.{i + 1}.{key}",
                )
            yield from visit(index[name], (*chain, i))
        done.add(i)
        yield i

    for i in range(len(read)):
        yield from visit(i, ())


def _names(read: list[_ModuleFields], shell: Shell, file: TomlFile) -> dict[str, int]:
    index: dict[str, int] = {}
    taken = dict.fromkeys((*shell.void.surface.names, *(d.name for d in shell.doorways)), "a part of the shell")
    for i, fields in enumerate(read):
        if fields.name in index or fields.name in taken:
            owner = taken.get(fields.name, f"module {index.get(fields.name, 0) + 1}")
            line = file.line_of(("modules", i, "name"))
            raise LayoutError(
                f"the name '{fields.name}' is taken by {owner}", file=file.path, line=line, key=f"modules.{i + 1}.name"
            )
        index[fields.name] = i
    return index


@dataclass(frozen=True, eq=False)
class _Builder:
    """Puts modules in their places, one after another."""

    shell: Shell
    panel: float
    room: Room
    placed: Mapping[str, Module]

    def place(self, fields: _ModuleFields, zones: list[_SwingFields | _BoxZoneFields]) -> Module:
        module = self._scribed(fields) if fields.kind == "scribed" else self._rigid(fields)
        size = (module.wide, module.deep, module.high)
        return replace(module, zones=tuple(zone.zone(module.frame, *size) for zone in zones))

    def _rigid(self, fields: _ModuleFields) -> Module:
        shape = _Shape.of(fields)
        parent = self._parent(fields)
        facing = fields.faces or _OPPOSITE.get(fields.against or "", "rear")
        frame = self._located(Frame.facing(_ANGLE[facing] + fields.yaw), shape, fields, parent)
        body = shape.prisms(frame)
        self._refuse_larger_than_van(shape)
        wide, deep, high = shape.size
        inner = self._inside(body, fields.panel or self.panel, fields.name)
        return self._module(fields, (body, body), (solid_of(body, fields.name), inner), frame, (wide, deep, high))

    def _module(
        self,
        fields: _ModuleFields,
        shapes: tuple[tuple[Prism, ...], tuple[Prism, ...]],
        solids: tuple[Solid, Solid | None],
        frame: Frame,
        size: tuple[float, float, float],
    ) -> Module:
        """Return the module with its body and hull, and its solid and inner solid."""
        support = None if fields.hung is not None or fields.in_ else (fields.on or "floor")
        return Module(
            fields.name, fields.kind, *shapes, *solids, (), frame, size[0], size[1], size[2],
            panel=fields.panel or self.panel, against=fields.against, gap=fields.gap,
            support=support, parent=fields.in_, mass=fields.mass,
            contents=fields.contents, holds=fields.holds, finish=fields.finish,
        )  # fmt: skip

    def _refuse_larger_than_van(self, shape: _Shape) -> None:
        low, high = self.shell.bounds
        room = high - low
        wide, deep, tall = shape.size
        if tall > room[2] or min(wide, deep) > max(room[:2]) or max(wide, deep) > float(np.hypot(*room[:2])):
            across = " x ".join(f"{side:.0f}" for side in room)
            raise LayoutError(f"measures {wide:.0f} x {deep:.0f} x {tall:.0f} mm, larger than the van's {across} mm")

    def _parent(self, fields: _ModuleFields) -> Module | None:
        if fields.in_ is None:
            return None
        parent = self.placed[fields.in_]
        if parent.inner is None:
            raise LayoutError(f"'{parent.name}' has no inside: it is thinner than its panels")
        return parent

    def _foot(self, fields: _ModuleFields, parent: Module | None) -> float:
        if fields.hung is not None:
            return fields.hung
        if parent is not None and parent.inner is not None:
            return float(parent.inner.bounds[0][2])
        if fields.on is None or fields.on == "floor":
            return 0.0
        if fields.on in self.placed:
            return float(self.placed[fields.on].bounds[1][2])
        return float(self.shell.solid_of(fields.on).bounds[1][2])

    def _located(self, frame: Frame, shape: _Shape, fields: _ModuleFields, parent: Module | None) -> Frame:
        """Return the frame moved to where the file wants the module."""
        corners = np.concatenate([prism.outline for prism in shape.prisms(frame)])
        low, high = corners.min(axis=0), corners.max(axis=0)
        room = self.room if parent is None or parent.inner is None else Room(parent.inner.surface)
        ends = self.shell.bounds if parent is None or parent.inner is None else parent.inner.bounds
        middle = (ends[0] + ends[1])[:2] / 2 - (low + high) / 2
        if parent is None:
            middle[1] = -(low[1] + high[1]) / 2
        x = middle[0] if fields.station is None else fields.station - low[0]
        y = middle[1] if fields.breadth is None else fields.breadth - low[1]
        frame = frame.moved((x, y, self._foot(fields, parent)))
        if fields.against is None:
            self._refuse_outside(shape.prisms(frame))
            return frame
        axis, sense = DIRECTIONS[fields.against]
        travel = np.zeros(3)
        travel[axis] = sense * (_pushed_out(room, shape.prisms(frame), axis, sense) - fields.gap)
        frame = frame.moved(travel)
        self._refuse_outside(shape.prisms(frame))
        return frame

    def _refuse_outside(self, prisms: tuple[Prism, ...]) -> None:
        low, high = self.shell.bounds
        for prism in prisms:
            least, greatest = prism.bounds
            if (greatest <= low).any() or (least >= high).any():
                axis = int(np.flatnonzero((greatest <= low) | (least >= high))[0])
                word = ("stations", "breadths", "heights")[axis]
                at = f"{least[axis]:.0f} to {greatest[axis]:.0f}"
                raise LayoutError(
                    f"stands outside the van at {word} {at} mm; the interior has {word} {low[axis]:.0f} to {high[axis]:.0f} mm"
                )

    def _inside(self, body: tuple[Prism, ...], panel: float, name: str) -> Solid | None:
        inner = []
        for prism in body:
            plan = shapely.Polygon(prism.outline).buffer(-panel, join_style="mitre")
            if not plan.is_empty and prism.top - prism.bottom > 2 * panel:
                ring = np.array(shapely.geometry.polygon.orient(plan).exterior.coords)[:-1]
                inner.append(Prism(ring, prism.bottom + panel, prism.top - panel))
        return solid_of(inner, name) if inner else None

    def _scribed(self, fields: _ModuleFields) -> Module:
        side = "left" if fields.against == "left" else "right"
        sign = -1.0 if side == "left" else 1.0
        wide, high, panel = fields.wide or 0.0, fields.high or 0.0, fields.panel or self.panel
        start, foot = fields.station or 0.0, self._foot(fields, None)
        stations, heights = (start, start + wide), (foot, foot + high)
        wall = self.shell.lined.half_breadth("left" if side == "left" else "right", stations, heights)
        face = fields.face if fields.face is not None else wall - fields.gap - (fields.deep or 0.0)
        outer = float(max(abs(self.shell.bounds[0][1]), abs(self.shell.bounds[1][1])))
        if not 0 <= face < outer - panel:
            raise LayoutError(
                f"its face would stand at half-breadth {face:.0f} mm; it must lie between the centerline and {outer:.0f} mm"
            )
        frame = Frame.facing(_ANGLE[_OPPOSITE[side]])
        corner = stations[1] if side == "left" else stations[0]
        frame = frame.moved((corner, sign * face, foot))
        envelope = frame.box((0.0, wide), (0.0, outer - face), (0.0, high))
        solid = self._behind_the_gap(envelope, sign * fields.gap, fields.name)
        if solid.is_empty:
            raise LayoutError("lies wholly outside the interior")
        within = (
            frame.box((panel, wide - panel), (panel, outer - face), (panel, high - panel))
            if wide > 2 * panel and high > 2 * panel
            else None
        )
        inner = solid & solid_of([within], fields.name) if within else None
        least, most = solid.bounds
        deep = float(most[1] if sign > 0 else -least[1]) - face
        hull = frame.box((0.0, wide), (0.0, deep), (0.0, high))
        plate = frame.box((0.0, wide), (0.0, panel), (0.0, high))
        return self._module(fields, ((plate,), (hull,)), (solid, inner), frame, (wide, deep, high))

    def _behind_the_gap(self, envelope: Prism, gap: float, name: str) -> Solid:
        """Return what of an envelope is free and stays so when it moves outboard by the gap."""
        void = self.shell.void
        free = solid_of([envelope], name) & void
        return (free & void.moved((0.0, -gap, 0.0)) if gap else free).named(name)


def _pushed_out(room: Room, body: tuple[Prism, ...], axis: int, sense: float) -> float:
    """Return how far a body goes in one direction until it touches, leaving out of account what it fouls from the start."""
    ignoring: tuple[str, ...] = ()
    while True:
        journey = room.journey(body, axis, ignoring=ignoring)
        fouled = tuple(name for name in _true_names(journey) if name not in ignoring)
        if not fouled:
            break
        ignoring += fouled
    found = journey.reach(sense)
    return found.distance if found else 0.0


def _true_names(journey: Journey) -> set[str]:
    surface = journey.room.surface
    return {surface.names[surface.part[t]] for t in journey.met.triangle[journey.met.blocking_now]}
