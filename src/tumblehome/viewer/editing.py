"""What does an edit change in the text of a layout file?

Each edit is told as a builder means it, and becomes the smallest change of text that does it, in the file's own unit and way
of writing. Where a mode changes a module and its change says the key, the key is written there; else where the listing says it.

What stands on a module or in it goes along: by the same way where the file tells its place, and of itself where it is pushed
against the same wall. What is pushed against a wall stays so while it moves along it. Moved off it, it is told by its exact
place, and keeps facing as it did; so does what stands on it. Nothing turns by being pushed.
"""

from __future__ import annotations

import re
import tomllib
from copy import copy
from dataclasses import dataclass, field
from itertools import count
from typing import TYPE_CHECKING, Any, Final, Literal, TypeAlias

import numpy as np

from tumblehome.errors import InputError, LayoutError, nearest
from tumblehome.files import parse_toml
from tumblehome.fitout.modes import read_modes
from tumblehome.fitout.modulefields import ModuleFields
from tumblehome.lengths import parse_length
from tumblehome.schema import read_fields
from tumblehome.tolerances import CONTACT
from tumblehome.viewer.literals import angle_literal, length_literal
from tumblehome.viewer.spans import Draft, quoted

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterator, Mapping

    from numpy.typing import NDArray

    from tumblehome.files import KeyPath, TomlFile
    from tumblehome.fitout import Layout, Module

    Floats = NDArray[np.float64]

__all__ = [
    "Duplicate", "Edit", "Move", "Nudge", "Plan", "Push", "Remove", "Resize", "Retype", "SetText", "Turn", "edited", "words_of",
]  # fmt: skip

Axis: TypeAlias = Literal["x", "y", "z"]
Side: TypeAlias = Literal["left", "right", "front", "rear"]


@dataclass(frozen=True)
class Edit:
    """A change of a plan; ``mode`` is the state of the van in which the builder looks at it, None for the listing."""

    mode: str | None = field(default=None, kw_only=True)


@dataclass(frozen=True)
class Move(Edit):
    """Put the least corner of a module's bounds at a place, mm; None leaves that axis as it is."""

    module: str
    x: float | None = None
    y: float | None = None
    z: float | None = None


@dataclass(frozen=True)
class Nudge(Edit):
    """Move a module along an axis by so many mm."""

    module: str
    axis: Axis
    mm: float


@dataclass(frozen=True)
class Push(Edit):
    """Push a module out against a side of the van; it keeps facing as it does."""

    module: str
    side: Side


@dataclass(frozen=True)
class Turn(Edit):
    """Turn a module about its middle, counterclockwise seen from above, with what stands on it."""

    module: str
    degrees: float


@dataclass(frozen=True)
class Resize(Edit):
    """Give a module other measures, mm; None leaves one as it is."""

    module: str
    wide: float | None = None
    deep: float | None = None
    high: float | None = None


@dataclass(frozen=True)
class Duplicate(Edit):
    """Put a copy of a module beside it."""

    module: str


@dataclass(frozen=True)
class Remove(Edit):
    """Take a module out of the plan, in all modes."""

    module: str


@dataclass(frozen=True)
class Retype(Edit):
    """Write a key of a module as somebody types it; nothing removes the key. ``boxes.2.wide`` means that of its second box."""

    module: str
    key: str
    text: str


@dataclass(frozen=True)
class SetText(Edit):
    """Give the file another text."""

    text: str


def words_of(edit: Edit) -> str:
    """Return what an edit does, as one says it: "move refrigerator"."""
    match edit:
        case Push():
            return f"push {edit.module} to the {edit.side}"
        case Retype():
            return f"change '{edit.key}' of {edit.module}"
        case Nudge():
            return f"move {edit.module}"
        case Move() | Turn() | Resize() | Duplicate() | Remove():
            return f"{type(edit).__name__.lower()} {edit.module}"
        case _:
            return "edit the text"


@dataclass(frozen=True)
class Plan:
    """What is edited: a file and what it means; ``read`` makes the plan of another text of it (raises InputError)."""

    file: TomlFile
    layouts: tuple[Layout, ...]
    read: Callable[[str], Plan]


