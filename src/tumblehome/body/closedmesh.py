"""A body from a closed mesh: read with its declared unit and axes, proven sound, never silently mended."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from tumblehome.errors import KernelError, MeshError
from tumblehome.solids import Solid, unite

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Integers = NDArray[np.intp]

__all__ = ["MeshBody", "prove_sound", "read_mesh"]

_SUFFIXES = (".stl", ".obj", ".ply", ".glb")
_DIAGONAL = 0.5 * 2**0.5
_ROUNDING = 1e-9
"""Share of a triangle's height by which rounding may put a point on its edge outside it."""


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
    vertices = (vertices - datum) @ turn.T * millimeters
    prove_sound(vertices, triangles, path)
    try:
        return Solid.from_mesh(vertices, triangles, name or _names_by_direction(vertices, triangles))
    except KernelError as fault:
        raise MeshError(str(fault), file=path) from fault


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
    import trimesh  # noqa: PLC0415  (only shells that come as meshes pay for it)

    if path.suffix.lower() not in _SUFFIXES:
        raise MeshError(f"'{path.suffix}' is no mesh this program reads; allowed: {', '.join(_SUFFIXES)}", file=path)
    if not path.is_file():
        raise MeshError("the mesh file does not exist", file=path)
    try:
        mesh = trimesh.load(path, force="mesh", process=False)
    except Exception as fault:  # the loaders of a foreign library raise anything at all
        raise MeshError(f"not readable as {path.suffix[1:].upper()}: {fault}", file=path) from fault
    vertices = np.asarray(getattr(mesh, "vertices", ()), dtype=float)
    faces = np.asarray(getattr(mesh, "faces", ()), dtype=np.intp)
    if len(faces) == 0:
        raise MeshError("holds no triangles", file=path)
    if not np.isfinite(vertices).all():
        raise MeshError(f"{int((~np.isfinite(vertices)).any(axis=1).sum())} vertices are not finite numbers", file=path)
    unique, index = np.unique(vertices, axis=0, return_inverse=True)
    return unique, index.reshape(-1)[faces]


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
    for fault in (_zero_area, _open_edges, _inside_out, _several_bodies, _crossings):
        words = fault(vertices, triangles)
        if words:
            raise MeshError(words, file=path)


def _place(point: Floats) -> str:
    return "({:.1f}, {:.1f}, {:.1f}) mm".format(*point)


def _zero_area(vertices: Floats, triangles: Integers) -> str | None:
    a, b, c = (vertices[triangles[:, i]] for i in range(3))
    flat = np.flatnonzero(np.linalg.norm(np.cross(b - a, c - a), axis=1) == 0)
    if not len(flat):
        return None
    return f"{len(flat)} triangles have no area, the first at {_place(a[flat[0]])}; remove them in the program that made the mesh"


def _half_edges(triangles: Integers) -> Integers:
    return np.concatenate([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]])


def _open_edges(vertices: Floats, triangles: Integers) -> str | None:
    edges = _half_edges(triangles)
    size = int(triangles.max()) + 1
    forward, backward = edges[:, 0] * size + edges[:, 1], edges[:, 1] * size + edges[:, 0]
    kinds, counts = np.unique(forward, return_counts=True)
    back = np.searchsorted(kinds, backward)
    back[back == len(kinds)] = 0
    partner = np.where(kinds[back] == backward, counts[back], 0)
    own = counts[np.searchsorted(kinds, forward)]
    bad = np.flatnonzero((partner != 1) | (own != 1))
    if not len(bad):
        return None
    first = edges[bad[0]]
    ends = f"{_place(vertices[first[0]])} to {_place(vertices[first[1]])}"
    loose = int((partner[bad] == 0).sum())
    if loose == len(bad) and (own[bad] == 1).all():
        return f"the mesh is open: {loose} edges border one face only, the first from {ends}; close it in the program that made it"
    return f"{len(bad)} edges do not join exactly two faces that look the same way, the first from {ends}"


def _several_bodies(vertices: Floats, triangles: Integers) -> str | None:
    bodies = Solid.from_mesh(vertices, triangles, "").pieces()
    if len(bodies) == 1:
        return None
    places = "; ".join(_place(body.mesh()[0][0]) for body in bodies[:3])
    return f"the mesh holds {len(bodies)} separate bodies, not one interior; they begin at {places}"


