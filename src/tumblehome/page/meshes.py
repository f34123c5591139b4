"""How does the scene travel in a page: triangles, feature edges, and the seams between what can be hidden apart?

The walls are split with the exact kernel into roof, sides, ends and curb, so that the page can leave out the roof or the wall
that is nearest to the viewer. Where two of them meet lies a seam: its faces and edges are shown only while the neighbor is
hidden.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Final

import numpy as np

from tumblehome.drawing.mannequin import person
from tumblehome.page.wording import packed
from tumblehome.records import dataclass

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from tumblehome.drawing.scene import Piece, Scene
    from tumblehome.solids import Solid

    Floats = NDArray[np.float64]
    Integers = NDArray[np.intp]

__all__ = ["Packing", "feature_edges", "round_scene"]

_SHARP: Final = np.cos(np.radians(24.0))
"""An edge is drawn where its two faces turn by more than this; below it they belong to one curved face."""
_ON: Final = 1e-3
"""So near to a plane lies in it, mm."""
_COARSE: Final = 3.0
"""By so much the person may differ from the mannequin, mm: no client measures it."""
_REGION: Final = "U16"
"""A region's name, as an array holds it."""
_FULL: Final = 32767
"""The greatest whole number that a coordinate is packed as."""
# Shares of the body's height and length, as the stills cut it: where the roof begins, where the curb that always stays ends,
# how much of the length belongs to each end, and above which height a module hangs on its wall.
_ROOF, _CURB, _END, _HUNG = 0.90, 0.11, 0.02, 0.56


@dataclass(frozen=True, eq=False)
class _Part:
    """A piece's share of one region.

    Regions are "roof", "curb", "left", "right", the same at the ends ("front-left", ...), or "" for what is
    always seen.
    """

    region: str
    solid: Solid
    is_split: bool = False


@dataclass(frozen=True)
class _Regions:
    """The planes between the regions, mm."""

    curb: float
    roof: float
    front: float
    rear: float
    hung: float

    @classmethod
    def of(cls, scene: Scene) -> _Regions:
        """Return the planes for a scene's body."""
        low, high = scene.bounds
        tall, long = float(high[2] - low[2]), float(high[0] - low[0])
        z, x = float(low[2]), float(low[0])
        return cls(z + _CURB * tall, z + _ROOF * tall, x + _END * long, float(high[0]) - _END * long, z + _HUNG * tall)

    def split(self, solid: Solid) -> Iterator[_Part]:
        """Yield a solid's share of each region that it reaches into."""
        below = solid.trimmed(2, high=self.roof)
        between = below.trimmed(0, low=self.front, high=self.rear)
        shares = [("roof", solid.trimmed(2, low=self.roof)), ("curb", between.trimmed(2, high=self.curb))]
        shares += [*_sides("", between.trimmed(2, low=self.curb)), *_sides("front-", below.trimmed(0, high=self.front))]
        shares += _sides("rear-", below.trimmed(0, low=self.rear))
        yield from (_Part(region, share, is_split=True) for region, share in shares if not share.is_empty)

    def stands_aside(self, solid: Solid) -> bool:
        """Return whether nothing of a solid below the roof stands on the centerline, so that its two sides come apart."""
        below = solid.trimmed(2, high=self.roof)
        return below.is_empty or not below.slice(1, 0.0).to_polygons()

    def beyond(self, region: str, point: Floats, flat: NDArray[np.bool_]) -> str:
        """Return the region beyond the seam that an edge or face of a region lies in, "" where it lies in none.

        ``point`` (3,) is its middle, and ``flat`` (3,) says across which axes it lies flat.
        """
        x, y, z = point
        side = "left" if y < 0 else "right"
        end = "front-" if x < self.front + _ON else "rear-" if x > self.rear - _ON else ""
        if flat[2] and abs(z - self.roof) < _ON:
            return end + side if region == "roof" else "roof"
        if flat[2] and abs(z - self.curb) < _ON and not region.startswith(("front", "rear", "roof")):
            return side if region == "curb" else "curb"
        if flat[0] and min(abs(x - self.front), abs(x - self.rear)) < _ON and region != "roof":
            inward = "curb" if z < self.curb else side
            return inward if region.startswith(("front", "rear")) else end + side
        if flat[1] and abs(y) < _ON and region.startswith(("front", "rear")):
            return end + ("right" if region.endswith("left") else "left")
        return ""


def _sides(prefix: str, solid: Solid) -> list[tuple[str, Solid]]:
    return [(f"{prefix}left", solid.trimmed(1, high=0.0)), (f"{prefix}right", solid.trimmed(1, low=0.0))]


def round_scene(scene: Scene, names: Sequence[str]) -> dict[str, object]:
    """Return the scene as packed meshes. ``names`` are the modules', whose numbers the meshes bear.

    A coordinate is a whole number of ``grain`` mm. Every mesh has its kind, its region, its color, its corners, the
    triangles and edges that are always seen, and its seams by the region beyond.
    """
    packing, number = Packing.of(scene), {name: i for i, name in enumerate(names)}
    meshes = [
        {**mesh, "module": number.get(piece.name, -1) if piece.kind == "module" else -1}
        for piece in scene.pieces
        for mesh in packing.meshes(piece)
    ]
    return packing.head(scene.near_side) | {"meshes": meshes}


