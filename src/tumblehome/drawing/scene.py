"""What stands where in a picture, from where is it seen, and what is cut away so that a builder sees it?

A scene is a list of closed solids. A view removes boxes from some kinds of them, with the exact kernel, so that every
cut is closed by a flat face that a picture can darken.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING, Final, Literal

import numpy as np

from tumblehome.drawing import palette
from tumblehome.drawing.mannequin import EYE_HEIGHT, STATURE, person
from tumblehome.errors import InputError, nearest
from tumblehome.records import dataclass
from tumblehome.solids import Solid, unite

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from numpy.typing import ArrayLike, NDArray

    Floats = NDArray[np.float64]
    Integers = NDArray[np.intp]

__all__ = [
    "FINISHES", "KINDS", "STATURE", "VIEWS", "Cut", "Kind", "Piece", "Scene", "Seen", "View", "person", "view_of",
]  # fmt: skip

Kind = Literal["shell", "floor", "member", "recess", "module", "person"]
KINDS: Final[tuple[Kind, ...]] = ("shell", "floor", "member", "recess", "module", "person")

# Matte colors of what modules are made of, all of one quiet family.
FINISHES: Final[Mapping[str, str]] = {
    "ash": "#E9DCC1",
    "birch": "#E7D5B0",
    "cork": "#B98F62",
    "enamel": "#F4F0E6",
    "felt": "#8D988C",
    "glass": "#C8D9D6",
    "lacquer": "#DADDD2",
    "leather": "#9C6B4A",
    "linen": "#CDC2AB",
    "mattress": "#EFE9DD",
    "oak": "#CDA870",
    "rubber": "#5F6466",
    "steel": "#AEB4B5",
    "walnut": "#8A6648",
    "water": "#A9C5CA",
}
_KIND_COLORS: Final[Mapping[Kind, str]] = {
    "shell": palette.LINING,
    "floor": palette.LINING,
    "member": palette.MEMBER,
    "recess": palette.RECESS,
    "module": palette.MODULE,
    "person": "#CFC6B6",
}

_BUILT: Final[tuple[Kind, ...]] = ("shell", "member", "recess")  # what belongs to the van's walls
_CUT_FACE: Final = "\0cut"  # a part name that no file can hold
_FEET: Final = 100.0  # mm above the sole to which a person's feet reach
_BEYOND: Final = 1000.0  # mm that a cut reaches past everything, so that nothing is left standing outside it


@dataclass(frozen=True, eq=False)
class Piece:
    """One thing in the picture.

    Attributes
    ----------
    name : str
        As its label says it.
    kind : one of KINDS
        "shell" is the lining or body wall as a thick closed solid; a "recess" is the solid of its pocket, of which a
        picture shows the inside.
    solid : Solid
    finish : str
        One of FINISHES; empty for the color of its kind.
    label : bool
        Whether its name stands in the picture.
    """

    name: str
    kind: Kind
    solid: Solid
    finish: str = ""
    label: bool = False

    def __post_init__(self) -> None:
        """Raise InputError for a kind or finish that there is not."""
        for word, found, allowed in (("kind", self.kind, KINDS), ("finish", self.finish, ("", *FINISHES))):
            if found not in allowed:
                listed = ", ".join(filter(None, allowed)) + nearest(found, allowed)
                raise InputError(f"piece '{self.name}': no {word} '{found}'; there are {listed}")

    @property
    def color(self) -> str:
        """``#rrggbb`` of its finish, or of its kind where it has none."""
        return FINISHES[self.finish] if self.finish else _KIND_COLORS[self.kind]


@dataclass(frozen=True, eq=False)
class Seen:
    """What a view leaves of a piece: its solid, and the mesh of that.

    Attributes
    ----------
    piece : Piece
    solid : Solid
    vertices : (n, 3) float, mm
    triangles : (m, 3) int, counter-clockwise seen from outside
    is_cap : (m,) bool
        Which triangles lie in the plane of a cut.
    """

    piece: Piece
    solid: Solid
    vertices: Floats
    triangles: Integers
    is_cap: NDArray[np.bool_]

    @classmethod
    def of(cls, piece: Piece, solid: Solid) -> Seen:
        """Return what is left of a piece, given its solid after all cuts."""
        names = np.array([name == _CUT_FACE for name in solid.surface.names])
        return cls(piece, solid, *solid.mesh(), is_cap=names[solid.surface.part])

    def touches(self, point: ArrayLike, within: float) -> bool:
        """Return whether any of it lies within so many mm of a (3,) point, along each axis."""
        at = np.asarray(point, dtype=float)
        low, high = self.solid.bounds
        if np.any(at < low - within) or np.any(at > high + within):
            return False
        return not (self.solid & Solid.box(at - within, at + within, "touch")).is_empty