def edited(plan: Plan, edit: Edit) -> str:
    """Return the text of a plan after an edit.

    Raises
    ------
    InputError
        With the mend, for a module that is not there, and for what cannot be done to it.
    """
    return _EDITORS[type(edit)](plan, edit)


# ---- what the file says of a module ----

_AXES: Final = ("x", "y", "z")

_SAME_PLACE: Final = 1e-6
"""What is put within this of where its wall holds it stays pushed, mm: the exactness that is promised of places."""

_KEYS: Final = ("station", "breadth", "hung")
"""By which key the place along each axis is told."""

_WALLS: Final[tuple[tuple[str, ...], ...]] = (("front", "rear"), ("left", "right"), ())
"""Against which sides a module is pushed along each axis."""

_OPPOSITE: Final = {"left": "right", "right": "left", "front": "rear", "rear": "front"}
_COUNTERCLOCKWISE: Final = ("rear", "right", "front", "left")
_FOOTING: Final = ("hung", "on", "in")
_SIZES: Final = {"wide": "left", "deep": "fore", "high": "up"}


class _Said:
    """What a plan's file says of its modules in one mode, or in the listing."""

    def __init__(self, plan: Plan, mode: str | None) -> None:
        data = plan.file.data
        self.unit: str | None = data.get("unit")
        self._file = plan.file
        self._listed: list[Any] = data.get("modules", [])
        modes = read_modes(self._listed, data.get("modes", []), plan.file, self.unit)
        here = next((each.modules for each in modes if mode and each.name == mode), None)
        entries = here or read_modes(self._listed, [], plan.file, self.unit)[0].modules
        self.modules: dict[str, Mapping[str, Any]] = {str(entry.data["name"]): entry.data for entry in entries}
        self._where: dict[str, KeyPath] = {str(entry.data["name"]): entry.where for entry in entries}
        self._index = {str(each["name"]): i for i, each in enumerate(self._listed)}

    def of(self, name: str) -> Mapping[str, Any]:
        """Return the table of a module as it holds in the mode; raises LayoutError when there is none."""
        if name not in self.modules:
            raise LayoutError(f"there is no module '{name}'{nearest(name, self.modules)}", file=self._file.path)
        return self.modules[name]

    def listing(self, name: str) -> KeyPath:
        """Return where a module is listed."""
        return ("modules", self._index[name])

    def table(self, name: str, *keys: str) -> KeyPath:
        """Return the table in which some keys of a module are written: its change's where that says one of them."""
        where = self._where[name]
        if where[0] == "modes":
            change = self._file.data["modes"][where[1]]["changes"][where[3]]
            if any(key in change for key in keys):
                return where
        return self.listing(name)

    def axis_table(self, name: str, axis: int) -> KeyPath:
        """Return the table in which a module's place along an axis is told."""
        said = self.of(name)
        if axis == 2:
            return self.table(name, *_FOOTING)
        if axis == 1 and said.get("kind") == "scribed":
            return self.table(name, "face", "deep")
        return self.table(name, *(("against",) if self.is_pushed(name, axis) else (_KEYS[axis],)))

    def is_pushed(self, name: str, axis: int) -> bool:
        """Return whether a module's place along an axis is found by pushing it."""
        return self.of(name).get("against") in _WALLS[axis]

    def length(self, value: object) -> float:
        """Return a length that the file says, mm."""
        assert isinstance(value, str | int | float)
        return parse_length(value, unit=self.unit)

    def upon(self, name: str) -> list[str]:
        """Return what stands on a module or in it, and on or in that, and so on."""
        found = [name]
        for host in found:
            found += [
                each
                for each, said in self.modules.items()
                if host in (said.get("on"), said.get("in")) and each not in found
            ]
        return found[1:]

    def facing(self, name: str) -> str:
        """Return the side to which a rigid module's face looks before its yaw."""
        said = self.of(name)
        return str(said.get("faces") or _OPPOSITE.get(str(said.get("against")), "rear"))


def _layout(plan: Plan, name: str, mode: str | None) -> Layout:
    """Return the layout in a mode, or for the listing the first in which a module stands; raises LayoutError."""
    layouts = [each for each in plan.layouts if each.mode == (mode or each.mode)]
    if not layouts:
        raise InputError(f"the file has no mode '{mode}'", file=plan.file.path)
    standing = [each for each in layouts if any(module.name == name for module in each.modules)]
    if standing:
        return standing[0]
    _Said(plan, mode).of(name)
    raise LayoutError(f"'{name}' is stowed here; choose a mode in which it stands", file=plan.file.path)


