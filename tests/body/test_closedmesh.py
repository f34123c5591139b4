"""A closed mesh as the body: every format, unit and frame; and each fault told in words, with its place."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
import trimesh
from hypothesis import strategies as st

from references import as_trimesh, left, right, shell_of, torus
from strategies import law, plans
from tumblehome.body.closedmesh import MeshBody, prove_sound, read_mesh
from tumblehome.body.parts import Lined, Lining, Sheet
from tumblehome.body.shell import Shell
from tumblehome.cuts import section, width
from tumblehome.errors import MeshError
from tumblehome.lengths import format_volume
from tumblehome.solids import Solid
from vans import EXACT

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from numpy.typing import NDArray

    from strategies import Plan

    Mesh = tuple[NDArray[np.float64], NDArray[np.intp]]

VAN = Solid.hull(
    np.array([(x, y, z) for x in (0, 3000) for z, b in ((0, 900), (1900, 700)) for y in (-b, b)], dtype=float), "van"
)
PLAIN = ("+x", "+y", "+z")
HOW_WRITTEN = [("stl", "stl"), ("stl", "stl_ascii"), ("obj", "obj"), ("ply", "ply"), ("glb", "glb")]
UNITS = [("mm", 1.0), ("in", 25.4), ("m", 1000.0)]


def _read(
    path: Path,
    millimeters: float = 1.0,
    axes: tuple[str, str, str] = PLAIN,
    datum: Any = (0.0, 0.0, 0.0),
    name: str | None = None,
) -> Solid:
    return read_mesh(path, name, millimeters=millimeters, axes=axes, datum=np.array(datum, dtype=float))


def _mesh() -> Mesh:
    vertices, triangles = VAN.mesh()
    return vertices.copy(), triangles.copy()


@pytest.mark.parametrize(("suffix", "kind"), HOW_WRITTEN)
@pytest.mark.parametrize(("unit", "millimeters"), UNITS)
def test_every_format_in_every_unit(tmp_path: Path, suffix: str, kind: str, unit: str, millimeters: float) -> None:
    """trimesh writes; STL and GLB hold single precision (STL: 80 + 4 + 50 bytes a facet), which bounds the deviation."""
    vertices, triangles = _mesh()
    file = tmp_path / f"van in {unit}.{suffix}"
    trimesh.Trimesh(vertices / millimeters, triangles, process=False).export(file, file_type=kind)
    found = _read(file, millimeters)
    assert found.volume == pytest.approx(VAN.volume, rel=1e-6)
    assert np.allclose(found.bounds, VAN.bounds, rtol=0, atol=3000 * 2**-23)
    assert set(found.surface.names) == {"left wall", "right wall", "roof", "floor", "front", "rear"}


@pytest.mark.parametrize(
    ("axes", "file_axes"),
    [
        (("+x", "+y", "+z"), np.eye(3)),
        (("+x", "-z", "+y"), [(1, 0, 0), (0, 0, 1), (0, -1, 0)]),  # glTF 2.0: +Y up
        (("-x", "+y", "-z"), [(-1, 0, 0), (0, 1, 0), (0, 0, -1)]),  # SAE J670: x forward, y right, z down
        (
            ("-x", "-y", "+z"),
            [(-1, 0, 0), (0, -1, 0), (0, 0, 1)],
        ),  # ISO 8855: x forward, y left, z up (value from memory)
        (("+y", "+z", "+x"), [(0, 0, 1), (1, 0, 0), (0, 1, 0)]),
    ],
)
def test_the_files_axes_are_turned_into_the_vans(tmp_path: Path, axes: tuple[str, str, str], file_axes: Any) -> None:
    """File coordinates are the van's under a rotation, columns rearward, right and up; the datum is in the file's own frame."""
    vertices, triangles = _mesh()
    wedge = vertices * (1, 1, 1)
    wedge[vertices[:, 1] > 0, 1] += 50  # so that left and right differ
    rotation = np.array(file_axes, dtype=float)
    datum = np.array([11.0, -7.0, 5.0])
    file = tmp_path / "van.ply"
    trimesh.Trimesh(wedge @ rotation.T + datum, triangles, process=False).export(file)
    found = _read(file, axes=axes, datum=datum)
    assert np.allclose(found.bounds, [wedge.min(axis=0), wedge.max(axis=0)], rtol=0, atol=1e-9)
    assert right(width(shell_of(found), height=1, station=1500)).half_breadth > 949


@pytest.mark.parametrize(
    ("axes", "words"),
    [
        (("+x", "-y", "+z"), "mirror the van"),
        (("-x", "+y", "+z"), "mirror the van"),
        (("+x", "+z", "+y"), "mirror the van"),
        (("+x", "+x", "+z"), "one axis twice"),
        (("+x", "+y", "-y"), "one axis twice"),
    ],
)
def test_axes_that_mirror_are_refused(tmp_path: Path, axes: tuple[str, str, str], words: str) -> None:
    """Only rearward, right, up with determinant +1 keeps left left; the mesh need not even be there."""
    with pytest.raises(MeshError, match=words) as caught:
        _read(tmp_path / "none.stl", axes=axes)
    assert caught.value.file == tmp_path / "none.stl"


def test_minus_zero_is_zero(tmp_path: Path) -> None:
    """ASCII STL often writes -0; IEEE 754 holds it equal to 0, so the corners still meet."""
    file = tmp_path / "van.stl"
    trimesh.Trimesh(*_mesh(), process=False).export(file, file_type="stl_ascii")
    text = file.read_text()
    file.write_text(re.sub(r"vertex 0(\.0*)? ", "vertex -0.0 ", text, count=3))
    assert "-0.0" in file.read_text()
    assert _read(file).volume == pytest.approx(VAN.volume)


@pytest.mark.parametrize("header", [b"solid van", b"made by hand"])
def test_a_binary_stl_is_known_by_its_length(tmp_path: Path, header: bytes) -> None:
    """80 bytes of any header, a count, 50 bytes a facet, its attribute of any value; many begin as if they were text."""
    file = tmp_path / "van.STL"
    trimesh.Trimesh(*_mesh(), process=False).export(file, file_type="stl")
    content = bytearray(file.read_bytes())
    content[:80] = header.ljust(80)
    content[84 + 48 : 84 + 50] = b"\xff\xff"
    file.write_bytes(content)
    assert len(content) == 84 + 50 * int.from_bytes(content[80:84], "little")
    assert _read(file).volume == pytest.approx(trimesh.load_mesh(file).volume)
    file.write_bytes(content[:-1])
    with pytest.raises(MeshError, match=r"no triangles|not readable as STL"):
        _read(file)


def test_a_large_mesh_holds_what_was_written(tmp_path: Path) -> None:
    """Twenty thousand facets without shared corners; volume and area by trimesh, which merges them its own way."""
    solid, _ = torus(3000.0, 1000.0, 125, 80)
    file = tmp_path / "torus.stl"
    as_trimesh(solid).export(file)
    found, other = _read(file), trimesh.load_mesh(file)
    vertices, triangles = found.mesh()
    assert (len(vertices), len(triangles)) == (len(other.vertices), len(other.faces)) == (10_000, 20_000)
    assert found.volume == pytest.approx(other.volume, rel=1e-9)
    assert np.linalg.norm(found.surface.normals, axis=1).sum() / 2 == pytest.approx(other.area, rel=1e-9)


def test_faces_of_four_corners_and_one_name(tmp_path: Path) -> None:
    file = tmp_path / "cube.obj"
    corners = "\n".join(f"v {x} {y} {z}" for z in (0, 1) for x, y in ((0, 0), (1, 0), (1, 1), (0, 1)))
    file.write_text(corners + "\nf 4 3 2 1\nf 5 6 7 8\nf 1 2 6 5\nf 2 3 7 6\nf 3 4 8 7\nf 4 1 5 8\n")
    found = _read(file, 1000.0, name="tank")
    assert found.volume == pytest.approx(1e9)
    assert found.surface.names == ("tank",)


# Faults of the mesh


def _with(vertices: Any, triangles: Any) -> None:
    prove_sound(np.asarray(vertices, dtype=float), np.asarray(triangles))


def test_a_sound_mesh_is_sound() -> None:
    solid, _ = torus(3000.0, 1000.0, 48, 24)
    prove_sound(*solid.mesh())
    prove_sound(*_mesh())


def test_an_open_mesh_is_told_with_the_count_and_place_of_its_edges() -> None:
    """Of a triangle taken away its three edges remain, each bordering one face only."""
    vertices, triangles = _mesh()
    hole = {tuple(sorted(map(float, vertices[i]))) for i in triangles[0]}
    with pytest.raises(MeshError, match="open: 3 edges border one face only") as caught:
        _with(vertices, triangles[1:])
    ends = re.findall(r"\(([-\d.]+), ([-\d.]+), ([-\d.]+)\) mm", str(caught.value))
    assert len(ends) == 2
    assert {tuple(sorted(map(float, end))) for end in ends} <= hole


def test_two_triangles_apart_leave_six_edges() -> None:
    solid, _ = torus(3000.0, 1000.0, 24, 12)
    vertices, triangles = solid.mesh()
    apart = next(i for i in range(1, len(triangles)) if not set(triangles[i]) & set(triangles[0]))
    with pytest.raises(MeshError, match="open: 6 edges"):
        _with(vertices, np.delete(triangles, [0, apart], axis=0))


def test_an_inside_out_mesh_is_told_its_negative_volume() -> None:
    vertices, triangles = _mesh()
    with pytest.raises(MeshError, match=rf"inside out .*-{format_volume(VAN.volume / 1e6, 'L')}"):
        _with(vertices, triangles[:, ::-1])


def test_one_face_turned_round_is_told() -> None:
    vertices, triangles = _mesh()
    triangles[0] = triangles[0, ::-1]
    with pytest.raises(
        MeshError, match=r"edges do not join exactly two faces that look the same way, the first from \("
    ):
        _with(vertices, triangles)


def test_a_face_that_stands_twice_is_told() -> None:
    vertices, triangles = _mesh()
    with pytest.raises(MeshError, match="do not join exactly two faces"):
        _with(vertices, np.concatenate([triangles, triangles[:1]]))


@pytest.mark.parametrize(
    ("shift", "scale", "turn"),
    [((5000, 0, 0), 1.0, 1), ((500, 3, 5), 1.0, 1), ((700, 0, 400), 0.4, 1), ((700, 0, 400), 0.4, -1)],
)
def test_two_bodies_are_told_apart_overlapping_or_nested(shift: Any, scale: float, turn: int) -> None:
    """Beside each other, overlapping, one within the other, and a closed cavity: none is one interior."""
    vertices, triangles = _mesh()
    both = np.concatenate([vertices, vertices * scale + shift])
    with pytest.raises(MeshError, match=r"2 separate bodies.*\(.*\) mm; \(.*\) mm"):
        _with(both, np.concatenate([triangles, triangles[:, ::turn] + len(vertices)]))


def _dented_cube(depth: float, *, split_floor: bool) -> Mesh:
    """A cube of a meter about the origin whose roof's middle is pushed down to ``depth``."""
    corners = [(x, y, z) for z in (-500, 500) for x, y in ((-500, -500), (500, -500), (500, 500), (-500, 500))]
    faces = [f for i in range(4) for j in [(i + 1) % 4] for f in ((i, j, j + 4), (i, j + 4, i + 4), (i + 4, j + 4, 8))]
    floor = [((i + 1) % 4, i, 9) for i in range(4)] if split_floor else [(0, 2, 1), (0, 3, 2)]
    points = [*corners, (0, 0, depth), *([(0, 0, -500)] if split_floor else [])]
    return np.array(points, dtype=float), np.array([*faces, *floor], dtype=np.intp)


