"""The parts of a shell file as a builder states them, each turned into the part that it means."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, Literal

import numpy as np

from tumblehome.body.parts import Block, Bulkhead, Doorway, Housing, Lining, MeshMember, Recess, Sheet, Well
from tumblehome.errors import InputError
from tumblehome.files import inside
from tumblehome.lengths import told
from tumblehome.schema import Field, Fields, choice, length, maybe, numbers, one_line, size, span, text, thickness
from tumblehome.tolerances import CONTACT, WORST_MEASURED

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

    from tumblehome.body.parts import Part, Span
    from tumblehome.solids import Solid

    Floats = NDArray[np.float64]

__all__ = [
    "AXES",
    "MEMBERS",
    "RECESSES",
    "UNITS_TO_MM",
    "Datum",
    "DoorwayFields",
    "MeshFields",
    "PartFields",
    "solid_from",
]

UNITS_TO_MM: Final = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "ft": 304.8}
AXES: Final = ("+x", "-x", "+y", "-y", "+z", "-z")
Side = Literal["left", "right"]


class Datum:
    """What a file leaves unsaid about its parts: where its heights count from, and how far a part runs by default.

    Parameters
    ----------
    floor : float, mm from where the file's heights count up to the finished floor
    lining : Lining
    folder : where the file's other files are
    bare : least and greatest corner of the bare body, each (3,) in mm
    """

    def __init__(self, floor: float, lining: Lining, folder: Path, bare: tuple[Floats, Floats]):
        self.floor, self.lining, self.folder = floor, lining, folder
        (x0, y0, z0), (x1, y1, z1) = bare
        self.stations, self.breadths, self.full_height = (x0, x1), (y0, y1), (min(z0, 0.0), z1)
        self.half_width = max(-y0, y1)

    def height(self, z: float) -> float:
        """Return a height of the file above the finished floor, mm."""
        return z - self.floor

    def heights(self, span: tuple[float, float]) -> tuple[float, float]:
        """Return an interval of heights of the file above the finished floor, mm."""
        return self.height(span[0]), self.height(span[1])

    def heights_if(self, span: tuple[float, float] | None) -> tuple[float, float] | None:
        """Return the same for heights that a file may leave out."""
        return None if span is None else self.heights(span)


class MeshFields(Fields):
    """A closed mesh: its file, unit, and which of its axes point rearward, right and up."""

    file = text()
    unit = choice(*UNITS_TO_MM)
    rearward = choice(*AXES, hinted=False)
    right = choice(*AXES, hinted=False)
    up = choice(*AXES, hinted=False)
    datum = numbers((0.0, 0.0, 0.0))


def solid_from(source: MeshFields | _MeshMember, folder: Path, name: str | None) -> Solid:
    """Read the mesh that a table names; raises MeshError for an unsound one."""
    from tumblehome.body.closedmesh import read_mesh  # noqa: PLC0415  (only shells that hold meshes pay for it)

    return read_mesh(
        inside(folder, source.file),
        name,
        millimeters=UNITS_TO_MM[source.unit],
        axes=(source.rearward, source.right, source.up),
        datum=np.array(source.datum),
    )


class PartFields(Fields):
    """What every part has."""

    name = one_line()
    measured_to = maybe(size(most=WORST_MEASURED))


class _SheetFields(PartFields):
    """What follows the skin at an even depth."""

    depth = size()

    def sheet(
        self, stations: Span, side: Literal["left", "right", "both", "roof", "all"], heights: Span | None
    ) -> Sheet:
        """Return the part along one wall or both, across the roof, or all the way round."""
        walls: dict[str, tuple[Side, ...]] = {"left": ("left",), "right": ("right",), "roof": ()}
        sides = walls.get(side, ("left", "right"))
        kind = str(self.values["kind"])
        return Sheet(self.name, kind, self.measured_to, stations, self.depth, sides, side in {"roof", "all"}, heights)


class _Rib(_SheetFields):
    kind = choice("rib", "pillar")
    side: Field[Literal["left", "right", "both"]] = choice("left", "right", "both")
    stations = span()
    heights = maybe(span())

    def part(self, datum: Datum) -> Part:
        """Return the part that is meant."""
        return self.sheet(self.stations, self.side, datum.heights_if(self.heights))


class _Hoop(_SheetFields):
    kind = choice("hoop")
    stations = span()
    heights = maybe(span())

    def part(self, datum: Datum) -> Part:
        """Return the part that is meant."""
        return self.sheet(self.stations, "all", datum.heights_if(self.heights))


class _Bow(_SheetFields):
    kind = choice("bow")
    stations = span()

    def part(self, datum: Datum) -> Part:
        """Return the part that is meant."""
        del datum
        return self.sheet(self.stations, "roof", None)


class _Rail(_SheetFields):
    kind = choice("rail")
    side: Field[Literal["left", "right", "both"]] = choice("left", "right", "both")
    stations = maybe(span())
    heights = span()

    def part(self, datum: Datum) -> Part:
        """Return the part that is meant."""
        return self.sheet(self.stations or datum.stations, self.side, datum.heights(self.heights))


def _refuse_deeper(depth: float, most: float, what: str) -> None:
    """Refuse a part that no van can have: often nothing else would show a slip of its unit.

    A housing leaves room for the one across. Even a bay that slides out of a wall is driven slid in, and then leaves the aisle; a
    well ends above the road, which is nearer to the floor than the roof is. Common practice, no published source.
    """
    if depth > most + CONTACT:
        raise InputError(
            told("is {} deep, more than {}, {}; check the unit and digits of its depth", depth, what, most)
        )


def _refuse_higher(top: float, datum: Datum) -> None:
    """Refuse what stands on the floor and reaches the roof: a housing or a step does not."""
    roof = datum.full_height[1]
    if top > roof - CONTACT:
        heights = (top + datum.floor, roof + datum.floor)
        raise InputError(told("is {} high, and the roof is at {}; check the unit and digits of its height", *heights))


class _Housing(PartFields):
    kind = choice("housing")
    side: Field[Side] = choice("left", "right")
    stations = span()
    height = size()
    depth = size()
    bevel = thickness(0.0)
    radius = thickness(0.0)

    def check(self) -> None:
        """Raise ValueError for values that contradict each other."""
        if self.bevel and self.radius:
            raise ValueError("give its upper edges a bevel or a radius, not both")
        cut = max(self.bevel, self.radius)
        if cut > min(self.height, (self.stations[1] - self.stations[0]) / 2):
            raise InputError(told("a bevel or radius of {} does not fit its height and half its length", cut))

    def part(self, datum: Datum) -> Part:
        """Return the part that is meant."""
        top = datum.height(self.height)
        _refuse_higher(top, datum)
        _refuse_deeper(self.depth, datum.half_width, "half of the van's width")
        return Housing(
            self.name, self.kind, self.measured_to, self.side, self.stations, top, self.depth, self.bevel, self.radius
        )


class _Block(PartFields):
    kind = choice("block")
    stations = span()
    breadths = span()
    heights = span()

    def part(self, datum: Datum) -> Part:
        """Return the part that is meant."""
        return Block(self.name, self.kind, self.measured_to, self.stations, self.breadths, datum.heights(self.heights))


class _Step(PartFields):
    kind = choice("step")
    stations = span()
    breadths = maybe(span())
    height = size()

    def part(self, datum: Datum) -> Part:
        """Return the part that is meant."""
        breadths, top = self.breadths or datum.breadths, datum.height(self.height)
        _refuse_higher(top, datum)
        return Block(self.name, self.kind, self.measured_to, self.stations, breadths, (0.0, top))


class _Bulkhead(PartFields):
    kind = choice("bulkhead")
    station = length()
    top_station = maybe(length())
    heights = maybe(span())

    def part(self, datum: Datum) -> Part:
        """Return the part that is meant."""
        top = self.station if self.top_station is None else self.top_station
        return Bulkhead(
            self.name,
            self.kind,
            self.measured_to,
            self.station,
            top,
            datum.heights_if(self.heights) or datum.full_height,
        )


class _MeshMember(PartFields):
    kind = choice("mesh")
    file = text()
    unit = choice(*UNITS_TO_MM)
    rearward = choice(*AXES, default="+x", hinted=False)
    right = choice(*AXES, default="+y", hinted=False)
    up = choice(*AXES, default="+z", hinted=False)
    datum = numbers((0.0, 0.0, 0.0))

    def part(self, datum: Datum) -> Part:
        """Return the part that is meant."""
        return MeshMember(self.name, self.kind, self.measured_to, solid_from(self, datum.folder, self.name))


class _Recess(PartFields):
    kind = choice("recess", default="recess")
    side: Field[Side] = choice("left", "right")
    stations = span()
    heights = span()
    depth = maybe(size())
    lining = maybe(thickness())
    corner = thickness(0.0)
    bevel = thickness(0.0)

    def check(self) -> None:
        """Raise ValueError for values that contradict each other."""
        if (self.depth is None) == (self.lining is None):
            raise ValueError("give its depth behind the lining, or the lining that it has of its own, one of the two")

    def part(self, datum: Datum) -> Part:
        """Return the part that is meant."""
        depth = datum.lining.walls - self.lining if self.lining is not None else self.depth or 0.0
        if depth <= 0:
            own, walls = self.lining or 0.0, datum.lining.walls
            raise InputError(told("its own lining of {} is not thinner than the walls' {}", own, walls))
        _refuse_deeper(depth, datum.half_width, "half of the van's width")
        heights = datum.heights(self.heights)
        return Recess(
            self.name, self.kind, self.measured_to, self.side, self.stations, heights, depth, self.corner, self.bevel
        )


class _Well(PartFields):
    kind = choice("well")
    stations = span()
    breadths = span()
    depth = size()

    def part(self, datum: Datum) -> Part:
        """Return the part that is meant."""
        depth = self.depth if datum.floor == 0 else self.depth + datum.floor
        _refuse_deeper(self.depth, datum.full_height[1], "the van's height")
        return Well(self.name, self.kind, self.measured_to, self.stations, self.breadths, depth)


class DoorwayFields(Fields):
    """A doorway: a side's by its stations, the rear's by its breadths."""

    name = one_line()
    side: Field[Literal["left", "right", "rear"]] = choice("left", "right", "rear")
    stations = maybe(span())
    breadths = maybe(span())
    heights = span()

    def check(self) -> None:
        """Raise ValueError for values that contradict each other."""
        wanted, other = ("breadths", "stations") if self.side == "rear" else ("stations", "breadths")
        if getattr(self, wanted) is None or getattr(self, other) is not None:
            raise ValueError(f"a doorway at the {self.side} is told by its {wanted} and heights, not by its {other}")

    def doorway(self, datum: Datum) -> Doorway:
        """Return the doorway that is meant."""
        return Doorway(self.name, self.side, self.stations or self.breadths or (0.0, 0.0), datum.heights(self.heights))


MEMBERS: dict[str, type[PartFields]] = {
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
RECESSES: dict[str, type[PartFields]] = {"recess": _Recess, "well": _Well}