def _module(plan: Plan, name: str, mode: str | None) -> Module:
    return _layout(plan, name, mode).module(name)


# ---- writing ----


class _Pen:
    """Writes in a plan's text what changes of its modules in one mode; pens of other modes may share the draft."""

    def __init__(self, plan: Plan, mode: str | None) -> None:
        self.plan, self.mode = plan, mode
        self.said = _Said(plan, mode)
        self.draft = Draft(plan.file.text)
        self._done: set[tuple[KeyPath, object]] = set()

    def in_mode(self, mode: str | None) -> _Pen:
        """Return a pen for another mode that writes in the same draft."""
        pen = copy(self)
        pen.mode, pen.said = mode, _Said(self.plan, mode)
        return pen

    def module(self, name: str) -> Module | None:
        """Return a module as it stands in the mode, or None when it is stowed."""
        try:
            return _module(self.plan, name, self.mode)
        except LayoutError:
            return None

    def is_new(self, table: KeyPath, what: object) -> bool:
        """Return whether something of a table is written for the first time: modes may share a table."""
        fresh = (table, what) not in self._done
        self._done.add((table, what))
        return fresh

    def length(self, path: KeyPath, mm: float) -> None:
        """Write a length in the place of one."""
        self.draft.write(path, length_literal(mm, self.draft.literal(path), self.said.unit))

    def fresh(self, table: KeyPath, mm: float) -> str:
        """Return a length for a new key of a table, written like another one of it."""
        kin = (self.draft.literal((*where, key)) for where in (table, ("modules", 0)) for key in (*_KEYS[:2], *_SIZES))
        return length_literal(mm, next((each for each in kin if each), None), self.said.unit)

    def word(self, table: KeyPath, key: str, literal: str) -> None:
        """Write a key of a table that may say it already."""
        if self.draft.literal((*table, key)) is not None:
            self.draft.write((*table, key), literal)
            return
        near = next((each for each in ("against", "breadth", "station") if self.draft.literal((*table, each))), "")
        self.draft.add(table, key, literal, near)

    def faces(self, name: str, side: str) -> None:
        """Write to which side a module's face looks."""
        table = self.said.table(name, "faces")
        if self.is_new(table, "faces"):
            self.word(table, "faces", quoted(side, self.draft.literal((*table, "faces")) or '"'))

    def shift(self, name: str, axis: int, by: float) -> None:
        """Move the place that the file tells of a module along an axis by so many mm."""
        said, table = self.said.of(name), self.said.axis_table(name, axis)
        key, more = _KEYS[axis], by
        if axis == 1 and said.get("kind") == "scribed":
            sign = -1.0 if said["against"] == "left" else 1.0
            key, more = ("face", sign * by) if "face" in said else ("deep", -sign * by)
        if key in said and self.is_new(table, axis):
            self.length((*table, key), self.said.length(said[key]) + more)

    def off_the_wall(self, name: str, axis: int, place: float) -> None:
        """Tell a module that is pushed along an axis by its exact place, and how it faces, which the wall said so far."""
        table, facing = self.said.table(name, "against"), self.said.facing(name)
        if self.is_new(table, axis):
            self.draft.rename((*table, "against"), _KEYS[axis], self.fresh(table, place))
            if "faces" not in self.said.of(name):
                self.faces(name, facing)

    def turn(self, name: str, degrees: float) -> None:
        """Write that a module looks another way, so many degrees counterclockwise."""
        said = self.said.of(name)
        quarters = degrees / 90
        if not quarters.is_integer():
            yaw = (float(said.get("yaw", 0.0)) + degrees + 180) % 360 - 180
            self.word(self.said.table(name, "yaw"), "yaw", angle_literal(yaw))
            return
        self.faces(name, _quarter_turned(self.said.facing(name), int(quarters)))
        if "head" in said:
            table = self.said.table(name, "head")
            self.word(table, "head", quoted(_quarter_turned(str(said["head"]), int(quarters))))


