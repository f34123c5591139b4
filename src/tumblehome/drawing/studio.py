"""How do things look through a camera: what is seen where, and the whole under soft light as an opaque matte model?

The one place that talks to the renderer, which is imported only when a picture is drawn.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, Literal

import numpy as np
from PIL import Image as Images
from PIL import ImageChops, ImageFilter

from tumblehome.drawing import palette

if TYPE_CHECKING:
    from collections.abc import Sequence

    import pyvista
    from numpy.typing import NDArray
    from PIL.Image import Image

    from tumblehome.drawing.camera import Camera
    from tumblehome.drawing.scene import Seen

    Floats = NDArray[np.float64]
    Integers = NDArray[np.intp]
    Mask = NDArray[np.bool_]

__all__ = ["photograph", "what_is_where"]

_FINE_PIXELS: Final = 5_000_000  # up to this many pixels, each is the mean of four; above, of two and a quarter
_CELLS: Final = 640  # cells along the longer side of the picture of what is seen where
_CREASE: Final = 0.87  # cosine between faces that share no drawn edge: up to 30 degrees a surface counts as curved
_FLAT: Final = 0.9998  # and up to 1 degree as flat: seen edge-on, its triangles have no outline of their own
_SLIVER: Final = 0.02  # mm of height below which a triangle is not drawn
_SLIVER_CHAIN: Final = 4  # slivers that may lie beside each other
_LIFT: Final = 6e-4  # lines are drawn nearer than their faces by this share of their distance
_RECESS_LIFT: Final = 2e-4  # and the inside of a recess nearer than the lining that it shares faces with
_SHADE_PIXELS: Final = 1600  # longer side of the picture of the shade, which is soft anyway
_SHADE_REACH: Final = 600.0  # mm to which a corner is shaded
_SHADE_BIAS: Final = 12.0  # mm within which a surface does not shade itself
_SHADE_WHITE: Final = 0.97  # share of the light at which nothing is darkened any more
_LOOKS_DOWN: Final = -0.3  # rise of the sight line below which the paper under the scene is drawn, and never its edge
_SHADE_COLOR: Final = "#5A4A40"
_MATTE: Final = (0.62, 0.50)  # shares of the light from everywhere and of the lamps
_CHALK: Final = (1.0, 0.001)  # without any light of lamps the renderer computes no shade


def what_is_where(seen: Sequence[Seen], camera: Camera) -> tuple[Integers, Integers, Floats]:
    """Return what is seen in coarse cells of a picture.

    Returns
    -------
    facets : (h, w) int
        Which flat face; 0 is paper.
    owners : (k,) int
        Which of ``seen``, from 1, each facet belongs to; 0 for facet 0.
    depths : (h, w) float, mm
        Along the sight line; infinite on paper.
    """
    share = _CELLS / max(camera.size)
    plotter = _plotter(camera, (round(camera.size[0] * share), round(camera.size[1] * share)), "black")
    owners = [0]
    for number, each in enumerate(seen, start=1):
        facets = _facets(each) + len(owners)
        owners += [number] * (facets.max() + 1 - len(owners))
        kept = _drawable(each)
        facets, mesh = facets[kept], _mesh(each, camera, kept)
        mesh.cell_data["facet"] = np.stack([facets >> 16, facets >> 8 & 255, facets & 255], axis=1).astype(np.uint8)
        plotter.add_mesh(mesh, scalars="facet", rgb=True, lighting=False, culling=_culling(each), reset_camera=False)
    image, depths = _shot(plotter, with_depths=True)
    red, green, blue = np.moveaxis(image.astype(np.intp), -1, 0)
    return (red << 16) + (green << 8) + blue, np.array(owners), depths


def _facets(each: Seen) -> Integers:
    """Return the flat face of each triangle, (m,) from 0: those alike in direction and, to a millimeter, in offset."""
    corners = each.vertices[each.triangles]
    normals = _normals(corners)
    planes = np.column_stack([np.round(normals, 2), np.round(np.einsum("ij,ij->i", normals, corners[:, 0]))])
    return np.unique(planes, axis=0, return_inverse=True)[1].reshape(-1)


def photograph(seen: Sequence[Seen], camera: Camera) -> Image:
    """Return the RGB picture, without words: colors drawn fine and reduced, darkened where little light comes."""
    width, height = camera.size
    fine = 2.0 if width * height <= _FINE_PIXELS else 1.5
    plotter = _plotter(camera, (round(width * fine), round(height * fine)), palette.PAPER)
    _light(plotter)
    weight = fine * float(np.sqrt(width * height / 1.6e6))
    for each in seen:
        _add(plotter, each, camera)
        _add_lines(plotter, each, camera, weight)
    colors = Images.fromarray(_shot(plotter)[0])
    colors = colors.resize((width, height), Images.Resampling.LANCZOS)
    return ImageChops.multiply(colors, _shade(seen, camera))


def _shade(seen: Sequence[Seen], camera: Camera) -> Image:
    """Return a warm picture of how little light comes into corners and under things, white where it is open."""
    share = min(1.0, _SHADE_PIXELS / max(camera.size))
    plotter = _plotter(camera, (round(camera.size[0] * share), round(camera.size[1] * share)), "white")
    _light(plotter)
    for each in seen:
        mesh = _mesh(each, camera, _drawable(each))
        _put(plotter, mesh, "white", _CHALK, _culling(each))
    if camera.axes[2, 2] < _LOOKS_DOWN:
        _put(plotter, _ground(seen), "white", _CHALK, None)
    plotter.renderer.enable_ssao(radius=_SHADE_REACH, bias=_SHADE_BIAS, kernel_size=96, blur=True)
    gray = Images.fromarray(_shot(plotter)[0]).convert("L").filter(ImageFilter.GaussianBlur(1.0))
    gray = gray.resize(camera.size, Images.Resampling.BICUBIC)
    deepest = np.array([int(_SHADE_COLOR[i : i + 2], 16) for i in (1, 3, 5)])
    levels = np.round(deepest + (255 - deepest) * np.clip(np.linspace(0, 1, 256) / _SHADE_WHITE, 0, 1)[:, None])
    return Images.merge("RGB", [gray.point(levels[:, band].astype(int).tolist()) for band in range(3)])


def _ground(seen: Sequence[Seen]) -> pyvista.PolyData:
    """Return the paper on which everything stands, large enough for the shade at its foot."""
    import pyvista  # noqa: PLC0415  (takes a second)

    points = np.concatenate([each.vertices for each in seen])
    low, high = points.min(axis=0), points.max(axis=0)
    (x, y), (length, width) = ((low + high) / 2)[:2], (high - low)[:2] + 4 * _SHADE_REACH
    return pyvista.Plane(center=(x, y, low[2] - 1.0), i_size=length, j_size=width, i_resolution=1, j_resolution=1)


def _shot(plotter: pyvista.Plotter, *, with_depths: bool = False) -> tuple[NDArray[np.uint8], Floats]:
    """Return the RGB picture of a plotter and, if asked, the depths in mm, and close it."""
    plotter.renderer.ResetCameraClippingRange()
    image = np.asarray(plotter.screenshot(return_img=True))
    depths = -np.asarray(plotter.get_image_depth(fill_value=-np.inf), dtype=float) if with_depths else np.empty(0)
    plotter.close()
    return image, depths


def _plotter(camera: Camera, size: tuple[int, int], background: str) -> pyvista.Plotter:
    import pyvista  # noqa: PLC0415  (takes a second)

    plotter = pyvista.Plotter(off_screen=True, window_size=list(size), lighting="none")
    plotter.disable_anti_aliasing()
    plotter.renderer.set_background(background)
    lens = plotter.camera
    lens.position = camera.eye
    lens.focal_point = camera.eye + 1000 * camera.axes[2]
    lens.up = camera.axes[1]
    lens.view_angle = 2 * np.degrees(np.arctan(camera.half_height))
    half_width = camera.half_height * camera.size[0] / camera.size[1]
    lens.SetWindowCenter(camera.middle[0] / half_width, camera.middle[1] / camera.half_height)
    return plotter


def _light(plotter: pyvista.Plotter) -> None:
    """Set soft light that stands with the eye: from the upper left, a little from the right, and from in front."""
    import pyvista  # noqa: PLC0415  (takes a second)

    for position, intensity, color in (
        ((-0.6, 1.2, 0.7), 0.52, "#FFF9EE"),
        ((0.9, 0.3, 0.7), 0.22, "#F3F4F7"),
        ((0.0, -0.2, 1.0), 0.38, "#FFF8EC"),
    ):
        plotter.add_light(pyvista.Light(position=position, color=color, intensity=intensity, light_type="camera light"))


def _cap_color(each: Seen) -> str:
    """Return the color of a cut: dark where the van itself is cut, the darkened finish elsewhere."""
    if each.piece.kind in ("shell", "floor"):
        return palette.STEEL
    return _mixed(each.piece.color, palette.QUIET, 0.35)


def _mixed(a: str, b: str, share: float) -> str:
    one, other = (np.array([int(c[i : i + 2], 16) for i in (1, 3, 5)]) for c in (a, b))
    return "#" + "".join(f"{round(v):02X}" for v in one + share * (other - one))


def _add(plotter: pyvista.Plotter, each: Seen, camera: Camera) -> None:
    """Add a piece with its matte faces, shaded smoothly where they are curved, and its flat cuts."""
    kept, culling = _drawable(each), _culling(each)
    faces, caps = kept & ~each.is_cap, kept & each.is_cap
    if faces.any():
        mesh = _mesh(each, camera, faces)
        split = each.piece.kind != "person"
        mesh = mesh.compute_normals(split_vertices=split, feature_angle=30.0, consistent_normals=False)
        _put(plotter, mesh, each.piece.color, _MATTE, culling)
    if caps.any() and not culling:
        plotter.add_mesh(_mesh(each, camera, caps), color=_cap_color(each), lighting=False, reset_camera=False)


def _put(
    plotter: pyvista.Plotter,
    mesh: pyvista.PolyData,
    color: str,
    light: tuple[float, float],
    culling: Literal["front"] | None,
) -> None:
    """Add a matte mesh, shaded smoothly where it has normals at its points."""
    ambient, diffuse = light
    smooth = "Normals" in mesh.point_data
    plotter.add_mesh(
        mesh,
        color=color,
        ambient=ambient,
        diffuse=diffuse,
        specular=0.0,
        smooth_shading=smooth,
        culling=culling,
        reset_camera=False,
    )


def _mesh(each: Seen, camera: Camera, chosen: Mask) -> pyvista.PolyData:
    """Return the chosen triangles of a piece."""
    import pyvista  # noqa: PLC0415  (takes a second)

    lift = _RECESS_LIFT if each.piece.kind == "recess" else 0.0
    mesh: pyvista.PolyData = pyvista.PolyData.from_regular_faces(
        _nearer(each.vertices, camera, lift), each.triangles[chosen].astype(int)
    )
    return mesh


def _drawable(each: Seen) -> Mask:
    """Return which triangles are no slivers, whose normals are noise, (m,)."""
    corners = each.vertices[each.triangles]
    longest = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).max(axis=1)
    doubled = np.linalg.norm(np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), axis=1)
    return np.asarray(doubled > _SLIVER * longest)


def _culling(each: Seen) -> Literal["front"] | None:
    """Return which faces are left out: of a recess, those towards the eye, so that one looks into its pocket."""
    return "front" if each.piece.kind == "recess" else None


def _nearer(points: Floats, camera: Camera, share: float) -> Floats:
    """Return points drawn towards the eye by a share of their distance: each stays at its place in the picture."""
    return points + share * (camera.eye - points)


def _add_lines(plotter: pyvista.Plotter, each: Seen, camera: Camera, weight: float) -> None:
    """Add the edges of a piece, those of its cuts heavier."""
    import pyvista  # noqa: PLC0415  (takes a second)

    pairs, is_cut = _edges(each, camera.eye)
    color = palette.RECESS_EDGE if each.piece.kind == "recess" else palette.INK
    for chosen, width in ((pairs[~is_cut], 0.8), (pairs[is_cut], 1.5)):
        if len(chosen):
            mesh = pyvista.PolyData()
            mesh.points = _nearer(each.vertices, camera, _LIFT)
            mesh.lines = np.column_stack([np.full(len(chosen), 2), chosen]).ravel()
            plotter.add_mesh(mesh, color=color, line_width=width * weight, lighting=False, reset_camera=False)


def _edges(each: Seen, eye: Floats) -> tuple[Integers, Mask]:
    """Return the edges to draw, (k, 2) vertices, and which of them bound a cut.

    Drawn are sharp edges (of a person none), the outline against the eye, and the borders of cuts.
    """
    pairs, one, other = _adjacency(each.triangles)
    normals = _calm_normals(each, pairs, one, other)
    faces_eye = np.einsum("ij,ij->i", normals, eye - each.vertices[each.triangles[:, 0]]) > 0
    bend = np.einsum("ij,ij->i", normals[one], normals[other])
    is_cut = each.is_cap[one] != each.is_cap[other]
    outline = (faces_eye[one] != faces_eye[other]) & (bend < _FLAT)
    drawn = is_cut | outline | ((bend < _CREASE) & (each.piece.kind != "person"))
    return pairs[drawn], is_cut[drawn]


def _calm_normals(each: Seen, pairs: Integers, one: Integers, other: Integers) -> Floats:
    """Return the unit normals (m, 3) of the triangles; a sliver takes that of its neighbor along its longest side."""
    normals, is_sliver = _normals(each.vertices[each.triangles]), ~_drawable(each)
    lengths = np.linalg.norm(each.vertices[pairs[:, 0]] - each.vertices[pairs[:, 1]], axis=1)
    order = np.argsort(np.tile(lengths, 2), kind="stable")  # the longest last, which then stays
    mine, theirs = np.concatenate([one, other])[order], np.concatenate([other, one])[order]
    for _ in range(_SLIVER_CHAIN):
        normals[mine[is_sliver[mine]]] = normals[theirs[is_sliver[mine]]]
    return normals


def _normals(corners: Floats) -> Floats:
    """Return the unit normals (m, 3) of triangles (m, 3, 3); of one without area, zero."""
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    return np.asarray(normals / np.maximum(np.linalg.norm(normals, axis=1, keepdims=True), 1e-12))


def _adjacency(triangles: Integers) -> tuple[Integers, Integers, Integers]:
    """Return every edge of a closed mesh once, (k, 2) vertices, with the two triangles that share it."""
    half = triangles[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2)
    owner = np.repeat(np.arange(len(triangles)), 3)
    ordered = np.sort(half, axis=1)
    order = np.lexsort((ordered[:, 1], ordered[:, 0]))
    first, second = order[0::2], order[1::2]
    return ordered[first], owner[first], owner[second]
