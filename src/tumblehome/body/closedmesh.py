"""A body from a closed mesh: read with its declared unit and axes, proven sound, never silently mended."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, Final

import numpy as np

from tumblehome.body.crossing import crossings
from tumblehome.errors import KernelError, MeshError
from tumblehome.lengths import told, volume_words
from tumblehome.records import dataclass
from tumblehome.solids import Solid, distinct, unite

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

    from tumblehome.errors import Words

    Floats = NDArray[np.float64]
    Integers = NDArray[np.intp]

__all__ = ["MeshBody", "prove_sound", "read_mesh"]

_SUFFIXES: Final = (".stl", ".obj", ".ply", ".glb")
_DIAGONAL: Final = 0.5 * 2**0.5
_FACET: Final = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])
"""A facet of a binary STL file, after 80 bytes of header and 4 that count them (3D Systems, StereoLithography Interface
Specification, 1988; value from memory)."""


@dataclass(frozen=True, eq=False)
class MeshBody:
    """The bare body as a closed mesh.

    A skin that moves in is the mesh cut with copies of itself shifted sideways and up or down, so its thickness is
    measured along the axes, as a tape measures a width, not square to the wall. That is exact for any closed mesh.
    """

    solid: Solid
    loft_deviation: float = 0.0

    def inset(self, walls: float, roof: float, floor: float) -> Solid:
        """Return the body with its walls moved in along y, its roof down and its floor up, in mm; negative moves out."""
        moves = [
            (walls, np.array([(0.0, -1.0, 0.0), (0.0, 1.0, 0.0)])),
            (roof, np.array([(0.0, 0.0, -1.0)])),
            (floor, np.array([(0.0, 0.0, 1.0)])),
        ]
        outer = self.solid
        for depth, ways in moves:
            if depth < 0:
                outer = unite([outer, *(outer.moved(depth * way) for way in ways)])
        inner = outer
        for depth, ways in moves:
            for way in ways if depth > 0 else ():
                inner = inner & outer.moved(depth * way)
        return inner


def read_mesh(
    path: Path, name: str | None = None, *, millimeters: float, axes: tuple[str, str, str], datum: Floats
) -> Solid:
    """Read a closed mesh into the van's frame.

    Parameters
    ----------
    path : Path
        STL, OBJ, PLY or GLB.
    name : str, optional
        Name of all its faces; without one they are named by the way they look ("left wall", "roof", ...).
    millimeters : float
        What one unit of the file is worth.
    axes : three of "+x", "-x", "+y", ...
        The file's axes that point rearward, right and up.
    datum : (3,) float
        The van's origin in the file's own coordinates and unit.

    Raises
    ------
    MeshError
        For an unreadable file, axes that mirror the van, or any fault that ``prove_sound`` finds.
    """
    turn = _rotation(axes, path)
    vertices, triangles = _load(path)
    return _proven(_Mesh((vertices - datum) @ turn.T * millimeters, triangles), name or None, path)


def _rotation(axes: tuple[str, str, str], path: Path) -> Floats:
    """Return the (3, 3) matrix whose rows pick the file's rearward, right and up axes."""
    rows = np.zeros((3, 3))
    for i, axis in enumerate(axes):
        rows[i, "xyz".index(axis[1])] = -1.0 if axis[0] == "-" else 1.0
    determinant = round(float(np.linalg.det(rows)))
    if determinant != 1:
        why = "mirror the van (left would become right)" if determinant == -1 else "name one axis twice"
        raise MeshError(
            f"axes {', '.join(axes)} {why}; rearward, right and up must form a right-handed frame", file=path
        )
    return rows


def _load(path: Path) -> tuple[Floats, Integers]:
    """Return the distinct vertices (n, 3) of a file, sorted, and its triangles (m, 3)."""
    if path.suffix.lower() not in _SUFFIXES:
        raise MeshError(f"'{path.suffix}' is no mesh this program reads; allowed: {', '.join(_SUFFIXES)}", file=path)
    if not path.is_file():
        raise MeshError("the mesh file does not exist", file=path)
    vertices, faces = _binary_stl(path) or _foreign(path)
    if len(faces) == 0:
        raise MeshError("holds no triangles", file=path)
    if not np.isfinite(vertices).all():
        raise MeshError(f"{int((~np.isfinite(vertices)).any(axis=1).sum())} vertices are not finite numbers", file=path)
    unique, index = distinct(vertices)
    return unique, index[faces]


def _binary_stl(path: Path) -> tuple[Floats, Integers] | None:
    """Return the three vertices of each facet of a binary STL file, and its facets; nothing where its length tells it is none."""
    with path.open("rb") as file:
        count = int.from_bytes(file.read(84)[80:], "little")
        if path.suffix.lower() != ".stl" or path.stat().st_size != 84 + count * _FACET.itemsize:
            return None
        corners = np.fromfile(file, dtype=_FACET, count=count)["corners"]
    return corners.reshape(-1, 3).astype(np.float64), np.arange(3 * count, dtype=np.intp).reshape(-1, 3)


