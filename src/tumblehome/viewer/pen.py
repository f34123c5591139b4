"""What does a layout file say of a module in one mode, and how is that written anew?

Where a mode changes a module and its change says the key, the key is written there; else where the listing says it.
"""

from __future__ import annotations

from copy import copy
from typing import TYPE_CHECKING, Any, Final

from tumblehome.errors import InputError, LayoutError, nearest
from tumblehome.fitout.modes import read_modes
from tumblehome.lengths import parse_length
from tumblehome.records import dataclass
from tumblehome.viewer.draft import Draft, quoted
from tumblehome.viewer.literals import angle_literal, length_literal

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from tumblehome.files import KeyPath, TomlFile
    from tumblehome.fitout import Layout, Module

__all__ = ["OPPOSITE", "PLACES", "SIZES", "WALLS", "Pen", "Plan", "Said", "going", "layout_of", "module_of"]

PLACES: Final = ("station", "breadth", "hung")
"""By which key the place along each axis is told."""

WALLS: Final[tuple[tuple[str, ...], ...]] = (("front", "rear"), ("left", "right"), ())
"""Against which sides a module is pushed along each axis."""

OPPOSITE: Final = {"left": "right", "right": "left", "front": "rear", "rear": "front"}

SIZES: Final = {"wide": "left", "deep": "fore", "high": "up"}
"""The measures of a box, and by which key each is told where it begins."""

_COUNTERCLOCKWISE: Final = ("rear", "right", "front", "left")
_FOOTING: Final = ("hung", "on", "in")
_BEYOND: Final = {"face": "beyond the centerline", "deep": "in the wall"}


@dataclass(frozen=True)
class Plan:
    """What is edited: a file and what it means; ``read`` makes the plan of another text of it (raises InputError)."""

    file: TomlFile
    layouts: tuple[Layout, ...]
    read: Callable[[str], Plan]


class Said:
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
        return self.table(name, *(("against",) if self.is_pushed(name, axis) else (PLACES[axis],)))

    def is_pushed(self, name: str, axis: int) -> bool:
        """Return whether a module's place along an axis is found by pushing it."""
        return self.of(name).get("against") in WALLS[axis]

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
        return str(said.get("faces") or OPPOSITE.get(str(said.get("against")), "rear"))


def layout_of(plan: Plan, name: str, mode: str | None) -> Layout:
    """Return the layout in a mode, or for the listing the first in which a module stands; raises LayoutError."""
    layouts = [each for each in plan.layouts if each.mode == (mode or each.mode)]
    if not layouts:
        raise InputError(f"the file has no mode '{mode}'", file=plan.file.path)
    standing = [each for each in layouts if any(module.name == name for module in each.modules)]
    if standing:
        return standing[0]
    Said(plan, mode).of(name)
    raise LayoutError(f"'{name}' is stowed here; choose a mode in which it stands", file=plan.file.path)


def module_of(plan: Plan, name: str, mode: str | None) -> Module:
    """Return a module as it stands in a mode; raises LayoutError as `layout_of` does."""
    return layout_of(plan, name, mode).module(name)


class Pen:
    """Writes in a plan's text what changes of its modules in one mode; pens of other modes may share the draft."""

    def __init__(self, plan: Plan, mode: str | None) -> None:
        self.plan, self.mode = plan, mode
        self.said = Said(plan, mode)
        self.draft = Draft(plan.file.text)
        self._done: set[tuple[KeyPath, object]] = set()

    def in_mode(self, mode: str | None) -> Pen:
        """Return a pen for another mode that writes in the same draft."""
        pen = copy(self)
        pen.mode, pen.said = mode, Said(self.plan, mode)
        return pen

    def module(self, name: str) -> Module | None:
        """Return a module as it stands in the mode, or None when it is stowed."""
        try:
            return module_of(self.plan, name, self.mode)
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
        kin = (self.draft.literal((*where, key)) for where in (table, ("modules", 0)) for key in (*PLACES[:2], *SIZES))
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
        key, more = PLACES[axis], by
        if axis == 1 and said.get("kind") == "scribed":
            sign = -1.0 if said["against"] == "left" else 1.0
            key, more = ("face", sign * by) if "face" in said else ("deep", -sign * by)
        if key in said and self.is_new(table, axis):
            place = self.said.length(said[key]) + more
            if key in {"face", "deep"} and place <= 0:
                raise LayoutError(f"the face of '{name}' would stand {_BEYOND[key]}; move it less far")
            self.length((*table, key), place)

    def off_the_wall(self, name: str, axis: int, place: float) -> None:
        """Tell a module that is pushed along an axis by its exact place, and how it faces, which the wall said so far."""
        table, facing = self.said.table(name, "against"), self.said.facing(name)
        if self.is_new(table, axis):
            self.draft.rename((*table, "against"), PLACES[axis], self.fresh(table, place))
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


def going(pen: Pen, name: str, axis: int) -> Iterator[tuple[Pen, str]]:
    """Yield what goes along with a module whose place is written anew, with a pen of each mode that reads it in that table."""
    table = pen.said.axis_table(name, axis)
    for mode in dict.fromkeys([pen.mode, *(layout.mode or None for layout in pen.plan.layouts)]):
        own = pen if mode == pen.mode else pen.in_mode(mode)
        if own.said.axis_table(name, axis) == table:
            yield from ((own, other) for other in own.said.upon(name))
