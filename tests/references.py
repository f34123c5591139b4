"""The outside: general-purpose mesh libraries and slow, obvious versions, to hold the project's answers against."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pyvista as pv
import shapely
import trimesh

from tumblehome.body.closedmesh import MeshBody
from tumblehome.body.offsets import OffsetBody
from tumblehome.body.parts import Lined, Lining
from tumblehome.body.shell import Shell
from tumblehome.solids import Solid, unite

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import ArrayLike, NDArray

    from tumblehome.body.parts import Doorway, Part
    from tumblehome.cuts import Limit, Width
    from tumblehome.sweep import Prism

    Floats = NDArray[np.float64]

_TO_PLANE = {  # the two axes across a cut's axis, as rows: (y, z) across x, (x, y) across z
    0: np.array([[0, 1, 0, 0], [0, 0, 1, 0], [1, 0, 0, 0], [0, 0, 0, 1.0]]),
    2: np.eye(4),
}


def box_shell(
    *parts: Part, walls: tuple[float, float] = (800.0, 800.0), top: float = 1800.0, length: float = 3000.0,
    lining: Lining | None = None, doorways: tuple[Doorway, ...] = (),
) -> Shell:  # fmt: skip
    """A van of flat walls that lean from one half-breadth at the floor to another at the roof, both sides alike."""
    lining = lining or Lining()
    rows = np.array([-lining.floor, 0.0, top]) if lining.floor else np.array([0.0, top])
    breadths = np.tile([walls[0], *walls] if lining.floor else walls, (2, 1)).astype(float)
    body = OffsetBody(np.array([0.0, length]), rows, breadths, breadths, len(rows) - 1)
    return Shell("box", 3.0, Lined(body, lining), parts, doorways)


def shell_of(solid: Solid) -> Shell:
    """A shell whose bare body is a solid, without lining or parts."""
    return Shell("mesh", 3.0, Lined(MeshBody(solid), Lining()), ())


def as_trimesh(solid: Solid) -> Any:
    vertices, triangles = solid.mesh()
    return trimesh.Trimesh(vertices, triangles, process=False)


def trimesh_section(mesh: Any, axis: int, at: float) -> Any:
    """The cut by trimesh as one shapely geometry, in the plane of the two axes across it."""
    path = mesh.section(plane_origin=at * np.eye(3)[axis], plane_normal=np.eye(3)[axis])
    if path is None:
        return shapely.MultiPolygon()
    flat, _ = path.to_2D(to_2D=_TO_PLANE[axis])
    return shapely.union_all(flat.polygons_full)


def vtk_section(solid: Solid, axis: int, at: float) -> Any:
    """The cut by VTK's plane cutter as one shapely geometry; its loose segments are joined on a grid of 1e-7 mm."""
    vertices, triangles = solid.mesh()
    surface: Any = pv.PolyData
    cut = surface.from_regular_faces(vertices, triangles).slice(normal=np.eye(3)[axis], origin=at * np.eye(3)[axis])
    if not cut.n_cells:
        return shapely.MultiPolygon()
    plane = [1, 2] if axis == 0 else [0, 1]
    points = np.round(np.asarray(cut.points, dtype=float)[:, plane], 7)
    segments = points[np.asarray(cut.lines).reshape(-1, 3)[:, 1:]]
    return shapely.build_area(shapely.MultiLineString(list(segments[np.ptp(segments, axis=1).any(axis=1)])))


def frustum(sides: int, low: float, high: float, height: float) -> Solid:
    """A cone frustum as a regular many-sided one, its corners on the cone."""
    turn = 2 * np.pi * np.arange(sides) / sides
    circle = np.column_stack([np.cos(turn), np.sin(turn)])
    rings = [np.column_stack([radius * circle, np.full(sides, z)]) for radius, z in ((low, 0.0), (high, height))]
    return Solid.hull(np.concatenate(rings), "frustum")


