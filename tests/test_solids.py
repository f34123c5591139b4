"""The door to the solid kernel: nothing silent passes it, names survive it, and volumes are those of other libraries."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from hypothesis import strategies as st
from manifold3d import Error

from references import as_trimesh, frustum, torus, trimesh_section
from strategies import law, plans
from tumblehome.errors import KernelError
from tumblehome.solids import STATUS_WORDS, Solid, Surface, unite
from vans import EXACT

if TYPE_CHECKING:
    from strategies import Plan

CUBE = Solid.box((0, 0, 0), (1000, 1000, 1000), "cube")
AXES = (0, 1, 2)


def test_every_status_of_the_kernel_has_its_words() -> None:
    """The kernel's own list of statuses is the reference."""
    assert set(STATUS_WORDS) == set(Error.__members__.values()) - {Error.NoError}
    assert len(set(STATUS_WORDS.values())) == len(STATUS_WORDS)


def test_a_solid_passes_through_its_own_mesh() -> None:
    again = Solid.from_mesh(*CUBE.mesh(), "again")
    assert again.volume == CUBE.volume
    assert again.surface.names == ("again",)


@law(plans(), examples=30)
def test_volume_is_that_of_the_mesh(plan: Plan) -> None:
    """trimesh sums the mesh by the divergence theorem."""
    for solid in (plan.shell.lined.bare, plan.shell.lined.solid, plan.shell.void):
        mesh = as_trimesh(solid)
        assert mesh.is_watertight
        assert solid.volume == pytest.approx(mesh.volume, rel=1e-12)
        assert np.allclose(solid.bounds, mesh.bounds, rtol=0, atol=1e-9)


@law(plans(parts=False), plans(parts=False), examples=20)
def test_union_and_common_part_add_up(one: Plan, two: Plan) -> None:
    """Inclusion and exclusion of two sets; two halves of a cut add up likewise."""
    a, b = one.shell.lined.bare, two.shell.lined.bare
    assert a.volume + b.volume == pytest.approx((a | b).volume + (a & b).volume, rel=1e-10)
    assert (a - b).volume + (a & b).volume == pytest.approx(a.volume, rel=1e-10)
    for axis in AXES:
        middle = float(a.bounds[0][axis] + a.bounds[1][axis]) / 2 + 1.7
        halves = a.trimmed(axis, high=middle).volume + a.trimmed(axis, low=middle).volume
        assert halves == pytest.approx(a.volume, rel=1e-10)


@pytest.mark.parametrize("axis", AXES)
def test_a_prism_stands_across_its_axis(axis: int) -> None:
    """Area of the outline times height: an L of 3 squares, 7 high; either way round."""
    outline = np.array([(0, 0), (20, 0), (20, 10), (10, 10), (10, 20), (0, 20)], dtype=float)
    for ring in (outline, outline[::-1]):
        prism = Solid.prism(ring, -3, 4, "l", axis=axis)
        assert prism.volume == pytest.approx(300 * 7)
        low, high = prism.bounds
        assert low.tolist() == np.roll([0, 0, -3], axis + 1).tolist()
        assert high.tolist() == np.roll([20, 20, 4], axis + 1).tolist()


def test_the_frustum_of_a_cone_is_approached_from_inside() -> None:
    """pi h (R^2 + R r + r^2) / 3, check value 7.330383 for 1, 2, 1; a regular n-gon has n/2 sin(2 pi/n) of pi r^2."""
    true = np.pi * 7 / 3
    assert true == pytest.approx(7.330383, abs=5e-7)
    sides = 360
    found = frustum(sides, 2.0, 1.0, 1.0).volume
    assert found == pytest.approx(true * sides / (2 * np.pi) * np.sin(2 * np.pi / sides), rel=1e-12)
    assert 0.9999 * true < found < true


def test_the_volume_of_a_torus_lies_between_those_that_hold_and_are_held() -> None:
    """2 pi^2 R r^2, check value 59.217626 for R 3, r 1, within the stated deviation of the faces."""
    solid, deviation = torus(3.0, 1.0, 256, 128)
    thin, true, thick = (2 * np.pi**2 * 3 * (1 + d) ** 2 for d in (-deviation, 0.0, deviation))
    assert true == pytest.approx(59.217626, abs=5e-7)
    assert deviation < 1e-3
    assert thin < solid.volume < thick


def test_a_map_that_mirrors_keeps_the_faces_outward() -> None:
    mirror = np.column_stack([np.diag([1.0, -1.0, 1.0]), np.zeros(3)])
    wedge = Solid.prism([(0, 0), (3, 0), (0, 4)], 0, 5, "wedge")
    assert wedge.transformed(mirror).volume == pytest.approx(30)
    assert wedge.transformed(mirror).bounds[0].tolist() == [0, -4, 0]
    assert wedge.transformed(np.column_stack([np.diag([2.0, 3.0, 4.0]), [1, 2, 3]])).volume == pytest.approx(30 * 24)


def _names_at(solid: Solid, axis: int, at: float) -> set[str]:
    """Names of the faces that lie flat at a coordinate."""
    surface = solid.surface
    flat = (np.abs(surface.triangles[:, :, axis] - at) < EXACT).all(axis=1)
    return {surface.names[i] for i in surface.part[flat]}