@pytest.mark.parametrize("split_floor", [False, True])
@pytest.mark.parametrize("depth", [-1000.0, -1500.0, -510.0])
def test_a_mesh_that_crosses_itself_is_told_where(depth: float, split_floor: bool) -> None:
    """A dent as deep as to come out below: its edges pierce the floor, some exactly on the floor's own edges."""
    with pytest.raises(
        MeshError, match=r"crosses itself: \d+ edges pierce or touch another face, the first at"
    ) as caught:
        _with(*_dented_cube(depth, split_floor=split_floor))
    (place,) = re.findall(r"at \(([-\d.]+), ([-\d.]+), ([-\d.]+)\) mm", str(caught.value))
    assert abs(float(place[2])) <= 500
    shift = np.array([3.3, 77.7, -1.1])
    vertices, triangles = _dented_cube(depth, split_floor=split_floor)
    with pytest.raises(MeshError, match="crosses itself"):
        _with(vertices * 0.7123 + shift, triangles)


@pytest.mark.parametrize("split_floor", [False, True])
@pytest.mark.parametrize("depth", [-499.0, 0.0, 500.0, 700.0])
def test_a_dent_that_stays_inside_is_sound(depth: float, split_floor: bool) -> None:
    vertices, triangles = _dented_cube(depth, split_floor=split_floor)
    prove_sound(vertices, triangles)
    assert Solid.from_mesh(vertices, triangles, "dent").volume == pytest.approx(1e9 + 1e6 * (depth - 500) / 3)