def torus(major: float, minor: float, around: int, across: int) -> tuple[Solid, float]:
    """A torus about the z axis with its corners on the true one, and the most by which its faces leave that.

    A face spans one step of each turn, so it leaves the torus by less than the two chords' sagittas together.
    """
    u, v = np.meshgrid(2 * np.pi * np.arange(around) / around, 2 * np.pi * np.arange(across) / across, indexing="ij")
    breadth = major + minor * np.cos(v)
    vertices = np.stack([breadth * np.cos(u), breadth * np.sin(u), minor * np.sin(v)], axis=-1).reshape(-1, 3)
    a = np.arange(around * across).reshape(around, across)
    b, c, d = np.roll(a, -1, 0), np.roll(a, (-1, -1), (0, 1)), np.roll(a, -1, 1)
    triangles = np.concatenate([np.stack(t, axis=-1).reshape(-1, 3) for t in ((a, b, c), (a, c, d))])
    sagittas = (major + minor) * (1 - np.cos(np.pi / around)) + minor * (1 - np.cos(np.pi / across))
    return Solid.from_mesh(vertices, triangles, "torus"), float(sagittas)


def superellipse(a: float, b: float, power: float, corners: int) -> tuple[Floats, float]:
    """Corners (k, 2) on ``|x/a|^n + |y/b|^n = 1`` and the most by which a chord between them leaves it."""
    turn = 2 * np.pi * np.arange(8 * corners) / (8 * corners)
    cosine, sine = np.cos(turn), np.sin(turn)
    curve = np.column_stack(
        [a * np.sign(cosine) * abs(cosine) ** (2 / power), b * np.sign(sine) * abs(sine) ** (2 / power)]
    )
    polygon = curve[::8]
    chords = shapely.linestrings(np.stack([polygon, np.roll(polygon, -1, axis=0)], axis=1))
    between = shapely.points(curve.reshape(corners, 8, 2))
    return polygon, 1.1 * float(
        shapely.distance(between, chords[:, None]).max()
    )  # 10 % for what lies between the samples


def solid_of(body: Iterable[Prism]) -> Solid:
    return unite(Solid.prism(prism.outline, prism.bottom, prism.top, "body") for prism in body)


def is_free(body: Iterable[Prism], void: Solid) -> bool:
    """Whether nothing of a body sticks out of the void, by a boolean of the solid kernel."""
    return (solid_of(body) - void).is_empty


def nearest_hit(mesh: Any, origins: ArrayLike, direction: ArrayLike) -> Floats:
    """Distance from each (n, 3) origin to the first surface along one direction, in double precision; inf for none."""
    origins = np.asarray(origins, dtype=float)
    rays = np.tile(np.asarray(direction, dtype=float), (len(origins), 1))
    engine: Any = trimesh.ray.ray_triangle
    caster = engine.RayMeshIntersector(mesh)
    with np.errstate(all="ignore"):  # it divides by the area of triangles that have none
        _, ray, at = caster.intersects_id(origins, rays, multiple_hits=True, return_locations=True)
    found = np.full(len(origins), np.inf)
    np.minimum.at(found, ray, np.einsum("ij,j->i", at - origins[ray], rays[0]))
    return found


def embree_hits(mesh: Any, origins: ArrayLike, direction: ArrayLike) -> Floats:
    """The same by embree: many rays at once, but in single precision, good to about 1e-3 mm in a van."""
    origins = np.asarray(origins, dtype=float)
    rays = np.tile(np.asarray(direction, dtype=float), (len(origins), 1))
    at, ray, _ = trimesh.ray.ray_pyembree.RayMeshIntersector(mesh).intersects_location(
        origins, rays, multiple_hits=False
    )
    found = np.full(len(origins), np.inf)
    np.minimum.at(found, ray, np.einsum("ij,j->i", at - origins[ray], rays[0]))
    return found


def left(found: Width) -> Limit:
    """The left limit of a width that is there."""
    assert found.left is not None, found.blocked_by
    return found.left


def right(found: Width) -> Limit:
    """The right limit of a width that is there."""
    assert found.right is not None, found.blocked_by
    return found.right


def sides(found: Width) -> tuple[Limit, Limit]:
    """Both limits of a width that is there."""
    return left(found), right(found)