def _inside_out(vertices: Floats, triangles: Integers) -> str | None:
    a, b, c = (vertices[triangles[:, i]] for i in range(3))
    volume = float(np.einsum("ij,ij->", a, np.cross(b, c)) / 6)
    if volume > 0:
        return None
    return f"the mesh is turned inside out (its volume comes to {volume / 1e6:.1f} L); flip its faces so that they look outward"


def _crossings(vertices: Floats, triangles: Integers) -> str | None:
    """Find edges that pierce triangles which do not share a corner with them."""
    corners = vertices[triangles]
    low, high = corners.min(axis=1), corners.max(axis=1)
    tree = shapely.STRtree(shapely.box(low[:, 0], low[:, 1], high[:, 0], high[:, 1]))
    edges, places = [], []
    for chunk in np.array_split(np.arange(len(triangles)), max(1, len(triangles) // 20_000)):
        one, two = tree.query(shapely.box(low[chunk, 0], low[chunk, 1], high[chunk, 0], high[chunk, 1]))
        one = chunk[one]
        keep = (low[one, 2] <= high[two, 2]) & (low[two, 2] <= high[one, 2]) & (one != two)
        pierced, where = _pierced(vertices, triangles, one[keep], two[keep])
        edges.append(pierced)
        places.append(where)
    count, where = len(np.unique(np.concatenate(edges), axis=0)), np.concatenate(places)
    if not count:
        return None
    return f"the mesh crosses itself: {count} edges pierce or touch another face, the first at {_place(where[0])}"


def _pierced(vertices: Floats, triangles: Integers, one: Integers, two: Integers) -> tuple[Integers, Floats]:
    """Return the edges (k, 2) of triangles ``one`` that meet triangles ``two`` without sharing a corner, and where (k, 3)."""
    apex, p, q = (vertices[triangles[two, i]] for i in range(3))
    normal = np.cross(p - apex, q - apex)
    edges, places = [], []
    for i, j in ((0, 1), (1, 2), (2, 0)):
        start, end = triangles[one, i], triangles[one, j]
        apart = ((start[:, None] != triangles[two]) & (end[:, None] != triangles[two])).all(axis=1)
        a, b = vertices[start], vertices[end]
        da, db = np.einsum("ij,ij->i", a - apex, normal), np.einsum("ij,ij->i", b - apex, normal)
        through = apart & (start < end) & (da * db <= 0) & (da != db)  # a closed mesh holds every edge both ways round
        at = a[through] + (b - a)[through] * (da[through] / (da - db)[through])[:, None]
        inside = _within(at, apex[through], p[through], q[through], normal[through])
        edges.append(np.column_stack([start, end])[through][inside])
        places.append(at[inside])
    return np.concatenate(edges), np.concatenate(places)


def _within(at: Floats, a: Floats, b: Floats, c: Floats, normal: Floats) -> NDArray[np.bool_]:
    """Return which points on the planes of triangles lie in them, edges included."""
    least = -_ROUNDING * np.einsum("ij,ij->i", normal, normal)
    sides = [np.einsum("ij,ij->i", np.cross(v - u, at - u), normal) for u, v in ((a, b), (b, c), (c, a))]
    inside: NDArray[np.bool_] = (sides[0] >= least) & (sides[1] >= least) & (sides[2] >= least)
    return inside


def _names_by_direction(vertices: Floats, triangles: Integers) -> list[str]:
    """Name each face by the axis it looks along most; a wall that leans less than 45 degrees stays a wall."""
    a, b, c = (vertices[triangles[:, i]] for i in range(3))
    normal = np.cross(b - a, c - a)
    normal /= np.linalg.norm(normal, axis=1)[:, None]
    names = (("front", "rear"), ("left wall", "right wall"), ("floor", "roof"))
    axis = np.where(np.abs(normal[:, 2]) > _DIAGONAL, 2, np.where(np.abs(normal[:, 0]) > np.abs(normal[:, 1]), 0, 1))
    positive = normal[np.arange(len(normal)), axis] > 0
    return [names[int(k)][int(p)] for k, p in zip(axis, positive, strict=True)]