def test_a_crossing_exactly_at_the_corners_of_a_dent_is_told() -> None:
    """Four corners of the dent lie in the floor's plane and its tip below: no edge passes through the floor strictly."""
    square = ((-1, -1), (1, -1), (1, 1), (-1, 1))
    rings = [(size * x, size * y, z) for size, z in ((500, -500), (500, 500), (100, -500)) for x, y in square]
    points = np.array([*rings, (0, 0, -700)], dtype=float)
    faces = [(0, 2, 1), (0, 3, 2)]
    for i in range(4):
        j = (i + 1) % 4
        faces += [(i, j, j + 4), (i, j + 4, i + 4), (i + 4, j + 4, j + 8), (i + 4, j + 8, i + 8), (i + 8, j + 8, 12)]
    with pytest.raises(MeshError, match="crosses itself"):
        _with(points, np.array(faces))
    points[8:12, 2] += 1
    points[12, 2] = -499
    prove_sound(points, np.array(faces))


def test_triangles_without_area_are_counted() -> None:
    vertices, triangles = _mesh()
    vertices[triangles[0, 0]] = vertices[triangles[0, 1]]
    with pytest.raises(MeshError, match=r"\d+ triangles have no area, the first at \("):
        _with(vertices, triangles)


@law(plans(parts=False), st.integers(0, 10_000), examples=20)
def test_a_sound_van_is_proven_and_with_any_face_missing_refused(plan: Plan, which: int) -> None:
    vertices, triangles = plan.shell.lined.bare.mesh()
    prove_sound(vertices, triangles)
    with pytest.raises(MeshError, match="the mesh is open: 3 edges"):
        prove_sound(vertices, np.delete(triangles, which % len(triangles), axis=0))