def _quarter_turned(side: str, quarters: int) -> str:
    return _COUNTERCLOCKWISE[(_COUNTERCLOCKWISE.index(side) + quarters) % 4]


def _going(pen: _Pen, name: str, axis: int) -> Iterator[tuple[_Pen, str]]:
    """Yield what goes along with a module whose place is written anew, with a pen of each mode that reads it in that table."""
    table = pen.said.axis_table(name, axis)
    for mode in dict.fromkeys([pen.mode, *(layout.mode or None for layout in pen.plan.layouts)]):
        own = pen if mode == pen.mode else pen.in_mode(mode)
        if own.said.axis_table(name, axis) == table:
            yield from ((own, other) for other in own.said.upon(name))


# ---- moving ----


def _moved(plan: Plan, edit: Move) -> str:
    low = _module(plan, edit.module, edit.mode).bounds[0]
    given = [place if at is None else at for at, place in zip((edit.x, edit.y, edit.z), low, strict=True)]
    return _shifted(plan, edit.module, edit.mode, np.array(given) - low)


def _nudged(plan: Plan, edit: Nudge) -> str:
    if edit.axis not in _AXES:
        raise InputError(f"there is no axis '{edit.axis}'; allowed: {', '.join(_AXES)}")
    by = np.zeros(3)
    by[_AXES.index(edit.axis)] = edit.mm
    return _shifted(plan, edit.module, edit.mode, by)


def _shifted(plan: Plan, name: str, mode: str | None, by: Floats) -> str:
    """Return the text with a module moved by a (3,) vector in mm: along its wall where that leads there, else off it."""
    if not np.isfinite(by).all():
        raise InputError("a place is nowhere; give finite lengths")
    by = np.where(abs(by) > CONTACT, by, 0.0)
    module, said = _module(plan, name, mode), _Said(plan, mode)
    pushed = [axis for axis in range(2) if module.kind == "rigid" and said.is_pushed(name, axis)]
    free = by.copy()
    free[pushed] = 0.0
    if pushed and free.any():
        try:
            along = plan.read(_written(plan, name, mode, free))
            reached = _module(along, name, mode).bounds[0] - module.bounds[0]
            if not by[pushed].any() or (abs(reached - by)[pushed] <= _SAME_PLACE).all():
                return _with_drift(along, name, mode, {axis: float(reached[axis]) for axis in pushed})
        except InputError:
            if not by[pushed].any():
                raise
    return _written(plan, name, mode, by)


def _written(plan: Plan, name: str, mode: str | None, by: Floats) -> str:
    """Return the text with a module, and what goes along, told to stand so far from where it is."""
    pen = _Pen(plan, mode)
    module = _module(plan, name, mode)
    for axis in np.flatnonzero(by).tolist():
        place, far = float(module.bounds[0][axis] + by[axis]), float(by[axis])
        if axis == 2:
            _write_foot(pen, module, by)
        elif module.kind == "rigid" and pen.said.is_pushed(name, axis):
            pen.off_the_wall(name, axis, place)
        else:
            pen.shift(name, axis, far)
        for own, other in list(_going(pen, name, axis)):
            _carry(own, other, axis, far, host=module)
    return pen.draft.result


def _carry(pen: _Pen, name: str, axis: int, by: float, *, host: Module) -> None:
    """Move what stands on a module along with it; what a wall holds comes off it, unless the host only changes its depth."""
    said, module = pen.said.of(name), pen.module(name)
    if said.get("kind") == "scribed" or not pen.said.is_pushed(name, axis):
        pen.shift(name, axis, by)
    elif "in" not in said and module is not None and host.kind == "rigid":
        pen.off_the_wall(name, axis, float(module.bounds[0][axis]) + by)


def _with_drift(plan: Plan, name: str, mode: str | None, drift: Mapping[int, float]) -> str:
    """Return the text in which what stands on a module has followed it where a wall took it, axis by axis in mm."""
    going = _Said(plan, mode).upon(name) if any(abs(by) > CONTACT for by in drift.values()) else []
    if not going:
        return plan.file.text
    pen = _Pen(plan, mode)
    for axis, by in drift.items():
        for other in going:
            if pen.said.of(other).get("kind") != "scribed" and not pen.said.is_pushed(other, axis):
                pen.shift(other, axis, by)
    return pen.draft.result