@dataclass(frozen=True, eq=False)
class Packing:
    """How the pieces of a scene are cut into regions and their coordinates packed.

    Attributes
    ----------
    regions : the planes between the regions
    bounds : (2, 3) float, mm, the least and the greatest corner of the scene
    grain : mm, what a whole number stands for
    """

    regions: _Regions
    bounds: Floats
    grain: float

    @classmethod
    def of(cls, scene: Scene, room: float = 1.0) -> Packing:
        """Return the packing for a scene, or for one that may come to reach so many times as far."""
        bounds = np.array(scene.bounds)
        return cls(_Regions.of(scene), bounds, float(np.abs(bounds).max()) * room / _FULL)

    def head(self, side: int) -> dict[str, object]:
        """Return what holds for all meshes; ``side`` is the one to look in over, 1 the right or -1 the left."""
        low, high = self.bounds.round(1).tolist()
        return {"grain": self.grain, "low": low, "high": high, "side": side}

    def meshes(self, piece: Piece) -> Iterator[dict[str, object]]:
        """Yield a piece's meshes, one for each region that it reaches into."""
        for part in _shares(piece, self.regions):
            yield _mesh(piece, part, self.regions, self.grain)


def _shares(piece: Piece, regions: _Regions) -> Iterator[_Part]:
    if piece.kind == "shell" or (piece.kind == "member" and regions.stands_aside(piece.solid)):
        yield from regions.split(piece.solid)
    elif piece.kind == "recess":  # seen from inside, it has no cut face that a seam could show
        low, high = piece.solid.bounds
        middle = float(low[1] + high[1])
        yield _Part("left" if middle < 0 else "right", piece.solid)
    else:
        low, high = piece.solid.bounds
        aside = low[1] >= -_ON or high[1] <= _ON
        hangs = piece.kind == "module" and aside and low[2] > regions.hung
        yield _Part(("left" if low[1] < -_ON else "right") if hangs else "", piece.solid)


def _mesh(piece: Piece, part: _Part, regions: _Regions, grain: float) -> dict[str, object]:
    corners, triangles = _figure_at(part.solid) if piece.kind == "person" else part.solid.mesh()
    edges = feature_edges(corners, triangles) if piece.kind != "person" else np.empty((0, 2), dtype=np.intp)
    told: dict[str, object] = {
        "kind": piece.kind,
        "name": piece.name,
        "region": part.region,
        "color": piece.color,
        "corners": packed(np.clip(np.round(corners / grain), -_FULL, _FULL), "i2"),
    }
    faces, lines = _by_seam(corners, triangles, part, regions), _by_seam(corners, edges, part, regions)
    beyond = ["", *sorted({*faces, *lines} - {""})]
    return told | {"seams": [[r, *(packed(each.get(r, []), "u4") for each in (faces, lines))] for r in beyond]}


def _by_seam(corners: Floats, indices: Integers, part: _Part, regions: _Regions) -> dict[str, Integers]:
    """Return triangles or edges (n, k) by the region beyond the seam that they lie in, "" for those that lie in none."""
    if not part.is_split or not len(indices):
        return {"": indices}
    ends = corners[indices]
    flat, middle = np.ptp(ends, axis=1) < _ON, ends.mean(axis=1)
    beyond = np.full(len(indices), "", dtype=_REGION)
    for i in np.flatnonzero(flat.any(axis=1)):
        beyond[i] = regions.beyond(part.region, middle[i], flat[i])
    return {str(region): indices[beyond == region] for region in np.unique(beyond)}


def feature_edges(corners: Floats, triangles: Integers) -> Integers:
    """Return the edges (k, 2) at which the faces of a closed mesh turn by more than 24 degrees.

    Parameters
    ----------
    corners : (n, 3) float
    triangles : (m, 3) int
    """
    points = corners[triangles]
    normals = np.cross(points[:, 1] - points[:, 0], points[:, 2] - points[:, 0])
    area = np.linalg.norm(normals, axis=1, keepdims=True)
    normals = normals / np.where(area > 0, area, 1.0)
    pairs = np.sort(np.concatenate([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]]), axis=1)
    face = np.tile(np.arange(len(triangles)), 3)
    order = np.lexsort((pairs[:, 1], pairs[:, 0]))
    pairs, face = pairs[order], face[order]
    first = np.flatnonzero((pairs[1:] == pairs[:-1]).all(axis=1))
    turn = np.einsum("ij,ij->i", normals[face[first]], normals[face[first + 1]])
    slim = (area[face[first], 0] <= _ON) | (area[face[first + 1], 0] <= _ON)
    sharp: Integers = pairs[first[(turn < _SHARP) & ~slim]]
    return sharp


def _figure_at(mannequin: Solid) -> tuple[Floats, Integers]:
    """Return the person with fewer triangles, where a mannequin of its size stands that looks to the front."""
    corners, triangles = _figure()
    return corners + (mannequin.bounds[0] - person().bounds[0]), triangles


@cache
def _figure() -> tuple[Floats, Integers]:
    return person().simplified(_COARSE, "person").mesh()