# Faults of the file


@pytest.mark.parametrize("suffix", ["stl", "obj", "ply", "glb"])
@pytest.mark.parametrize(
    "content", [b"", b"hello, this is no mesh\n", b"\0" * 200, b"\xff" * 500, b"solid nothing\nendsolid nothing\n"]
)
def test_a_file_that_is_no_mesh_is_told_by_name(tmp_path: Path, suffix: str, content: bytes) -> None:
    file = tmp_path / f"bad.{suffix}"
    file.write_bytes(content)
    with pytest.raises(MeshError, match=r"no triangles|not readable as") as caught:
        _read(file)
    assert caught.value.file == file
    assert len(str(caught.value).splitlines()) == 1


@pytest.mark.parametrize(
    ("name", "words"),
    [("van.step", "allowed: .stl, .obj, .ply, .glb"), ("gone.stl", "does not exist"), ("folder.stl", "does not exist")],
)
def test_a_file_that_cannot_be_one_is_told(tmp_path: Path, name: str, words: str) -> None:
    (tmp_path / "van.step").write_text("x")
    (tmp_path / "folder.stl").mkdir()
    with pytest.raises(MeshError, match=re.escape(words)):
        _read(tmp_path / name)


@pytest.mark.parametrize("suffix", ["stl", "ply", "glb", "obj"])
def test_a_vertex_that_is_no_number_is_told(tmp_path: Path, suffix: str) -> None:
    vertices, triangles = _mesh()
    vertices[0, 1] = np.nan
    file = tmp_path / f"nan.{suffix}"
    trimesh.Trimesh(vertices, triangles, process=False).export(file)
    with pytest.raises(MeshError, match=r"not finite numbers|not readable"):
        _read(file)


# A skin that moves in along the axes


@pytest.mark.parametrize("make", [lambda: VAN, lambda: VAN - Solid.box((1000, -900, -10), (1400, -300, 500), "notch")])
def test_a_meshs_lining_is_measured_along_the_axes(make: Callable[[], Solid]) -> None:
    """As a tape measures: each half-breadth loses the walls' thickness along y, roof and floor theirs along z."""
    solid = make()
    shell = Shell(
        "mesh",
        3.0,
        Lined(MeshBody(solid), Lining(40.0, 30.0, 20.0)),
        (Sheet("rib", "rib", None, (2000.0, 2050.0), 25.0, ("right",), False, None),),
    )
    bare = shell_of(solid)
    for height in (300.0, 900.0, 1500.0):
        for station, rib in ((200, 0), (1200, 0), (2025, 25)):
            one, two = width(bare, height=height, station=station), width(shell, height=height, station=station)
            assert left(two).half_breadth == pytest.approx(left(one).half_breadth - 40, abs=EXACT)
            assert right(two).half_breadth == pytest.approx(right(one).half_breadth - 40 - rib, abs=EXACT)
    low, high = shell.heights
    assert (low, high) == pytest.approx((20, 1870), abs=EXACT)


def test_a_mesh_moved_out_gives_a_recess_its_depth() -> None:
    """The union of the shifted copies; its area by a rectangle's closed form."""
    cube = MeshBody(Solid.box((0, -800, 0), (3000, 800, 1800), "box"))
    out = section(cube.inset(-30, -20, -10), station=1500)
    assert out.polygons[0].bounds == pytest.approx((-830, -10, 830, 1820), abs=EXACT)
    assert as_trimesh(cube.inset(0, 0, 0)).volume == pytest.approx(3000 * 1600 * 1800)
    assert cube.inset(0, 0, 0).volume == cube.solid.volume