def _write_foot(pen: _Pen, module: Module, by: Floats) -> None:
    """Write at what height a module stands now: on what it then stands on, or hung."""
    said, table = pen.said.of(module.name), pen.said.axis_table(module.name, 2)
    height = float(module.bounds[0][2] + by[2])
    if "in" in said:
        if "hung" in said:
            pen.length((*table, "hung"), height)
        else:
            pen.draft.add(table, "hung", pen.fresh(table, height), "in")
        return
    under = _standing_on(pen, module, by)
    key, literal = ("on", quoted(under)) if under else ("hung", pen.fresh(table, height))
    old = next((each for each in ("hung", "on") if each in said), None)
    if old is None:
        pen.word(table, key, literal)
    elif old == key == "hung":
        pen.length((*table, key), height)
    else:
        pen.draft.rename((*table, old), key, literal)


def _standing_on(pen: _Pen, module: Module, by: Floats) -> str | None:
    """Return on what a module would stand once moved: the floor, or the module whose top its foot touches."""
    low, high = (corner + by for corner in module.bounds)
    if abs(low[2]) <= CONTACT:
        return "floor"
    not_these = {module.name, *pen.said.upon(module.name)}
    for other in _layout(pen.plan, module.name, pen.mode).modules:
        least, most = other.bounds
        is_over = (low[:2] < most[:2] - CONTACT).all() and (high[:2] > least[:2] + CONTACT).all()
        if is_over and abs(most[2] - low[2]) <= CONTACT and other.parent is None and other.name not in not_these:
            return other.name
    return None


# ---- pushing and turning ----


def _pushed(plan: Plan, edit: Push) -> str:
    if edit.side not in _OPPOSITE:
        raise InputError(
            f"there is no side '{edit.side}'{nearest(edit.side, _OPPOSITE)}; allowed: {', '.join(_OPPOSITE)}"
        )
    axis = 0 if edit.side in _WALLS[0] else 1
    module, pen = _module(plan, edit.module, edit.mode), _Pen(plan, edit.mode)
    old = pen.said.of(edit.module).get("against")
    if old == edit.side:
        return plan.file.text
    for name in (edit.module, *pen.said.upon(edit.module)):
        said = pen.said.of(name)
        if name == edit.module or (old and said.get("against") == old and "in" not in said):
            _write_push(pen, name, edit.side, axis)
    after = plan.read(pen.draft.result)
    reached = _module(after, edit.module, edit.mode).bounds[0] - module.bounds[0]
    return _with_drift(after, edit.module, edit.mode, {axis: float(reached[axis])})


def _write_push(pen: _Pen, name: str, side: str, axis: int) -> None:
    said, module = pen.said.of(name), pen.module(name)
    if said.get("kind") == "scribed" and axis == 0:
        raise LayoutError(f"'{name}' follows the left or the right wall; push it to one of those")
    literal = quoted(side)
    facing = pen.said.facing(name)
    old = said.get("against")
    if old is None:
        pen.draft.rename((*pen.said.table(name, _KEYS[axis]), _KEYS[axis]), "against", literal)
    else:
        table = pen.said.table(name, "against")
        pen.draft.write((*table, "against"), quoted(side, pen.draft.literal((*table, "against")) or '"'))
        if old not in _WALLS[axis] and module is not None:
            told = pen.said.table(name, _KEYS[axis])
            place = pen.fresh(told, float(module.bounds[0][1 - axis]))
            pen.draft.rename((*told, _KEYS[axis]), _KEYS[1 - axis], place)
    if said.get("kind") != "scribed" and "faces" not in said and _OPPOSITE[side] != facing:
        pen.faces(name, facing)