def test_names_survive_booleans_moves_and_turns() -> None:
    tool = Solid.box((200, 200, 500), (400, 400, 2000), "tool")
    labels = [f"face {i}" for i in range(len(CUBE.mesh()[1]))]
    base = Solid.from_mesh(*CUBE.mesh(), labels)
    cut = (base - tool).moved((0, 0, 50))
    assert _names_at(cut, 2, 550) == {"tool"}
    assert _names_at(cut, 0, 200) == {"tool"}
    assert set(cut.surface.names) == {*labels, "tool"}
    for side, axis in ((0, 0), (1000, 1), (0, 1)):
        before = {labels[i] for i in np.flatnonzero((base.surface.triangles[:, :, axis] == side).all(axis=1))}
        assert before
        assert _names_at(cut, axis, side) <= {base.surface.names[base.surface.part[labels.index(n)]] for n in labels}
    assert _names_at(base | tool, 2, 2000) == {"tool"}
    assert _names_at(cut.named("all"), 2, 550) == {"all"}
    assert _names_at(CUBE.trimmed(0, low=300), 0, 300) == {""}


@law(plans(), st.integers(0, 2), st.floats(0.02, 0.98), examples=40)
def test_a_slice_has_the_area_that_trimesh_finds(plan: Plan, axis: int, share: float) -> None:
    void = plan.shell.void
    low, high = (float(corner[axis]) for corner in void.bounds)
    at = low + share * (high - low)
    if axis != 1:
        reference = trimesh_section(as_trimesh(void), axis, at).area
        tolerance = EXACT * 2 * sum(np.ptp(void.bounds, axis=0))
        assert void.slice(axis, at).area() == pytest.approx(reference, abs=tolerance)
    assert void.slice(axis, at).area() == pytest.approx(void.slice(axis, at, below=True).area(), rel=1e-6)


@pytest.mark.parametrize("axis", AXES)
def test_the_two_limits_differ_on_a_ledge_only(axis: int) -> None:
    """Two boxes in a row of 4 and 1 square meters, closed forms."""
    thick = Solid.box((-1000, -1000, -1000), (1000, 1000, 1000), "thick")
    low, high = (np.where(np.eye(3)[axis] > 0, far, near) for near, far in ((-500, 900), (500, 2000)))
    thin = Solid.box(low, high, "thin")
    both = thick | thin
    assert both.ledges(axis) == [-1000, 1000, 2000]
    assert [both.slice(axis, 1000, below=below).area() for below in (True, False)] == pytest.approx([4e6, 1e6])
    assert [both.slice(axis, 0, below=below).area() for below in (True, False)] == pytest.approx([4e6, 4e6])
    assert [both.slice(axis, 2000, below=below).area() for below in (True, False)] == pytest.approx([1e6, 0])


@law(plans(), st.tuples(*[st.floats(0.01, 0.99)] * 3), examples=40)
def test_the_surface_winds_once_about_what_is_inside(plan: Plan, share: tuple[float, float, float]) -> None:
    """The parity of crossings along a ray, as trimesh counts them, tells inside from outside."""
    low, high = plan.shell.void.bounds
    point = low - 50 + np.array(share) * (high - low + 100)
    inside = bool(as_trimesh(plan.shell.void).contains([point])[0])
    surface = plan.shell.void.surface
    assert surface.winding(point) == pytest.approx(float(inside), abs=1e-6)
    assert surface.flipped().winding(point) == pytest.approx(-float(inside), abs=1e-6)


def test_pieces_come_largest_first_and_add_up() -> None:
    solids = [Solid.box((x, 0, 0), (x + size, size, size), f"{size}") for x, size in ((0, 10), (100, 30), (200, 20))]
    pieces = unite(solids).pieces()
    assert [piece.volume for piece in pieces] == pytest.approx([27000, 8000, 1000])


def test_joined_surfaces_keep_their_names() -> None:
    one, two = CUBE.surface, CUBE.moved((2000, 0, 0)).named("other").surface
    both = Surface.joined([one, two, one])
    assert len(both) == 36
    assert both.names == ("cube", "other")
    assert np.bincount(both.part).tolist() == [24, 12]
    assert both.winding((2500, 500, 500)) == pytest.approx(1)
    assert len(Surface.joined([])) == 0


@pytest.mark.parametrize(
    ("spoil", "word"),
    [
        (lambda v, f: (v, f[1:]), STATUS_WORDS[Error.NotManifold]),
        (lambda v, f: (v, f[:, ::-1]), "inside out"),
        (lambda v, f: (v * np.nan, f), STATUS_WORDS[Error.NonFiniteVertex]),
        (lambda v, f: (np.where(v > 0, np.inf, v), f), STATUS_WORDS[Error.NonFiniteVertex]),
        (lambda v, f: (v, f + 5), STATUS_WORDS[Error.VertexOutOfBounds]),
        (lambda v, f: (v[:, :2], f), STATUS_WORDS[Error.MissingPositionProperties]),
        (lambda v, f: (v * (1, 1, 0), f), "no positive volume"),
        (lambda v, f: (v[:0], f[:0]), "no positive volume"),
    ],
)
def test_a_bad_mesh_is_refused_in_words(spoil: Any, word: str) -> None:
    vertices, triangles = spoil(*CUBE.mesh())
    with pytest.raises(KernelError, match=word):
        Solid.from_mesh(vertices, triangles, "bad")
