"""The one door to the solid kernel: closed solids in float millimeters whose every triangle knows the part it came from.

The kernel reports a bad mesh by a silent status and an empty solid, so nothing enters or leaves here without being asked
for it. Coordinates stay in double precision throughout.
"""

from __future__ import annotations

from functools import cache, cached_property
from typing import TYPE_CHECKING

import numpy as np
from manifold3d import CrossSection, Error, FillRule, Manifold, Mesh64, triangulate

from tumblehome.errors import KernelError
from tumblehome.records import dataclass
from tumblehome.tolerances import LEDGE

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from numpy.typing import ArrayLike, NDArray

    Floats = NDArray[np.float64]
    Integers = NDArray[np.intp]

__all__ = ["STATUS_WORDS", "Solid", "Surface", "distinct", "following", "outline_of", "twice_area", "unite"]

STATUS_WORDS: dict[Error, str] = {
    Error.NonFiniteVertex: "a vertex is not a finite number",
    Error.NotManifold: "an edge does not have exactly two faces that run along it in opposite directions",
    Error.VertexOutOfBounds: "a triangle names a vertex that does not exist",
    Error.PropertiesWrongLength: "the vertex table has the wrong length",
    Error.MissingPositionProperties: "the vertex table holds no positions",
    Error.MergeVectorsDifferentLengths: "the lists of merged vertices differ in length",
    Error.MergeIndexOutOfBounds: "a merged vertex does not exist",
    Error.TransformWrongLength: "a transform has the wrong length",
    Error.RunIndexWrongLength: "the run index has the wrong length",
    Error.FaceIDWrongLength: "the face labels have the wrong length",
    Error.InvalidConstruction: "a primitive has an impossible size",
    Error.ResultTooLarge: "the result has more triangles than can be counted",
    Error.InvalidTangents: "the edge tangents are invalid",
    Error.Cancelled: "the operation was cancelled",
}


@dataclass(frozen=True, eq=False)
class Surface:
    """The boundary of a solid, triangle by triangle.

    Attributes
    ----------
    triangles : (n, 3, 3) float, mm
        Corners, counter-clockwise seen from outside the solid.
    part : (n,) int
        Index into ``names`` of the part that each triangle belongs to.
    names : tuple of str
    """

    triangles: Floats
    part: Integers
    names: tuple[str, ...]

    def __len__(self) -> int:
        return len(self.triangles)

    @cached_property
    def normals(self) -> Floats:
        """Return (n, 3) outward normals, twice the triangle's area long, mm2."""
        a, b, c = (self.triangles[:, i] for i in range(3))
        return np.cross(b - a, c - a)

    @cached_property
    def names_present(self) -> frozenset[str]:
        """The names that at least one triangle bears."""
        return frozenset(self.names[i] for i in set(self.part.tolist()))

    def flipped(self) -> Surface:
        """Return the same surface seen from the other side."""
        return Surface(self.triangles[:, ::-1], self.part, self.names)

    @staticmethod
    def joined(surfaces: Sequence[Surface]) -> Surface:
        """Return all of them as one soup; equal names become one name."""
        names = tuple(dict.fromkeys(name for surface in surfaces for name in surface.names))
        index = {name: i for i, name in enumerate(names)}
        parts = [np.array([index[n] for n in s.names], dtype=np.intp)[s.part] for s in surfaces if len(s)]
        triangles = [s.triangles for s in surfaces if len(s)]
        if not triangles:
            return Surface(np.empty((0, 3, 3)), np.empty(0, dtype=np.intp), names)
        return Surface(np.concatenate(triangles), np.concatenate(parts), names)

    def winding(self, point: ArrayLike) -> float:
        """Return how often the surface winds around a point: 1 inside one closed solid, 0 outside.

        The sum of the solid angles of all triangles over 4 pi, by the formula of Van Oosterom and Strackee (IEEE
        Transactions on Biomedical Engineering 30, 1983). Meaningless for a point on the surface itself.
        """
        a, b, c = (self.triangles[:, i] - np.asarray(point, dtype=float) for i in range(3))
        la, lb, lc = (np.linalg.norm(v, axis=1) for v in (a, b, c))
        top = np.einsum("ij,ij->i", a, np.cross(b, c))
        dots = [np.einsum("ij,ij->i", u, v) for u, v in ((b, c), (c, a), (a, b))]
        bottom = la * lb * lc + dots[0] * la + dots[1] * lb + dots[2] * lc
        return float(np.arctan2(top, bottom).sum() / (2 * np.pi))