def _turned(plan: Plan, edit: Turn) -> str:
    module, pen = _module(plan, edit.module, edit.mode), _Pen(plan, edit.mode)
    if module.kind == "scribed":
        raise LayoutError(f"'{module.name}' follows its wall and cannot be turned; push it to the other side")
    if not np.isfinite(edit.degrees) or edit.degrees % 360 == 0:
        return plan.file.text
    walls = {axis for axis in range(2) if pen.said.is_pushed(module.name, axis)}
    for name in (module.name, *pen.said.upon(module.name)):
        turned = pen.module(name)
        if turned is None or turned.kind == "scribed":
            continue
        pen.turn(name, edit.degrees)
        by = _low_turned(turned, module.center[:2], edit.degrees) - turned.bounds[0][:2]
        for axis in range(2):
            if not pen.said.is_pushed(name, axis):
                pen.shift(name, axis, float(by[axis]) if abs(by[axis]) > CONTACT else 0.0)
            elif axis not in walls and turned.parent is None:
                pen.off_the_wall(name, axis, float(turned.bounds[0][axis] + by[axis]))
    after = plan.read(pen.draft.result)
    reached = _module(after, module.name, edit.mode).bounds[0][:2] - _low_turned(
        module, module.center[:2], edit.degrees
    )
    return _with_drift(after, module.name, edit.mode, {axis: float(reached[axis]) for axis in walls})


def _low_turned(module: Module, about: Floats, degrees: float) -> Floats:
    """Return the least corner (2,) in plan of a module that was turned about a (2,) point."""
    angle = np.radians(degrees)
    turn = np.round([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]], 15)
    corners = np.concatenate([prism.outline for prism in module.hull])
    least: Floats = ((corners - about) @ turn + about).min(axis=0)
    return least


# ---- measures, copies, typed keys ----


def _resized(plan: Plan, edit: Resize) -> str:
    module, pen = _module(plan, edit.module, edit.mode), _Pen(plan, edit.mode)
    said = pen.said.of(module.name)
    for key, size in (("wide", edit.wide), ("deep", edit.deep), ("high", edit.high)):
        more = 0.0 if size is None else size - getattr(module, key)
        if not np.isfinite(more) or abs(more) <= CONTACT:
            continue
        if "boxes" in said:
            _stretch(pen, module.name, key, more)
        elif "outline" in said and key != "high":
            raise LayoutError(f"an outline says how {key} '{module.name}' is; change its corners in the text")
        elif key == "deep" and module.kind == "scribed":
            own, change = ("face", -more) if "face" in said else ("deep", more)
            pen.length((*pen.said.table(module.name, own), own), pen.said.length(said[own]) + change)
        else:
            pen.length((*pen.said.table(module.name, key), key), float(getattr(module, key) + more))
    return pen.draft.result


def _stretch(pen: _Pen, name: str, key: str, more: float) -> None:
    """Lengthen those boxes of a module that reach as far as it does."""
    said = pen.said.of(name)["boxes"]
    sizes = [pen.said.length(box[key]) for box in said]
    ends = [size + pen.said.length(box.get(_SIZES[key], "0 mm")) for size, box in zip(sizes, said, strict=True)]
    table = pen.said.table(name, "boxes")
    for i, (size, end) in enumerate(zip(sizes, ends, strict=True)):
        if end >= max(ends) - CONTACT:
            pen.length((*table, "boxes", i, key), size + more)


def _duplicated(plan: Plan, edit: Duplicate) -> str:
    module, said, draft = _module(plan, edit.module, edit.mode), _Said(plan, None), Draft(plan.file.text)
    name = _free_name(edit.module, {*said.modules, *module.solid.surface.names})
    draft.copy(said.listing(edit.module), "name", quoted(name))
    for change in _changes(plan, edit.module):
        draft.copy(change, "module", quoted(name))
    copied = plan.read(draft.result)
    axis = 1 if _Said(plan, edit.mode).is_pushed(edit.module, 0) else 0
    low, high = (float(corner[axis]) for corner in module.bounds)
    least, most = (float(corner[axis]) for corner in plan.layouts[0].shell.bounds)
    long = high - low
    by = long if high + long <= most else -long if low - long >= least else 0.0
    pen = _Pen(copied, None)
    for mode in (None, *(layout.mode for layout in plan.layouts)):
        pen.in_mode(mode).shift(name, axis, by)
    return pen.draft.result


def _free_name(name: str, taken: Collection[str]) -> str:
    """Return a name with the first number that makes it a new one."""
    stem = re.sub(r" \d+$", "", name)
    return next(each for i in count(2) if (each := f"{stem} {i}") not in taken)