@dataclass(frozen=True)
class Cut:
    """A box that is removed from every piece of some kinds: ``low`` to ``high`` in mm, infinite sides allowed.

    With ``whole`` pieces that lie wholly in it go, and all others stay whole.
    """

    kinds: tuple[Kind, ...]
    low: tuple[float, float, float] = (-np.inf, -np.inf, -np.inf)
    high: tuple[float, float, float] = (np.inf, np.inf, np.inf)
    whole: bool = False

    def holds(self, solid: Solid) -> bool:
        """Whether a solid lies wholly in it."""
        low, high = solid.bounds
        return bool(np.all(low >= self.low) and np.all(high <= self.high))


@dataclass(frozen=True)
class View:
    """From where a scene is seen.

    Attributes
    ----------
    name : str
    words : str
        What the caption says of it.
    eye : (3,) float, mm
    toward, up : (3,) float
        Direction of sight and the direction that is upright in the picture; they need not be square to each other.
    cuts : tuple of Cut
    """

    name: str
    words: str
    eye: tuple[float, float, float]
    toward: tuple[float, float, float]
    up: tuple[float, float, float]
    cuts: tuple[Cut, ...]


@dataclass(frozen=True, eq=False)
class Scene:
    """Everything that a picture shows.

    Parameters
    ----------
    pieces : tuple of Piece
        At least one.

    Raises
    ------
    InputError
        When there is nothing to show.
    """

    pieces: tuple[Piece, ...]

    def __post_init__(self) -> None:
        """Raise InputError when there is no piece, or only empty ones."""
        if all(piece.solid.is_empty for piece in self.pieces):
            raise InputError("nothing to draw: the scene has no piece with a volume")

    @cached_property
    def bounds(self) -> tuple[Floats, Floats]:
        """Least and greatest corner of the shell, or of everything where there is none; each (3,) float, mm."""
        shells = [piece for piece in self.pieces if piece.kind == "shell"]
        return _extent(shells or self.pieces)

    def seen(self, view: View) -> list[Seen]:
        """Return what the view leaves of each piece; what it removes whole is not in the list.

        Raises KernelError when a cut fails.
        """
        extent = _extent(self.pieces)
        remains = ((piece, _remainder(piece, view.cuts, extent)) for piece in self.pieces)
        return [Seen.of(piece, solid) for piece, solid in remains if not solid.is_empty]

    @cached_property
    def near_side(self) -> int:
        """1 to look in over the right wall, -1 over the left: where less stands tall, so that less must be cut away."""
        low, high = self.bounds
        middle = (low + high) / 2
        left = Solid.box((low[0], low[1], middle[2]), (high[0], middle[1], high[2]), "upper left")
        right = Solid.box((low[0], middle[1], middle[2]), high, "upper right")
        modules = [piece.solid for piece in self.pieces if piece.kind == "module"]
        tall = [[(module & half).volume for half in (left, right)] for module in modules]
        on_left, on_right = np.sum(tall, axis=0) if tall else (0.0, 0.0)
        return 1 if on_right <= on_left else -1


def view_of(scene: Scene, name: str, *, aspect: float = 1.6) -> View:
    """Return one of the VIEWS of a scene; ``aspect`` is the picture's width over its height.

    Raises InputError, naming the nearest, when there is no view of that name.
    """
    if name not in VIEWS:
        raise InputError(f"no view '{name}'; there are {', '.join(VIEWS)}{nearest(name, VIEWS)}")
    return VIEWS[name](scene, aspect)


def _corner(scene: Scene, aspect: float) -> View:
    """From above the rear near corner: roof, near wall and rear end go, and what hangs at the near wall above table height."""
    low, high = scene.bounds
    middle, side, height = (low + high) / 2, scene.near_side, high[2] - low[2]
    toward = _direction(azimuth=58 if aspect >= 1 else 30, down=30, side=side)
    roof, table, curb = low[2] + 0.90 * height, low[2] + 0.56 * height, low[2] + 0.11 * height
    near = middle[1] + side * 0.2 * (high[1] - low[1])
    shell = (
        Cut(_BUILT, low=(-np.inf, -np.inf, roof)),
        _beyond(_BUILT, 1, near, side, curb),
        _beyond(_BUILT, 0, high[0] - 0.02 * (high[0] - low[0]), 1, curb),
    )
    hanging = replace(_beyond(("module",), 1, middle[1], side, table), whole=True)
    gone = any(piece.kind == "module" and hanging.holds(piece.solid) for piece in scene.pieces)
    words = f"from the rear {'right' if side > 0 else 'left'}, roof and near wall cut away" + (
        ", with what hangs there" if gone else ""
    )
    return View("corner", words, _stand_off(scene, toward, 2.2), toward, (0, 0, 1), (*shell, hanging))