@dataclass(frozen=True, eq=False)
class Solid:
    """A closed solid with named faces; every operation returns a new one.

    ``kernel`` is the kernel's own solid; ``sources`` maps its source identities to the part names of their triangles: to
    one, or to several and which of them each triangle bears.
    """

    kernel: Manifold
    sources: Mapping[int, str | tuple[tuple[str, ...], Integers]]

    @classmethod
    def from_mesh(cls, vertices: ArrayLike, triangles: ArrayLike, names: str | Sequence[str]) -> Solid:
        """Build a solid from a closed mesh.

        Parameters
        ----------
        vertices : (n, 3) float, mm
        triangles : (m, 3) int, counter-clockwise seen from outside
        names : one part name, or one for each triangle

        Raises
        ------
        KernelError
            When the mesh is not closed, not finite, or encloses no positive volume (empty or inside out).
        """
        corners = np.array(triangles, dtype=np.uint64, order="C")
        identity = Manifold.reserve_ids(1)
        mesh = Mesh64(
            np.array(
                vertices, dtype=np.float64, order="C"
            ),  # a copy: the kernel takes no read-only array, its own among them
            corners,
            run_index=np.array([0, corners.size], dtype=np.uint64),
            run_original_id=np.array([identity], dtype=np.uint32),
            face_id=np.arange(len(corners), dtype=np.uint64),
        )
        kernel = _sound(Manifold(mesh), "mesh")
        if not kernel.volume() > 0:
            raise KernelError("mesh: the faces enclose no positive volume (empty, or turned inside out)")
        return cls(kernel, {identity: names if isinstance(names, str) else _numbered(names)})

    @classmethod
    def prism(cls, outline: ArrayLike, low: float, high: float, name: str, *, axis: int = 2) -> Solid:
        """Build an upright prism over a polygon.

        Parameters
        ----------
        outline : (k, 2) float, mm
            A simple polygon, either way round, in the plane across ``axis``: (x, y) for axis 2, (y, z) for axis 0,
            (z, x) for axis 1.
        low, high : float, mm along ``axis``
        name : str

        Raises
        ------
        KernelError
            When the outline has no area or ``high`` is not above ``low``.
        """
        ring = np.asarray(outline, dtype=float)
        if twice_area(ring) < 0:
            ring = ring[::-1]
        cap, k = np.asarray(triangulate([ring]), dtype=np.intp), len(ring)
        vertices = np.empty((2, k, 3))
        vertices[..., [(axis + 1) % 3, (axis + 2) % 3]] = ring
        vertices[0, :, axis], vertices[1, :, axis] = low, high
        return cls.from_mesh(vertices.reshape(-1, 3), np.concatenate([cap[:, ::-1], cap + k, _sides(k)]), name)

    @classmethod
    def hull(cls, points: ArrayLike, name: str) -> Solid:
        """Build the convex hull of (n, 3) points in mm; raises KernelError when they span no volume."""
        kernel = Manifold.hull_points(np.array(points, dtype=np.float64, order="C"))
        if not kernel.volume() > 0:
            raise KernelError(f"{name}: the points span no volume")
        return cls(kernel, {}).named(name)

    @classmethod
    def box(cls, low: ArrayLike, high: ArrayLike, name: str) -> Solid:
        """Build a box from its least to its greatest corner, each (3,) float in mm."""
        (x0, y0, z0), (x1, y1, z1) = (np.asarray(corner, dtype=float) for corner in (low, high))
        return cls.prism([(x0, y0), (x1, y0), (x1, y1), (x0, y1)], z0, z1, name)

    @classmethod
    def empty(cls) -> Solid:
        """Return the solid with nothing in it."""
        return cls(Manifold(), {})

    def __or__(self, other: Solid) -> Solid:
        return self._with(other, lambda a, b: a + b)

    def __and__(self, other: Solid) -> Solid:
        return self._with(other, lambda a, b: a ^ b)

    def __sub__(self, other: Solid) -> Solid:
        return self._with(other, lambda a, b: a - b)

    def _with(self, other: Solid, operation: Callable[[Manifold, Manifold], Manifold]) -> Solid:
        return Solid(operation(self.kernel, other.kernel), {**self.sources, **other.sources})

    def moved(self, vector: ArrayLike) -> Solid:
        """Return the solid shifted by a (3,) vector in mm."""
        x, y, z = (float(v) for v in np.asarray(vector, dtype=float))
        return Solid(self.kernel.translate((x, y, z)), self.sources)

    def named(self, name: str) -> Solid:
        """Return the same solid with one name on all of its faces."""
        kernel = _sound(self.kernel, name).as_original()
        return Solid(kernel, {kernel.original_id(): name})

    def transformed(self, matrix: ArrayLike) -> Solid:
        """Return the solid under a (3, 4) affine map; a map that mirrors keeps the faces outward."""
        return Solid(self.kernel.transform(np.array(matrix, dtype=np.float64, order="C")), self.sources)

    def trimmed(self, axis: int, low: float | None = None, high: float | None = None) -> Solid:
        """Return what lies between two coordinates of one axis, closed at the cuts; the cut faces bear no name."""
        kernel = self.kernel
        for limit, sign in ((low, 1.0), (high, -1.0)):
            if limit is not None and not kernel.is_empty():
                kernel = kernel.trim_by_plane(tuple(sign * np.eye(3)[axis]), sign * limit)
        return Solid(kernel, self.sources)

    def simplified(self, by: float, name: str) -> Solid:
        """Return it under one name and with fewer triangles, none of its points further than ``by`` mm from where it was."""
        return Solid(_sound(self.kernel.as_original().simplify(by), name), self.sources).named(name)

    @cached_property
    def volume(self) -> float:
        """Volume in mm3."""
        return float(_sound(self.kernel, "volume").volume())

    @property
    def is_empty(self) -> bool:
        """Whether it holds no volume; where two solids touch the kernel may leave flat remains."""
        return not self.volume > 0

    @cached_property
    def bounds(self) -> tuple[Floats, Floats]:
        """Least and greatest corner, each (3,) float in mm; raises KernelError for an empty solid."""
        if self.is_empty:
            raise KernelError("bounds: nothing is there")
        box = np.asarray(self.kernel.bounding_box(), dtype=float)
        return box[:3], box[3:]

    def comes_near(self, other: Solid) -> bool:
        """Whether the boxes about the two overlap: they have nothing in common else."""
        if self.is_empty or other.is_empty:
            return False
        (low, high), (least, most) = self.bounds, other.bounds
        return bool((low < most).all() and (least < high).all())

    def mesh(self) -> tuple[Floats, Integers]:
        """Return ``(vertices (n, 3) mm, triangles (m, 3))``, counter-clockwise seen from outside."""
        mesh = _sound(self.kernel, "mesh").to_mesh64()
        return np.array(mesh.vert_properties)[:, :3], np.asarray(mesh.tri_verts).astype(np.intp)

    @cached_property
    def surface(self) -> Surface:
        """The boundary with the part name of each triangle; a face that no source accounts for is named ''."""
        mesh = _sound(self.kernel, "surface").to_mesh64()
        corners = np.asarray(mesh.tri_verts).astype(np.intp)
        face = np.asarray(mesh.face_id).astype(np.intp)
        starts = np.asarray(mesh.run_index).astype(np.intp) // 3
        names: dict[str, int] = {}
        part = np.zeros(len(corners), dtype=np.intp)
        for run, identity in enumerate(np.asarray(mesh.run_original_id)):
            span = slice(starts[run], starts[run + 1])
            labels = self.sources.get(int(identity), "")
            if isinstance(labels, str):
                part[span] = names.setdefault(labels, len(names))
                continue
            known, numbers = labels
            codes = np.array([names.setdefault(n, len(names)) for n in known], dtype=np.intp)
            part[span] = codes[numbers[face[span]]]
        vertices = np.array(mesh.vert_properties)[:, :3]
        return Surface(vertices[corners], part, tuple(names))

    def slice(self, axis: int, at: float, *, below: bool = False) -> CrossSection:
        """Return the cut across an axis just above a coordinate, or just below it, as the kernel's cross-section.

        Its plane is (y, z) for axis 0, (z, x) for axis 1, (x, y) for axis 2. The two differ only on a ledge.
        """
        return self._turned(axis, below=below).slice(-at if below else at)

    def _turned(self, axis: int, *, below: bool) -> Manifold:
        """Return the solid turned so that the axis points up, or down; kept, since the kernel cuts across z only."""
        kept = self._turns.get((axis, below))
        if kept is None:
            turn = np.roll(np.eye(3), -(axis + 1), axis=0)
            turn[2] *= -1.0 if below else 1.0
            kept = self.kernel.transform(np.column_stack([turn, np.zeros(3)]))
            self._turns[axis, below] = kept
        return kept

    @cached_property
    def _turns(self) -> dict[tuple[int, bool], Manifold]:
        return {}

    def ledges(self, axis: int) -> list[float]:
        """Return the coordinates, rising, at which faces lie flat across an axis: only there do two limits differ."""
        if axis not in self._ledges:
            along = self.surface.triangles[:, :, axis]
            flat = np.ptp(along, axis=1) < LEDGE
            self._ledges[axis] = sorted(set(along[flat].ravel().tolist()))
        return self._ledges[axis]

    @cached_property
    def _ledges(self) -> dict[int, list[float]]:
        return {}

    @property
    def is_whole(self) -> bool:
        """Whether it is one body, or none."""
        return len(_sound(self.kernel, "pieces").decompose()) < 2

    def pieces(self) -> list[Solid]:
        """Return the separate bodies it consists of, largest first."""
        parts = [Solid(kernel, self.sources) for kernel in _sound(self.kernel, "pieces").decompose()]
        return sorted(parts, key=lambda piece: -piece.volume)