def _changes(plan: Plan, name: str) -> Iterator[KeyPath]:
    """Yield where modes change a module."""
    for m, mode in enumerate(plan.file.data.get("modes", [])):
        for c, change in enumerate(mode.get("changes", [])):
            if change["module"] == name:
                yield ("modes", m, "changes", c)


def _removed(plan: Plan, edit: Remove) -> str:
    listing = _Said(plan, None)
    listing.of(edit.module)
    for mode in (None, *(layout.mode for layout in plan.layouts)):
        upon = _Said(plan, mode).upon(edit.module)
        if upon:
            raise LayoutError(f"'{upon[0]}' stands on or in '{edit.module}'; move or remove it first")
    draft = Draft(plan.file.text)
    for table in (listing.listing(edit.module), *_changes(plan, edit.module)):
        draft.remove(table)
    return draft.result


def _retyped(plan: Plan, edit: Retype) -> str:
    said = _Said(plan, edit.mode)
    said.of(edit.module)
    if edit.key == "name":
        return _renamed(plan, edit.module, edit.text.strip())
    first, *below = (int(step) - 1 if step.isdecimal() else step for step in edit.key.split("."))
    path: KeyPath = (*said.table(edit.module, str(first)), first, *below)
    typed = edit.text.strip()
    if not typed:
        draft = Draft(plan.file.text)
        if draft.literal(path) is not None:
            draft.drop(path)
        return draft.result
    return _typed(plan, edit, path, typed)


def _typed(plan: Plan, edit: Retype, path: KeyPath, typed: str) -> str:
    """Return the text with a value as typed: as TOML where that is what the key takes, else as a text in quotes."""
    for literal in (typed, None):
        draft = Draft(plan.file.text)
        old = draft.literal(path)
        new = literal or quoted(typed, old or '"')
        if literal and not _is_literal(literal):
            continue
        if old is not None:
            draft.write(path, new)
        elif draft.has(path[:-1]) and isinstance(path[-1], str):
            draft.add(path[:-1], path[-1] if path[-1].replace("_", "").isalnum() else quoted(path[-1]), new)
        else:
            raise LayoutError(f"'{edit.module}' has no '{edit.key}' whose value could be typed")
        try:
            _read_again(plan, draft.result, edit)
        except InputError:
            if literal is None:
                raise
        else:
            return draft.result
    raise LayoutError(f"'{edit.key}' takes another value")


def _is_literal(text: str) -> bool:
    try:
        return len(tomllib.loads(f"x = {text}")) == 1 and "\n" not in text and "#" not in text
    except (tomllib.TOMLDecodeError, RecursionError, ValueError):
        return False


def _read_again(plan: Plan, text: str, edit: Retype) -> None:
    """Raise InputError where a module no longer says what a module may say."""
    read = Plan(parse_toml(text, plan.file.path), plan.layouts, plan.read)
    said = _Said(read, edit.mode)
    read_fields(ModuleFields, said.of(edit.module), read.file, said.listing(edit.module), said.unit)


def _renamed(plan: Plan, name: str, new: str) -> str:
    """Return the text in which a module has another name, with all that mention it."""
    if not new:
        raise LayoutError(f"'{name}' needs a name; write at least 1 letter")
    draft, listing = Draft(plan.file.text), _Said(plan, None)
    mentions = [(*listing.listing(name), "name"), *((*change, "module") for change in _changes(plan, name))]
    tables = [listing.listing(each) for each in listing.modules]
    for each in listing.modules:
        tables += _changes(plan, each)
    mentions += [
        (*table, key) for table in tables for key in ("on", "in") if _at(plan.file.data, (*table, key)) == name
    ]
    for path in mentions:
        draft.write(path, quoted(new, draft.literal(path) or '"'))
    return draft.result


def _at(data: Any, path: KeyPath) -> Any:  # noqa: ANN401  (whatever a file holds)
    for step in path:
        if isinstance(step, str) and step not in data:
            return None
        data = data[step]
    return data


def _set(plan: Plan, edit: SetText) -> str:
    del plan
    return edit.text


_EDITORS: Final[dict[type[Edit], Callable[[Plan, Any], str]]] = {
    Move: _moved, Nudge: _nudged, Push: _pushed, Turn: _turned, Resize: _resized, Duplicate: _duplicated, Remove: _removed,
    Retype: _retyped, SetText: _set,
}  # fmt: skip
