"""What a drawing says, before anybody asks how big the paper is: titled items in model space, and its notes.

Points are (x, y) in millimeters of the thing drawn, x to the right and y up; sizes of text are millimeters of paper.
Layers are named by meaning and styled in `palette`; the order in which layers are painted is the palette's.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, Self, TypeAlias

import numpy as np

from tumblehome.drawing import palette
from tumblehome.records import dataclass

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray
    from shapely import Polygon

__all__ = [
    "Area",
    "Dimension",
    "Drawing",
    "Item",
    "Label",
    "Note",
    "Path",
    "Point",
    "Points",
    "Rules",
    "Text",
    "VerdictMark",
]

Point: TypeAlias = tuple[float, float]
# (k, 2) points in a row, as tuples or as an array.
Points: TypeAlias = "Sequence[Sequence[float]] | NDArray[np.float64]"


@dataclass(frozen=True, slots=True)
class Label:
    """The name of an area, with a quieter second line below it. It stands at `at`, or in the area's middle."""

    name: str
    note: str = ""
    at: Point | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Area:
    """A filled region: its outline, then the rings of its holes. Rings close themselves and may turn either way."""

    layer: str
    rings: Sequence[Points]
    label: Label | None = None

    @classmethod
    def of_polygon(cls, layer: str, polygon: Polygon, label: Label | None = None) -> Self:
        """Return the area of a shapely polygon, holes included."""
        rings = [polygon.exterior, *polygon.interiors]
        return cls(layer, tuple(np.asarray(ring.coords)[:-1, :2] for ring in rings), label)


@dataclass(frozen=True, slots=True, eq=False)
class Path:
    """A line through `points`; a closed one returns to its start."""

    layer: str
    points: Points
    closed: bool = False


@dataclass(frozen=True, slots=True)
class Text:
    """Words at a point. They move aside when their place is taken, with a thin leader back to `at`."""

    layer: str
    at: Point
    string: str
    size: float = palette.BODY
    anchor: Literal["start", "middle", "end"] = "middle"
    bold: bool = False
    background: bool = False


@dataclass(frozen=True, slots=True)
class Dimension:
    """The distance from `a` to `b` with what it means, for example "aisle" and ``742 · 29 3/16"``.

    The dimension line runs parallel to a-b at `offset` millimeters of the model, to the left as seen from a to b.
    The value is the caller's own text: nothing is measured or rounded here.
    """

    a: Point
    b: Point
    meaning: str
    value: str
    offset: float = 0.0
    layer: str = "dimension"

    @property
    def string(self) -> str:
        """What stands on the dimension line."""
        return f"{self.meaning} {self.value}".strip()


@dataclass(frozen=True, slots=True)
class VerdictMark:
    """The mark of a verdict ("clear", "tight", "fouls") at a point."""

    at: Point
    verdict: str


Item: TypeAlias = Area | Path | Text | Dimension | VerdictMark


@dataclass(frozen=True, slots=True)
class Note:
    """One line below the drawing; with a verdict it begins with the verdict's mark and word."""

    text: str
    verdict: str | None = None


@dataclass(frozen=True, slots=True)
class Rules:
    """The quiet net behind a drawing, its labels up the left edge and along the base.

    Every 200 mm, heavier each 1000 mm; in inches every 6 in, heavier each 3 ft. `side` and `base` say in words what the
    two scales are; "half-breadth" counts both ways from a center line. `verticals` draws the net's upright lines too,
    not only short marks along the base.
    """

    units: Literal["mm", "in"] = "mm"
    side: str = "height"
    base: str = "station"
    verticals: bool = True


@dataclass(frozen=True, slots=True)
class Drawing:
    """One sheet: what is drawn, its title, the words beside the title (the view direction) and the notes below.

    `paper` is a standard size ("A4", "A3", "letter", "tabloid"), turned whichever way shows the drawing larger.
    `scale` is the denominator; None takes the largest standard scale at which everything fits.
    """

    title: str
    subtitle: str
    items: Sequence[Item]
    notes: Sequence[Note] = ()
    rules: Rules | None = Rules()
    paper: str = "A3"
    scale: int | None = None