@cache
def _sides(k: int) -> Integers:
    """Return the triangles of a prism's sides, by the numbers of its k corners below and then its k corners above."""
    i = np.arange(k)
    j = (i + 1) % k
    sides = np.concatenate([np.column_stack([i, j, j + k]), np.column_stack([i, j + k, i + k])])
    sides.flags.writeable = False
    return sides


def unite(solids: Iterable[Solid]) -> Solid:
    """Return the union of any number of solids, none included; of a single one itself."""
    rest = iter(solids)
    total = next(rest, Solid.empty())
    for solid in rest:
        total = total | solid
    return total


def twice_area(ring: Floats) -> float:
    """Return twice the area of a ring (k, 2), mm2; negative where it runs clockwise."""
    x, y = ring.T
    return float(x @ following(y) - y @ following(x))


def following(ring: Floats) -> Floats:
    """Return for each row of a ring (k, ...) the next one, the first after the last."""
    return np.concatenate([ring[1:], ring[:1]])


def distinct(points: Floats) -> tuple[Floats, Integers]:
    """Return the distinct of some points (n, k), sorted by their coordinates, and the place of each among them (n,)."""
    order = np.lexsort(points.T[::-1])
    rising = points[order]
    is_new = np.append(True, (rising[1:] != rising[:-1]).any(axis=1))[: len(points)]
    place = np.empty(len(points), dtype=np.intp)
    place[order] = np.cumsum(is_new) - 1
    return rising[is_new], place


def outline_of(rings: Sequence[Floats]) -> CrossSection:
    """Return the union of counterclockwise rings (k, 2) as the kernel's cross-section."""
    return CrossSection(list(rings), FillRule.NonZero)


def _numbered(names: Sequence[str]) -> tuple[tuple[str, ...], Integers]:
    """Return the distinct of some names, in the order in which they are first met, and the number of each among them."""
    numbers = {name: i for i, name in enumerate(dict.fromkeys(names))}
    return tuple(numbers), np.fromiter(map(numbers.__getitem__, names), dtype=np.intp, count=len(names))


def _sound(kernel: Manifold, what: str) -> Manifold:
    """Return the kernel's solid, or raise the KernelError that its status stands for."""
    status = kernel.status()
    if status != Error.NoError:
        raise KernelError(f"{what}: {STATUS_WORDS.get(status, str(status))}")
    return kernel