def _doorway(scene: Scene, _aspect: float) -> View:
    """Through the rear doorway, level, at the eye height of a standing person; the rear end of the walls is cut off."""
    low, high = scene.bounds
    back = high[0] - 0.02 * (high[0] - low[0])
    eye = (back + 1.35 * (high[1] - low[1]), (low[1] + high[1]) / 2, EYE_HEIGHT)
    cut = Cut((*_BUILT, "floor", "module"), low=(back, -np.inf, -np.inf))
    return View("doorway", "through the rear doorway, at standing eye height", eye, (-1, 0, 0), (0, 0, 1), (cut,))


def _above(scene: Scene, aspect: float) -> View:
    """Straight down on what stands below the hanging cupboards; the front lies left, in an upright picture on top."""
    low, high = scene.bounds
    cut = Cut((*_BUILT, "module"), low=(-np.inf, -np.inf, low[2] + 0.66 * (high[2] - low[2])))
    up = (0, 1, 0) if aspect >= 1 else (-1, 0, 0)
    words = "from above, the upper third cut away"
    return View("above", words, _stand_off(scene, (0, 0, -1), 2.6), (0, 0, -1), up, (cut,))


def _side(side: int) -> Callable[[Scene, float], View]:
    """Return the maker of the view of one long side (-1 left, 1 right), cut along the centerline."""

    def make(scene: Scene, _aspect: float) -> View:
        low, high = scene.bounds
        middle, word = (low + high) / 2, "right" if side > 0 else "left"
        distance = 1.5 * (high[0] - low[0])
        eye = (middle[0], middle[1] - side * distance, low[2] + 0.62 * (high[2] - low[2]))
        cut = _beyond(KINDS, 1, middle[1], -side)
        return View(f"{word} side", f"the {word} side, cut at the centerline", eye, (0, side, 0), (0, 0, 1), (cut,))

    return make


VIEWS: Final[Mapping[str, Callable[[Scene, float], View]]] = {
    "corner": _corner,
    "doorway": _doorway,
    "above": _above,
    "left side": _side(-1),
    "right side": _side(1),
}


def _beyond(kinds: tuple[Kind, ...], axis: int, limit: float, sign: int, bottom: float = -np.inf) -> Cut:
    """Return the cut of what lies beyond a limit along an axis and above a bottom."""
    low, high = np.array([-np.inf, -np.inf, bottom]), np.full(3, np.inf)
    (low if sign > 0 else high)[axis] = limit
    return Cut(kinds, _triple(low), _triple(high))


def _direction(azimuth: float, down: float, side: int) -> tuple[float, float, float]:
    """Return the sight line from behind a rear corner: degrees from the length axis, and downwards."""
    a, d = np.radians(azimuth), np.radians(down)
    return _triple([-np.cos(a) * np.cos(d), -side * np.sin(a) * np.cos(d), -np.sin(d)])


def _stand_off(scene: Scene, toward: ArrayLike, times: float) -> tuple[float, float, float]:
    """Return an eye that looks at the middle of the scene from so many times its diagonal."""
    low, high = scene.bounds
    return _triple((low + high) / 2 - times * np.linalg.norm(high - low) * np.asarray(toward))


def _triple(values: ArrayLike) -> tuple[float, float, float]:
    x, y, z = (float(v) for v in np.asarray(values))
    return x, y, z


def _extent(pieces: Iterable[Piece]) -> tuple[Floats, Floats]:
    lows, highs = zip(*(piece.solid.bounds for piece in pieces if not piece.solid.is_empty), strict=True)
    return np.min(lows, axis=0), np.max(highs, axis=0)


def _remainder(piece: Piece, cuts: Iterable[Cut], extent: tuple[Floats, Floats]) -> Solid:
    """Return the piece without the boxes of every cut that concerns its kind; a person goes whole or stays whole."""
    low, high = extent[0] - _BEYOND, extent[1] + _BEYOND
    ours = [cut for cut in cuts if piece.kind in cut.kinds]
    if piece.kind == "person":
        return _standing_clear(piece.solid, ours)
    if any(cut.whole and cut.holds(piece.solid) for cut in ours):
        return Solid.empty()
    boxes = [(np.maximum(cut.low, low), np.minimum(cut.high, high)) for cut in ours if not cut.whole]
    removed = unite(Solid.box(a, b, _CUT_FACE) for a, b in boxes if np.all(a < b))
    return piece.solid if removed.is_empty else piece.solid - removed


def _standing_clear(someone: Solid, cuts: Iterable[Cut]) -> Solid:
    """Return a person whose middle no cut holds, set back by as much as the feet stand across one; else nothing.

    The floor ends at the cut, and in perspective feet before its edge would hang below it.
    """
    for cut in cuts:
        middle = np.mean(someone.bounds, axis=0)
        if np.all((middle > cut.low) & (middle < cut.high)):
            return Solid.empty()
        low, high = someone.trimmed(2, high=someone.bounds[0][2] + _FEET).bounds
        if np.all((low < cut.high) & (high > cut.low)):
            ways = np.concatenate([np.diag(cut.low - high), np.diag(cut.high - low)])
            someone = someone.moved(min(ways, key=np.linalg.norm))
    return someone