def _foreign(path: Path) -> tuple[Floats, Integers]:
    """Return the vertices and faces of any other file, as a general-purpose library reads it."""
    import trimesh  # noqa: PLC0415  (only shells that come as such meshes pay for it)

    try:
        mesh = trimesh.load(path, force="mesh", process=False)
    except Exception as fault:  # the loaders of a foreign library raise anything at all
        raise MeshError(f"not readable as {path.suffix[1:].upper()}: {fault}", file=path) from fault
    vertices = np.asarray(getattr(mesh, "vertices", ()), dtype=float)
    return vertices, np.asarray(getattr(mesh, "faces", ()), dtype=np.intp)


@dataclass(frozen=True, eq=False)
class _Mesh:
    """``vertices`` (n, 3) float, mm, and ``triangles`` (m, 3) int."""

    vertices: Floats
    triangles: Integers

    @cached_property
    def normals(self) -> Floats:
        """The normals (m, 3), twice a triangle's area long, mm2."""
        a, b, c = (self.vertices[self.triangles[:, i]] for i in range(3))
        return np.cross(b - a, c - a)


def prove_sound(vertices: Floats, triangles: Integers, path: Path | None = None) -> None:
    """Prove that a mesh is one closed, outward-facing solid that does not cross itself.

    Parameters
    ----------
    vertices : (n, 3) float, mm; triangles : (m, 3) int

    Raises
    ------
    MeshError
        Naming the fault, how often it occurs, and where it is first met, in millimeters of the van's frame.
    """
    _proven(_Mesh(vertices, triangles), "", path)


def _proven(mesh: _Mesh, name: str | None, path: Path | None) -> Solid:
    """Return the solid that a mesh is; one name for all of its faces, or each by the way it looks."""
    for fault in (_zero_area, _open_edges, _inside_out):
        _refuse(fault(mesh), path)
    try:
        solid = Solid.from_mesh(mesh.vertices, mesh.triangles, _names_by_direction(mesh) if name is None else name)
    except KernelError as fault:
        raise MeshError(str(fault), file=path) from fault
    _refuse(_several_bodies(solid), path)
    _refuse(_crossings(mesh), path)
    return solid


def _refuse(words: Words | None, path: Path | None) -> None:
    if words:
        raise MeshError(words, file=path)


def _zero_area(mesh: _Mesh) -> Words | None:
    flat = np.flatnonzero(~mesh.normals.any(axis=1))
    if not len(flat):
        return None
    words = f"{len(flat)} triangles have no area, the first at {{}}; remove them in the program that made the mesh"
    return told(words, mesh.vertices[mesh.triangles[flat[0], 0]].tolist())


def _open_edges(mesh: _Mesh) -> Words | None:
    start, end = mesh.triangles.T, np.roll(mesh.triangles, -1, axis=1).T
    size = int(start.max()) + 1
    forward, backward = (start * size + end).ravel(), (end * size + start).ravel()
    rising = np.sort(forward)
    if (rising[1:] != rising[:-1]).all() and np.array_equal(rising, np.sort(backward)):
        return None
    kinds, counts = np.unique(forward, return_counts=True)
    back = np.searchsorted(kinds, backward)
    back[back == len(kinds)] = 0
    partner = np.where(kinds[back] == backward, counts[back], 0)
    own = counts[np.searchsorted(kinds, forward)]
    bad = np.flatnonzero((partner != 1) | (own != 1))
    ends = mesh.vertices[list(divmod(int(forward[bad[0]]), size))].tolist()
    loose = int((partner[bad] == 0).sum())
    first = "the first from {} to {}"
    if loose == len(bad) and (own[bad] == 1).all():
        words = f"the mesh is open: {loose} edges border one face only, {first}; close it in the program that made it"
    else:
        words = f"{len(bad)} edges do not join exactly two faces that look the same way, {first}"
    return told(words, *ends)


def _several_bodies(solid: Solid) -> Words | None:
    bodies = solid.pieces()
    if len(bodies) == 1:
        return None
    begin = [body.mesh()[0][0].tolist() for body in bodies[:3]]
    places = "; ".join(["{}"] * len(begin))
    return told(f"the mesh holds {len(bodies)} separate bodies instead of one; they begin at {places}", *begin)


def _inside_out(mesh: _Mesh) -> Words | None:
    volume = float(np.einsum("ij,ij->", mesh.vertices[mesh.triangles[:, 0]], mesh.normals) / 6)
    if volume > 0:
        return None
    return lambda unit: (
        f"the mesh is turned inside out (its volume comes to {volume_words(volume / 1e6, unit)}); "
        "flip its faces so that they look outward"
    )


def _crossings(mesh: _Mesh) -> Words | None:
    edges, places = crossings(mesh.vertices, mesh.triangles)
    if not len(edges):
        return None
    distinct, first = np.unique(edges, axis=0, return_index=True)
    words = f"the mesh crosses itself: {len(distinct)} edges pierce or touch another face, the first at {{}}"
    return told(words, places[first[0]].tolist())


def _names_by_direction(mesh: _Mesh) -> list[str]:
    """Name each face by the axis it looks along most; a wall that leans less than 45 degrees stays a wall."""
    x, y, z = np.abs(mesh.normals).T
    axis = np.where(z > _DIAGONAL * np.linalg.norm(mesh.normals, axis=1), 2, np.where(x > y, 0, 1))
    positive = np.take_along_axis(mesh.normals, axis[:, None], axis=1)[:, 0] > 0
    names = np.array(["front", "rear", "left wall", "right wall", "floor", "roof"], dtype=object)
    named: list[str] = names[2 * axis + positive].tolist()
    return named
